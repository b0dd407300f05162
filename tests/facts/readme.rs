//! The README says what the program says.

use std::fs;
use std::path::Path;

use stallhand::base::reason::Reason;

fn readme() -> String {
    fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md")).expect("the README")
}

/// The table of reasons as the README must have it.
fn table() -> String {
    let mut out = String::from("| code | what it means | what you can do |\n| --- | --- | --- |\n");
    for r in Reason::ALL {
        out.push_str(&format!(
            "| `{}` | {} | {} |\n",
            r.code(),
            r.meaning(),
            r.remedy()
        ));
    }
    out
}

#[test]
fn every_reason_stands_in_the_readme_with_what_she_can_do() {
    let text = readme();
    let (_, rest) = text
        .split_once("<!-- reasons -->\n")
        .expect("a mark before the table");
    let (shown, _) = rest
        .split_once("<!-- /reasons -->")
        .expect("a mark after the table");
    if shown != table() {
        let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/reasons.md");
        fs::write(&file, table()).expect("the table is written");
        panic!(
            "the README's table of reasons is out of date: put in its place what lies in target/reasons.md"
        );
    }
}

#[test]
fn the_job_and_the_two_commands_stand_on_top() {
    let top: String = readme().lines().take(25).collect::<Vec<_>>().join("\n");
    assert!(top.contains("cargo run --release -- demo\ncargo test --release\n"));
}

#[test]
fn every_file_that_the_readme_leads_to_exists() {
    let text = readme();
    for (i, _) in text.match_indices("](") {
        let target = text[i + 2..].split(')').next().unwrap_or_default();
        if !target.starts_with("https://") {
            let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(target);
            assert!(path.exists(), "{target}");
        }
    }
}

#[test]
fn the_pictures_are_small() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("packaging/pictures");
    let sizes = fs::read_dir(folder).expect("the pictures").flatten();
    let sum: u64 = sizes.map(|f| f.metadata().map_or(0, |m| m.len())).sum();
    assert!(sum > 0 && sum < 300_000, "{sum} bytes");
}

//! Facts about what we stand on: every crate that is built in may be passed on with the product,
//! under a licence that DEVELOPERS.md lists.

use std::path::Path;
use std::process::Command;

/// Whether an SPDX expression (SPDX specification, annex on licence expressions; `/` is the older
/// spelling of OR) can be met with the listed licences alone.
fn met(expression: &str, listed: &[&str]) -> bool {
    let spaced = expression
        .replace('(', " ( ")
        .replace(')', " ) ")
        .replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut at = 0;
    let answer = either(&words, &mut at, listed);
    answer && at == words.len()
}

fn either(words: &[&str], at: &mut usize, listed: &[&str]) -> bool {
    let mut answer = both(words, at, listed);
    while words.get(*at) == Some(&"OR") {
        *at += 1;
        answer |= both(words, at, listed);
    }
    answer
}

fn both(words: &[&str], at: &mut usize, listed: &[&str]) -> bool {
    let mut answer = one(words, at, listed);
    while words.get(*at) == Some(&"AND") {
        *at += 1;
        answer &= one(words, at, listed);
    }
    answer
}

fn one(words: &[&str], at: &mut usize, listed: &[&str]) -> bool {
    let Some(&word) = words.get(*at) else {
        return false;
    };
    *at += 1;
    if word == "(" {
        let answer = either(words, at, listed);
        *at += 1;
        return answer && words.get(*at - 1) == Some(&")");
    }
    // An exception only grants more.
    if words.get(*at) == Some(&"WITH") {
        *at += 2;
    }
    listed.contains(&word)
}

#[test]
fn a_licence_expression_is_read_as_it_is_meant() {
    let listed = ["MIT", "Zlib", "Apache-2.0"];
    for good in [
        "MIT",
        "MIT OR GPL-3.0",
        "GPL-3.0/MIT",
        "(MIT OR GPL-3.0) AND Zlib",
        "Apache-2.0 WITH LLVM-exception",
        "GPL-2.0 AND MIT OR Zlib",
    ] {
        assert!(met(good, &listed), "{good}");
    }
    for bad in [
        "GPL-3.0",
        "MIT AND GPL-3.0",
        "",
        "(MIT",
        "MIT MIT",
        "AND",
        "mit",
    ] {
        assert!(!met(bad, &listed), "{bad}");
    }
}

#[test]
fn every_crate_that_is_built_in_may_be_passed_on() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(top.join("DEVELOPERS.md")).unwrap();
    let chapter = text.split("\n## ").find(|c| c.starts_with("Licences\n"));
    let chapter = chapter.expect("DEVELOPERS.md has a chapter Licences");
    let listed: Vec<&str> = chapter.split('`').skip(1).step_by(2).collect();
    assert!(listed.contains(&"MIT") && !listed.iter().any(|l| l.starts_with("GPL")));

    let host = Command::new("rustc").arg("-vV").output().unwrap();
    let host = String::from_utf8(host.stdout).unwrap();
    let host = host.lines().find_map(|l| l.strip_prefix("host: ")).unwrap();
    // Only this system's crates are sure to be here without a network.
    let out = Command::new(env!("CARGO"))
        .args(["metadata", "--offline", "--locked", "--format-version", "1"])
        .args(["--filter-platform", host, "--manifest-path"])
        .arg(top.join("Cargo.toml"))
        .output()
        .unwrap();
    assert!(
        out.status.success(),
        "{}",
        String::from_utf8_lossy(&out.stderr)
    );
    let data: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    let packages = data["packages"].as_array().unwrap();
    assert!(packages.len() > 50, "{} crates", packages.len());
    let wrong: Vec<String> = packages
        .iter()
        .filter(|p| !p["license"].as_str().is_some_and(|l| met(l, &listed)))
        .map(|p| format!("{} {}: {}", p["name"], p["version"], p["license"]))
        .collect();
    assert!(wrong.is_empty(), "{wrong:#?}");
}

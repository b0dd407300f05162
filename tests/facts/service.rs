//! Facts about the login service's descriptions: paths of any kind survive each format, the shipped
//! files are what the program writes, and on Linux systemd itself finds the unit sound and fenced.
//! The descriptions for macOS and Windows are checked by parsing alone.

use std::path::{Path, PathBuf};
use std::process::Command;

use stallhand::command::service::{Service, launchd, systemd, task};

/// The service in the default places of a person.
fn usual() -> Service {
    let folder = |name: &str| PathBuf::from(format!("/home/ada/Pictures/Stallhand/{name}"));
    Service {
        program: "/usr/bin/stallhand".into(),
        config: None,
        folders: ["inbox", "ready", "held", "originals"]
            .map(folder)
            .into_iter()
            .chain(["/home/ada/.local/state/stallhand".into()])
            .collect(),
    }
}

const ODD: &str = r#"/home/ada/Töpfe & "Mugs" <100%> $HOME \ it's/x"#;

fn odd() -> Service {
    Service {
        program: ODD.into(),
        config: Some(ODD.into()),
        folders: vec![ODD.into()],
    }
}

#[test]
fn the_shipped_descriptions_are_the_ones_the_program_writes() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("packaging");
    let service = usual();
    for (name, text) in [
        (systemd::NAME, systemd::text(&service)),
        ("stallhand.plist", launchd::text(&service)),
        ("stallhand-task.xml", task::text(&service)),
    ] {
        let text = text.unwrap();
        if std::env::var_os("STALLHAND_WRITE_PACKAGING").is_some() {
            std::fs::write(folder.join(name), &text).unwrap();
        }
        let file = std::fs::read_to_string(folder.join(name)).unwrap();
        assert!(
            file == text,
            "packaging/{name} is out of date: run this test once with STALLHAND_WRITE_PACKAGING=1"
        );
    }
}

#[test]
fn a_unit_quotes_spaces_quotes_percent_and_dollar_signs() {
    let text = systemd::text(&odd()).unwrap();
    let start = r#"/home/ada/Töpfe & \"Mugs\" <100%%> $$HOME \\ it's/x"#;
    let want = format!("\nExecStart=\"{start}\" --config \"{start}\" watch\n");
    assert!(text.contains(&want), "{text}");
    let list = r#"/home/ada/Töpfe & \"Mugs\" <100%%> $HOME \\ it's/x"#;
    assert!(
        text.contains(&format!("\nReadWritePaths=\"-{list}\"\n")),
        "{text}"
    );
}

#[test]
fn a_property_list_and_a_task_hold_any_path_as_it_is() {
    let text = launchd::text(&odd()).unwrap();
    let xml = roxmltree::Document::parse(&text).unwrap();
    let array = xml.descendants().find(|n| n.has_tag_name("array")).unwrap();
    let words: Vec<&str> = array
        .children()
        .filter(|n| n.has_tag_name("string"))
        .map(|n| n.text().unwrap())
        .collect();
    assert_eq!(words, [ODD, "--config", ODD, "watch"]);

    let mut service = odd();
    service.config = Some(r"/shop & co/100%\".into());
    let text = task::text(&service).unwrap();
    let xml = roxmltree::Document::parse(&text).unwrap();
    let said = |name: &str| {
        let node = xml.descendants().find(|n| n.tag_name().name() == name);
        node.and_then(|n| n.text()).unwrap()
    };
    assert_eq!(said("Command"), ODD);
    assert_eq!(said("Arguments"), r#"--config "/shop & co/100%\\" watch"#);
    assert_eq!(said("RunLevel"), "LeastPrivilege");
}

#[test]
fn a_path_that_no_description_can_hold_is_refused_in_words() {
    for bad in ["/home/ada/two\nlines", "not/absolute"] {
        let mut service = usual();
        service.folders[0] = bad.into();
        assert!(systemd::text(&service).unwrap_err().contains("hint: "));
        service.program = bad.into();
        assert!(launchd::text(&service).is_err() && task::text(&service).is_err());
    }
}

// systemd's own judge. Where the tool is not installed there is nothing to ask, and the test says so.
#[test]
fn systemd_scores_the_units_exposure_at_most_2() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join(systemd::NAME);
    std::fs::write(&file, systemd::text(&usual()).unwrap()).unwrap();
    let out = Command::new("systemd-analyze")
        .args(["security", "--offline=true", "--no-pager", "--threshold=20"])
        .arg(&file)
        .output();
    let Ok(out) = out else {
        eprintln!("systemd-analyze is not installed here: the score was not checked");
        return;
    };
    let said = String::from_utf8_lossy(&out.stdout).into_owned();
    assert!(out.status.success(), "{said}");
    let line = said
        .lines()
        .find(|l| l.contains("Overall exposure"))
        .unwrap();
    let score = line.split_whitespace().find_map(|w| w.parse::<f64>().ok());
    assert!(score.is_some_and(|s| s <= 2.0), "{line}");
    let words = String::from_utf8_lossy(&out.stderr);
    assert!(
        !words.contains("nknown") && !words.contains("ignoring"),
        "{words}"
    );
}

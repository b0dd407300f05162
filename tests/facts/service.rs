//! Facts about the login service: paths of any kind survive each format, the shipped files are what
//! the program writes, on Linux systemd itself finds the unit sound and fenced, and the verbs place
//! and remove it for a person, with a stand-in for `systemctl` that records what it is told. The
//! descriptions for macOS and Windows are checked by parsing alone.

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
        (systemd::NAME, Ok(systemd::packaged())),
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
    for text in [systemd::text(&usual()).unwrap(), systemd::packaged()] {
        let file = dir.path().join(systemd::NAME);
        std::fs::write(&file, text).unwrap();
        judge(&file);
    }
}

fn judge(file: &Path) {
    let out = Command::new("systemd-analyze")
        .args(["security", "--offline=true", "--no-pager", "--threshold=20"])
        .arg(file)
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

/// A person with a home of her own and a stand-in for `systemctl` first in her PATH. Under root the
/// program runs as user 65534, since it refuses root.
struct Person {
    dir: tempfile::TempDir,
}

const STAND_IN: &str = r#"#!/bin/sh
echo "$*" >> "$HOME/told"
case "$*" in
*" show "*) test ! -e "$HOME/nobody" ;;
*is-active*) cat "$HOME/active" 2>/dev/null || { echo inactive; exit 3; } ;;
*is-enabled*) cat "$HOME/enabled" 2>/dev/null || { echo disabled; exit 1; } ;;
*" enable "*|*" disable "*|*" restart "*) test ! -e "$HOME/stuck" || { echo "Job for stallhand.service failed" >&2; exit 1; } ;;
esac
"#;

impl Person {
    fn new() -> Self {
        let person = Self {
            dir: tempfile::tempdir().unwrap(),
        };
        std::fs::copy(super::workshop::BINARY, person.path("stallhand")).unwrap();
        std::fs::create_dir(person.path("bin")).unwrap();
        person.put("bin/systemctl", STAND_IN);
        let mode = std::os::unix::fs::PermissionsExt::from_mode(0o755);
        std::fs::set_permissions(person.path("bin/systemctl"), mode).unwrap();
        if root() {
            std::os::unix::fs::chown(person.path(""), Some(65534), Some(65534)).unwrap();
        }
        person
    }
    fn path(&self, rel: &str) -> PathBuf {
        self.dir.path().join(rel)
    }
    fn put(&self, rel: &str, text: &str) {
        std::fs::write(self.path(rel), text).unwrap();
    }
    fn unit(&self) -> PathBuf {
        self.path("settings/systemd/user/stallhand.service")
    }
    fn command(&self, args: &[&str]) -> Command {
        let path = std::env::var("PATH").unwrap();
        let mut c = Command::new(self.path("stallhand"));
        c.args(args)
            .env_clear()
            .env("HOME", self.dir.path())
            .env("XDG_CONFIG_HOME", self.path("settings"))
            .env("PATH", format!("{}:{path}", self.path("bin").display()))
            .current_dir(self.dir.path());
        c
    }
    /// Exit code, stdout, stderr.
    fn service(&self, args: &[&str]) -> (i32, String, String) {
        use std::os::unix::process::CommandExt;
        let mut c = self.command(&[&["service"], args].concat());
        if root() {
            c.uid(65534).gid(65534);
        }
        answer(c)
    }
    /// What `systemctl` was told since the last question, in order, questions left out.
    fn told(&self) -> Vec<String> {
        let text = std::fs::read_to_string(self.path("told")).unwrap_or_default();
        let _ = std::fs::remove_file(self.path("told"));
        text.lines()
            .map(|l| l.strip_prefix("--user ").expect("the person's own manager"))
            .filter(|l| !l.starts_with("show ") && !l.starts_with("is-"))
            .map(str::to_owned)
            .collect()
    }
}

fn answer(mut c: Command) -> (i32, String, String) {
    let out = c.output().unwrap();
    let text = |b: &[u8]| String::from_utf8_lossy(b).into_owned();
    let code = out.status.code().unwrap_or(-1);
    (code, text(&out.stdout), text(&out.stderr))
}

fn root() -> bool {
    rustix::process::geteuid().is_root()
}

#[cfg(target_os = "linux")]
#[test]
fn installing_makes_the_folders_writes_the_unit_and_starts_it_and_again_changes_nothing() {
    let p = Person::new();
    let (code, said, cause) = p.service(&["install"]);
    assert_eq!((code, cause.as_str()), (0, ""), "{said}");
    for folder in ["inbox", "ready", "held", "originals"] {
        assert!(p.path("Pictures/Stallhand").join(folder).is_dir());
    }
    assert!(p.path(".local/state/stallhand").is_dir());
    let first = std::fs::read_to_string(p.unit()).unwrap();
    let start = format!("ExecStart=\"{}\" watch\n", p.path("stallhand").display());
    assert!(first.contains(&start), "{first}");
    assert_eq!(
        p.told(),
        ["daemon-reload", "enable --now stallhand.service"]
    );

    assert_eq!(p.service(&["install"]).0, 0);
    assert_eq!(std::fs::read_to_string(p.unit()).unwrap(), first);
    assert_eq!(
        p.told(),
        ["daemon-reload", "enable --now stallhand.service"]
    );

    p.put("shop.toml", "[folders]\ninbox = \"~/100% & \\\"new\\\"\"\n");
    let (code, said, _) = p.service(&["status", "--config", "shop.toml"]);
    assert!(code == 0 && said.contains("install` again"), "{said}");
    assert_eq!(p.service(&["install", "--config", "shop.toml"]).0, 0);
    let text = std::fs::read_to_string(p.unit()).unwrap();
    let home = p.dir.path().display();
    let inbox = format!("ReadWritePaths=\"-{home}/100%% & \\\"new\\\"\"\n");
    assert!(text.contains(&inbox), "{text}");
    assert_eq!(
        p.told(),
        [
            "daemon-reload",
            "enable stallhand.service",
            "restart stallhand.service"
        ]
    );
}

#[cfg(target_os = "linux")]
#[test]
fn removing_stops_it_and_leaves_photos_and_settings() {
    let p = Person::new();
    p.service(&["install"]);
    p.told();
    let photo = p.path("Pictures/Stallhand/inbox/a.jpg");
    std::fs::write(&photo, "x").unwrap();
    let (code, said, _) = p.service(&["remove"]);
    assert!(code == 0 && said.contains("stay where they are"), "{said}");
    assert!(!p.unit().exists() && photo.exists());
    assert_eq!(
        p.told(),
        [
            "disable --now stallhand.service",
            "daemon-reload",
            "reset-failed stallhand.service"
        ]
    );
    let (code, said, _) = p.service(&["remove"]);
    assert!(code == 0 && said.contains("no login service is installed"));
    assert!(p.told().is_empty());
}

#[cfg(target_os = "linux")]
#[test]
fn a_unit_that_is_not_ours_is_neither_replaced_nor_removed_nor_stopped() {
    let p = Person::new();
    let folder = p.unit().parent().unwrap().to_owned();
    std::fs::create_dir_all(&folder).unwrap();
    let elsewhere = p.path("mine.service");
    std::fs::write(&elsewhere, "[Service]\nExecStart=/bin/true\n").unwrap();
    for link in [false, true] {
        if link {
            std::fs::remove_file(p.unit()).unwrap();
            std::os::unix::fs::symlink(&elsewhere, p.unit()).unwrap();
        } else {
            std::fs::copy(&elsewhere, p.unit()).unwrap();
        }
        for verb in ["install", "remove"] {
            let (code, _, cause) = p.service(&[verb]);
            assert_eq!(code, 2);
            assert!(cause.contains("not written by Stallhand"), "{cause}");
            assert!(cause.contains("hint: "), "{cause}");
        }
        let (code, said, _) = p.service(&["status"]);
        assert!(code == 0 && said.contains("not Stallhand's own"), "{said}");
        assert!(p.told().is_empty());
        let text = std::fs::read_to_string(p.unit()).unwrap();
        assert_eq!(text, "[Service]\nExecStart=/bin/true\n");
    }
}

#[cfg(target_os = "linux")]
#[test]
fn without_a_service_manager_it_is_placed_and_the_words_say_what_to_do() {
    let p = Person::new();
    p.put("nobody", "");
    let (code, _, cause) = p.service(&["install"]);
    assert!(code == 1 && cause.contains("hint: log in"), "{cause}");
    assert!(p.unit().exists() && p.told().is_empty());
    let (code, said, _) = p.service(&["status"]);
    assert!(code == 0 && said.contains("no service manager answers"));

    // What a manager would have made at `enable`.
    let wants = p.unit().with_file_name("default.target.wants");
    std::fs::create_dir(&wants).unwrap();
    if root() {
        std::os::unix::fs::chown(&wants, Some(65534), Some(65534)).unwrap();
    }
    let link = wants.join("stallhand.service");
    std::os::unix::fs::symlink(p.unit(), &link).unwrap();
    let (code, _, cause) = p.service(&["remove"]);
    assert!(code == 1 && cause.contains("hint: log out"), "{cause}");
    assert!(!p.unit().exists() && link.symlink_metadata().is_err());
}

#[cfg(target_os = "linux")]
#[test]
fn status_tells_in_words_and_a_service_that_does_not_start_is_said_so() {
    let p = Person::new();
    let (code, said, _) = p.service(&["status"]);
    assert_eq!(code, 0);
    assert!(said.contains("installed  no;"), "{said}");
    assert!(said.contains("running    no\n"), "{said}");
    assert!(said.contains("at login   it does not start"), "{said}");
    p.put("stuck", "");
    let (code, _, cause) = p.service(&["install"]);
    assert_eq!(code, 1);
    assert!(
        cause.contains("Job for stallhand.service failed"),
        "{cause}"
    );
    assert!(cause.contains("hint: "), "{cause}");
    p.put("active", "active\n");
    p.put("enabled", "enabled\n");
    let (_, said, _) = p.service(&["status"]);
    assert!(said.contains("installed  yes ("), "{said}");
    assert!(said.contains("running    yes\n"), "{said}");
    assert!(said.contains("at login   it starts by itself"), "{said}");
    p.put("active", "failed\n");
    assert!(p.service(&["status"]).1.contains("no, it failed"));
    // `disable` fails too: it stays, rather than run on unseen.
    assert_eq!(p.service(&["remove"]).0, 1);
    assert!(p.unit().exists());
}

// Only root can be refused as root; for others the rule itself is tested beside the code.
#[test]
fn root_is_sent_away_and_nothing_is_made() {
    if !root() {
        return;
    }
    let p = Person::new();
    for verb in ["install", "remove", "status"] {
        let (code, _, cause) = answer(p.command(&["service", verb]));
        assert_eq!(code, 2);
        assert!(cause.contains("hint: do it as yourself"), "{cause}");
    }
    assert!(p.told().is_empty() && !p.path("Pictures").exists() && !p.path("settings").exists());
}

#[test]
fn the_service_manager_hears_ready_signs_of_life_and_the_end() {
    use std::os::unix::net::UnixDatagram;
    use std::time::{Duration, Instant};
    let w = super::workshop::Workshop::new();
    let name = w.path("notify");
    let heard = UnixDatagram::bind(&name).unwrap();
    heard
        .set_read_timeout(Some(Duration::from_secs(20)))
        .unwrap();
    let start = Instant::now();
    let mut child = w.start(&[
        ("NOTIFY_SOCKET", name.to_str().unwrap()),
        ("WATCHDOG_USEC", "2000000"),
    ]);
    let next = || {
        let mut buffer = [0; 300];
        let n = heard.recv(&mut buffer).expect("a word in time");
        String::from_utf8_lossy(&buffer[..n]).into_owned()
    };
    assert_eq!(next(), "READY=1");
    let (mut alive, mut told) = (0, false);
    while alive < 3 {
        match next().as_str() {
            "WATCHDOG=1" => alive += 1,
            word => told |= word == "STATUS=watching; nothing waits",
        }
    }
    assert!(told);
    // Never closer than a quarter of the watchdog's time, so the idle daemon sleeps.
    assert!(start.elapsed() >= Duration::from_millis(1500));
    w.put("Mug/a.jpg", &super::workshop::photo("flower", ""));
    let mut words = Vec::new();
    while !words.contains(&"STATUS=watching; nothing waits".to_owned()) {
        words.push(next());
    }
    assert!(
        words.contains(&"STATUS=1 photo on its way".to_owned()),
        "{words:?}"
    );
    let pid = rustix::process::Pid::from_child(&child);
    rustix::process::kill_process(pid, rustix::process::Signal::TERM).unwrap();
    while next() != "STOPPING=1" {}
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn the_manual_has_a_page_for_each_verb_and_completions_for_three_shells() {
    let dir = tempfile::tempdir().unwrap();
    let folder = dir.path().join("manual");
    let run = || {
        let mut c = Command::new(super::workshop::BINARY);
        c.arg("manual").arg(&folder);
        answer(c)
    };
    assert_eq!(run().0, 0);
    for name in [
        "stallhand.1",
        "stallhand-watch.1",
        "stallhand-service-install.1",
        "stallhand-config-init.1",
    ] {
        let page = std::fs::read_to_string(folder.join(name)).expect(name);
        assert!(
            page.contains(".SH NAME") && page.contains(".SH SYNOPSIS"),
            "{page}"
        );
    }
    assert!(!folder.join("stallhand-manual.1").exists());
    for name in ["stallhand.bash", "_stallhand", "stallhand.fish"] {
        let text = std::fs::read_to_string(folder.join(name)).expect(name);
        assert!(
            text.contains("preview") && !text.contains("manual"),
            "{name}"
        );
    }
    // Again is fine; another file of that name stays.
    assert_eq!(run().0, 0);
    std::fs::write(folder.join("stallhand.1"), "hers").unwrap();
    let (code, _, cause) = run();
    assert!(code == 2 && cause.contains("hint: "), "{cause}");
    assert_eq!(
        std::fs::read_to_string(folder.join("stallhand.1")).unwrap(),
        "hers"
    );
}

#[test]
fn the_package_names_only_files_that_are_there() {
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let text = std::fs::read_to_string(top.join("Cargo.toml")).unwrap();
    let cargo: toml::Value = toml::from_str(&text).unwrap();
    let assets = cargo["package"]["metadata"]["deb"]["assets"]
        .as_array()
        .unwrap();
    let sources: Vec<&str> = assets.iter().map(|a| a[0].as_str().unwrap()).collect();
    for source in &sources {
        let fixed = source.split('*').next().unwrap();
        let made = fixed.starts_with("target/");
        assert!(made || top.join(fixed).exists(), "{source}");
    }
    for needed in [
        "target/manual/*.1",
        "packaging/stallhand.service",
        "config/*.toml",
    ] {
        assert!(sources.contains(&needed), "{needed}");
    }
}

//! Facts about the house itself, read from its sources: the floors hold, the map is true, every
//! file says what it owns, nothing is left over, and what we stand on may be passed on.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

fn top() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// One source file: its path from the top with `/`, and its text.
struct Source {
    path: String,
    text: String,
}

impl Source {
    /// The text without test modules, comments and the insides of strings: what is built.
    fn built(&self) -> String {
        bare(&without_tests(&self.text))
    }
}

/// Every file below `dir` whose name `wanted` accepts, sorted; build folders left out.
fn files(dir: &str, wanted: impl Fn(&str) -> bool + Copy) -> Vec<Source> {
    let mut found = Vec::new();
    let mut open = vec![top().join(dir)];
    while let Some(folder) = open.pop() {
        for entry in std::fs::read_dir(&folder).unwrap() {
            let path: PathBuf = entry.unwrap().path();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            if path.is_dir() {
                if name != "target" && name != ".git" && name != "stallhand-demo" {
                    open.push(path);
                }
            } else if wanted(&name) {
                let inside = path.strip_prefix(top()).unwrap();
                let parts: Vec<_> = inside.iter().map(|p| p.to_string_lossy()).collect();
                if let Ok(text) = std::fs::read_to_string(&path) {
                    found.push(Source {
                        path: parts.join("/"),
                        text,
                    });
                }
            }
        }
    }
    found.sort_by(|a, b| a.path.cmp(&b.path));
    assert!(!found.is_empty(), "nothing found below {dir}");
    found
}

fn rust(dir: &str) -> Vec<Source> {
    files(dir, |name| name.ends_with(".rs"))
}

/// Takes out `#[cfg(test)]` items: formatted sources close them at the column they began.
fn without_tests(text: &str) -> String {
    let mut out = String::new();
    let mut lines = text.lines();
    while let Some(line) = lines.next() {
        let indent = line.len() - line.trim_start().len();
        if !["#[cfg(test)]", "#[cfg(all(test, unix))]"].contains(&line.trim()) {
            out.push_str(line);
            out.push('\n');
            continue;
        }
        // Further attributes, then the item: one line, or a block that closes where it began.
        let close = format!("{}}}", &line[..indent]);
        let mut item = lines.by_ref().skip_while(|l| l.trim().starts_with("#["));
        let opens = item.next().is_some_and(|l| l.ends_with('{'));
        if opens {
            lines.by_ref().find(|l| *l == close);
        }
    }
    out
}

/// Blanks comments, strings and characters, so that only code is left.
fn bare(text: &str) -> String {
    let bytes = text.as_bytes();
    let mut out = Vec::with_capacity(bytes.len());
    let mut i = 0;
    while i < bytes.len() {
        let rest = &bytes[i..];
        let hashes = rest.iter().skip(1).take_while(|b| **b == b'#').count();
        let end = if rest.starts_with(b"//") {
            rest.iter().position(|b| *b == b'\n').unwrap_or(rest.len())
        } else if rest.starts_with(b"/*") {
            find(rest, b"*/").map_or(rest.len(), |n| n + 2)
        } else if rest[0] == b'r' && rest.get(1 + hashes) == Some(&b'"') {
            let close: Vec<u8> = [&b"\""[..], &b"#".repeat(hashes)].concat();
            let start = hashes + 2;
            find(&rest[start..], &close).map_or(rest.len(), |n| start + n + close.len())
        } else if rest[0] == b'"' {
            let mut n = 1;
            while n < rest.len() && rest[n] != b'"' {
                n += if rest[n] == b'\\' { 2 } else { 1 };
            }
            n + 1
        } else if rest.starts_with(b"'\\") {
            2 + find(&rest[2..], b"'").unwrap_or(0).max(1) + 1
        } else if rest[0] == b'\'' && rest.get(2) == Some(&b'\'') {
            3
        } else {
            out.push(bytes[i]);
            i += 1;
            continue;
        };
        let end = end.min(rest.len());
        out.extend(rest[..end].iter().filter(|b| **b == b'\n'));
        out.push(b' ');
        i += end;
    }
    String::from_utf8_lossy(&out).into_owned()
}

fn find(haystack: &[u8], needle: &[u8]) -> Option<usize> {
    haystack.windows(needle.len()).position(|w| w == needle)
}

/// Whether `word` stands in `code` as a path or name of its own.
fn names(code: &str, word: &str) -> bool {
    let inner = |c: char| c.is_alphanumeric() || c == '_';
    code.match_indices(word).any(|(at, _)| {
        let before = code[..at].chars().next_back();
        let after = code[at + word.len()..].chars().next();
        let open = word.starts_with(inner) && before.is_some_and(inner);
        let shut = word.ends_with(inner) && after.is_some_and(inner);
        !open && !shut
    })
}

/// The rooms named after `crate::` in code, groups such as `crate::{base, config}` included.
fn rooms_named(code: &str) -> BTreeSet<String> {
    let ident = |s: &str| -> String {
        let s = s.trim_start();
        s.chars()
            .take_while(|c| c.is_alphanumeric() || *c == '_')
            .collect()
    };
    let mut rooms = BTreeSet::new();
    for (at, _) in code.match_indices("crate::") {
        let rest = code[at + 7..].trim_start();
        let Some(group) = rest.strip_prefix('{') else {
            rooms.insert(ident(rest));
            continue;
        };
        let mut depth = 1;
        let mut start = true;
        for (i, c) in group.char_indices() {
            if start && !c.is_whitespace() {
                rooms.insert(ident(&group[i..]));
                start = false;
            }
            match c {
                '{' => depth += 1,
                '}' => depth -= 1,
                ',' if depth == 1 => start = true,
                _ => {}
            }
            if depth == 0 {
                break;
            }
        }
    }
    rooms.remove("");
    rooms
}

/// The floor of a room; rooms of one floor never know each other.
fn floor(room: &str) -> Option<usize> {
    let floors: &[&[&str]] = &[
        &["base"],
        &["config"],
        &["photo"],
        &["framing", "checks"],
        &["render"],
        &["inbox", "deliver", "journal", "proof"],
        &["pipeline"],
        &["worker"],
        &["daemon"],
        &["command"],
        &["main", "lib"],
    ];
    floors.iter().position(|rooms| rooms.contains(&room))
}

fn room(path: &str) -> &str {
    let inside = path.strip_prefix("src/").unwrap();
    inside.split('/').next().unwrap().trim_end_matches(".rs")
}

#[test]
fn what_is_built_is_told_from_tests_comments_and_words() {
    let text = "use a::b; // fs::write\n#[cfg(test)]\nmod tests {\n    use super::*;\n    fs::write();\n}\n\
        let s = \"fs::write\"; let r = r#\"tokio \" \"#; let c = '\"'; let l: &'a str;\n/* notify:: */ crate::x::y();";
    let code = bare(&without_tests(text));
    for word in ["fs::write", "tokio", "notify::", "super"] {
        assert!(!names(&code, word), "{word} in {code}");
    }
    assert!(
        names(&code, "a::b") && names(&code, "crate::x") && names(&code, "str"),
        "{code}"
    );
    let rooms = rooms_named(
        "use crate::{base::x, photo::{self, y}}; crate::config::z(); pub(crate) fn f() {}",
    );
    let rooms: Vec<&str> = rooms.iter().map(String::as_str).collect();
    assert_eq!(rooms, ["base", "config", "photo"]);
    let line = "#[cfg(test)]\nmod t;\nmod u;\n";
    assert_eq!(without_tests(line).trim(), "mod u;");
}

#[test]
fn imports_only_go_down_the_floors() {
    let mut wrong = Vec::new();
    for source in rust("src") {
        let own = room(&source.path).to_owned();
        let Some(mine) = floor(&own) else {
            wrong.push(format!("{} is in no known room", source.path));
            continue;
        };
        for other in rooms_named(&source.built()) {
            if other == own {
                continue;
            }
            if floor(&other).is_none_or(|theirs| theirs >= mine) {
                wrong.push(format!("{} reaches for {other}", source.path));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn pure_rooms_know_no_disk_no_clock_and_no_threads_of_the_daemon() {
    let refused = [
        "std::fs",
        "fs::File",
        "std::net",
        "std::env",
        "tokio",
        "notify",
        "serde",
        "serde_json",
        "SystemTime",
        "OffsetDateTime",
        "rusqlite",
    ];
    let mut wrong = Vec::new();
    for source in rust("src") {
        if ["photo", "framing", "checks", "render"].contains(&room(&source.path)) {
            let code = source.built();
            for word in refused.iter().filter(|w| names(&code, w)) {
                wrong.push(format!("{} names {word}", source.path));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// Each word, and the only files or folders in which built code may name it.
const CONFINED: &[(&str, &[&str])] = &[
    ("notify::", &["src/inbox/watch.rs"]),
    ("tokio", &["src/daemon/"]),
    ("rusqlite", &["src/deliver/ledger/"]),
    ("zune_jpeg", &["src/photo/jpeg", "src/render/encode.rs"]),
    ("mozjpeg", &["src/render/encode.rs"]),
    ("heifer", &["src/photo/hei", "src/photo/avif.rs"]),
    ("re_rav1d", &["src/photo/av1.rs"]),
    ("landlock", &["src/worker/"]),
    ("seccompiler", &["src/worker/"]),
    ("rten", &["src/framing/"]),
    ("clap", &["src/command/", "src/main.rs"]),
    ("directories", &["src/config/places.rs"]),
    // The wall clock.
    ("SystemTime", &["src/base/clock.rs", "src/base/disk/"]),
    ("now_utc", &["src/base/clock.rs"]),
    ("now_local", &["src/base/clock.rs"]),
    // Writing to the disk.
    ("fs::write", &["src/base/disk"]),
    ("File::create", &["src/base/disk"]),
    ("File::create_new", &["src/base/disk"]),
    ("OpenOptions", &["src/base/disk"]),
    ("fs::rename", &["src/base/disk"]),
    ("fs::copy", &["src/base/disk"]),
    ("fs::hard_link", &["src/base/disk"]),
    ("fs::remove_file", &["src/base/disk"]),
    ("fs::remove_dir", &["src/base/disk"]),
    ("fs::remove_dir_all", &["src/base/disk"]),
    ("fs::create_dir", &["src/base/disk"]),
    ("fs::create_dir_all", &["src/base/disk"]),
    ("DirBuilder", &["src/base/disk"]),
    ("set_permissions", &["src/base/disk"]),
    ("unix::fs::symlink", &["src/base/disk"]),
];

#[test]
fn what_touches_the_world_stays_behind_its_one_door() {
    let mut wrong = Vec::new();
    for source in rust("src") {
        let code = source.built();
        for (word, doors) in CONFINED {
            if names(&code, word) && !doors.iter().any(|d| source.path.starts_with(d)) {
                wrong.push(format!("{} names {word}", source.path));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn every_file_opens_with_what_it_owns_and_none_is_over_500_lines() {
    let mut wrong = Vec::new();
    for source in rust("src").iter().chain(&rust("tests")) {
        let lines = source.text.lines().count();
        if lines > 500 {
            wrong.push(format!("{} has {lines} lines", source.path));
        }
        let first = source.text.lines().next().unwrap_or("");
        if first.len() < 20 || !first.starts_with("//! ") {
            wrong.push(format!("{} does not say what it owns", source.path));
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// The part of DEVELOPERS.md below a heading, up to the next of its rank.
fn chapter(heading: &str) -> String {
    let text = std::fs::read_to_string(top().join("DEVELOPERS.md")).unwrap();
    let start = text
        .find(&format!("\n## {heading}\n"))
        .unwrap_or_else(|| panic!("DEVELOPERS.md has no chapter {heading}"));
    let rest = &text[start + 4..];
    rest[..rest.find("\n## ").unwrap_or(rest.len())].to_owned()
}

#[test]
fn the_map_of_the_house_names_every_source_file_and_no_other() {
    let map = chapter("Map of the house");
    let named: BTreeSet<String> = map
        .split('`')
        .filter(|word| word.starts_with("src/") && word.ends_with(".rs"))
        .map(str::to_owned)
        .collect();
    let there: BTreeSet<String> = rust("src").into_iter().map(|s| s.path).collect();
    let missing: Vec<_> = there.difference(&named).collect();
    let gone: Vec<_> = named.difference(&there).collect();
    assert!(missing.is_empty(), "not on the map: {missing:#?}");
    assert!(gone.is_empty(), "on the map but gone: {gone:#?}");
}

#[test]
fn nothing_is_left_over() {
    // Put together here, so that this file does not accuse itself.
    let words = ["to".to_owned() + "do!", "unimplem".to_owned() + "ented!"]
        .into_iter()
        .chain([
            "FIX".to_owned() + "ME",
            "dbg".to_owned() + "!",
            "TO".to_owned() + "DO",
        ])
        .chain(["XX".to_owned() + "X"])
        .collect::<Vec<String>>();
    let ignore = "#[ig".to_owned() + "nore]";
    let mut wrong = Vec::new();
    for source in rust("src").iter().chain(&rust("tests")) {
        for (n, line) in source.text.lines().enumerate() {
            for word in words.iter().filter(|w| names(line, w)) {
                wrong.push(format!("{}:{}: {word}", source.path, n + 1));
            }
            if line.contains(&ignore) {
                wrong.push(format!(
                    "{}:{}: ignored without a reason",
                    source.path,
                    n + 1
                ));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn no_file_holds_a_path_or_host_of_the_machine_it_was_made_on() {
    let words = [
        "/wo".to_owned() + "rk/",
        "/ro".to_owned() + "ot/",
        ".car".to_owned() + "go/registry",
        "index.cra".to_owned() + "tes.io",
        "static.cra".to_owned() + "tes.io",
    ];
    let text = |name: &str| {
        let ends = [
            "rs", "toml", "md", "json", "html", "css", "js", "txt", "xml", "service",
        ];
        let end = name.rsplit('.').next().unwrap_or("");
        name != "Cargo.lock" && ends.contains(&end)
    };
    let mut wrong = Vec::new();
    for source in files(".", text) {
        for (n, line) in source.text.lines().enumerate() {
            for word in words.iter().filter(|w| line.contains(w.as_str())) {
                wrong.push(format!("{}:{}: {word}", source.path, n + 1));
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
}

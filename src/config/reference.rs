//! The documented default: the whole configuration file with every setting at its default and
//! explained. Owns the text's layout; the words come from the table of settings.

use super::keys::{Key, Kind, SECTIONS, Section};

/// Widest line of the text, in characters.
const WIDTH: usize = 92;

/// The whole file as text. It means exactly the defaults.
pub fn text() -> String {
    let mut out = String::new();
    comment(
        &mut out,
        "Stallhand's settings. Every line may be left out; what stands here are the defaults. \
         A change is taken up at once by a running Stallhand. Check this file with:",
    );
    comment(&mut out, "  stallhand config check");
    for section in SECTIONS {
        out.push('\n');
        block(&mut out, section);
    }
    out
}

fn block(out: &mut String, section: &Section) {
    comment(out, section.says);
    out.push_str(&section.heading());
    out.push('\n');
    for key in section.keys {
        out.push('\n');
        comment(out, key.says);
        if let Kind::Choice(words) = key.kind {
            for (word, meaning) in words {
                comment(out, &format!("  \"{word}\": {meaning}"));
            }
        }
        line(out, key);
    }
}

fn line(out: &mut String, key: &Key) {
    if key.default.is_empty() {
        out.push_str(&format!("# {} = \"~/my/folder\"\n", key.name));
    } else {
        out.push_str(&format!("{} = {}\n", key.name, key.default));
    }
}

/// Words as comment lines, broken at spaces; an indent at the start is kept.
fn comment(out: &mut String, words: &str) {
    let indent = words.len() - words.trim_start().len();
    let mut current = format!("# {}", &words[..indent]);
    let mut empty = true;
    for word in words.split_whitespace() {
        if !empty && current.chars().count() + 1 + word.chars().count() > WIDTH {
            out.push_str(current.trim_end());
            out.push('\n');
            current = "# ".to_owned();
            empty = true;
        }
        if !empty {
            current.push(' ');
        }
        current.push_str(word);
        empty = false;
    }
    out.push_str(current.trim_end());
    out.push('\n');
}

#[cfg(test)]
mod tests {
    use std::path::Path;

    use super::super::{Config, Places, load};
    use super::*;

    #[test]
    fn the_documented_default_means_exactly_the_defaults() {
        let places = Places::under(Path::new("/home/ada"));
        let read = load::parse(&text(), Path::new("/tmp/stallhand.toml"), &places).unwrap();
        let want = Config {
            file: read.file.clone(),
            ..Config::default_for(&places)
        };
        assert_eq!(read, want);
    }

    #[test]
    fn every_setting_stands_in_it_once_and_no_line_is_too_wide() {
        let text = text();
        for section in SECTIONS {
            assert_eq!(text.matches(&section.heading()).count(), 1);
            for key in section.keys {
                let lines = text.lines().filter(|l| {
                    let l = l.trim_start_matches("# ");
                    l.starts_with(&format!("{} = ", key.name))
                });
                assert_eq!(lines.count(), 1, "{}", key.name);
            }
        }
        for line in text.lines() {
            assert!(line.chars().count() <= WIDTH, "{line}");
        }
    }
}

//! `why`: the story of one photo in plain words, told from the journal. Needs no lock.

use std::path::Path;

use time::UtcOffset;

use super::{OK, USAGE, complain, say, start};
use crate::base::disk::Disk;
use crate::journal::append;
use crate::proof::story::{self, Answer};

/// Tells it; returns the exit code.
pub fn run(file: Option<&Path>, name: &str) -> i32 {
    let config = match start::configuration(file) {
        Ok(c) => c,
        Err(code) => return code,
    };
    let lines: Vec<serde_json::Value> = Disk::default()
        .root(&config.folders.state)
        .and_then(|state| append::lines(&state))
        .unwrap_or_default()
        .iter()
        .filter_map(|r| serde_json::to_value(r).ok())
        .collect();
    let offset = UtcOffset::current_local_offset().unwrap_or(UtcOffset::UTC);
    match story::why(&lines, name, offset) {
        Answer::Story(sentences) => {
            for s in sentences {
                say(&s);
            }
            OK
        }
        Answer::Several(sources) => {
            complain(&format!("{name}: the name fits several photos"));
            for s in sources {
                complain(&format!("  {s}"));
            }
            complain("hint: name one of them with its folder");
            USAGE
        }
        Answer::Unknown => {
            complain(&format!(
                "{name}: no photo of this name was ever delivered, held or passed over\nhint: name the photo or its output as it is called"
            ));
            USAGE
        }
    }
}

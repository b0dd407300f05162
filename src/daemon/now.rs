//! What only the running daemon knows, in a small file for `status`: files that keep changing. Owns when
//! that is written; there is no such file while there is nothing to say.

use std::path::Path;

use serde::{Deserialize, Serialize};

use super::house::{House, Stage};
use crate::base::clock::Moment;
use crate::base::disk::{Disk, text};

/// The file in the state folder.
const FILE: &str = "now.json";
const MOST: u64 = 1 << 24;

/// What the running daemon knows.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Now {
    /// Inbox-relative paths of files that have kept changing for a minute or longer.
    pub changing: Vec<String>,
}

/// What the daemon that runs on this state folder has to say.
pub fn look(state: &Path) -> Now {
    let root = Disk::default().root(state);
    root.and_then(|r| r.read(Path::new(FILE), MOST))
        .ok()
        .and_then(|bytes| serde_json::from_slice(&bytes).ok())
        .unwrap_or_default()
}

impl House {
    /// Writes what is to be said, where it changed.
    pub(super) fn tell_now(&mut self, now: Moment) {
        let is_used = |p: &Path| {
            self.arrivals
                .get(p)
                .is_some_and(|a| !matches!(a.stage, Stage::Fresh | Stage::Later(..)))
        };
        let mut changing = self.settle.restless(now);
        changing.retain(|p| !is_used(p));
        let said = Now {
            changing: changing.iter().map(|p| text(p)).collect(),
        };
        if self.said.as_ref() == Some(&said) {
            return;
        }
        let file = Path::new(FILE);
        let done = if said == Now::default() {
            // One that a daemon before left goes too.
            match self.state.stat(file) {
                Ok(None) => Ok(()),
                _ => self.state.remove(file),
            }
        } else {
            let bytes = serde_json::to_vec(&said).unwrap_or_default();
            self.state.replace_own(file, &bytes)
        };
        if done.is_ok() {
            self.said = Some(said);
        }
    }
}

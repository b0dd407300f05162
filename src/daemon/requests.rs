//! Requests to a running daemon: a file in the state folder, answered by another beside it.
//! Owns their form and their files; refuses to know who asks.

use std::io;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use super::house::House;
use super::summary::Summary;
use crate::base::disk::Disk;

/// The folder below the state folder.
pub const FOLDER: &str = "requests";
const MOST: u64 = 1 << 26;

/// What may be asked of a running daemon.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Request {
    /// Everything in the inbox now, without waiting for quiet listings.
    Once,
    /// Outputs again.
    Redo { names: Vec<String>, changed: bool },
}

/// A request that is being worked on.
pub(super) struct Pending {
    name: PathBuf,
    /// The summary's length when it came.
    from: usize,
}

/// Writes a request; returns its ticket.
///
/// # Errors
/// The operating system's error.
pub fn ask(state: &Path, request: &Request) -> io::Result<PathBuf> {
    let root = Disk::default().root(state)?;
    root.make_folders(Path::new(FOLDER))?;
    let text = serde_json::to_vec(request)?;
    let ticket = Path::new(FOLDER).join(format!("{}.ask", std::process::id()));
    let answer = ticket.with_extension("answer");
    // Left behind by a process of the same number long ago.
    root.remove(&ticket)?;
    root.remove(&answer)?;
    // Written under another name first, so that the daemon never reads half of it.
    let draft = ticket.with_extension("draft");
    root.remove(&draft)?;
    root.write_new(&draft, &text)?;
    root.rename(&draft, &root, &ticket)?;
    Ok(ticket)
}

/// The answer, once it is there; it is removed by being read.
pub fn answer(state: &Path, ticket: &Path) -> Option<Result<Summary, String>> {
    let root = Disk::default().root(state).ok()?;
    let file = ticket.with_extension("answer");
    let v: Value = serde_json::from_slice(&root.read(&file, MOST).ok()?).ok()?;
    let _ = root.remove(&file);
    match v["refused"].as_str() {
        Some(words) => Some(Err(words.to_owned())),
        None => Some(Ok(Summary::from_json(&v))),
    }
}

impl House {
    /// Takes up requests that lie in the state folder.
    pub(super) fn take_requests(&mut self) {
        let Ok(found) = self.state.list(Path::new(FOLDER)) else {
            return;
        };
        for (rel, _) in found {
            if rel.extension().is_none_or(|e| e != "ask") {
                continue;
            }
            let request = self
                .state
                .read(&rel, 1 << 20)
                .ok()
                .and_then(|b| serde_json::from_slice::<Request>(&b).ok());
            let _ = self.state.remove(&rel);
            match request {
                Some(Request::Once) => {
                    self.manner.once = true;
                    let now = self.clock.now();
                    self.scan_all(now);
                }
                Some(Request::Redo { names, changed }) => {
                    if let Err(name) = self.redo(&names, changed) {
                        let words = format!(
                            "{name}: no photo, output or listing of this name\nhint: `stallhand status` and the proof sheet tell the names"
                        );
                        self.give_answer(&rel, &json!({"refused": words}));
                        continue;
                    }
                }
                None => {
                    self.give_answer(&rel, &json!({"refused": "the request cannot be read\nhint: use one version of Stallhand"}));
                    continue;
                }
            }
            self.requests.push(Pending {
                name: rel,
                from: self.summary.lines.len(),
            });
        }
    }

    /// Answers what was asked, once nothing is left to do.
    pub(super) fn answer_requests(&mut self) {
        if self.requests.is_empty() || !self.is_idle() && !self.halted {
            return;
        }
        for p in std::mem::take(&mut self.requests) {
            let summary = self.summary.since(p.from).to_json();
            self.give_answer(&p.name, &summary);
        }
        self.manner.once = self.always_once;
    }

    fn give_answer(&self, ask: &Path, answer: &Value) {
        let file = ask.with_extension("answer");
        if let Err(e) = self.state.replace_own(&file, answer.to_string().as_bytes()) {
            tracing::warn!(
                "a request cannot be answered: {}",
                crate::deliver::plain(&e)
            );
        }
    }
}

//! Requests to a running daemon: a file in the state folder, answered by another beside it.
//! Owns their form and their files; refuses to know who asks.
//!
//! `N.ask` becomes `N.taken` when what it asks for is written down, and goes when `N.answer` is there: a
//! daemon that dies meanwhile leaves it to the next one.

use std::io;
use std::path::{Path, PathBuf};

use rustix::io::Errno;
use rustix::process::{Pid, test_kill_process};
use serde::{Deserialize, Serialize};
use serde_json::{Value, json};

use super::finish::PICTURES;
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
    /// `N.taken`.
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
    // Left behind by a process of the same number long ago.
    for kind in ["ask", "taken", "answer", "draft"] {
        root.remove(&ticket.with_extension(kind))?;
    }
    // Written under another name first, so that the daemon never reads half of it.
    let draft = ticket.with_extension("draft");
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

/// Takes a request back that nobody is there to answer.
pub fn withdraw(state: &Path, ticket: &Path) {
    if let Ok(root) = Disk::default().root(state) {
        let _ = root.remove(ticket);
        let _ = root.remove(&ticket.with_extension("taken"));
    }
}

/// Whether the process that wrote a request still runs, or another of its number.
fn asker_lives(ticket: &Path) -> bool {
    let number = ticket.file_stem().and_then(|s| s.to_str()?.parse().ok());
    number.and_then(Pid::from_raw).is_some_and(|asker| {
        // No permission means that there is one.
        test_kill_process(asker) != Err(Errno::SRCH)
    })
}

impl House {
    /// At start: answers and drafts of askers that are no more, and small pictures that were being
    /// written when a process before was ended.
    pub(super) fn clear_leftovers(&self) {
        let _ = self.state.make_folders(Path::new(FOLDER));
        let of = |folder: &str| self.state.list(Path::new(folder)).unwrap_or_default();
        let unread = of(FOLDER).into_iter().filter(|(rel, _)| {
            let kind = rel.extension().and_then(|e| e.to_str());
            matches!(kind, Some("answer" | "draft")) && !asker_lives(rel)
        });
        let half = of(PICTURES).into_iter();
        let half = half.filter(|(rel, _)| rel.extension().is_some_and(|e| e == "new"));
        for (rel, _) in unread.chain(half) {
            let _ = self.state.remove(&rel);
        }
    }

    /// Takes up requests that lie in the state folder, those too that a daemon before took and did not
    /// live to answer.
    pub(super) fn take_requests(&mut self) {
        let Ok(found) = self.state.list(Path::new(FOLDER)) else {
            return;
        };
        for (rel, _) in found {
            let taken = rel.extension().is_some_and(|e| e == "taken");
            if !taken && rel.extension().is_none_or(|e| e != "ask") {
                continue;
            }
            let name = rel.with_extension("taken");
            if self.requests.iter().any(|p| p.name == name) {
                continue;
            }
            let request = self
                .state
                .read(&rel, 1 << 20)
                .ok()
                .and_then(|b| serde_json::from_slice::<Request>(&b).ok());
            let refused = match request {
                Some(Request::Once) => {
                    self.manner.once = true;
                    let now = self.clock.now();
                    self.scan_all(now);
                    None
                }
                // It is in the ledger.
                Some(Request::Redo { .. }) if taken => None,
                Some(Request::Redo { names, changed }) => self.redo(&names, changed).err(),
                None => Some(
                    "the request cannot be read\nhint: use one version of Stallhand".to_owned(),
                ),
            };
            if let Some(words) = refused {
                self.give_answer(&name, &json!({"refused": words}));
                continue;
            }
            if !taken {
                let _ = self.state.rename(&rel, &self.state, &name);
            }
            self.requests.push(Pending {
                name,
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
            if !self.give_answer(&p.name, &summary) {
                self.requests.push(p);
            }
        }
        if self.requests.is_empty() {
            self.manner.once = self.always_once;
        }
    }

    /// Whether it could be given.
    fn give_answer(&self, taken: &Path, answer: &Value) -> bool {
        let file = taken.with_extension("answer");
        let given = self.state.replace_own(&file, answer.to_string().as_bytes());
        if let Err(e) = &given {
            tracing::warn!(
                "a request cannot be answered now: {}",
                crate::deliver::plain(e)
            );
            return false;
        }
        let _ = self.state.remove(taken);
        let _ = self.state.remove(&taken.with_extension("ask"));
        true
    }
}

//! The fence round a worker: how much memory it may take, and that it may touch nothing.
//! Owns the limits; refuses to know what runs inside.
//!
//! Bytes come in and go out through pipes that are open already, so a worker needs no file at all.
//! Three things say so, each enough for files alone: no descriptor can be had beyond the three
//! pipes (every Unix), landlock (Linux 5.13 and later), and refused system calls (Linux).

use std::fmt;

use rustix::process::{Resource, Rlimit, setrlimit};
use serde::{Deserialize, Serialize};

/// Address space a worker may take, bytes, when the daemon says nothing else.
pub const MEMORY: u64 = 4 << 30;

/// stdin, stdout, stderr.
const DESCRIPTORS: u64 = 3;

/// What the fence is made of beside the memory limit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parts {
    /// No further descriptor.
    pub descriptors: bool,
    /// landlock: no file, no TCP.
    pub files: bool,
    /// seccomp: no call that opens, sends or starts anything.
    pub calls: bool,
}

impl Parts {
    pub const ALL: Self = Self {
        descriptors: true,
        files: true,
        calls: true,
    };
    /// The named parts alone, for trying one without the others; no word means none.
    pub fn named(words: &str) -> Self {
        let has = |word| words.split_whitespace().any(|w| w == word);
        Self {
            descriptors: has("descriptors"),
            files: has("files"),
            calls: has("calls"),
        }
    }
}

/// How far the fence reaches on this system.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Level {
    /// landlock and refused calls.
    Closed,
    /// Refused calls alone.
    Calls,
    /// landlock alone.
    Files,
    /// Limits of memory and descriptors alone.
    Limits,
}

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Closed => "closed: no files (twice over), no network, no other programs",
            Self::Calls => "no files, no network, no other programs (without landlock)",
            Self::Files => "no files and no TCP (without seccomp)",
            Self::Limits => "limits of memory and open files only",
        })
    }
}

/// Puts the fence round this process for good; what a system does not know is left out.
/// Call it before there is a second thread.
///
/// The number of processes is not limited: that limit counts all that its user runs.
pub fn raise(memory: u64, parts: Parts) -> Level {
    // landlock first: it needs a descriptor for a moment.
    let files = parts.files && no_files();
    limit(Resource::As, memory);
    limit(Resource::Core, 0);
    limit(Resource::Fsize, 0);
    if parts.descriptors {
        limit(Resource::Nofile, DESCRIPTORS);
    }
    let calls = parts.calls && no_calls();
    match (files, calls) {
        (true, true) => Level::Closed,
        (false, true) => Level::Calls,
        (true, false) => Level::Files,
        (false, false) => Level::Limits,
    }
}

fn limit(what: Resource, n: u64) {
    let _ = setrlimit(
        what,
        Rlimit {
            current: Some(n),
            maximum: Some(n),
        },
    );
}

/// Handles every right landlock knows and grants none. Newer rights are left out where the kernel
/// lacks them; true when it knows those of its first version at least.
#[cfg(target_os = "linux")]
fn no_files() -> bool {
    use landlock::{ABI, Access, AccessFs, AccessNet, Ruleset, RulesetAttr, RulesetStatus, Scope};
    const NEWEST: ABI = ABI::V6;
    Ruleset::default()
        .handle_access(AccessFs::from_all(NEWEST))
        .and_then(|r| r.handle_access(AccessNet::from_all(NEWEST)))
        .and_then(|r| r.scope(Scope::from_all(NEWEST)))
        .and_then(|r| r.create())
        .and_then(|r| r.restrict_self())
        .is_ok_and(|s| s.ruleset != RulesetStatus::NotEnforced)
}

#[cfg(not(target_os = "linux"))]
fn no_files() -> bool {
    false
}

#[cfg(target_os = "linux")]
fn no_calls() -> bool {
    super::calls::refuse()
}

#[cfg(not(target_os = "linux"))]
fn no_calls() -> bool {
    false
}

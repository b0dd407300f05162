//! Arranged trouble: lets a test make the Nth disk operation fail or end the process there.
//! Refuses to know what the operations are for.

use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

/// The operations a test can make fail.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Operation {
    Write,
    Sync,
    Rename,
    Link,
    Unlink,
    Mkdir,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Trouble {
    Error(i32),
    Kill,
}

/// The disk, with or without arranged trouble.
#[derive(Clone, Default)]
pub struct Disk {
    plan: Option<Arc<Plan>>,
    bare: bool,
}

struct Plan {
    count: AtomicU64,
    from: u64,
    until: AtomicU64,
    trouble: Trouble,
}

impl Disk {
    /// Operations `from..until` (counted from 1) fail with the OS error `errno`.
    pub fn failing(errno: i32, from: u64, until: u64) -> Self {
        Self::planned(Trouble::Error(errno), from, until)
    }
    fn planned(trouble: Trouble, from: u64, until: u64) -> Self {
        Self {
            plan: Some(Arc::new(Plan {
                count: AtomicU64::new(0),
                from,
                until: AtomicU64::new(until),
                trouble,
            })),
            bare: false,
        }
    }
    /// The same, whose file system knows neither a rename that replaces nothing nor an exchange.
    pub fn bare(self) -> Self {
        Self { bare: true, ..self }
    }
    pub(super) fn is_bare(&self) -> bool {
        self.bare
    }
    /// Reads `STALLHAND_DISK_TROUBLE`: `kill:N`, `eio:N`, `enospc:N` or `enospc:N-M`, `bare`, or `bare,`
    /// and one of the others; for tests.
    pub fn from_environment() -> Self {
        let Ok(text) = std::env::var("STALLHAND_DISK_TROUBLE") else {
            return Self::default();
        };
        let (bare, text) = match text.strip_prefix("bare") {
            Some(rest) => (true, rest.trim_start_matches(',')),
            None => (false, text.as_str()),
        };
        let parse = || {
            let (what, when) = text.split_once(':')?;
            let (from, until) = match when.split_once('-') {
                Some((a, b)) => (a.parse().ok()?, b.parse().ok()?),
                None => (when.parse().ok()?, when.parse::<u64>().ok()? + 1),
            };
            let trouble = match what {
                "kill" => Trouble::Kill,
                "eio" => Trouble::Error(rustix::io::Errno::IO.raw_os_error()),
                "enospc" => Trouble::Error(rustix::io::Errno::NOSPC.raw_os_error()),
                _ => return None,
            };
            Some(Self::planned(trouble, from, until))
        };
        Self {
            bare,
            ..parse().unwrap_or_default()
        }
    }
    /// Ends the arranged trouble.
    pub fn heal(&self) {
        if let Some(p) = &self.plan {
            p.until.store(0, Ordering::SeqCst);
        }
    }
    /// Operations so far.
    pub fn operations(&self) -> u64 {
        self.plan
            .as_ref()
            .map_or(0, |p| p.count.load(Ordering::SeqCst))
    }
    pub(super) fn step(&self, _what: Operation) -> io::Result<()> {
        let Some(p) = &self.plan else { return Ok(()) };
        let n = p.count.fetch_add(1, Ordering::SeqCst) + 1;
        if n < p.from || n >= p.until.load(Ordering::SeqCst) {
            return Ok(());
        }
        match p.trouble {
            Trouble::Error(e) => Err(io::Error::from_raw_os_error(e)),
            Trouble::Kill => {
                let _ = rustix::process::kill_process(
                    rustix::process::getpid(),
                    rustix::process::Signal::KILL,
                );
                std::process::abort()
            }
        }
    }
}

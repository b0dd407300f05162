//! One daemon for one state folder: a lock that ends with its process, however it ends.
//! Owns the lock file; refuses to know what the holder does.
//!
//! It is a record lock (fcntl(2)): it is the process's own, and a worker that is being started when the
//! daemon is killed keeps nothing of it, as it would of a lock of the open file (flock(2)). It is lost
//! when the process closes any descriptor of the file, so nothing else in the holder opens it.

use std::fs::File;
use std::io::{self, Read, Seek, Write};
use std::path::Path;

use rustix::fs::{FlockOperation, fcntl_lock};
use rustix::io::Errno;
use rustix::process::{Flock, FlockType, fcntl_getlk};

use crate::base::disk::Disk;

/// Length of the lock file, bytes: set aside at once, so that words can still be written into it when
/// its disk is full.
const ROOM: usize = 2048;

/// The lock, held while this lives.
pub struct Lock {
    file: File,
    who: String,
    told: Option<String>,
}

/// Who holds a lock, and how things stand there.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Holder {
    pub who: String,
    /// What keeps the holder from going on, in plain words.
    pub paused: Option<String>,
}

impl Holder {
    fn parse(text: &str) -> Self {
        let (who, rest) = text.trim().split_once('\n').unwrap_or((text.trim(), ""));
        let words = rest.trim();
        Self {
            who: who.trim().to_owned(),
            paused: (!words.is_empty()).then(|| words.to_owned()),
        }
    }
}

/// Why the lock was not had.
#[derive(Debug)]
pub enum NoLock {
    /// Another instance holds it: what it wrote about itself.
    Held(String),
    Io(io::Error),
}

impl Lock {
    /// Takes the lock in the state folder and writes who holds it.
    ///
    /// # Errors
    /// Another holder, or the operating system's error.
    pub fn take(state: &Path, command: &str) -> Result<Self, NoLock> {
        let mut file = Disk::default()
            .lock_file(&state.join("lock"))
            .map_err(NoLock::Io)?;
        match fcntl_lock(&file, FlockOperation::NonBlockingLockExclusive) {
            Ok(()) => {}
            Err(Errno::AGAIN | Errno::ACCESS) => {
                let mut who = String::new();
                let _ = file.read_to_string(&mut who);
                return Err(NoLock::Held(Holder::parse(&who).who));
            }
            Err(e) => return Err(NoLock::Io(e.into())),
        }
        let who = format!("stallhand {command}, process {}", std::process::id());
        let mut lock = Self {
            file,
            who,
            told: None,
        };
        if lock.file.metadata().is_ok_and(|m| m.len() != ROOM as u64) {
            let _ = lock.file.set_len(0);
        }
        lock.write();
        Ok(lock)
    }
    /// Says how things stand: what keeps the holder from going on, if anything does. Returns whether
    /// that is what was said before.
    pub fn tell(&mut self, paused: Option<&str>) -> bool {
        if self.told.as_deref() == paused {
            return true;
        }
        self.told = paused.map(str::to_owned);
        self.write();
        false
    }
    fn write(&mut self) {
        let words = self.told.as_deref().unwrap_or_default();
        let mut text = format!("{}\n{words}", self.who);
        let mut cut = text.len().min(ROOM - 1);
        while !text.is_char_boundary(cut) {
            cut -= 1;
        }
        text.truncate(cut);
        text.push_str(&" ".repeat(ROOM - 1 - cut));
        text.push('\n');
        let written = self.file.rewind();
        let _ = written.and_then(|()| self.file.write_all(text.as_bytes()));
    }
    /// Who holds the lock, if another process does; asking takes nothing.
    pub fn holder(state: &Path) -> Option<Holder> {
        let mut file = File::open(state.join("lock")).ok()?;
        fcntl_getlk(&file, &Flock::from(FlockType::WriteLock)).ok()??;
        let mut who = String::new();
        file.read_to_string(&mut who).ok()?;
        Some(Holder::parse(&who))
    }
}

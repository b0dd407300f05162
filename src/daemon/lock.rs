//! One daemon for one state folder: a lock that ends with its process, however it ends.
//! Owns the lock file; refuses to know what the holder does.

use std::fs::File;
use std::io::{self, Read, Seek, Write};
use std::path::Path;

use rustix::fs::{FlockOperation, flock};

use crate::base::disk::Disk;

/// The lock, held while this lives.
pub struct Lock {
    _file: File,
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
        match flock(&file, FlockOperation::NonBlockingLockExclusive) {
            Ok(()) => {}
            Err(rustix::io::Errno::WOULDBLOCK) => {
                let mut who = String::new();
                let _ = file.read_to_string(&mut who);
                return Err(NoLock::Held(who.trim().to_owned()));
            }
            Err(e) => return Err(NoLock::Io(e.into())),
        }
        let who = format!("stallhand {command}, process {}\n", std::process::id());
        let _ = file.rewind().and_then(|()| file.set_len(0));
        let _ = file.write_all(who.as_bytes());
        Ok(Self { _file: file })
    }
    /// Who holds the lock, if anyone does.
    pub fn holder(state: &Path) -> Option<String> {
        let mut file = File::open(state.join("lock")).ok()?;
        match flock(&file, FlockOperation::NonBlockingLockShared) {
            Ok(()) => None,
            Err(_) => {
                let mut who = String::new();
                file.read_to_string(&mut who).ok()?;
                Some(who.trim().to_owned())
            }
        }
    }
}

//! The way out: names, the ledger, atomic publication and the last move of the original.
//! Owns the promise "each photo and profile exactly one output"; refuses to know pixels.

pub mod archive;
pub mod ledger;
pub mod naming;
pub mod publish;
pub mod rename;
pub mod text;

use std::io;
use std::path::{Path, PathBuf};

use ledger::LedgerError;

/// Why a delivery cannot go on now; the photo is whole and it will be tried again.
#[derive(Debug)]
pub enum Trouble {
    /// No room (bytes or inodes) on the disk of this folder.
    Full(PathBuf),
    Io(PathBuf, io::Error),
    Ledger(LedgerError),
}

impl Trouble {
    pub fn is_full(&self) -> bool {
        matches!(self, Self::Full(_) | Self::Ledger(LedgerError::Full))
    }
    pub(crate) fn at(
        root: &crate::base::disk::Root,
        rel: &Path,
    ) -> impl FnOnce(io::Error) -> Self + use<> {
        let path = root.path().join(rel);
        move |e| match e.kind() {
            io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => Self::Full(path),
            _ => Self::Io(path, e),
        }
    }
}

impl std::fmt::Display for Trouble {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Full(p) => write!(
                f,
                "{}: the disk is full\nhint: free some space; Stallhand goes on by itself",
                crate::base::disk::text(p)
            ),
            Self::Io(p, e) => write!(
                f,
                "{}: {}\nhint: check that the folder is there and may be written; Stallhand tries again by itself",
                crate::base::disk::text(p),
                plain(e)
            ),
            Self::Ledger(e) => e.fmt(f),
        }
    }
}
impl std::error::Error for Trouble {}
impl From<LedgerError> for Trouble {
    fn from(e: LedgerError) -> Self {
        Self::Ledger(e)
    }
}

/// An operating system's error as she would say it.
pub fn plain(e: &io::Error) -> String {
    match e.kind() {
        io::ErrorKind::PermissionDenied => "not permitted".into(),
        io::ErrorKind::NotFound => "it is not there".into(),
        io::ErrorKind::ReadOnlyFilesystem => "the disk is read-only".into(),
        io::ErrorKind::StorageFull => "the disk is full".into(),
        _ => {
            let text = e.to_string().to_lowercase();
            text.split(" (os error")
                .next()
                .unwrap_or_default()
                .to_owned()
        }
    }
}

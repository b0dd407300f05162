//! The way out: names, the ledger, atomic publication and the last move of the original.
//! Owns the promise "each photo and profile exactly one output"; refuses to know pixels.

pub mod archive;
pub mod ledger;
pub mod naming;
pub mod publish;
pub mod rename;
pub mod sweep;
pub mod text;

use std::io;
use std::path::{Path, PathBuf};

use ledger::LedgerError;

/// Why a delivery cannot go on now; the photo is whole and it will be tried again.
#[derive(Debug)]
pub enum Trouble {
    /// No room for bytes on the disk of this folder.
    Full(PathBuf),
    /// No room for one more file (inode) on the disk of this folder.
    Crowded(PathBuf),
    Io(PathBuf, io::Error),
    Ledger(LedgerError),
}

impl Trouble {
    pub fn is_full(&self) -> bool {
        matches!(
            self,
            Self::Full(_) | Self::Crowded(_) | Self::Ledger(LedgerError::Full)
        )
    }
    pub(crate) fn at(
        root: &crate::base::disk::Root,
        rel: &Path,
    ) -> impl FnOnce(io::Error) -> Self + use<> {
        let path = root.path().join(rel);
        let root = root.clone();
        move |e| match e.kind() {
            io::ErrorKind::StorageFull if root.free().is_ok_and(|(_, files)| files == 0) => {
                Self::Crowded(path)
            }
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
            Self::Crowded(p) => write!(
                f,
                "{}: the disk is full, it can hold no more files however small\nhint: remove or pack some of the many files on it; Stallhand goes on by itself",
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
        io::ErrorKind::StaleNetworkFileHandle => {
            "its folder is not there, or is another one now".into()
        }
        _ => {
            let text = e.to_string().to_lowercase();
            text.split(" (os error")
                .next()
                .unwrap_or_default()
                .to_owned()
        }
    }
}

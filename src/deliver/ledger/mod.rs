//! The ledger: the embedded database of what was seen, promised and delivered.
//! Owns its format and every transaction; refuses to touch photos or outputs.

mod airs;
mod moves;
mod outbox;
mod outputs;
mod photos;
mod remakes;
mod renaming;
mod restore;
mod schema;
mod seen;
mod texts;

use std::path::{Path, PathBuf};

use rusqlite::{Connection, Transaction, TransactionBehavior};

pub use airs::Aired;
pub use moves::{Move, Plan};
pub use outputs::{Decision, Output};
pub use photos::{Enlist, Photo, Place, State};
pub use renaming::{Renaming, Renumbering};
pub use restore::{Findings, Known, KnownOutput, number_in};
pub use schema::VERSION;
pub use seen::Seen;

use crate::base::clock::Clock;
use crate::base::disk::Stamp;

/// Why the ledger cannot serve.
#[derive(Debug)]
pub enum LedgerError {
    /// Written by a newer program.
    Newer(i64),
    /// Damaged: it has to be moved aside and rebuilt.
    Damaged(String),
    /// The disk under it is full.
    Full,
    Other(String),
}

impl std::fmt::Display for LedgerError {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Newer(v) => write!(
                f,
                "the ledger has format {v}, this program knows up to {VERSION}\nhint: install the newer Stallhand that wrote it"
            ),
            Self::Damaged(why) => write!(
                f,
                "the ledger is damaged ({why})\nhint: start Stallhand again; it sets the ledger aside and makes a new one from the journal"
            ),
            Self::Full => write!(
                f,
                "the disk of the state folder is full\nhint: free some space"
            ),
            Self::Other(why) => write!(f, "the ledger cannot be used: {why}"),
        }
    }
}
impl std::error::Error for LedgerError {}

impl From<rusqlite::Error> for LedgerError {
    fn from(e: rusqlite::Error) -> Self {
        use rusqlite::ErrorCode::{DatabaseCorrupt, DiskFull, NotADatabase};
        match e.sqlite_error_code() {
            Some(DatabaseCorrupt | NotADatabase) => Self::Damaged(e.to_string()),
            Some(DiskFull) => Self::Full,
            _ => Self::Other(e.to_string()),
        }
    }
}

pub type Result<T> = std::result::Result<T, LedgerError>;

/// The open ledger. One process writes; others may read.
pub struct Ledger {
    db: Connection,
    clock: Clock,
}

impl Ledger {
    /// Opens or makes `ledger.db` at `path` for writing.
    ///
    /// # Errors
    /// Newer format, damage, or the database's error.
    pub fn open(path: &Path, clock: Clock) -> Result<Self> {
        let db = Connection::open(path)?;
        db.busy_timeout(std::time::Duration::from_secs(5))?;
        db.pragma_update(None, "journal_mode", "WAL")?;
        db.pragma_update(None, "synchronous", "FULL")?;
        db.pragma_update(None, "foreign_keys", true)?;
        db.pragma_update(None, "cache_size", -512)?;
        let check: String = db.query_row("PRAGMA quick_check(1)", [], |r| r.get(0))?;
        if check != "ok" {
            return Err(LedgerError::Damaged(check));
        }
        schema::prepare(&db)?;
        Ok(Self { db, clock })
    }
    /// Opens an existing ledger for reading beside a running daemon; `None` when there is none.
    ///
    /// # Errors
    /// Newer format, damage, or the database's error.
    pub fn look(path: &Path) -> Result<Option<Self>> {
        if !path.exists() {
            return Ok(None);
        }
        let db = Connection::open(path)?;
        db.busy_timeout(std::time::Duration::from_secs(5))?;
        db.pragma_update(None, "query_only", true)?;
        let version = schema::version(&db)?;
        if version > VERSION {
            return Err(LedgerError::Newer(version));
        }
        if version == 0 {
            return Ok(None);
        }
        Ok(Some(Self {
            db,
            clock: Clock::system(),
        }))
    }
    fn write<T>(&mut self, work: impl FnOnce(&Transaction<'_>, &Clock) -> Result<T>) -> Result<T> {
        let clock = self.clock.clone();
        let tx = self
            .db
            .transaction_with_behavior(TransactionBehavior::Immediate)?;
        let out = work(&tx, &clock)?;
        tx.commit()?;
        Ok(out)
    }
}

fn bytes_of(path: &Path) -> &[u8] {
    use std::os::unix::ffi::OsStrExt;
    path.as_os_str().as_bytes()
}
fn path_of(bytes: Vec<u8>) -> PathBuf {
    use std::os::unix::ffi::OsStringExt;
    std::ffi::OsString::from_vec(bytes).into()
}
fn stamp_of(r: &rusqlite::Row<'_>, at: usize) -> rusqlite::Result<Stamp> {
    let n = |i: usize| r.get::<_, i64>(at + i);
    Ok(Stamp {
        dev: n(0)? as u64,
        ino: n(1)? as u64,
        size: n(2)? as u64,
        mtime: n(3)?,
        ctime: n(4)?,
    })
}
fn hash_of(bytes: Vec<u8>) -> blake3::Hash {
    <[u8; 32]>::try_from(bytes.as_slice()).map_or_else(|_| blake3::hash(&[]), blake3::Hash::from)
}

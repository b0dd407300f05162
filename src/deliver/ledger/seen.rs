//! Files in the inbox that are settled business, and photos that ended their worker.

use std::path::{Path, PathBuf};

use rusqlite::OptionalExtension;

use super::{Ledger, Result, bytes_of, outbox, stamp_of};
use crate::base::disk::Stamp;
use crate::base::record::Record;

/// A concluded file that stays in the inbox.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Seen {
    pub stamp: Stamp,
    /// Why nothing more is done: a reason code, or `kept`, `held`.
    pub why: String,
}

impl Ledger {
    /// What was concluded about the file at this inbox path.
    ///
    /// # Errors
    /// The database's error.
    pub fn seen(&self, path: &Path) -> Result<Option<Seen>> {
        let mut q = self
            .db
            .prepare_cached("SELECT dev,ino,size,mtime,ctime,why FROM seen WHERE path=?1")?;
        Ok(q.query_row([bytes_of(path)], |r| {
            Ok(Seen {
                stamp: stamp_of(r, 0)?,
                why: r.get(5)?,
            })
        })
        .optional()?)
    }
    /// Concludes a file that stays, with its journal line if it has one.
    ///
    /// # Errors
    /// The database's error.
    pub fn conclude(&mut self, path: &Path, seen: &Seen, line: Option<Record>) -> Result<()> {
        self.write(|tx, clock| {
            conclude(tx, path, seen)?;
            if let Some(line) = line {
                outbox::post(tx, clock, line)?;
            }
            Ok(())
        })
    }
    /// Concludes many files that stay, each with its journal line, all or none.
    ///
    /// # Errors
    /// The database's error.
    pub fn conclude_all(&mut self, all: Vec<(PathBuf, Seen, Record)>) -> Result<()> {
        self.write(|tx, clock| {
            for (path, seen, line) in all {
                conclude(tx, &path, &seen)?;
                outbox::post(tx, clock, line)?;
            }
            Ok(())
        })
    }
    /// Forgets what was concluded about a path (a correction came, or it is asked for again).
    ///
    /// # Errors
    /// The database's error.
    pub fn reopen(&mut self, path: &Path) -> Result<()> {
        self.db
            .execute("DELETE FROM seen WHERE path=?1", [bytes_of(path)])?;
        Ok(())
    }
    /// Notes a photo as in a worker's hands, so that a death of the daemon leaves a trace.
    ///
    /// # Errors
    /// The database's error.
    pub fn take_in_hand(&mut self, hash: &blake3::Hash) -> Result<()> {
        self.db.execute(
            "INSERT OR IGNORE INTO hand(hash) VALUES (?1)",
            [hash.as_bytes()],
        )?;
        Ok(())
    }
    /// The worker gave the photo back alive.
    ///
    /// # Errors
    /// The database's error.
    pub fn put_down(&mut self, hash: &blake3::Hash) -> Result<()> {
        self.write(|tx, _| {
            tx.execute("DELETE FROM hand WHERE hash=?1", [hash.as_bytes()])?;
            tx.execute("DELETE FROM death WHERE hash=?1", [hash.as_bytes()])?;
            Ok(())
        })
    }
    /// Nothing was learned about the photo: it was dropped at a stop, or there was no worker for it.
    /// Deaths counted before stay counted.
    ///
    /// # Errors
    /// The database's error.
    pub fn let_go(&mut self, hash: &blake3::Hash) -> Result<()> {
        self.db
            .execute("DELETE FROM hand WHERE hash=?1", [hash.as_bytes()])?;
        Ok(())
    }
    /// A worker died with this photo while the daemon lived on. Returns the deaths counted so far.
    ///
    /// # Errors
    /// The database's error.
    pub fn count_death(&mut self, hash: &blake3::Hash) -> Result<u32> {
        self.write(|tx, _| {
            tx.execute("DELETE FROM hand WHERE hash=?1", [hash.as_bytes()])?;
            tx.execute(
                "INSERT INTO death(hash, counted) VALUES (?1, 1)
                 ON CONFLICT(hash) DO UPDATE SET counted = counted + 1",
                [hash.as_bytes()],
            )?;
            Ok(tx.query_row(
                "SELECT counted FROM death WHERE hash=?1",
                [hash.as_bytes()],
                |r| r.get(0),
            )?)
        })
    }
    /// At start, with what was in hand when the daemon ended: all of it is suspect and runs alone
    /// from now on. The third end in a row with one photo, always the same and alone, in hand counts
    /// as a death of that photo; an end with nothing, another or several in hand breaks the row.
    ///
    /// # Errors
    /// The database's error.
    pub fn examine_hands(&mut self) -> Result<()> {
        self.write(|tx, _| {
            tx.execute(
                "INSERT OR IGNORE INTO death(hash) SELECT hash FROM hand",
                [],
            )?;
            tx.execute(
                "UPDATE death SET row = CASE
                   WHEN (SELECT count(*) FROM hand) = 1 AND hash IN (SELECT hash FROM hand)
                   THEN row + 1 ELSE 0 END",
                [],
            )?;
            tx.execute(
                "UPDATE death SET counted = counted + 1, row = 0 WHERE row >= 3",
                [],
            )?;
            tx.execute("DELETE FROM hand", [])?;
            Ok(())
        })
    }
    /// Counted deaths of a photo; `None` when it is no suspect.
    ///
    /// # Errors
    /// The database's error.
    pub fn deaths(&self, hash: &blake3::Hash) -> Result<Option<u32>> {
        let mut q = self
            .db
            .prepare_cached("SELECT counted FROM death WHERE hash=?1")?;
        Ok(q.query_row([hash.as_bytes()], |r| r.get(0)).optional()?)
    }
    /// Gives a suspect a clean slate (she put a held photo back).
    ///
    /// # Errors
    /// The database's error.
    pub fn pardon(&mut self, hash: &blake3::Hash) -> Result<()> {
        self.db
            .execute("DELETE FROM death WHERE hash=?1", [hash.as_bytes()])?;
        Ok(())
    }
}

pub(super) fn conclude(tx: &rusqlite::Transaction<'_>, path: &Path, seen: &Seen) -> Result<()> {
    let s = seen.stamp;
    tx.execute(
        "INSERT OR REPLACE INTO seen(path,dev,ino,size,mtime,ctime,why) VALUES (?1,?2,?3,?4,?5,?6,?7)",
        (
            bytes_of(path),
            s.dev as i64,
            s.ino as i64,
            s.size as i64,
            s.mtime,
            s.ctime,
            &seen.why,
        ),
    )?;
    Ok(())
}

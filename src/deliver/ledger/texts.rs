//! Texts beside outputs in the ledger: the hash of what was put there, and of what is about to be.
//! Refuses to touch the files.

use rusqlite::OptionalExtension;

use super::{Ledger, Result, hash_of};

type Row = (Option<blake3::Hash>, Option<blake3::Hash>);

impl Ledger {
    /// What was put at this ready-relative path, and what is about to be put there.
    ///
    /// # Errors
    /// The database's error.
    pub fn text_row(&self, path: &str) -> Result<Option<Row>> {
        let mut q = self
            .db
            .prepare_cached("SELECT hash,next_hash FROM listing_text WHERE path=?1")?;
        let row = q.query_row([path], |r| {
            Ok((
                r.get::<_, Option<Vec<u8>>>(0)?.map(hash_of),
                r.get::<_, Option<Vec<u8>>>(1)?.map(hash_of),
            ))
        });
        Ok(row.optional()?)
    }
    /// The hash of the text that was put at this path; `None` when none ever was.
    ///
    /// # Errors
    /// The database's error.
    pub fn text(&self, path: &str) -> Result<Option<blake3::Hash>> {
        Ok(self.text_row(path)?.and_then(|r| r.0))
    }
    /// Paths at which a text was begun and not finished.
    ///
    /// # Errors
    /// The database's error.
    pub fn unfinished_texts(&self) -> Result<Vec<String>> {
        let mut q = self
            .db
            .prepare_cached("SELECT path FROM listing_text WHERE next_hash IS NOT NULL")?;
        let rows = q.query_map([], |r| r.get(0))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// The intent: this text will stand at this path.
    ///
    /// # Errors
    /// The database's error.
    pub fn intend_text(&mut self, path: &str, hash: &blake3::Hash) -> Result<()> {
        self.db.execute(
            "INSERT INTO listing_text(path,next_hash) VALUES (?1,?2)
             ON CONFLICT(path) DO UPDATE SET next_hash=?2",
            (path, hash.as_bytes()),
        )?;
        Ok(())
    }
    /// The text stands.
    ///
    /// # Errors
    /// The database's error.
    pub fn note_text(&mut self, path: &str, hash: &blake3::Hash) -> Result<()> {
        self.db.execute(
            "INSERT INTO listing_text(path,hash) VALUES (?1,?2)
             ON CONFLICT(path) DO UPDATE SET hash=?2, next_hash=NULL",
            (path, hash.as_bytes()),
        )?;
        Ok(())
    }
    /// The text does not stand: what was put before counts again.
    ///
    /// # Errors
    /// The database's error.
    pub fn give_up_text(&mut self, path: &str) -> Result<()> {
        self.write(|tx, _| {
            tx.execute(
                "UPDATE listing_text SET next_hash=NULL WHERE path=?1",
                [path],
            )?;
            tx.execute(
                "DELETE FROM listing_text WHERE path=?1 AND hash IS NULL",
                [path],
            )?;
            Ok(())
        })
    }
    /// The text at this path is forgotten, so that it is put there anew.
    ///
    /// # Errors
    /// The database's error.
    pub fn forget_text(&mut self, path: &str) -> Result<()> {
        self.db
            .execute("DELETE FROM listing_text WHERE path=?1", [path])?;
        Ok(())
    }
    /// The folder and file name part of a listing's outputs, when it is reserved.
    ///
    /// # Errors
    /// The database's error.
    pub fn known_slug(&self, listing: &str) -> Result<Option<String>> {
        let mut q = self
            .db
            .prepare_cached("SELECT slug FROM listing WHERE name=?1")?;
        Ok(q.query_row([listing], |r| r.get(0)).optional()?)
    }
}

//! Outputs in the ledger: what was promised under which name, and what stands there.

use std::path::PathBuf;

use rusqlite::{OptionalExtension, Row};

use super::{Ledger, Plan, Result, Seen, State, bytes_of, hash_of, moves, outbox, seen};
use crate::base::record::{Delivery, Record};

/// One output of one photo and profile.
#[derive(Clone, Debug, PartialEq)]
pub struct Output {
    pub photo: i64,
    pub profile: String,
    /// Ready-relative path.
    pub path: String,
    /// Hash of what was delivered; `None` before the first delivery.
    pub hash: Option<blake3::Hash>,
    /// Hash of what is about to be delivered.
    pub next_hash: Option<blake3::Hash>,
    /// Ready-relative path of the file being written beside it.
    pub temp: Option<String>,
    /// Fingerprint of the profile it was made by.
    pub fingerprint: String,
    pub delivery: Option<Delivery>,
    pub reasons: Vec<String>,
    pub at: String,
}

const COLUMNS: &str = "photo,profile,path,hash,next_hash,temp,fingerprint,delivery,reasons,at";

fn output(r: &Row<'_>) -> rusqlite::Result<Output> {
    Ok(Output {
        photo: r.get(0)?,
        profile: r.get(1)?,
        path: r.get(2)?,
        hash: r.get::<_, Option<Vec<u8>>>(3)?.map(hash_of),
        next_hash: r.get::<_, Option<Vec<u8>>>(4)?.map(hash_of),
        temp: r.get(5)?,
        fingerprint: r.get(6)?,
        delivery: r
            .get::<_, Option<String>>(7)?
            .and_then(|t| serde_json::from_str(&t).ok()),
        reasons: serde_json::from_str(&r.get::<_, String>(8)?).unwrap_or_default(),
        at: r.get(9)?,
    })
}

/// What one decision writes down, in one transaction.
#[derive(Default)]
pub struct Decision {
    /// Delivered outputs: profile, what was delivered, its reasons, the profile's fingerprint.
    pub delivered: Vec<(String, Delivery, Vec<String>, String)>,
    /// One journal line each.
    pub lines: Vec<Record>,
    pub state: Option<State>,
    /// Moves of the original and of what came with it.
    pub moves: Vec<Plan>,
    /// The original stays in the inbox, concluded.
    pub stays: Option<(PathBuf, Seen)>,
    pub correction: Option<String>,
    /// What is kept for showing the decision, as JSON.
    pub facts: Option<String>,
}

impl Ledger {
    /// # Errors
    /// The database's error.
    pub fn output(&self, photo: i64, profile: &str) -> Result<Option<Output>> {
        let sql = format!("SELECT {COLUMNS} FROM output WHERE photo=?1 AND profile=?2");
        let mut q = self.db.prepare_cached(&sql)?;
        Ok(q.query_row((photo, profile), output).optional()?)
    }
    /// A photo's outputs, by path.
    ///
    /// # Errors
    /// The database's error.
    pub fn outputs_of(&self, photo: i64) -> Result<Vec<Output>> {
        let sql = format!("SELECT {COLUMNS} FROM output WHERE photo=?1 ORDER BY path");
        let mut q = self.db.prepare_cached(&sql)?;
        let rows = q.query_map([photo], output)?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// All outputs, by path.
    ///
    /// # Errors
    /// The database's error.
    pub fn outputs(&self) -> Result<Vec<Output>> {
        let sql = format!("SELECT {COLUMNS} FROM output ORDER BY path");
        let mut q = self.db.prepare_cached(&sql)?;
        let rows = q.query_map([], output)?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// Outputs whose publication was begun and not finished.
    ///
    /// # Errors
    /// The database's error.
    pub fn unfinished(&self) -> Result<Vec<Output>> {
        let sql = format!("SELECT {COLUMNS} FROM output WHERE temp IS NOT NULL ORDER BY path");
        let mut q = self.db.prepare_cached(&sql)?;
        let rows = q.query_map([], output)?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// Whether another photo or profile holds this ready-relative path.
    ///
    /// # Errors
    /// The database's error.
    pub fn path_taken(&self, path: &str, photo: i64, profile: &str) -> Result<bool> {
        let mut q = self.db.prepare_cached(
            "SELECT 1 FROM output WHERE path=?1 AND NOT (photo=?2 AND profile=?3)",
        )?;
        Ok(q.query_row((path, photo, profile), |_| Ok(()))
            .optional()?
            .is_some())
    }
    /// The intent: this output will be these bytes under this name, written first as `temp` unless they
    /// stand there already.
    ///
    /// # Errors
    /// The database's error.
    pub fn intend(
        &mut self,
        photo: i64,
        profile: &str,
        path: &str,
        hash: &blake3::Hash,
        temp: Option<&str>,
    ) -> Result<()> {
        self.db.execute(
            "INSERT INTO output(photo,profile,path,next_hash,temp) VALUES (?1,?2,?3,?4,?5)
             ON CONFLICT(photo,profile) DO UPDATE SET
             former_hash=CASE WHEN former IS NULL AND path<>?3 THEN hash ELSE former_hash END,
             former=CASE WHEN former IS NULL AND path<>?3 AND hash IS NOT NULL THEN path ELSE former END,
             path=?3, next_hash=?4, temp=?5",
            (photo, profile, path, hash.as_bytes(), temp),
        )?;
        Ok(())
    }
    /// What was promised was found in its place after a crash: it is what we made.
    ///
    /// # Errors
    /// The database's error.
    pub fn adopt(&mut self, photo: i64, profile: &str) -> Result<()> {
        self.db.execute(
            "UPDATE output SET hash=next_hash, next_hash=NULL WHERE photo=?1 AND profile=?2",
            (photo, profile),
        )?;
        Ok(())
    }
    /// The file beside the target is gone again, and an output that was to get another name has the one
    /// before.
    ///
    /// # Errors
    /// The database's error.
    pub fn swept(&mut self, photo: i64, profile: &str) -> Result<()> {
        self.db.execute(
            "UPDATE output SET temp=NULL, path=coalesce(former,path),
             next_hash=CASE WHEN former IS NULL THEN next_hash END, former=NULL, former_hash=NULL
             WHERE photo=?1 AND profile=?2",
            (photo, profile),
        )?;
        Ok(())
    }
    /// Where this output stood before it was to get another name.
    ///
    /// # Errors
    /// The database's error.
    pub fn former(&self, photo: i64, profile: &str) -> Result<Option<String>> {
        let mut q = self
            .db
            .prepare_cached("SELECT former FROM output WHERE photo=?1 AND profile=?2")?;
        Ok(q.query_row((photo, profile), |r| r.get(0))
            .optional()?
            .flatten())
    }
    /// Writes a decision down with its journal lines, all or nothing.
    ///
    /// # Errors
    /// The database's error.
    pub fn decide(&mut self, photo: i64, d: Decision) -> Result<()> {
        self.write(|tx, clock| {
            let at = clock.stamp();
            for (profile, delivery, reasons, fingerprint) in &d.delivered {
                tx.execute(
                    "UPDATE output SET hash=next_hash, next_hash=NULL, temp=NULL, delivery=?3,
                     reasons=?4, fingerprint=?5, at=?6 WHERE photo=?1 AND profile=?2",
                    (
                        photo,
                        profile,
                        serde_json::to_string(delivery).unwrap_or_default(),
                        serde_json::to_string(reasons).unwrap_or_default(),
                        fingerprint,
                        &at,
                    ),
                )?;
            }
            if let Some(state) = d.state {
                tx.execute(
                    "UPDATE photo SET state=?2, correction=?3 WHERE id=?1",
                    (photo, state.code(), &d.correction),
                )?;
                if state == State::Held {
                    // Put back into the inbox it is a new request.
                    tx.execute("DELETE FROM air WHERE photo=?1", [photo])?;
                }
            }
            if let Some(facts) = &d.facts {
                tx.execute("UPDATE photo SET facts=?2 WHERE id=?1", (photo, facts))?;
            }
            for plan in &d.moves {
                moves::plan(tx, photo, plan)?;
            }
            if let Some((path, s)) = &d.stays {
                seen::conclude(tx, path, s)?;
                tx.execute(
                    "UPDATE photo SET path=?2 WHERE id=?1",
                    (photo, bytes_of(path)),
                )?;
            }
            for line in d.lines {
                outbox::post(tx, clock, line)?;
            }
            Ok(())
        })
    }
}

//! Outputs on their way to another name: renumbered listings, and names that an output had before.
//! Owns that no two rows ever hold one path; refuses to touch the files.

use super::{Ledger, Result, hash_of, outbox};
use crate::base::record::{Delivery, Record};

/// One output that is to stand under another ready-relative path, its bytes unchanged.
#[derive(Clone, Debug, PartialEq)]
pub struct Renaming {
    pub photo: i64,
    pub profile: String,
    pub from: String,
    pub to: String,
    /// Of the file that stands at `from`; of nothing that can stand there when she deleted it.
    pub hash: blake3::Hash,
}

/// A listing's new order as it is decided.
#[derive(Clone, Debug, Default)]
pub struct Renumbering {
    pub listing: String,
    /// Every photo that gets a number, also one that keeps its own.
    pub numbers: Vec<(i64, u32)>,
    pub renamings: Vec<Renaming>,
}

impl Ledger {
    /// Writes a new order down with the renamings that it takes, all or nothing.
    ///
    /// # Errors
    /// The database's error.
    pub fn renumber(&mut self, r: &Renumbering) -> Result<()> {
        self.write(|tx, _| {
            // Numbers and paths are unique, so all step aside before any takes its new place.
            for (id, _) in &r.numbers {
                tx.execute("UPDATE photo SET number=NULL WHERE id=?1", [id])?;
            }
            for (id, number) in &r.numbers {
                tx.execute("UPDATE photo SET number=?2 WHERE id=?1", (id, number))?;
            }
            tx.execute(
                "UPDATE listing SET next =
                 (SELECT coalesce(max(number),0)+1 FROM photo WHERE listing=?1) WHERE name=?1",
                [&r.listing],
            )?;
            for n in &r.renamings {
                tx.execute(
                    "INSERT INTO renaming(photo,profile,origin,target,hash) VALUES (?1,?2,?3,?4,?5)",
                    (n.photo, &n.profile, &n.from, &n.to, n.hash.as_bytes()),
                )?;
            }
            Ok(())
        })
    }
    /// Renamings that are decided and not yet known to be done.
    ///
    /// # Errors
    /// The database's error.
    pub fn renamings(&self) -> Result<Vec<Renaming>> {
        let mut q = self.db.prepare_cached(
            "SELECT photo,profile,origin,target,hash FROM renaming ORDER BY target",
        )?;
        let rows = q.query_map([], |r| {
            Ok(Renaming {
                photo: r.get(0)?,
                profile: r.get(1)?,
                from: r.get(2)?,
                to: r.get(3)?,
                hash: hash_of(r.get(4)?),
            })
        })?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// The renamings are done, as far as they could be: photo, profile, where each output stands now,
    /// and a journal line for each that got another name.
    ///
    /// # Errors
    /// The database's error.
    pub fn renamed(&mut self, now: &[(i64, String, String)], lines: Vec<Record>) -> Result<()> {
        self.write(|tx, clock| {
            place(tx, now)?;
            tx.execute("DELETE FROM renaming", [])?;
            for line in lines {
                outbox::post(tx, clock, line)?;
            }
            Ok(())
        })
    }
    /// Outputs that were delivered under another name than before: photo, profile, the path before and
    /// the hash of what we had put there.
    ///
    /// # Errors
    /// The database's error.
    pub fn formers(&self) -> Result<Vec<(i64, String, String, blake3::Hash)>> {
        let mut q = self.db.prepare_cached(
            "SELECT photo,profile,former,former_hash FROM output
             WHERE former IS NOT NULL AND former_hash IS NOT NULL AND next_hash IS NULL",
        )?;
        let rows = q.query_map([], |r| {
            Ok((r.get(0)?, r.get(1)?, r.get(2)?, hash_of(r.get(3)?)))
        })?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// Nothing of ours stands at the former path any more.
    ///
    /// # Errors
    /// The database's error.
    pub fn retired(&mut self, photo: i64, profile: &str) -> Result<()> {
        self.db.execute(
            "UPDATE output SET former=NULL, former_hash=NULL WHERE photo=?1 AND profile=?2",
            (photo, profile),
        )?;
        Ok(())
    }
}

/// Gives outputs their paths, in the rows and in what is told of the delivery.
fn place(tx: &rusqlite::Transaction<'_>, all: &[(i64, String, String)]) -> rusqlite::Result<()> {
    for (photo, profile, _) in all {
        // No path begins with a slash, so none can be met on the way.
        tx.execute(
            "UPDATE output SET path='/'||photo||'/'||profile WHERE photo=?1 AND profile=?2",
            (photo, profile),
        )?;
    }
    for (photo, profile, path) in all {
        let told: Option<String> = tx.query_row(
            "SELECT delivery FROM output WHERE photo=?1 AND profile=?2",
            (photo, profile),
            |r| r.get(0),
        )?;
        let told = told
            .and_then(|t| serde_json::from_str::<Delivery>(&t).ok())
            .map(|d| Delivery {
                output: path.clone(),
                ..d
            })
            .and_then(|d| serde_json::to_string(&d).ok());
        tx.execute(
            "UPDATE output SET path=?3, delivery=coalesce(?4,delivery) WHERE photo=?1 AND profile=?2",
            (photo, profile, path, told),
        )?;
    }
    Ok(())
}

//! Journal lines on their way to the file: numbered in the transaction that decides, written later.

use rusqlite::Transaction;

use super::{Ledger, Result};
use crate::base::clock::Clock;
use crate::base::record::Record;

/// Numbers and stamps a line inside the transaction of its decision.
pub(super) fn post(tx: &Transaction<'_>, clock: &Clock, mut record: Record) -> Result<u64> {
    tx.execute("INSERT INTO outbox(line) VALUES ('')", [])?;
    record.seq = tx.last_insert_rowid() as u64;
    record.at = clock.stamp();
    tx.execute(
        "UPDATE outbox SET line = ?1 WHERE seq = ?2",
        (record.line(), record.seq as i64),
    )?;
    Ok(record.seq)
}

impl Ledger {
    /// Decides one line by itself.
    ///
    /// # Errors
    /// The database's error.
    pub fn post(&mut self, record: Record) -> Result<u64> {
        self.write(|tx, clock| post(tx, clock, record))
    }
    /// Lines not yet known to be in the journal's file, in order.
    ///
    /// # Errors
    /// The database's error.
    pub fn outbox(&self) -> Result<Vec<(u64, String)>> {
        let mut q = self
            .db
            .prepare_cached("SELECT seq, line FROM outbox ORDER BY seq LIMIT 10000")?;
        let rows = q.query_map([], |r| Ok((r.get::<_, i64>(0)? as u64, r.get(1)?)))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// Forgets lines that are safely in the file.
    ///
    /// # Errors
    /// The database's error.
    pub fn written(&mut self, upto: u64) -> Result<()> {
        self.db
            .execute("DELETE FROM outbox WHERE seq <= ?1", [upto as i64])?;
        Ok(())
    }
    /// Makes the next number larger than `last` (after the ledger was rebuilt).
    ///
    /// # Errors
    /// The database's error.
    pub fn number_after(&mut self, last: u64) -> Result<()> {
        self.write(|tx, _| {
            let now: Option<i64> = tx
                .query_row(
                    "SELECT seq FROM sqlite_sequence WHERE name='outbox'",
                    [],
                    |r| r.get(0),
                )
                .ok();
            match now {
                Some(n) if n as u64 >= last => {}
                Some(_) => {
                    tx.execute(
                        "UPDATE sqlite_sequence SET seq=?1 WHERE name='outbox'",
                        [last as i64],
                    )?;
                }
                None => {
                    tx.execute(
                        "INSERT INTO sqlite_sequence(name, seq) VALUES ('outbox', ?1)",
                        [last as i64],
                    )?;
                }
            }
            Ok(())
        })
    }
}

//! What she asked to be made again, in the ledger: a list that outlives the process. Refuses to know how it is made.

use super::{Ledger, Result};

impl Ledger {
    /// Puts photos on the list, all or none; `true` for those that she asked for by their own name.
    ///
    /// # Errors
    /// The database's error.
    pub fn ask_again(&mut self, photos: &[(i64, bool)]) -> Result<()> {
        self.write(|tx, _| {
            for p in photos {
                tx.execute(
                    "INSERT INTO remake(photo,named) VALUES (?1,?2)
                     ON CONFLICT(photo) DO UPDATE SET named=max(named,?2)",
                    *p,
                )?;
            }
            Ok(())
        })
    }
    /// The list.
    ///
    /// # Errors
    /// The database's error.
    pub fn asked_again(&self) -> Result<Vec<(i64, bool)>> {
        let mut q = self
            .db
            .prepare_cached("SELECT photo,named FROM remake ORDER BY photo")?;
        let rows = q.query_map([], |r| Ok((r.get(0)?, r.get(1)?)))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// Takes a photo off the list.
    ///
    /// # Errors
    /// The database's error.
    pub fn made_again(&mut self, photo: i64) -> Result<()> {
        self.db
            .execute("DELETE FROM remake WHERE photo=?1", [photo])?;
        Ok(())
    }
}

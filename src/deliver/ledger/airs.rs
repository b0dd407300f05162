//! The air of photos in the ledger: which fill each was given within its listing. Refuses to decide it.

use rusqlite::Row;

use super::{Ledger, Result};

/// One photo's air under one profile whose set is even; scale and fill are shares, 0 to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Aired {
    pub photo: i64,
    pub profile: String,
    /// The product's longer side relative to the frame's, and the fill; `None` where no product was surely found.
    pub given: Option<(f64, f64)>,
    /// How it came by its fill, in the words of whoever decided; empty where there is none.
    pub kind: String,
}

fn aired(r: &Row<'_>) -> rusqlite::Result<Aired> {
    Ok(Aired {
        photo: r.get(0)?,
        profile: r.get(1)?,
        given: r.get::<_, Option<f64>>(2)?.zip(r.get(3)?),
        kind: r.get(4)?,
    })
}

impl Ledger {
    /// What was decided for a photo, one row for each profile.
    ///
    /// # Errors
    /// The database's error.
    pub fn airs_of(&self, photo: i64) -> Result<Vec<Aired>> {
        let mut q = self
            .db
            .prepare_cached("SELECT photo,profile,scale,fill,kind FROM air WHERE photo=?1")?;
        let rows = q.query_map([photo], aired)?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// What was decided for the photos of a listing.
    ///
    /// # Errors
    /// The database's error.
    pub fn airs_in(&self, listing: &str) -> Result<Vec<Aired>> {
        let mut q = self.db.prepare_cached(
            "SELECT a.photo,a.profile,a.scale,a.fill,a.kind FROM air a
             JOIN photo p ON p.id=a.photo WHERE p.listing=?1 ORDER BY a.photo,a.profile",
        )?;
        let rows = q.query_map([listing], aired)?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// Writes down what was decided for a listing, all or nothing.
    ///
    /// # Errors
    /// The database's error.
    pub fn give_airs(&mut self, airs: &[Aired]) -> Result<()> {
        self.write(|tx, _| {
            for a in airs {
                tx.execute(
                    "INSERT OR REPLACE INTO air(photo,profile,scale,fill,kind)
                     VALUES (?1,?2,?3,?4,?5)",
                    (
                        a.photo,
                        &a.profile,
                        a.given.map(|g| g.0),
                        a.given.map(|g| g.1),
                        &a.kind,
                    ),
                )?;
            }
            Ok(())
        })
    }
}

//! Photos in the ledger: identity, reserved number or stem, where the original lies, pending moves.

use std::path::{Path, PathBuf};

use rusqlite::{OptionalExtension, Row, Transaction};

use super::{Ledger, Plan, Result, bytes_of, hash_of, moves, outbox, path_of, stamp_of};
use crate::base::disk::Stamp;
use crate::base::record::Record;
use crate::deliver::naming;

/// Which of the folders an original lies in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    Inbox,
    Originals,
    Held,
}

impl Place {
    pub fn code(self) -> &'static str {
        match self {
            Self::Inbox => "inbox",
            Self::Originals => "originals",
            Self::Held => "held",
        }
    }
    pub(super) fn of(code: &str) -> Self {
        match code {
            "originals" => Self::Originals,
            "held" => Self::Held,
            _ => Self::Inbox,
        }
    }
}

/// What has become of a photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum State {
    Waiting,
    Delivered,
    Held,
}

impl State {
    pub fn code(self) -> &'static str {
        match self {
            Self::Waiting => "waiting",
            Self::Delivered => "delivered",
            Self::Held => "held",
        }
    }
    fn of(code: &str) -> Self {
        match code {
            "delivered" => Self::Delivered,
            "held" => Self::Held,
            _ => Self::Waiting,
        }
    }
}

/// One photo of one listing.
#[derive(Clone, Debug, PartialEq)]
pub struct Photo {
    pub id: i64,
    pub hash: blake3::Hash,
    /// Listing's name as she wrote it, folders joined by `/`; empty for none.
    pub listing: String,
    /// Inbox-relative path at arrival.
    pub source: PathBuf,
    /// Reserved number within the listing.
    pub number: Option<u32>,
    /// Reserved output stem of a photo of no listing.
    pub stem: String,
    pub captured: Option<String>,
    pub state: State,
    pub place: Place,
    /// Path relative to `place`.
    pub path: PathBuf,
    pub stamp: Stamp,
    /// Held-relative path of our note about it, with the hash of what we wrote.
    pub note: Option<(PathBuf, blake3::Hash)>,
    /// Header facts as JSON, for the proof sheet.
    pub facts: String,
    /// The correction's text that was last applied.
    pub correction: Option<String>,
}

const COLUMNS: &str = "id,hash,listing,source,number,stem,captured,state,place,path,dev,ino,size,mtime,ctime,note,note_hash,facts,correction";

fn photo(r: &Row<'_>) -> rusqlite::Result<Photo> {
    let note: Option<Vec<u8>> = r.get(15)?;
    let note_hash: Option<Vec<u8>> = r.get(16)?;
    Ok(Photo {
        id: r.get(0)?,
        hash: hash_of(r.get(1)?),
        listing: r.get(2)?,
        source: path_of(r.get(3)?),
        number: r.get(4)?,
        stem: r.get(5)?,
        captured: r.get(6)?,
        state: State::of(&r.get::<_, String>(7)?),
        place: Place::of(&r.get::<_, String>(8)?),
        path: path_of(r.get(9)?),
        stamp: stamp_of(r, 10)?,
        note: note.map(path_of).zip(note_hash.map(hash_of)),
        facts: r.get(17)?,
        correction: r.get(18)?,
    })
}

/// What is known of an arrival when it is written into the ledger.
pub struct Enlist<'a> {
    pub hash: &'a blake3::Hash,
    pub listing: &'a str,
    pub source: &'a Path,
    pub stamp: Stamp,
    pub captured: Option<&'a str>,
    pub facts: &'a str,
}

impl Ledger {
    /// The photo with these bytes in this listing.
    ///
    /// # Errors
    /// The database's error.
    pub fn photo(&self, hash: &blake3::Hash, listing: &str) -> Result<Option<Photo>> {
        let sql = format!("SELECT {COLUMNS} FROM photo WHERE hash=?1 AND listing=?2");
        let mut q = self.db.prepare_cached(&sql)?;
        Ok(q.query_row((hash.as_bytes(), listing), photo).optional()?)
    }
    /// # Errors
    /// The database's error, also when there is no such photo.
    pub fn photo_by_id(&self, id: i64) -> Result<Photo> {
        let sql = format!("SELECT {COLUMNS} FROM photo WHERE id=?1");
        Ok(self.db.prepare_cached(&sql)?.query_row([id], photo)?)
    }
    /// All photos, listing by listing, by number.
    ///
    /// # Errors
    /// The database's error.
    pub fn photos(&self) -> Result<Vec<Photo>> {
        let sql = format!("SELECT {COLUMNS} FROM photo ORDER BY listing, number, stem");
        let mut q = self.db.prepare_cached(&sql)?;
        let rows = q.query_map([], photo)?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// The listings that have photos, by name; that of photos of no listing is empty.
    ///
    /// # Errors
    /// The database's error.
    pub fn listings(&self) -> Result<Vec<String>> {
        let mut q = self
            .db
            .prepare_cached("SELECT DISTINCT listing FROM photo ORDER BY listing")?;
        let rows = q.query_map([], |r| r.get(0))?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// The photos of a listing, by number.
    ///
    /// # Errors
    /// The database's error.
    pub fn photos_of(&self, listing: &str) -> Result<Vec<Photo>> {
        let sql = format!("SELECT {COLUMNS} FROM photo WHERE listing=?1 ORDER BY number, stem");
        let mut q = self.db.prepare_cached(&sql)?;
        let rows = q.query_map([listing], photo)?;
        Ok(rows.collect::<rusqlite::Result<_>>()?)
    }
    /// The photos of a listing whose place of arrival fits.
    ///
    /// # Errors
    /// The database's error.
    pub fn photos_where(&self, listing: &str, fits: impl Fn(&Path) -> bool) -> Result<Vec<Photo>> {
        let mut q = self
            .db
            .prepare_cached("SELECT id, source FROM photo WHERE listing=?1 ORDER BY id")?;
        let mut rows = q.query([listing])?;
        let mut all = Vec::new();
        while let Some(r) = rows.next()? {
            if fits(&path_of(r.get(1)?)) {
                all.push(self.photo_by_id(r.get(0)?)?);
            }
        }
        Ok(all)
    }
    /// Another file takes a photo's place: it waits under the number, stem and outputs of the one
    /// before, whose file is only moved from now on. `a` must be new to its listing.
    ///
    /// # Errors
    /// The database's error.
    pub fn replace(&mut self, id: i64, a: &Enlist<'_>, also: &[Plan], line: Record) -> Result<()> {
        self.write(|tx, clock| {
            let s = a.stamp;
            tx.execute("UPDATE move SET own=0, note=NULL WHERE photo=?1", [id])?;
            tx.execute(
                "UPDATE photo SET hash=?2, source=?3, path=?3, place='inbox', state='waiting',
                 captured=?4, facts=?5, correction=NULL, dev=?6, ino=?7, size=?8, mtime=?9, ctime=?10
                 WHERE id=?1",
                rusqlite::params![
                    id, a.hash.as_bytes(), bytes_of(a.source), a.captured, a.facts,
                    s.dev as i64, s.ino as i64, s.size as i64, s.mtime, s.ctime
                ],
            )?;
            for plan in also {
                moves::plan(tx, id, plan)?;
            }
            outbox::post(tx, clock, line)?;
            Ok(())
        })
    }
    /// The correction that was last looked at for this photo.
    ///
    /// # Errors
    /// The database's error.
    pub fn note_correction(&mut self, id: i64, text: Option<&str>) -> Result<()> {
        self.db
            .execute("UPDATE photo SET correction=?2 WHERE id=?1", (id, text))?;
        Ok(())
    }
    /// Writes an arrival down as waiting; a photo known before becomes a new request and keeps its
    /// number or stem. One of no listing gets its stem reserved at once.
    ///
    /// # Errors
    /// The database's error.
    pub fn enlist(&mut self, a: &Enlist<'_>) -> Result<Photo> {
        let id = self.write(|tx, _| {
            let known: Option<i64> = tx
                .query_row(
                    "SELECT id FROM photo WHERE hash=?1 AND listing=?2",
                    (a.hash.as_bytes(), a.listing),
                    |r| r.get(0),
                )
                .optional()?;
            let s = a.stamp;
            let stamp = (s.dev as i64, s.ino as i64, s.size as i64, s.mtime, s.ctime);
            if let Some(id) = known {
                tx.execute(
                    "UPDATE photo SET source=?2, path=?2, place='inbox', state='waiting',
                     dev=?3, ino=?4, size=?5, mtime=?6, ctime=?7,
                     captured=coalesce(captured,?8) WHERE id=?1",
                    (
                        id, bytes_of(a.source), stamp.0, stamp.1, stamp.2, stamp.3, stamp.4,
                        a.captured,
                    ),
                )?;
                tx.execute(
                    "DELETE FROM move WHERE photo=?1 AND own=1",
                    [id],
                )?;
                return Ok(id);
            }
            let base = naming::slug(
                &crate::base::disk::text(Path::new(a.source.file_stem().unwrap_or_default())),
            );
            let stem = if a.listing.is_empty() {
                free_name(tx, "SELECT 1 FROM photo WHERE listing='' AND stem=?1", &base)?
            } else {
                base
            };
            tx.execute(
                "INSERT INTO photo(hash,listing,source,path,stem,captured,facts,dev,ino,size,mtime,ctime)
                 VALUES (?1,?2,?3,?3,?4,?5,?6,?7,?8,?9,?10,?11)",
                rusqlite::params![
                    a.hash.as_bytes(), a.listing, bytes_of(a.source), stem, a.captured, a.facts,
                    stamp.0, stamp.1, stamp.2, stamp.3, stamp.4
                ],
            )?;
            Ok(tx.last_insert_rowid())
        })?;
        self.photo_by_id(id)
    }
    /// Reserves the next numbers of a listing for photos in this order; numbered ones keep theirs.
    ///
    /// # Errors
    /// The database's error.
    pub fn number(&mut self, listing: &str, ids: &[i64]) -> Result<()> {
        self.write(|tx, _| {
            slug_of(tx, listing)?;
            for id in ids {
                tx.execute(
                    "UPDATE photo SET number = (SELECT next FROM listing WHERE name=?2)
                     WHERE id=?1 AND number IS NULL",
                    (id, listing),
                )?;
                if tx.changes() == 1 {
                    tx.execute(
                        "UPDATE listing SET next = next + 1 WHERE name=?1",
                        [listing],
                    )?;
                }
            }
            Ok(())
        })
    }
    /// The folder and file name part of a listing's outputs, reserved on first use.
    ///
    /// # Errors
    /// The database's error.
    pub fn slug(&mut self, listing: &str) -> Result<String> {
        self.write(|tx, _| slug_of(tx, listing))
    }
    /// Our note about a photo is gone or no longer ours.
    ///
    /// # Errors
    /// The database's error.
    pub fn forget_note(&mut self, id: i64) -> Result<()> {
        self.db.execute(
            "UPDATE photo SET note=NULL, note_hash=NULL WHERE id=?1",
            [id],
        )?;
        Ok(())
    }
}

fn slug_of(tx: &Transaction<'_>, listing: &str) -> Result<String> {
    let known = tx
        .query_row("SELECT slug FROM listing WHERE name=?1", [listing], |r| {
            r.get(0)
        })
        .optional()?;
    if let Some(slug) = known {
        return Ok(slug);
    }
    let slug = free_name(
        tx,
        "SELECT 1 FROM listing WHERE slug=?1",
        &naming::slug(listing),
    )?;
    tx.execute(
        "INSERT INTO listing(name, slug) VALUES (?1, ?2)",
        (listing, &slug),
    )?;
    Ok(slug)
}

pub(super) fn free_name(tx: &Transaction<'_>, taken: &str, base: &str) -> Result<String> {
    let mut n = 1;
    loop {
        let name = naming::nth(base, n);
        if tx
            .query_row(taken, [&name], |_| Ok(()))
            .optional()?
            .is_none()
        {
            return Ok(name);
        }
        n += 1;
    }
}

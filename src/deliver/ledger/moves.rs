//! Moves of originals between the folders that are decided and perhaps not yet done.

use std::path::{Path, PathBuf};

use rusqlite::Transaction;

use super::{Ledger, Photo, Place, Result, bytes_of, path_of, stamp_of};
use crate::base::disk::Stamp;

/// One decided move.
#[derive(Clone, Debug, PartialEq)]
pub struct Move {
    pub id: i64,
    pub photo: Photo,
    /// It is the photo itself; otherwise a repeat of it or a companion.
    pub own: bool,
    /// The folder it leaves.
    pub origin: Place,
    /// Path it leaves, relative to `origin`.
    pub source: PathBuf,
    /// What was read there.
    pub stamp: Stamp,
    pub place: Place,
    /// The name that was chosen, once it was.
    pub path: Option<PathBuf>,
    /// Text of the note to lie beside it.
    pub note: Option<String>,
}

/// A move as it is decided.
#[derive(Clone, Debug)]
pub struct Plan {
    pub own: bool,
    pub origin: Place,
    pub source: PathBuf,
    pub stamp: Stamp,
    pub place: Place,
    pub note: Option<String>,
}

pub(super) fn plan(tx: &Transaction<'_>, photo: i64, p: &Plan) -> Result<()> {
    let s = p.stamp;
    tx.execute(
        "INSERT OR REPLACE INTO move(photo,own,source,dev,ino,size,mtime,ctime,place,note,origin)
         VALUES (?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11)",
        rusqlite::params![
            photo,
            p.own,
            bytes_of(&p.source),
            s.dev as i64,
            s.ino as i64,
            s.size as i64,
            s.mtime,
            s.ctime,
            p.place.code(),
            p.note,
            p.origin.code()
        ],
    )?;
    Ok(())
}

impl Ledger {
    /// Moves that are decided and not yet known to be done, oldest first.
    ///
    /// # Errors
    /// The database's error.
    pub fn moves(&self) -> Result<Vec<Move>> {
        let mut q = self.db.prepare_cached(
            "SELECT id,photo,own,source,dev,ino,size,mtime,ctime,place,path,note,origin FROM move ORDER BY id",
        )?;
        let mut rows = q.query([])?;
        let mut all = Vec::new();
        while let Some(r) = rows.next()? {
            all.push(Move {
                id: r.get(0)?,
                photo: self.photo_by_id(r.get(1)?)?,
                own: r.get(2)?,
                source: path_of(r.get(3)?),
                stamp: stamp_of(r, 4)?,
                place: Place::of(&r.get::<_, String>(9)?),
                path: r.get::<_, Option<Vec<u8>>>(10)?.map(path_of),
                note: r.get(11)?,
                origin: Place::of(&r.get::<_, String>(12)?),
            });
        }
        Ok(all)
    }
    /// Fixes the name that a move will use before it is made.
    ///
    /// # Errors
    /// The database's error.
    pub fn aim_move(&mut self, id: i64, path: &Path) -> Result<()> {
        self.db
            .execute("UPDATE move SET path=?2 WHERE id=?1", (id, bytes_of(path)))?;
        Ok(())
    }
    /// The move is done: the file lies at `path` now.
    ///
    /// # Errors
    /// The database's error.
    pub fn moved(
        &mut self,
        m: &Move,
        path: &Path,
        note: Option<(&Path, &blake3::Hash)>,
    ) -> Result<()> {
        self.write(|tx, _| {
            if m.own {
                tx.execute(
                    "UPDATE photo SET place=?2, path=?3, note=?4, note_hash=?5 WHERE id=?1",
                    (
                        m.photo.id,
                        m.place.code(),
                        bytes_of(path),
                        note.map(|n| bytes_of(n.0)),
                        note.map(|n| n.1.as_bytes()),
                    ),
                )?;
            }
            tx.execute("DELETE FROM move WHERE id=?1", [m.id])?;
            Ok(())
        })
    }
    /// A move is given up: the file in the inbox is no longer the one that was read.
    ///
    /// # Errors
    /// The database's error.
    pub fn drop_move(&mut self, id: i64) -> Result<()> {
        self.db.execute("DELETE FROM move WHERE id=?1", [id])?;
        Ok(())
    }
}

//! Filling a new ledger with what is still known after the old one was damaged, in one transaction,
//! and reading what the damaged one still holds. Refuses to know how it was found out.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use rusqlite::{Connection, OpenFlags};

use super::photos::free_name;
use super::{Ledger, Photo, Plan, Result, Seen, bytes_of, moves, outbox, seen};
use crate::base::record::{Delivery, Record};
use crate::deliver::naming;

/// One photo with its outputs, as it is found out again. The photo's `id` is not read.
pub struct Known {
    pub photo: Photo,
    pub outputs: Vec<KnownOutput>,
    /// Where it is still to be moved.
    pub plan: Option<Plan>,
    /// It was prepared once, so its listing had reserved a number for it.
    pub numbered: bool,
}

pub struct KnownOutput {
    pub profile: String,
    /// Hash of what we delivered, or of nothing that can stand there when that is not known.
    pub hash: blake3::Hash,
    pub delivery: Delivery,
    pub reasons: Vec<String>,
    /// RFC 3339, UTC
    pub at: String,
}

/// Everything that is known again.
#[derive(Default)]
pub struct Findings {
    pub photos: Vec<Known>,
    /// For each listing's name its slug, and the highest number that is in use.
    pub listings: BTreeMap<String, (String, u32)>,
    pub seen: Vec<(PathBuf, Seen)>,
    pub lines: Vec<Record>,
    /// Number of the last line that is safely in the journal.
    pub last: u64,
}

impl Ledger {
    /// Writes everything that is known again into this new ledger, all or nothing.
    ///
    /// # Errors
    /// The database's error.
    pub fn restore(&mut self, found: Findings) -> Result<()> {
        self.number_after(found.last)?;
        self.write(|tx, clock| {
            for (name, (slug, _)) in &found.listings {
                let slug = free_name(tx, "SELECT 1 FROM listing WHERE slug=?1", slug)?;
                tx.execute("INSERT INTO listing(name,slug) VALUES (?1,?2)", (name, &slug))?;
            }
            let mut used: BTreeMap<String, Vec<u32>> = BTreeMap::new();
            for k in &found.photos {
                used.entry(k.photo.listing.clone())
                    .or_default()
                    .extend(k.photo.number);
            }
            let mut given: BTreeMap<String, Vec<u32>> = BTreeMap::new();
            for k in &found.photos {
                let p = &k.photo;
                let numbers = given.entry(p.listing.clone()).or_default();
                let taken = &used[&p.listing];
                // A held photo's number left a gap; one that two claim goes to the first.
                let number = match p.number {
                    Some(n) if !numbers.contains(&n) => Some(n),
                    None if !k.numbered || p.listing.is_empty() => None,
                    _ => (1..).find(|n| !taken.contains(n) && !numbers.contains(n)),
                };
                numbers.extend(number);
                let stem = if p.listing.is_empty() {
                    let taken = "SELECT 1 FROM photo WHERE listing='' AND stem=?1";
                    free_name(tx, taken, &p.stem)?
                } else {
                    p.stem.clone()
                };
                let s = p.stamp;
                tx.execute(
                    "INSERT INTO photo(hash,listing,source,number,stem,state,place,path,dev,ino,size,
                     mtime,ctime,note,note_hash,facts,correction)
                     VALUES (?1,?2,?3,?4,?5,?6,?7,?8,?9,?10,?11,?12,?13,?14,?15,?16,?17)",
                    rusqlite::params![
                        p.hash.as_bytes(),
                        p.listing,
                        bytes_of(&p.source),
                        number,
                        stem,
                        p.state.code(),
                        p.place.code(),
                        bytes_of(&p.path),
                        s.dev as i64,
                        s.ino as i64,
                        s.size as i64,
                        s.mtime,
                        s.ctime,
                        p.note.as_ref().map(|n| bytes_of(&n.0)),
                        p.note.as_ref().map(|n| n.1.as_bytes()),
                        p.facts,
                        p.correction
                    ],
                )?;
                let id = tx.last_insert_rowid();
                for o in &k.outputs {
                    // A path that two claim belongs to the newer, which comes first.
                    tx.execute(
                        "INSERT OR IGNORE INTO output(photo,profile,path,hash,delivery,reasons,at)
                         VALUES (?1,?2,?3,?4,?5,?6,?7)",
                        (
                            id,
                            &o.profile,
                            &o.delivery.output,
                            o.hash.as_bytes(),
                            serde_json::to_string(&o.delivery).unwrap_or_default(),
                            serde_json::to_string(&o.reasons).unwrap_or_default(),
                            &o.at,
                        ),
                    )?;
                }
                if let Some(plan) = &k.plan {
                    moves::plan(tx, id, plan)?;
                }
            }
            for (name, (_, most)) in &found.listings {
                let given = given.get(name).into_iter().flatten().max();
                let next = most.max(given.unwrap_or(&0)) + 1;
                tx.execute("UPDATE listing SET next=?2 WHERE name=?1", (name, next))?;
            }
            for (path, s) in &found.seen {
                seen::conclude(tx, path, s)?;
            }
            for line in found.lines {
                outbox::post(tx, clock, line)?;
            }
            Ok(())
        })
    }
    /// Journal lines that a damaged ledger may still hold, in order; none when it cannot be read.
    pub fn salvage(path: &Path) -> Vec<(u64, String)> {
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY;
        let Ok(db) = Connection::open_with_flags(path, flags) else {
            return Vec::new();
        };
        let read = || -> rusqlite::Result<Vec<(u64, String)>> {
            let mut q = db.prepare("SELECT seq, line FROM outbox ORDER BY seq")?;
            let rows = q.query_map([], |r| Ok((r.get::<_, i64>(0)? as u64, r.get(1)?)))?;
            Ok(rows.map_while(std::result::Result::ok).collect())
        };
        read().unwrap_or_default()
    }
}

/// The number in an output's name, `mug-03.jpg` or `mug-03-2.jpg` of the slug `mug`.
pub fn number_in(slug: &str, stem: &str) -> Option<u32> {
    let mut numbers = stem.split('-').filter_map(|s| s.parse::<u32>().ok());
    let fits = |n: &u32| {
        stem.strip_prefix(&naming::numbered(slug, *n))
            .is_some_and(|rest| rest.is_empty() || rest.starts_with('-'))
    };
    numbers.rfind(fits)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_number_of_an_output_is_read_back_from_its_name() {
        for (slug, stem, number) in [
            ("mug", "mug-03", Some(3)),
            ("mug", "mug-03-2", Some(3)),
            ("mug", "mug-117", Some(117)),
            ("mug-2", "mug-2-01", Some(1)),
            ("mug-02", "mug-02-02-2", Some(2)),
            ("mug", "bowl-03", None),
            ("mug", "mug", None),
        ] {
            assert_eq!(number_in(slug, stem), number, "{stem}");
        }
        let long = "x".repeat(80);
        assert_eq!(number_in(&long, &naming::numbered(&long, 12)), Some(12));
    }
}

//! The ledger's tables and their versions. A format once released is only ever added to here.

use rusqlite::Connection;

use super::{LedgerError, Result};

/// The format this program writes.
pub const VERSION: i64 = 4;

const FIRST: &str = "
CREATE TABLE listing(
  name TEXT PRIMARY KEY, slug TEXT NOT NULL UNIQUE, next INTEGER NOT NULL DEFAULT 1
) STRICT;
CREATE TABLE photo(
  id INTEGER PRIMARY KEY, hash BLOB NOT NULL, listing TEXT NOT NULL,
  source BLOB NOT NULL, number INTEGER, stem TEXT NOT NULL, captured TEXT,
  state TEXT NOT NULL DEFAULT 'waiting', place TEXT NOT NULL DEFAULT 'inbox', path BLOB NOT NULL,
  dev INTEGER NOT NULL, ino INTEGER NOT NULL, size INTEGER NOT NULL,
  mtime INTEGER NOT NULL, ctime INTEGER NOT NULL,
  note BLOB, note_hash BLOB, facts TEXT NOT NULL DEFAULT '{}', correction TEXT,
  UNIQUE(hash, listing)
) STRICT;
CREATE UNIQUE INDEX photo_number ON photo(listing, number) WHERE number IS NOT NULL;
CREATE UNIQUE INDEX photo_stem ON photo(stem) WHERE listing = '';
CREATE INDEX photo_source ON photo(listing, source);
CREATE TABLE output(
  photo INTEGER NOT NULL REFERENCES photo(id), profile TEXT NOT NULL, path TEXT NOT NULL UNIQUE,
  hash BLOB, next_hash BLOB, temp TEXT, fingerprint TEXT NOT NULL DEFAULT '',
  delivery TEXT, reasons TEXT NOT NULL DEFAULT '[]', at TEXT NOT NULL DEFAULT '',
  PRIMARY KEY(photo, profile)
) STRICT;
CREATE TABLE move(
  id INTEGER PRIMARY KEY, photo INTEGER NOT NULL REFERENCES photo(id), own INTEGER NOT NULL,
  origin TEXT NOT NULL, source BLOB NOT NULL, dev INTEGER NOT NULL, ino INTEGER NOT NULL, size INTEGER NOT NULL,
  mtime INTEGER NOT NULL, ctime INTEGER NOT NULL, place TEXT NOT NULL, path BLOB, note TEXT
) STRICT;
CREATE UNIQUE INDEX move_source ON move(origin, source);
CREATE TABLE seen(
  path BLOB PRIMARY KEY, dev INTEGER NOT NULL, ino INTEGER NOT NULL, size INTEGER NOT NULL,
  mtime INTEGER NOT NULL, ctime INTEGER NOT NULL, why TEXT NOT NULL
) STRICT;
CREATE TABLE hand(hash BLOB PRIMARY KEY) STRICT;
CREATE TABLE death(
  hash BLOB PRIMARY KEY, counted INTEGER NOT NULL DEFAULT 0, row INTEGER NOT NULL DEFAULT 0
) STRICT;
CREATE TABLE outbox(seq INTEGER PRIMARY KEY AUTOINCREMENT, line TEXT NOT NULL) STRICT;
";

/// Renamings that are decided and perhaps not yet done, the texts beside outputs, and where an output
/// stood before it got another name.
const SECOND: &str = "
CREATE TABLE renaming(
  photo INTEGER NOT NULL REFERENCES photo(id), profile TEXT NOT NULL,
  origin TEXT NOT NULL, target TEXT NOT NULL UNIQUE, hash BLOB NOT NULL,
  PRIMARY KEY(photo, profile)
) STRICT;
CREATE TABLE listing_text(path TEXT PRIMARY KEY, hash BLOB, next_hash BLOB) STRICT;
ALTER TABLE output ADD COLUMN former TEXT;
ALTER TABLE output ADD COLUMN former_hash BLOB;
";

/// The air that photos were given within their listing.
const THIRD: &str = "
CREATE TABLE air(
  photo INTEGER NOT NULL REFERENCES photo(id), profile TEXT NOT NULL,
  scale REAL, fill REAL, kind TEXT NOT NULL,
  PRIMARY KEY(photo, profile)
) STRICT;
";

/// Photos that she asked to be made again, and whether by their own name.
const FOURTH: &str = "
CREATE TABLE remake(
  photo INTEGER PRIMARY KEY REFERENCES photo(id), named INTEGER NOT NULL
) STRICT;
";

pub(super) fn version(db: &Connection) -> Result<i64> {
    Ok(db.query_row("PRAGMA user_version", [], |r| r.get(0))?)
}

pub(super) fn prepare(db: &Connection) -> Result<()> {
    let steps = match version(db)? {
        VERSION => return Ok(()),
        0 => [FIRST, SECOND, THIRD, FOURTH].concat(),
        1 => [SECOND, THIRD, FOURTH].concat(),
        2 => [THIRD, FOURTH].concat(),
        3 => FOURTH.to_owned(),
        v => return Err(LedgerError::Newer(v)),
    };
    db.execute_batch(&format!(
        "BEGIN IMMEDIATE; {steps} PRAGMA user_version = {VERSION}; COMMIT;"
    ))?;
    Ok(())
}

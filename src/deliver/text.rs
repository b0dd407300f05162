//! The text beside a listing's outputs: put there once, brought up to date while it is as it was put, and
//! hers from the moment she edits or deletes it. Refuses to know what it says.

use std::io;
use std::path::{Path, PathBuf};

use super::Trouble;
use super::ledger::Ledger;
use super::sweep::{end_exchange, readable};
use crate::base::disk::Root;

/// Its file name in the listing's folder.
pub const NAME: &str = "LISTING.txt";

/// Puts `bytes` at a ready-relative path of an existing folder, unless something of hers stands there or
/// she deleted what stood. Returns whether the text stands there as it should.
///
/// # Errors
/// Trouble with disk or ledger; nothing half-written is visible then, and it can be repeated.
pub fn put(ready: &Root, ledger: &mut Ledger, path: &str, bytes: &[u8]) -> Result<bool, Trouble> {
    settle(ready, ledger, path)?;
    let at = Path::new(path);
    let io = |e| Trouble::at(ready, at)(e);
    let hash = blake3::hash(bytes);
    let ours = ledger.text(path)?;
    match (readable(ready, at)?, ours) {
        (Some(h), _) if h == hash => {
            if ours != Some(hash) {
                ledger.note_text(path, &hash)?;
            }
            return Ok(true);
        }
        (Some(h), Some(o)) if h == o => {}
        (None, None) => {}
        _ => return Ok(false),
    }
    ledger.intend_text(path, &hash)?;
    let temp = beside(at);
    ready.write_new(&temp, bytes).map_err(io)?;
    match ours {
        Some(o) => {
            ready.exchange(&temp, at).map_err(io)?;
            if ready.hash(&temp).map_err(io)? != Some(o) {
                ready.exchange(&temp, at).map_err(io)?;
                ready.remove(&temp).map_err(io)?;
                return Ok(false);
            }
            ready.remove(&temp).map_err(io)?;
        }
        None => match ready.rename(&temp, ready, at) {
            Ok(()) => {}
            Err(e) => {
                ready.remove(&temp).map_err(io)?;
                if e.kind() == io::ErrorKind::AlreadyExists {
                    return Ok(false);
                }
                return Err(io(e));
            }
        },
    }
    let folder = at.parent().unwrap_or(Path::new(""));
    ready.sync_folder(folder).map_err(io)?;
    ledger.note_text(path, &hash)?;
    Ok(true)
}

/// Ends what was begun and broken off: a file beside the target goes, a file of hers that was taken out
/// comes back, and what stands is known.
///
/// # Errors
/// Trouble with disk or ledger; it can be repeated.
pub fn sweep(ready: &Root, ledger: &mut Ledger) -> Result<(), Trouble> {
    for path in ledger.unfinished_texts()? {
        settle(ready, ledger, &path)?;
    }
    Ok(())
}

fn settle(ready: &Root, ledger: &mut Ledger, path: &str) -> Result<(), Trouble> {
    let Some((ours, Some(next))) = ledger.text_row(path)? else {
        return Ok(());
    };
    let at = Path::new(path);
    let io = |e| Trouble::at(ready, at)(e);
    let temp = beside(at);
    end_exchange(ready, &temp, at, ours)?;
    let there = ready.stat(&temp).map_err(io)?.is_some();
    let out = if there {
        ready.hash(&temp).map_err(io)?
    } else {
        None
    };
    let standing = ready.hash(at).unwrap_or(None);
    if standing == Some(next) && out.is_some() && out != ours && out != Some(next) {
        ready.exchange(&temp, at).map_err(io)?;
    }
    if there {
        ready.remove(&temp).map_err(io)?;
    }
    if ready.hash(at).unwrap_or(None) == Some(next) {
        ledger.note_text(path, &next)?;
    } else {
        ledger.give_up_text(path)?;
    }
    Ok(())
}

fn beside(at: &Path) -> PathBuf {
    at.with_file_name(".stallhand-listing.part")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::clock::Clock;
    use crate::base::disk::Disk;

    struct Bench {
        dir: tempfile::TempDir,
        ledger: Ledger,
    }

    fn bench() -> Bench {
        let dir = tempfile::tempdir().unwrap();
        std::fs::create_dir_all(dir.path().join("ready/p/mug")).unwrap();
        let ledger = Ledger::open(&dir.path().join("ledger.db"), Clock::by_hand()).unwrap();
        Bench { dir, ledger }
    }

    impl Bench {
        fn file(&self) -> PathBuf {
            self.dir.path().join("ready/p/mug/LISTING.txt")
        }
        fn put_on(&mut self, disk: &Disk, text: &str) -> Result<bool, Trouble> {
            let ready = disk.root(&self.dir.path().join("ready")).unwrap();
            put(
                &ready,
                &mut self.ledger,
                "p/mug/LISTING.txt",
                text.as_bytes(),
            )
        }
        fn put(&mut self, text: &str) -> bool {
            self.put_on(&Disk::default(), text).unwrap()
        }
        fn read(&self) -> String {
            std::fs::read_to_string(self.file()).unwrap()
        }
    }

    #[test]
    fn it_is_brought_up_to_date_until_she_edits_or_deletes_it() {
        let mut b = bench();
        assert!(b.put("one") && b.put("one") && b.put("two"));
        assert_eq!(b.read(), "two");
        std::fs::write(b.file(), "hers").unwrap();
        assert!(!b.put("three"));
        assert_eq!(b.read(), "hers");
        std::fs::remove_file(b.file()).unwrap();
        assert!(!b.put("three"));
        assert!(!b.file().exists());
    }

    #[test]
    fn a_file_that_was_there_first_is_hers() {
        let mut b = bench();
        std::fs::write(b.file(), "hers").unwrap();
        assert!(!b.put("one"));
        assert_eq!(b.read(), "hers");
    }

    #[test]
    fn broken_off_anywhere_the_old_or_the_new_text_stands_whole_and_stays_ours() {
        for (before, bare) in [
            (None, false),
            (Some("one"), false),
            (None, true),
            (Some("one"), true),
        ] {
            for n in 1.. {
                let mut b = bench();
                if let Some(text) = before {
                    b.put(text);
                }
                let disk = Disk::failing(5, n, u64::MAX);
                let disk = if bare { disk.bare() } else { disk };
                let done = b.put_on(&disk, "two");
                let ready = Disk::default().root(&b.dir.path().join("ready")).unwrap();
                if bare {
                    // It may have stepped aside for a moment.
                    sweep(&ready, &mut b.ledger).unwrap();
                }
                let stands = std::fs::read_to_string(b.file()).ok();
                assert!(
                    stands.as_deref() == before || stands.as_deref() == Some("two"),
                    "{n}: {stands:?}"
                );
                sweep(&ready, &mut b.ledger).unwrap();
                let left = std::fs::read_dir(b.dir.path().join("ready/p/mug")).unwrap();
                assert!(left.count() <= 1, "{n}");
                assert!(b.put("three"), "{n}");
                assert_eq!(b.read(), "three", "{n}");
                if done.is_ok() {
                    break;
                }
            }
        }
    }
}

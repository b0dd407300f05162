//! What an interrupted publication left in `ready`: half-written files go, a file of hers that was
//! taken out comes back. Owns which hidden names are ours; touches nothing that the ledger does not name.

use std::io;
use std::path::Path;

use super::ledger::{Ledger, Output};
use super::{Trouble, archive};
use crate::base::disk::{Kind, Root};

/// Ending of a file that is being written.
pub(super) const PART: &str = "part";
/// Ending of a file that is being exchanged for the one in its place.
pub(super) const SWAP: &str = "swap";

/// Stands for something that is no file of ours, whatever it holds: no file has this hash.
const FOREIGN: blake3::Hash = blake3::Hash::from_bytes([0; 32]);

/// Hash of what stands at a name; for something that is no ordinary file one that no file has.
pub(super) fn standing(ready: &Root, at: &Path) -> Result<Option<blake3::Hash>, Trouble> {
    let io = |e| Trouble::at(ready, at)(e);
    match ready.stat(at).map_err(io)? {
        None => Ok(None),
        Some(s) if s.kind == Kind::File => ready.hash(at).map_err(io),
        Some(_) => Ok(Some(FOREIGN)),
    }
}

/// The same, where a file that cannot be read is as good as no file of ours.
pub(super) fn readable(ready: &Root, at: &Path) -> Result<Option<blake3::Hash>, Trouble> {
    let there = ready.stat(at).map_err(Trouble::at(ready, at))?;
    Ok(there.map(|_| ready.hash(at).ok().flatten().unwrap_or(FOREIGN)))
}

pub(super) fn parent(rel: &Path) -> &Path {
    rel.parent().unwrap_or(Path::new(""))
}

/// Clears up after a crash: removes files that were being written, and puts back a file of hers
/// that an interrupted exchange had taken out. Nothing is touched that the ledger does not name.
///
/// # Errors
/// Trouble with disk or ledger; it can be repeated.
pub fn sweep(ready: &Root, ledger: &mut Ledger) -> Result<(), Trouble> {
    for o in ledger.unfinished()? {
        let former = ledger.former(o.photo, &o.profile)?;
        sweep_one(ready, &o, former.is_some() && o.next_hash.is_some())?;
        ledger.swept(o.photo, &o.profile)?;
    }
    Ok(())
}

/// `undecided`: it was to get another name, which is given up: the file under the one before stands.
pub(super) fn sweep_one(ready: &Root, o: &Output, undecided: bool) -> Result<(), Trouble> {
    let at = Path::new(&o.path);
    if let Some(temp) = &o.temp {
        sweep_beside(ready, o, Path::new(temp), at)?;
    }
    if undecided && standing(ready, at)? == o.next_hash {
        ready.remove(at).map_err(Trouble::at(ready, at))?;
    }
    Ok(())
}

fn sweep_beside(ready: &Root, o: &Output, temp: &Path, at: &Path) -> Result<(), Trouble> {
    let io = |e| Trouble::at(ready, temp)(e);
    if temp.extension().is_none_or(|e| e != SWAP) {
        return ready.remove(temp).map_err(io);
    }
    end_exchange(ready, temp, at, o.hash)?;
    // It may not have got its second name yet.
    (ready.remove(&temp.with_extension(PART))).map_err(io)?;
    let Some(beside) = standing(ready, temp)? else {
        return Ok(());
    };
    if Some(beside) == o.hash || Some(beside) == o.next_hash {
        return ready.remove(temp).map_err(io);
    }
    let stands = standing(ready, at)?;
    if stands.is_some() && stands == o.next_hash {
        ready.exchange(temp, at).map_err(io)?;
        return ready.remove(temp).map_err(io);
    }
    keep_beside(ready, temp, at)
}

/// Ends an exchange of `a` for `b` that was broken off on a file system that knows none. What stepped aside
/// goes if it is `ours` and something new stands in its place, and is kept beside that if it is hers.
pub(super) fn end_exchange(
    ready: &Root,
    a: &Path,
    b: &Path,
    ours: Option<blake3::Hash>,
) -> Result<(), Trouble> {
    let io = |e| Trouble::at(ready, b)(e);
    match ready.resume_exchange(a, b) {
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {
            let aside = Root::aside(a);
            if standing(ready, &aside)? == ours {
                return ready.remove(&aside).map_err(io);
            }
            keep_beside(ready, &aside, b)
        }
        done => done.map_err(io),
    }
}

/// Gives a file of hers the first free name beside `at`.
fn keep_beside(ready: &Root, file: &Path, at: &Path) -> Result<(), Trouble> {
    for n in 1.. {
        match ready.rename(file, ready, &archive::free(at, n)) {
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {}
            done => return done.map_err(Trouble::at(ready, file)),
        }
    }
    Ok(())
}

/// Removes what stood under the former names of outputs that were delivered under new ones; a file that
/// she edited there is hers.
///
/// # Errors
/// Trouble with disk or ledger; it can be repeated.
pub fn retire(ready: &Root, ledger: &mut Ledger) -> Result<(), Trouble> {
    for (photo, profile, path, ours) in ledger.formers()? {
        let at = Path::new(&path);
        let io = |e| Trouble::at(ready, at)(e);
        if !ledger.path_taken(&path, photo, &profile)? && standing(ready, at)? == Some(ours) {
            ready.remove(at).map_err(io)?;
            ready.sync_folder(parent(at)).map_err(io)?;
        }
        ledger.retired(photo, &profile)?;
    }
    Ok(())
}

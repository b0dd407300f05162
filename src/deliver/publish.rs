//! One output into `ready`: intent, file beside its target, no-clobber rename or exchange, fsync.
//! Owns what may be replaced and what is hers; refuses to know what is in the bytes.

use std::io;
use std::path::{Path, PathBuf};

use super::Trouble;
use super::ledger::{Ledger, Output, Photo};
use crate::base::disk::Root;

/// How a publication ended.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Published {
    /// The bytes stand durably under this ready-relative path; `replaces` names the file before.
    Placed {
        path: String,
        replaces: Option<String>,
    },
    /// She edited what stands there; nothing was written.
    Hers(String),
    /// She deleted it; nothing was written.
    Deleted(String),
}

/// Publishes `bytes`; `names(1)`, `names(2)`, ... are the ready-relative paths to try in turn.
/// `asked` makes an output again although she edited (under a free name) or deleted it.
///
/// # Errors
/// Trouble with disk or ledger; nothing half-written is visible then, and it can be repeated.
pub fn publish(
    ready: &Root,
    ledger: &mut Ledger,
    photo: &Photo,
    profile: &str,
    names: &dyn Fn(u32) -> PathBuf,
    bytes: &[u8],
    asked: bool,
) -> Result<Published, Trouble> {
    let hash = blake3::hash(bytes);
    let known = ledger.output(photo.id, profile)?;
    let mut replaces = None;
    if let Some(Output {
        path,
        hash: Some(ours),
        next_hash,
        ..
    }) = &known
    {
        // A new name that was only promised is not yet where it stands.
        let former = ledger.former(photo.id, profile)?;
        let path = &former
            .filter(|_| next_hash.is_some())
            .unwrap_or_else(|| path.clone());
        replaces = Some(path.clone());
        let at = Path::new(path);
        let standing = ready.hash(at).map_err(Trouble::at(ready, at))?;
        let is_ours = standing.is_some_and(|h| h == hash || h == *ours || Some(h) == *next_hash);
        match standing {
            Some(h) if h == hash && is_named(names, path) => {
                // Already there. Nothing is exchanged: of two files with the same bytes nobody could
                // tell after a crash which one was taken out.
                ledger.intend(photo.id, profile, path, &hash, None)?;
                return Ok(Published::Placed {
                    path: path.clone(),
                    replaces,
                });
            }
            Some(h) if is_ours && is_named(names, path) => {
                let temp = write_beside(ready, ledger, photo, profile, path, bytes, &hash)?;
                replace(ready, Path::new(&temp), at, &h).map_err(Trouble::at(ready, at))??;
                ready
                    .sync_folder(parent(at))
                    .map_err(Trouble::at(ready, at))?;
                return Ok(Published::Placed {
                    path: path.clone(),
                    replaces,
                });
            }
            Some(_) if !is_ours && !asked => return Ok(Published::Hers(path.clone())),
            None if !asked => return Ok(Published::Deleted(path.clone())),
            _ => {}
        }
    }
    let promised = known.as_ref().and_then(|o| o.next_hash);
    let mut n = 1;
    loop {
        let at = names(n);
        n += 1;
        let path = crate::base::disk::text(&at);
        if ledger.path_taken(&path, photo.id, profile)? {
            continue;
        }
        // After a crash our own promised bytes may already stand here.
        let standing = match ready.stat(&at).map_err(Trouble::at(ready, &at))? {
            None => None,
            Some(_) => match ready.hash(&at) {
                Ok(Some(h)) if h == hash || Some(h) == promised => Some(h),
                _ => continue,
            },
        };
        if standing == Some(hash) {
            ledger.intend(photo.id, profile, &path, &hash, None)?;
            ready
                .sync_folder(parent(&at))
                .map_err(Trouble::at(ready, &at))?;
            return Ok(Published::Placed { path, replaces });
        }
        let temp = write_beside(ready, ledger, photo, profile, &path, bytes, &hash)?;
        let temp = Path::new(&temp);
        match standing {
            Some(h) => replace(ready, temp, &at, &h).map_err(Trouble::at(ready, &at))??,
            None => match ready.rename(temp, ready, &at) {
                Ok(()) => {}
                Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {
                    ready.remove(temp).map_err(Trouble::at(ready, &at))?;
                    continue;
                }
                Err(e) => {
                    let _ = ready.remove(temp);
                    return Err(Trouble::at(ready, &at)(e));
                }
            },
        }
        ready
            .sync_folder(parent(&at))
            .map_err(Trouble::at(ready, &at))?;
        return Ok(Published::Placed { path, replaces });
    }
}

/// Whether `path` is one of the first names, i.e. the output's place has not changed.
fn is_named(names: &dyn Fn(u32) -> PathBuf, path: &str) -> bool {
    (1..100).any(|n| names(n) == Path::new(path))
}

fn parent(rel: &Path) -> &Path {
    rel.parent().unwrap_or(Path::new(""))
}

fn write_beside(
    ready: &Root,
    ledger: &mut Ledger,
    photo: &Photo,
    profile: &str,
    path: &str,
    bytes: &[u8],
    hash: &blake3::Hash,
) -> Result<String, Trouble> {
    let at = Path::new(path);
    let name = format!(".stallhand-{}-{}.part", photo.id, &hash.to_hex()[..16]);
    let temp = crate::base::disk::text(&parent(at).join(name));
    ledger.intend(photo.id, profile, path, hash, Some(&temp))?;
    ready
        .make_folders(parent(at))
        .map_err(Trouble::at(ready, at))?;
    let rel = Path::new(&temp);
    ready.remove(rel).map_err(Trouble::at(ready, rel))?;
    ready
        .write_new(rel, bytes)
        .map_err(Trouble::at(ready, rel))?;
    Ok(temp)
}

/// Swaps the new file in for ours. When what came out is not the file that was hashed before,
/// it is hers: it is swapped back.
fn replace(
    ready: &Root,
    temp: &Path,
    at: &Path,
    ours: &blake3::Hash,
) -> io::Result<Result<(), Trouble>> {
    ready.exchange(temp, at)?;
    if ready.hash(temp)?.as_ref() == Some(ours) {
        ready.remove(temp)?;
        return Ok(Ok(()));
    }
    ready.exchange(temp, at)?;
    ready.remove(temp)?;
    Ok(Err(Trouble::Io(
        ready.path().join(at),
        io::Error::other("it was changed while it was being replaced"),
    )))
}

/// Clears up after a crash: removes files that were being written, and puts back a file of hers
/// that an interrupted exchange had taken out.
///
/// # Errors
/// Trouble with disk or ledger; it can be repeated.
pub fn sweep(ready: &Root, ledger: &mut Ledger) -> Result<(), Trouble> {
    for o in ledger.unfinished()? {
        let (Some(temp), at) = (&o.temp, Path::new(&o.path)) else {
            continue;
        };
        let temp = Path::new(temp);
        let io = |e| Trouble::at(ready, temp)(e);
        if let Some(beside) = ready.hash(temp).map_err(io)? {
            let standing = ready.hash(at).map_err(io)?;
            let ours = |h: &blake3::Hash| Some(*h) == o.hash || Some(*h) == o.next_hash;
            if !ours(&beside) && standing.is_some() && standing == o.next_hash {
                ready.exchange(temp, at).map_err(io)?;
            }
            ready.remove(temp).map_err(io)?;
        }
        // A new name that was not decided is given up: the file under the name before still stands.
        if ledger.former(o.photo, &o.profile)?.is_some()
            && o.next_hash.is_some()
            && ready.hash(at).map_err(io)? == o.next_hash
        {
            ready.remove(at).map_err(io)?;
        }
        ledger.swept(o.photo, &o.profile)?;
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
        if !ledger.path_taken(&path, photo, &profile)?
            && ready.stat(at).map_err(io)?.is_some()
            && ready.hash(at).map_err(io)? == Some(ours)
        {
            ready.remove(at).map_err(io)?;
            ready.sync_folder(parent(at)).map_err(io)?;
        }
        ledger.retired(photo, &profile)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::clock::Clock;
    use crate::base::disk::{Disk, Stamp};
    use crate::base::record::Delivery;
    use crate::deliver::ledger::{Decision, Enlist, State};

    struct Bench {
        dir: tempfile::TempDir,
        ready: Root,
        ledger: Ledger,
        photo: Photo,
    }

    fn bench() -> Bench {
        let dir = tempfile::tempdir().unwrap();
        std::fs::create_dir(dir.path().join("ready")).unwrap();
        let ready = Disk::default().root(&dir.path().join("ready")).unwrap();
        let mut ledger = Ledger::open(&dir.path().join("ledger.db"), Clock::by_hand()).unwrap();
        let stamp = Stamp {
            dev: 1,
            ino: 2,
            size: 3,
            mtime: 4,
            ctime: 5,
        };
        let photo = ledger
            .enlist(&Enlist {
                hash: &blake3::hash(b"photo"),
                listing: "",
                source: Path::new("bowl.jpg"),
                stamp,
                captured: None,
                facts: "{}",
            })
            .unwrap();
        Bench {
            dir,
            ready,
            ledger,
            photo,
        }
    }

    impl Bench {
        fn put(&mut self, bytes: &[u8], asked: bool) -> Published {
            let names =
                |n: u32| PathBuf::from(format!("p/{}.jpg", crate::deliver::naming::nth("bowl", n)));
            let out = publish(
                &self.ready,
                &mut self.ledger,
                &self.photo,
                "p",
                &names,
                bytes,
                asked,
            )
            .unwrap();
            if matches!(out, Published::Placed { .. }) {
                let d = Decision {
                    delivered: vec![("p".into(), Delivery::default(), vec![], String::new())],
                    state: Some(State::Delivered),
                    ..Decision::default()
                };
                self.ledger.decide(self.photo.id, d).unwrap();
            }
            out
        }
        fn file(&self, name: &str) -> PathBuf {
            self.dir.path().join("ready/p").join(name)
        }
        fn names(&self) -> Vec<String> {
            let mut v: Vec<String> = std::fs::read_dir(self.dir.path().join("ready/p"))
                .unwrap()
                .map(|e| e.unwrap().file_name().into_string().unwrap())
                .collect();
            v.sort();
            v
        }
    }

    #[test]
    fn an_output_made_again_replaces_ours_and_leaves_nothing_beside_it() {
        let mut b = bench();
        b.put(b"one", false);
        let again = b.put(b"two", false);
        assert!(matches!(
            again,
            Published::Placed {
                replaces: Some(_),
                ..
            }
        ));
        assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"two");
        assert_eq!(b.names(), ["bowl.jpg"]);
    }

    #[test]
    fn a_file_she_edited_or_deleted_is_respected() {
        let mut b = bench();
        b.put(b"one", false);
        std::fs::write(b.file("bowl.jpg"), b"hers").unwrap();
        assert_eq!(b.put(b"two", false), Published::Hers("p/bowl.jpg".into()));
        assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"hers");
        b.put(b"two", true);
        assert_eq!(b.names(), ["bowl-2.jpg", "bowl.jpg"]);
        assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"hers");
        std::fs::remove_file(b.file("bowl-2.jpg")).unwrap();
        assert_eq!(
            b.put(b"three", false),
            Published::Deleted("p/bowl-2.jpg".into())
        );
        assert_eq!(b.names(), ["bowl.jpg"]);
    }

    #[test]
    fn a_file_that_was_there_first_is_never_overwritten() {
        let mut b = bench();
        std::fs::create_dir(b.dir.path().join("ready/p")).unwrap();
        std::fs::write(b.file("bowl.jpg"), b"hers").unwrap();
        b.put(b"one", false);
        assert_eq!(b.names(), ["bowl-2.jpg", "bowl.jpg"]);
        assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"hers");
    }

    #[test]
    fn an_output_made_again_with_the_same_bytes_survives_being_broken_off_anywhere() {
        for n in 1.. {
            let mut b = bench();
            b.put(b"one", false);
            let disk = Disk::failing(5, n, u64::MAX);
            let ready = disk.root(b.ready.path()).unwrap();
            let names = |_: u32| PathBuf::from("p/bowl.jpg");
            let (photo, bytes) = (b.photo.clone(), b"one");
            let done = publish(&ready, &mut b.ledger, &photo, "p", &names, bytes, true);
            // As if the process had died while it wrote beside the target.
            let row = b.ledger.output(b.photo.id, "p").unwrap().unwrap();
            if let Some(temp) = row.temp {
                std::fs::write(b.dir.path().join("ready").join(temp), b"").unwrap();
            }
            sweep(&b.ready, &mut b.ledger).unwrap();
            assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"one", "{n}");
            if done.is_ok() {
                return;
            }
        }
    }

    #[test]
    fn an_output_under_a_new_name_replaces_the_one_before_also_when_it_is_broken_off() {
        for n in 1.. {
            let mut b = bench();
            b.put(b"one", false);
            let disk = Disk::failing(5, n, u64::MAX);
            let ready = disk.root(b.ready.path()).unwrap();
            let names = |_: u32| PathBuf::from("p/bowl.webp");
            let photo = b.photo.clone();
            let put = |b: &mut Bench, ready: &Root| {
                publish(ready, &mut b.ledger, &photo, "p", &names, b"two", false)
            };
            let done = put(&mut b, &ready);
            sweep(&b.ready, &mut b.ledger).unwrap();
            assert_eq!(b.names(), ["bowl.jpg"], "{n}: not decided, so as before");
            let whole = b.ready.clone();
            let again = put(&mut b, &whole).unwrap();
            assert!(
                matches!(&again, Published::Placed { replaces: Some(r), .. } if r == "p/bowl.jpg"),
                "{again:?}"
            );
            let d = Decision {
                delivered: vec![("p".into(), Delivery::default(), vec![], String::new())],
                ..Decision::default()
            };
            b.ledger.decide(b.photo.id, d).unwrap();
            retire(&b.ready, &mut b.ledger).unwrap();
            assert_eq!(b.names(), ["bowl.webp"], "{n}");
            if done.is_ok() {
                return;
            }
        }
    }

    #[test]
    fn an_interrupted_exchange_gives_her_file_back() {
        let mut b = bench();
        b.put(b"one", false);
        // As if the process had died between the exchange and the look at what came out.
        let temp = "p/.stallhand-1-x.part";
        b.ledger
            .intend(
                b.photo.id,
                "p",
                "p/bowl.jpg",
                &blake3::hash(b"two"),
                Some(temp),
            )
            .unwrap();
        std::fs::write(b.file("bowl.jpg"), b"two").unwrap();
        std::fs::write(b.dir.path().join("ready").join(temp), b"hers").unwrap();
        sweep(&b.ready, &mut b.ledger).unwrap();
        assert_eq!(b.names(), ["bowl.jpg"]);
        assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"hers");
        assert!(b.ledger.unfinished().unwrap().is_empty());
    }
}

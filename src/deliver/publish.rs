//! One output into `ready`: intent, file beside its target, no-clobber rename or exchange, fsync.
//! Owns what may be replaced and what is hers; refuses to know what is in the bytes.

use std::io;
use std::path::{Path, PathBuf};

use super::Trouble;
use super::ledger::{Ledger, Output, Photo};
use super::sweep::{PART, SWAP, parent, standing, sweep_one};
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
    let mut aim = Aim {
        ready,
        ledger,
        photo: photo.id,
        profile,
        bytes,
        hash: blake3::hash(bytes),
    };
    let known = aim.known()?;
    let before = known.as_ref().filter(|(_, delivered)| *delivered);
    let replaces = before.map(|(o, _)| o.path.clone());
    if let Some((o, _)) = &known
        && let Some(ours) = o.hash
    {
        let at = Path::new(&o.path);
        let path = o.path.clone();
        match standing(ready, at)? {
            Some(h) if h == ours && is_named(names, &path) => {
                if h == aim.hash {
                    // The very bytes stand there: nothing to write.
                    aim.intend(&path, None)?;
                } else {
                    let temp = aim.write_beside(&path)?;
                    aim.replace(&temp, &path, &h)?;
                }
                let synced = ready.sync_folder(parent(at));
                synced.map_err(Trouble::at(ready, at))?;
                return Ok(Published::Placed { path, replaces });
            }
            Some(h) if h != ours && !asked => return Ok(Published::Hers(path)),
            None if !asked => return Ok(Published::Deleted(path)),
            _ => {}
        }
    }
    let mut n = 1;
    loop {
        let at = names(n);
        n += 1;
        let path = crate::base::disk::text(&at);
        let io = |e| Trouble::at(ready, &at)(e);
        if aim.ledger.path_taken(&path, photo.id, profile)?
            || ready.stat(&at).map_err(io)?.is_some()
        {
            continue;
        }
        let temp = aim.write_beside(&path)?;
        match ready.rename(&temp, ready, &at) {
            Ok(()) => {}
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {
                ready.remove(&temp).map_err(io)?;
                continue;
            }
            Err(e) => {
                let _ = ready.remove(&temp);
                return Err(io(e));
            }
        }
        ready.sync_folder(parent(&at)).map_err(io)?;
        return Ok(Published::Placed { path, replaces });
    }
}

/// Whether `path` is one of the first names, i.e. the output's place has not changed.
fn is_named(names: &dyn Fn(u32) -> PathBuf, path: &str) -> bool {
    (1..100).any(|n| names(n) == Path::new(path))
}

/// One publication under way.
struct Aim<'a> {
    ready: &'a Root,
    ledger: &'a mut Ledger,
    photo: i64,
    profile: &'a str,
    bytes: &'a [u8],
    hash: blake3::Hash,
}

impl Aim<'_> {
    /// What the ledger knows of this output, and whether it was ever said to be delivered. A
    /// publication that was interrupted is cleared up first; when what it promised stands in its
    /// place already, that is what we made, whatever is made now.
    fn known(&mut self) -> Result<Option<(Output, bool)>, Trouble> {
        let Some(o) = self.ledger.output(self.photo, self.profile)? else {
            return Ok(None);
        };
        let delivered = o.delivery.is_some();
        let former = self.ledger.former(self.photo, self.profile)?;
        let undecided = former.is_some() && o.next_hash.is_some();
        if o.temp.is_some() || undecided {
            sweep_one(self.ready, &o, undecided)?;
            self.ledger.swept(self.photo, self.profile)?;
        }
        let Some(o) = self.ledger.output(self.photo, self.profile)? else {
            return Ok(None);
        };
        if o.next_hash.is_some() && standing(self.ready, Path::new(&o.path))? == o.next_hash {
            self.ledger.adopt(self.photo, self.profile)?;
        }
        let o = self.ledger.output(self.photo, self.profile)?;
        Ok(o.map(|o| (o, delivered)))
    }

    fn intend(&mut self, path: &str, temp: Option<&Path>) -> Result<(), Trouble> {
        let temp = temp.map(crate::base::disk::text);
        let (photo, profile) = (self.photo, self.profile);
        Ok((self.ledger).intend(photo, profile, path, &self.hash, temp.as_deref())?)
    }

    /// Writes the bytes under a hidden name beside their target. That file is ours however it ends.
    fn write_beside(&mut self, path: &str) -> Result<PathBuf, Trouble> {
        let folder = parent(Path::new(path));
        let hash = self.hash.to_hex();
        let temp = folder.join(format!(".stallhand-{}-{}.{PART}", self.photo, &hash[..16]));
        self.intend(path, Some(&temp))?;
        let io = |e| Trouble::at(self.ready, &temp)(e);
        self.ready.make_folders(folder).map_err(io)?;
        self.ready.remove(&temp).map_err(io)?;
        self.ready.write_new(&temp, self.bytes).map_err(io)?;
        Ok(temp)
    }

    /// Swaps the new file in for ours. When what came out is not the file that was hashed before,
    /// it is hers: it is swapped back. From here on the hidden name may hold a file of hers, and
    /// so it is another one.
    fn replace(&mut self, temp: &Path, path: &str, ours: &blake3::Hash) -> Result<(), Trouble> {
        let (at, swap) = (Path::new(path), temp.with_extension(SWAP));
        self.intend(path, Some(&swap))?;
        let io = |e| Trouble::at(self.ready, at)(e);
        self.ready.rename(temp, self.ready, &swap).map_err(io)?;
        self.ready.exchange(&swap, at).map_err(io)?;
        if self.ready.hash(&swap).map_err(io)?.as_ref() == Some(ours) {
            return self.ready.remove(&swap).map_err(io);
        }
        self.ready.exchange(&swap, at).map_err(io)?;
        self.ready.remove(&swap).map_err(io)?;
        Err(Trouble::Io(
            self.ready.path().join(at),
            io::Error::other("it was changed while it was being replaced"),
        ))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::clock::Clock;
    use crate::base::disk::{Disk, Stamp};
    use crate::base::record::Delivery;
    use crate::deliver::ledger::{Decision, Enlist, State};
    use crate::deliver::sweep::{retire, sweep};

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
    fn where_the_file_system_knows_no_exchange_an_output_is_replaced_and_survives_being_broken_off()
    {
        for n in 1.. {
            let mut b = bench();
            b.put(b"one", false);
            let ready = Disk::failing(5, n, u64::MAX).bare().root(b.ready.path());
            let names = |_: u32| PathBuf::from("p/bowl.jpg");
            let (photo, bytes, ready) = (b.photo.clone(), b"two", ready.unwrap());
            let done = publish(&ready, &mut b.ledger, &photo, "p", &names, bytes, false);
            sweep(&b.ready, &mut b.ledger).unwrap();
            assert_eq!(b.names(), ["bowl.jpg"], "{n}");
            let stands = std::fs::read(b.file("bowl.jpg")).unwrap();
            assert!(stands == b"one" || stands == b"two", "{n}");
            b.ready = Disk::default().bare().root(b.ready.path()).unwrap();
            b.put(b"three", false);
            assert_eq!(b.names(), ["bowl.jpg"], "{n}");
            assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"three");
            // What she edited is hers, here as everywhere.
            std::fs::write(b.file("bowl.jpg"), b"hers").unwrap();
            assert_eq!(b.put(b"four", false), Published::Hers("p/bowl.jpg".into()));
            if done.is_ok() {
                assert!(n > 10, "{n} steps");
                return;
            }
        }
    }

    #[test]
    fn what_had_stepped_aside_when_she_put_something_in_its_place_is_kept_if_it_is_hers() {
        for (aside, left) in [(&b"one"[..], 1), (b"hers before", 2)] {
            let mut b = bench();
            b.put(b"one", false);
            let (two, temp) = (blake3::hash(b"two"), "p/.stallhand-1-x.swap");
            b.ledger
                .intend(b.photo.id, "p", "p/bowl.jpg", &two, Some(temp))
                .unwrap();
            std::fs::write(b.file(".stallhand-1-x.swap"), b"two").unwrap();
            std::fs::write(b.file(".stallhand-aside-.stallhand-1-x.swap"), aside).unwrap();
            std::fs::write(b.file("bowl.jpg"), b"hers now").unwrap();
            sweep(&b.ready, &mut b.ledger).unwrap();
            assert_eq!(b.names().len(), left, "{:?}", b.names());
            assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"hers now");
            if left == 2 {
                let kept = std::fs::read(b.file("bowl (2).jpg")).unwrap();
                assert_eq!(kept, b"hers before");
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
        let temp = "p/.stallhand-1-x.swap";
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

    #[test]
    fn a_half_written_file_beside_what_was_promised_is_never_put_in_its_place() {
        let mut b = bench();
        // As if the process had died after the rename, and once more while writing it again.
        let (two, temp) = (blake3::hash(b"two"), "p/.stallhand-1-x.part");
        std::fs::create_dir(b.dir.path().join("ready/p")).unwrap();
        b.ledger
            .intend(b.photo.id, "p", "p/bowl.jpg", &two, Some(temp))
            .unwrap();
        std::fs::write(b.file("bowl.jpg"), b"two").unwrap();
        std::fs::write(b.dir.path().join("ready").join(temp), b"t").unwrap();
        sweep(&b.ready, &mut b.ledger).unwrap();
        assert_eq!(b.names(), ["bowl.jpg"]);
        assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"two");
        // Made again, whether the bytes are the same or not, it is the same one output.
        let placed = |p: &str| Published::Placed {
            path: p.into(),
            replaces: None,
        };
        assert_eq!(b.put(b"three", false), placed("p/bowl.jpg"));
        assert_eq!(b.names(), ["bowl.jpg"]);
        assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"three");
    }

    #[test]
    fn a_file_of_hers_that_was_taken_out_is_kept_beside_what_she_put_there_since() {
        let mut b = bench();
        b.put(b"one", false);
        let (two, temp) = (blake3::hash(b"two"), "p/.stallhand-1-x.swap");
        b.ledger
            .intend(b.photo.id, "p", "p/bowl.jpg", &two, Some(temp))
            .unwrap();
        std::fs::write(b.file("bowl.jpg"), b"hers now").unwrap();
        std::fs::write(b.dir.path().join("ready").join(temp), b"hers before").unwrap();
        sweep(&b.ready, &mut b.ledger).unwrap();
        assert_eq!(b.names(), ["bowl (2).jpg", "bowl.jpg"]);
        assert_eq!(
            std::fs::read(b.file("bowl (2).jpg")).unwrap(),
            b"hers before"
        );
        assert_eq!(std::fs::read(b.file("bowl.jpg")).unwrap(), b"hers now");
    }

    #[test]
    fn a_folder_in_the_place_of_an_output_is_hers() {
        let mut b = bench();
        b.put(b"one", false);
        std::fs::remove_file(b.file("bowl.jpg")).unwrap();
        std::fs::create_dir(b.file("bowl.jpg")).unwrap();
        assert_eq!(b.put(b"two", false), Published::Hers("p/bowl.jpg".into()));
    }
}

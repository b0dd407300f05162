//! Outputs to other names of their folders, all at once: renames that replace nothing, and exchanges of
//! two files that are both ours. Owns the order of them; refuses to choose the names.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::Path;

use super::Trouble;
use super::archive::free as free_name;
use super::ledger::Renaming;
use super::sweep::readable;
use crate::base::disk::Root;

/// Brings every file to its name. At any moment each of them stands under exactly one of the names, so
/// that repeating it after a crash at any point ends the same. Returns where each stands, in the order
/// of `all`; `None` for one that is no longer there or no longer ours. A name where something else
/// stands is left to it.
///
/// # Errors
/// Trouble with the disk; it can be repeated.
pub fn carry_out(ready: &Root, all: &[Renaming]) -> Result<Vec<Option<String>>, Trouble> {
    mend(ready, all)?;
    let mut standing = BTreeMap::new();
    for path in all.iter().flat_map(|r| [&r.from, &r.to]) {
        standing.insert(path.clone(), readable(ready, Path::new(path))?);
    }
    let mut at = find(all, &standing);
    // Names at which something stands that could not be moved.
    let mut shut: Vec<String> = Vec::new();
    loop {
        let next = (0..all.len()).find_map(|i| {
            let (here, to) = (at[i].as_ref()?, &all[i].to);
            if here == to || shut.contains(to) || shut.contains(here) {
                return None;
            }
            match standing.get(to) {
                Some(None) => Some((i, None)),
                _ => None,
            }
        });
        // Free names first: an exchange is for circles alone.
        let next = next.or_else(|| {
            (0..all.len()).find_map(|i| {
                let (here, to) = (at[i].as_ref()?, &all[i].to);
                if here == to || shut.contains(to) || shut.contains(here) {
                    return None;
                }
                let other = at.iter().position(|p| p.as_ref() == Some(to))?;
                Some((i, Some(other)))
            })
        });
        let Some((i, other)) = next else { break };
        let (here, to) = (at[i].clone().unwrap_or_default(), all[i].to.clone());
        let done = match other {
            None => move_over(ready, &here, &to, &all[i].hash)?,
            Some(j) => swap(ready, [&here, &to], [&all[i].hash, &all[j].hash])?,
        };
        if !done {
            shut.push(to.clone());
            standing.insert(to.clone(), readable(ready, Path::new(&to))?);
            standing.insert(here.clone(), readable(ready, Path::new(&here))?);
            continue;
        }
        at[i] = Some(to.clone());
        standing.insert(to, Some(all[i].hash));
        standing.insert(here.clone(), other.map(|j| all[j].hash));
        if let Some(j) = other {
            at[j] = Some(here);
        }
    }
    let mut folders: Vec<&Path> = all
        .iter()
        .filter_map(|r| Path::new(&r.to).parent())
        .collect();
    folders.sort();
    folders.dedup();
    for folder in folders {
        ready
            .sync_folder(folder)
            .map_err(Trouble::at(ready, folder))?;
    }
    Ok(at)
}

/// Ends what was broken off between two steps of one rename or exchange, on a file system that has neither
/// in one step: a file with two names loses one, and what stepped aside gets a name again.
fn mend(ready: &Root, all: &[Renaming]) -> Result<(), Trouble> {
    let (new, old) = (all.iter().map(|r| &r.to), all.iter().map(|r| &r.from));
    let mut names: Vec<&Path> = Vec::new();
    for name in new.chain(old).map(Path::new) {
        if !names.contains(&name) {
            names.push(name);
        }
    }
    let mut files = BTreeSet::new();
    let mut free = Vec::new();
    for name in &names {
        match ready.stat(name).map_err(Trouble::at(ready, name))? {
            Some(s) if files.insert((s.stamp.dev, s.stamp.ino)) => {}
            Some(_) => {
                ready.remove(name).map_err(Trouble::at(ready, name))?;
                free.push(*name);
            }
            None => free.push(*name),
        }
    }
    for name in names {
        let aside = Root::aside(name);
        let io = |e| Trouble::at(ready, &aside)(e);
        let Some(s) = ready.stat(&aside).map_err(io)? else {
            continue;
        };
        if !files.insert((s.stamp.dev, s.stamp.ino)) {
            ready.remove(&aside).map_err(io)?;
            continue;
        }
        // The name that it had is one where nothing stands; if she took it, it gets another.
        let mut to = free.pop().map(Path::to_owned);
        let mut n = 1;
        while to.is_none() {
            let next = free_name(name, n);
            to = ready.stat(&next).map_err(io)?.is_none().then_some(next);
            n += 1;
        }
        let to = to.unwrap_or_default();
        ready.rename(&aside, ready, &to).map_err(io)?;
    }
    Ok(())
}

/// Where each file stands: at its new name, at its old one, or at another's after an interrupted
/// circle. Files of equal bytes are as good as each other.
fn find(
    all: &[Renaming],
    standing: &BTreeMap<String, Option<blake3::Hash>>,
) -> Vec<Option<String>> {
    let mut at: Vec<Option<String>> = vec![None; all.len()];
    let mut used: Vec<&str> = Vec::new();
    let holds = |path: &str, r: &Renaming| standing.get(path) == Some(&Some(r.hash));
    for place in [|r: &Renaming| r.to.clone(), |r: &Renaming| r.from.clone()] {
        for (i, r) in all.iter().enumerate() {
            let path = place(r);
            if at[i].is_none()
                && holds(&path, r)
                && let Some((name, _)) = standing.get_key_value(&path)
                && !used.contains(&name.as_str())
            {
                used.push(name);
                at[i] = Some(path);
            }
        }
    }
    for (i, r) in all.iter().enumerate() {
        if at[i].is_none()
            && let Some(name) = standing
                .keys()
                .find(|n| holds(n, r) && !used.contains(&n.as_str()))
        {
            used.push(name);
            at[i] = Some(name.clone());
        }
    }
    at
}

/// One file to a free name. Returns whether it is there; one that was changed meanwhile is put back.
fn move_over(ready: &Root, from: &str, to: &str, ours: &blake3::Hash) -> Result<bool, Trouble> {
    let (a, b) = (Path::new(from), Path::new(to));
    let io = |e| Trouble::at(ready, b)(e);
    match ready.rename(a, ready, b) {
        Ok(()) => {}
        Err(e)
            if matches!(
                e.kind(),
                io::ErrorKind::AlreadyExists | io::ErrorKind::NotFound
            ) =>
        {
            return Ok(false);
        }
        Err(e) => return Err(io(e)),
    }
    if ready.hash(b).map_err(io)?.as_ref() == Some(ours) {
        return Ok(true);
    }
    ready.rename(b, ready, a).map_err(io)?;
    Ok(false)
}

/// Two files of ours change places. Returns whether they did; they are changed back when one of them
/// was edited meanwhile.
fn swap(ready: &Root, names: [&str; 2], ours: [&blake3::Hash; 2]) -> Result<bool, Trouble> {
    let [a, b] = names.map(Path::new);
    let io = |e| Trouble::at(ready, b)(e);
    ready.exchange(a, b).map_err(io)?;
    let now = [ready.hash(b).map_err(io)?, ready.hash(a).map_err(io)?];
    if now == ours.map(|h| Some(*h)) {
        return Ok(true);
    }
    ready.exchange(a, b).map_err(io)?;
    Ok(false)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::disk::Disk;

    struct Shelf {
        dir: tempfile::TempDir,
    }

    impl Shelf {
        fn of(files: &[(&str, &str)]) -> Self {
            let dir = tempfile::tempdir().unwrap();
            std::fs::create_dir(dir.path().join("p")).unwrap();
            for (name, bytes) in files {
                std::fs::write(dir.path().join("p").join(name), bytes).unwrap();
            }
            Self { dir }
        }
        fn root(&self, disk: &Disk) -> Root {
            disk.root(self.dir.path()).unwrap()
        }
        fn all(&self) -> Vec<(String, String)> {
            let mut all: Vec<_> = std::fs::read_dir(self.dir.path().join("p"))
                .unwrap()
                .map(|e| e.unwrap().path())
                .map(|p| {
                    let name = p.file_name().unwrap().to_str().unwrap().to_owned();
                    (name, std::fs::read_to_string(p).unwrap())
                })
                .collect();
            all.sort();
            all
        }
    }

    fn renaming(from: &str, to: &str, bytes: &str) -> Renaming {
        Renaming {
            photo: 0,
            profile: "p".into(),
            from: format!("p/{from}"),
            to: format!("p/{to}"),
            hash: blake3::hash(bytes.as_bytes()),
        }
    }

    fn owned(all: &[(&str, &str)]) -> Vec<(String, String)> {
        all.iter()
            .map(|(a, b)| ((*a).into(), (*b).into()))
            .collect()
    }

    /// A circle of three, a chain into a free name, and two of equal bytes.
    const START: [(&str, &str); 7] = [
        ("1", "a"),
        ("2", "b"),
        ("3", "c"),
        ("4", "d"),
        ("5", "e"),
        ("7", "same"),
        ("8", "same"),
    ];
    const END: [(&str, &str); 7] = [
        ("1", "c"),
        ("2", "a"),
        ("3", "b"),
        ("5", "d"),
        ("6", "e"),
        ("7", "same"),
        ("9", "same"),
    ];

    fn moves() -> Vec<Renaming> {
        [
            ("1", "2", "a"),
            ("2", "3", "b"),
            ("3", "1", "c"),
            ("4", "5", "d"),
            ("5", "6", "e"),
            ("7", "9", "same"),
            ("8", "7", "same"),
        ]
        .map(|(f, t, b)| renaming(f, t, b))
        .to_vec()
    }

    #[test]
    fn circles_and_chains_end_in_their_names() {
        let s = Shelf::of(&START);
        let at = carry_out(&s.root(&Disk::default()), &moves()).unwrap();
        assert_eq!(s.all(), owned(&END));
        assert!(
            at.iter()
                .zip(moves())
                .all(|(a, m)| a.as_ref() == Some(&m.to))
        );
    }

    #[test]
    fn broken_off_at_any_step_every_file_stands_once_and_a_repeat_ends_the_same() {
        for bare in [false, true] {
            let mut n = 1;
            loop {
                let s = Shelf::of(&START);
                let disk = Disk::failing(5, n, u64::MAX);
                let disk = if bare { disk.bare() } else { disk };
                let broken = carry_out(&s.root(&disk), &moves());
                let mut bytes: Vec<String> = s.all().into_iter().map(|f| f.1).collect();
                bytes.sort();
                if bare {
                    // One of them may have two names between two steps.
                    let same = bytes.iter().filter(|b| *b == "same").count();
                    bytes.dedup();
                    assert!(same >= 2 && bytes.len() == 6, "{n}: {bytes:?}");
                } else {
                    assert_eq!(bytes, ["a", "b", "c", "d", "e", "same", "same"], "{n}");
                }
                carry_out(&s.root(&Disk::default()), &moves()).unwrap();
                assert_eq!(s.all(), owned(&END), "{n}, bare: {bare}");
                if broken.is_ok() {
                    break;
                }
                n += 1;
            }
            assert!(n > 6, "{n} steps");
        }
    }

    #[test]
    fn a_name_that_something_else_took_is_left_to_it() {
        let s = Shelf::of(&[("1", "a"), ("2", "hers"), ("3", "c")]);
        let all = [renaming("1", "2", "a"), renaming("3", "1", "c")];
        let at = carry_out(&s.root(&Disk::default()), &all).unwrap();
        assert_eq!(s.all()[1], ("2".into(), "hers".into()));
        let mut bytes: Vec<String> = s.all().into_iter().map(|f| f.1).collect();
        bytes.sort();
        assert_eq!(bytes, ["a", "c", "hers"]);
        for (m, at) in all.iter().zip(at) {
            let file = s.dir.path().join(at.unwrap());
            assert_eq!(blake3::hash(&std::fs::read(file).unwrap()), m.hash);
        }
    }

    #[test]
    fn an_output_that_is_gone_or_edited_meanwhile_is_said() {
        let s = Shelf::of(&[("2", "hers")]);
        let all = [renaming("1", "3", "a"), renaming("2", "1", "b")];
        assert_eq!(
            carry_out(&s.root(&Disk::default()), &all).unwrap(),
            [None, None]
        );
        assert_eq!(s.all(), owned(&[("2", "hers")]));
    }
}

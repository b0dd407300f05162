//! The five folders. Owns their default places and the rule that none lies inside another;
//! refuses to make or change one.

use std::path::{Path, PathBuf};

use super::mounts::Mounts;
use super::places::Places;

/// The five folders, absolute.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Folders {
    pub inbox: PathBuf,
    pub ready: PathBuf,
    pub held: PathBuf,
    pub originals: PathBuf,
    pub state: PathBuf,
}

impl Folders {
    /// Where they are when nothing is said.
    pub fn default_for(places: &Places) -> Self {
        let pictures = places.home.join("Pictures").join("Stallhand");
        Self {
            inbox: pictures.join("inbox"),
            ready: pictures.join("ready"),
            held: pictures.join("held"),
            originals: pictures.join("originals"),
            state: places.state.clone(),
        }
    }

    /// Each with its name in the configuration.
    pub fn named(&self) -> [(&'static str, &Path); 5] {
        [
            ("inbox", &self.inbox),
            ("ready", &self.ready),
            ("held", &self.held),
            ("originals", &self.originals),
            ("state", &self.state),
        ]
    }
}

/// Why the five folders cannot be used together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Clash {
    /// Two settings mean one folder.
    Same {
        a: (&'static str, PathBuf),
        b: (&'static str, PathBuf),
    },
    /// One lies inside the other.
    Inside {
        inner: (&'static str, PathBuf),
        outer: (&'static str, PathBuf),
    },
    /// It is there, but is no folder.
    NoFolder { name: &'static str, path: PathBuf },
    /// It cannot be looked at.
    Unreadable {
        name: &'static str,
        path: PathBuf,
        why: String,
    },
}

impl std::fmt::Display for Clash {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let show = |p: &Path| super::problem::plain(&p.to_string_lossy());
        match self {
            Self::Same { a, b } => write!(
                f,
                "folders.{} and folders.{} are one folder ({} and {})\nhint: give each a folder of its own",
                a.0,
                b.0,
                show(&a.1),
                show(&b.1)
            ),
            Self::Inside { inner, outer } => write!(
                f,
                "folders.{} ({}) lies inside folders.{} ({})\nhint: put the five folders side by side; links and mounted folders count as what they lead to",
                inner.0,
                show(&inner.1),
                outer.0,
                show(&outer.1)
            ),
            Self::NoFolder { name, path } => write!(
                f,
                "folders.{name} ({}) is no folder\nhint: move that file away, or name another folder",
                show(path)
            ),
            Self::Unreadable { name, path, why } => write!(
                f,
                "folders.{name} ({}) cannot be looked at: {why}\nhint: check that the disk is there and that you may open the folder",
                show(path)
            ),
        }
    }
}
impl std::error::Error for Clash {}

/// One folder as the file system sees it.
struct Line<'a> {
    name: &'static str,
    path: &'a Path,
    /// The deepest part that exists, then each folder that it lies in, up to the root.
    existing: Vec<Identity>,
    /// What is still to be made below it; empty for a folder that exists.
    missing: PathBuf,
    /// Links followed.
    real: PathBuf,
}

impl Line<'_> {
    fn is(&self, other: &Line<'_>) -> bool {
        self.existing[0] == other.existing[0] && self.missing == other.missing
    }

    fn lies_in(&self, outer: &Line<'_>, mounts: &Mounts) -> bool {
        let by_identity = if outer.missing.as_os_str().is_empty() {
            let above = usize::from(self.missing.as_os_str().is_empty());
            self.existing[above..].contains(&outer.existing[0])
        } else {
            self.existing[0] == outer.existing[0] && self.missing.starts_with(&outer.missing)
        };
        let by_mount = || {
            let position = mounts.position(&self.real);
            let reach = mounts.reach(&outer.real);
            position.is_some_and(|p| reach.iter().any(|part| p.within(part)))
        };
        by_identity || by_mount()
    }

    fn owned(&self) -> (&'static str, PathBuf) {
        (self.name, self.path.to_owned())
    }
}

/// Refuses folders that are one another or lie inside one another, by what the file system says
/// they are: links are followed, each folder and all that it lies in are compared by device and
/// inode, and on Linux parts of file systems that are mounted a second time are seen through.
/// Folders that do not exist yet are judged by where they would be; ask again once they exist.
///
/// # Errors
/// The first clash, in plain words with a hint.
pub fn check(folders: &Folders) -> Result<(), Clash> {
    let mounts = Mounts::read();
    let lines = folders
        .named()
        .map(|(name, path)| line(name, path))
        .into_iter()
        .collect::<Result<Vec<_>, _>>()?;
    for (i, a) in lines.iter().enumerate() {
        for b in &lines[i + 1..] {
            if a.is(b) {
                return Err(Clash::Same {
                    a: a.owned(),
                    b: b.owned(),
                });
            }
            for (inner, outer) in [(a, b), (b, a)] {
                if inner.lies_in(outer, &mounts) {
                    return Err(Clash::Inside {
                        inner: inner.owned(),
                        outer: outer.owned(),
                    });
                }
            }
        }
    }
    Ok(())
}

fn line<'a>(name: &'static str, path: &'a Path) -> Result<Line<'a>, Clash> {
    use std::io::ErrorKind;
    let no_folder = || Clash::NoFolder {
        name,
        path: path.to_owned(),
    };
    let unreadable = |why: String| Clash::Unreadable {
        name,
        path: path.to_owned(),
        why,
    };
    let mut base = path;
    let mut missing = PathBuf::new();
    let real = loop {
        match std::fs::canonicalize(base) {
            Ok(real) => break real,
            Err(e) if e.kind() == ErrorKind::NotFound => {
                let (Some(above), Some(last)) = (base.parent(), base.file_name()) else {
                    return Err(unreadable(
                        "a part of the path before .. does not exist".into(),
                    ));
                };
                missing = match missing.as_os_str().is_empty() {
                    true => PathBuf::from(last),
                    false => Path::new(last).join(missing),
                };
                base = above;
            }
            Err(e) if e.kind() == ErrorKind::NotADirectory => return Err(no_folder()),
            Err(e) => return Err(unreadable(e.to_string())),
        }
    };
    let meta = std::fs::metadata(&real).map_err(|e| unreadable(e.to_string()))?;
    if !meta.is_dir() {
        return Err(no_folder());
    }
    let existing = real
        .ancestors()
        .map(identity)
        .collect::<std::io::Result<Vec<_>>>()
        .map_err(|e| unreadable(e.to_string()))?;
    let real = match missing.as_os_str().is_empty() {
        true => real,
        false => real.join(&missing),
    };
    Ok(Line {
        name,
        path,
        existing,
        missing,
        real,
    })
}

#[cfg(unix)]
type Identity = (u64, u64);
#[cfg(unix)]
fn identity(path: &Path) -> std::io::Result<Identity> {
    use std::os::unix::fs::MetadataExt;
    let meta = std::fs::metadata(path)?;
    Ok((meta.dev(), meta.ino()))
}

/// Without inodes the canonical path is the best there is; it sees through links and junctions.
#[cfg(not(unix))]
type Identity = PathBuf;
#[cfg(not(unix))]
fn identity(path: &Path) -> std::io::Result<Identity> {
    std::fs::canonicalize(path)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn five(root: &Path) -> Folders {
        let at = |name: &str| {
            let path = root.join(name);
            std::fs::create_dir_all(&path).unwrap();
            path
        };
        Folders {
            inbox: at("inbox"),
            ready: at("ready"),
            held: at("held"),
            originals: at("originals"),
            state: at("state"),
        }
    }

    #[test]
    fn five_folders_side_by_side_are_fine() {
        let dir = tempfile::tempdir().unwrap();
        assert_eq!(check(&five(dir.path())), Ok(()));
    }

    #[test]
    fn a_folder_inside_another_is_refused_however_deep() {
        let dir = tempfile::tempdir().unwrap();
        let mut f = five(dir.path());
        f.ready = f.inbox.join("a/b/ready");
        std::fs::create_dir_all(&f.ready).unwrap();
        let clash = check(&f).unwrap_err();
        assert!(matches!(&clash, Clash::Inside { inner, outer }
            if inner.0 == "ready" && outer.0 == "inbox"));
        assert!(clash.to_string().contains("hint: "), "{clash}");
    }

    #[test]
    fn the_same_folder_twice_is_refused_also_by_another_spelling() {
        let dir = tempfile::tempdir().unwrap();
        let mut f = five(dir.path());
        f.held = f.inbox.join("../inbox/.");
        assert!(matches!(check(&f), Err(Clash::Same { .. })));
    }

    #[cfg(unix)]
    #[test]
    fn a_link_does_not_hide_that_a_folder_lies_inside_another() {
        let dir = tempfile::tempdir().unwrap();
        let mut f = five(dir.path());
        let inside = f.inbox.join("deep");
        std::fs::create_dir(&inside).unwrap();
        let link = dir.path().join("elsewhere");
        std::os::unix::fs::symlink(&inside, &link).unwrap();
        f.originals = link.join("more");
        std::fs::create_dir(&f.originals).unwrap();
        assert!(matches!(check(&f), Err(Clash::Inside { inner, .. }) if inner.0 == "originals"));
    }

    #[test]
    fn a_file_in_a_folders_place_is_said_so() {
        let dir = tempfile::tempdir().unwrap();
        let mut f = five(dir.path());
        let file = dir.path().join("note.txt");
        std::fs::write(&file, "x").unwrap();
        for held in [file.clone(), file.join("deeper")] {
            f.held = held;
            let clash = check(&f).unwrap_err();
            assert!(matches!(clash, Clash::NoFolder { name: "held", .. }));
        }
    }

    #[test]
    fn folders_that_do_not_exist_yet_are_judged_by_where_they_would_be() {
        let dir = tempfile::tempdir().unwrap();
        let mut f = five(dir.path());
        f.held = dir.path().join("new/held");
        f.ready = dir.path().join("new/ready");
        assert_eq!(check(&f), Ok(()));
        f.ready = dir.path().join("new/held/ready");
        assert!(matches!(check(&f), Err(Clash::Inside { inner, .. }) if inner.0 == "ready"));
        f.ready = dir.path().join("new/held");
        assert!(matches!(check(&f), Err(Clash::Same { .. })));
        f.ready = f.inbox.join("not/yet");
        assert!(matches!(check(&f), Err(Clash::Inside { outer, .. }) if outer.0 == "inbox"));
        f.ready = dir.path().join("gone/../ready");
        assert!(matches!(check(&f), Err(Clash::Unreadable { .. })));
    }
}

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

/// Refuses folders that are one another or lie inside one another, by what the file system says
/// they are: links are followed, each folder and all that it lies in are compared by device and
/// inode, and on Linux parts of file systems that are mounted a second time are seen through.
/// All five must exist.
///
/// # Errors
/// The first clash, in plain words with a hint.
pub fn check(folders: &Folders) -> Result<(), Clash> {
    let mounts = Mounts::read();
    let mut lines = Vec::new();
    for (name, path) in folders.named() {
        let unreadable = |e: std::io::Error| Clash::Unreadable {
            name,
            path: path.to_owned(),
            why: e.to_string(),
        };
        let real = std::fs::canonicalize(path).map_err(unreadable)?;
        if !std::fs::metadata(&real).map_err(unreadable)?.is_dir() {
            return Err(Clash::NoFolder {
                name,
                path: path.to_owned(),
            });
        }
        // The folder itself first, then each that it lies in, up to the root.
        let line: Vec<Identity> = real
            .ancestors()
            .map(identity)
            .collect::<Result<_, _>>()
            .map_err(unreadable)?;
        lines.push((name, path, line, real));
    }
    type Line<'a> = (&'static str, &'a Path, Vec<Identity>, PathBuf);
    let owned = |line: &Line<'_>| (line.0, line.1.to_owned());
    let reaches = |outer: &Path, inner: &Path| {
        let Some(inner) = mounts.position(inner) else {
            return false;
        };
        mounts.reach(outer).iter().any(|part| inner.within(part))
    };
    for (i, a) in lines.iter().enumerate() {
        for b in &lines[i + 1..] {
            if a.2[0] == b.2[0] {
                return Err(Clash::Same {
                    a: owned(a),
                    b: owned(b),
                });
            }
            for (inner, outer) in [(a, b), (b, a)] {
                if inner.2[1..].contains(&outer.2[0]) || reaches(&outer.3, &inner.3) {
                    return Err(Clash::Inside {
                        inner: owned(inner),
                        outer: owned(outer),
                    });
                }
            }
        }
    }
    Ok(())
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
    fn a_file_in_a_folders_place_and_a_missing_one_are_said_so() {
        let dir = tempfile::tempdir().unwrap();
        let mut f = five(dir.path());
        f.held = dir.path().join("note.txt");
        std::fs::write(&f.held, "x").unwrap();
        assert!(matches!(
            check(&f),
            Err(Clash::NoFolder { name: "held", .. })
        ));
        f.held = dir.path().join("gone");
        assert!(matches!(
            check(&f),
            Err(Clash::Unreadable { name: "held", .. })
        ));
    }
}

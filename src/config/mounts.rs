//! Linux's table of mounted folders: what a folder is within its file system, and which parts of
//! file systems can be reached below it. Owns that table's format; refuses to judge.

use std::path::{Path, PathBuf};

/// A place in a file system, whatever it is mounted as.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Position {
    /// `major:minor` of the device.
    device: String,
    path: PathBuf,
}

impl Position {
    /// Whether this place is `outer` or below it.
    pub fn within(&self, outer: &Position) -> bool {
        self.device == outer.device && self.path.starts_with(&outer.path)
    }
}

struct Mount {
    root: Position,
    point: PathBuf,
}

/// The mounted folders, in the order in which they were mounted.
pub struct Mounts(Vec<Mount>);

impl Mounts {
    /// Of this process; empty where the system has no such table.
    pub fn read() -> Self {
        Self::parse(&std::fs::read("/proc/self/mountinfo").unwrap_or_default())
    }

    /// Parses `/proc/PID/mountinfo` (proc_pid_mountinfo(5)): fields 3, 4 and 5 are the device, the
    /// root within it and the mount point; space, tab, newline and backslash are octal escapes.
    pub fn parse(table: &[u8]) -> Self {
        let line = |line: &[u8]| {
            let mut fields = line.split(|b| *b == b' ').skip(2);
            Some(Mount {
                root: Position {
                    device: String::from_utf8_lossy(fields.next()?).into_owned(),
                    path: unescape(fields.next()?),
                },
                point: unescape(fields.next()?),
            })
        };
        Self(table.split(|b| *b == b'\n').filter_map(line).collect())
    }

    /// What a canonical path is within its file system.
    pub fn position(&self, path: &Path) -> Option<Position> {
        // The deepest mount point counts, and of several on one point the last.
        let over = |m: &&Mount| path.starts_with(&m.point);
        let mount = (self.0.iter().filter(over)).max_by_key(|m| m.point.components().count())?;
        let below = path.strip_prefix(&mount.point).ok()?;
        Some(Position {
            device: mount.root.device.clone(),
            path: mount.root.path.join(below),
        })
    }

    /// All that can be reached in a folder: its own position and what is mounted below it.
    pub fn reach(&self, path: &Path) -> Vec<Position> {
        let below = |m: &&Mount| m.point != path && m.point.starts_with(path);
        let mounted = self.0.iter().filter(below).map(|m| m.root.clone());
        self.position(path).into_iter().chain(mounted).collect()
    }
}

#[cfg(unix)]
fn unescape(field: &[u8]) -> PathBuf {
    use std::os::unix::ffi::OsStringExt;
    let mut out = Vec::with_capacity(field.len());
    let mut rest = field;
    while let Some((&byte, tail)) = rest.split_first() {
        let octal = tail
            .get(..3)
            .filter(|d| byte == b'\\' && d.iter().all(|c| (b'0'..b'8').contains(c)))
            .map(|d| d.iter().fold(0u32, |n, c| n * 8 + u32::from(c - b'0')))
            .and_then(|n| u8::try_from(n).ok());
        match octal {
            Some(b) => {
                out.push(b);
                rest = &tail[3..];
            }
            None => {
                out.push(byte);
                rest = tail;
            }
        }
    }
    PathBuf::from(std::ffi::OsString::from_vec(out))
}
#[cfg(not(unix))]
fn unescape(field: &[u8]) -> PathBuf {
    PathBuf::from(String::from_utf8_lossy(field).into_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    const TABLE: &[u8] = b"22 1 8:1 / / rw - ext4 /dev/a rw\n\
        30 22 8:2 / /home rw shared:5 - ext4 /dev/b rw\n\
        31 22 8:2 /ada/in/sub /mnt/my\\040card rw - ext4 /dev/b rw\n\
        32 30 8:1 /srv/x /home/ada/in/y rw - ext4 /dev/a rw\n";

    #[test]
    fn a_folder_mounted_elsewhere_is_known_by_its_place_in_the_file_system() {
        let m = Mounts::parse(TABLE);
        let inbox = m.position(Path::new("/home/ada/in")).unwrap();
        let card = m.position(Path::new("/mnt/my card/ready")).unwrap();
        assert!(card.within(&inbox) && !inbox.within(&card));
        let apart = m.position(Path::new("/mnt/other")).unwrap();
        assert!(!apart.within(&inbox));
    }

    #[test]
    fn what_is_mounted_below_a_folder_belongs_to_its_reach() {
        let m = Mounts::parse(TABLE);
        let ready = m.position(Path::new("/srv/x/ready")).unwrap();
        let reach = m.reach(Path::new("/home/ada/in"));
        assert_eq!(reach.len(), 2);
        assert!(reach.iter().any(|r| ready.within(r)));
    }

    #[test]
    fn the_running_systems_table_places_the_root() {
        if Path::new("/proc/self/mountinfo").exists() {
            assert!(Mounts::read().position(Path::new("/")).is_some());
        }
    }
}

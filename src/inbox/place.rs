//! Whether the inbox is there. A missing folder is offline, and so is the bare mount point of a disk
//! that was taken out; neither is ever an empty inbox. Refuses to look at photos.

use std::io;
use std::path::Path;

use crate::base::disk::{Disk, Root};

/// Its presence in the state folder says that the inbox was a mounted disk when it was last seen.
const MOUNTED: &str = "inbox-is-a-disk";

/// The inbox, if it is there; `state` is the state folder.
pub fn inbox(disk: &Disk, path: &Path, state: &Path) -> Option<Root> {
    let root = disk.root(path).ok()?;
    let bare = matches!(root.is_mount_point(), Ok(false))
        && root.list(Path::new("")).is_ok_and(|l| l.is_empty())
        && was_mounted(disk, state);
    (!bare).then_some(root)
}

/// Whether the inbox was a mounted disk when it was last seen.
fn was_mounted(disk: &Disk, state: &Path) -> bool {
    let marked = disk.root(state).and_then(|s| s.stat(Path::new(MOUNTED)));
    matches!(marked, Ok(Some(_)))
}

/// Remembers whether the inbox is a mounted disk.
///
/// # Errors
/// The operating system's error; it is told again at the next look.
pub fn remember(inbox: &Root, state: &Root) -> io::Result<()> {
    let mark = Path::new(MOUNTED);
    let marked = state.stat(mark)?.is_some();
    match (inbox.is_mount_point()?, marked) {
        (true, false) => state.replace_own(mark, b""),
        (false, true) => state.remove(mark),
        _ => Ok(()),
    }
}

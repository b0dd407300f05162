//! The directory is the truth: walks the inbox, or a part of it, without following or opening
//! anything. Refuses to conclude anything from what is not there.

use std::io;
use std::path::{Path, PathBuf};

use crate::base::disk::{Kind, Root, Stat};

/// Folders nested deeper than this are not searched.
const DEEPEST: usize = 32;

/// A name found in the inbox that is no folder.
#[derive(Clone, Debug, PartialEq)]
pub struct Found {
    pub rel: PathBuf,
    pub stat: Stat,
}

/// Everything below `from` that is no folder, in name order. A folder that vanishes or may not be
/// read is passed over and named in the second list.
///
/// # Errors
/// The operating system's error for `from` itself.
pub fn scan(inbox: &Root, from: &Path) -> io::Result<(Vec<Found>, Vec<PathBuf>)> {
    scan_for(inbox, from, |_| true)
}

/// `scan`, of which only names that `fits` are kept: an archive may hold very many others.
///
/// # Errors
/// As `scan`.
pub fn scan_for(
    inbox: &Root,
    from: &Path,
    fits: impl Fn(&Path) -> bool,
) -> io::Result<(Vec<Found>, Vec<PathBuf>)> {
    let mut found = Vec::new();
    let mut closed = Vec::new();
    let mut open = vec![from.to_owned()];
    let mut first = true;
    while let Some(folder) = open.pop() {
        match inbox.list(&folder) {
            Ok(names) => {
                for (rel, stat) in names {
                    if stat.kind == Kind::Folder {
                        if rel.components().count() <= DEEPEST {
                            open.push(rel);
                        } else {
                            closed.push(rel);
                        }
                    } else if fits(&rel) {
                        found.push(Found { rel, stat });
                    }
                }
            }
            Err(e) if first => return Err(e),
            Err(_) => closed.push(folder),
        }
        first = false;
    }
    found.sort_by(|a, b| a.rel.cmp(&b.rel));
    Ok((found, closed))
}

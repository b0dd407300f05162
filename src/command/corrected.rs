//! The correction that `preview` uses: the one beside the photo, or one anywhere in the folders that
//! names its hash. Refuses to move or keep any.

use std::fs::File;
use std::io::{Seek, SeekFrom};
use std::path::{Path, PathBuf};

use super::complain;
use crate::base::disk::{Disk, Kind, Root, hash_file, text};
use crate::config::Config;
use crate::config::correction::{self, Correction, MOST_BYTES};
use crate::inbox::{names, scan};

/// Her word for the photo at `photo`, open as `file`; one that cannot be used is told and counts
/// for nothing, as it would in the inbox. `file` is left at its start.
pub(super) fn word(config: &Config, photo: &Path, file: &mut File) -> Option<Correction> {
    let folder = match photo.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let name = PathBuf::from(photo.file_name()?);
    let disk = Disk::default();
    let mut found: Vec<(i64, bool, Correction)> = Vec::new();
    let mut read = |root: &Root, rel: &Path, beside: bool, mtime: i64| {
        let shown = PathBuf::from(text(&root.path().join(rel)));
        let profiles: Vec<&str> = config.profiles.iter().map(|p| p.name.as_str()).collect();
        let word = root
            .read(rel, MOST_BYTES as u64)
            .map_err(|e| format!("{}: {}", shown.display(), crate::deliver::plain(&e)))
            .and_then(|b| correction::parse(&b, &shown, &profiles).map_err(|e| e.to_string()));
        match word {
            Ok(w) => found.push((mtime, beside, w.correction)),
            // What lies elsewhere may be about any other photo.
            Err(why) if beside => complain(&why),
            Err(_) => {}
        }
    };
    if let Ok(root) = disk.root(folder)
        && let Ok(here) = root.list(Path::new(""))
    {
        for (rel, stat) in here {
            if stat.kind == Kind::File && names::is_correction(&rel) {
                let beside = names::corrected(&rel).as_deref() == Some(&name);
                read(&root, &rel, beside, stat.stamp.mtime);
            }
        }
    }
    let f = &config.folders;
    for place in [&f.inbox, &f.held, &f.originals] {
        let Ok(root) = disk.root(place) else { continue };
        let Ok((all, _)) = scan::scan(&root, Path::new("")) else {
            continue;
        };
        for one in all {
            if one.stat.kind == Kind::File && names::is_correction(&one.rel) {
                read(&root, &one.rel, false, one.stat.stamp.mtime);
            }
        }
    }
    if found.is_empty() {
        return None;
    }
    let hash = hash_file(file).ok()?;
    file.seek(SeekFrom::Start(0)).ok()?;
    let words = found
        .iter()
        .map(|(changed, beside, w)| (*changed, *beside, w));
    correction::in_force(words, &hash).cloned()
}

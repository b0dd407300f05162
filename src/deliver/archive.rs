//! The last move of an original: to `originals` or `held`, renamed and never changed.
//! Owns free names, the crossing of file systems and notes; refuses to decide where it goes.

use std::ffi::OsString;
use std::io;
use std::path::{Path, PathBuf};

use super::Trouble;
use super::ledger::{Ledger, Move, Photo, Place};
use crate::base::disk::Root;

/// The suffix of a correction, which follows its photo.
pub const CORRECTION: &str = ".framing.toml";

/// The folders a move knows.
pub struct Folders<'a> {
    pub inbox: &'a Root,
    pub originals: &'a Root,
    pub held: &'a Root,
}

impl Folders<'_> {
    pub fn of(&self, place: Place) -> &Root {
        match place {
            Place::Inbox => self.inbox,
            Place::Originals => self.originals,
            Place::Held => self.held,
        }
    }
}

/// Makes one decided move; repeating it after a crash at any point ends the same.
/// Returns where the original lies, `None` when the file in the inbox is no longer the one that
/// was read (it is left alone and is a new arrival).
///
/// # Errors
/// Trouble with disk or ledger; it can be repeated.
pub fn carry(
    m: &Move,
    folders: &Folders<'_>,
    ledger: &mut Ledger,
) -> Result<Option<PathBuf>, Trouble> {
    let to = folders.of(m.place);
    let from = folders.of(m.origin);
    let io = |e| Trouble::at(to, &m.source)(e);
    if m.place == m.origin {
        // It stays where it is; a note about it always lies in held.
        let note = match m.note.as_deref() {
            Some(text) => Some(write_note(folders.held, &m.source, text)?),
            None => None,
        };
        let note = note.as_ref().map(|(p, h)| (p.as_path(), h));
        ledger.moved(m, &m.source, note)?;
        return Ok(Some(m.source.clone()));
    }
    let same = |root: &Root, p: &Path| -> io::Result<bool> {
        Ok(root.stat(p)?.is_some_and(|s| s.stamp.same_content(m.stamp)))
    };
    let here = same(from, &m.source).map_err(io)?;
    let mut landed = None;
    if let Some(aimed) = &m.path {
        let renamed = same(to, aimed).map_err(io)?;
        let wanted = match m.own {
            true => Some(m.photo.hash),
            false if here => from.hash(&m.source).map_err(io)?,
            false => None,
        };
        let copied = !renamed
            && wanted.is_some()
            && to.stat(aimed).map_err(io)?.is_some()
            && to.hash(aimed).map_err(io)? == wanted;
        // A rename by way of a link may have been broken off between the two; a copy before its original
        // was removed.
        if here && (copied || renamed) {
            remove_original(from, m)?;
        }
        if copied && let Some(hash) = wanted {
            to.remove(&part(aimed, &hash)).map_err(io)?;
        }
        if renamed || copied {
            landed = Some(aimed.clone());
        }
    }
    let landed = match landed {
        Some(l) => l,
        None if here => put(from, to, m, ledger)?,
        None => {
            ledger.drop_move(m.id)?;
            return Ok(None);
        }
    };
    to.sync_folder(parent(&landed)).map_err(io)?;
    from.sync_folder(parent(&m.source))
        .map_err(Trouble::at(from, &m.source))?;
    follow(
        from,
        to,
        &with_suffix(&m.source, CORRECTION),
        &with_suffix(&landed, CORRECTION),
    );
    let note = match &m.note {
        Some(text) => Some(write_note(to, &landed, text)?),
        None => None,
    };
    let note = note.as_ref().map(|(p, h)| (p.as_path(), h));
    ledger.moved(m, &landed, note)?;
    Ok(Some(landed))
}

fn put(from: &Root, to: &Root, m: &Move, ledger: &mut Ledger) -> Result<PathBuf, Trouble> {
    let io = |e| Trouble::at(to, &m.source)(e);
    let base = if m.own { &m.photo.source } else { &m.source };
    to.make_folders(parent(base)).map_err(io)?;
    for n in 1.. {
        let name = free(base, n);
        if to.stat(&name).map_err(io)?.is_some() {
            continue;
        }
        ledger.aim_move(m.id, &name)?;
        match from.rename(&m.source, to, &name) {
            Ok(()) => return Ok(name),
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {}
            Err(e) if e.kind() == io::ErrorKind::CrossesDevices => {
                let hash = match from.hash(&m.source).map_err(io)? {
                    Some(h) if !m.own || h == m.photo.hash => h,
                    _ => {
                        return Err(Trouble::Io(
                            from.path().join(&m.source),
                            io::Error::other("it changed while it was being moved"),
                        ));
                    }
                };
                let temp = part(&name, &hash);
                to.remove(&temp).map_err(io)?;
                from.copy_checked(&m.source, to, &temp, &hash).map_err(io)?;
                match to.rename(&temp, to, &name) {
                    Ok(()) => {
                        to.sync_folder(parent(&name)).map_err(io)?;
                        remove_original(from, m)?;
                        return Ok(name);
                    }
                    Err(e) => {
                        let _ = to.remove(&temp);
                        if e.kind() != io::ErrorKind::AlreadyExists {
                            return Err(io(e));
                        }
                    }
                }
            }
            Err(e) => return Err(io(e)),
        }
    }
    unreachable!("some number is free")
}

/// Where a copy is written before it gets its name.
fn part(name: &Path, hash: &blake3::Hash) -> PathBuf {
    parent(name).join(format!(".stallhand-{}.part", &hash.to_hex()[..24]))
}

/// After a verified copy: removes the original if it is still the file that was read.
fn remove_original(from: &Root, m: &Move) -> Result<(), Trouble> {
    let io = |e| Trouble::at(from, &m.source)(e);
    match from.stat(&m.source).map_err(io)? {
        Some(s) if s.stamp.same_content(m.stamp) => from.remove(&m.source).map_err(io),
        _ => Ok(()),
    }
}

/// A companion goes along when it can; when it cannot, it stays where it is.
pub fn follow(from: &Root, to: &Root, name: &Path, target: &Path) {
    if !matches!(from.stat(name), Ok(Some(_))) {
        return;
    }
    match from.rename(name, to, target) {
        Err(e) if e.kind() == io::ErrorKind::CrossesDevices => {
            if let Ok(Some(hash)) = from.hash(name)
                && from.copy_checked(name, to, target, &hash).is_ok()
            {
                let _ = from.remove(name);
            }
        }
        _ => {}
    }
}

/// Writes a note in plain words beside a photo, under a free name. Returns its path and hash.
fn write_note(to: &Root, photo: &Path, text: &str) -> Result<(PathBuf, blake3::Hash), Trouble> {
    let io = |e| Trouble::at(to, photo)(e);
    let hash = blake3::hash(text.as_bytes());
    let base = with_suffix(photo, ".txt");
    to.make_folders(parent(&base)).map_err(io)?;
    for n in 1.. {
        let name = free(&base, n);
        if to.stat(&name).map_err(io)?.is_some() {
            // After a crash the very same note may already lie here.
            if to.hash(&name).map_err(io)? == Some(hash) {
                return Ok((name, hash));
            }
            continue;
        }
        to.write_new(&name, text.as_bytes()).map_err(io)?;
        to.sync_folder(parent(&name)).map_err(io)?;
        return Ok((name, hash));
    }
    unreachable!("some number is free")
}

/// Removes our note about a photo, unless she changed it.
///
/// # Errors
/// Trouble with disk or ledger; it can be repeated.
pub fn clear_note(photo: &Photo, held: &Root, ledger: &mut Ledger) -> Result<(), Trouble> {
    if let Some((path, hash)) = &photo.note {
        let io = |e| Trouble::at(held, path)(e);
        if matches!(held.hash(path), Ok(Some(h)) if h == *hash) {
            held.remove(path).map_err(io)?;
        }
        ledger.forget_note(photo.id)?;
    }
    Ok(())
}

fn parent(rel: &Path) -> &Path {
    rel.parent().unwrap_or(Path::new(""))
}

/// `a.jpg`, then `a (2).jpg`, `a (3).jpg`; never longer than a file name may be.
pub fn free(rel: &Path, n: u32) -> PathBuf {
    if n < 2 {
        return rel.to_owned();
    }
    let stem = rel.file_stem().unwrap_or_default().to_owned();
    let mut tail = OsString::from(format!(" ({n})"));
    if let Some(e) = rel.extension() {
        tail.push(".");
        tail.push(e);
    }
    rel.with_file_name(joined(stem, tail))
}

/// `a.jpg` + `.txt` = `a.jpg.txt`; never longer than a file name may be.
pub fn with_suffix(rel: &Path, suffix: &str) -> PathBuf {
    let name = rel.file_name().unwrap_or_default().to_owned();
    rel.with_file_name(joined(name, suffix.into()))
}

/// Joins two parts of a name, shortening the first when the whole is over 255 bytes.
fn joined(head: OsString, tail: OsString) -> OsString {
    use std::os::unix::ffi::{OsStrExt, OsStringExt};
    let room = 255usize.saturating_sub(tail.len());
    let mut cut = head.len().min(room);
    let bytes = head.as_bytes();
    // Never inside a UTF-8 sequence.
    while cut < bytes.len() && cut > 0 && bytes[cut] & 0xC0 == 0x80 {
        cut -= 1;
    }
    let mut out = OsString::from_vec(bytes[..cut].to_vec());
    out.push(tail);
    out
}

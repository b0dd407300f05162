//! Work below one open folder, component by component, following no link and replacing nothing.
//! Refuses to know which of the five folders it is.

use std::ffi::OsStr;
use std::fs::File;
use std::io::{self, Read, Write};
use std::os::fd::{AsFd, OwnedFd};
use std::os::unix::ffi::OsStrExt;
use std::path::{Component, Path, PathBuf};

use rustix::fs::{self, AtFlags, FileType, Mode, OFlags};
use rustix::io::Errno;

use super::{Appender, Disk, Kind, Operation, Stamp, Stat, hash_file};

/// A folder; every path below is relative to it, and no link on the way is followed. It is opened
/// for each piece of work and must still be the same folder then: kept open, it would keep its disk
/// from being ejected, and work would go on in a folder that was renamed away.
#[derive(Clone)]
pub struct Root {
    disk: Disk,
    path: PathBuf,
    id: (u64, u64),
}

impl Disk {
    /// Opens a folder as a root for relative work.
    ///
    /// # Errors
    /// The operating system's error, also when the folder is missing.
    pub fn root(&self, path: &Path) -> io::Result<Root> {
        let st = fs::fstat(open_folder(path)?)?;
        Ok(Root {
            disk: self.clone(),
            path: path.to_owned(),
            id: (st.st_dev, st.st_ino),
        })
    }
}

fn open_folder(path: &Path) -> rustix::io::Result<OwnedFd> {
    let how = OFlags::RDONLY | OFlags::DIRECTORY | OFlags::CLOEXEC;
    fs::open(path, how, Mode::empty())
}

fn stat_of(st: &fs::Stat) -> Stat {
    let kind = match FileType::from_raw_mode(st.st_mode) {
        FileType::RegularFile => Kind::File,
        FileType::Directory => Kind::Folder,
        FileType::Symlink => Kind::Link,
        _ => Kind::Special,
    };
    #[allow(clippy::unnecessary_cast)] // the fields' types differ between systems
    let ns = |s: i64, n: i64| s.saturating_mul(1_000_000_000).saturating_add(n);
    Stat {
        kind,
        stamp: Stamp {
            dev: st.st_dev,
            ino: st.st_ino,
            size: st.st_size.max(0) as u64,
            mtime: ns(st.st_mtime, st.st_mtime_nsec as i64),
            ctime: ns(st.st_ctime, st.st_ctime_nsec as i64),
        },
        stored: (st.st_blocks.max(0) as u64).saturating_mul(512),
    }
}

/// Files that one delivery makes, and some more.
const FEW_FILES: u64 = 8;

fn parts(rel: &Path) -> io::Result<Vec<&OsStr>> {
    rel.components()
        .map(|c| match c {
            Component::Normal(n) => Ok(n),
            _ => Err(io::Error::new(
                io::ErrorKind::InvalidInput,
                "a path that leaves its folder",
            )),
        })
        .collect()
}

impl Root {
    pub fn path(&self) -> &Path {
        &self.path
    }
    /// The folder, as long as it is the one that was opened first; `StaleNetworkFileHandle` when it is
    /// not, so that nothing below it is ever taken for missing.
    fn base(&self) -> io::Result<OwnedFd> {
        let gone = || io::Error::from(Errno::STALE);
        let fd = match open_folder(&self.path) {
            Ok(fd) => fd,
            Err(Errno::NOENT | Errno::NOTDIR) => return Err(gone()),
            Err(e) => return Err(e.into()),
        };
        let st = fs::fstat(&fd)?;
        match (st.st_dev, st.st_ino) == self.id {
            true => Ok(fd),
            false => Err(gone()),
        }
    }
    /// (device, inode) of the folder that was opened.
    pub fn id(&self) -> (u64, u64) {
        self.id
    }
    /// Whether the path still leads to the folder that was opened.
    pub fn still_there(&self) -> bool {
        fs::stat(&self.path).is_ok_and(|st| (st.st_dev, st.st_ino) == self.id)
    }
    /// Free bytes and free inodes for ordinary users.
    ///
    /// # Errors
    /// The operating system's error.
    pub fn free(&self) -> io::Result<(u64, u64)> {
        let v = fs::fstatvfs(self.base()?)?;
        // Some file systems count neither, and say so by having none in all.
        let known = |all: u64, free: u64| if all == 0 { u64::MAX } else { free };
        Ok((
            known(v.f_blocks, v.f_bavail.saturating_mul(v.f_frsize)),
            known(v.f_files, v.f_favail),
        ))
    }
    /// Whether `bytes` and a few files more would fit; also true when the system does not tell.
    pub fn has_room(&self, bytes: u64) -> bool {
        (self.free()).map_or(true, |(free, files)| free >= bytes && files >= FEW_FILES)
    }
    /// Whether another file system is mounted right here.
    ///
    /// # Errors
    /// The operating system's error.
    pub fn is_mount_point(&self) -> io::Result<bool> {
        let here = self.base()?;
        let above = fs::openat(
            &here,
            "..",
            OFlags::RDONLY | OFlags::DIRECTORY | OFlags::CLOEXEC,
            Mode::empty(),
        )?;
        Ok(fs::fstat(above)?.st_dev != self.id.0)
    }
    /// Walks to a folder, component by component, following no link.
    fn folder(&self, rel: &Path) -> io::Result<OwnedFd> {
        let mut at = self.base()?;
        for name in parts(rel)? {
            at = fs::openat(
                &at,
                name,
                OFlags::RDONLY | OFlags::DIRECTORY | OFlags::NOFOLLOW | OFlags::CLOEXEC,
                Mode::empty(),
            )?;
        }
        Ok(at)
    }
    pub(super) fn place<'a>(&self, rel: &'a Path) -> io::Result<(OwnedFd, &'a OsStr)> {
        let name = rel
            .file_name()
            .ok_or_else(|| io::Error::new(io::ErrorKind::InvalidInput, "a path without a name"))?;
        Ok((self.folder(rel.parent().unwrap_or(Path::new("")))?, name))
    }
    /// What is at `rel`; `None` when nothing is.
    ///
    /// # Errors
    /// The operating system's error other than "not there".
    pub fn stat(&self, rel: &Path) -> io::Result<Option<Stat>> {
        let found = self.place(rel).and_then(|(dir, name)| {
            Ok(fs::statat(&dir, name, AtFlags::SYMLINK_NOFOLLOW).map(|s| stat_of(&s))?)
        });
        match found {
            Ok(s) => Ok(Some(s)),
            Err(e)
                if matches!(
                    e.raw_os_error().map(Errno::from_raw_os_error),
                    Some(Errno::NOENT | Errno::NOTDIR | Errno::LOOP)
                ) =>
            {
                Ok(None)
            }
            Err(e) => Err(e),
        }
    }
    /// Opens an ordinary file for reading; never blocks, never follows a link.
    ///
    /// # Errors
    /// The operating system's error, or "not an ordinary file".
    pub fn open(&self, rel: &Path) -> io::Result<(File, Stat)> {
        let (dir, name) = self.place(rel)?;
        let fd = fs::openat(
            &dir,
            name,
            OFlags::RDONLY | OFlags::NOFOLLOW | OFlags::NONBLOCK | OFlags::NOCTTY | OFlags::CLOEXEC,
            Mode::empty(),
        )?;
        let stat = stat_of(&fs::fstat(&fd)?);
        if stat.kind != Kind::File {
            return Err(io::Error::new(
                io::ErrorKind::InvalidInput,
                "not an ordinary file",
            ));
        }
        Ok((File::from(fd), stat))
    }
    /// Reads a small file whole.
    ///
    /// # Errors
    /// The operating system's error, or "file too large" above `most` bytes.
    pub fn read(&self, rel: &Path, most: u64) -> io::Result<Vec<u8>> {
        let (file, _) = self.open(rel)?;
        let mut bytes = Vec::new();
        file.take(most + 1).read_to_end(&mut bytes)?;
        if bytes.len() as u64 > most {
            return Err(io::Error::new(
                io::ErrorKind::FileTooLarge,
                "file too large",
            ));
        }
        Ok(bytes)
    }
    /// BLAKE3 of a file's bytes; `None` when it is not there.
    ///
    /// # Errors
    /// The operating system's error.
    pub fn hash(&self, rel: &Path) -> io::Result<Option<blake3::Hash>> {
        let mut file = match self.open(rel) {
            Ok((f, _)) => f,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(None),
            Err(e) => return Err(e),
        };
        Ok(Some(hash_file(&mut file)?))
    }
    /// Names in a folder with what they are, unsorted.
    ///
    /// # Errors
    /// The operating system's error.
    pub fn list(&self, rel: &Path) -> io::Result<Vec<(PathBuf, Stat)>> {
        let dir = self.folder(rel)?;
        let mut found = Vec::new();
        for entry in fs::Dir::read_from(&dir)? {
            let entry = entry?;
            let name = entry.file_name();
            if matches!(name.to_bytes(), b"." | b"..") {
                continue;
            }
            // A name that vanished between listing and stat is simply not there.
            if let Ok(st) = fs::statat(&dir, name, AtFlags::SYMLINK_NOFOLLOW) {
                found.push((rel.join(OsStr::from_bytes(name.to_bytes())), stat_of(&st)));
            }
        }
        Ok(found)
    }
    /// Makes a folder and its parents below the root, durably.
    ///
    /// # Errors
    /// The operating system's error.
    pub fn make_folders(&self, rel: &Path) -> io::Result<()> {
        let mut at = self.base()?;
        for name in parts(rel)? {
            let open = |at: &OwnedFd| {
                fs::openat(
                    at,
                    name,
                    OFlags::RDONLY | OFlags::DIRECTORY | OFlags::NOFOLLOW | OFlags::CLOEXEC,
                    Mode::empty(),
                )
            };
            at = match open(&at) {
                Ok(fd) => fd,
                Err(Errno::NOENT) => {
                    self.disk.step(Operation::Mkdir)?;
                    match fs::mkdirat(&at, name, Mode::from_raw_mode(0o755)) {
                        Ok(()) | Err(Errno::EXIST) => {}
                        Err(e) => return Err(e.into()),
                    }
                    fs::fsync(&at)?;
                    open(&at)?
                }
                Err(e) => return Err(e.into()),
            };
        }
        Ok(())
    }
    /// Writes a new file durably (the file, not yet its folder); an existing one is an error.
    ///
    /// # Errors
    /// The operating system's error; a half-written file is removed again.
    pub fn write_new(&self, rel: &Path, bytes: &[u8]) -> io::Result<()> {
        self.fill_new(rel, |f| {
            self.disk.step(Operation::Write)?;
            f.write_all(bytes)
        })
    }
    fn fill_new(
        &self,
        rel: &Path,
        fill: impl FnOnce(&mut File) -> io::Result<()>,
    ) -> io::Result<()> {
        let (dir, name) = self.place(rel)?;
        let fd = fs::openat(
            &dir,
            name,
            OFlags::WRONLY | OFlags::CREATE | OFlags::EXCL | OFlags::NOFOLLOW | OFlags::CLOEXEC,
            Mode::from_raw_mode(0o644),
        )?;
        let mut file = File::from(fd);
        let done = fill(&mut file).and_then(|()| {
            self.disk.step(Operation::Sync)?;
            file.sync_all()
        });
        if done.is_err() {
            let _ = fs::unlinkat(&dir, name, AtFlags::empty());
        }
        done
    }
    /// Makes the names in a folder durable.
    ///
    /// # Errors
    /// The operating system's error.
    pub fn sync_folder(&self, rel: &Path) -> io::Result<()> {
        self.disk.step(Operation::Sync)?;
        fs::fsync(self.folder(rel)?)?;
        Ok(())
    }
    /// Renames within or between roots of one file system; never over an existing name.
    ///
    /// # Errors
    /// `AlreadyExists`, `CrossesDevices`, or the operating system's error.
    pub fn rename(&self, from: &Path, to_root: &Root, to: &Path) -> io::Result<()> {
        let (d1, n1) = self.place(from)?;
        let (d2, n2) = to_root.place(to)?;
        self.disk.step(Operation::Rename)?;
        match self.rename_with((&d1, n1), (&d2, n2), fs::RenameFlags::NOREPLACE) {
            // A hard link never replaces either.
            Err(Errno::INVAL | Errno::NOSYS) => {
                self.disk.step(Operation::Link)?;
                fs::linkat(&d1, n1, &d2, n2, AtFlags::empty())?;
                self.disk.step(Operation::Unlink)?;
                fs::unlinkat(&d1, n1, AtFlags::empty())?;
                Ok(())
            }
            done => Ok(done?),
        }
    }
    /// Network file systems and those of memory cards know no such flags, or not all of them.
    fn rename_with(
        &self,
        from: (&OwnedFd, &OsStr),
        to: (&OwnedFd, &OsStr),
        how: fs::RenameFlags,
    ) -> rustix::io::Result<()> {
        if self.disk.is_bare() {
            return Err(Errno::INVAL);
        }
        fs::renameat_with(from.0, from.1, to.0, to.1, how)
    }
    /// Swaps two names of one folder tree, atomically where the file system can. Where it cannot, what
    /// stands at `b` steps aside under a hidden name for a moment; `resume_exchange` ends one that was
    /// broken off then.
    ///
    /// # Errors
    /// The operating system's error; `AlreadyExists` when something new came to stand at one of the names.
    pub fn exchange(&self, a: &Path, b: &Path) -> io::Result<()> {
        let (d1, n1) = self.place(a)?;
        let (d2, n2) = self.place(b)?;
        self.disk.step(Operation::Rename)?;
        match self.rename_with((&d1, n1), (&d2, n2), fs::RenameFlags::EXCHANGE) {
            Err(Errno::INVAL | Errno::NOSYS) => {}
            done => return Ok(done?),
        }
        let aside = Self::aside(a);
        self.rename(b, self, &aside)?;
        self.rename(a, self, b)?;
        self.rename(&aside, self, a)
    }
    /// Ends an exchange that was broken off: what had stepped aside goes to `b` as long as `a` still stands,
    /// and else to `a`.
    ///
    /// # Errors
    /// As `exchange`.
    pub fn resume_exchange(&self, a: &Path, b: &Path) -> io::Result<()> {
        let aside = Self::aside(a);
        if self.stat(&aside)?.is_none() {
            return Ok(());
        }
        let to = if self.stat(a)?.is_some() { b } else { a };
        self.rename(&aside, self, to)
    }
    /// Where that steps aside which `a` is exchanged for.
    pub fn aside(a: &Path) -> PathBuf {
        let mut name = OsStr::new(".stallhand-aside-").to_owned();
        name.push(a.file_name().unwrap_or_default());
        a.with_file_name(name)
    }
    /// Removes a file; one that is not there is no error.
    ///
    /// # Errors
    /// The operating system's error.
    pub fn remove(&self, rel: &Path) -> io::Result<()> {
        let (dir, name) = match self.place(rel) {
            Ok(p) => p,
            Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(()),
            Err(e) => return Err(e),
        };
        self.disk.step(Operation::Unlink)?;
        match fs::unlinkat(&dir, name, AtFlags::empty()) {
            Ok(()) | Err(Errno::NOENT) => Ok(()),
            Err(e) => Err(e.into()),
        }
    }
    /// Copies a file to a new name in another root, keeping its times, and reads the copy back.
    ///
    /// # Errors
    /// The operating system's error, or `InvalidData` when the copy's hash is not `hash`.
    pub fn copy_checked(
        &self,
        from: &Path,
        to_root: &Root,
        to: &Path,
        hash: &blake3::Hash,
    ) -> io::Result<()> {
        let (mut source, stat) = self.open(from)?;
        to_root.fill_new(to, |f| {
            self.disk.step(Operation::Write)?;
            io::copy(&mut source, f)?;
            let t = |ns: i64| fs::Timespec {
                tv_sec: ns.div_euclid(1_000_000_000),
                tv_nsec: ns.rem_euclid(1_000_000_000),
            };
            let mtime = t(stat.stamp.mtime);
            let times = fs::Timestamps {
                last_access: mtime,
                last_modification: mtime,
            };
            let _ = fs::futimens(f.as_fd(), &times);
            Ok(())
        })?;
        if to_root.hash(to)?.as_ref() == Some(hash) {
            return Ok(());
        }
        let _ = to_root.remove(to);
        Err(io::Error::new(
            io::ErrorKind::InvalidData,
            "the copy differs from the original",
        ))
    }
    /// Puts `bytes` at `rel` atomically and durably, replacing a file of our own in the state folder.
    ///
    /// # Errors
    /// The operating system's error; the old file stands then.
    pub fn replace_own(&self, rel: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut temp = rel.as_os_str().to_owned();
        temp.push(".new");
        let temp = PathBuf::from(temp);
        let (dir, name) = self.place(rel)?;
        let _ = fs::unlinkat(&dir, temp.file_name().unwrap_or_default(), AtFlags::empty());
        self.write_new(&temp, bytes)?;
        self.disk.step(Operation::Rename)?;
        fs::renameat(&dir, temp.file_name().unwrap_or_default(), &dir, name)?;
        Ok(())
    }
    /// Opens a file of our own for appending, making it when missing.
    ///
    /// # Errors
    /// The operating system's error.
    pub fn append(&self, rel: &Path) -> io::Result<Appender> {
        let (dir, name) = self.place(rel)?;
        let fd = fs::openat(
            &dir,
            name,
            OFlags::RDWR | OFlags::APPEND | OFlags::CREATE | OFlags::NOFOLLOW | OFlags::CLOEXEC,
            Mode::from_raw_mode(0o600),
        )?;
        Ok(Appender::new(self.disk.clone(), File::from(fd)))
    }
}

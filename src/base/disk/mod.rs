//! The one door to the disk. Owns every write, rename and removal, the no-clobber rules and the
//! walk that follows no link; refuses to know what the files mean.

mod elsewhere;
mod root;
mod trouble;

use std::fs::File;
use std::io::{self, Read, Write};
use std::os::unix::ffi::OsStrExt;
use std::path::Path;

pub use root::Root;
pub use trouble::{Disk, Operation};

/// What tells one state of a file from another: it is the same file, untouched, while all agree.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct Stamp {
    pub dev: u64,
    pub ino: u64,
    /// bytes
    pub size: u64,
    /// ns since 1970
    pub mtime: i64,
    /// ns since 1970
    pub ctime: i64,
}

impl Stamp {
    /// The same content as far as the file system tells; a rename changes only `ctime`.
    pub fn same_content(self, other: Stamp) -> bool {
        (self.dev, self.ino, self.size, self.mtime)
            == (other.dev, other.ino, other.size, other.mtime)
    }
}

/// What kind of thing a name stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    File,
    Folder,
    Link,
    Special,
}

/// A name's kind and stamp, links not followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stat {
    pub kind: Kind,
    pub stamp: Stamp,
    /// Bytes really stored; 0 with a size may be a sparse file or one whose content is elsewhere.
    pub stored: u64,
}

impl Disk {
    /// Makes a folder and its parents; `private` makes it readable by its owner alone.
    ///
    /// # Errors
    /// The operating system's error.
    pub fn make_folder(&self, path: &Path, private: bool) -> io::Result<()> {
        use std::os::unix::fs::DirBuilderExt;
        if !path.is_dir() {
            self.step(Operation::Mkdir)?;
            std::fs::DirBuilder::new()
                .recursive(true)
                .mode(if private { 0o700 } else { 0o755 })
                .create(path)?;
        }
        if private {
            use std::os::unix::fs::PermissionsExt;
            let mode = std::fs::metadata(path)?.permissions().mode();
            if mode & 0o077 != 0 {
                std::fs::set_permissions(path, std::fs::Permissions::from_mode(0o700))?;
            }
        }
        Ok(())
    }
    /// Opens the lock file of the state folder, making it when missing and never emptying it.
    ///
    /// # Errors
    /// The operating system's error.
    pub fn lock_file(&self, path: &Path) -> io::Result<File> {
        std::fs::OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(false)
            .open(path)
    }
}

/// A file of our own that only grows.
pub struct Appender {
    disk: Disk,
    file: File,
}

impl Appender {
    fn new(disk: Disk, file: File) -> Self {
        Self { disk, file }
    }
    /// Adds bytes durably.
    ///
    /// # Errors
    /// The operating system's error; what was added partly is cut off again.
    pub fn add(&mut self, bytes: &[u8]) -> io::Result<()> {
        let before = self.file.metadata()?.len();
        let done = self
            .disk
            .step(Operation::Write)
            .and_then(|()| self.file.write_all(bytes))
            .and_then(|()| self.disk.step(Operation::Sync))
            .and_then(|()| self.file.sync_data());
        if done.is_err() {
            let _ = self.file.set_len(before);
        }
        done
    }
    /// Cuts the file to a length (a torn last line).
    ///
    /// # Errors
    /// The operating system's error.
    pub fn cut(&mut self, len: u64) -> io::Result<()> {
        self.file.set_len(len)
    }
}

/// BLAKE3 of what is left of a file.
///
/// # Errors
/// The operating system's error.
pub fn hash_file(file: &mut File) -> io::Result<blake3::Hash> {
    let mut hasher = blake3::Hasher::new();
    let mut buffer = vec![0; 1 << 20];
    loop {
        match file.read(&mut buffer) {
            Ok(0) => return Ok(hasher.finalize()),
            Ok(n) => hasher.update(&buffer[..n]),
            Err(e) if e.kind() == io::ErrorKind::Interrupted => continue,
            Err(e) => return Err(e),
        };
    }
}

/// A name as text for journal, page and terminal: bytes that are no UTF-8 become `\xNN`.
pub fn text(path: &Path) -> String {
    let mut out = String::new();
    for chunk in path.as_os_str().as_bytes().utf8_chunks() {
        out.push_str(chunk.valid());
        for b in chunk.invalid() {
            out.push_str(&format!("\\x{b:02X}"));
        }
    }
    out
}

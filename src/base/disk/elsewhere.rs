//! Files whose content is not on this computer: placeholders of a sync program. Owns how a file system
//! tells of them; opens nothing, since opening one is what fetches it.

use std::os::fd::AsRawFd;
use std::path::Path;

use rustix::fs;

use super::Root;

/// Where Linux shows a file's attributes of shares and NTFS disks: 32 bits, lowest byte first (the
/// kernel's `fs/smb/client/xattr.c` and `fs/ntfs3/xattr.c`, from memory).
const NAMES: [&str; 3] = [
    "user.cifs.dosattrib",
    "user.smb3.dosattrib",
    "system.ntfs_attrib",
];
/// Offline, recall on open, recall on data access (Windows' file attribute constants, from memory).
const ELSEWHERE: u32 = 0x1000 | 0x4_0000 | 0x40_0000;

impl Root {
    /// Whether the file system says that the content at `rel` would have to be fetched first. One that
    /// says nothing has it here.
    pub fn is_elsewhere(&self, rel: &Path) -> bool {
        let Ok((folder, name)) = self.place(rel) else {
            return false;
        };
        let path = Path::new("/proc/self/fd")
            .join(folder.as_raw_fd().to_string())
            .join(name);
        NAMES.iter().any(|attribute| {
            let mut bits = [0; 4];
            let told = fs::lgetxattr(&path, *attribute, &mut bits[..]);
            told == Ok(4) && u32::from_le_bytes(bits) & ELSEWHERE != 0
        })
    }
}

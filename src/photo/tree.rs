//! The tagged directories of TIFF, as EXIF, raw files and TIFF itself use them (TIFF 6.0, section 2).
//! Owns the reading of entries within bounds; refuses to know what a tag means.

/// Most entries read of one directory; the rest is left unread.
const MOST_ENTRIES: usize = 512;

/// A file or segment that begins with a TIFF header. Every read is checked against its length.
#[derive(Clone, Copy)]
pub struct Tree<'a> {
    bytes: &'a [u8],
    big_endian: bool,
    first: u32,
}

/// One entry of a directory, its value still encoded.
#[derive(Clone, Copy, Debug)]
pub struct Entry<'a> {
    pub tag: u16,
    /// Field type, 1 to 13 (TIFF 6.0, page 15).
    pub kind: u16,
    /// The value's bytes, `count` x the type's size; borrowed, never copied.
    pub data: &'a [u8],
    big_endian: bool,
}

/// One directory.
pub struct Directory<'a> {
    pub entries: Vec<Entry<'a>>,
    /// Tags whose value lies outside the bytes or is of no known type.
    pub lost: Vec<u16>,
    /// Place of the next one; 0 for none.
    pub next: u32,
}

impl<'a> Tree<'a> {
    /// `None` when the bytes do not begin with a TIFF header. Raw formats that keep the structure
    /// under another magic number are accepted (`RO`, `RS`, `U`).
    pub fn new(bytes: &'a [u8]) -> Option<Self> {
        let big_endian = match bytes.get(..2)? {
            b"II" => false,
            b"MM" => true,
            _ => return None,
        };
        let mut tree = Self {
            bytes,
            big_endian,
            first: 0,
        };
        if !matches!(tree.u16(2)?, 42 | 0x4f52 | 0x5352 | 0x55) {
            return None;
        }
        tree.first = tree.u32(4)?;
        Some(tree)
    }
    pub fn first(&self) -> u32 {
        self.first
    }
    fn u16(&self, at: usize) -> Option<u16> {
        let b = self.bytes.get(at..at.checked_add(2)?)?.try_into().ok()?;
        Some(if self.big_endian {
            u16::from_be_bytes(b)
        } else {
            u16::from_le_bytes(b)
        })
    }
    fn u32(&self, at: usize) -> Option<u32> {
        let b = self.bytes.get(at..at.checked_add(4)?)?.try_into().ok()?;
        Some(if self.big_endian {
            u32::from_be_bytes(b)
        } else {
            u32::from_le_bytes(b)
        })
    }
    /// The directory at `at`; entries whose value lies outside the bytes are left out.
    pub fn directory(&self, at: u32) -> Option<Directory<'a>> {
        let at = at as usize;
        let count = usize::from(self.u16(at)?);
        let (mut entries, mut lost) = (Vec::new(), Vec::new());
        for i in 0..count.min(MOST_ENTRIES) {
            let e = at + 2 + i * 12;
            let (Some(tag), Some(kind), Some(n)) = (self.u16(e), self.u16(e + 2), self.u32(e + 4))
            else {
                break;
            };
            let Some(len) = width(kind).and_then(|w| w.checked_mul(n as usize)) else {
                lost.push(tag);
                continue;
            };
            let start = if len <= 4 {
                e + 8
            } else {
                match self.u32(e + 8) {
                    Some(start) => start as usize,
                    None => break,
                }
            };
            let end = start.checked_add(len);
            let Some(data) = end.and_then(|end| self.bytes.get(start..end)) else {
                lost.push(tag);
                continue;
            };
            entries.push(Entry {
                tag,
                kind,
                data,
                big_endian: self.big_endian,
            });
        }
        Some(Directory {
            entries,
            lost,
            next: self.u32(at + 2 + count * 12).unwrap_or(0),
        })
    }
}

impl<'a> Directory<'a> {
    pub fn entry(&self, tag: u16) -> Option<&Entry<'a>> {
        self.entries.iter().find(|e| e.tag == tag)
    }
    pub fn number(&self, tag: u16) -> Option<u32> {
        self.entry(tag)?.number(0)
    }
}

impl<'a> Entry<'a> {
    /// Number of values.
    pub fn len(&self) -> usize {
        width(self.kind).map_or(0, |w| self.data.len() / w)
    }
    /// The `i`-th value of the unsigned types (byte, short, long, directory).
    pub fn number(&self, i: usize) -> Option<u32> {
        let w = width(self.kind)?;
        let b = self.data.get(i * w..(i + 1) * w)?;
        Some(match self.kind {
            1 | 7 => u32::from(b[0]),
            3 if self.big_endian => u32::from(u16::from_be_bytes([b[0], b[1]])),
            3 => u32::from(u16::from_le_bytes([b[0], b[1]])),
            4 | 13 if self.big_endian => u32::from_be_bytes(b.try_into().ok()?),
            4 | 13 => u32::from_le_bytes(b.try_into().ok()?),
            _ => return None,
        })
    }
    /// The text up to its first NUL.
    pub fn text(&self) -> Option<&'a str> {
        let end = self.data.iter().position(|b| *b == 0);
        std::str::from_utf8(&self.data[..end.unwrap_or(self.data.len())]).ok()
    }
}

/// Bytes of one value of a field type.
fn width(kind: u16) -> Option<usize> {
    Some(match kind {
        1 | 2 | 6 | 7 => 1,
        3 | 8 => 2,
        4 | 9 | 11 | 13 => 4,
        5 | 10 | 12 => 8,
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_directory_that_points_outside_the_bytes_yields_nothing_and_no_panic() {
        let mut b = b"II*\0\x08\0\0\0\xff\xff".to_vec();
        b.extend([0x12, 1, 3, 0, 1, 0, 0, 0, 6, 0, 0, 0]);
        b.extend([0x0f, 1, 2, 0, 255, 255, 255, 255, 255, 255, 255, 255]);
        let dir = Tree::new(&b).unwrap().directory(8).unwrap();
        assert_eq!(dir.entries.len(), 1);
        assert_eq!(dir.number(0x112), Some(6));
        assert!(Tree::new(&b).unwrap().directory(u32::MAX).is_none());
        assert!(Tree::new(b"II*\0").is_none());
    }
}

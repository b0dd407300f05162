//! What kind of file this is, by its first bytes. Owns the magic numbers; refuses to read further.

/// Formats that are told apart by content.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    Jpeg,
    Png,
}

impl Format {
    pub fn name(self) -> &'static str {
        match self {
            Self::Jpeg => "JPEG",
            Self::Png => "PNG",
        }
    }
}

/// The format by its first bytes (a few dozen suffice).
pub fn format(bytes: &[u8]) -> Option<Format> {
    if bytes.starts_with(&[0xff, 0xd8, 0xff]) {
        return Some(Format::Jpeg);
    }
    if bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        return Some(Format::Png);
    }
    None
}

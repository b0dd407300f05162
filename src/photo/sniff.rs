//! What kind of file this is: by its first bytes, and by its name where the bytes do not matter.
//! Owns magic numbers and the names that cameras give; refuses to decode.

/// Formats that are told apart by content.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    Jpeg,
    Png,
    Webp,
    Tiff,
    Bmp,
    Heic,
    Avif,
    /// A raw file, TIFF-structured or not; only told from TIFF by its directories.
    Raw,
    /// A kind of picture that is known by name only, e.g. `a GIF`.
    Other(&'static str),
    /// A picture sequence.
    Sequence,
}

/// What the inbox makes of a file before anything is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Photo,
    /// Waits for its twin.
    Raw,
    Video,
    /// Sidecars, thumbnails and catalogue files of cameras, phones, editors and systems.
    Sidecar,
    /// Nothing known: it is read, and held when it is no photo.
    Unknown,
}

/// The format by its first bytes. 32 suffice for all but TIFF-structured raw files, which need the
/// whole file to be told from TIFF.
pub fn format(bytes: &[u8]) -> Option<Format> {
    let at = |from: usize, magic: &[u8]| bytes.get(from..).is_some_and(|b| b.starts_with(magic));
    Some(match bytes {
        [0xff, 0xd8, 0xff, ..] => Format::Jpeg,
        _ if at(0, b"\x89PNG\r\n\x1a\n") => Format::Png,
        _ if at(0, b"RIFF") && at(8, b"WEBP") => Format::Webp,
        _ if at(0, b"II*\0") || at(0, b"MM\0*") => {
            if super::raw::is_raw(bytes) {
                Format::Raw
            } else {
                Format::Tiff
            }
        }
        _ if at(0, b"II+\0") || at(0, b"MM\0+") => Format::Other("a TIFF of more than 4 GB"),
        _ if super::raw::is_raw(bytes) => Format::Raw,
        _ if at(0, b"BM") && bytes.len() > 26 && at(6, &[0; 4]) => Format::Bmp,
        _ if at(4, b"ftyp") => brand(bytes)?,
        _ if at(0, b"GIF8") => Format::Other("a GIF"),
        _ if at(0, b"8BPS") => Format::Other("a layered editor's file"),
        _ if at(0, b"%PDF") => Format::Other("a PDF"),
        _ if at(0, &[0xff, 0x0a]) || at(4, b"JXL ") => Format::Other("a JPEG XL"),
        _ if at(4, b"jP  ") => Format::Other("a JPEG 2000"),
        _ => return None,
    })
}

/// Brands of ISO base media files (ISO/IEC 14496-12): the major one, then the compatible ones.
fn brand(bytes: &[u8]) -> Option<Format> {
    let length = u32::from_be_bytes(bytes.get(..4)?.try_into().ok()?) as usize;
    let list = bytes.get(8..length.min(bytes.len()).min(256))?;
    let major = list.get(..4)?;
    let kind = |b: &[u8]| match b {
        b"heic" | b"heix" | b"heim" | b"heis" => Some(Format::Heic),
        b"avif" => Some(Format::Avif),
        b"hevc" | b"hevx" | b"hevm" | b"hevs" | b"avis" | b"msf1" => Some(Format::Sequence),
        b"crx " => Some(Format::Raw),
        _ => None,
    };
    if let Some(k) = kind(major) {
        return Some(k);
    }
    if !matches!(major, b"mif1" | b"mif2" | b"miaf") {
        return None;
    }
    // A still image by its major brand: a sequence beside it does not matter.
    let listed = list.get(8..).unwrap_or_default().chunks_exact(4);
    Some(
        listed
            .filter_map(kind)
            .find(|k| *k != Format::Sequence)
            .unwrap_or(Format::Heic),
    )
}

/// What to make of a file by its name and first bytes (a few hundred, or none if it cannot be read).
///
/// Content decides what is a photo; names decide only what is passed over or waits, so that a photo
/// under a wrong name is never missed.
pub fn kind(name: &str, first_bytes: &[u8]) -> Kind {
    let lower = name.to_lowercase();
    let extension = lower.rsplit_once('.').map_or("", |(_, e)| e);
    if is_litter(&lower) {
        return Kind::Sidecar;
    }
    match format(first_bytes) {
        Some(Format::Tiff) if RAW.contains(&extension) => return Kind::Raw,
        Some(Format::Raw) => return Kind::Raw,
        // A camera's small copy beside a video or a photo.
        Some(Format::Jpeg) if extension == "thm" => return Kind::Sidecar,
        Some(_) => return Kind::Photo,
        None => {}
    }
    match extension {
        e if RAW.contains(&e) => Kind::Raw,
        e if VIDEO.contains(&e) || is_video(first_bytes) => Kind::Video,
        e if SIDECAR.contains(&e) => Kind::Sidecar,
        _ => Kind::Unknown,
    }
}

/// Extensions of raw files.
const RAW: &[&str] = &[
    "3fr", "arw", "cr2", "cr3", "crw", "dcr", "dng", "erf", "fff", "iiq", "k25", "kdc", "mef",
    "mos", "mrw", "nef", "nrw", "orf", "ori", "pef", "raf", "raw", "rw2", "rwl", "sr2", "srf",
    "srw", "x3f",
];
/// Extensions of videos and sound notes.
const VIDEO: &[&str] = &[
    "3gp", "avi", "m2ts", "m4v", "mkv", "mov", "mp4", "mpg", "mpeg", "mts", "webm", "wmv", "wav",
    "m4a", "mp3", "aac", "insv", "lrv", "360",
];
/// Extensions of files that belong to a camera, phone, editor or catalogue.
const SIDECAR: &[&str] = &[
    "aae",
    "xmp",
    "thm",
    "pp3",
    "dop",
    "on1",
    "cos",
    "xml",
    "json",
    "ini",
    "db",
    "dat",
    "lnk",
    "url",
    "ctg",
    "bdm",
    "cpi",
    "mpl",
    "inf",
    "mrk",
    "log",
    "gpx",
    "nmea",
    "lrcat",
    "lrdata",
    "lrprev",
    "cocatalog",
    "nksc",
    "photoslibrary",
    "bridgesort",
    "bridgelabelsandratings",
    "moff",
    "modd",
];

/// Names that systems and cameras leave in folders of photos.
fn is_litter(lower: &str) -> bool {
    matches!(
        lower,
        "thumbs.db"
            | "desktop.ini"
            | "ehthumbs.db"
            | "ehthumbs_vista.db"
            | "icon\r"
            | "autorun.inf"
            | ".ds_store"
            | ".nomedia"
    ) || lower.starts_with("._")
}

/// Whether the bytes begin a video: ISO media of no picture brand, RIFF AVI, Matroska, MPEG.
fn is_video(b: &[u8]) -> bool {
    let at = |from: usize, magic: &[u8]| b.get(from..).is_some_and(|b| b.starts_with(magic));
    (at(4, b"ftyp") && brand(b).is_none())
        || at(4, b"moov")
        || at(4, b"wide")
        || (at(0, b"RIFF") && (at(8, b"AVI ") || at(8, b"WAVE")))
        || at(0, &[0x1a, 0x45, 0xdf, 0xa3])
        || at(0, &[0, 0, 1, 0xba])
        || (b.len() > 376 && b[0] == 0x47 && b[188] == 0x47 && b[376] == 0x47)
}

/// Whether a camera named this folder: the root `DCIM` or, below it, three digits from 100 to 999
/// and five free characters of A to Z, 0 to 9 and `_` (DCF 2.0, CIPA DC-009, section 3.2), letter
/// case aside.
pub fn is_camera_folder(name: &str) -> bool {
    if name.eq_ignore_ascii_case("DCIM") {
        return true;
    }
    let b = name.as_bytes();
    b.len() == 8
        && (b'1'..=b'9').contains(&b[0])
        && b[1..3].iter().all(u8::is_ascii_digit)
        && b[3..]
            .iter()
            .all(|c| c.is_ascii_alphanumeric() || *c == b'_')
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn content_decides_what_a_photo_is_whatever_its_name_says() {
        let jpeg = [0xff, 0xd8, 0xff, 0xe1, 0, 16];
        for name in [
            "mug.jpg", "MUG.JPEG", "mug", "mug.png", "mug.mov", "mug.txt",
        ] {
            assert_eq!(kind(name, &jpeg), Kind::Photo, "{name}");
        }
        assert_eq!(kind("mug.jpg", b"<html>"), Kind::Unknown);
    }

    #[test]
    fn videos_sidecars_and_litter_are_told_apart_from_photos() {
        assert_eq!(kind("MVI_1.MOV", b"\0\0\0\x14ftypqt  "), Kind::Video);
        assert_eq!(kind("clip", b"\0\0\0\x18ftypisom\0\0\0\0"), Kind::Video);
        assert_eq!(kind("IMG_1.AAE", b"<?xml"), Kind::Sidecar);
        assert_eq!(kind("Thumbs.db", &[0xd0, 0xcf]), Kind::Sidecar);
        assert_eq!(kind("MVI_1.THM", &[0xff, 0xd8, 0xff]), Kind::Sidecar);
        assert_eq!(kind("IMG_1.CR3", b"\0\0\0\x18ftypcrx "), Kind::Raw);
        assert_eq!(kind("IMG_1.NEF", b""), Kind::Raw);
        assert_eq!(kind("IMG_1.HEIC", b"\0\0\0\x18ftypheic"), Kind::Photo);
    }

    #[test]
    fn folder_names_of_cameras_are_known_and_hers_are_not() {
        // Examples of DCF 2.0 (CIPA DC-009), 3.2.2: 100ABCDE; free characters may be digits and `_`.
        for name in [
            "DCIM", "dcim", "100ABCDE", "999_____", "101MSDCF", "123abc45",
        ] {
            assert!(is_camera_folder(name), "{name}");
        }
        for name in [
            "Mug",
            "099ABCDE",
            "100ABCD",
            "100ABCDEF",
            "1000BCDE_",
            "100 BCDE",
            "100ÄBCD",
        ] {
            assert!(!is_camera_folder(name), "{name}");
        }
    }
}

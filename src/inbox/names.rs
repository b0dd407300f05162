//! What a name in the inbox says before anything is opened. Owns the lists of temporary and hidden
//! names and the listing a path belongs to; refuses to look at content.

use std::path::{Path, PathBuf};

use crate::base::disk::text;
use crate::base::reason::Reason;

/// Why a name is passed over, if it is.
pub fn passed_over(rel: &Path) -> Option<Reason> {
    let name = text(Path::new(rel.file_name()?));
    let lower = name.to_ascii_lowercase();
    // Endings of files still being written (common practice, no source).
    const UNFINISHED: [&str; 6] = [
        ".part",
        ".partial",
        ".tmp",
        ".crdownload",
        ".filepart",
        ".download",
    ];
    if UNFINISHED.iter().any(|e| lower.ends_with(e))
        || name.starts_with("~$")
        || name.starts_with(".~")
    {
        return Some(Reason::TemporaryName);
    }
    let hidden = rel
        .components()
        .any(|c| text(Path::new(c.as_os_str())).starts_with('.'));
    hidden.then_some(Reason::HiddenName)
}

/// Whether this is a correction, one that a newer took the place of, or her own order of a listing;
/// none of them is a photo.
pub fn is_companion(rel: &Path) -> bool {
    named_before(rel, b".framing").is_some()
        || named_before(rel, b".framing.old").is_some()
        || rel.file_name().is_some_and(|n| n == ORDER)
}

/// Her own order of a listing.
pub const ORDER: &str = "listing.toml";

/// Whether this is a correction file.
pub fn is_correction(rel: &Path) -> bool {
    corrected(rel).is_some()
}

/// The path of the photo that a correction's name speaks of. A browser may have numbered a second
/// download: `IMG_1.JPG.framing (1).toml` speaks of `IMG_1.JPG` as well.
pub fn corrected(rel: &Path) -> Option<PathBuf> {
    named_before(rel, b".framing")
}

/// What stands before `word` and `.toml` in a name.
fn named_before(rel: &Path, word: &[u8]) -> Option<PathBuf> {
    use std::os::unix::ffi::OsStrExt;
    let name = rel.file_name()?.as_bytes();
    let stem = name.strip_suffix(b".toml")?;
    let plain = match stem.strip_suffix(b")") {
        Some(s) => {
            let at = s.iter().rposition(|b| *b == b'(')?;
            if !s[at + 1..].iter().all(u8::is_ascii_digit) {
                return None;
            }
            s[..at].strip_suffix(b" ")?
        }
        None => stem,
    };
    let photo = plain.strip_suffix(word)?;
    (!photo.is_empty()).then(|| rel.with_file_name(std::ffi::OsStr::from_bytes(photo)))
}

/// Folder names that a camera makes: `DCIM`, and three digits from 100 with five characters
/// (DCF, CIPA DC-009).
pub fn is_camera_folder(name: &str) -> bool {
    name.eq_ignore_ascii_case("DCIM")
        || (name.len() == 8
            && name.is_ascii()
            && name[..3]
                .parse::<u32>()
                .is_ok_and(|n| (100..=999).contains(&n))
            && name[3..]
                .bytes()
                .all(|b| b.is_ascii_alphanumeric() || b == b'_'))
}

/// The listing a photo belongs to: its folders joined by `/`, camera folders passed over;
/// empty for none.
pub fn listing(rel: &Path) -> String {
    let folders: Vec<String> = rel
        .parent()
        .unwrap_or(Path::new(""))
        .components()
        .map(|c| text(Path::new(c.as_os_str())))
        .filter(|n| !is_camera_folder(n))
        .collect();
    folders.join("/")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn temporary_and_hidden_names_are_passed_over() {
        for name in [
            "a.jpg.part",
            "a.TMP",
            "Mug/~$a.jpg",
            ".a.jpg",
            ".trash/a.jpg",
            "Mug/.~lock.a",
        ] {
            assert!(passed_over(Path::new(name)).is_some(), "{name}");
        }
        for name in ["a.jpg", "Mug/part.jpg", "Mug/~a.jpg", "tmp/a"] {
            assert_eq!(passed_over(Path::new(name)), None, "{name}");
        }
    }

    #[test]
    fn a_correction_names_its_photo_also_when_a_browser_numbered_it() {
        for (name, photo) in [
            ("Mug/a.JPG.framing.toml", Some("Mug/a.JPG")),
            ("a.JPG.framing (12).toml", Some("a.JPG")),
            ("a.JPG.framing (x).toml", None),
            (".framing.toml", None),
            ("listing.toml", None),
        ] {
            assert_eq!(
                corrected(Path::new(name)).as_deref(),
                photo.map(Path::new),
                "{name}"
            );
        }
    }

    #[test]
    fn a_correction_that_stepped_aside_is_no_photo_and_no_correction() {
        for name in ["a.JPG.framing.old.toml", "a.JPG.framing.old (2).toml"] {
            let name = Path::new(name);
            assert!(is_companion(name) && !is_correction(name));
        }
    }

    #[test]
    fn camera_folders_are_no_listings() {
        for (path, name) in [
            ("a.jpg", ""),
            ("Mug/a.jpg", "Mug"),
            ("Spring/Mug/DCIM/100ABCDE/x.jpg", "Spring/Mug"),
            ("DCIM/101_0001/x.jpg", ""),
            ("099ABCDE/x.jpg", "099ABCDE"),
            ("100 cups/x.jpg", "100 cups"),
        ] {
            assert_eq!(listing(Path::new(path)), name, "{path}");
        }
    }
}

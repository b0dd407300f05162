//! What EXIF says that matters for the picture: orientation, capture time, colour space
//! (CIPA DC-008). Owns those tags; refuses to read positions, serial numbers and maker notes.

use super::tree::{Directory, Tree};

const ORIENTATION: u16 = 0x0112;
const DATE_TIME: u16 = 0x0132;
const EXIF_DIRECTORY: u16 = 0x8769;
const ORIGINAL: u16 = 0x9003;
const DIGITIZED: u16 = 0x9004;
const SUBSEC: u16 = 0x9290;
const SUBSEC_ORIGINAL: u16 = 0x9291;
const SUBSEC_DIGITIZED: u16 = 0x9292;
const COLOR_SPACE: u16 = 0xa001;
const INTEROP_DIRECTORY: u16 = 0xa005;
const INTEROP_INDEX: u16 = 0x0001;

/// The facts, each absent unless it was there and made sense.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Facts {
    /// 1 to 8.
    pub orientation: Option<u8>,
    /// Local, `YYYY-MM-DDTHH:MM:SS[.fff]`.
    pub captured: Option<String>,
    /// ColorSpace: 1 is sRGB, 0xffff uncalibrated.
    pub color_space: Option<u32>,
    /// The interoperability index says R03 (the optional colour space of DCF, Adobe RGB).
    pub r03: bool,
}

impl Facts {
    /// Reads the three directories that hold them, each once, so that a loop in the file is never
    /// followed. Nonsense yields no facts.
    pub fn read(tiff: &[u8]) -> Self {
        let Some(tree) = Tree::new(tiff) else {
            return Self::default();
        };
        let Some(main) = tree.directory(tree.first()) else {
            return Self::default();
        };
        let below = |dir: Option<&Directory<'_>>, tag| {
            dir.and_then(|d| d.number(tag))
                .and_then(|at| tree.directory(at))
        };
        let exif = below(Some(&main), EXIF_DIRECTORY);
        let interop = below(exif.as_ref(), INTEROP_DIRECTORY);
        let time = |dir: Option<&Directory<'_>>, tag, sub| {
            let stamp = dir?.entry(tag)?.text()?;
            let sub = exif
                .as_ref()
                .and_then(|d| d.entry(sub))
                .and_then(|e| e.text());
            moment(stamp, sub)
        };
        Self {
            orientation: orientation(&main),
            captured: time(exif.as_ref(), ORIGINAL, SUBSEC_ORIGINAL)
                .or_else(|| time(exif.as_ref(), DIGITIZED, SUBSEC_DIGITIZED))
                .or_else(|| time(Some(&main), DATE_TIME, SUBSEC)),
            color_space: exif.as_ref().and_then(|d| d.number(COLOR_SPACE)),
            r03: interop
                .and_then(|d| Some(d.entry(INTEROP_INDEX)?.data.starts_with(b"R03")))
                .unwrap_or(false),
        }
    }
    /// Whether the pixels are Adobe RGB although no profile is embedded: the interoperability
    /// index R03, or an uncalibrated file whose name begins with `_` (DCF 2.0, CIPA DC-009).
    pub fn adobe_rgb(&self, name: &str) -> bool {
        self.color_space != Some(1)
            && (self.r03 || (self.color_space == Some(0xffff) && name.starts_with('_')))
    }
}

/// Orientation of the main picture, when it is one of the eight.
pub fn orientation(main: &Directory<'_>) -> Option<u8> {
    main.number(ORIENTATION)
        .filter(|o| (1..=8).contains(o))
        .map(|o| o as u8)
}

/// `2026:03:01 09:30:00` and sub-seconds to `2026-03-01T09:30:00[.fff]`; blanks and impossible
/// dates are no time.
fn moment(stamp: &str, sub: Option<&str>) -> Option<String> {
    let b = stamp.trim_end().as_bytes();
    if b.len() != 19 || !stamp.is_ascii() {
        return None;
    }
    let number = |from: usize, to: usize| -> Option<u32> {
        b[from..to]
            .iter()
            .all(u8::is_ascii_digit)
            .then(|| stamp[from..to].parse().ok())?
    };
    let (year, month, day) = (number(0, 4)?, number(5, 7)?, number(8, 10)?);
    let (hour, minute, second) = (number(11, 13)?, number(14, 16)?, number(17, 19)?);
    let sane = year > 0
        && (1..=12).contains(&month)
        && (1..=31).contains(&day)
        && hour < 24
        && minute < 60
        && second < 61;
    if !sane {
        return None;
    }
    let mut out = format!("{year:04}-{month:02}-{day:02}T{hour:02}:{minute:02}:{second:02}");
    let digits: String = sub
        .unwrap_or("")
        .trim()
        .chars()
        .take_while(char::is_ascii_digit)
        .take(9)
        .collect();
    if !digits.is_empty() {
        out.push('.');
        out.push_str(&digits);
    }
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn capture_time_keeps_its_sub_seconds_and_sorts_as_text() {
        let a = moment("2026:03:01 09:30:00", None).unwrap();
        let b = moment("2026:03:01 09:30:00", Some("07")).unwrap();
        let c = moment("2026:03:01 09:30:00", Some("5 ")).unwrap();
        assert_eq!(a, "2026-03-01T09:30:00");
        assert_eq!(b, "2026-03-01T09:30:00.07");
        assert!(a < b && b < c);
    }

    #[test]
    fn a_clock_that_was_never_set_gives_no_time() {
        for bad in [
            "    :  :     :  :  ",
            "0000:00:00 00:00:00",
            "2026:13:01 09:30:00",
            "2026:03:01",
            "",
            "20é6:03:01 09:30:0",
        ] {
            assert_eq!(moment(bad, None), None, "{bad}");
        }
    }
}

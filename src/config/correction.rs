//! Her correction of one photo: a small TOML file beside it, read strictly and written back.
//! Owns its keys, their checks and its wording; refuses to know where the file lies and how it is applied.

use std::borrow::Cow;
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::ops::Range;
use std::path::Path;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::load::syntax;
use super::problem::{ConfigError, Finding, plain};
use super::value::{found, nearest};
use crate::base::geometry::{Rect, Size};

/// What a correction's name adds to its photo's: `IMG_1.JPG.framing.toml`.
pub const SUFFIX: &str = ".framing.toml";
/// Largest correction read, bytes.
pub const MOST_BYTES: usize = 64 << 10;

const KEYS: [&str; 4] = ["photo", "turn", "subject", "accept"];

/// A correction whose every value is possible; whether its boxes lie inside the photo is for `fit`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Correction {
    /// BLAKE3 of the photo's bytes, 64 lower-case hexadecimal digits; when there it decides which photo is meant.
    pub photo: Option<String>,
    /// Clockwise, after EXIF: 0, 90, 180 or 270.
    pub turn: u32,
    /// The product is here; px of the photo as turned.
    pub subject: Option<Rect>,
    /// Deliver although small or tight.
    pub accept: bool,
    /// Exactly this crop, by profile name; px of the photo as turned.
    pub crops: BTreeMap<String, Rect>,
}

/// A correction that was read, with the places of its boxes for reports.
#[derive(Clone, Debug)]
pub struct Written {
    pub correction: Correction,
    text: String,
    boxes: Vec<(Range<usize>, String, Rect)>,
}

impl Written {
    /// Checks that every box lies inside the photo.
    ///
    /// # Errors
    /// Every box that does not. `frame` is the upright size before her turn.
    pub fn fit(&self, frame: Size, file: &Path) -> Result<(), ConfigError> {
        let quarter = self.correction.turn % 180 == 90;
        let frame = if quarter { frame.turned() } else { frame };
        let outside: Vec<Finding> = self
            .boxes
            .iter()
            .filter(|(_, _, r)| !r.inside(frame))
            .map(|(at, key, r)| Finding {
                at: at.clone(),
                key: key.clone(),
                message: format!(
                    "this box reaches {} from the left and {} from the top, but the photo is {frame}",
                    u64::from(r.x) + u64::from(r.w),
                    u64::from(r.y) + u64::from(r.h)
                ),
                hint: "a box is [left, top, width, height] in pixels of the full photo as you see it; \
                       check that this correction belongs to this photo"
                    .into(),
            })
            .collect();
        if outside.is_empty() {
            Ok(())
        } else {
            Err(ConfigError::located(file, &self.text, outside))
        }
    }
}

/// Reads a correction. `file` names it in reports; `profiles` are the names that may head a table.
///
/// # Errors
/// Everything that is wrong with it, in the order of the text.
pub fn parse(bytes: &[u8], file: &Path, profiles: &[&str]) -> Result<Written, ConfigError> {
    if bytes.len() > MOST_BYTES {
        return Err(ConfigError::whole(
            file,
            "the file is larger than 64 KiB, so it is no correction",
            "save the correction again from the proof sheet",
        ));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes);
    let Ok(text) = std::str::from_utf8(bytes) else {
        return Err(ConfigError::whole(
            file,
            "the correction is not UTF-8 text",
            "save it as UTF-8 in your editor, or again from the proof sheet",
        ));
    };
    let (root, broken) = DeTable::parse_recoverable(text);
    if !broken.is_empty() {
        let findings = broken.iter().map(|e| syntax(e, text)).collect();
        return Err(ConfigError::located(file, text, findings));
    }
    let mut reader = Reader {
        profiles,
        correction: Correction::default(),
        boxes: Vec::new(),
        findings: Vec::new(),
    };
    for (name, value) in root.get_ref() {
        reader.entry(name, value);
    }
    if reader.findings.is_empty() {
        Ok(Written {
            correction: reader.correction,
            text: text.to_owned(),
            boxes: reader.boxes,
        })
    } else {
        Err(ConfigError::located(file, text, reader.findings))
    }
}

/// Of corrections, each with its time of change and whether it lies beside the photo, the one in force:
/// the newest that names the photo's `hash`, else one beside it that names none.
pub fn in_force<'a>(
    words: impl Iterator<Item = (i64, bool, &'a Correction)> + Clone,
    hash: &blake3::Hash,
) -> Option<&'a Correction> {
    let hex = hash.to_hex();
    let by_hash = words
        .clone()
        .filter(|(_, _, w)| w.photo.as_deref() == Some(hex.as_str()))
        .max_by_key(|(changed, ..)| *changed)
        .map(|(_, _, w)| w);
    let mut beside = words.filter(|(_, beside, w)| *beside && w.photo.is_none());
    by_hash.or_else(|| beside.next().map(|(_, _, w)| w))
}

impl Correction {
    /// The same correction for another picture of the same shot, `is` large instead of `was` (both
    /// upright, before her turn). `None` when there are boxes and the shapes differ by more than 1 %.
    pub fn redrawn(&self, was: Size, is: Size) -> Option<Self> {
        let mut word = self.clone();
        if self.subject.is_none() && self.crops.is_empty() {
            return Some(word);
        }
        let across = u64::from(was.w) * u64::from(is.h);
        let down = u64::from(was.h) * u64::from(is.w);
        if across == 0 || down == 0 || across.abs_diff(down) * 100 > across.min(down) {
            return None;
        }
        let quarter = self.turn % 180 == 90;
        let turned = |s: Size| if quarter { s.turned() } else { s };
        let draw = |r: Rect| r.scaled(turned(was), turned(is));
        word.subject = self.subject.map(draw);
        for r in word.crops.values_mut() {
            *r = draw(*r);
        }
        Some(word)
    }
    /// The correction as a file.
    pub fn to_toml(&self) -> String {
        let mut out = String::new();
        if let Some(hash) = &self.photo {
            let _ = writeln!(out, "photo = \"{hash}\"");
        }
        if self.turn != 0 {
            let _ = writeln!(out, "turn = {}", self.turn);
        }
        let list = |r: &Rect| format!("[{}, {}, {}, {}]", r.x, r.y, r.w, r.h);
        if let Some(r) = &self.subject {
            let _ = writeln!(out, "subject = {}", list(r));
        }
        if self.accept {
            out.push_str("accept = true\n");
        }
        for (profile, r) in &self.crops {
            let name = toml::Value::String(profile.clone());
            let _ = writeln!(out, "[{name}]\ncrop = {}", list(r));
        }
        out
    }
}

struct Reader<'a> {
    profiles: &'a [&'a str],
    correction: Correction,
    boxes: Vec<(Range<usize>, String, Rect)>,
    findings: Vec<Finding>,
}

type Entry<'a, 'b> = (&'a Spanned<Cow<'b, str>>, &'a Spanned<DeValue<'b>>);

impl Reader<'_> {
    fn note(
        &mut self,
        at: Range<usize>,
        key: &str,
        message: impl Into<String>,
        hint: impl Into<String>,
    ) {
        self.findings.push(Finding {
            at,
            key: key.to_owned(),
            message: message.into(),
            hint: hint.into(),
        });
    }

    fn entry<'b>(&mut self, name: &Spanned<Cow<'b, str>>, value: &Spanned<DeValue<'b>>) {
        let key = name.get_ref().as_ref();
        let (v, at) = (value.get_ref(), value.span());
        let needs = |what: &str| format!("needs {what}, not {}", found(v));
        match key {
            "photo" => match v.as_str().map(str::to_ascii_lowercase) {
                Some(h) if h.len() == 64 && h.bytes().all(|b| b.is_ascii_hexdigit()) => {
                    self.correction.photo = Some(h);
                }
                _ => self.note(
                    at,
                    key,
                    needs("the photo's BLAKE3 hash, 64 digits in quotes"),
                    "take this line out to mean the photo beside the file, or save the correction again from the proof sheet",
                ),
            },
            "turn" => match whole(v) {
                Some(t @ (0.0 | 90.0 | 180.0 | 270.0)) => self.correction.turn = t as u32,
                _ => self.note(at, key, needs("90, 180 or 270"), "the photo is turned clockwise by so many degrees"),
            },
            "accept" => match v.as_bool() {
                Some(b) => self.correction.accept = b,
                None => self.note(at, key, needs("true or false"), "write accept = true, without quotes"),
            },
            "subject" => self.correction.subject = self.rect(key, (name, value)),
            _ if v.is_table() => self.profile((name, value)),
            _ => {
                let hint = match nearest(key, KEYS.into_iter()) {
                    Some(near) => format!("did you mean {near}?"),
                    None if key == "crop" => "write it below the name of its profile, for example [listing]".into(),
                    None => format!("there are {}, and a crop below [PROFILE]", KEYS.join(", ")),
                };
                self.note(name.span(), &plain(key), "there is no such setting in a correction", hint);
            }
        }
    }

    fn profile(&mut self, (name, value): Entry<'_, '_>) {
        let profile = name.get_ref().as_ref();
        if !self.profiles.contains(&profile) {
            let near = nearest(profile, self.profiles.iter().copied());
            let hint = near.map_or_else(
                || format!("the profiles are {}", self.profiles.join(", ")),
                |n| format!("did you mean [{n}]?"),
            );
            self.note(name.span(), profile, "no profile has this name", hint);
            return;
        }
        let Some(table) = value.get_ref().as_table() else {
            return;
        };
        for (inner, value) in table {
            let key = format!("{profile}.{}", inner.get_ref());
            if inner.get_ref().as_ref() == "crop" {
                if let Some(r) = self.rect(&key, (inner, value)) {
                    self.correction.crops.insert(profile.to_owned(), r);
                }
            } else {
                let hint = if KEYS.contains(&inner.get_ref().as_ref()) {
                    format!("write {} above the first [PROFILE]", inner.get_ref())
                } else {
                    "below a profile's name there is only crop".into()
                };
                self.note(inner.span(), &key, "there is no such setting here", hint);
            }
        }
    }

    fn rect(&mut self, key: &str, (_, value): Entry<'_, '_>) -> Option<Rect> {
        const HINT: &str = "write [left, top, width, height] in pixels of the full photo";
        let at = value.span();
        let numbers: Option<Vec<f64>> = value
            .get_ref()
            .as_array()
            .and_then(|a| a.iter().map(|v| number(v.get_ref())).collect());
        let Some(&[x, y, w, h]) = numbers.as_deref() else {
            let message = format!(
                "needs four numbers in brackets, not {}",
                found(value.get_ref())
            );
            self.note(at, key, message, HINT);
            return None;
        };
        if ![x, y, w, h]
            .iter()
            .all(|n| n.is_finite() && (0.0..=1e6).contains(n))
        {
            self.note(at, key, "a number here is impossible", HINT);
            return None;
        }
        if w < 1.0 || h < 1.0 {
            self.note(
                at,
                key,
                "this box is empty: its width and height are at least 1",
                HINT,
            );
            return None;
        }
        let side = |from: f64, len: f64| (from.round() as u32, len.round() as u32);
        let ((x, w), (y, h)) = (side(x, w), side(y, h));
        let rect = Rect::new(x, y, w, h);
        self.boxes.push((at, key.to_owned(), rect));
        Some(rect)
    }
}

fn number(v: &DeValue<'_>) -> Option<f64> {
    match v {
        DeValue::Integer(i) => i64::from_str_radix(i.as_str(), i.radix())
            .ok()
            .map(|n| n as f64),
        DeValue::Float(f) => f.as_str().parse().ok(),
        _ => None,
    }
}

fn whole(v: &DeValue<'_>) -> Option<f64> {
    v.is_integer().then(|| number(v)).flatten()
}

#[cfg(test)]
mod tests {
    use super::*;

    const FILE: &str = "IMG_1.JPG.framing.toml";

    fn read(text: &str) -> Result<Written, ConfigError> {
        parse(text.as_bytes(), Path::new(FILE), &["listing", "square"])
    }

    fn full() -> Correction {
        Correction {
            photo: Some("ab".repeat(32)),
            turn: 90,
            subject: Some(Rect::new(1510, 900, 2100, 2300)),
            accept: true,
            crops: [("listing".to_owned(), Rect::new(905, 400, 3843, 2882))].into(),
        }
    }

    #[test]
    fn a_correction_reads_back_as_it_was_written() {
        assert_eq!(read(&full().to_toml()).unwrap().correction, full());
        assert_eq!(read("").unwrap().correction, Correction::default());
        let comment = "# drawn by hand\nsubject = [10.4, 20.6, 30.0, 40]\n";
        assert_eq!(
            read(comment).unwrap().correction.subject,
            Some(Rect::new(10, 21, 30, 40))
        );
    }

    #[test]
    fn what_is_wrong_is_said_with_its_line_and_a_hint() {
        for (text, line, part, hint) in [
            ("turn = 45\n", 1, "needs 90, 180 or 270", "clockwise"),
            ("turn = 90.0\n", 1, "needs 90, 180 or 270", "clockwise"),
            (
                "accept = \"yes\"\n",
                1,
                "needs true or false",
                "without quotes",
            ),
            ("photo = \"12\"\n", 1, "64 digits", "take this line out"),
            (
                "\nsubject = [1, 2, 3]\n",
                2,
                "four numbers",
                "left, top, width, height",
            ),
            (
                "subject = [1, 2, nan, 4]\n",
                1,
                "impossible",
                "left, top, width, height",
            ),
            (
                "subject = [1, 2, inf, 4]\n",
                1,
                "impossible",
                "left, top, width, height",
            ),
            (
                "subject = [-1, 2, 3, 4]\n",
                1,
                "impossible",
                "left, top, width, height",
            ),
            (
                "subject = [1, 2, 99999999999999999999, 4]\n",
                1,
                "four numbers",
                "left, top, width, height",
            ),
            (
                "subject = [1, 2, 0, 4]\n",
                1,
                "empty",
                "left, top, width, height",
            ),
            (
                "subjekt = [1, 2, 3, 4]\n",
                1,
                "no such setting",
                "did you mean subject?",
            ),
            ("crop = [1, 2, 3, 4]\n", 1, "no such setting", "[listing]"),
            (
                "[listng]\ncrop = [1, 2, 3, 4]\n",
                1,
                "no profile has this name",
                "did you mean [listing]?",
            ),
            (
                "[listing]\naccept = true\n",
                2,
                "no such setting here",
                "above the first",
            ),
            (
                "[listing]\nfill = 1\n",
                2,
                "no such setting here",
                "only crop",
            ),
            ("[listing\n", 1, "not understood", ""),
        ] {
            let e = read(text).unwrap_err();
            let p = &e.problems[0];
            assert_eq!(p.line, line, "{text}");
            assert!(p.message.contains(part), "{text}: {}", p.message);
            assert!(p.hint.contains(hint), "{text}: {}", p.hint);
        }
    }

    #[test]
    fn everything_wrong_is_said_at_once() {
        assert_eq!(
            read("turn = 1\naccept = 2\n[listing]\ncrop = 3\n")
                .unwrap_err()
                .problems
                .len(),
            3
        );
    }

    #[test]
    fn a_box_outside_the_photo_is_refused_also_after_a_turn() {
        let w = read("turn = 90\nsubject = [0, 3000, 100, 900]\n").unwrap();
        let file = Path::new(FILE);
        assert!(
            w.fit(Size::new(4000, 3000), file).is_ok(),
            "turned it is 3000x4000"
        );
        let e = w.fit(Size::new(3000, 4000), file).unwrap_err();
        assert_eq!(e.problems[0].line, 2);
        assert!(e.to_string().contains("the photo is 4000x3000"), "{e}");
    }

    #[test]
    fn a_huge_or_binary_file_is_no_correction() {
        assert!(parse(&vec![b'#'; MOST_BYTES + 1], Path::new(FILE), &[]).is_err());
        assert!(parse(&[0xff, 0xfe, 0, 1], Path::new(FILE), &[]).is_err());
    }

    #[test]
    fn boxes_are_drawn_anew_for_a_picture_of_the_same_shape_and_another_size() {
        let word = Correction {
            turn: 90,
            subject: Some(Rect::new(100, 200, 300, 400)),
            crops: [("listing".to_owned(), Rect::new(0, 0, 1000, 1500))].into(),
            ..Correction::default()
        };
        let (was, is) = (Size::new(1500, 1000), Size::new(3000, 2001));
        let redrawn = word.redrawn(was, is).unwrap();
        // Turned, the pictures are 1000x1500 and 2001x3000.
        assert_eq!(redrawn.subject, Some(Rect::new(200, 400, 600, 800)));
        assert_eq!(redrawn.crops["listing"], Rect::new(0, 0, 2001, 3000));
        assert_eq!(word.redrawn(was, Size::new(3000, 2100)), None);
        assert_eq!(word.redrawn(Size::new(0, 0), is), None);
        let boxless = Correction {
            accept: true,
            ..Correction::default()
        };
        assert_eq!(boxless.redrawn(was, Size::new(9, 9)), Some(boxless.clone()));
    }
}

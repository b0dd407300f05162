//! Output names: lower-case ASCII letters, digits and `-`, the same everywhere for ever.
//! Refuses to know whether a name is taken.

use std::path::{Path, PathBuf};

use unicode_normalization::UnicodeNormalization;

/// Most characters of one name.
const MOST: usize = 80;

/// Names that another operating system keeps for devices (from memory).
const DEVICES: [&str; 4] = ["con", "prn", "aux", "nul"];

/// Transliterates any text; other runs of characters become one `-`; `photo` when nothing is left.
pub fn slug(text: &str) -> String {
    let composed: String = text.nfc().collect();
    let plain = deunicode::deunicode(&composed);
    let mut out = String::new();
    for c in plain.chars().map(|c| c.to_ascii_lowercase()) {
        if c.is_ascii_alphanumeric() {
            out.push(c);
        } else if !out.is_empty() && !out.ends_with('-') {
            out.push('-');
        }
        if out.len() == MOST {
            break;
        }
    }
    let out = out.trim_end_matches('-');
    let device = DEVICES.contains(&out)
        || (out.len() == 4
            && (out.starts_with("com") || out.starts_with("lpt"))
            && out.ends_with(|c: char| c.is_ascii_digit()));
    match out {
        "" => "photo".into(),
        _ if device => format!("photo-{out}"),
        _ => out.into(),
    }
}

/// `base` for the first source of a name, then `base-2`, `base-3`, at most 80 characters.
pub fn nth(base: &str, n: u32) -> String {
    if n < 2 {
        return base.into();
    }
    let tail = format!("-{n}");
    let room = MOST - tail.len();
    let head = base.get(..room.min(base.len())).unwrap_or(base);
    format!("{}{tail}", head.trim_end_matches('-'))
}

/// `PROFILE/LISTING/LISTING-01.jpg`, or `PROFILE/STEM.jpg` for a photo of no listing.
pub fn output(profile: &str, listing: Option<(&str, u32)>, stem: &str, extension: &str) -> PathBuf {
    let folder = Path::new(profile);
    match listing {
        Some((slug, number)) => folder
            .join(slug)
            .join(format!("{}.{extension}", numbered(slug, number))),
        None => folder.join(format!("{stem}.{extension}")),
    }
}

/// `mug-01`; the slug gives way when the whole would be longer than 80 characters.
pub fn numbered(slug: &str, number: u32) -> String {
    let tail = format!("-{number:02}");
    let head = slug
        .get(..(MOST - tail.len()).min(slug.len()))
        .unwrap_or(slug);
    format!("{}{tail}", head.trim_end_matches('-'))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_name_becomes_a_safe_one() {
        for (name, safe) in [
            ("IMG_0042", "img-0042"),
            ("Mug, speckled", "mug-speckled"),
            ("Spring/Mug", "spring-mug"),
            ("Krug \u{e4}u\u{df}erst sch\u{f6}n", "krug-ausserst-schon"),
            ("Krug a\u{308}", "krug-a"),
            ("../../etc/passwd", "etc-passwd"),
            ("a\nb\"c<script>", "a-b-c-script"),
            ("", "photo"),
            ("---", "photo"),
            ("CON", "photo-con"),
            ("lpt1", "photo-lpt1"),
        ] {
            assert_eq!(slug(name), safe, "{name:?}");
        }
        let long = slug(&"x".repeat(300));
        assert_eq!(long.len(), 80);
        assert_eq!(nth(&long, 12).len(), 80);
        assert_eq!(numbered(&long, 7).len(), 80);
    }

    proptest::proptest! {
        #[test]
        fn a_name_is_always_lower_case_ascii_and_short(text in ".*") {
            let s = slug(&text);
            assert!(!s.is_empty() && s.len() <= 86);
            assert!(s.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'-'));
            assert!(!s.starts_with('-') && !s.ends_with('-'));
        }
    }
}

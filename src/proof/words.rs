//! Figures and verdicts in her words. Owns phrasing that page, text file and notification share;
//! refuses to know where it is shown.

use time::{OffsetDateTime, UtcOffset, format_description::well_known::Rfc3339};

use super::model::{Entry, Tally};
use crate::base::reason::{Reason, Verdict};

/// `812 kB`, `1.4 MB`: decimal units, as the weight limits of shops are given.
pub fn weight(bytes: u64) -> String {
    match bytes {
        0..1000 => format!("{bytes} bytes"),
        1000..999_500 => format!("{} kB", (bytes + 500) / 1000),
        _ => format!("{:.1} MB", bytes as f64 / 1e6),
    }
}

/// What a verdict is called on the page.
pub fn verdict(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Deliver => "Ready",
        Verdict::Glance => "For a glance",
        Verdict::Hold => "Held",
    }
}

/// Quality in words. Bands of the score follow the scale its authors publish with SSIMULACRA2
/// (90 no difference to be seen, 70 high, 50 medium; from memory); without a score the JPEG
/// quality speaks (common practice, no source).
pub fn quality(score: Option<f64>, jpeg: Option<f64>) -> &'static str {
    match (score, jpeg) {
        (Some(s), _) if s >= 88.0 => "no loss to be seen",
        (Some(s), _) if s >= 80.0 => "very good",
        (Some(s), _) if s >= 70.0 => "good",
        (Some(s), _) if s >= 55.0 => "fair",
        (Some(_), _) => "weak",
        (None, Some(q)) if q >= 85.0 => "very good",
        (None, Some(q)) if q >= 75.0 => "good",
        (None, Some(_)) => "fair",
        (None, None) => "without loss",
    }
}

/// How sure the crop is, in words with the figure.
pub fn sureness(confidence: f64) -> String {
    let n = (confidence.clamp(0.0, 1.0) * 100.0).round();
    let word = match confidence {
        c if c >= 0.9 => "sure",
        c if c >= 0.7 => "fairly sure",
        c if c > 0.0 => "not sure",
        _ => return "not judged".to_owned(),
    };
    format!("{word}, {n} in 100")
}

/// `8 ready, 1 for a glance`, leaving out what is none.
pub fn tally(t: Tally) -> String {
    let parts: Vec<String> = [
        (t.ready, "ready"),
        (t.glance, "for a glance"),
        (t.held, "held"),
    ]
    .into_iter()
    .filter(|(n, _)| *n > 0)
    .map(|(n, word)| format!("{n} {word}"))
    .collect();
    if parts.is_empty() {
        "nothing yet".to_owned()
    } else {
        parts.join(", ")
    }
}

/// A phrase as a sentence: first letter large, full stop at the end.
pub fn sentence(phrase: &str) -> String {
    let mut chars = phrase.trim().chars();
    let Some(first) = chars.next() else {
        return String::new();
    };
    let mut out: String = first.to_uppercase().collect();
    out.push_str(chars.as_str());
    if !out.ends_with(['.', '!', '?']) {
        out.push('.');
    }
    out
}

/// What a reason means for this photo, as a sentence; of two near twins the better is named.
pub fn reason(entry: &Entry, reason: Reason) -> String {
    match (reason, &entry.better) {
        (Reason::NearTwin, Some(name)) => format!("{name} is nearly the same, and the better one."),
        _ => sentence(reason.meaning()),
    }
}

/// What she can do about a reason, as a sentence; `None` where there is nothing to do.
pub fn remedy(reason: Reason) -> Option<String> {
    let text = reason.remedy();
    (text != "nothing").then(|| sentence(text))
}

/// `25 November 2026 at 14:02`: a time in RFC 3339, told at `offset`.
pub fn when(at: &str, offset: UtcOffset) -> String {
    OffsetDateTime::parse(at, &Rfc3339).map_or_else(
        |_| "an unknown time".to_owned(),
        |t| {
            let t = t.to_offset(offset);
            format!(
                "{} {} {} at {:02}:{:02}",
                t.day(),
                t.month(),
                t.year(),
                t.hour(),
                t.minute()
            )
        },
    )
}

/// `1 photo`, `2 photos`.
pub fn count(n: usize, one: &str, many: &str) -> String {
    format!("{n} {}", if n == 1 { one } else { many })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_weight_is_told_in_decimal_units_without_jumping_over_a_limit() {
        assert_eq!(weight(999), "999 bytes");
        assert_eq!(weight(811_600), "812 kB");
        assert_eq!(weight(999_499), "999 kB");
        assert_eq!(weight(999_999), "1.0 MB");
        assert_eq!(weight(12_345_678), "12.3 MB");
    }

    #[test]
    fn a_tally_names_only_what_is_there() {
        let t = |ready, glance, held| {
            tally(Tally {
                ready,
                glance,
                held,
            })
        };
        assert_eq!(t(8, 1, 0), "8 ready, 1 for a glance");
        assert_eq!(t(0, 0, 2), "2 held");
        assert_eq!(t(0, 0, 0), "nothing yet");
    }

    #[test]
    fn every_reason_reads_as_whole_sentences() {
        for r in Reason::ALL {
            let s = sentence(r.meaning());
            assert!(
                s.ends_with('.') && !s.chars().next().unwrap().is_lowercase(),
                "{s}"
            );
        }
        assert_eq!(remedy(Reason::Corrected), None);
    }
}

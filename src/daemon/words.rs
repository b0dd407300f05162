//! The notes beside held photos and the service manager's status line. Owns their sentences;
//! refuses to decide what is held.

use super::house::House;
use crate::base::reason::Reason;
use crate::config::profile::Profile;
use crate::worker::protocol::ProfileResult;

/// What one profile says in a note.
pub struct Word<'a> {
    pub profile: Option<&'a str>,
    /// Set when the profile holds: codes and one sentence.
    pub held: Option<(&'a [String], &'a str)>,
    /// Ready-relative path when it was delivered.
    pub output: Option<&'a str>,
}

/// The note beside a held photo: every profile, in plain words.
pub fn note(name: &str, words: &[Word<'_>], kept: bool) -> String {
    let mut text = format!("{name} needs your eye.\n");
    for w in words {
        text.push('\n');
        if let Some(p) = w.profile {
            text.push_str(&format!("For the profile \"{p}\":\n"));
        }
        match (&w.held, w.output) {
            (Some((codes, detail)), _) => {
                text.push_str(&format!("  Held: {detail}.\n"));
                for reason in codes.iter().filter_map(|c| Reason::from_code(c)) {
                    text.push_str(&format!(
                        "  What you can do: {}. ({})\n",
                        reason.remedy(),
                        reason.code()
                    ));
                }
            }
            (None, Some(out)) => text.push_str(&format!("  Delivered as ready/{out}.\n")),
            (None, None) => {}
        }
    }
    text.push_str(if kept {
        "\nThe photo lies unchanged in the inbox. Change it or put a correction beside it, and it is tried again.\n"
    } else {
        "\nThe photo is unchanged. Put it back into the inbox to have it tried again,\nor put a correction beside it here.\n"
    });
    text
}

/// One line on how things stand, for the service manager.
pub fn status(house: &House) -> String {
    if let Some(trouble) = house.paused() {
        let first = trouble.lines().next().unwrap_or_default();
        return format!("waiting, and trying again: {first}");
    }
    if house.is_offline() {
        return "the inbox is offline; waiting for it".into();
    }
    match house.waiting() {
        0 => "watching; nothing waits".into(),
        1 => "1 photo on its way".into(),
        n => format!("{n} photos on their way"),
    }
}

/// Why a profile holds: all codes, and one sentence.
pub fn held(result: &ProfileResult, profile: &Profile) -> (Vec<String>, String) {
    if let Some(r) = &result.refused {
        let mut codes = vec![r.reason.clone()];
        codes.extend(result.reasons.iter().filter(|c| **c != r.reason).cloned());
        return (codes, r.detail.clone());
    }
    // What holds comes first, what is merely so after it.
    const HOLDING: [Reason; 4] = [
        Reason::DoesNotFit,
        Reason::CannotExtend,
        Reason::TooFewPixels,
        Reason::TooHeavy,
    ];
    let mut codes = result.reasons.clone();
    codes.sort_by_key(|c| !HOLDING.iter().any(|h| h.code() == c));
    let first = codes.iter().find_map(|c| Reason::from_code(c));
    let detail = match first {
        Some(Reason::TooFewPixels) => format!(
            "the crop is {} px, and the profile needs at least {} px on the short side",
            result.crop.size(),
            profile.short_side_min
        ),
        Some(r) => format!("{} ({})", r.meaning(), profile.shape),
        None => "it needs your eye".into(),
    };
    (codes, detail)
}

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
                for (i, reason) in to_act_on(codes).into_iter().enumerate() {
                    let (lead, what) = match i {
                        0 => ("Held", *detail),
                        _ => ("Also", reason.meaning()),
                    };
                    text.push_str(&format!("  {lead}: {what}. ({reason})\n"));
                    if reason.remedy() != "nothing" {
                        text.push_str(&format!("    What you can do: {}.\n", reason.remedy()));
                    }
                }
                if codes.is_empty() {
                    text.push_str(&format!("  Held: {detail}.\n"));
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

/// What holds by itself, the weightiest first (remarks under `strict`); a backdrop that cannot be grown says all
/// that `does-not-fit` would say.
const HOLDING: [Reason; 8] = [
    Reason::CannotExtend,
    Reason::DoesNotFit,
    Reason::TooFewPixels,
    Reason::TooHeavy,
    Reason::BurntOut,
    Reason::Blocked,
    Reason::ColourCast,
    Reason::Tilted,
];

/// The reasons to be told in a note: the first, and what else holds by itself.
fn to_act_on(codes: &[String]) -> Vec<Reason> {
    let cannot_grow = codes.iter().any(|c| c == Reason::CannotExtend.code());
    let said = |r: Reason| cannot_grow && r == Reason::DoesNotFit;
    let reasons = codes.iter().filter_map(|c| Reason::from_code(c));
    reasons
        .enumerate()
        .filter(|(i, r)| *i == 0 || HOLDING.contains(r) && !said(*r))
        .map(|(_, r)| r)
        .collect()
}

/// Why a profile holds: all codes, what holds first, and one sentence.
pub fn held(result: &ProfileResult, profile: &Profile) -> (Vec<String>, String) {
    if let Some(r) = &result.refused {
        let mut codes = vec![r.reason.clone()];
        codes.extend(result.reasons.iter().filter(|c| **c != r.reason).cloned());
        return (codes, r.detail.clone());
    }
    let mut codes = result.reasons.clone();
    let rank = |c: &String| HOLDING.iter().position(|h| h.code() == c);
    codes.sort_by_key(|c| rank(c).unwrap_or(HOLDING.len()));
    let first = codes.iter().find_map(|c| Reason::from_code(c));
    let fits_no_crop = || format!("{} ({})", Reason::DoesNotFit.meaning(), profile.shape);
    let detail = match first {
        Some(Reason::TooFewPixels) => format!(
            "the crop is {} px, and the profile needs at least {} px on the short side",
            result.crop.size(),
            profile.short_side_min
        ),
        Some(r @ Reason::CannotExtend) => format!("{}, and {}", fits_no_crop(), r.meaning()),
        Some(Reason::DoesNotFit) => fits_no_crop(),
        Some(r) => r.meaning().into(),
        None => "it needs your eye".into(),
    };
    (codes, detail)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(codes: &[&str]) -> Vec<String> {
        let codes: Vec<String> = codes.iter().map(|c| (*c).to_owned()).collect();
        let word = Word {
            profile: Some("listing"),
            held: Some((&codes, "why")),
            output: None,
        };
        let text = note("a.jpg", &[word], false);
        let code = |l: &str| Some(l.strip_suffix(')')?.rsplit_once('(')?.1.to_owned());
        text.lines().filter_map(code).collect()
    }

    #[test]
    fn a_note_tells_what_holds_the_photo_and_nothing_twice() {
        let cannot = told(&["cannot-extend", "does-not-fit", "thumbnail-cuts"]);
        assert_eq!(cannot, ["cannot-extend"]);
        let small = told(&["does-not-fit", "too-few-pixels", "little-air"]);
        assert_eq!(small, ["does-not-fit", "too-few-pixels"]);
        assert_eq!(told(&["unsharp"]), ["unsharp"]);
    }
}

//! The story of one photo in plain sentences, told from journal lines. Owns the telling; refuses to
//! know where the journal lies and how it is read.

use serde_json::Value;
use time::UtcOffset;

use super::escape::plain;
use super::words;
use crate::base::reason::Reason;

/// What a name led to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Answer {
    /// About five sentences for each profile.
    Story(Vec<String>),
    /// The name fits several photos: their sources.
    Several(Vec<String>),
    /// The journal knows no such photo.
    Unknown,
}

/// Tells what became of `name`: a source path, an output path, either file name with or without its
/// extension, or the first eight or more characters of the photo's hash. `lines` in journal order;
/// times are told at `offset`.
pub fn why(lines: &[Value], name: &str, offset: UtcOffset) -> Answer {
    let photos: Vec<Line<'_>> = lines
        .iter()
        .map(Line)
        .filter(|l| l.text("source").is_some())
        .collect();
    // A name that outputs have had in turn means the one that has it now.
    let newest: std::collections::BTreeMap<_, u64> = photos
        .iter()
        .filter(|l| l.text("output").is_some())
        .map(|l| ((l.key(), l.text("profile")), l.seq()))
        .collect();
    let is_now = |l: &Line<'_>| {
        l.text("output").is_none() || newest.get(&(l.key(), l.text("profile"))) == Some(&l.seq())
    };
    let mut keys = matching(&photos, |l| is_now(l) && l.is_named(name, false));
    if keys.is_empty() {
        keys = matching(&photos, |l| l.is_named(name, false));
    }
    if keys.is_empty() {
        keys = matching(&photos, |l| l.is_named(name, true));
    }
    match keys.as_slice() {
        [] => Answer::Unknown,
        [key] => {
            let own: Vec<Line<'_>> = photos.into_iter().filter(|l| l.key() == *key).collect();
            Answer::Story(tell(&own, offset))
        }
        many => Answer::Several(
            many.iter()
                .filter_map(|k| photos.iter().rev().find(|l| l.key() == *k))
                .filter_map(|l| l.text("source"))
                .map(plain)
                .collect(),
        ),
    }
}

/// A photo: its hash and its listing. Lines without a hash go by their source.
type Key<'a> = (&'a str, &'a str);

fn matching<'a>(photos: &[Line<'a>], fits: impl Fn(&Line<'a>) -> bool) -> Vec<Key<'a>> {
    let mut keys: Vec<Key<'a>> = Vec::new();
    for l in photos.iter().filter(|l| fits(l)) {
        if !keys.contains(&l.key()) {
            keys.push(l.key());
        }
    }
    keys
}

fn tell(own: &[Line<'_>], offset: UtcOffset) -> Vec<String> {
    let mut profiles: Vec<Option<&str>> = Vec::new();
    for l in own.iter().filter(|l| l.decides()) {
        if !profiles.contains(&l.text("profile")) {
            profiles.push(l.text("profile"));
        }
    }
    // A line about the photo as a whole is the story only while no profile has a later word.
    let last = |profile: Option<&str>| {
        own.iter()
            .rev()
            .find(|l| l.decides() && l.text("profile") == profile)
    };
    let newest_of_profiles = profiles
        .iter()
        .flatten()
        .filter_map(|p| last(Some(p)))
        .map(Line::seq)
        .max();
    let mut out = Vec::new();
    for profile in profiles {
        let Some(line) = last(profile) else { continue };
        if profile.is_none() && newest_of_profiles.is_some_and(|n| n > line.seq()) {
            continue;
        }
        out.extend(line.sentences(offset));
    }
    out.extend(before(own));
    if let (true, Some(line)) = (out.is_empty(), own.last()) {
        out.extend(line.sentences(offset));
    }
    out
}

/// One sentence on what happened earlier, where something did.
fn before(own: &[Line<'_>]) -> Option<String> {
    let count = |event| {
        own.iter()
            .filter(|l| l.text("event") == Some(event))
            .count()
    };
    let repeats = count("ignored");
    let made_again = own.iter().filter(|l| !l.0["replaces"].is_null()).count();
    let last = own.last().and_then(|l| l.text("event"));
    let held = count("held") - usize::from(last == Some("held"));
    let failed = count("failed") - usize::from(last == Some("failed"));
    let mut parts = Vec::new();
    let mut part = |n: usize, what: &str| match n {
        0 => {}
        1 => parts.push(format!("{what} once")),
        n => parts.push(format!("{what} {n} times")),
    };
    part(made_again, "made again");
    part(held, "held");
    part(failed, "tried without success");
    if own.iter().any(Line::decides) {
        part(repeats, "dropped again and passed over");
    }
    (!parts.is_empty()).then(|| format!("Over time it was {}.", parts.join(", ")))
}

struct Line<'a>(&'a Value);

impl<'a> Line<'a> {
    fn text(&self, key: &str) -> Option<&'a str> {
        self.0
            .get(key)
            .and_then(Value::as_str)
            .filter(|t| !t.is_empty())
    }
    fn number(&self, key: &str) -> Option<f64> {
        self.0.get(key).and_then(Value::as_f64)
    }
    fn seq(&self) -> u64 {
        self.0.get("seq").and_then(Value::as_u64).unwrap_or(0)
    }
    fn key(&self) -> Key<'a> {
        let source = self.text("source").unwrap_or("");
        (
            self.text("blake3").unwrap_or(source),
            self.text("listing").unwrap_or(""),
        )
    }
    fn decides(&self) -> bool {
        matches!(self.text("event"), Some("delivered" | "held" | "failed"))
    }
    fn boxed(&self, key: &str) -> Option<[u64; 4]> {
        let list = self.0.get(key)?.as_array()?;
        let n: Vec<u64> = list.iter().filter_map(Value::as_u64).collect();
        n.try_into().ok()
    }
    fn reasons(&self) -> Vec<Reason> {
        let list = self.0.get("reasons").and_then(Value::as_array);
        let codes = list.into_iter().flatten().filter_map(Value::as_str);
        codes.filter_map(Reason::from_code).collect()
    }
    fn is_named(&self, name: &str, any_case: bool) -> bool {
        let same = |a: &str| {
            if any_case {
                a.to_lowercase() == name.to_lowercase()
            } else {
                a == name
            }
        };
        let paths = [self.text("source"), self.text("output")];
        let by_path = paths.into_iter().flatten().any(|p| {
            let leaf = p.rsplit('/').next().unwrap_or(p);
            let stem = leaf.rsplit_once('.').map_or(leaf, |(s, _)| s);
            same(p) || same(leaf) || same(stem)
        });
        by_path || (name.len() >= 8 && self.text("blake3").is_some_and(|h| h.starts_with(name)))
    }

    fn sentences(&self, offset: UtcOffset) -> Vec<String> {
        let source = plain(self.text("source").unwrap_or("the photo"));
        let when = self.when(offset);
        match self.text("event") {
            Some("delivered") => self.delivered(&source, &when),
            Some("held") => {
                let of = self
                    .text("profile")
                    .map_or_else(String::new, |p| format!(" for \"{}\"", plain(p)));
                let mut out = vec![format!("{source} is held{of} since {when}.")];
                out.extend(self.because("It is held"));
                out.extend(self.crop_sentence());
                out.push("It will not be tried again by itself: put it back into the inbox once it is right.".to_owned());
                out
            }
            Some("failed") => {
                let mut out = vec![format!("{source} could not be finished on {when}.")];
                out.extend(self.because("It failed"));
                out.push("It will be tried again by itself.".to_owned());
                out
            }
            _ => {
                let mut out = vec![format!("{source} was passed over on {when}.")];
                out.extend(self.because("It was passed over"));
                out
            }
        }
    }

    fn delivered(&self, source: &str, when: &str) -> Vec<String> {
        let output = plain(self.text("output").unwrap_or("an output"));
        let mut out = vec![format!("{output} was made from {source} on {when}.")];
        out.extend(self.crop_sentence());
        if let (Some(w), Some(h)) = (self.number("width"), self.number("height")) {
            let mut s = format!("The file has {w} by {h} pixels");
            if let Some(b) = self.number("bytes") {
                s.push_str(&format!(" and weighs {}", words::weight(b as u64)));
            }
            let (score, jpeg) = (self.number("ssimulacra2"), self.number("quality"));
            s.push_str(&format!(", quality {}", words::quality(score, jpeg)));
            if let Some(colour) = self.text("colour").filter(|c| *c != "sRGB") {
                s.push_str(&format!(
                    ", its colours changed from {} to sRGB",
                    plain(colour)
                ));
            }
            s.push('.');
            out.push(s);
        }
        out.extend(self.thumbnail_sentence());
        let reasons = self.reasons();
        let glance = self.text("verdict") == Some("glance");
        match (glance, reasons.is_empty()) {
            (_, false) => out.extend(self.because(if glance {
                "It is for a glance"
            } else {
                "A remark"
            })),
            (true, true) => out.push("It is for a glance.".to_owned()),
            (false, true) => out.push("Nothing in it needs your eye.".to_owned()),
        }
        out
    }

    fn crop_sentence(&self) -> Option<String> {
        let c = self.boxed("crop")?;
        let taken = format!(
            "the crop takes {} by {} pixels, {} from the left and {} from the top",
            c[2], c[3], c[0], c[1]
        );
        let reasons = self.reasons();
        if reasons.contains(&Reason::Corrected) {
            return Some(format!("As you told it, {taken}."));
        }
        let sure = self.number("confidence").filter(|c| *c > 0.0);
        let sure = sure.map_or_else(String::new, |c| format!(" ({})", words::sureness(c)));
        Some(match self.boxed("subject") {
            Some(s) => format!(
                "The product was found {} by {} pixels large, and {taken}{sure}.",
                s[2], s[3]
            ),
            None => format!("No product was found, so {taken}{sure}."),
        })
    }

    fn thumbnail_sentence(&self) -> Option<String> {
        self.boxed("subject")?;
        let all = self.0.get("thumbnails")?.as_object()?;
        let cut: Vec<&str> = all
            .iter()
            .filter(|(_, v)| **v == Value::Bool(false))
            .map(|(k, _)| k.as_str())
            .collect();
        match (all.len(), cut.len()) {
            (0, _) => None,
            (_, 0) => Some("Every shop thumbnail shows the whole product.".to_owned()),
            (_, 1) => Some(format!(
                "The shop thumbnail {} would cut into the product.",
                plain(cut[0])
            )),
            _ => Some(format!(
                "The shop thumbnails {} would cut into the product.",
                plain(&cut.join(" and "))
            )),
        }
    }

    /// The reasons in one sentence and what she can do in another.
    fn because(&self, lead: &str) -> Vec<String> {
        let reasons: Vec<Reason> = self
            .reasons()
            .into_iter()
            .filter(|r| *r != Reason::Corrected)
            .collect();
        let mut said: Vec<String> = reasons.iter().map(|r| r.meaning().to_owned()).collect();
        if let Some(detail) = self.text("detail") {
            said.push(plain(detail.trim_end_matches('.')));
        }
        if said.is_empty() {
            return Vec::new();
        }
        let mut out = vec![format!("{lead}: {}.", said.join("; "))];
        let mut what: Vec<&str> = Vec::new();
        for r in &reasons {
            if r.remedy() != "nothing" && !what.contains(&r.remedy()) {
                what.push(r.remedy());
            }
        }
        if !what.is_empty() {
            out.push(format!("What you can do: {}.", what.join("; ")));
        }
        out
    }

    fn when(&self, offset: UtcOffset) -> String {
        words::when(self.text("at").unwrap_or(""), offset)
    }
}

//! Who lives in the model: photos of several natures, her corrections, the steps of a life, and what a
//! worker would say of each photo.

use std::path::{Path, PathBuf};
use std::time::Duration;

use proptest::prelude::*;

use stallhand::base::geometry::{Rect, Size};
use stallhand::base::reason::Reason;
use stallhand::framing::Span;
use stallhand::worker::protocol::{Answer, Ask, Facts, FileFacts, ProfileResult, Refused, Work};

pub const PROFILES: [&str; 2] = ["listing", "square"];
pub const SECOND: Duration = Duration::from_secs(1);

/// What becomes of a photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Nature {
    Good,
    /// Held unless a correction gives the crop.
    Tight,
    /// Never readable.
    Bad,
    /// Ends its worker while it is prepared, or while its header is read.
    Poison,
    EarlyPoison,
}

#[derive(Clone, Debug)]
pub struct Photo {
    pub listing: &'static str,
    pub leaf: String,
    pub content: String,
    pub nature: Nature,
    pub captured: Option<String>,
    /// The crop's width in her correction, and whether it names the photo's hash.
    pub word: Option<(u32, bool)>,
}

impl Photo {
    pub fn rel(&self) -> PathBuf {
        Path::new(self.listing).join(&self.leaf)
    }
    pub fn is_held(&self) -> bool {
        match self.nature {
            Nature::Good => false,
            Nature::Tight => self.word.is_none(),
            _ => true,
        }
    }
    pub fn output(&self, profile: &str) -> String {
        let crop = self.word.map_or(100, |w| w.0);
        format!("{profile} of {} at {crop}", self.content)
    }
}

/// One step of a life; numbers are taken modulo what there is.
#[derive(Clone, Debug)]
pub enum Step {
    Put(usize),
    /// The first half only; the rest follows within seconds.
    PutHalf(usize),
    Correct(usize),
    Hint(usize),
    Scan,
    Wait(u64),
    Tick,
    Answer(usize),
    /// The process dies.
    Die,
    /// It stops as it is told to.
    Stop,
    /// It dies, and the next one's disk fails from an operation on for a few operations.
    Fail(u64, u64),
}

pub fn steps() -> impl Strategy<Value = Vec<Step>> {
    let step = prop_oneof![
        6 => any::<usize>().prop_map(Step::Put),
        2 => any::<usize>().prop_map(Step::PutHalf),
        3 => any::<usize>().prop_map(Step::Correct),
        3 => any::<usize>().prop_map(Step::Hint),
        2 => Just(Step::Scan),
        4 => (100u64..15_000).prop_map(Step::Wait),
        1 => Just(Step::Wait(61_000)),
        8 => Just(Step::Tick),
        8 => any::<usize>().prop_map(Step::Answer),
        2 => Just(Step::Die),
        1 => Just(Step::Stop),
        2 => (1u64..40, 1u64..10).prop_map(|(n, m)| Step::Fail(n, m)),
    ];
    prop::collection::vec(step, 5..45)
}

/// One to five photos, some of them the same picture twice, in one listing or in two.
pub fn photos() -> impl Strategy<Value = Vec<Photo>> {
    let nature = prop_oneof![
        6 => Just(Nature::Good),
        2 => Just(Nature::Tight),
        1 => Just(Nature::Bad),
        1 => Just(Nature::Poison),
        1 => Just(Nature::EarlyPoison),
    ];
    let one = (
        0usize..3,
        nature,
        prop::option::of((101u32..110, any::<bool>())),
        any::<bool>(),
        0usize..4,
    );
    prop::collection::vec(one, 1..6).prop_map(|all| {
        let mut photos: Vec<Photo> = Vec::new();
        for (i, (listing, nature, word, timed, twice)) in all.into_iter().enumerate() {
            // Against the order of the names, so that it shows which of both counts.
            let captured = timed.then(|| format!("2026-03-01T09:30:{:02}", 50 - i));
            let mut p = Photo {
                listing: ["", "Mug", "Spring/Bowl"][listing],
                leaf: format!("img-{i}.jpg"),
                content: format!("{nature:?} picture {i} {captured:?} END"),
                nature,
                captured,
                word: word.filter(|_| matches!(nature, Nature::Good | Nature::Tight)),
            };
            let again = twice == 0 && nature == Nature::Good && p.captured.is_some();
            if again && !p.listing.is_empty() {
                // Two names for one picture: her word must say which picture it means.
                p.word = p.word.map(|w| (w.0, true));
                let mut same = p.clone();
                same.leaf = format!("copy-{i}.jpg");
                photos.push(same.clone());
                same.listing = if p.listing == "Mug" {
                    "Spring/Bowl"
                } else {
                    "Mug"
                };
                photos.push(same);
            }
            photos.push(p);
        }
        photos
    })
}

/// Some are of one scale, and not all of those can have the same air.
fn span(text: &str) -> Span {
    let n = f64::from(blake3::hash(text.as_bytes()).as_bytes()[0] % 8);
    Span {
        scale: 0.2 + n / 20.0,
        least: 0.3 + n / 20.0,
        own: 0.6,
        most: 0.9 - n / 20.0,
    }
}

/// What a worker says of such a file; `None` when it dies over it.
pub fn judge(text: &str, ask: &Ask) -> Option<(Answer, Vec<Vec<u8>>)> {
    let is = |nature: Nature| text.starts_with(&format!("{nature:?} "));
    if is(Nature::Bad) || !text.ends_with("END") {
        let why = Refused {
            reason: Reason::Undecodable.code().into(),
            detail: "the picture is incomplete".into(),
        };
        return Some((Answer::Refused(why), Vec::new()));
    }
    let captured = text.split('"').nth(1).map(str::to_owned);
    let facts = Facts {
        format: "JPEG".into(),
        size: Size::new(400, 300),
        orientation: 1,
        captured,
        decoded_bytes: 1000,
        ..Facts::default()
    };
    let Ask::Prepare {
        profiles,
        decide_only,
        ..
    } = ask
    else {
        return (!is(Nature::EarlyPoison)).then(|| (Answer::Surveyed(Box::new(facts)), Vec::new()));
    };
    if is(Nature::Poison) || is(Nature::EarlyPoison) {
        return None;
    }
    let mut blobs = Vec::new();
    let results = profiles.iter().map(|(profile, word)| {
        let crop = word.crop.unwrap_or(Rect::new(0, 0, 100, 75));
        let holds = is(Nature::Tight) && word.crop.is_none();
        blobs.push(format!("{} of {text} at {}", profile.name, crop.w).into_bytes());
        ProfileResult {
            subject: None,
            usable: None,
            crop,
            extension: None,
            thumbnails: Vec::new(),
            confidence: 1.0,
            verdict: if holds { "hold" } else { "deliver" }.into(),
            reasons: if holds {
                vec![Reason::DoesNotFit.code().into()]
            } else {
                Vec::new()
            },
            refused: None,
            file: (!holds && !decide_only).then(|| FileFacts {
                blob: blobs.len() - 1,
                size: crop.size(),
                quality: 90.0,
                subsampling: "4:2:0".into(),
                ssimulacra2: None,
            }),
            span: (!holds && word.crop.is_none()).then(|| span(text).into()),
        }
    });
    let results = results.collect();
    let work = Work {
        facts,
        size: Size::new(400, 300),
        colour: "sRGB".into(),
        remarks: Vec::new(),
        results,
        measures: None,
        proof: None,
        picture: None,
    };
    Some((Answer::Prepared(Box::new(work)), blobs))
}

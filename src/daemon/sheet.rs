//! After a batch: the proof sheet rewritten where it changed, and her desktop told when she wishes.
//! Owns the way from ledger to sheet; refuses to draw.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};
use time::UtcOffset;

use crate::base::disk::text;
use crate::base::geometry::{Rect, Size};
use crate::base::reason::{Reason, Verdict};
use crate::checks::{self, Measures};
use crate::config::Config;
use crate::config::correction::Correction;
use crate::deliver::Trouble;
use crate::deliver::ledger::{self, Photo, Place, State};
use crate::proof::{self, Card, Entry, Frame, Listing, Output, Tally, link, notice, words};
use crate::worker::protocol::{Facts, ProfileResult, WireMeasures, Work};

use super::house::House;
use super::summary::Outcome;
use super::words as said;

/// The proof sheet's folder below the state folder.
pub const FOLDER: &str = "proof";

/// What is kept of a photo's decisions for showing them.
#[derive(Clone, Debug, Default, Serialize, Deserialize)]
#[serde(default)]
pub(super) struct Shown {
    facts: Facts,
    size: Option<[u32; 2]>,
    results: Vec<(String, ProfileResult)>,
    refusal: Option<(String, String)>,
    measures: Option<WireMeasures>,
    /// Her correction that it was prepared by, but for its crops.
    turn: u32,
    accept: bool,
    told: Option<Rect>,
    at: String,
}

impl Shown {
    /// The decisions of a photo that was prepared by `word`.
    pub fn of_work(
        work: &Work,
        profiles: &[String],
        word: Option<&Correction>,
        at: String,
    ) -> String {
        let shown = Self {
            facts: work.facts.clone(),
            size: Some(work.size.into()),
            results: profiles
                .iter()
                .cloned()
                .zip(work.results.iter().cloned())
                .collect(),
            refusal: None,
            measures: work.measures,
            turn: word.map_or(0, |w| w.turn),
            accept: word.is_some_and(|w| w.accept),
            told: word.and_then(|w| w.subject),
            at,
        };
        serde_json::to_string(&shown).unwrap_or_default()
    }
    /// A photo that could not go on as a whole.
    pub fn of_refusal(reason: Reason, detail: &str, at: String) -> String {
        let shown = Self {
            refusal: Some((reason.code().into(), detail.into())),
            at,
            ..Self::default()
        };
        serde_json::to_string(&shown).unwrap_or_default()
    }
}

/// Listings whose pages and texts are to be looked at; that of photos of no listing is empty.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Due {
    All,
    Some(BTreeSet<String>),
}

impl Due {
    pub fn none() -> Self {
        Self::Some(BTreeSet::new())
    }
    pub fn add(&mut self, listing: &str) {
        if let Self::Some(names) = self {
            names.insert(listing.to_owned());
        }
    }
    pub fn join(&mut self, other: Self) {
        match other {
            Self::All => *self = Self::All,
            Self::Some(names) => names.iter().for_each(|n| self.add(n)),
        }
    }
    pub fn is_any(&self) -> bool {
        *self != Self::none()
    }
    pub fn take(&mut self) -> Self {
        std::mem::replace(self, Self::none())
    }
}

impl House {
    /// Rewrites what is due: the pages and texts of listings that changed, then the front pages. What
    /// cannot be written now is tried at the next rescan; losing the sheet loses nothing of hers.
    pub(super) fn write_sheet(&mut self) {
        let mut due = self.due.take();
        due.join(self.due_later.take());
        let names = match due {
            Due::Some(names) => Ok(names.into_iter().collect()),
            Due::All => self.ledger.listings(),
        };
        let mut trouble: Option<Trouble> = None;
        match names {
            Ok(names) => {
                for name in names {
                    if let Err(t) = self.write_listing(&name) {
                        self.due_later.add(&name);
                        trouble.get_or_insert(t);
                    }
                }
                if let Err(t) = self.write_front() {
                    trouble.get_or_insert(t);
                }
            }
            Err(e) => {
                self.due_later = Due::All;
                trouble = Some(e.into());
            }
        }
        if let Some(t) = trouble {
            tracing::warn!("the proof sheet cannot be written now: {t}");
        }
        if self.config.desktop {
            self.tell_desktop();
        }
        self.told = self.summary.lines.len();
    }

    /// One listing's pages and texts, and its card for the front page.
    fn write_listing(&mut self, name: &str) -> Result<(), Trouble> {
        let listing = self.listing(name)?;
        if listing.photos.is_empty() {
            self.cards.remove(name);
            return Ok(());
        }
        for page in proof::listing(&listing, &text(&self.config.folders.inbox)) {
            self.put_page(page)?;
        }
        self.cards.insert(name.to_owned(), Card::of(&listing));
        if !name.is_empty() {
            self.put_texts(name, &listing)?;
        }
        Ok(())
    }

    fn write_front(&self) -> Result<(), Trouble> {
        // The system's offset cannot be asked for beside threads, and may change in months of running.
        let made = words::when(&self.clock.stamp(), UtcOffset::UTC) + " UTC";
        for page in proof::front(&made, self.cards.values()) {
            self.put_page(page)?;
        }
        Ok(())
    }

    fn put_page(&self, (name, bytes): proof::Page) -> Result<(), Trouble> {
        let folder = Path::new(FOLDER);
        let rel = folder.join(name);
        let there = self.state.read(&rel, bytes.len() as u64);
        if there.is_ok_and(|old| old == bytes) {
            return Ok(());
        }
        let put = || {
            self.state.make_folders(folder)?;
            self.state.replace_own(&rel, &bytes)
        };
        put().map_err(Trouble::at(&self.state, &rel))
    }

    /// A listing as the ledger knows it, for its page.
    fn listing(&self, name: &str) -> Result<Listing, Trouble> {
        let mut listing = Listing {
            name: (!name.is_empty()).then(|| name.to_owned()),
            ..Listing::default()
        };
        let mut measured = Vec::new();
        for photo in self.ledger.photos_of(name)? {
            if photo.state == State::Waiting {
                continue;
            }
            let shown: Shown = serde_json::from_str(&photo.facts).unwrap_or_default();
            let outputs = self.ledger.outputs_of(photo.id)?;
            let picture = Path::new(FOLDER).join(proof::picture_path(&photo.hash.to_hex()));
            let picture = self.state.stat(&picture).is_ok_and(|s| s.is_some());
            let entry = entry(&photo, &shown, &outputs, &self.config, picture);
            listing.photos.push(entry);
            measured.push(shown.measures.map(Measures::from));
            listing.changed = listing.changed.max(shown.at);
        }
        if listing.name.is_some() {
            remark(&mut listing, &measured, &self.config);
        }
        Ok(listing)
    }

    fn tell_desktop(&self) {
        let mut batch: Vec<(String, Tally)> = Vec::new();
        for l in &self.summary.lines[self.told.min(self.summary.lines.len())..] {
            let verdict = match &l.outcome {
                Outcome::Delivered { verdict, .. } => *verdict,
                Outcome::Held { .. } => Verdict::Hold,
                _ => continue,
            };
            let title = if l.listing.is_empty() {
                &l.source
            } else {
                &l.listing
            };
            match batch.iter_mut().find(|(t, _)| t == title) {
                Some((_, tally)) => tally.add(verdict),
                None => {
                    let mut tally = Tally::default();
                    tally.add(verdict);
                    batch.push((title.clone(), tally));
                }
            }
        }
        if let Some(words) = notice::sentence(&batch) {
            // In its own thread: a desktop that does not answer must not hold the daemon up.
            std::thread::spawn(move || {
                if let Err(why) = notice::send(&words) {
                    tracing::warn!("{why}");
                }
            });
        }
    }
}

/// What a careful eye remarks about a listing as a whole, and about its photos beside each other.
fn remark(listing: &mut Listing, measured: &[Option<Measures>], config: &Config) {
    let photos = listing.photos.iter().zip(measured).enumerate();
    let (places, known): (Vec<usize>, Vec<(Measures, Size)>) = photos
        .filter_map(|(i, (p, m))| Some((i, (m.clone()?, p.size?))))
        .unzip();
    for (i, beside) in places.iter().zip(checks::compared(&known)) {
        let better = beside
            .better
            .map(|j| listing.photos[places[j]].leaf().to_owned());
        let reasons = [
            beside.unsharp.then_some(Reason::Unsharp),
            better.is_some().then_some(Reason::NearTwin),
        ];
        let entry = &mut listing.photos[*i];
        for frame in &mut entry.frames {
            frame.reasons.extend(reasons.iter().flatten());
        }
        entry.better = better;
    }
    let ready = |name: &str| {
        let photos = listing.photos.iter().flat_map(|p| &p.frames);
        photos
            .filter(|f| f.profile == name && f.file.is_some())
            .count()
    };
    let wishes = config.profiles.iter().any(|p| {
        let made = ready(&p.name);
        made > 0 && made < p.wish as usize
    });
    if wishes {
        listing.remarks.push(Reason::FewPhotos);
    }
    let is_made = |f: &&Frame| f.file.is_some();
    let cover = listing
        .photos
        .iter()
        .find(|p| p.frames.iter().any(|f| is_made(&f)));
    if let Some(cover) = cover {
        if cover.size.is_some_and(|s| s.w < s.h) {
            listing.remarks.push(Reason::CoverShape);
        }
        let mut made = cover.frames.iter().filter(is_made);
        if made.any(|f| f.thumbnails.iter().any(|t| !t.1)) {
            listing.remarks.push(Reason::CoverThumbnail);
        }
    }
}

fn entry(
    photo: &Photo,
    shown: &Shown,
    outputs: &[ledger::Output],
    config: &Config,
    picture: bool,
) -> Entry {
    let note = photo
        .note
        .as_ref()
        .map(|(p, _)| text(&config.folders.held.join(p)));
    let frames = shown
        .results
        .iter()
        .map(|(profile, r)| {
            let rules = config.profile(profile);
            let output = outputs.iter().find(|o| o.profile == *profile);
            let (codes, detail) = match rules.filter(|_| r.verdict() == Verdict::Hold) {
                Some(rules) => said::held(r, rules),
                None => (r.reasons.clone(), String::new()),
            };
            let mut reasons: Vec<Reason> =
                codes.iter().filter_map(|c| Reason::from_code(c)).collect();
            reasons.dedup();
            // The page says what a reason means by itself.
            let new = |d: &String| {
                let known = reasons.first().map_or("", |r| r.meaning());
                !d.is_empty() && (known.is_empty() || !d.starts_with(known))
            };
            let detail = Some(detail).filter(new);
            Frame {
                profile: profile.clone(),
                shape: rules.map_or(crate::base::geometry::Shape::AsIs, |p| p.shape),
                least: rules.map_or(0, |p| p.short_side_min),
                crop: r.crop,
                subject: r.subject,
                extension: r.extension.map(Into::into),
                thumbnails: r.thumbnails.clone(),
                confidence: r.confidence,
                verdict: r.verdict(),
                given: reasons.contains(&Reason::Corrected),
                reasons,
                detail,
                file: output.and_then(|o| file(o, config)),
            }
        })
        .collect();
    Entry {
        source: text(&photo.source),
        blake3: photo.hash.to_hex().to_string(),
        number: photo.number,
        size: shown.size.map(Into::into),
        bytes: Some(photo.stamp.size),
        picture,
        turn: shown.turn,
        accept: shown.accept,
        told: shown.told,
        frames,
        refusal: shown.refusal.as_ref().map(|(code, detail)| {
            (
                Reason::from_code(code).unwrap_or(Reason::Undecodable),
                detail.clone(),
            )
        }),
        note: note.filter(|_| photo.place != Place::Originals),
        ..Entry::default()
    }
}

fn file(output: &ledger::Output, config: &Config) -> Option<Output> {
    let d = output.delivery.as_ref()?;
    let page_folder = config.folders.state.join(FOLDER);
    let path: PathBuf = config.folders.ready.join(&d.output);
    Some(Output {
        href: link::relative(&page_folder, &path),
        name: text(Path::new(path.file_name().unwrap_or_default())),
        size: Size::new(d.width, d.height),
        bytes: d.bytes,
        quality: Some(d.quality),
        score: d.ssimulacra2,
    })
}

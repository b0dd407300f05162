//! After a batch: the proof sheet rewritten where it changed, and her desktop told when she wishes.
//! Owns the way from ledger to sheet; refuses to draw.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::base::disk::text;
use crate::base::reason::{Reason, Verdict};
use crate::checks::{self, Measures};
use crate::config::Config;
use crate::deliver::ledger::{self, Ledger, LedgerError, Photo, Place, State};
use crate::proof::{self, Entry, Frame, Listing, Output, Sheet, Tally, link, notice};
use crate::worker::protocol::{Facts, ProfileResult, WireMeasures, Work};

use super::house::House;
use super::summary::Outcome;

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
    at: String,
}

impl Shown {
    /// The decisions of a prepared photo.
    pub fn of_work(work: &Work, profiles: &[String], at: String) -> String {
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

impl House {
    /// Rewrites the pages that changed; losing the sheet loses nothing of hers.
    pub(super) fn write_sheet(&mut self) {
        let now = self.clock.stamp();
        let made = sheet(&self.ledger, &self.config, &now, &|photo| {
            let picture = Path::new(FOLDER).join(proof::picture_path(&photo.hash.to_hex()));
            self.state.stat(&picture).is_ok_and(|s| s.is_some())
        });
        let sheet = match made {
            Ok(sheet) => sheet,
            Err(e) => return tracing::warn!("the proof sheet cannot be written now: {e}"),
        };
        self.write_texts(&sheet);
        let renamed = std::mem::take(&mut self.renamed);
        if self.told == self.summary.lines.len() && !renamed {
            return;
        }
        let write = || {
            let folder = Path::new(FOLDER);
            self.state
                .make_folders(folder)
                .map_err(|e| crate::deliver::plain(&e))?;
            for (name, bytes) in proof::pages(&sheet) {
                let rel = folder.join(&name);
                let same = self
                    .state
                    .read(&rel, bytes.len() as u64)
                    .is_ok_and(|old| old == bytes);
                if !same {
                    self.state
                        .replace_own(&rel, &bytes)
                        .map_err(|e| crate::deliver::plain(&e))?;
                }
            }
            Ok::<(), String>(())
        };
        if let Err(why) = write() {
            tracing::warn!("the proof sheet cannot be written now: {why}");
        }
        if self.config.desktop {
            self.tell_desktop();
        }
        self.told = self.summary.lines.len();
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

/// Everything the ledger knows, as the page shows it.
fn sheet(
    ledger: &Ledger,
    config: &Config,
    now: &str,
    has_picture: &dyn Fn(&Photo) -> bool,
) -> Result<Sheet, LedgerError> {
    let mut outputs: BTreeMap<i64, Vec<ledger::Output>> = BTreeMap::new();
    for o in ledger.outputs()? {
        outputs.entry(o.photo).or_default().push(o);
    }
    let mut listings: Vec<Listing> = Vec::new();
    let mut measured: Vec<Vec<Option<Measures>>> = Vec::new();
    ledger.each_photo(|photo| {
        if photo.state == State::Waiting {
            return;
        }
        let shown: Shown = serde_json::from_str(&photo.facts).unwrap_or_default();
        let name = (!photo.listing.is_empty()).then(|| photo.listing.clone());
        let mine: Vec<&ledger::Output> = outputs.get(&photo.id).into_iter().flatten().collect();
        if listings.last().is_none_or(|l| l.name != name) {
            listings.push(Listing {
                name,
                ..Listing::default()
            });
            measured.push(Vec::new());
        }
        if let Some(m) = measured.last_mut() {
            m.push(shown.measures.map(Measures::from));
        }
        let Some(listing) = listings.last_mut() else {
            return;
        };
        listing.changed = listing.changed.clone().max(shown.at.clone());
        listing
            .photos
            .push(entry(&photo, &shown, &mine, config, has_picture(&photo)));
    })?;
    for (listing, measured) in listings.iter_mut().zip(&measured) {
        if listing.name.is_some() {
            remark(listing, measured, config);
        }
    }
    Ok(Sheet {
        made: now.get(..16).unwrap_or(now).replace('T', ", ") + " UTC",
        inbox: text(&config.folders.inbox),
        listings,
    })
}

/// What a careful eye remarks about a listing as a whole, and about its photos beside each other.
fn remark(listing: &mut Listing, measured: &[Option<Measures>], config: &Config) {
    let known: Vec<(usize, Measures)> = measured
        .iter()
        .enumerate()
        .filter_map(|(i, m)| m.clone().map(|m| (i, m)))
        .collect();
    let alone: Vec<Measures> = known.iter().map(|(_, m)| m.clone()).collect();
    for ((i, _), reasons) in known.iter().zip(checks::compared(&alone)) {
        if let Some(entry) = listing.photos.get_mut(*i) {
            for frame in &mut entry.frames {
                frame.reasons.extend(&reasons);
            }
        }
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
    if let Some(cover) = listing.photos.first() {
        let frames = cover.frames.iter().filter(|f| f.file.is_some());
        if cover.size.is_some_and(|s| s.w < s.h) {
            listing.remarks.push(Reason::CoverShape);
        }
        if frames.clone().any(|f| f.thumbnails.iter().any(|t| !t.1)) {
            listing.remarks.push(Reason::CoverThumbnail);
        }
    }
}

fn entry(
    photo: &Photo,
    shown: &Shown,
    outputs: &[&ledger::Output],
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
            let mut reasons: Vec<Reason> = r
                .reasons
                .iter()
                .filter_map(|c| Reason::from_code(c))
                .collect();
            reasons.extend(r.refused.as_ref().map(|f| f.reason()));
            reasons.dedup();
            Frame {
                profile: profile.clone(),
                shape: rules.map_or(crate::base::geometry::Shape::AsIs, |p| p.shape),
                least: rules.map_or(0, |p| p.short_side_min),
                crop: r.crop,
                subject: r.subject,
                extension: None,
                thumbnails: r.thumbnails.clone(),
                confidence: r.confidence,
                verdict: r.verdict(),
                given: reasons.contains(&Reason::Corrected),
                reasons,
                detail: r.refused.as_ref().map(|f| f.detail.clone()),
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
        size: crate::base::geometry::Size::new(d.width, d.height),
        bytes: d.bytes,
        quality: Some(d.quality),
        score: d.ssimulacra2,
    })
}

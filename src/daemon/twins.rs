//! Raw files and their twins: a raw file waits for the JPEG or HEIC of its folder and stem, goes
//! where that went, and gives up its place when it comes late. Refuses to know what either shows.

use std::collections::{BTreeMap, BTreeSet};
use std::ffi::OsString;
use std::path::{Path, PathBuf};

use crate::base::clock::Moment;
use crate::base::disk::{Kind as Thing, Stamp, text};
use crate::base::reason::Reason;
use crate::base::record::Record;
use crate::deliver::Trouble;
use crate::deliver::ledger::{Decision, Enlist, LedgerError, Photo, Place, Plan, State};
use crate::inbox::names;
use crate::photo::sniff::{self, Kind};
use crate::worker::protocol::Facts;

use super::house::{House, Stage};
use super::summary::Outcome;

/// What a raw file and its twin have in common: the folder, and the stem, letter case aside.
fn pair(rel: &Path) -> PathBuf {
    let stem = rel.file_stem().unwrap_or_default();
    let lower = stem
        .to_str()
        .map_or_else(|| stem.to_owned(), |s| OsString::from(s.to_lowercase()));
    rel.with_file_name(lower)
}

fn name_of(rel: &Path) -> String {
    text(Path::new(rel.file_name().unwrap_or_default()))
}

/// The facts that the ledger keeps of a photo: as read at arrival, or within its decision.
pub(super) fn facts_of(photo: &Photo) -> Facts {
    let kept: serde_json::Value = serde_json::from_str(&photo.facts).unwrap_or_default();
    let facts = kept.get("facts").unwrap_or(&kept);
    serde_json::from_value(facts.clone()).unwrap_or_default()
}

/// Whether a photo of the ledger is a raw file; its name tells where it was never read.
fn is_raw(photo: &Photo) -> bool {
    let facts = facts_of(photo);
    facts.raw || facts.format.is_empty() && sniff::kind(&name_of(&photo.source), &[]) == Kind::Raw
}

/// Whether these facts are of a kind that a raw file waits for.
fn may_be_twin(facts: &Facts) -> bool {
    !facts.raw && matches!(facts.format.as_str(), "JPEG" | "HEIC")
}

fn is_twin(photo: &Photo) -> bool {
    let facts = facts_of(photo);
    let extension = photo.source.extension().unwrap_or_default();
    let by_name = || {
        ["jpg", "jpeg", "jpe", "heic", "heif", "hif"]
            .iter()
            .any(|e| extension.eq_ignore_ascii_case(e))
    };
    may_be_twin(&facts) || facts.format.is_empty() && by_name()
}

/// Cameras count file names round and round: two capture times that differ by a second or more
/// tell two shots of one name apart. A time that is not there tells nothing.
fn agree(a: Option<&str>, b: Option<&str>) -> bool {
    const TO_THE_SECOND: usize = "2026-03-01T09:30:00".len();
    match (a, b) {
        (Some(a), Some(b)) => a.get(..TO_THE_SECOND) == b.get(..TO_THE_SECOND),
        _ => true,
    }
}

impl House {
    /// A raw file was read: it goes where its twin went, or waits for one.
    pub(super) fn raw_surveyed(
        &mut self,
        rel: &Path,
        hash: blake3::Hash,
        facts: Facts,
        now: Moment,
    ) {
        match self.concluded_twin(rel, &facts) {
            Ok(Some(twin)) => self.set_aside(rel, hash, &twin, now),
            Ok(None) => self.set_stage(rel, Stage::Raw(hash, facts)),
            Err(e) => {
                self.trouble(&e.into(), now);
                self.later(rel, None, now);
            }
        }
    }

    /// Raw files that have waited long enough follow their twin, or go their own way.
    pub(super) fn settle_raws(&mut self, now: Moment) {
        let due = self.raws_open(now).into_iter().filter(|(_, t)| *t <= now);
        for (rel, _) in due.collect::<Vec<_>>() {
            let Some(Stage::Raw(hash, facts)) = self.arrivals.get(&rel).map(|a| a.stage.clone())
            else {
                continue;
            };
            match self.concluded_twin(&rel, &facts) {
                Ok(Some(twin)) => self.set_aside(&rel, hash, &twin, now),
                Ok(None) => self.goes_alone(&rel, hash, facts, now),
                Err(e) => {
                    self.trouble(&e.into(), now);
                    self.later(&rel, None, now);
                }
            }
        }
    }

    /// Raw files that wait for nothing but time, and until when.
    pub(super) fn raws_open(&self, now: Moment) -> Vec<(PathBuf, Moment)> {
        let raws = || {
            let all = self.arrivals.iter();
            all.filter(|(_, a)| matches!(a.stage, Stage::Raw(..)))
        };
        if raws().next().is_none() {
            return Vec::new();
        }
        let awaited = self.awaited(now);
        let mut unread: BTreeMap<&str, bool> = BTreeMap::new();
        let mut open = Vec::new();
        for (rel, a) in raws() {
            // A listing's raw files are numbered with its other photos, when all have been read.
            let listing = a.listing.as_str();
            let blocked = !listing.is_empty()
                && *unread.entry(listing).or_insert_with(|| {
                    self.surveys_run(listing) || self.settle.listing_waits(listing, names::listing)
                });
            if blocked || awaited.contains(&pair(rel)) {
                continue;
            }
            let settle = self.listing_settle();
            let due = if listing.is_empty() {
                let quiet = self.settle.quiet_for(rel, now).unwrap_or(settle);
                now + settle.saturating_sub(quiet)
            } else {
                self.settle.listing_due(listing, settle).unwrap_or(now)
            };
            open.push((rel.clone(), due));
        }
        open
    }

    /// Folder and stem of everything on its way that may yet turn out to be a twin.
    fn awaited(&self, now: Moment) -> BTreeSet<PathBuf> {
        let coming = self.settle.waiting(now).into_iter().map(|(p, _)| pair(&p));
        let here = self.arrivals.iter().filter(|(_, a)| match &a.stage {
            Stage::Raw(..) => false,
            Stage::Surveyed(_, facts) => may_be_twin(facts),
            _ => true,
        });
        coming.chain(here.map(|(p, _)| pair(p))).collect()
    }

    /// The photo of which the raw file at `rel` is another take, if it is delivered or held.
    fn concluded_twin(&self, rel: &Path, facts: &Facts) -> Result<Option<Photo>, LedgerError> {
        let mine = pair(rel);
        let all = self
            .ledger
            .photos_where(&names::listing(rel), |p| pair(p) == mine)?;
        Ok(all.into_iter().find(|p| {
            p.state != State::Waiting
                && is_twin(p)
                && agree(p.captured.as_deref(), facts.captured.as_deref())
        }))
    }

    /// No twin came: the raw file is a photo like any other.
    fn goes_alone(&mut self, rel: &Path, hash: blake3::Hash, facts: Facts, now: Moment) {
        if let Some(why) = &facts.refused {
            return self.refused(rel, None, why, now);
        }
        let Some(a) = self.arrivals.get(rel) else {
            return;
        };
        if !a.listing.is_empty() {
            return self.set_stage(rel, Stage::Surveyed(hash, facts));
        }
        let stamp = a.stamp;
        if let Some(named) = self.enlist(rel, stamp, &hash, &facts, now) {
            self.set_stage(rel, Stage::Ready(named));
        }
    }

    /// The twin is used: the raw file is put beside it, or stays and is settled business.
    fn set_aside(&mut self, rel: &Path, hash: blake3::Hash, twin: &Photo, now: Moment) {
        let Some(stamp) = self.arrivals.get(rel).map(|a| a.stamp) else {
            return;
        };
        if self.keeps() {
            self.ignore(rel, stamp, Reason::RawTwin);
            return self.wake_twins();
        }
        let detail = format!("{} is used", name_of(&twin.source));
        let d = Decision {
            lines: vec![raw_line(rel, &twin.listing, &hash, detail)],
            moves: vec![Plan {
                own: false,
                origin: Place::Inbox,
                source: rel.to_owned(),
                stamp,
                place: match twin.state {
                    State::Held => Place::Held,
                    _ => Place::Originals,
                },
                note: None,
            }],
            ..Decision::default()
        };
        if let Err(e) = self.ledger.decide(twin.id, d) {
            self.trouble(&e.into(), now);
            return self.later(rel, None, now);
        }
        self.arrivals.remove(rel);
        self.note_raw(rel);
        self.finish_moves(now);
        self.wake_twins();
        self.flush_journal();
    }

    /// A JPEG or HEIC came after its raw file had gone its own way: it takes that photo's place,
    /// number and outputs. Returns whether it did, or waits to.
    pub(super) fn takes_over(
        &mut self,
        rel: &Path,
        stamp: Stamp,
        hash: blake3::Hash,
        facts: &Facts,
        now: Moment,
    ) -> bool {
        match self.try_take_over(rel, stamp, hash, facts, now) {
            Ok(done) => done,
            Err(t) => {
                self.trouble(&t, now);
                self.later(rel, None, now);
                true
            }
        }
    }

    fn try_take_over(
        &mut self,
        rel: &Path,
        stamp: Stamp,
        hash: blake3::Hash,
        facts: &Facts,
        now: Moment,
    ) -> Result<bool, Trouble> {
        if !may_be_twin(facts) {
            return Ok(false);
        }
        let (mine, listing) = (pair(rel), names::listing(rel));
        let all = self.ledger.photos_where(&listing, |p| pair(p) == mine)?;
        let raw = all
            .into_iter()
            .find(|p| is_raw(p) && agree(p.captured.as_deref(), facts.captured.as_deref()));
        let Some(raw) = raw else {
            return Ok(false);
        };
        if self.is_on_its_way(raw.id) {
            // Looked at again when that one is concluded.
            self.set_stage(rel, Stage::Twin(hash));
            return Ok(true);
        }
        self.carry_over(&raw, facts_of(&raw).size, (rel, &hash, facts.size))?;
        let mut moves = Vec::new();
        if raw.place == Place::Held
            && let Ok(Some(found)) = self.held.stat(&raw.path)
            && self.held.hash(&raw.path).is_ok_and(|h| h == Some(raw.hash))
        {
            moves.push(from_held(raw.path.clone(), found.stamp));
        }
        let detail = format!("{} came and takes its place", name_of(rel));
        let line = raw_line(&raw.source, &listing, &raw.hash, detail);
        let arrival = Enlist {
            hash: &hash,
            listing: &listing,
            source: rel,
            stamp,
            captured: facts.captured.as_deref(),
            facts: &serde_json::to_string(facts).unwrap_or_default(),
        };
        self.ledger.replace(raw.id, &arrival, &moves, line)?;
        self.remakes.remove(&raw.id);
        self.note_raw(&raw.source);
        self.finish_moves(now);
        self.flush_journal();
        if !listing.is_empty() && raw.number.is_none() {
            self.set_stage(rel, Stage::Surveyed(hash, facts.clone()));
        } else if let Some(named) = self.enlist(rel, stamp, &hash, facts, now) {
            self.set_stage(rel, Stage::Ready(named));
        }
        Ok(true)
    }

    /// Whether a worker has this photo in hand, or will have.
    fn is_on_its_way(&self, id: i64) -> bool {
        let named = self.arrivals.values().any(|a| match &a.stage {
            Stage::Ready(n) | Stage::Later(_, Some(n)) => n.id == id,
            _ => false,
        });
        named
            || self
                .jobs
                .values()
                .any(|j| j.photo.is_some_and(|p| p.id == id))
    }

    /// Raw files that were held along with a photo leave with it.
    pub(super) fn raws_along(&self, photo: &Photo) -> Vec<Plan> {
        if photo.place != Place::Held {
            return Vec::new();
        }
        let mine = pair(&photo.path);
        let folder = photo.path.parent().unwrap_or(Path::new(""));
        let mut here = self.held.list(folder).unwrap_or_default();
        here.retain(|(rel, stat)| {
            stat.kind == Thing::File
                && *rel != photo.path
                && pair(rel) == mine
                && sniff::kind(&name_of(rel), &[]) == Kind::Raw
        });
        if here.is_empty() {
            return Vec::new();
        }
        let own = self.ledger.photos_where(&photo.listing, |_| true);
        let own = own.unwrap_or_default();
        here.retain(|(rel, _)| !own.iter().any(|p| p.place == Place::Held && p.path == *rel));
        here.into_iter()
            .map(|(rel, stat)| from_held(rel, stat.stamp))
            .collect()
    }

    fn note_raw(&mut self, rel: &Path) {
        let reason = Reason::RawTwin.code().into();
        self.note_outcome(rel, "", Outcome::Ignored { reason });
    }
}

fn from_held(source: PathBuf, stamp: Stamp) -> Plan {
    Plan {
        own: false,
        origin: Place::Held,
        source,
        stamp,
        place: Place::Originals,
        note: None,
    }
}

fn raw_line(rel: &Path, listing: &str, hash: &blake3::Hash, detail: String) -> Record {
    let mut line = Record::of("ignored");
    line.source = Some(text(rel));
    line.listing = Some(listing.into());
    line.blake3 = Some(hash.to_hex().to_string());
    line.reasons = Some(vec![Reason::RawTwin.code().into()]);
    line.detail = Some(detail);
    line
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pair_is_of_one_folder_and_stem_letter_case_aside() {
        let a = pair(Path::new("Mug/IMG_1.NEF"));
        assert_eq!(a, pair(Path::new("Mug/img_1.jpg")));
        for other in [
            "IMG_1.jpg",
            "Mug/IMG_1.edit.jpg",
            "mug/IMG_1.jpg",
            "Mug/IMG_11.jpg",
        ] {
            assert_ne!(a, pair(Path::new(other)), "{other}");
        }
    }

    #[test]
    fn capture_times_that_differ_tell_two_shots_of_one_name_apart() {
        let at = Some("2026-03-01T09:30:00.5");
        assert!(agree(at, Some("2026-03-01T09:30:00")));
        assert!(agree(at, None) && agree(None, None));
        assert!(!agree(at, Some("2027-03-01T09:30:00")));
        assert!(!agree(at, Some("2026-03-01T09:30:01")));
    }
}

//! Her corrections: found beside photos or by their hash, applied at arrival and later, and kept
//! beside the photo they speak of. Owns which photo is meant; the words' rules live in `config`.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::base::clock::Moment;
use crate::base::disk::{Kind, Root, Stamp, text};
use crate::base::geometry::Size;
use crate::base::reason::Reason;
use crate::base::record::Record;
use crate::config::correction::{self, Correction, MOST_BYTES};
use crate::deliver::ledger::{Photo, Place, Seen, State};
use crate::deliver::{Trouble, archive};
use crate::inbox::names;
use crate::inbox::scan::{self, Found};

use super::house::House;
use super::summary::Outcome;

/// A correction file as it was last read.
pub(super) struct Known {
    stamp: Stamp,
    /// `None` when it cannot be used.
    word: Option<Correction>,
    since: Moment,
    /// Whether the photo it speaks of is here.
    fits: bool,
    /// Whether it was said that no photo fits it.
    told: bool,
}

/// Sync programs bring small files first: so long a correction may wait for its photo before that is said.
const EARLY: Duration = Duration::from_secs(600);

/// All correction files, by where they lie.
pub(super) type Corrections = BTreeMap<(u8, PathBuf), Known>;

const PLACES: [Place; 3] = [Place::Inbox, Place::Held, Place::Originals];

impl House {
    pub(super) fn root_of(&self, place: Place) -> Option<Root> {
        match place {
            Place::Inbox => self.inbox.clone(),
            Place::Held => Some(self.held.clone()),
            Place::Originals => Some(self.originals.clone()),
        }
    }

    /// Reads all corrections anew and queues photos that are to be made again.
    pub(super) fn look_for_corrections(&mut self, now: Moment) {
        let mut here = Vec::new();
        for (i, place) in PLACES.into_iter().enumerate() {
            let Some(root) = self.root_of(place) else {
                continue;
            };
            let Ok((found, _)) = scan::scan_for(&root, Path::new(""), names::is_correction) else {
                continue;
            };
            here.extend(found.into_iter().map(|f| (i as u8, f)));
        }
        self.corrections
            .retain(|(i, rel), _| here.iter().any(|(j, f)| i == j && f.rel == *rel));
        for (i, f) in here {
            self.read_correction(i, &f, now);
        }
        self.apply_corrections(now);
    }

    fn read_correction(&mut self, index: u8, found: &Found, now: Moment) {
        let place = PLACES[usize::from(index)];
        let key = (index, found.rel.clone());
        let stamp = found.stat.stamp;
        if found.stat.kind != Kind::File
            || self.corrections.get(&key).is_some_and(|k| k.stamp == stamp)
        {
            return;
        }
        let Some(root) = self.root_of(place) else {
            return;
        };
        let names: Vec<&str> = self
            .config
            .profiles
            .iter()
            .map(|p| p.name.as_str())
            .collect();
        let shown = PathBuf::from(text(&found.rel));
        let read = root
            .read(&found.rel, MOST_BYTES as u64)
            .map_err(|e| crate::deliver::plain(&e))
            .and_then(|b| correction::parse(&b, &shown, &names).map_err(|e| e.to_string()));
        let word = match read {
            Ok(w) => Some(w.correction),
            Err(why) => {
                self.refuse_correction(place, &found.rel, stamp, &why);
                None
            }
        };
        let known = Known {
            stamp,
            word,
            since: now,
            fits: true,
            told: false,
        };
        self.corrections.insert(key, known);
    }

    /// Says once that a correction cannot be used.
    fn refuse_correction(&mut self, place: Place, rel: &Path, stamp: Stamp, why: &str) {
        let outcome = Outcome::Ignored {
            reason: Reason::CorrectionRefused.code().into(),
        };
        self.tell_of_correction(place, rel, stamp, Reason::CorrectionRefused, why, outcome);
    }

    /// Says once of each correction that no photo fits it, when it has waited long enough and nothing else
    /// is on its way; it goes on waiting.
    pub(super) fn tell_of_lonely_corrections(&mut self, now: Moment) {
        let early = if self.manner.once {
            Duration::ZERO
        } else {
            EARLY
        };
        let lonely = |all: &Corrections| -> Vec<(u8, PathBuf)> {
            let waits = |k: &Known| !k.fits && !k.told && now.saturating_sub(k.since) >= early;
            let found = all.iter().filter(|(_, k)| waits(k));
            found.map(|(key, _)| key.clone()).collect()
        };
        if self.inbox.is_none() || lonely(&self.corrections).is_empty() {
            return;
        }
        // Its photo may have come since they were last looked for.
        self.look_for_corrections(now);
        if !self.is_idle() {
            return;
        }
        let why = "no photo that it speaks of is here; it is used when one comes";
        for key in lonely(&self.corrections) {
            let Some(known) = self.corrections.get_mut(&key) else {
                continue;
            };
            known.told = true;
            let (place, stamp) = (PLACES[usize::from(key.0)], known.stamp);
            let outcome = Outcome::Failed { detail: why.into() };
            let why = format!("{}: {why}", text(&key.1));
            self.tell_of_correction(place, &key.1, stamp, Reason::CorrectionWaits, &why, outcome);
        }
        self.flush_journal();
    }

    fn tell_of_correction(
        &mut self,
        place: Place,
        rel: &Path,
        stamp: Stamp,
        reason: Reason,
        why: &str,
        outcome: Outcome,
    ) {
        let key = Path::new("correction:").join(place.code()).join(rel);
        let told = self.ledger.seen(&key).ok().flatten();
        if told.is_some_and(|s| s.stamp == stamp && s.why == reason.code()) {
            return;
        }
        tracing::warn!("{why}");
        let event = match &outcome {
            Outcome::Failed { .. } => "failed",
            _ => "ignored",
        };
        let mut line = Record::of(event);
        line.source = Some(text(rel));
        line.listing = Some(names::listing(rel));
        line.reasons = Some(vec![reason.code().into()]);
        line.detail = Some(why.lines().next().unwrap_or_default().into());
        let seen = Seen {
            stamp,
            why: reason.code().into(),
        };
        if self.ledger.conclude(&key, &seen, Some(line)).is_ok() {
            self.note_outcome(rel, "", outcome);
        }
    }

    /// The correction in force for a photo that lies at `path` of `place`: one that names its hash
    /// wherever it lies, else the one beside it.
    pub(super) fn correction_for(
        &self,
        place: Place,
        path: &Path,
        hash: &blake3::Hash,
    ) -> Option<Correction> {
        let words = self.corrections.iter().filter_map(|((i, rel), k)| {
            let beside =
                PLACES[usize::from(*i)] == place && names::corrected(rel).as_deref() == Some(path);
            k.word.as_ref().map(|w| (k.stamp.mtime, beside, w))
        });
        correction::in_force(words, hash).cloned()
    }

    /// The photo that a correction without a hash means: the one beside it, or the only one that
    /// once arrived at its place.
    fn meant(photos: &[Photo], place: Place, rel: &Path) -> Result<Option<i64>, ()> {
        let Some(named) = names::corrected(rel) else {
            return Ok(None);
        };
        if let Some(p) = photos.iter().find(|p| p.place == place && p.path == named) {
            return Ok(Some(p.id));
        }
        if place != Place::Inbox {
            return Ok(None);
        }
        let mut fits = photos.iter().filter(|p| p.source == named);
        match (fits.next(), fits.next()) {
            (Some(p), None) => Ok(Some(p.id)),
            (None, _) => Ok(None),
            (Some(_), Some(_)) => Err(()),
        }
    }

    /// Whether what a correction is named after lies beside it.
    fn stands_beside(&self, place: Place, rel: &Path) -> bool {
        let named = names::corrected(rel);
        let root = self.root_of(place);
        named
            .zip(root)
            .is_some_and(|(named, root)| root.stat(&named).is_ok_and(|s| s.is_some()))
    }

    /// Queues the photos whose correction is not the one they were made by.
    fn apply_corrections(&mut self, now: Moment) {
        if self.corrections.is_empty() {
            return;
        }
        let photos = match self.ledger.photos() {
            Ok(p) => p,
            Err(e) => return self.trouble(&e.into(), now),
        };
        let mut refused = Vec::new();
        let mut again = Vec::new();
        let mut lonely = Vec::new();
        for ((i, rel), known) in &self.corrections {
            let place = PLACES[usize::from(*i)];
            let Some(word) = &known.word else { continue };
            let ids: Vec<i64> = match &word.photo {
                Some(hex) => {
                    let fits = photos.iter().filter(|p| p.hash.to_hex().as_str() == hex);
                    fits.map(|p| p.id).collect()
                }
                None => match Self::meant(&photos, place, rel) {
                    Ok(id) => id.into_iter().collect(),
                    Err(()) => {
                        refused.push((place, rel.clone(), known.stamp));
                        continue;
                    }
                },
            };
            if ids.is_empty() && !self.stands_beside(place, rel) {
                lonely.push((*i, rel.clone()));
            }
            let meant = photos.iter().filter(|p| ids.contains(&p.id));
            // Of a photo that is in several listings it lies beside one.
            let lies = |p: &Photo| {
                p.place == place && archive::with_suffix(&p.path, archive::CORRECTION) == *rel
            };
            let beside = meant.clone().any(lies);
            for p in meant.filter(|p| p.state != State::Waiting) {
                again.push((p.clone(), place, rel.clone(), word.clone(), beside));
            }
        }
        for (key, known) in &mut self.corrections {
            known.fits = !lonely.contains(key);
        }
        for (place, rel, stamp) in refused {
            let why = format!("{}: the name fits several photos", text(&rel));
            self.refuse_correction(place, &rel, stamp, &why);
        }
        for (photo, place, rel, word, beside) in again {
            let in_force = match &word.photo {
                Some(_) => self.correction_for(photo.place, &photo.path, &photo.hash),
                None => Some(word.clone()),
            };
            if in_force.as_ref() != Some(&word) {
                continue;
            }
            if !beside {
                self.keep_beside(&photo, place, &rel);
            }
            let text = word.to_toml();
            if photo.correction.as_deref() != Some(text.as_str()) {
                self.remake(photo.id, false, Some(word));
            }
        }
    }

    /// Another file takes the place of `photo`, whose picture is `was` large: her correction of it
    /// counts for the new one at `rel`, `is` large, as well, its boxes drawn at that size, unless she
    /// has already corrected that one. Pictures of another shape are told of and not guessed at.
    ///
    /// # Errors
    /// The new correction could not be written.
    pub(super) fn carry_over(
        &mut self,
        photo: &Photo,
        was: Size,
        (rel, hash, is): (&Path, &blake3::Hash, Size),
    ) -> Result<(), Trouble> {
        let Some(old) = self.correction_for(photo.place, &photo.path, &photo.hash) else {
            return Ok(());
        };
        if self.correction_for(Place::Inbox, rel, hash).is_some() {
            return Ok(());
        }
        let Some(mut word) = old.redrawn(was, is) else {
            let from = photo.path.file_name().unwrap_or_default();
            let why = format!(
                "the correction of {} is for a picture of another shape, so it was not used",
                text(Path::new(from))
            );
            tracing::warn!("{}: {why}", text(rel));
            let mut line = Record::of("ignored");
            line.source = Some(text(rel));
            line.listing = Some(names::listing(rel));
            line.blake3 = Some(hash.to_hex().to_string());
            line.reasons = Some(vec![Reason::CorrectionRefused.code().into()]);
            line.detail = Some(why.clone());
            self.ledger.post(line)?;
            self.note_outcome(rel, "", Outcome::Failed { detail: why });
            return Ok(());
        };
        word.photo = Some(hash.to_hex().to_string());
        let Some(root) = self.root_of(photo.place) else {
            return Ok(());
        };
        let folder = photo.path.parent().unwrap_or(Path::new(""));
        let beside = folder.join(rel.file_name().unwrap_or_default());
        let wanted = archive::with_suffix(&beside, archive::CORRECTION);
        let at = |e| Trouble::at(&root, &wanted)(e);
        let mut n = 1;
        while root.stat(&archive::free(&wanted, n)).map_err(at)?.is_some() {
            n += 1;
        }
        let target = archive::free(&wanted, n);
        // Whole or not at all, however the process ends.
        let half = archive::with_suffix(&target, ".new");
        if root.stat(&half).map_err(at)?.is_some() {
            root.remove(&half).map_err(at)?;
        }
        root.make_folders(folder).map_err(at)?;
        root.write_new(&half, word.to_toml().as_bytes())
            .map_err(at)?;
        root.rename(&half, &root, &target).map_err(at)?;
        root.sync_folder(folder).map_err(at)?;
        if let Some(stat) = root.stat(&target).map_err(at)?
            && let Some(i) = PLACES.iter().position(|p| *p == photo.place)
        {
            let known = Known {
                stamp: stat.stamp,
                word: Some(word),
                since: self.clock.now(),
                fits: true,
                told: false,
            };
            self.corrections.insert((i as u8, target), known);
        }
        Ok(())
    }

    /// A correction that lies elsewhere moves beside its photo; an older one there steps aside.
    fn keep_beside(&self, photo: &Photo, place: Place, rel: &Path) {
        let target = archive::with_suffix(&photo.path, archive::CORRECTION);
        if photo.place == place && target == rel {
            return;
        }
        let (Some(from), Some(to)) = (self.root_of(place), self.root_of(photo.place)) else {
            return;
        };
        if !from.stat(rel).is_ok_and(|s| s.is_some()) {
            return;
        }
        if to.stat(&target).is_ok_and(|s| s.is_some()) {
            let aside = archive::with_suffix(&photo.path, ".framing.old.toml");
            let mut n = 1;
            while to
                .stat(&archive::free(&aside, n))
                .is_ok_and(|s| s.is_some())
            {
                n += 1;
            }
            let _ = to.rename(&target, &to, &archive::free(&aside, n));
        }
        archive::follow(&from, &to, rel, &target);
    }
}

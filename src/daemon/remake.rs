//! Making outputs again from originals: because a correction came or she asked for it.
//! Owns the queue of such photos; refuses to decide what replaces what.

use std::collections::BTreeSet;
use std::path::Path;

use crate::base::clock::Moment;
use crate::base::disk::{Stamp, text};
use crate::base::reason::Reason;
use crate::base::record::Record;
use crate::config::correction::Correction;
use crate::deliver::ledger::{LedgerError, Photo, State};
use crate::worker::host::{Given, Lost};
use crate::worker::pool::Job;
use crate::worker::protocol::{Answer, Task};

use super::air::Turn;
use super::house::{House, InHand, Named};
use super::refuse::MOST_DEATHS;
use super::summary::Outcome;

/// Said of a photo that took the daemon along too often.
pub(super) const AGAIN_AND_AGAIN: &str = "reading it ended the program again and again";

/// One photo to be made again.
#[derive(Clone, Debug)]
pub(super) struct Remake {
    /// She asked for it by its own name: edited and deleted outputs are made again too.
    pub asked: bool,
    pub word: Option<Correction>,
    /// Its air within its listing was decided again.
    pub aired: bool,
}

impl House {
    /// Queues a photo to be made again.
    pub(super) fn remake(&mut self, id: i64, asked: bool, word: Option<Correction>) {
        if !self
            .jobs
            .values()
            .any(|j| j.again.is_some() && j.photo.is_some_and(|p| p.id == id))
        {
            let aired = false;
            let asked = asked || self.remakes.get(&id).is_some_and(|r| r.asked);
            self.remakes.insert(id, Remake { asked, word, aired });
            self.glimpses.remove(&id);
        }
    }

    /// Queues again what was asked for and not done when the process before ended.
    pub(super) fn resume_remakes(&mut self) -> Result<(), LedgerError> {
        for (id, asked) in self.ledger.asked_again()? {
            let p = self.ledger.photo_by_id(id)?;
            let word = self.correction_for(p.place, &p.path, &p.hash);
            self.remake(id, asked, word);
        }
        Ok(())
    }

    /// Queues what `redo` names: a listing, which is numbered anew too, a source path, an output path or
    /// name; nothing for all. `changed`: only photos whose profile or correction changed. What she edited
    /// or deleted is made again only where it is named itself. What is queued is written down first. Returns
    /// how many.
    ///
    /// # Errors
    /// The first name that nothing has, or the ledger's error, in words.
    pub fn redo(&mut self, names: &[String], changed: bool) -> Result<usize, String> {
        let photos = self.ledger.photos().map_err(|e| e.to_string())?;
        let outputs = self.ledger.outputs().map_err(|e| e.to_string())?;
        let mut chosen: Vec<&Photo> = Vec::new();
        let mut listings: Vec<&str> = Vec::new();
        let mut asked: Vec<i64> = Vec::new();
        for name in names {
            let trimmed = name.trim_end_matches('/');
            let before = chosen.len();
            chosen.extend(photos.iter().filter(|p| p.listing == trimmed));
            if chosen.len() > before && !trimmed.is_empty() {
                listings.push(trimmed);
            }
            let named = photos.iter().filter(|p| {
                text(&p.source) == trimmed
                    || outputs.iter().filter(|o| o.photo == p.id).any(|o| {
                        let path = Path::new(&o.path);
                        o.path == trimmed
                            || path.file_name().is_some_and(|n| n == trimmed)
                            || path.file_stem().is_some_and(|n| n == trimmed)
                    })
            });
            for p in named {
                chosen.push(p);
                asked.push(p.id);
            }
            if chosen.len() == before {
                return Err(format!(
                    "{name}: no photo, output or listing of this name\nhint: `stallhand status` and the proof sheet tell the names"
                ));
            }
        }
        if names.is_empty() {
            chosen = photos.iter().collect();
        }
        let ids: Vec<i64> = chosen
            .into_iter()
            .filter(|p| p.state != State::Waiting)
            .filter(|p| !changed || self.is_outdated(p, &outputs))
            .map(|p| p.id)
            .collect();
        let queue: Vec<(i64, bool)> = ids.iter().map(|id| (*id, asked.contains(id))).collect();
        self.ledger.ask_again(&queue).map_err(|e| e.to_string())?;
        for id in &ids {
            let Ok(p) = self.ledger.photo_by_id(*id) else {
                continue;
            };
            let word = self.correction_for(p.place, &p.path, &p.hash);
            self.remake(*id, asked.contains(id), word);
        }
        for listing in listings {
            let done = self.renumber(listing);
            if let Err(t) = done.and_then(|()| self.ask_for_texts(listing)) {
                let now = self.clock.now();
                self.trouble(&t, now);
            }
        }
        self.flush_journal();
        Ok(self.remakes.len())
    }

    /// Whether a profile that applies has changed since, or never made its output.
    fn is_outdated(&self, photo: &Photo, outputs: &[crate::deliver::ledger::Output]) -> bool {
        let word = self.correction_for(photo.place, &photo.path, &photo.hash);
        if word.map(|w| w.to_toml()) != photo.correction {
            return true;
        }
        self.config.profiles_for(&photo.source).iter().any(|p| {
            let made = outputs
                .iter()
                .find(|o| o.photo == photo.id && o.profile == p.name);
            match made {
                Some(o) => o.fingerprint != self.config.fingerprint(p),
                None => photo.state == State::Delivered,
            }
        })
    }

    /// Jobs for queued photos, as far as workers are free.
    pub(super) fn remake_jobs(&mut self, now: Moment, jobs: &mut Vec<Job>) {
        if self.remakes.is_empty() {
            return;
        }
        let moving = match self.moving() {
            Ok(m) => m,
            Err(e) => return self.trouble(&e.into(), now),
        };
        let queued: Vec<i64> = self.remakes.keys().copied().collect();
        for id in queued.into_iter().filter(|id| !moving.contains(id)) {
            if self.jobs.len() >= self.most_workers {
                return;
            }
            let Some(remake) = self.remakes.remove(&id) else {
                continue;
            };
            let Ok(photo) = self.ledger.photo_by_id(id) else {
                continue;
            };
            let Some(root) = self.root_of(photo.place) else {
                continue;
            };
            if self.is_guilty(&photo.hash) {
                self.give_up(&photo, &remake, AGAIN_AND_AGAIN, now);
                continue;
            }
            let suspect = self.is_suspect(&photo.hash);
            if self.suspect_runs() || suspect && !self.jobs.is_empty() {
                self.remakes.insert(id, remake);
                continue;
            }
            let word = remake.word.as_ref();
            let profiles = self.config.profiles_for(&photo.source);
            if profiles.is_empty() {
                self.no_more(id, now);
                continue;
            }
            let (ask, look) = match self.turn_of(id, &photo.listing, &profiles, word, !remake.aired)
            {
                Ok(Turn::Prepare(ask)) => (ask, false),
                Ok(Turn::Look(ask)) => (ask, true),
                turn => {
                    self.remakes.insert(id, remake);
                    if let Err(e) = turn {
                        return self.trouble(&e.into(), now);
                    }
                    continue;
                }
            };
            if let Err(e) = self.ledger.take_in_hand(&photo.hash) {
                self.remakes.insert(id, remake);
                return self.trouble(&e.into(), now);
            }
            let name = text(Path::new(photo.source.file_name().unwrap_or_default()));
            let job = self.next_job;
            self.next_job += 1;
            self.jobs.insert(
                job,
                InHand {
                    path: photo.path.clone(),
                    photo: Some(Named {
                        id,
                        hash: photo.hash,
                        number: photo.number.unwrap_or(0),
                        decoded: 0,
                    }),
                    mark: photo.hash,
                    word: remake.word.clone(),
                    since: now,
                    again: Some(remake),
                    look,
                },
            );
            jobs.push(Job {
                id: job,
                task: Task::new(name, &self.config.limits, ask),
                root,
                path: photo.path,
                limit: self.config.workers.photo_time,
            });
        }
    }

    /// Photos whose original is still to be moved: it is read where it will lie.
    pub(super) fn moving(&self) -> Result<BTreeSet<i64>, LedgerError> {
        let moves = self.ledger.moves()?;
        Ok(moves.iter().filter(|m| m.own).map(|m| m.photo.id).collect())
    }

    /// A queued photo came back, or its worker died: then it is tried once more, alone.
    pub(super) fn came_back(
        &mut self,
        job: InHand,
        stamp: Option<Stamp>,
        given: Result<Given, Lost>,
        now: Moment,
    ) {
        self.hand_back(&job.mark, &given);
        let once_more = match &given {
            Err(Lost::Died { .. }) => {
                tracing::warn!("{}: reading it ended its worker process", text(&job.path));
                self.ledger.count_death(&job.mark).unwrap_or(1) < MOST_DEATHS
            }
            other => matches!(other, Err(Lost::NoWorker(_))),
        };
        let given = match given {
            Err(Lost::NoWorker(e)) => {
                self.no_worker(e, now);
                None
            }
            other => other.ok(),
        };
        match (job.photo, job.again.clone()) {
            (Some(p), Some(remake)) if once_more => {
                self.remakes.insert(p.id, remake);
            }
            _ => self.remade(job, stamp, given, now),
        }
    }

    fn remade(&mut self, job: InHand, stamp: Option<Stamp>, given: Option<Given>, now: Moment) {
        let (Some(named), Some(remake)) = (job.photo, job.again) else {
            return;
        };
        let Ok(photo) = self.ledger.photo_by_id(named.id) else {
            return;
        };
        let why = match (given, stamp) {
            (Some((Answer::Prepared(work), _, hash)), Some(_))
                if hash == photo.hash && job.look =>
            {
                self.looked_at(photo.id, &photo.source, &work);
                self.remakes.insert(photo.id, remake);
                return;
            }
            (Some((Answer::Prepared(work), blobs, hash)), Some(stamp)) if hash == photo.hash => {
                let took = now.saturating_sub(job.since).as_millis() as u64;
                let done = self.deliver(
                    &photo.source.clone(),
                    photo.id,
                    &work,
                    &blobs,
                    took,
                    job.word,
                    Some((stamp, &remake)),
                    now,
                );
                match done {
                    Ok(()) => return self.no_more(photo.id, now),
                    Err(t) => {
                        self.trouble(&t, now);
                        self.remake(photo.id, remake.asked, remake.word);
                        return;
                    }
                }
            }
            (Some((Answer::Refused(why), ..)), _) => why.detail,
            _ => "the original could not be read, so its outputs stay as they are".to_owned(),
        };
        self.give_up(&photo, &remake, &why, now);
        self.flush_journal();
    }

    /// What stands in ready stays; the word is remembered, so that it is not tried for ever.
    fn give_up(&mut self, photo: &Photo, remake: &Remake, why: &str, now: Moment) {
        let text_of = remake.word.as_ref().map(Correction::to_toml);
        let _ = self.ledger.note_correction(photo.id, text_of.as_deref());
        let mut line = Record::of("ignored");
        line.source = Some(text(&photo.source));
        line.listing = Some(photo.listing.clone());
        line.blake3 = Some(photo.hash.to_hex().to_string());
        line.reasons = Some(vec![Reason::CorrectionRefused.code().into()]);
        line.detail = Some(why.to_owned());
        let _ = self.ledger.post(line);
        let detail = why.to_owned();
        self.note_outcome(&photo.source, "", Outcome::Failed { detail });
        // Asked for again it has a clean slate.
        let _ = self.ledger.pardon(&photo.hash);
        self.no_more(photo.id, now);
    }

    /// Photos that are to be made again, in hand or queued.
    pub fn remaking(&self) -> usize {
        let in_hand = self.jobs.values().filter(|j| j.again.is_some());
        self.remakes.len() + in_hand.count()
    }

    /// It is made again, or will not be.
    fn no_more(&mut self, id: i64, now: Moment) {
        if let Err(e) = self.ledger.made_again(id) {
            self.trouble(&e.into(), now);
        }
    }
}

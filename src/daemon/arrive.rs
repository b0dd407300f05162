//! From a quiet file to a numbered photo: survey, repeats, order within a listing, whose turn it is.

use std::path::{Path, PathBuf};

use crate::base::clock::Moment;
use crate::base::disk::{Stamp, text};
use crate::base::reason::Reason;
use crate::base::record::Record;
use crate::deliver::ledger::{Decision, Enlist, Photo, Place, Plan, Seen, State};
use crate::inbox::names;
use crate::worker::pool::Job;
use crate::worker::protocol::{Ask, Facts, Task};

use super::air::Turn;
use super::house::{Arrival, House, InHand, Named, Stage};
use super::refuse::MOST_DEATHS;
use super::remake::AGAIN_AND_AGAIN;
use super::renumber::rank;
use super::summary::Outcome;

impl House {
    /// Files that have been left alone long enough become arrivals, if they still are as they were.
    pub(super) fn take_quiet(&mut self, now: Moment) {
        let Some(inbox) = self.inbox.clone() else {
            return;
        };
        for (rel, stamp) in self.settle.quiet(now, self.config.watch.settle) {
            match inbox.stat(&rel) {
                Ok(Some(s)) if s.stamp == stamp => {}
                Ok(Some(s)) => {
                    self.settle
                        .observe(&rel, &names::listing(&rel), s.stamp, now);
                    continue;
                }
                Ok(None) => {
                    self.settle.forget(&rel);
                    self.arrivals.remove(&rel);
                    continue;
                }
                Err(_) => {
                    self.settle.again(&rel, now);
                    continue;
                }
            }
            if self.jobs.values().any(|j| j.path == rel) {
                self.settle.again(&rel, now);
                continue;
            }
            self.settle.take(&rel);
            self.arrivals.insert(
                rel.clone(),
                Arrival {
                    listing: names::listing(&rel),
                    stamp,
                    stage: Stage::Fresh,
                    told: false,
                },
            );
        }
        for a in self.arrivals.values_mut() {
            if let Stage::Later(t, next) = &a.stage
                && *t <= now
            {
                a.stage = match next {
                    Some(named) => Stage::Ready(*named),
                    None => Stage::Fresh,
                };
            }
        }
    }

    /// A header was read: repeats are told from news, loose photos are named, others wait for
    /// their listing.
    pub(super) fn surveyed(
        &mut self,
        rel: &Path,
        stamp: Stamp,
        hash: blake3::Hash,
        facts: Facts,
        now: Moment,
    ) {
        let Some(a) = self.arrivals.get(rel) else {
            return;
        };
        let listing = a.listing.clone();
        let on_its_way = self.arrivals.iter().any(|(p, other)| {
            p != rel
                && other.listing == listing
                && match &other.stage {
                    Stage::Raw(h, _) | Stage::Surveyed(h, _) => *h == hash,
                    Stage::Ready(n) | Stage::Later(_, Some(n)) => n.hash == hash,
                    Stage::Busy => self.hand_at(p).is_some_and(|n| n.hash == hash),
                    _ => false,
                }
        });
        if on_its_way {
            self.set_stage(rel, Stage::Twin(hash));
            return;
        }
        match self.ledger.photo(&hash, &listing) {
            Ok(Some(p)) if p.state == State::Delivered => self.repeat(rel, stamp, &p, now),
            Ok(_) if facts.raw => self.raw_surveyed(rel, hash, facts, now),
            Ok(None) if self.takes_over(rel, stamp, hash, &facts, now) => {}
            Ok(_) if listing.is_empty() => {
                if let Some(named) = self.enlist(rel, stamp, &hash, &facts, now) {
                    self.set_stage(rel, Stage::Ready(named));
                }
            }
            Ok(_) => self.set_stage(rel, Stage::Surveyed(hash, facts)),
            Err(e) => {
                self.trouble(&e.into(), now);
                self.later(rel, None, now);
            }
        }
    }

    /// The photo that a worker has in hand at this path.
    fn hand_at(&self, rel: &Path) -> Option<Named> {
        self.jobs.values().find(|j| j.path == rel)?.photo
    }

    pub(super) fn set_stage(&mut self, rel: &Path, stage: Stage) {
        if let Some(a) = self.arrivals.get_mut(rel) {
            a.stage = stage;
        }
    }

    /// Tries an arrival again after trouble.
    pub(super) fn later(&mut self, rel: &Path, next: Option<Named>, now: Moment) {
        let at = self
            .retry_at
            .unwrap_or(now + std::time::Duration::from_secs(5));
        self.set_stage(rel, Stage::Later(at, next));
    }

    pub(super) fn enlist(
        &mut self,
        rel: &Path,
        stamp: Stamp,
        hash: &blake3::Hash,
        facts: &Facts,
        now: Moment,
    ) -> Option<Named> {
        let made = self.ledger.enlist(&Enlist {
            hash,
            listing: &names::listing(rel),
            source: rel,
            stamp,
            captured: facts.captured.as_deref(),
            facts: &serde_json::to_string(facts).unwrap_or_default(),
        });
        match made {
            Ok(p) => Some(Named {
                id: p.id,
                hash: p.hash,
                number: p.number.unwrap_or(0),
                decoded: facts.decoded_bytes,
            }),
            Err(e) => {
                self.trouble(&e.into(), now);
                self.later(rel, None, now);
                None
            }
        }
    }

    /// A photo that this listing has already: it goes to originals under a free name.
    fn repeat(&mut self, rel: &Path, stamp: Stamp, photo: &Photo, now: Moment) {
        let itself = photo.place == Place::Inbox && photo.path == rel;
        let mut d = Decision::default();
        if !itself {
            let mut line = Record::of("ignored");
            line.source = Some(text(rel));
            line.listing = Some(photo.listing.clone());
            line.blake3 = Some(photo.hash.to_hex().to_string());
            line.reasons = Some(vec![Reason::SeenBefore.code().into()]);
            d.lines.push(line);
        }
        let keeps = self.keeps();
        if keeps || itself {
            let seen = Seen {
                stamp,
                why: Reason::SeenBefore.code().into(),
            };
            let line = d.lines.pop();
            if let Err(e) = self.ledger.conclude(rel, &seen, line) {
                self.trouble(&e.into(), now);
                return self.later(rel, None, now);
            }
        } else {
            d.moves.push(Plan {
                own: false,
                origin: Place::Inbox,
                source: rel.to_owned(),
                stamp,
                place: Place::Originals,
                note: None,
            });
            if let Err(e) = self.ledger.decide(photo.id, d) {
                self.trouble(&e.into(), now);
                return self.later(rel, None, now);
            }
        }
        self.arrivals.remove(rel);
        if !itself {
            let reason = Reason::SeenBefore.code().into();
            self.note_outcome(rel, "", Outcome::Ignored { reason });
        }
        self.finish_moves(now);
        self.flush_journal();
    }

    /// Listings that have been quiet get numbers for what has come, in capture order, then name.
    pub(super) fn number_listings(&mut self, now: Moment) {
        let mut listings: Vec<String> = self
            .arrivals
            .values()
            .filter(|a| matches!(a.stage, Stage::Surveyed(..)))
            .map(|a| a.listing.clone())
            .collect();
        listings.sort();
        listings.dedup();
        for listing in listings {
            let due = self.settle.listing_due(&listing, self.listing_settle());
            let coming = self.settle.listing_waits(&listing, names::listing);
            if due.is_some_and(|t| t > now) || self.surveys_run(&listing) || coming {
                continue;
            }
            self.number_listing(&listing, now);
        }
    }

    /// Whether a photo of the listing is still to be surveyed or being surveyed.
    pub(super) fn surveys_run(&self, listing: &str) -> bool {
        self.arrivals.iter().any(|(p, a)| {
            a.listing == listing
                && (a.stage == Stage::Fresh || a.stage == Stage::Busy && self.hand_at(p).is_none())
        })
    }

    fn number_listing(&mut self, listing: &str, now: Moment) {
        let mut new: Vec<(Option<String>, PathBuf, Stamp, blake3::Hash, Facts)> = self
            .arrivals
            .iter()
            .filter(|(_, a)| a.listing == listing)
            .filter_map(|(p, a)| match &a.stage {
                Stage::Surveyed(h, f) => {
                    Some((f.captured.clone(), p.clone(), a.stamp, *h, f.clone()))
                }
                _ => None,
            })
            .collect();
        let order = self.her_order(listing);
        new.sort_by_cached_key(|n| rank(&order, n.0.clone(), &n.1));
        let mut ids = Vec::new();
        let mut ready = Vec::new();
        for (_, rel, stamp, hash, facts) in new {
            if let Some(named) = self.enlist(&rel, stamp, &hash, &facts, now) {
                ids.push(named.id);
                ready.push((rel, named));
            }
        }
        if let Err(e) = self.ledger.number(listing, &ids) {
            return self.trouble(&e.into(), now);
        }
        for (rel, mut named) in ready {
            let numbered = self.ledger.photo_by_id(named.id).ok();
            named.number = numbered.and_then(|p| p.number).unwrap_or(0);
            self.set_stage(&rel, Stage::Ready(named));
        }
    }

    /// Whose turn it is: surveys first, then photos by number; never more decoded bytes than the
    /// bound, and a suspect runs alone.
    pub(super) fn next_jobs(&mut self, now: Moment) -> Vec<Job> {
        let mut jobs = Vec::new();
        let Some(inbox) = self.inbox.clone() else {
            return jobs;
        };
        if self.halted {
            return jobs;
        }
        self.even_out(now);
        let mut turn: Vec<(u8, u32, PathBuf)> = self
            .arrivals
            .iter()
            .filter_map(|(p, a)| match a.stage {
                Stage::Fresh => Some((0, 0, p.clone())),
                Stage::Ready(named) => Some((1, named.number, p.clone())),
                _ => None,
            })
            .collect();
        turn.sort();
        for (_, _, rel) in turn {
            if self.jobs.len() >= self.most_workers {
                break;
            }
            let Some(a) = self.arrivals.get(&rel) else {
                continue;
            };
            let name = text(Path::new(rel.file_name().unwrap_or_default()));
            let (listing, stage) = (a.listing.clone(), a.stage.clone());
            let (ask, photo, word, look) = match stage {
                Stage::Fresh => (Ask::Survey, None, None, false),
                Stage::Ready(named) => {
                    let word = self.correction_for(Place::Inbox, &rel, &named.hash);
                    let profiles = self.config.profiles_for(&rel);
                    if profiles.is_empty() {
                        self.hold_all(
                            &rel,
                            Reason::NoProfile,
                            "no profile of the configuration applies to it",
                            now,
                        );
                        continue;
                    }
                    match self.turn_of(named.id, &listing, &profiles, word.as_ref(), false) {
                        Ok(Turn::Prepare(ask)) => (ask, Some(named), word, false),
                        Ok(Turn::Look(ask)) => (ask, Some(named), word, true),
                        Ok(Turn::Wait) => continue,
                        Err(e) => {
                            self.trouble(&e.into(), now);
                            break;
                        }
                    }
                }
                _ => continue,
            };
            let mark = photo.map_or_else(|| mark_of(&rel, a.stamp), |p| p.hash);
            let suspect = self.is_suspect(&mark);
            if self.is_guilty(&mark) {
                // Its deaths took the daemon along, so none was there to count the last.
                self.hold_all(&rel, Reason::Broke, AGAIN_AND_AGAIN, now);
                let _ = self.ledger.pardon(&mark);
                continue;
            }
            let decoded = photo.map_or(0, |p| p.decoded);
            let in_hand: u64 = self
                .jobs
                .values()
                .filter_map(|j| j.photo)
                .map(|p| p.decoded)
                .sum();
            let alone = self.jobs.is_empty();
            if !alone
                && (suspect
                    || self.suspect_runs()
                    || in_hand + decoded > self.config.workers.memory)
            {
                break;
            }
            if let Err(e) = self.ledger.take_in_hand(&mark) {
                self.trouble(&e.into(), now);
                break;
            }
            let id = self.next_job;
            self.next_job += 1;
            self.jobs.insert(
                id,
                InHand {
                    path: rel.clone(),
                    photo,
                    mark,
                    word,
                    since: now,
                    again: None,
                    look,
                },
            );
            self.set_stage(&rel, Stage::Busy);
            jobs.push(Job {
                id,
                task: Task::new(name, &self.config.limits, ask),
                root: inbox.clone(),
                path: rel,
                limit: self.config.workers.photo_time,
            });
            if suspect {
                break;
            }
        }
        if !self.suspect_runs() {
            self.remake_jobs(now, &mut jobs);
        }
        jobs
    }

    pub(super) fn is_suspect(&self, hash: &blake3::Hash) -> bool {
        self.ledger.deaths(hash).is_ok_and(|d| d.is_some())
    }

    /// Whether it is not tried any more.
    pub(super) fn is_guilty(&self, hash: &blake3::Hash) -> bool {
        (self.ledger.deaths(hash)).is_ok_and(|d| d.is_some_and(|n| n >= MOST_DEATHS))
    }

    pub(super) fn suspect_runs(&self) -> bool {
        self.jobs.values().any(|j| self.is_suspect(&j.mark))
    }

    /// Twins of a photo that is concluded now are looked at again.
    pub(super) fn wake_twins(&mut self) {
        for a in self.arrivals.values_mut() {
            if matches!(a.stage, Stage::Twin(_)) {
                a.stage = Stage::Fresh;
            }
        }
    }
}

/// Stands for the content of a file that was not read yet: the file as it lies.
fn mark_of(rel: &Path, stamp: Stamp) -> blake3::Hash {
    blake3::hash(format!("{} {stamp:?}", text(rel)).as_bytes())
}

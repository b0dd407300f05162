//! What an answer leads to: outputs published, the original moved, the line written. Owns that order;
//! refusals and deaths go to `refuse`.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::base::clock::Moment;
use crate::base::disk::{Stamp, text};
use crate::base::reason::Verdict;
use crate::base::record::{Delivery, Record};
use crate::config::correction::Correction;
use crate::config::profile::Profile;
use crate::deliver::archive;
use crate::deliver::ledger::{Decision, Photo, Place, Plan, Seen, State};
use crate::deliver::publish::{self, Published};
use crate::deliver::{Trouble, naming, sweep};
use crate::inbox::names;
use crate::worker::host::{Given, Lost};
use crate::worker::pool::Done;
use crate::worker::protocol::{Answer, Work};

use super::house::{House, Stage};
use super::remake::Remake;
use super::sheet::Shown;
use super::summary::Outcome;
use super::words::{self, Word};

/// The folder of the proof sheet's small pictures, below the state folder.
pub(super) const PICTURES: &str = "proof/pictures";

/// What became of one profile, for the note, the table and the journal.
pub(super) struct Told {
    pub profile: String,
    pub output: Option<String>,
    pub held: Option<(Vec<String>, String)>,
}

impl House {
    /// What a worker's return says of the photo it had in hand; deaths are counted where they are told.
    pub(super) fn hand_back(&mut self, mark: &blake3::Hash, given: &Result<Given, Lost>) {
        let _ = match given {
            Ok(_) => self.ledger.put_down(mark),
            Err(Lost::Source(_) | Lost::NoWorker(_)) => self.ledger.let_go(mark),
            Err(Lost::Died { .. }) => Ok(()),
        };
    }

    /// A worker answered, died, or could not read the photo.
    pub fn done(&mut self, done: Done, now: Moment) {
        let Some(job) = self.jobs.remove(&done.id) else {
            return;
        };
        if job.again.is_some() {
            self.came_back(job, done.stamp, done.given, now);
            return self.flush_journal();
        }
        let rel = job.path;
        self.hand_back(&job.mark, &done.given);
        let expected = self.arrivals.get(&rel).map(|a| a.stamp);
        match done.given {
            Err(Lost::Died { too_long }) => {
                return self.died(&rel, job.photo, &job.mark, too_long, now);
            }
            Err(Lost::Source(_)) => return self.anew(&rel, now),
            Err(Lost::NoWorker(e)) => {
                self.no_worker(e, now);
                return self.later(&rel, job.photo, now);
            }
            Ok(_) if done.stamp.is_none() || done.stamp != expected => return self.anew(&rel, now),
            Ok((Answer::Surveyed(facts), _, hash)) => {
                if let Some(stamp) = done.stamp {
                    self.surveyed(&rel, stamp, hash, *facts, now);
                }
            }
            Ok((Answer::Refused(why), _, _)) => self.refused(&rel, job.photo, &why, now),
            Ok((Answer::Fenced { .. }, _, _)) => self.later(&rel, job.photo, now),
            Ok((Answer::Broken(why), _, _)) => {
                let path = self.config.folders.state.clone();
                self.trouble(&Trouble::Io(path, std::io::Error::other(why)), now);
                self.later(&rel, job.photo, now);
            }
            Ok((Answer::Prepared(work), blobs, hash)) => match job.photo {
                Some(p) if p.hash == hash && job.look => {
                    self.looked_at(p.id, &rel, &work);
                    self.set_stage(&rel, Stage::Ready(p));
                }
                Some(p) if p.hash == hash => {
                    let took = now.saturating_sub(job.since).as_millis() as u64;
                    if let Err(t) =
                        self.deliver(&rel, p.id, &work, &blobs, took, job.word, None, now)
                    {
                        self.fail(&rel, &t.to_string());
                        self.trouble(&t, now);
                        self.later(&rel, Some(p), now);
                    }
                }
                _ => self.anew(&rel, now),
            },
        }
        self.flush_journal();
    }

    /// The file changed under our eyes: it is waited for once more.
    pub(super) fn anew(&mut self, rel: &Path, now: Moment) {
        self.arrivals.remove(rel);
        let found = self.inbox.as_ref().and_then(|i| i.stat(rel).ok().flatten());
        match found {
            Some(s) => {
                let listing = names::listing(rel);
                if !self.settle.observe(rel, &listing, s.stamp, now) {
                    self.settle.again(rel, now);
                }
            }
            None => self.settle.forget(rel),
        }
        self.wake_twins();
    }

    pub(super) fn line_of(&self, event: &str, photo: &Photo, rel: &Path) -> Record {
        let mut line = Record::of(event);
        line.source = Some(text(rel));
        line.listing = Some(photo.listing.clone());
        line.blake3 = Some(photo.hash.to_hex().to_string());
        line
    }

    /// Decides where the original goes: held with a note when any profile holds, else originals.
    pub(super) fn send_away(&self, d: &mut Decision, rel: &Path, photo: &Photo, told: &[Told]) {
        let keeps = self.keeps();
        let any_held = told.iter().any(|t| t.held.is_some());
        let note = any_held.then(|| {
            let words: Vec<Word<'_>> = told
                .iter()
                .map(|t| Word {
                    profile: (!t.profile.is_empty()).then_some(t.profile.as_str()),
                    held: t.held.as_ref().map(|(c, d)| (c.as_slice(), d.as_str())),
                    output: t.output.as_deref(),
                })
                .collect();
            let name = text(Path::new(rel.file_name().unwrap_or_default()));
            words::note(&name, &words, keeps)
        });
        let place = match (keeps, any_held) {
            (true, _) => photo.place,
            (false, true) => Place::Held,
            (false, false) => Place::Originals,
        };
        let stamp = photo.stamp;
        if keeps && photo.place == Place::Inbox {
            let why = if any_held { "held" } else { "kept" };
            d.stays = Some((
                photo.path.clone(),
                Seen {
                    stamp,
                    why: why.into(),
                },
            ));
        }
        if place == Place::Originals {
            d.moves.extend(self.raws_along(photo));
        }
        if place != photo.place || note.is_some() {
            d.moves.push(Plan {
                own: true,
                origin: photo.place,
                source: photo.path.clone(),
                stamp,
                place,
                note,
            });
        }
    }

    /// A decision stands in the ledger: moves are made, twins woken, the table told.
    pub(super) fn concluded(&mut self, rel: &Path, told: Vec<Told>, now: Moment) {
        self.arrivals.remove(rel);
        if self.keeps() {
            self.settle.forget(rel);
        }
        for t in told {
            if let Some((reasons, detail)) = t.held {
                self.note_outcome(rel, &t.profile, Outcome::Held { reasons, detail });
            }
        }
        self.finish_moves(now);
        self.wake_twins();
    }

    /// Publishes what a worker made. `again`: the outputs are made again from the original where it
    /// lies, as it is now. `word`: the correction it was made by; a newer one is found at the next scan.
    #[allow(clippy::too_many_arguments)] // one call each for arrivals and for what is made again
    pub(super) fn deliver(
        &mut self,
        rel: &Path,
        id: i64,
        work: &Work,
        blobs: &[Vec<u8>],
        took_ms: u64,
        word: Option<Correction>,
        again: Option<(Stamp, &Remake)>,
        now: Moment,
    ) -> Result<(), Trouble> {
        self.finish_renaming()?;
        let mut photo = self.ledger.photo_by_id(id)?;
        if photo.number.is_none() && !photo.listing.is_empty() {
            // It was held before its listing was numbered, and is released only now.
            self.ledger.number(&photo.listing, &[id])?;
            photo = self.ledger.photo_by_id(id)?;
        }
        if let Some((stamp, _)) = again {
            photo.stamp = stamp;
        }
        archive::clear_note(&photo, &self.held, &mut self.ledger)?;
        let profiles: Vec<Profile> = self.config.profiles_for(rel).into_iter().cloned().collect();
        let mut d = Decision::default();
        let mut told = Vec::new();
        let mut shown = Vec::new();
        for (profile, result) in profiles.iter().zip(&work.results) {
            let mut reasons = result.reasons.clone();
            reasons.extend(work.remarks.iter().cloned());
            let file = result
                .file
                .as_ref()
                .filter(|_| result.verdict() != Verdict::Hold);
            let Some(file) = file else {
                let (codes, detail) = words::held(result, profile);
                let mut line = self.line_of("held", &photo, rel);
                line.profile = Some(profile.name.clone());
                line.reasons = Some(codes.clone());
                line.detail = Some(detail.clone());
                d.lines.push(line);
                told.push(Told {
                    profile: profile.name.clone(),
                    output: None,
                    held: Some((codes, detail)),
                });
                continue;
            };
            let bytes = blobs.get(file.blob).map_or(&[][..], Vec::as_slice);
            let names = self.names_of(&photo, profile)?;
            let published = publish::publish(
                &self.ready,
                &mut self.ledger,
                &photo,
                &profile.name,
                &*names,
                bytes,
                again.is_some_and(|(_, r)| r.asked),
            )?;
            let (path, replaces) = match published.clone() {
                Published::Placed { path, replaces } => (path, replaces),
                Published::Hers(path) | Published::Deleted(path) => {
                    let edited = matches!(published, Published::Hers(_));
                    shown.push((
                        profile.name.clone(),
                        Outcome::Left {
                            output: path.clone(),
                            edited,
                        },
                    ));
                    told.push(Told {
                        profile: profile.name.clone(),
                        output: Some(path),
                        held: None,
                    });
                    continue;
                }
            };
            let delivery = Delivery {
                output: path.clone(),
                replaces,
                width: file.size.w,
                height: file.size.h,
                bytes: bytes.len() as u64,
                quality: file.quality,
                subsampling: file.subsampling.clone(),
                ssimulacra2: file.ssimulacra2,
                crop: result.crop,
                subject: result.subject,
                confidence: (result.confidence * 1000.0).round() / 1000.0,
                verdict: result.verdict().code().into(),
                thumbnails: result
                    .thumbnails
                    .iter()
                    .map(|(s, ok)| (s.to_string(), *ok))
                    .collect::<BTreeMap<_, _>>(),
                colour: work.colour.clone(),
                orientation: work.facts.orientation,
            };
            let mut line = self.line_of("delivered", &photo, rel);
            line.profile = Some(profile.name.clone());
            line.delivery = Some(delivery.clone());
            line.reasons = Some(reasons.clone());
            line.took_ms = Some(took_ms);
            d.lines.push(line);
            shown.push((
                profile.name.clone(),
                Outcome::Delivered {
                    output: path.clone(),
                    width: file.size.w,
                    height: file.size.h,
                    bytes: bytes.len() as u64,
                    quality: file.quality,
                    verdict: result.verdict(),
                    reasons: reasons.clone(),
                },
            ));
            told.push(Told {
                profile: profile.name.clone(),
                output: Some(path),
                held: None,
            });
            let fingerprint = self.config.fingerprint(profile);
            d.delivered
                .push((profile.name.clone(), delivery, reasons, fingerprint));
        }
        let any_held = told.iter().any(|t| t.held.is_some());
        d.state = Some(if any_held {
            State::Held
        } else {
            State::Delivered
        });
        let names: Vec<String> = profiles.iter().map(|p| p.name.clone()).collect();
        let at = self.clock.stamp();
        d.facts = Some(Shown::of_work(work, &names, word.as_ref(), at));
        d.correction = word.map(|w| w.to_toml());
        self.send_away(&mut d, rel, &photo, &told);
        self.ledger.decide(photo.id, d)?;
        if let Err(t) = sweep::retire(&self.ready, &mut self.ledger) {
            self.trouble(&t, now);
        }
        for (profile, outcome) in shown {
            self.note_outcome(rel, &profile, outcome);
        }
        self.save_proof(&photo, work, blobs);
        self.concluded(rel, told, now);
        Ok(())
    }

    /// The names an output may have, the best first.
    fn names_of(
        &mut self,
        photo: &Photo,
        profile: &Profile,
    ) -> Result<Box<dyn Fn(u32) -> PathBuf>, Trouble> {
        let extension = profile.format.extension();
        let (name, number, stem) = (profile.name.clone(), photo.number, photo.stem.clone());
        let slug = match number {
            Some(_) => Some(self.ledger.slug(&photo.listing)?),
            None => None,
        };
        Ok(Box::new(move |n| {
            let listing = slug.as_deref().zip(number);
            let path = naming::output(&name, listing, &stem, extension);
            if n < 2 {
                return path;
            }
            let base = text(Path::new(path.file_stem().unwrap_or_default()));
            path.with_file_name(format!("{}.{extension}", naming::nth(&base, n)))
        }))
    }

    /// The small picture for the proof sheet; losing one loses nothing of hers.
    fn save_proof(&self, photo: &Photo, work: &Work, blobs: &[Vec<u8>]) {
        let Some(bytes) = work.proof.and_then(|i| blobs.get(i)) else {
            return;
        };
        let folder = Path::new(PICTURES);
        let file = folder.join(format!("{}.jpg", &photo.hash.to_hex()[..16]));
        let saved = self
            .state
            .make_folders(folder)
            .and_then(|()| self.state.replace_own(&file, bytes));
        if let Err(e) = saved {
            tracing::warn!("{}: {}", text(&file), crate::deliver::plain(&e));
        }
    }
}

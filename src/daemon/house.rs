//! The house: everything the daemon knows, as one state that events change. No thread, no waiting:
//! time, scans and answers are handed in, jobs are handed out.

use std::collections::{BTreeMap, BTreeSet};
use std::io;
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::base::clock::{Clock, Moment};
use crate::base::disk::{Disk, Root, Stamp, text};
use crate::base::memory;
use crate::base::reason::Reason;
use crate::base::record::Record;
use crate::config::correction::Correction;
use crate::config::{After, Config};
use crate::deliver::archive::{self, Folders};
use crate::deliver::ledger::{Ledger, LedgerError};
use crate::deliver::{Trouble, sweep, text as listing_text};
use crate::inbox::settle::Settle;
use crate::inbox::{names, place};
use crate::journal::append::Journal;
use crate::proof::Card;
use crate::worker::pool::Job;
use crate::worker::protocol::Facts;

use super::air::Glimpses;
use super::corrections::Corrections;
use super::pausing;
use super::remake::Remake;
use super::requests::Pending;
use super::rescue;
use super::sheet::Due;
use super::summary::{Line, Outcome, Summary};

/// An undecodable photo is tried again until it has been quiet this long.
pub const PATIENCE: Duration = Duration::from_secs(60);
/// After trouble with a disk or the ledger, things are tried again this often.
pub const AGAIN: Duration = Duration::from_secs(5);

/// How far one arrival has come.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Stage {
    /// To be hashed and surveyed.
    Fresh,
    /// With a worker.
    Busy,
    /// The same bytes are on their way in this listing already.
    Twin(blake3::Hash),
    /// A raw file that waits for the JPEG or HEIC of its name.
    Raw(blake3::Hash, Facts),
    /// Known, and waiting for its listing to be quiet.
    Surveyed(blake3::Hash, Facts),
    /// In the ledger, named or numbered, to be prepared.
    Ready(Named),
    /// Could not be read or delivered; to be tried again at this time.
    Later(Moment, Option<Named>),
}

/// A photo that is in the ledger, with what is needed to take its turn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Named {
    pub id: i64,
    pub hash: blake3::Hash,
    /// 0 for a photo of no listing.
    pub number: u32,
    /// Bytes that decoding takes.
    pub decoded: u64,
}

pub(super) struct Arrival {
    pub listing: String,
    pub stamp: Stamp,
    pub stage: Stage,
    /// A `failed` line was written for this content.
    pub told: bool,
}

/// A job that a worker has in hand.
pub(super) struct InHand {
    pub path: PathBuf,
    /// `None` while it is surveyed.
    pub photo: Option<Named>,
    /// What the ledger counts its deaths by.
    pub mark: blake3::Hash,
    /// Her correction that it is prepared by.
    pub word: Option<Correction>,
    pub since: Moment,
    /// Set when outputs are made again.
    pub again: Option<Remake>,
    /// It is only looked at, so that its listing's air can be decided.
    pub look: bool,
}

/// What the house is to do differently in this run.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Manner {
    /// Listings are numbered at once and undecodable photos held at once.
    pub once: bool,
}

/// Why the house cannot be opened or go on.
#[derive(Debug)]
pub enum Fault {
    /// A folder cannot be made or opened.
    Folder(PathBuf, io::Error),
    Ledger(PathBuf, LedgerError),
}

impl Fault {
    /// Whether only room on a disk is wanting.
    pub fn is_full(&self) -> bool {
        match self {
            Self::Folder(_, e) => e.kind() == io::ErrorKind::StorageFull,
            Self::Ledger(_, e) => matches!(e, LedgerError::Full),
        }
    }
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Folder(p, e) => write!(
                f,
                "{}: the folder cannot be used: {}\nhint: check its permissions, or name another in the configuration",
                text(p),
                crate::deliver::plain(e)
            ),
            Self::Ledger(p, e) => write!(f, "{}: {e}", text(p)),
        }
    }
}

pub struct House {
    pub config: Config,
    pub(super) manner: Manner,
    pub(super) clock: Clock,
    pub(super) disk: Disk,
    /// `None` while the inbox is offline.
    pub(super) inbox: Option<Root>,
    pub(super) ready: Root,
    pub(super) held: Root,
    pub(super) originals: Root,
    pub(super) state: Root,
    pub(super) ledger: Ledger,
    pub(super) journal: Journal,
    pub(super) settle: Settle,
    pub(super) arrivals: BTreeMap<PathBuf, Arrival>,
    pub(super) jobs: BTreeMap<u64, InHand>,
    pub(super) next_job: u64,
    pub(super) corrections: Corrections,
    pub(super) remakes: BTreeMap<i64, Remake>,
    pub(super) glimpses: Glimpses,
    /// A correction was among what was just noticed.
    pub(super) companions: bool,
    pub(super) requests: Vec<Pending>,
    /// The configuration file as it was when it was read.
    pub(super) settings: Option<Stamp>,
    /// The manner this run began with.
    pub(super) always_once: bool,
    pub(super) most_workers: usize,
    /// Set while a disk is full or a folder cannot be written: what is wrong.
    pub(super) paused: Option<String>,
    pub(super) retry_at: Option<Moment>,
    /// No photo is taken up meanwhile.
    pub(super) halted: bool,
    /// What kept single files from being moved, as far as it was said.
    pub(super) stuck_before: BTreeSet<String>,
    /// The pause ends only when there is room again.
    pub(super) waits_for_room: bool,
    pub summary: Summary,
    /// Lines of the summary that her desktop was told of.
    pub(super) told: usize,
    /// Listings whose pages and text beside the outputs may be out of date.
    pub(super) due: Due,
    /// Those that could not be written.
    pub(super) due_later: Due,
    /// What the front page of the proof sheet shows of each listing.
    pub(super) cards: BTreeMap<String, Card>,
    /// What `status` was last told.
    pub(super) said: Option<super::now::Now>,
    pub(super) last_scan: Moment,
    /// New folders that are read once more, and when.
    pub(super) look_again: BTreeMap<PathBuf, Moment>,
    /// What was found to be passed over and is not yet written down.
    pub(super) passed: BTreeMap<PathBuf, (Stamp, Reason)>,
    last_tick: Moment,
    stopping: bool,
}

impl House {
    /// Opens everything, clears up after a crash and resumes what was begun. The lock is held.
    ///
    /// # Errors
    /// A folder or the ledger cannot be used.
    pub fn open(config: Config, clock: Clock, disk: Disk, manner: Manner) -> Result<Self, Fault> {
        let f = config.folders.clone();
        let open = |path: &Path| {
            disk.root(path)
                .map_err(|e| Fault::Folder(path.to_owned(), e))
        };
        let state = open(&f.state)?;
        let inbox = place::inbox(&disk, &f.inbox, &f.state);
        let ready = open(&f.ready)?;
        let (held, originals) = (open(&f.held)?, open(&f.originals)?);
        let mut journal =
            Journal::open(&state).map_err(|e| Fault::Folder(f.state.join("journal"), e))?;
        let places = rescue::Places {
            inbox: inbox.as_ref(),
            ready: &ready,
            held: &held,
            originals: &originals,
            state: &state,
        };
        let ledger = rescue::open(&config, &clock, &places, &mut journal)
            .map_err(|f| pausing::full_or(f, &state))?;
        let ledger_file = f.state.join(rescue::LEDGER);
        let now = clock.now();
        let mut house = Self {
            manner,
            inbox,
            ready,
            held,
            originals,
            state,
            ledger,
            journal,
            settle: Settle::default(),
            arrivals: BTreeMap::new(),
            jobs: BTreeMap::new(),
            next_job: 1,
            corrections: BTreeMap::new(),
            remakes: BTreeMap::new(),
            glimpses: Glimpses::new(),
            companions: false,
            requests: Vec::new(),
            settings: None,
            always_once: manner.once,
            most_workers: config.workers.most(),
            paused: None,
            retry_at: None,
            halted: false,
            stuck_before: BTreeSet::new(),
            waits_for_room: false,
            summary: Summary::default(),
            told: 0,
            due: Due::All,
            due_later: Due::none(),
            cards: BTreeMap::new(),
            said: None,
            last_scan: now,
            look_again: BTreeMap::new(),
            passed: BTreeMap::new(),
            last_tick: now,
            stopping: false,
            clock,
            disk,
            config,
        };
        house.settings = house.settings_stamp();
        let resume = |h: &mut Self| -> Result<(), LedgerError> {
            let last = h.journal.last();
            h.ledger.number_after(last)?;
            h.ledger.examine_hands()?;
            h.ledger.post(Record::of("started"))?;
            Ok(())
        };
        resume(&mut house)
            .map_err(|e| pausing::full_or(Fault::Ledger(ledger_file, e), &house.state))?;
        if let Err(t) = sweep::sweep(&house.ready, &mut house.ledger) {
            house.trouble(&t, now);
        }
        if let Err(t) = house.finish_names() {
            house.trouble(&t, now);
        }
        house.finish_moves(now);
        house.flush_journal();
        house.clear_leftovers();
        house.scan_all(now);
        if let Err(e) = house.resume_remakes() {
            house.trouble(&e.into(), now);
        }
        house.take_requests();
        Ok(house)
    }

    pub(super) fn note_outcome(&mut self, rel: &Path, profile: &str, outcome: Outcome) {
        self.due.add(&names::listing(rel));
        self.summary.lines.push(Line {
            source: text(rel),
            listing: names::listing(rel),
            profile: profile.into(),
            outcome,
        });
    }

    /// Time has passed: takes what is quiet, retries what is due. Returns jobs to start now.
    pub fn tick(&mut self, now: Moment) -> Vec<Job> {
        self.last_tick = now;
        if now.saturating_sub(self.last_scan) >= self.config.watch.rescan {
            self.scan_all(now);
            self.take_requests();
            self.look_at_settings();
            let later = self.due_later.take();
            self.due.join(later);
        }
        self.pass_over();
        self.look_at_new_folders(now);
        if self.retry_at.is_some_and(|t| t <= now) {
            self.try_again(now);
        }
        self.take_quiet(now);
        self.settle_raws(now);
        self.number_listings(now);
        if self.is_idle() {
            self.tell_of_lonely_corrections(now);
            (self.settle).forget_listings(now, self.config.watch.listing_settle);
        }
        if self.is_idle() && self.due.is_any() {
            self.write_sheet();
            memory::give_back();
        }
        self.tell_now(now);
        self.answer_requests();
        if !self.always_once && self.is_idle() && self.requests.is_empty() {
            // Told and answered: a daemon that runs for months keeps no list of all it did.
            self.summary.lines.clear();
            self.told = 0;
        }
        if self.stopping {
            return Vec::new();
        }
        self.next_jobs(now)
    }

    /// When `tick` has something to do next, at the latest.
    pub fn next_tick(&self) -> Moment {
        let mut next = self.last_scan + self.config.watch.rescan;
        // What was due at the last tick and still stands waits for something else than time.
        let mut at = |t: Option<Moment>| {
            if let Some(t) = t.filter(|t| *t > self.last_tick) {
                next = next.min(t);
            }
        };
        at(self.retry_at);
        at(self.look_again.values().min().copied());
        at(self.settle.next_due(self.config.watch.settle));
        for (rel, a) in &self.arrivals {
            match &a.stage {
                Stage::Later(t, _) => at(Some(*t)),
                Stage::Surveyed(..) => {
                    at(self
                        .settle
                        .listing_due(&names::listing(rel), self.listing_settle()));
                }
                _ => {}
            }
        }
        for (_, due) in self.raws_open(self.clock.now()) {
            at(Some(due));
        }
        next
    }

    pub(super) fn listing_settle(&self) -> Duration {
        if self.manner.once {
            Duration::ZERO
        } else {
            self.config.watch.listing_settle
        }
    }

    /// Nothing is in hand, on its way, or waited for.
    pub fn is_idle(&self) -> bool {
        self.jobs.is_empty()
            && self.remakes.is_empty()
            && self.arrivals.is_empty()
            && !self.settle.any_waiting()
    }

    /// Photos that workers have in hand.
    pub fn in_hand(&self) -> usize {
        self.jobs.len()
    }

    /// (device, inode) of the inbox; `None` while it is offline.
    pub fn inbox_id(&self) -> Option<(u64, u64)> {
        self.inbox.as_ref().map(Root::id)
    }

    /// What keeps the house from going on, in plain words.
    pub fn paused(&self) -> Option<&str> {
        self.paused.as_deref()
    }

    /// Whether no photo is taken up until something is better.
    pub fn is_halted(&self) -> bool {
        self.halted
    }

    pub fn is_offline(&self) -> bool {
        self.inbox.is_none()
    }

    /// Photos on their way or waited for.
    pub fn waiting(&self) -> usize {
        self.arrivals.len() + self.settle.waiting(self.clock.now()).len()
    }

    /// Photos concluded in this run.
    pub fn concluded_sources(&self) -> usize {
        let sources: std::collections::BTreeSet<&str> = self
            .summary
            .lines
            .iter()
            .map(|l| l.source.as_str())
            .collect();
        sources.len()
    }

    /// Every line of the journal that can be read.
    pub fn journal_lines(&self) -> Vec<Record> {
        crate::journal::append::lines(&self.state).unwrap_or_default()
    }

    /// No new job is started any more.
    pub fn stop(&mut self) {
        self.stopping = true;
    }

    /// The last line, when everything in hand is put down.
    pub fn close(&mut self) {
        let hands: Vec<blake3::Hash> = self.jobs.values().map(|j| j.mark).collect();
        for hash in hands {
            // Dropped, not died: a stop leaves no mark on the photo.
            let _ = self.ledger.let_go(&hash);
        }
        // A stop must not take long, and a start looks at everything anyway.
        if self.due.is_any() && !(self.stopping && self.due == Due::All) {
            self.write_sheet();
        }
        let _ = self.ledger.post(Record::of("stopped"));
        self.flush_journal();
    }

    /// Brings outputs to the names that are decided, and takes away what stands under former ones.
    pub(super) fn finish_names(&mut self) -> Result<(), Trouble> {
        self.finish_renaming()?;
        sweep::retire(&self.ready, &mut self.ledger)?;
        listing_text::sweep(&self.ready, &mut self.ledger)
    }

    /// Makes decided moves that are still open.
    pub(super) fn finish_moves(&mut self, now: Moment) {
        let Some(inbox) = self.inbox.clone() else {
            return;
        };
        let moves = match self.ledger.moves() {
            Ok(m) => m,
            Err(e) => return self.trouble(&e.into(), now),
        };
        for m in moves {
            let (originals, held) = (self.originals.clone(), self.held.clone());
            let folders = Folders {
                inbox: &inbox,
                originals: &originals,
                held: &held,
            };
            match archive::carry(&m, &folders, &mut self.ledger) {
                Ok(_) => self.settle.forget(&m.source),
                Err(t) => self.stuck(&t, now),
            }
        }
    }

    /// Brings decided lines into the journal's file; when that fails they wait in the ledger.
    pub(super) fn flush_journal(&mut self) {
        loop {
            let Ok(batch) = self.ledger.outbox() else {
                return;
            };
            if batch.is_empty() {
                return;
            }
            if let Err(e) = self.journal.append(&batch) {
                let why = crate::deliver::plain(&e);
                tracing::warn!("the journal cannot be written now: {why}");
                self.retry_at.get_or_insert(self.clock.now() + AGAIN);
                return;
            }
            if self.ledger.written(self.journal.last()).is_err() {
                return;
            }
        }
    }

    pub(super) fn keeps(&self) -> bool {
        self.config.watch.after == After::Keep
    }
}

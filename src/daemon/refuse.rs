//! Photos that cannot go on: worker deaths counted, young ones tried again, others held with a note.
//! Owns how often a thing is tried; refuses to know what is wrong with the pixels.

use std::io;
use std::path::Path;

use crate::base::clock::Moment;
use crate::base::disk::text;
use crate::base::reason::Reason;
use crate::base::record::Record;
use crate::deliver::ledger::{Decision, State};
use crate::deliver::{Trouble, archive};
use crate::inbox::names;
use crate::worker::protocol::Refused;

use super::finish::Told;
use super::house::{House, Named, PATIENCE, Stage};
use super::sheet::Shown;

/// Deaths that are counted before a photo is not tried any more.
pub(super) const MOST_DEATHS: u32 = 2;

impl House {
    /// No worker could be started.
    pub(super) fn no_worker(&mut self, e: io::Error, now: Moment) {
        let path = self.config.folders.state.clone();
        self.trouble(&Trouble::Io(path, e), now);
    }

    /// A worker died over this photo, or over its header alone: once more, alone, and then it is held.
    pub(super) fn died(
        &mut self,
        rel: &Path,
        photo: Option<Named>,
        mark: &blake3::Hash,
        too_long: bool,
        now: Moment,
    ) {
        let deaths = self.ledger.count_death(mark).unwrap_or(1);
        if deaths >= MOST_DEATHS {
            let (reason, detail) = if too_long {
                (
                    Reason::TookTooLong,
                    "reading it took longer than allowed, twice",
                )
            } else {
                (Reason::Broke, "reading it ended its worker process, twice")
            };
            self.hold_all(rel, reason, detail, now);
            // Put back it has a clean slate.
            let _ = self.ledger.pardon(mark);
            return;
        }
        self.fail(
            rel,
            "reading it ended its worker process; it is tried once more, alone",
        );
        self.flush_journal();
        self.set_stage(rel, photo.map_or(Stage::Fresh, Stage::Ready));
    }

    /// The photo itself cannot be read: young ones are tried again, others held.
    pub(super) fn refused(&mut self, rel: &Path, photo: Option<Named>, why: &Refused, now: Moment) {
        if matches!(why.reason(), Reason::Video | Reason::Sidecar) {
            if let Some(stamp) = self.arrivals.get(rel).map(|a| a.stamp) {
                self.ignore(rel, stamp, why.reason());
            }
            return;
        }
        let quiet = self.settle.quiet_for(rel, now).unwrap_or(PATIENCE);
        let may_grow = matches!(why.reason(), Reason::Undecodable | Reason::NotAPhoto);
        if may_grow && !self.manner.once && quiet < PATIENCE {
            self.fail(rel, &why.detail);
            // A file that grows through a mapping gives no event and may keep its times: looked at
            // again soon, and ever more seldom.
            let wait = quiet.max(self.config.watch.settle).min(PATIENCE - quiet);
            self.set_stage(rel, Stage::Later(now + wait, photo));
            return;
        }
        self.hold_all(rel, why.reason(), &why.detail, now);
    }

    /// One `failed` line for this content: it will be tried again.
    pub(super) fn fail(&mut self, rel: &Path, detail: &str) {
        match self.arrivals.get_mut(rel) {
            Some(a) if !a.told => a.told = true,
            _ => return,
        }
        let mut line = Record::of("failed");
        line.source = Some(text(rel));
        line.listing = Some(names::listing(rel));
        line.reasons = Some(Vec::new());
        line.detail = Some(detail.lines().next().unwrap_or_default().into());
        let _ = self.ledger.post(line);
    }

    /// Holds a photo for one reason that speaks for every profile.
    pub(super) fn hold_all(&mut self, rel: &Path, reason: Reason, detail: &str, now: Moment) {
        if let Err(t) = self.try_hold_all(rel, reason, detail, now) {
            self.trouble(&t, now);
            self.later(rel, None, now);
        }
        self.flush_journal();
    }

    fn try_hold_all(
        &mut self,
        rel: &Path,
        reason: Reason,
        detail: &str,
        now: Moment,
    ) -> Result<(), Trouble> {
        let (Some(a), Some(inbox)) = (self.arrivals.get(rel), self.inbox.clone()) else {
            return Ok(());
        };
        let stamp = a.stamp;
        let io = |e| Trouble::Io(inbox.path().join(rel), e);
        let Some(hash) = inbox.hash(rel).map_err(io)? else {
            self.anew(rel, now);
            return Ok(());
        };
        // What was said is of the file as it was; one that went on since is another.
        if inbox
            .stat(rel)
            .map_err(io)?
            .is_none_or(|s| s.stamp != stamp)
        {
            self.anew(rel, now);
            return Ok(());
        }
        let listing = names::listing(rel);
        let photo = self.ledger.enlist(&crate::deliver::ledger::Enlist {
            hash: &hash,
            listing: &listing,
            source: rel,
            stamp,
            captured: None,
            facts: "{}",
        })?;
        archive::clear_note(&photo, &self.held, &mut self.ledger)?;
        let codes = vec![reason.code().to_owned()];
        let mut line = self.line_of("held", &photo, rel);
        line.reasons = Some(codes.clone());
        line.detail = Some(detail.into());
        let told = Told {
            profile: String::new(),
            output: None,
            held: Some((codes, detail.to_owned())),
        };
        let mut d = Decision {
            lines: vec![line],
            state: Some(State::Held),
            facts: Some(Shown::of_refusal(reason, detail, self.clock.stamp())),
            ..Decision::default()
        };
        self.send_away(&mut d, rel, &photo, std::slice::from_ref(&told));
        self.ledger.decide(photo.id, d)?;
        self.concluded(rel, vec![told], now);
        Ok(())
    }
}

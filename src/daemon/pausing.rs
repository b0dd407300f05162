//! Trouble with a disk or the ledger: said once in plain words, waited out, tried again. Owns when
//! work goes on; nothing is dropped or concluded meanwhile.

use crate::base::clock::Moment;
use crate::base::disk::Root;
use crate::deliver::Trouble;
use crate::deliver::ledger::LedgerError;

use super::house::{AGAIN, Fault, House};

/// A database on a full disk fails in many ways; without this much room, bytes, that is the reason.
const LEDGER_ROOM: u64 = 64 << 10;
/// Beside the largest output: what ledger, journal and proof sheet take, bytes.
const SPARE: u64 = 256 << 10;

/// A fault of the ledger in a state folder without room is a full disk.
pub(super) fn full_or(fault: Fault, state: &Root) -> Fault {
    match fault {
        Fault::Ledger(path, LedgerError::Other(_)) if !state.has_room(LEDGER_ROOM) => {
            Fault::Ledger(path, LedgerError::Full)
        }
        other => other,
    }
}

impl House {
    /// One file cannot be moved now. It is told and tried again, and the other photos go on meanwhile.
    pub(super) fn stuck(&mut self, t: &Trouble, now: Moment) {
        let whole = t.is_full() || matches!(t, Trouble::Ledger(_));
        if whole || self.halted {
            return self.trouble(t, now);
        }
        let words = t.to_string();
        if self.stuck_before.insert(words.clone()) {
            tracing::error!("{words}");
        }
        self.paused = Some(words);
        self.retry_at = Some(now + AGAIN);
    }

    /// Something on a disk or in the ledger went wrong; everything stays and is tried again.
    pub(super) fn trouble(&mut self, t: &Trouble, now: Moment) {
        let no_room = matches!(t, Trouble::Ledger(LedgerError::Other(_)))
            && !self.state.has_room(LEDGER_ROOM);
        let words = match no_room {
            true => LedgerError::Full.to_string(),
            false => t.to_string(),
        };
        if self.paused.as_deref() != Some(words.as_str()) {
            tracing::error!("{words}");
        }
        self.waits_for_room = no_room || t.is_full();
        self.paused = Some(words);
        self.halted = true;
        self.retry_at = Some(now + AGAIN);
    }

    /// The time for another try has come. A disk that is still full is not tried with the work of a
    /// whole photo each time.
    pub(super) fn try_again(&mut self, now: Moment) {
        self.reopen();
        if self.waits_for_room && !self.has_room() {
            self.retry_at = Some(now + AGAIN);
            return;
        }
        self.waits_for_room = false;
        self.retry_at = None;
        let before = self.paused.take();
        self.halted = false;
        if let Err(t) = self.finish_names() {
            self.trouble(&t, now);
        }
        self.finish_moves(now);
        self.flush_journal();
        if before.is_some() && self.paused.is_none() {
            self.stuck_before.clear();
            tracing::info!("work goes on");
        }
    }

    fn has_room(&self) -> bool {
        let most = self.config.profiles.iter().map(|p| p.max_bytes).max();
        self.ready.has_room(most.unwrap_or(0) + SPARE) && self.state.has_room(SPARE)
    }

    fn reopen(&mut self) {
        let f = self.config.folders.clone();
        for (root, path) in [
            (&mut self.ready, &f.ready),
            (&mut self.held, &f.held),
            (&mut self.originals, &f.originals),
            (&mut self.state, &f.state),
        ] {
            if !root.still_there()
                && let Ok(r) = self.disk.root(path)
            {
                *root = r;
            }
        }
    }
}

//! What the house sees of the inbox: hints, whole scans, what is passed over. Refuses to conclude
//! anything from what is not there.

use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::base::clock::Moment;
use crate::base::disk::{Kind, Root, Stamp, Stat, text};
use crate::base::reason::Reason;
use crate::base::record::Record;
use crate::deliver::ledger::Seen;
use crate::inbox::scan::Found;
use crate::inbox::watch::Hint;
use crate::inbox::{names, place, scan};

use super::house::House;
use super::summary::Outcome;

/// The watch of a new folder is armed by now.
const ARMED: Duration = Duration::from_secs(1);

impl House {
    /// Folders that were new a moment ago are read once more.
    pub(super) fn look_at_new_folders(&mut self, now: Moment) {
        let Some(inbox) = self.inbox.clone() else {
            return self.look_again.clear();
        };
        let due = self.look_again.extract_if(.., |_, t| *t <= now);
        for (rel, _) in due.collect::<Vec<_>>() {
            if let Ok((found, _)) = scan::scan(&inbox, &rel) {
                for f in found {
                    self.notice(&f, now);
                }
            }
        }
        self.pass_over();
    }

    /// The machine or this process stood still for a while. Nobody watched the files that are waited
    /// for, so their quiet time begins anew; and everything is read again.
    pub fn woke(&mut self, now: Moment) {
        self.settle.anew(now);
        self.scan_all(now);
    }

    /// Something may have happened at these paths.
    pub fn hint(&mut self, hint: &Hint, now: Moment) {
        match hint {
            Hint::Everywhere | Hint::Ended => self.scan_all(now),
            Hint::Look(paths) => {
                let Some(inbox) = self.inbox.clone() else {
                    return self.scan_all(now);
                };
                for path in paths {
                    let Ok(rel) = path.strip_prefix(inbox.path()) else {
                        if path.starts_with(self.state.path()) {
                            self.take_requests();
                        } else {
                            self.look_at_settings();
                        }
                        continue;
                    };
                    if rel.as_os_str().is_empty() {
                        return self.scan_all(now);
                    }
                    self.look_at(&inbox, rel, now);
                }
                if std::mem::take(&mut self.companions) {
                    self.look_for_corrections(now);
                }
            }
        }
    }

    fn look_at(&mut self, inbox: &Root, rel: &Path, now: Moment) {
        match inbox.stat(rel) {
            Ok(Some(stat)) if stat.kind == Kind::Folder => {
                // What fills it while its own watch is being armed gives no event.
                self.look_again.insert(rel.to_owned(), now + ARMED);
                if let Ok((found, _)) = scan::scan(inbox, rel) {
                    for f in found {
                        self.notice(&f, now);
                    }
                }
            }
            Ok(Some(stat)) => self.notice(
                &Found {
                    rel: rel.to_owned(),
                    stat,
                },
                now,
            ),
            Ok(None) => self.vanished(rel),
            Err(_) => {}
        }
    }

    /// Reads the whole inbox anew; the directory is the truth, and a missing one says nothing.
    pub fn scan_all(&mut self, now: Moment) {
        self.last_scan = now;
        let path = self.config.folders.inbox.clone();
        if !self.inbox.as_ref().is_some_and(Root::still_there) {
            let was_online = self.inbox.is_some();
            self.inbox = place::inbox(&self.disk, &path, &self.config.folders.state);
            match (was_online, self.inbox.is_some()) {
                (true, false) => tracing::warn!(
                    "{}: the inbox is offline; nothing is lost, and work goes on when it is back",
                    text(&path)
                ),
                (false, true) => {
                    tracing::info!("{}: the inbox is back", text(&path));
                    self.finish_moves(now);
                }
                _ => {}
            }
        }
        let Some(inbox) = self.inbox.clone() else {
            return;
        };
        let _ = place::remember(&inbox, &self.state);
        let Ok((found, closed)) = scan::scan(&inbox, Path::new("")) else {
            return;
        };
        for folder in closed {
            tracing::warn!(
                "{}: this folder cannot be read",
                text(&inbox.path().join(folder))
            );
        }
        let here: std::collections::BTreeSet<&PathBuf> = found.iter().map(|f| &f.rel).collect();
        let gone: Vec<PathBuf> = self
            .settle
            .paths()
            .filter(|p| !here.contains(p))
            .cloned()
            .collect();
        for rel in gone {
            self.vanished(&rel);
        }
        for f in &found {
            self.notice(f, now);
        }
        self.pass_over();
        self.look_for_corrections(now);
    }

    fn vanished(&mut self, rel: &Path) {
        if self.jobs.values().any(|j| j.path == rel) {
            return;
        }
        self.settle.forget(rel);
        if self.arrivals.remove(rel).is_some() {
            self.wake_twins();
        }
    }

    fn notice(&mut self, found: &Found, now: Moment) {
        let Found { rel, stat } = found;
        if names::is_companion(rel) {
            self.companions |= names::is_correction(rel);
            return;
        }
        let seen = self.ledger.seen(rel).ok().flatten();
        let known = seen.filter(|s| s.stamp == stat.stamp);
        // Content that is fetched need not change the stamp.
        let was_elsewhere = known
            .as_ref()
            .is_some_and(|s| s.why == Reason::CloudOnly.code());
        if known.is_some() && !was_elsewhere {
            return;
        }
        if let Some(reason) = self.passed_over(rel, stat) {
            if was_elsewhere && reason == Reason::CloudOnly {
                return;
            }
            self.passed.insert(rel.clone(), (stat.stamp, reason));
            return;
        }
        let listing = names::listing(rel);
        if self.settle.observe(rel, &listing, stat.stamp, now)
            && !self.jobs.values().any(|j| j.path == *rel)
        {
            self.arrivals.remove(rel);
        }
    }

    fn passed_over(&self, rel: &Path, stat: &Stat) -> Option<Reason> {
        match stat.kind {
            Kind::Link => return Some(Reason::Link),
            Kind::Special => return Some(Reason::SpecialFile),
            Kind::File | Kind::Folder => {}
        }
        let elsewhere = || self.inbox.as_ref().is_some_and(|i| i.is_elsewhere(rel));
        names::passed_over(rel).or_else(|| elsewhere().then_some(Reason::CloudOnly))
    }

    /// Passes a file over for good, with one line.
    pub(super) fn ignore(&mut self, rel: &Path, stamp: Stamp, reason: Reason) {
        self.passed.insert(rel.to_owned(), (stamp, reason));
        self.pass_over();
    }

    /// Writes down what was found to be passed over; thousands in one go cost little more than one.
    pub(super) fn pass_over(&mut self) {
        let passed = std::mem::take(&mut self.passed);
        if passed.is_empty() {
            return;
        }
        let all = passed.iter().map(|(rel, (stamp, reason))| {
            let mut line = Record::of("ignored");
            line.source = Some(text(rel));
            line.listing = Some(names::listing(rel));
            line.reasons = Some(vec![reason.code().into()]);
            let seen = Seen {
                stamp: *stamp,
                why: reason.code().into(),
            };
            (rel.clone(), seen, line)
        });
        if let Err(e) = self.ledger.conclude_all(all.collect()) {
            // They are found again at the next look.
            let now = self.clock.now();
            return self.trouble(&e.into(), now);
        }
        for (rel, (_, reason)) in passed {
            self.settle.forget(&rel);
            self.arrivals.remove(&rel);
            let reason = reason.code().into();
            self.note_outcome(&rel, "", Outcome::Ignored { reason });
        }
        self.flush_journal();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::clock::Clock;
    use crate::base::disk::Disk;
    use crate::config::{Config, Folders, Places};
    use crate::daemon::house::Manner;

    const SECOND: Duration = Duration::from_secs(1);
    const DAY: i64 = 86_400;

    fn opened(top: &Path, clock: &Clock) -> House {
        let mut config = Config::default_for(&Places::under(top));
        let folder = |name: &str| {
            std::fs::create_dir_all(top.join(name)).unwrap();
            top.join(name)
        };
        config.folders = Folders {
            inbox: folder("inbox"),
            ready: folder("ready"),
            held: folder("held"),
            originals: folder("originals"),
            state: folder("state"),
        };
        config.watch.settle = 3 * SECOND;
        House::open(config, clock.clone(), Disk::default(), Manner::default()).unwrap()
    }

    #[test]
    fn a_wall_clock_that_jumps_a_day_releases_nothing_early_and_starves_nothing() {
        let (dir, clock) = (tempfile::tempdir().unwrap(), Clock::by_hand());
        let mut house = opened(dir.path(), &clock);
        std::fs::write(dir.path().join("inbox/a.jpg"), "a").unwrap();
        house.scan_all(clock.now());
        for days in [1, -2, 400] {
            clock.jump_wall(days * DAY);
            assert!(house.tick(clock.now()).is_empty(), "{days} days");
            assert_eq!(house.next_tick(), clock.now() + 3 * SECOND);
        }
        clock.advance(3 * SECOND - Duration::from_millis(1));
        assert!(house.tick(clock.now()).is_empty());
        clock.jump_wall(-DAY);
        clock.advance(Duration::from_millis(1));
        assert_eq!(house.tick(clock.now()).len(), 1);
    }

    #[test]
    fn a_files_own_times_neither_release_nor_delay_it() {
        let (dir, clock) = (tempfile::tempdir().unwrap(), Clock::by_hand());
        let mut house = opened(dir.path(), &clock);
        let epoch = std::time::SystemTime::UNIX_EPOCH;
        for (name, age) in [("past.jpg", 1), ("future.jpg", 4_070_000_000)] {
            let file = std::fs::File::create(dir.path().join("inbox").join(name)).unwrap();
            file.set_modified(epoch + age * SECOND).unwrap();
        }
        house.scan_all(clock.now());
        clock.advance(2 * SECOND);
        assert!(house.tick(clock.now()).is_empty());
        clock.advance(SECOND);
        house.tick(clock.now());
        assert_eq!(house.arrivals.len(), 2);
    }

    #[test]
    fn after_standing_still_nothing_counts_as_quiet_that_nobody_watched() {
        let (dir, clock) = (tempfile::tempdir().unwrap(), Clock::by_hand());
        let mut house = opened(dir.path(), &clock);
        std::fs::write(dir.path().join("inbox/a.jpg"), "a").unwrap();
        house.scan_all(clock.now());
        clock.advance(600 * SECOND);
        house.woke(clock.now());
        assert!(house.tick(clock.now()).is_empty());
        clock.advance(3 * SECOND);
        assert_eq!(house.tick(clock.now()).len(), 1);
    }

    #[test]
    fn an_inbox_that_goes_or_is_another_one_is_noticed_within_one_tick_without_any_event() {
        let (dir, clock) = (tempfile::tempdir().unwrap(), Clock::by_hand());
        let mut house = opened(dir.path(), &clock);
        let (inbox, away) = (dir.path().join("inbox"), dir.path().join("away"));
        let rescan = house.config.watch.rescan;
        let tick = |house: &mut House| {
            clock.advance(rescan);
            house.tick(clock.now());
        };
        let first = house.inbox_id();
        std::fs::rename(&inbox, &away).unwrap();
        tick(&mut house);
        assert!(house.is_offline());
        std::fs::create_dir(&inbox).unwrap();
        tick(&mut house);
        assert!(!house.is_offline() && house.inbox_id() != first);
        std::fs::remove_dir(&inbox).unwrap();
        std::fs::rename(&away, &inbox).unwrap();
        tick(&mut house);
        assert_eq!(house.inbox_id(), first);
    }

    #[test]
    fn the_bare_mount_point_of_a_disk_is_offline_and_never_an_empty_inbox() {
        let (dir, clock) = (tempfile::tempdir().unwrap(), Clock::by_hand());
        let mut house = opened(dir.path(), &clock);
        // As if it had been a mounted disk when it was last seen.
        std::fs::write(dir.path().join("state/inbox-is-a-disk"), "").unwrap();
        std::fs::rename(dir.path().join("inbox"), dir.path().join("away")).unwrap();
        std::fs::create_dir(dir.path().join("inbox")).unwrap();
        house.scan_all(clock.now());
        assert!(house.is_offline());
        drop(house);
        assert!(opened(dir.path(), &clock).is_offline());
        std::fs::write(dir.path().join("inbox/a.jpg"), "a").unwrap();
        assert!(!opened(dir.path(), &clock).is_offline());
        assert!(!dir.path().join("state/inbox-is-a-disk").exists());
    }
}

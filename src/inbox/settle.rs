//! Quiet times, pure: when a file has been left alone long enough to be taken, and a listing long
//! enough to be numbered. Time is handed in; nothing here looks at a disk.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Duration;

use crate::base::clock::Moment;
use crate::base::disk::Stamp;

/// A file that changes over this time is said to keep changing.
pub const RESTLESS: Duration = Duration::from_secs(60);
/// After this long a taken file that changes again is a new matter.
const CALM: Duration = Duration::from_secs(120);

/// What is waited for at one inbox path.
#[derive(Clone, Debug)]
struct Waiting {
    stamp: Stamp,
    /// When this stamp was first seen.
    since: Moment,
    /// When its changes began.
    first: Moment,
    /// Last look, to re-arm after a look that found it unchanged.
    taken: bool,
}

/// All quiet times of the inbox.
#[derive(Default)]
pub struct Settle {
    files: BTreeMap<PathBuf, Waiting>,
    listings: BTreeMap<String, Moment>,
}

impl Settle {
    /// A file as it is now. Returns whether it is new or changed.
    pub fn observe(&mut self, rel: &Path, listing: &str, stamp: Stamp, now: Moment) -> bool {
        if let Some(w) = self.files.get_mut(rel) {
            if w.stamp == stamp {
                return false;
            }
            let inode_only = w.stamp.same_content(stamp) && w.taken;
            w.stamp = stamp;
            if inode_only {
                return false;
            }
            if w.taken && now.saturating_sub(w.since) >= CALM {
                w.first = now;
            }
            w.since = now;
            w.taken = false;
        } else {
            self.files.insert(
                rel.to_owned(),
                Waiting {
                    stamp,
                    since: now,
                    first: now,
                    taken: false,
                },
            );
        }
        self.listings.insert(listing.to_owned(), now);
        true
    }
    /// The path is gone or concluded; nothing follows from that.
    pub fn forget(&mut self, rel: &Path) {
        self.files.remove(rel);
    }
    /// The file at this path was handed on.
    pub fn take(&mut self, rel: &Path) {
        if let Some(w) = self.files.get_mut(rel) {
            w.taken = true;
        }
    }
    /// The file is to be waited for once more, from now on.
    pub fn again(&mut self, rel: &Path, now: Moment) {
        if let Some(w) = self.files.get_mut(rel) {
            w.taken = false;
            w.since = now;
        }
    }
    /// Everything still waited for is waited for once more, from now on.
    pub fn anew(&mut self, now: Moment) {
        for w in self.files.values_mut().filter(|w| !w.taken) {
            w.since = now;
        }
    }
    /// Files left alone for `quiet`, not yet taken.
    pub fn quiet(&self, now: Moment, quiet: Duration) -> Vec<(PathBuf, Stamp)> {
        self.files
            .iter()
            .filter(|(_, w)| !w.taken && now.saturating_sub(w.since) >= quiet)
            .map(|(p, w)| (p.clone(), w.stamp))
            .collect()
    }
    /// How long the content at this path has been left alone.
    pub fn quiet_for(&self, rel: &Path, now: Moment) -> Option<Duration> {
        self.files.get(rel).map(|w| now.saturating_sub(w.since))
    }
    /// Files still changing, with the time since they were first seen.
    pub fn waiting(&self, now: Moment) -> Vec<(PathBuf, Duration)> {
        self.files
            .iter()
            .filter(|(_, w)| !w.taken)
            .map(|(p, w)| (p.clone(), now.saturating_sub(w.first)))
            .collect()
    }
    /// Files that have kept changing for `RESTLESS` or longer.
    pub fn restless(&self, now: Moment) -> Vec<PathBuf> {
        self.files
            .iter()
            .filter(|(_, w)| {
                w.since.saturating_sub(w.first) >= RESTLESS
                    && (!w.taken || now.saturating_sub(w.since) < RESTLESS)
            })
            .map(|(p, _)| p.clone())
            .collect()
    }
    /// Whether any file is still to be taken.
    pub fn any_waiting(&self) -> bool {
        self.files.values().any(|w| !w.taken)
    }
    /// Whether a file of this listing is still to be taken.
    pub fn listing_waits(&self, listing: &str, of: impl Fn(&Path) -> String) -> bool {
        self.files.iter().any(|(p, w)| !w.taken && of(p) == listing)
    }
    /// When the listing will have been quiet for `quiet`; `None` when nothing changed there.
    pub fn listing_due(&self, listing: &str, quiet: Duration) -> Option<Moment> {
        self.listings.get(listing).map(|t| *t + quiet)
    }
    /// Listings that have been quiet for `quiet` are known no longer.
    pub fn forget_listings(&mut self, now: Moment, quiet: Duration) {
        self.listings.retain(|_, t| now.saturating_sub(*t) < quiet);
    }
    /// When the next file will have been quiet for `quiet`.
    pub fn next_due(&self, quiet: Duration) -> Option<Moment> {
        self.files
            .values()
            .filter(|w| !w.taken)
            .map(|w| w.since + quiet)
            .min()
    }
    /// Paths known, for finding what vanished.
    pub fn paths(&self) -> impl Iterator<Item = &PathBuf> {
        self.files.keys()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn stamp(size: u64) -> Stamp {
        Stamp {
            dev: 1,
            ino: 1,
            size,
            mtime: 0,
            ctime: 0,
        }
    }
    const S: Duration = Duration::from_secs(1);

    #[test]
    fn a_growing_file_is_not_taken_until_it_has_been_quiet() {
        let mut s = Settle::default();
        let p = Path::new("Mug/a.jpg");
        for t in 0..10 {
            s.observe(p, "Mug", stamp(u64::from(t)), S * t);
            assert!(s.quiet(S * t, S * 3).is_empty());
        }
        assert!(!s.observe(p, "Mug", stamp(9), S * 11));
        assert!(s.quiet(S * 11, S * 3).is_empty());
        assert_eq!(s.quiet(S * 12, S * 3).len(), 1);
        s.take(p);
        assert!(s.quiet(S * 60, S * 3).is_empty());
        assert_eq!(s.listing_due("Mug", S * 60), Some(S * 69));
        s.forget_listings(S * 68, S * 60);
        assert_eq!(s.listing_due("Mug", S * 60), Some(S * 69));
        s.forget_listings(S * 69, S * 60);
        assert_eq!(s.listing_due("Mug", S * 60), None);
    }

    #[test]
    fn a_taken_file_that_changes_again_is_waited_for_again() {
        let mut s = Settle::default();
        let p = Path::new("a.jpg");
        s.observe(p, "", stamp(1), S);
        s.take(p);
        s.observe(p, "", stamp(2), S * 5);
        assert_eq!(s.quiet(S * 8, S * 3).len(), 1);
    }

    #[test]
    fn a_file_that_changes_for_a_minute_is_restless_until_it_is_left_alone() {
        let (mut s, p) = (Settle::default(), Path::new("Mug/a.jpg"));
        for t in 0..90 {
            s.observe(p, "Mug", stamp(u64::from(t)), S * t);
            assert_eq!(s.restless(S * t).is_empty(), t < 60, "{t}");
        }
        // Taken and found unreadable: it may go on, and is told for a while.
        s.take(p);
        assert_eq!(s.restless(S * 100), [p.to_owned()]);
        assert!(s.restless(S * 150).is_empty());
        // Much later she saves it once: that is no long change.
        s.observe(p, "Mug", stamp(1000), S * 4000);
        assert!(s.restless(S * 4001).is_empty());
    }
}

//! Time. Owns the only wall clock of the program and the monotonic clock that all waiting is
//! done on; both are handed in, so that a test can turn them by hand.

use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

use time::OffsetDateTime;
use time::format_description::well_known::Rfc3339;

/// A point on the monotonic clock: time since the clock was made. Never goes back.
pub type Moment = Duration;

/// Where time comes from.
#[derive(Clone)]
pub struct Clock(Source);

#[derive(Clone)]
enum Source {
    System(Instant),
    Hand(Arc<Mutex<(Moment, OffsetDateTime)>>),
}

impl Clock {
    /// The system's monotonic and wall clocks.
    pub fn system() -> Self {
        Self(Source::System(Instant::now()))
    }
    /// A clock that stands still until it is advanced.
    pub fn by_hand() -> Self {
        let start = OffsetDateTime::from_unix_timestamp(1_780_000_000).expect("a valid time");
        Self(Source::Hand(Arc::new(Mutex::new((Moment::ZERO, start)))))
    }
    /// Monotonic time.
    pub fn now(&self) -> Moment {
        match &self.0 {
            Source::System(start) => start.elapsed(),
            Source::Hand(t) => t.lock().expect("clock").0,
        }
    }
    /// Wall time as RFC 3339 in UTC, milliseconds.
    pub fn stamp(&self) -> String {
        let t = match &self.0 {
            Source::System(_) => OffsetDateTime::now_utc(),
            Source::Hand(t) => t.lock().expect("clock").1,
        };
        let t = t
            .replace_nanosecond(t.nanosecond() / 1_000_000 * 1_000_000)
            .unwrap_or(t);
        t.format(&Rfc3339).unwrap_or_default()
    }
    /// ns since 1970 of a wall time as `stamp` gives it.
    pub fn nanoseconds(stamp: &str) -> Option<i64> {
        let t = OffsetDateTime::parse(stamp, &Rfc3339).ok()?;
        i64::try_from(t.unix_timestamp_nanos()).ok()
    }
    /// Moves a hand-turned clock forward; the system's clocks cannot be moved.
    pub fn advance(&self, by: Duration) {
        if let Source::Hand(t) = &self.0 {
            let mut t = t.lock().expect("clock");
            t.0 += by;
            t.1 += by;
        }
    }
    /// Sets a hand-turned wall clock off by some seconds, leaving the monotonic one alone.
    pub fn jump_wall(&self, seconds: i64) {
        if let Source::Hand(t) = &self.0 {
            t.lock().expect("clock").1 += time::Duration::seconds(seconds);
        }
    }
}

//! `watch`: the daemon in the foreground, until a signal stops it.

use std::path::Path;

use super::{OK, start};
use crate::daemon::house::Manner;
use crate::daemon::run::{self, Until};

/// Runs until SIGTERM or SIGINT; returns the exit code.
pub fn run(file: Option<&Path>) -> i32 {
    let opened = start::configuration(file)
        .and_then(|c| start::open(c, Manner::default(), "watch", start::Full::Wait));
    let start::Opened {
        mut house,
        clock,
        mut lock,
        stop,
        log: _log,
    } = match opened {
        Ok(o) => o,
        Err(code) => return code,
    };
    tracing::info!(
        "watching {}",
        crate::base::disk::text(&house.config.folders.inbox)
    );
    run::run(&mut house, &clock, Until::Stopped, stop, |h| {
        lock.tell(h.paused());
    });
    OK
}

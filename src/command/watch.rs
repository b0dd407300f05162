//! `watch`: the daemon in the foreground, until a signal stops it.

use std::path::Path;

use super::{GLANCE, OK, complain, start};
use crate::daemon::house::Manner;
use crate::daemon::run::{self, Until};

/// Runs until SIGTERM or SIGINT; returns the exit code.
pub fn run(file: Option<&Path>) -> i32 {
    let opened =
        start::configuration(file).and_then(|c| start::open(c, Manner::default(), "watch"));
    let mut o = match opened {
        Ok(o) => o,
        Err(code) => return code,
    };
    tracing::info!(
        "watching {}",
        crate::base::disk::text(&o.house.config.folders.inbox)
    );
    match run::run(&mut o.house, &o.clock, Until::Stopped, |_| {}) {
        Ok(_) => OK,
        Err(e) => {
            complain(&format!("the daemon cannot run: {e}\nhint: start it again"));
            GLANCE
        }
    }
}

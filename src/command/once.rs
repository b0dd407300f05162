//! `once`: everything in the inbox, then an end. Owns what it prints.

use std::path::Path;

use super::progress::Progress;
use super::{GLANCE, complain, handed, say, start, table};
use crate::daemon::house::Manner;
use crate::daemon::requests::Request;
use crate::daemon::run::{self, Ended, Until};
use crate::daemon::summary::Summary;

/// Runs once; returns the exit code.
pub fn run(file: Option<&Path>, as_json: bool) -> i32 {
    let config = match start::configuration(file) {
        Ok(c) => c,
        Err(code) => return code,
    };
    if let Some(answer) = handed::over(&config, &Request::Once) {
        return handed::show(answer, as_json);
    }
    let o = match start::open(config, Manner { once: true }, "once", start::Full::GiveUp) {
        Ok(o) => o,
        Err(code) => return code,
    };
    finish(o, as_json)
}

/// Runs an opened house until all is settled and prints what came of it; returns the exit code.
pub(super) fn finish(o: start::Opened, as_json: bool) -> i32 {
    let mut progress = Progress::start();
    let (mut house, mut lock) = (o.house, o.lock);
    let ended = run::run(&mut house, &o.clock, Until::Settled, o.stop, |h| {
        lock.tell(h.paused());
        progress.show(h);
    });
    progress.end();
    let summary = &house.summary;
    show(summary, as_json);
    if !as_json {
        let page = house.config.folders.state.join("proof/index.html");
        if page.exists() {
            say(&format!("proof sheet: {}", crate::base::disk::text(&page)));
        }
    }
    match ended {
        Ended::Settled | Ended::Signal => summary.exit_code(),
        Ended::Stuck => {
            let offline = format!(
                "{}: the inbox is not there\nhint: connect its disk, or name another in the configuration",
                crate::base::disk::text(&house.config.folders.inbox)
            );
            complain(house.paused().unwrap_or(&offline));
            GLANCE
        }
    }
}

/// Prints a summary, as a table and words or as JSON.
pub(super) fn show(summary: &Summary, as_json: bool) {
    if as_json {
        say(&summary.to_json().to_string());
    } else {
        table::print(summary);
        table::print_attention(summary);
        say(&table::totals(summary));
    }
}

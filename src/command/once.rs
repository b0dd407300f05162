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
    let mut o = match start::open(config, Manner { once: true }, "once") {
        Ok(o) => o,
        Err(code) => return code,
    };
    finish(&mut o, as_json)
}

/// Runs an opened house until all is settled and prints what came of it; returns the exit code.
pub(super) fn finish(o: &mut start::Opened, as_json: bool) -> i32 {
    let mut progress = Progress::start();
    let ended = run::run(&mut o.house, &o.clock, Until::Settled, |h| progress.show(h));
    progress.end();
    let summary = &o.house.summary;
    show(summary, as_json);
    if !as_json {
        let page = o.house.config.folders.state.join("proof/index.html");
        if page.exists() {
            say(&format!("proof sheet: {}", crate::base::disk::text(&page)));
        }
    }
    match ended {
        Ok(Ended::Settled | Ended::Signal) => summary.exit_code(),
        Ok(Ended::Stuck) => {
            let offline = format!(
                "{}: the inbox is not there\nhint: connect its disk, or name another in the configuration",
                crate::base::disk::text(&o.house.config.folders.inbox)
            );
            complain(o.house.paused().unwrap_or(&offline));
            GLANCE
        }
        Err(e) => {
            complain(&format!(
                "the work cannot be done: {e}\nhint: start it again"
            ));
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

//! Handing a request to the daemon that is running, and waiting for its answer.

use std::time::Duration;

use super::{LOCKED, complain, once};
use crate::config::Config;
use crate::daemon::lock::Lock;
use crate::daemon::requests::{self, Request};
use crate::daemon::summary::Summary;

/// What came of it: the summary, or the exit code after words.
pub type Answer = Result<Summary, i32>;

/// Hands the request over when a daemon is running; `None` when none is, or when it ended without an
/// answer: the work is then the caller's own. A daemon that took its place meanwhile answers instead.
pub fn over(config: &Config, request: &Request) -> Option<Answer> {
    let state = &config.folders.state;
    let holder = Lock::holder(state)?;
    let asked = requests::ask(state, request);
    let Ok(ticket) = asked else {
        complain(&format!(
            "another Stallhand is at work on these folders ({}) and cannot take the request\nhint: let it work, or stop it first",
            holder.who
        ));
        return Some(Err(LOCKED));
    };
    loop {
        // Asked before the answer is looked for, which may be the last thing that it wrote.
        let runs = Lock::holder(state).is_some();
        if let Some(answer) = requests::answer(state, &ticket) {
            return Some(answer.map_err(|words| {
                complain(&words);
                super::USAGE
            }));
        }
        if !runs {
            requests::withdraw(state, &ticket);
            return None;
        }
        std::thread::sleep(Duration::from_millis(100));
    }
}

/// Prints an answer; returns the exit code.
pub fn show(answer: Answer, as_json: bool) -> i32 {
    match answer {
        Ok(summary) => {
            once::show(&summary, as_json);
            summary.exit_code()
        }
        Err(code) => code,
    }
}

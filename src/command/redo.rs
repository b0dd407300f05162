//! `redo`: makes outputs again from originals, by itself or through the running daemon.

use std::path::Path;

use super::{USAGE, complain, handed, once, start};
use crate::daemon::house::Manner;
use crate::daemon::requests::Request;

/// Makes them again; returns the exit code.
pub fn run(file: Option<&Path>, names: Vec<String>, changed: bool) -> i32 {
    let config = match start::configuration(file) {
        Ok(c) => c,
        Err(code) => return code,
    };
    let request = Request::Redo { names, changed };
    if let Some(answer) = handed::over(&config, &request) {
        return handed::show(answer, false);
    }
    let mut o = match start::open(config, Manner { once: true }, "redo", start::Full::GiveUp) {
        Ok(o) => o,
        Err(code) => return code,
    };
    let Request::Redo { names, changed } = request else {
        return USAGE;
    };
    match o.house.redo(&names, changed) {
        Ok(_) => once::finish(o, false),
        Err(words) => {
            complain(&words);
            USAGE
        }
    }
}

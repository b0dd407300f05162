//! One line that tells how far the work is, on a terminal only. Refuses to know what the work is.

use std::io::{IsTerminal, Write};

use crate::daemon::house::House;

/// The line, drawn on stderr when that is a terminal.
pub struct Progress {
    terminal: bool,
    last: String,
}

const WIDTH: usize = 24;

impl Progress {
    pub fn start() -> Self {
        Self {
            terminal: std::io::stderr().is_terminal(),
            last: String::new(),
        }
    }
    /// Draws how things stand.
    pub fn show(&mut self, house: &House) {
        if !self.terminal {
            return;
        }
        let done = house.concluded_sources();
        let all = done + house.waiting() + house.in_hand();
        if all == 0 {
            return;
        }
        let full = done * WIDTH / all;
        let line = format!(
            "[{}{}] {done} of {all} photos",
            "#".repeat(full),
            ".".repeat(WIDTH - full)
        );
        if line != self.last {
            eprint!("\r{line}\x1b[K");
            let _ = std::io::stderr().flush();
            self.last = line;
        }
    }
    /// Clears the line.
    pub fn end(&self) {
        if self.terminal && !self.last.is_empty() {
            eprint!("\r\x1b[K");
        }
    }
}

//! How far the work is: on a terminal one line drawn over itself, in a pipe a plain line at each tenth.
//! Refuses to know what the work is.

use std::io::{IsTerminal, Write};

use crate::daemon::house::House;

/// What was last said, on stderr.
pub struct Progress {
    terminal: bool,
    last: String,
    tenth: usize,
    /// Most photos that there were: repeats leave without being concluded.
    all: usize,
}

const WIDTH: usize = 24;

impl Progress {
    pub fn start() -> Self {
        Self {
            terminal: std::io::stderr().is_terminal(),
            last: String::new(),
            tenth: 0,
            all: 0,
        }
    }
    /// Tells how things stand.
    pub fn show(&mut self, house: &House) {
        let left = house.waiting() + house.remaking();
        self.all = self.all.max(house.concluded_sources() + left);
        let (all, done) = (self.all, self.all - left);
        if all == 0 {
            return;
        }
        if !self.terminal {
            let tenth = done * 10 / all;
            if tenth > self.tenth {
                eprintln!("{done} of {all} photos");
                self.tenth = tenth;
            }
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

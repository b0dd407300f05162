//! What every verb that works on the folders does first: configuration, folders, lock, log, house.
//! Owns the order of it; refuses to run the loop.

use std::path::Path;

use super::{LOCKED, USAGE, complain};
use crate::base::clock::Clock;
use crate::base::disk::{Disk, text};
use crate::config::{self, Config};
use crate::daemon::house::{House, Manner};
use crate::daemon::lock::{Lock, NoLock};

/// An opened house with everything that must live as long as it does.
pub struct Opened {
    pub house: House,
    pub clock: Clock,
    _lock: Lock,
    _log: Option<tracing_appender::non_blocking::WorkerGuard>,
}

/// Loads the configuration; prints what is wrong.
///
/// # Errors
/// The exit code.
pub fn configuration(file: Option<&Path>) -> Result<Config, i32> {
    config::load(file).map_err(|e| {
        complain(&e.to_string());
        USAGE
    })
}

/// Makes missing folders and keeps the five apart.
///
/// # Errors
/// The exit code, after the cause was printed.
pub fn folders(config: &Config, disk: &Disk) -> Result<(), i32> {
    // Judged before any of them is made, and again as they are.
    config::folders::check(&config.folders).map_err(|c| refuse(&c.to_string()))?;
    for (name, path) in config.folders.named() {
        disk.make_folder(path, name == "state").map_err(|e| {
            refuse(&format!(
                "{}: the {name} folder cannot be made: {}\nhint: name another in the configuration",
                text(path),
                crate::deliver::plain(&e)
            ))
        })?;
    }
    config::folders::check(&config.folders).map_err(|c| refuse(&c.to_string()))
}

fn refuse(words: &str) -> i32 {
    complain(words);
    USAGE
}

/// Makes missing folders, keeps them apart, takes the lock and opens the house.
///
/// # Errors
/// The exit code, after the cause was printed.
pub fn open(config: Config, manner: Manner, command: &str) -> Result<Opened, i32> {
    let disk = Disk::from_environment();
    folders(&config, &disk)?;
    let lock = Lock::take(&config.folders.state, command).map_err(|e| match e {
        NoLock::Held(who) => {
            complain(&format!(
                "{}: another Stallhand is at work on these folders ({who})\nhint: let it work, or stop it first",
                text(&config.folders.state)
            ));
            LOCKED
        }
        NoLock::Io(e) => refuse(&format!(
            "{}: the lock cannot be had: {}\nhint: check the folder's permissions",
            text(&config.folders.state),
            crate::deliver::plain(&e)
        )),
    })?;
    let log = super::log::start(&config.folders.state);
    let clock = Clock::system();
    let house =
        House::open(config, clock.clone(), disk, manner).map_err(|f| refuse(&f.to_string()))?;
    Ok(Opened {
        house,
        clock,
        _lock: lock,
        _log: log,
    })
}

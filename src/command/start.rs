//! What every verb that works on the folders does first: configuration, folders, lock, log, house.
//! Owns the order of it; refuses to run the loop.

use std::path::Path;

use super::{GLANCE, LOCKED, OK, USAGE, complain};
use crate::base::clock::Clock;
use crate::base::disk::{Disk, text};
use crate::base::memory;
use crate::config::{self, Config};
use crate::daemon::house::{AGAIN, House, Manner};
use crate::daemon::lock::{Lock, NoLock};
use crate::daemon::rescue;
use crate::daemon::run::Stop;

/// An opened house with everything that must live as long as it does.
pub struct Opened {
    pub house: House,
    pub clock: Clock,
    pub lock: Lock,
    pub stop: Stop,
    /// Flushes the log when dropped.
    pub log: Option<tracing_appender::non_blocking::WorkerGuard>,
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

/// Makes missing folders and keeps the five apart. An inbox that was there before is not made anew:
/// its disk may not be connected.
///
/// # Errors
/// The exit code, after the cause was printed.
pub fn folders(config: &Config, disk: &Disk) -> Result<(), i32> {
    // Judged before any of them is made, and again as they are.
    config::folders::check(&config.folders).map_err(|c| refuse(&c.to_string()))?;
    let known = config.folders.state.join(rescue::LEDGER).exists();
    for (name, path) in config.folders.named() {
        if name == "inbox" && known {
            continue;
        }
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

/// What to do when the house cannot be opened for want of room on a disk.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Full {
    /// Wait for room, until a stop signal.
    Wait,
    GiveUp,
}

/// Catches stop signals, makes missing folders, keeps them apart, takes the lock and opens the house.
///
/// # Errors
/// The exit code, after the cause was printed.
pub fn open(config: Config, manner: Manner, command: &str, full: Full) -> Result<Opened, i32> {
    memory::share();
    let mut stop = Stop::listen().map_err(|e| {
        complain(&format!("the work cannot begin: {e}\nhint: start it again"));
        GLANCE
    })?;
    let disk = Disk::from_environment();
    folders(&config, &disk)?;
    let mut lock = Lock::take(&config.folders.state, command).map_err(|e| match e {
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
    let house = loop {
        match House::open(config.clone(), clock.clone(), disk.clone(), manner) {
            Ok(house) => break house,
            Err(fault) if full == Full::Wait && fault.is_full() => {
                let words = fault.to_string();
                if !lock.tell(Some(&words)) {
                    tracing::error!("{words}");
                }
                if stop.asked_within(AGAIN) {
                    return Err(OK);
                }
            }
            Err(fault) => return Err(refuse(&fault.to_string())),
        }
    };
    lock.tell(None);
    Ok(Opened {
        house,
        clock,
        lock,
        stop,
        log,
    })
}

//! The operational log: human lines on stderr, a daily JSON file in the state folder.
//! Owns where it goes; refuses to be read by the program.

use std::io::IsTerminal;
use std::path::Path;

use crate::base::disk::Disk;
use tracing_appender::non_blocking::{NonBlockingBuilder, WorkerGuard};
use tracing_appender::rolling::{RollingFileAppender, Rotation};
use tracing_subscriber::filter::{LevelFilter, Targets};
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;
use tracing_subscriber::{Layer, fmt};

/// Files kept, one a day.
const DAYS: usize = 14;

/// Lines on their way to the file at most; room for each is set aside at once, 32 bytes.
const WAITING: usize = 4096;

/// Starts the log; the guard flushes it when dropped. Without a writable folder stderr alone
/// is used.
pub fn start(state: &Path) -> Option<WorkerGuard> {
    let human = fmt::layer()
        .with_writer(std::io::stderr)
        .with_target(false)
        .with_ansi(std::io::stderr().is_terminal())
        .with_filter(LevelFilter::INFO);
    let folder = state.join("log");
    // Made first: the appender complains loudly about a missing one.
    let _ = Disk::default().make_folder(&folder, true);
    let file = RollingFileAppender::builder()
        .rotation(Rotation::DAILY)
        .filename_prefix("stallhand")
        .filename_suffix("log.json")
        .max_log_files(DAYS)
        .build(folder)
        .ok();
    match file {
        Some(file) => {
            let (writer, guard) = NonBlockingBuilder::default()
                .buffered_lines_limit(WAITING)
                .finish(file);
            let json = fmt::layer().json().with_writer(writer).with_filter(
                Targets::new()
                    .with_default(LevelFilter::INFO)
                    // The fence's level: for whoever looks, not for her terminal.
                    .with_target("stallhand::worker", LevelFilter::DEBUG),
            );
            let _ = tracing_subscriber::registry()
                .with(human)
                .with(json)
                .try_init();
            Some(guard)
        }
        None => {
            let _ = tracing_subscriber::registry().with(human).try_init();
            None
        }
    }
}

//! One file a verb. Owns what is said on the terminal; refuses to decide anything about a photo.

mod config;
mod corrected;
pub mod demo;
mod handed;
mod log;
mod manual;
mod once;
mod preview;
mod progress;
mod redo;
pub mod service;
mod start;
mod status;
mod table;
mod together;
mod watch;
mod why;

use std::path::PathBuf;

use clap::{Parser, Subcommand};

/// All well.
pub const OK: i32 = 0;
/// The work was done, but something needs her eye.
pub const GLANCE: i32 = 1;
/// Usage or configuration error, unknown name.
pub const USAGE: i32 = 2;
/// Another instance holds the lock.
pub const LOCKED: i32 = 3;

/// Watches a folder and makes product photos ready to list.
///
/// Drop photos into the inbox; minutes later they stand in the ready folder in the shop's shape,
/// size and weight. What needs your eye is held with a reason; the originals are never changed.
#[derive(Parser)]
#[command(name = "stallhand", version, disable_help_subcommand = true)]
pub struct Cli {
    /// Use this configuration file instead of the default one
    #[arg(long, global = true, value_name = "FILE")]
    pub config: Option<PathBuf>,
    #[command(subcommand)]
    pub verb: Verb,
}

#[derive(Subcommand)]
pub enum Verb {
    /// Run in the foreground until stopped, as the login service does
    Watch,
    /// Do everything that is in the inbox, then stop
    Once {
        /// Print the result as JSON
        #[arg(long)]
        json: bool,
    },
    /// Show what would be decided for photos anywhere, without delivering
    Preview {
        /// The photos
        #[arg(required = true, value_name = "PHOTO")]
        photos: Vec<PathBuf>,
        /// Only this profile
        #[arg(long, value_name = "NAME")]
        profile: Option<String>,
        /// One JSON object a line, for each photo and profile
        #[arg(long)]
        json: bool,
        /// Draw the decision into this PNG file (one photo)
        #[arg(long, value_name = "FILE.png")]
        picture: Option<PathBuf>,
    },
    /// Make outputs again from originals
    Redo {
        /// Only what a changed profile or correction makes different
        #[arg(long)]
        changed: bool,
        /// Listings, photos or outputs; all when none is named
        #[arg(value_name = "LISTING or PHOTO")]
        names: Vec<String>,
    },
    /// Tell the story of one photo in plain words
    Why {
        /// The photo or its output
        #[arg(value_name = "NAME")]
        name: String,
    },
    /// Tell how things stand
    Status {
        /// Print it as JSON
        #[arg(long)]
        json: bool,
    },
    /// Write, check or describe the configuration
    Config {
        #[command(subcommand)]
        verb: ConfigVerb,
    },
    /// The login service: Stallhand at work whenever you are logged in
    Service {
        #[command(subcommand)]
        verb: service::verbs::ServiceVerb,
    },
    /// Write manual pages and completions into a folder, for a package
    #[command(hide = true)]
    Manual {
        #[arg(value_name = "DIR")]
        folder: PathBuf,
    },
    /// Lay out a small workshop with sample photos and run the real thing on it
    Demo {
        /// Where to lay it out
        #[arg(long, value_name = "DIR", default_value = "stallhand-demo")]
        folder: PathBuf,
    },
}

#[derive(Subcommand)]
pub enum ConfigVerb {
    /// Write the commented default, never over a file
    Init,
    /// Check a configuration file
    Check,
    /// Print the JSON schema of the configuration, for editors
    Schema,
}

/// Runs the program; returns the exit code.
pub fn main() -> i32 {
    let cli = match Cli::try_parse() {
        Ok(c) => c,
        Err(e) => {
            let _ = e.print();
            return if e.use_stderr() { USAGE } else { OK };
        }
    };
    let file = cli.config.as_deref();
    match cli.verb {
        Verb::Watch => watch::run(file),
        Verb::Once { json } => once::run(file, json),
        Verb::Preview {
            photos,
            profile,
            json,
            picture,
        } => preview::run(file, &photos, profile.as_deref(), json, picture.as_deref()),
        Verb::Redo { changed, names } => redo::run(file, names, changed),
        Verb::Why { name } => why::run(file, &name),
        Verb::Status { json } => status::run(file, json),
        Verb::Config { verb } => match verb {
            ConfigVerb::Init => config::init(file),
            ConfigVerb::Check => config::check(file),
            ConfigVerb::Schema => config::schema(),
        },
        Verb::Service { verb } => service::verbs::run(verb, file),
        Verb::Manual { folder } => manual::run(&folder),
        Verb::Demo { folder } => demo::run(&folder),
    }
}

/// What she should know of how this program was built; nothing when all is as it should be.
pub(crate) fn slow_build() -> Option<&'static str> {
    (!crate::render::encode::simd()).then_some(
        "this build prepares photos more slowly than it could: it was built without nasm; the \
         finished files are the same",
    )
}

/// Prints a result line; a closed pipe ends the printing, not the work.
pub(crate) fn say(line: &str) {
    use std::io::Write;
    let _ = writeln!(std::io::stdout(), "{line}");
}

/// Prints words for her on stderr.
pub(crate) fn complain(words: &str) {
    use std::io::Write;
    let _ = writeln!(std::io::stderr(), "{words}");
}

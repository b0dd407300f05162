//! The demonstration: a small pottery-and-candle workshop laid out in a folder of its own, and the
//! real daemon run on it.

mod exif;
pub mod ground;
pub mod photos;

use std::io;
use std::path::Path;

use super::progress::Progress;
use super::{GLANCE, OK, USAGE, complain, say, start, table};
use crate::base::disk::{Disk, text};
use crate::config::{self, Places};
use crate::daemon::house::Manner;
use crate::daemon::run::{self, Ended, Until};
use ground::Ground;

/// The settings file of the workshop, by which every other command can be tried on it.
pub const SETTINGS: &str = "stallhand.toml";
const SETTINGS_TEXT: &str = "\
# Settings of the demonstration. Every command can be tried on it: stallhand --config FILE status
# Folders start at this file; what is not named here has its default.
[folders]
inbox = \"inbox\"
ready = \"ready\"
held = \"held\"
originals = \"originals\"
state = \"state\"

[watch]
settle = \"300ms\"
";

/// Lays out the workshop in `folder`, runs until all is settled, prints the table.
pub fn run(folder: &Path) -> i32 {
    let folder = std::path::absolute(folder).unwrap_or_else(|_| folder.to_owned());
    let ground = match ground::look(&folder) {
        Ok(g) => g,
        Err(words) => {
            complain(&words);
            return USAGE;
        }
    };
    if let Err(e) = lay_out(&folder, ground) {
        complain(&format!(
            "{}: the workshop cannot be laid out: {}\nhint: name another folder with --folder",
            text(&folder),
            crate::deliver::plain(&e)
        ));
        return USAGE;
    }
    let settings = folder.join(SETTINGS);
    let config = match config::load::read(&settings, &Places::under(&folder)) {
        Ok(config) => config,
        Err(e) => {
            complain(&e.to_string());
            return USAGE;
        }
    };
    let manner = Manner { once: true };
    let mut o = match start::open(config, manner, "demo", start::Full::GiveUp) {
        Ok(o) => o,
        Err(code) => return code,
    };
    let mut progress = Progress::start();
    let ended = run::run(&mut o.house, &o.clock, Until::Settled, o.stop, |h| {
        progress.show(h);
    });
    progress.end();
    if ground == Ground::Ours {
        say("this workshop was laid out before; it is shown again");
        table::print_journal(&o.house.journal_lines());
    } else {
        table::print(&o.house.summary);
        say("");
        table::print_attention(&o.house.summary);
        say(&table::totals(&o.house.summary));
    }
    say("");
    say(&format!("the workshop     {}", text(&folder)));
    say(&format!("finished files   {}", text(&folder.join("ready"))));
    say(&format!(
        "the proof sheet  {}",
        text(&folder.join("state/proof/index.html"))
    ));
    say(&format!("its settings     {}", text(&settings)));
    if let Some(words) = super::slow_build() {
        say(&format!("\n{words}"));
    }
    if ended == Ended::Stuck {
        complain(o.house.paused().unwrap_or("the workshop is not there"));
        return GLANCE;
    }
    // What it holds and shows for a glance was laid out for that: all is well.
    OK
}

/// Photos are laid out once; settings that are gone are written again.
fn lay_out(folder: &Path, ground: Ground) -> io::Result<()> {
    let disk = Disk::default();
    disk.make_folder(folder, false)?;
    let root = disk.root(folder)?;
    if ground == Ground::Fresh {
        root.write_new(Path::new(ground::MARK), ground::MARK_TEXT.as_bytes())?;
    }
    match root.write_new(Path::new(SETTINGS), SETTINGS_TEXT.as_bytes()) {
        Err(e) if e.kind() == io::ErrorKind::AlreadyExists => {}
        other => other?,
    }
    if ground == Ground::Ours {
        return Ok(());
    }
    let inbox = Path::new("inbox");
    root.make_folders(inbox)?;
    for (rel, bytes) in photos::photos() {
        let rel = inbox.join(rel);
        if let Some(parent) = rel.parent() {
            root.make_folders(parent)?;
        }
        root.write_new(&rel, &bytes)?;
    }
    Ok(())
}

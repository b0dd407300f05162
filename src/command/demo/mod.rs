//! The demonstration: a small pottery-and-candle workshop laid out in a folder of its own, and the
//! real daemon run on it.

mod exif;
pub mod ground;
pub mod photos;

use std::path::Path;
use std::time::Duration;

use super::progress::Progress;
use super::{OK, USAGE, complain, say, start, table};
use crate::base::disk::{Disk, text};
use crate::config::{Config, Folders, Places};
use crate::daemon::house::Manner;
use crate::daemon::run::{self, Until};
use ground::Ground;

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
    let config = configuration(&folder);
    if ground == Ground::Fresh
        && let Err(e) = lay_out(&folder, &config)
    {
        complain(&format!(
            "{}: the workshop cannot be laid out: {}\nhint: name another folder with --folder",
            text(&folder),
            crate::deliver::plain(&e)
        ));
        return USAGE;
    }
    let manner = Manner { once: true };
    let mut o = match start::open(config, manner, "demo", start::Full::GiveUp) {
        Ok(o) => o,
        Err(code) => return code,
    };
    let mut progress = Progress::start();
    run::run(&mut o.house, &o.clock, Until::Settled, o.stop, |h| {
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
    if let Some(words) = super::slow_build() {
        say(&format!("\n{words}"));
    }
    OK
}

fn configuration(folder: &Path) -> Config {
    let mut config = Config::default_for(&Places::under(folder));
    config.folders = Folders {
        inbox: folder.join("inbox"),
        ready: folder.join("ready"),
        held: folder.join("held"),
        originals: folder.join("originals"),
        state: folder.join("state"),
    };
    config.watch.settle = Duration::from_millis(300);
    config
}

fn lay_out(folder: &Path, config: &Config) -> std::io::Result<()> {
    let disk = Disk::default();
    disk.make_folder(folder, false)?;
    let root = disk.root(folder)?;
    root.write_new(Path::new(ground::MARK), ground::MARK_TEXT.as_bytes())?;
    disk.make_folder(&config.folders.inbox, false)?;
    let inbox = disk.root(&config.folders.inbox)?;
    for (rel, bytes) in photos::photos() {
        if let Some(parent) = rel.parent() {
            inbox.make_folders(parent)?;
        }
        inbox.write_new(&rel, &bytes)?;
    }
    Ok(())
}

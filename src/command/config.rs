//! `config init`, `config check`, `config schema`. Owns their words; the rules live in `config`.

use std::path::Path;

use super::{OK, USAGE, complain, say};
use crate::base::disk::{Disk, text};
use crate::config::{self, Places};

/// Writes the commented default to `file` or the default place; never over a file.
pub fn init(file: Option<&Path>) -> i32 {
    let target = match (file, Places::of_this_system()) {
        (Some(f), _) => f.to_owned(),
        (None, Some(p)) => p.file(),
        (None, None) => {
            complain("this account has no home folder\nhint: name a file with --config");
            return USAGE;
        }
    };
    let shown = text(&target);
    let folder = match target.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let disk = Disk::default();
    let written = disk
        .make_folder(folder, false)
        .and_then(|()| disk.root(folder))
        .and_then(|root| {
            let name = Path::new(target.file_name().unwrap_or_default());
            root.write_new(name, config::reference::text().as_bytes())
        });
    match written {
        Ok(()) => {
            say(&format!("wrote {shown}"));
            OK
        }
        Err(e) if e.kind() == std::io::ErrorKind::AlreadyExists => {
            complain(&format!(
                "{shown}: there is a file already, and it is left as it is\nhint: edit it, or name another with --config"
            ));
            USAGE
        }
        Err(e) => {
            complain(&format!(
                "{shown}: cannot be written: {}\nhint: name another file with --config",
                crate::deliver::plain(&e)
            ));
            USAGE
        }
    }
}

/// Checks a configuration file and tells what is in force.
pub fn check(file: Option<&Path>) -> i32 {
    match config::load(file) {
        Err(e) => {
            complain(&e.to_string());
            USAGE
        }
        Ok(c) => {
            if let Err(clash) = config::folders::check(&c.folders) {
                complain(&clash.to_string());
                return USAGE;
            }
            match &c.file {
                Some(f) => say(&format!("{}: all well", text(f))),
                None => say("no configuration file: the defaults are in force, and all is well"),
            }
            for (name, path) in c.folders.named() {
                say(&format!("  {name:<10} {}", text(path)));
            }
            let names: Vec<&str> = c.profiles.iter().map(|p| p.name.as_str()).collect();
            say(&format!("  profiles   {}", names.join(", ")));
            OK
        }
    }
}

/// Prints the JSON schema.
pub fn schema() -> i32 {
    say(config::schema::text().trim_end());
    OK
}

//! `config init`, `config check` and `config schema`. Owns what they say; the rules are the
//! configuration's own.

use std::path::Path;

use crate::config::problem::plain;
use crate::config::{Config, Places, folders, load, schema};

/// All well.
const FINE: u8 = 0;
/// Usage or configuration error.
const WRONG: u8 = 2;

/// Checks a file, or the default one; returns the exit code.
pub fn check(file: Option<&Path>) -> u8 {
    let config = match load(file) {
        Ok(config) => config,
        Err(e) => {
            eprintln!("{e}");
            return WRONG;
        }
    };
    if let Err(clash) = folders::check(&config.folders) {
        eprintln!("{clash}");
        return WRONG;
    }
    print!("{}", summary(&config));
    FINE
}

/// Prints the JSON schema; returns the exit code.
pub fn schema() -> u8 {
    print!("{}", schema::text());
    FINE
}

/// What a sound configuration means, in a few lines.
fn summary(config: &Config) -> String {
    let show = |path: &Path| plain(&path.to_string_lossy());
    let mut out = match &config.file {
        Some(file) => format!("{} is fine\n", show(file)),
        None => {
            let place = Places::of_this_system().map(|p| show(&p.file()));
            let place = place.unwrap_or_default();
            format!("there is no configuration file, so the defaults apply ({place})\n")
        }
    };
    for (name, path) in config.folders.named() {
        out += &format!("  {name:<10} {}\n", show(path));
    }
    for p in &config.profiles {
        out += &format!(
            "  profile    {}: {}, {} px on the short side (at least {}), up to {}, for {}\n",
            p.name,
            p.shape,
            p.short_side,
            p.short_side_min,
            crate::base::units::show_bytes(p.max_bytes),
            p.applies_to
                .iter()
                .map(|g| plain(g))
                .collect::<Vec<_>>()
                .join(", "),
        );
    }
    out
}

//! The configuration: what she may set, checked before anything starts. Owns keys, defaults and
//! their explanations; refuses to know how they are carried out.

pub mod correction;
pub mod folders;
pub mod globs;
pub mod keys;
pub mod load;
mod mounts;
pub mod places;
pub mod problem;
pub mod profile;
pub mod reference;
pub mod schema;
mod value;

use std::path::{Path, PathBuf};
use std::time::Duration;

pub use folders::Folders;
pub use load::load;
pub use places::Places;
pub use problem::ConfigError;
use profile::{Imprint, Limits, Profile};

/// What becomes of a finished original.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum After {
    /// It moves to originals.
    #[default]
    Archive,
    /// It stays in the inbox.
    Keep,
}

/// When photos are taken up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Watch {
    /// Quiet time of a file after its last change.
    pub settle: Duration,
    /// Quiet time of a listing folder before its photos are numbered.
    pub listing_settle: Duration,
    /// The inbox is read anew this often.
    pub rescan: Duration,
    pub after: After,
}
impl Default for Watch {
    fn default() -> Self {
        Self {
            settle: Duration::from_secs(3),
            listing_settle: Duration::from_secs(60),
            rescan: Duration::from_secs(60),
            after: After::Archive,
        }
    }
}

/// What the worker processes may use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Workers {
    /// How many at once; 0 for as many as cores.
    pub count: usize,
    /// bytes of decoded photos, all workers together.
    pub memory: u64,
    /// Longest for one photo.
    pub photo_time: Duration,
}
impl Default for Workers {
    fn default() -> Self {
        Self {
            count: 0,
            memory: 1 << 30,
            photo_time: Duration::from_secs(60),
        }
    }
}
impl Workers {
    /// How many workers may run at once on this computer, at least 1.
    pub fn most(&self) -> usize {
        match self.count {
            0 => std::thread::available_parallelism().map_or(1, usize::from),
            n => n,
        }
    }
}

/// Everything she may set, checked.
#[derive(Clone, Debug, PartialEq)]
pub struct Config {
    /// The file it was read from; `None` for the defaults.
    pub file: Option<PathBuf>,
    pub folders: Folders,
    pub watch: Watch,
    /// At least one; names are unique.
    pub profiles: Vec<Profile>,
    /// Put into every output.
    pub imprint: Imprint,
    /// A desktop notification per batch.
    pub desktop: bool,
    pub limits: Limits,
    pub workers: Workers,
}

impl Config {
    /// The configuration that needs no file.
    pub fn default_for(places: &Places) -> Self {
        Self {
            file: None,
            folders: Folders::default_for(places),
            watch: Watch::default(),
            profiles: vec![Profile::default()],
            imprint: Imprint::default(),
            desktop: false,
            limits: Limits::default(),
            workers: Workers::default(),
        }
    }

    /// The profile of this name.
    pub fn profile(&self, name: &str) -> Option<&Profile> {
        self.profiles.iter().find(|p| p.name == name)
    }

    /// The profiles that apply to a photo, by its inbox-relative path, in the order of the file.
    pub fn profiles_for(&self, photo: &Path) -> Vec<&Profile> {
        let path = photo
            .components()
            .map(|c| c.as_os_str().to_string_lossy())
            .collect::<Vec<_>>()
            .join("/");
        let applies = |glob: &String| {
            glob == "**" || globs::compile(glob).is_ok_and(|pattern| pattern.matches(&path))
        };
        self.profiles
            .iter()
            .filter(|p| p.applies_to.iter().any(applies))
            .collect()
    }

    /// A stable fingerprint of everything that shapes an output of this profile (what is put into
    /// every output included, the photos it applies to and wishes for a listing not): 32 hex
    /// digits of the BLAKE3 hash of its canonical form. It changes when an output made now would.
    pub fn fingerprint(&self, profile: &Profile) -> String {
        let canonical = profile.canonical(&self.imprint);
        blake3::hash(canonical.as_bytes()).to_hex()[..32].to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn config() -> Config {
        Config::default_for(&Places::under(Path::new("/home/ada")))
    }

    #[test]
    fn a_photo_gets_every_profile_whose_pattern_matches_in_the_order_of_the_file() {
        let mut c = config();
        let named = |name: &str, globs: &[&str]| Profile {
            name: name.into(),
            applies_to: globs.iter().map(|g| (*g).to_owned()).collect(),
            ..Profile::default()
        };
        c.profiles = vec![
            named("b", &["**"]),
            named("a", &["Mugs", "**/*.png"]),
            named("c", &["Candles/**"]),
        ];
        let names = |path: &str| -> Vec<String> {
            let found = c.profiles_for(Path::new(path));
            found.iter().map(|p| p.name.clone()).collect()
        };
        assert_eq!(names("Mugs/x.jpg"), ["b", "a"]);
        assert_eq!(names("x.PNG"), ["b", "a"]);
        assert_eq!(names("Candles/Rose/x.jpg"), ["b", "c"]);
        c.profiles.remove(0);
        assert!(c.profiles_for(Path::new("x.jpg")).is_empty());
    }

    #[test]
    fn the_fingerprint_changes_with_what_shapes_an_output_and_with_nothing_else() {
        let c = config();
        let base = Profile::default();
        let print = |edit: &dyn Fn(&mut Profile)| {
            let mut p = base.clone();
            edit(&mut p);
            c.fingerprint(&p)
        };
        let same = c.fingerprint(&base);
        assert_eq!(print(&|p| p.applies_to = vec!["Mugs".into()]), same);
        assert_eq!(print(&|p| p.wish = 8), same);
        let edits: &[&dyn Fn(&mut Profile)] = &[
            &|p| p.shape = crate::base::geometry::Shape::AsIs,
            &|p| p.short_side += 1,
            &|p| p.short_side_min += 1,
            &|p| p.max_bytes += 1,
            &|p| p.quality.floor += 1,
            &|p| p.quality.ceiling -= 1,
            &|p| p.quality.target += 0.5,
            &|p| p.fill += 0.01,
            &|p| p.margin += 0.01,
            &|p| p.thumbnails.reverse(),
            &|p| p.tight = profile::Tight::Extend,
            &|p| p.sharpen += 0.01,
            &|p| p.set = profile::Set::Even,
            &|p| p.format = profile::Format::Png,
            &|p| p.backdrop = [0; 3],
            &|p| p.strict = true,
        ];
        let mut seen = std::collections::BTreeSet::from([same.clone()]);
        for edit in edits {
            assert!(seen.insert(print(edit)));
        }
        let mut credited = config();
        credited.imprint.credit = "Ada".into();
        assert_ne!(credited.fingerprint(&base), same);
        // Stored in ledgers: a change of this value makes every output again.
        assert_eq!(same, "1a822f5a5a2725c7176b10b9cf12ef43");
    }
}

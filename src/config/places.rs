//! Where this system keeps things: home, settings, state. Owns the default paths and the meaning
//! of `~`; refuses to know what is kept there.

use std::path::{Component, Path, PathBuf};

use directories::{BaseDirs, ProjectDirs};

/// The folders of the person and the system that everything else is derived from; all absolute.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Places {
    pub home: PathBuf,
    /// Holds the default configuration file.
    pub config: PathBuf,
    /// The platform's state folder for Stallhand.
    pub state: PathBuf,
}

/// The configuration file's name.
pub const FILE_NAME: &str = "stallhand.toml";

impl Places {
    /// As the running system says. `None` without a home folder.
    pub fn of_this_system() -> Option<Self> {
        let home = BaseDirs::new()?.home_dir().to_owned();
        let project = ProjectDirs::from("", "", "stallhand")?;
        // Only Linux has a state folder of its own; the others keep such data with local data.
        let state = project
            .state_dir()
            .unwrap_or_else(|| project.data_local_dir());
        Some(Self {
            home,
            config: project.config_dir().to_owned(),
            state: state.to_owned(),
        })
    }

    /// As Linux lays it out under a home folder when no variable says otherwise.
    pub fn under(home: &Path) -> Self {
        Self {
            home: home.to_owned(),
            config: home.join(".config/stallhand"),
            state: home.join(".local/state/stallhand"),
        }
    }

    /// The default configuration file.
    pub fn file(&self) -> PathBuf {
        self.config.join(FILE_NAME)
    }

    /// A folder as written: `~` is the home, a relative path starts at `base`; `.` and `..` are
    /// taken out where that cannot change the meaning.
    ///
    /// # Errors
    /// (message, hint) for an empty path and for another person's home.
    pub fn resolve(&self, written: &str, base: &Path) -> Result<PathBuf, (String, String)> {
        if written.trim().is_empty() {
            return Err((
                "the folder's name is empty".into(),
                "write a folder such as \"~/Pictures/Stallhand/inbox\", or take the line out"
                    .into(),
            ));
        }
        if written.contains('\0') {
            return Err((
                "a folder's name cannot hold a zero character".into(),
                "take it out".into(),
            ));
        }
        let path = match written.strip_prefix('~') {
            Some("") => self.home.clone(),
            Some(rest) if rest.starts_with(['/', std::path::MAIN_SEPARATOR]) => {
                self.home.join(rest.trim_start_matches(['/', '\\']))
            }
            Some(_) => {
                return Err((
                    format!("\"{written}\" starts with ~ but not with ~/"),
                    "~/ is your own home folder; write ./~... for a name that starts with ~".into(),
                ));
            }
            None => base.join(written),
        };
        Ok(tidy(&path))
    }
}

/// Takes out `.`; `..` stays, since behind a link it does not mean the folder before.
fn tidy(path: &Path) -> PathBuf {
    path.components()
        .filter(|c| !matches!(c, Component::CurDir))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_tilde_is_the_home_and_a_relative_folder_starts_at_the_file() {
        let p = Places::under(Path::new("/home/ada"));
        let base = Path::new("/etc/shop");
        for (written, want) in [
            ("~", "/home/ada"),
            ("~/Pictures/in", "/home/ada/Pictures/in"),
            ("~//x", "/home/ada/x"),
            ("in", "/etc/shop/in"),
            ("./~odd", "/etc/shop/~odd"),
            ("/mnt/card/./in", "/mnt/card/in"),
            ("../in", "/etc/shop/../in"),
        ] {
            assert_eq!(
                p.resolve(written, base),
                Ok(PathBuf::from(want)),
                "{written}"
            );
        }
        for bad in ["", "  ", "~bob/x", "a\0b"] {
            assert!(p.resolve(bad, base).is_err(), "{bad:?}");
        }
    }
}

//! The login service's description for each system, as text. Owns the formats and their escaping;
//! placing one is the business of `verbs`, talking to the service manager that of `system`.

pub mod launchd;
mod system;
pub mod systemd;
pub mod task;
pub(super) mod verbs;

use std::path::{Path, PathBuf};

/// What a login service runs, and where it may write.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Service {
    /// The program, absolute.
    pub program: PathBuf,
    /// The configuration file, absolute, when one was named.
    pub config: Option<PathBuf>,
    /// The five folders, absolute.
    pub folders: Vec<PathBuf>,
}

/// Stands at the top of every description of ours, and by it we know it again.
pub const MARK: &str = "Written by `stallhand service install`";

/// A path as text for a description.
///
/// # Errors
/// Words with a hint: descriptions are text, and line by line.
fn words(path: &Path) -> Result<&str, String> {
    let shown = crate::config::problem::plain(&path.to_string_lossy());
    match path.to_str() {
        Some(text) if !text.chars().any(char::is_control) && path.is_absolute() => Ok(text),
        _ => Err(format!(
            "{shown} cannot stand in a service's description\nhint: give that folder a plain name, without line breaks or damaged characters"
        )),
    }
}

/// Text as the content of an XML element or attribute (XML 1.0, section 2.4).
fn xml(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
        .replace('\'', "&apos;")
}

//! Whether a folder may hold the demonstration. Owns the mark by which a demonstration knows its
//! own folder; refuses to write it.

use std::path::Path;

/// The file that marks a folder as laid out by the demonstration.
pub const MARK: &str = ".stallhand-demo";
/// What stands in it.
pub const MARK_TEXT: &str = "This folder was laid out by `stallhand demo`. It may be deleted.\n";

/// What a folder is to the demonstration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ground {
    /// Missing or empty: it may be laid out.
    Fresh,
    /// Laid out before: it is shown again.
    Ours,
}

/// Looks at a folder.
///
/// # Errors
/// Words with a hint when it is anything else, since it may be hers.
pub fn look(dir: &Path) -> Result<Ground, String> {
    let shown = crate::config::problem::plain(&dir.to_string_lossy());
    let hint = "hint: name a folder that does not exist yet, with --folder";
    let mut entries = match std::fs::read_dir(dir) {
        Ok(entries) => entries,
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => {
            // A link that leads nowhere is not free ground either.
            return match dir.symlink_metadata() {
                Ok(_) => Err(format!("{shown} is a link that leads nowhere\n{hint}")),
                Err(_) => Ok(Ground::Fresh),
            };
        }
        Err(e) if e.kind() == std::io::ErrorKind::NotADirectory => {
            return Err(format!("{shown} is no folder\n{hint}"));
        }
        Err(e) => return Err(format!("{shown} cannot be looked at: {e}\n{hint}")),
    };
    let mark = dir.join(MARK);
    let ordinary = mark.symlink_metadata().is_ok_and(|m| m.is_file());
    if ordinary && std::fs::read(&mark).is_ok_and(|text| text == MARK_TEXT.as_bytes()) {
        return Ok(Ground::Ours);
    }
    match entries.next() {
        None => Ok(Ground::Fresh),
        Some(_) => Err(format!(
            "{shown} was not made by the demonstration, so it is left alone\n{hint}"
        )),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_folder_that_the_demonstration_did_not_make_is_refused() {
        let dir = tempfile::tempdir().unwrap();
        let at = dir.path().join("demo");
        assert_eq!(look(&at), Ok(Ground::Fresh));
        std::fs::create_dir(&at).unwrap();
        assert_eq!(look(&at), Ok(Ground::Fresh));
        std::fs::write(at.join("hers.txt"), "x").unwrap();
        let words = look(&at).unwrap_err();
        assert!(
            words.contains("left alone") && words.contains("hint: "),
            "{words}"
        );
        std::fs::write(at.join(MARK), "something else").unwrap();
        assert!(look(&at).is_err());
        std::fs::write(at.join(MARK), MARK_TEXT).unwrap();
        assert_eq!(look(&at), Ok(Ground::Ours));
        assert!(
            look(&at.join("hers.txt"))
                .unwrap_err()
                .contains("no folder")
        );
    }
}

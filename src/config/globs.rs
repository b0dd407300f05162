//! Which photos a profile applies to. Owns the meaning of the patterns under `for`; refuses to
//! look at any folder.

use globset::{GlobBuilder, GlobMatcher};

/// One pattern, ready for use.
pub struct Pattern {
    this: GlobMatcher,
    /// Everything in the folder that a plain name or path means.
    below: Option<GlobMatcher>,
}

impl Pattern {
    pub fn matches(&self, path: &str) -> bool {
        self.this.is_match(path) || self.below.as_ref().is_some_and(|b| b.is_match(path))
    }
}

/// Compiles a pattern: `*` and `?` stay within one folder, `**` crosses folders, upper and lower
/// case are alike, and a path without wildcards also means everything in that folder.
///
/// # Errors
/// One clause in plain words.
pub fn compile(text: &str) -> Result<Pattern, String> {
    let trimmed = text.trim_start_matches("./").trim_end_matches('/');
    if trimmed.is_empty() {
        return Err("it is empty".into());
    }
    if trimmed.starts_with('/') || trimmed.starts_with('~') {
        return Err("paths here start in the inbox, not at the root or home".into());
    }
    if trimmed.split('/').any(|part| part == "..") {
        return Err("paths here cannot leave the inbox".into());
    }
    let build = |glob: &str| {
        GlobBuilder::new(glob)
            .literal_separator(true)
            .case_insensitive(true)
            .backslash_escape(true)
            .build()
            .map(|g| g.compile_matcher())
            .map_err(|e| e.kind().to_string())
    };
    let plain = !trimmed.contains(['*', '?', '[', '{', '\\']);
    Ok(Pattern {
        this: build(trimmed)?,
        below: if plain {
            Some(build(&format!("{trimmed}/**"))?)
        } else {
            None
        },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn applies(pattern: &str, path: &str) -> bool {
        compile(pattern).unwrap().matches(path)
    }

    #[test]
    fn two_stars_are_every_photo_and_one_star_stays_in_its_folder() {
        for path in ["a.jpg", "Mugs/a.jpg", "Spring/Mugs/DCIM/a.jpg", ".odd/a"] {
            assert!(applies("**", path), "{path}");
        }
        assert!(applies("*.jpg", "a.JPG") && !applies("*.jpg", "Mugs/a.jpg"));
        assert!(applies("**/*.png", "a.png") && applies("**/*.png", "x/y/a.png"));
    }

    #[test]
    fn a_folders_name_means_everything_in_it_and_nothing_else() {
        for pattern in ["Mugs", "Mugs/", "./Mugs", "mugs/**"] {
            assert!(applies(pattern, "Mugs/a.jpg"), "{pattern}");
            assert!(applies(pattern, "Mugs/DCIM/a.jpg"), "{pattern}");
            assert!(!applies(pattern, "Mugs 2/a.jpg"), "{pattern}");
            assert!(!applies(pattern, "Old/Mugs/a.jpg"), "{pattern}");
        }
    }

    #[test]
    fn patterns_that_can_match_nothing_are_refused_in_words() {
        for bad in [
            "",
            "/",
            "/home/x/**",
            "~/x",
            "../x",
            "a/../b",
            "[",
            "{a",
            "a[z-a]",
        ] {
            assert!(compile(bad).is_err(), "{bad}");
        }
    }
}

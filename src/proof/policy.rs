//! The page's content security policy. Owns the policy's text and the hashes in it; refuses to know
//! what the style and the script do.

use std::sync::LazyLock;

use base64::Engine as _;
use sha2::{Digest, Sha256};

/// Our style, set into every page as it is.
pub const STYLE: &str = include_str!("sheet.css");
/// Our script, set into the pages on which a crop can be moved.
pub const SCRIPT: &str = include_str!("sheet.js");

/// The policy (Content Security Policy Level 3): nothing is allowed but the one style, the one
/// script, and pictures of the page's own origin, which for a page opened from the disk is `file:`.
/// Narrower is not possible there: a path in `img-src` needs a host, and `file:` has none.
pub fn content() -> &'static str {
    static CONTENT: LazyLock<String> = LazyLock::new(|| {
        format!(
            "default-src 'none'; style-src {}; script-src {}; img-src 'self'; base-uri 'none'; form-action 'none'",
            source(STYLE),
            source(SCRIPT)
        )
    });
    &CONTENT
}

/// A hash source: `'sha256-...'` of exactly the bytes between the tags.
fn source(text: &str) -> String {
    let hash = Sha256::digest(text.as_bytes());
    format!(
        "'sha256-{}'",
        base64::engine::general_purpose::STANDARD.encode(hash)
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_hash_source_is_written_as_the_standard_shows() {
        // CSP Level 3, 6.6.2.3 example: echo -n "alert('Hello, world.');"
        assert_eq!(
            source("alert('Hello, world.');"),
            "'sha256-qznLcsROx4GACP2dm0UCKCzCG+HiZ1guq6ZZDob/Tng='"
        );
    }

    #[test]
    fn style_and_script_cannot_close_their_own_tag_or_change_in_parsing() {
        for text in [STYLE, SCRIPT] {
            // HTML parsing turns CR into LF and would end at a closing tag; both would break the hash.
            assert!(!text.contains('\r') && !text.contains('\0') && !text.contains("</"));
            assert!(!text.contains("<!--"));
        }
    }

    #[test]
    fn the_policy_allows_nothing_but_hashes_and_own_pictures() {
        let policy = content();
        assert!(policy.starts_with("default-src 'none';"));
        for never in ["unsafe", "http", "*", "data:", "blob:"] {
            assert!(!policy.contains(never), "{never}");
        }
    }
}

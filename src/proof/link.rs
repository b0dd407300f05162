//! Links from one folder to a file elsewhere on the same computer. Owns relative paths and
//! percent-encoding; refuses to know what is linked.

use std::path::{Component, Path};

/// A link that works from a page in `folder` to `file`, both absolute. Relative where the two
/// share a root, so that a moved home still works, otherwise a `file:` address.
pub fn relative(folder: &Path, file: &Path) -> String {
    let (from, to): (Vec<_>, Vec<_>) = (folder.components().collect(), file.components().collect());
    let common = from.iter().zip(&to).take_while(|(a, b)| a == b).count();
    if common == 0 {
        let mut out = String::from("file://");
        for c in &to {
            if !matches!(c, Component::RootDir) {
                out.push('/');
                out.push_str(&encode(c));
            }
        }
        return out;
    }
    let mut parts = vec!["..".to_owned(); from.len() - common];
    parts.extend(to[common..].iter().map(encode));
    let out = parts.join("/");
    // A first part with a colon would read as a scheme (RFC 3986, 4.2).
    if parts.first().is_some_and(|p| p.contains(':')) {
        format!("./{out}")
    } else {
        out
    }
}

/// RFC 3986 unreserved characters stay, all other bytes are percent-encoded.
fn encode(part: &Component<'_>) -> String {
    let mut out = String::new();
    for &b in part.as_os_str().as_encoded_bytes() {
        if b.is_ascii_alphanumeric() || b"-._~".contains(&b) {
            out.push(char::from(b));
        } else {
            out.push_str(&format!("%{b:02X}"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_link_climbs_to_the_common_folder_and_encodes_what_would_act() {
        let link = |a, b| relative(Path::new(a), Path::new(b));
        assert_eq!(
            link("/h/state/proof", "/h/Pictures/ready/listing/mug/mug-01.jpg"),
            "../../Pictures/ready/listing/mug/mug-01.jpg"
        );
        assert_eq!(link("/a", "/a/x y#1%?.jpg"), "x%20y%231%25%3F.jpg");
        assert_eq!(
            link("/a", "/a/javascript:alert(1)"),
            "javascript%3Aalert%281%29"
        );
        assert_eq!(link("/a/b", "/a/Krüge/\"<.jpg"), "../Kr%C3%BCge/%22%3C.jpg");
    }

    #[test]
    fn without_a_common_root_the_link_is_a_file_address() {
        assert_eq!(
            relative(Path::new("here"), Path::new("/x/y.jpg")),
            "file:///x/y.jpg"
        );
    }
}

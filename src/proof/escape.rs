//! Makes foreign text harmless and visible in HTML and in file names. Owns escaping; refuses to
//! know what the text means.

/// Text for HTML content and for double-quoted attributes. Control, line-breaking and
/// direction-changing characters are shown by their name instead of acting.
pub fn html(text: &str) -> String {
    let mut out = String::with_capacity(text.len() + 8);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c => match visible(c) {
                Some(shown) => out.push_str(&shown),
                None => out.push(c),
            },
        }
    }
    out
}

/// The same text in one harmless line for a plain text file or a terminal.
pub fn plain(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match visible(c) {
            Some(shown) => out.push_str(&shown),
            None => out.push(c),
        }
    }
    out
}

/// A file name that every system can store: no separators, reserved or invisible characters,
/// at most 200 bytes.
pub fn file_name(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        let c = if visible(c).is_some() || "/\\:*?\"<>|".contains(c) {
            '_'
        } else {
            c
        };
        if out.len() + c.len_utf8() > 200 {
            break;
        }
        out.push(c);
    }
    let out = out.trim_start_matches(['.', ' ', '~']).trim_end();
    if out.is_empty() { "photo" } else { out }.to_owned()
}

/// How a character that would act rather than show is shown; `None` for all others. Joiners
/// (U+200C, U+200D) stay: scripts and pictographs need them.
fn visible(c: char) -> Option<String> {
    let n = c as u32;
    let symbol = |offset| char::from_u32(0x2400 + offset).map(String::from);
    match n {
        0..=0x1f => symbol(n),
        0x7f => symbol(0x21),
        0x80..=0x9f
        | 0xad
        | 0x34f
        | 0x61c
        | 0x115f
        | 0x1160
        | 0x17b4
        | 0x17b5
        | 0x180b..=0x180f
        | 0x200b
        | 0x200e
        | 0x200f
        | 0x2028..=0x202e
        | 0x2060..=0x206f
        | 0x3164
        | 0xfeff
        | 0xffa0
        | 0xfff0..=0xfffb
        | 0xe0000..=0xe0fff => Some(format!("[U+{n:04X}]")),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn markup_in_a_name_becomes_text() {
        assert_eq!(
            html("<script>alert('1')</script>&\""),
            "&lt;script&gt;alert(&#39;1&#39;)&lt;/script&gt;&amp;&quot;"
        );
    }

    #[test]
    fn characters_that_act_are_shown_by_name() {
        assert_eq!(html("a\nb"), "a\u{240a}b");
        assert_eq!(html("evil\u{202e}gpj.exe"), "evil[U+202E]gpj.exe");
        assert_eq!(html("x\u{85}y\u{7f}"), "x[U+0085]y\u{2421}");
        assert_eq!(
            html("Krug mit Schnörkel 杯 👩\u{200d}🎨"),
            "Krug mit Schnörkel 杯 👩\u{200d}🎨"
        );
    }

    proptest! {
        #[test]
        fn no_text_can_open_a_tag_leave_an_attribute_or_act(text in any::<String>()) {
            let out = html(&text);
            prop_assert!(!out.contains(['<', '>', '"', '\'']));
            prop_assert!(!out.chars().any(char::is_control));
            // HTML, 13.2.5.72: an ampersand starts a character reference, so each must be ours
            for (i, _) in out.match_indices('&') {
                let tail = &out[i..];
                prop_assert!(["&amp;", "&lt;", "&gt;", "&quot;", "&#39;"].iter().any(|r| tail.starts_with(r)));
            }
        }

        #[test]
        fn a_file_name_is_one_short_visible_component(text in any::<String>()) {
            let out = file_name(&text);
            prop_assert!(!out.is_empty() && out.len() <= 200 && !out.starts_with('.'));
            prop_assert!(!out.contains(['/', '\\', ':', '\n', '\0']));
        }
    }
}

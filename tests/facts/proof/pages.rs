//! The pages as files: their order, their links, what they may load, and foreign names in them.

use std::collections::BTreeSet;

use super::{Sheet, entry, files, frame, listing, page, sheet};
use stallhand::base::reason::{Reason, Verdict};
use stallhand::proof::{self, Entry, Listing, picture_path};

/// Every value of an attribute in the page.
fn values<'a>(html: &'a str, attribute: &str) -> Vec<&'a str> {
    let open = format!(" {attribute}=\"");
    html.match_indices(&open)
        .map(|(i, _)| {
            let rest = &html[i + open.len()..];
            &rest[..rest.find('"').expect("a closed attribute")]
        })
        .collect()
}

/// The page without its style and script, whose words are not markup.
fn markup(html: &str) -> String {
    let mut out = html.to_owned();
    for tag in ["style", "script"] {
        while let (Some(a), Some(b)) = (
            out.find(&format!("<{tag}>")),
            out.find(&format!("</{tag}>")),
        ) {
            out.replace_range(a..b + tag.len() + 3, "");
        }
    }
    out
}

fn held(source: &str) -> Entry {
    Entry {
        picture: false,
        size: None,
        frames: vec![],
        refusal: Some((
            Reason::Undecodable,
            "the picture ends after 61 of 100 rows".into(),
        )),
        note: Some("/home/maker/held/Mug/IMG_9.JPG.txt".into()),
        ..entry(source, 9)
    }
}

#[test]
fn what_needs_her_comes_first_and_says_why_and_what_to_do() {
    let mut glance = entry("Mug/IMG_2.JPG", 2);
    glance.frames = vec![frame(Verdict::Glance, vec![Reason::Unsure], 2)];
    let s = sheet(vec![listing(
        "Mug",
        "2026-11-25T10:00:00Z",
        vec![entry("Mug/IMG_1.JPG", 1), glance, held("Mug/IMG_9.JPG")],
    )]);
    let index = page(&s, |n| n == "index.html");
    let at = |text: &str| {
        index
            .find(text)
            .unwrap_or_else(|| panic!("{text} is on the page"))
    };
    assert!(at("Look at these first") < at("IMG_9.JPG"));
    assert!(at("IMG_9.JPG") < at("IMG_2.JPG"), "held before glance");
    assert!(at("IMG_2.JPG") < at("Listings, newest first"));
    at("The file is damaged or incomplete.");
    at("Copy it from the card again.");
    at("1 ready, 1 for a glance, 1 held");
    let own = page(&s, |n| n.starts_with("listing-mug-"));
    for text in [
        "The picture ends after 61 of 100 rows.",
        "/home/maker/held/Mug/IMG_9.JPG.txt",
        "no loss to be seen, JPEG 84.5",
        "2666 × 2000",
        "812 kB",
        "sure, 93 in 100",
    ] {
        assert!(own.contains(text), "{text}");
    }
}

#[test]
fn the_newest_listing_stands_first() {
    let one = |name: &str, day: u32| {
        listing(
            name,
            &format!("2026-11-{day:02}T10:00:00Z"),
            vec![entry(&format!("{name}/a.jpg"), 1)],
        )
    };
    let index = page(
        &sheet(vec![one("Bowl", 3), one("Mug", 21), one("Vase", 9)]),
        |n| n == "index.html",
    );
    let at = |name: &str| index.find(&format!("<bdi>{name}</bdi>")).expect("listed");
    assert!(at("Mug") < at("Vase") && at("Vase") < at("Bowl"));
}

#[test]
fn every_link_leads_to_a_page_or_picture_that_exists() {
    let photos = |l: u32| {
        (0..65)
            .map(|i| entry(&format!("L{l}/{i}.jpg"), i + 1))
            .collect()
    };
    let mut listings: Vec<Listing> = (0..130)
        .map(|l| {
            listing(
                &format!("L{l}"),
                &format!("2026-01-01T00:{:02}:{:02}Z", l / 60, l % 60),
                photos(l),
            )
        })
        .collect();
    for l in &mut listings {
        l.photos[40].frames = vec![frame(Verdict::Glance, vec![Reason::Unsure], 41)];
    }
    let s = sheet(listings);
    let files = files(&s);
    assert_eq!(files[0].0, "index.html");
    let names: BTreeSet<&str> = files.iter().map(|(n, _)| n.as_str()).collect();
    assert_eq!(names.len(), files.len(), "no page written twice");
    let photos = s.listings.iter().flat_map(|l| &l.photos);
    let pictures: BTreeSet<String> = photos.map(|p| picture_path(&p.blake3)).collect();
    assert_eq!(pictures.len(), 130 * 65);
    let mut linked = BTreeSet::from(["index.html"]);
    for (name, bytes) in &files {
        let html = std::str::from_utf8(bytes).unwrap();
        for href in values(html, "href") {
            if href.starts_with("pictures/") {
                assert!(pictures.contains(href), "{name}: {href}");
            } else if let Some(anchor) = href.strip_prefix('#') {
                assert!(html.contains(&format!("id=\"{anchor}\"")), "{name}: {href}");
            } else if !href.starts_with("../ready/") {
                let (page, anchor) = href.split_once('#').unwrap_or((href, ""));
                let (target, body) = files
                    .iter()
                    .find(|(n, _)| n == page)
                    .unwrap_or_else(|| panic!("{name}: {href}"));
                linked.insert(target);
                if !anchor.is_empty() {
                    let id = format!("id=\"{anchor}\"");
                    assert!(
                        std::str::from_utf8(body).unwrap().contains(&id),
                        "{name}: {href}"
                    );
                }
            }
        }
    }
    assert_eq!(linked, names, "no page without a way to it");
    // 8,450 photos: no page grows with the workshop
    let heaviest = files.iter().map(|(_, b)| b.len()).max().unwrap();
    assert!(heaviest < 300_000, "{heaviest}");
}

#[test]
fn no_page_holds_inline_style_handlers_or_foreign_addresses() {
    let s = sheet(vec![listing(
        "Mug",
        "2026-11-25T10:00:00Z",
        vec![entry("Mug/a.jpg", 1), held("Mug/b.jpg")],
    )]);
    for (name, bytes) in files(&s) {
        let html = String::from_utf8(bytes).unwrap();
        let m = markup(&html);
        assert!(!m.contains(" style="), "{name}");
        assert!(
            !m.contains("http:") && !m.contains("https:") && !m.contains("//"),
            "{name}"
        );
        assert!(!m.contains("javascript:"), "{name}");
        for handler in ["onclick", "onload", "onerror", "onfocus"] {
            assert!(!m.contains(handler), "{name}");
        }
        assert!(
            values(&html, "content")
                .iter()
                .any(|v| v.starts_with("default-src 'none';")),
            "{name}"
        );
        // the policy stands before everything it governs
        assert!(html.find("Content-Security-Policy").unwrap() < html.find("<style>").unwrap());
        assert!(
            html.starts_with("<!doctype html>\n<html lang=\"en\">") && html.contains("<title>"),
            "{name}"
        );
        assert_eq!(m.matches("<main ").count(), 1, "{name}");
        assert_eq!(m.matches("<h1>").count(), 1, "{name}");
    }
}

#[test]
fn every_drawing_is_named_or_marked_as_decoration() {
    let mut s = sheet(vec![listing(
        "Mug",
        "2026-11-25T10:00:00Z",
        vec![entry("Mug/a.jpg", 1), held("Mug/b.jpg")],
    )]);
    s.listings[0].photos[0].frames[0].verdict = Verdict::Glance;
    for (name, bytes) in files(&s) {
        let html = String::from_utf8(bytes).unwrap();
        for (i, _) in html.match_indices("<svg ") {
            let tag = &html[i..i + html[i..].find('>').unwrap()];
            let named = tag.contains("role=\"img\" aria-label=\"");
            assert!(
                named != tag.contains("aria-hidden=\"true\""),
                "{name}: {tag}"
            );
        }
    }
}

#[test]
fn a_listings_pages_stay_the_same_until_the_listing_changes() {
    let l = listing("Mug", "2026-11-25T10:00:00Z", vec![entry("Mug/a.jpg", 1)]);
    let mut s = sheet(vec![
        l.clone(),
        listing("Bowl", "2026-11-24T10:00:00Z", vec![entry("Bowl/a.jpg", 1)]),
    ]);
    let first = files(&s);
    s.made = "26 November 2026, 9:00".into();
    s.listings[1].photos.push(entry("Bowl/b.jpg", 2));
    let second = files(&s);
    for (name, bytes) in &first {
        let now = &second.iter().find(|(n, _)| n == name).unwrap().1;
        assert_eq!(bytes == now, name.starts_with("listing-mug"), "{name}");
    }
    assert_eq!(
        proof::listing(&l, &s.inbox)[0].1,
        first
            .iter()
            .find(|(n, _)| n.starts_with("listing-mug"))
            .unwrap()
            .1
    );
}

#[test]
fn an_empty_workshop_has_a_page_that_says_what_to_do() {
    let index = page(&sheet(vec![]), |n| n == "index.html");
    assert!(index.contains("Nothing needs you.") && index.contains("Put some into the inbox"));
}

#[test]
fn two_listings_never_share_a_page_however_alike_their_names() {
    let names = [
        "Mug", "mug", "MUG!", "Mug ", "杯", "碗", "", "---", "..", "index",
    ];
    let mut pages: BTreeSet<String> = names
        .iter()
        .map(|n| listing(n, "", vec![]).page_name(1))
        .collect();
    pages.insert(Listing::default().page_name(1));
    assert_eq!(pages.len(), names.len() + 1);
    for p in pages {
        assert!(
            p.bytes()
                .all(|b| b.is_ascii_alphanumeric() || b"-.".contains(&b)),
            "{p}"
        );
    }
}

#[test]
fn a_hash_that_is_none_cannot_leave_the_pictures_folder() {
    assert_eq!(picture_path("../../etc/passwd\""), "pictures/ecad.jpg");
}

#[test]
fn hostile_names_stay_text_in_every_page() {
    let photos = super::super::hostile::NAMES
        .iter()
        .enumerate()
        .map(|(i, n)| entry(&format!("Mug/{n}"), i as u32 + 1))
        .collect();
    let plain_photos = super::super::hostile::NAMES
        .iter()
        .enumerate()
        .map(|(i, _)| entry(&format!("Mug/{i}.jpg"), i as u32 + 1))
        .collect();
    let hostile = sheet(vec![listing(
        "<b>Mug</b>\" onload=\"x",
        "2026-11-25T10:00:00Z",
        photos,
    )]);
    let plain = sheet(vec![listing("Mug", "2026-11-25T10:00:00Z", plain_photos)]);
    let count = |s: &Sheet, what: &[char]| -> usize {
        files(s)
            .iter()
            .map(|(_, b)| std::str::from_utf8(b).unwrap().matches(what).count())
            .sum()
    };
    assert_eq!(super::super::hostile::NAMES.len(), 50);
    // as many tags and quotes as with harmless names: not one more was opened or closed
    assert_eq!(count(&hostile, &['<']), count(&plain, &['<']));
    assert_eq!(count(&hostile, &['"']), count(&plain, &['"']));
    for (_, bytes) in files(&hostile) {
        let html = markup(std::str::from_utf8(&bytes).unwrap());
        assert!(!html.chars().any(|c| c.is_control() && c != '\n'));
        assert!(!html.contains(['\u{202e}', '\u{2066}', '\u{2028}']));
    }
}

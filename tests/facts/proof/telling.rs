//! The story of one photo, and the text beside a listing.

use super::{entry, frame, listing};
use serde_json::{Value, json};
use stallhand::base::reason::{Reason, Verdict};
use stallhand::proof::listing_text::listing_text;
use stallhand::proof::story::{Answer, why};
use time::UtcOffset;

fn delivered(source: &str, output: &str) -> Value {
    json!({
        "schema": 1, "seq": 4, "at": "2026-11-25T13:02:11Z", "event": "delivered",
        "source": source, "listing": "Mug, speckled", "blake3": "ab12cd34ef", "profile": "listing",
        "output": output, "width": 2666, "height": 2000, "bytes": 812_345, "quality": 84.5,
        "subsampling": "4:2:0", "ssimulacra2": 88.4, "crop": [905, 400, 3843, 2882],
        "subject": [1510, 900, 2100, 2300], "confidence": 0.93, "verdict": "deliver",
        "thumbnails": {"1:1": true, "5:4": true}, "colour": "Display P3", "orientation": 6,
        "reasons": [], "took_ms": 812
    })
}

fn story(lines: &[Value], name: &str) -> Vec<String> {
    match why(lines, name, UtcOffset::from_hms(1, 0, 0).unwrap()) {
        Answer::Story(s) => s,
        other => panic!("{other:?}"),
    }
}

#[test]
fn a_delivered_photo_is_told_in_five_sentences() {
    let line = delivered(
        "Mug, speckled/IMG_3.JPG",
        "listing/mug-speckled/mug-speckled-03.jpg",
    );
    let told = story(&[line], "mug-speckled-03");
    assert_eq!(
        told,
        [
            "listing/mug-speckled/mug-speckled-03.jpg was made from Mug, speckled/IMG_3.JPG on 25 November 2026 at 14:02.",
            "The product was found 2100 by 2300 pixels large, and the crop takes 3843 by 2882 pixels, 905 from the left and 400 from the top (sure, 93 in 100).",
            "The file has 2666 by 2000 pixels and weighs 812 kB, quality no loss to be seen, its colours changed from Display P3 to sRGB.",
            "Every shop thumbnail shows the whole product.",
            "Nothing in it needs your eye.",
        ]
    );
}

#[test]
fn a_photo_is_found_by_source_output_stem_and_hash_in_any_case() {
    let lines = [delivered(
        "Mug, speckled/IMG_3.JPG",
        "listing/mug-speckled/mug-speckled-03.jpg",
    )];
    for name in [
        "Mug, speckled/IMG_3.JPG",
        "IMG_3.JPG",
        "img_3.jpg",
        "IMG_3",
        "listing/mug-speckled/mug-speckled-03.jpg",
        "mug-speckled-03.jpg",
        "ab12cd34",
    ] {
        assert_eq!(story(&lines, name).len(), 5, "{name}");
    }
    for name in ["", "IMG_", "mug", "ab12", "JPG"] {
        assert_eq!(why(&lines, name, UtcOffset::UTC), Answer::Unknown, "{name}");
    }
}

#[test]
fn a_name_that_fits_several_photos_is_answered_with_their_paths() {
    let mut a = delivered("Mug/IMG_3.JPG", "listing/mug/mug-01.jpg");
    a["blake3"] = json!("11");
    let b = delivered("Bowl/IMG_3.JPG", "listing/bowl/bowl-01.jpg");
    let Answer::Several(list) = why(&[a, b], "IMG_3.JPG", UtcOffset::UTC) else {
        panic!()
    };
    assert_eq!(list, ["Mug/IMG_3.JPG", "Bowl/IMG_3.JPG"]);
}

#[test]
fn a_held_photo_says_why_and_what_she_can_do_and_that_it_waits_for_her() {
    let held = json!({
        "schema": 1, "seq": 7, "at": "2026-11-25T13:02:11Z", "event": "held", "source": "Mug/IMG_9.JPG",
        "listing": "Mug", "blake3": "99", "reasons": ["undecodable"], "detail": "the picture ends after 61 of 100 rows"
    });
    assert_eq!(
        story(&[held], "IMG_9.JPG"),
        [
            "Mug/IMG_9.JPG is held since 25 November 2026 at 14:02.",
            "It is held: the file is damaged or incomplete; the picture ends after 61 of 100 rows.",
            "What you can do: copy it from the card again.",
            "It will not be tried again by itself: put it back into the inbox once it is right.",
        ]
    );
}

#[test]
fn what_happened_before_is_one_sentence_and_the_last_word_counts() {
    let held = json!({
        "seq": 1, "at": "2026-11-24T13:02:11Z", "event": "held", "source": "Mug, speckled/IMG_3.JPG",
        "listing": "Mug, speckled", "blake3": "ab12cd34ef", "profile": "listing", "reasons": ["does-not-fit"]
    });
    let mut again = delivered(
        "Mug, speckled/IMG_3.JPG",
        "listing/mug-speckled/mug-speckled-03.jpg",
    );
    again["reasons"] = json!(["corrected"]);
    let mut repeat = json!({"seq": 9, "at": "2026-11-26T13:02:11Z", "event": "ignored", "source": "Mug, speckled/IMG_3.JPG"});
    repeat["listing"] = json!("Mug, speckled");
    repeat["blake3"] = json!("ab12cd34ef");
    let told = story(&[held, again.clone(), again, repeat], "IMG_3");
    assert!(
        told[1].starts_with("As you told it, the crop takes 3843 by 2882"),
        "{}",
        told[1]
    );
    assert_eq!(
        told.last().unwrap(),
        "Over time it was held once, dropped again and passed over once."
    );
}

#[test]
fn a_name_in_the_story_cannot_steer_the_terminal() {
    let line = delivered("Mug/a\u{1b}[2Jb\u{202e}.jpg", "listing/mug/mug-01.jpg");
    let told = story(&[line], "mug-01").join("\n");
    assert!(
        !told.contains(['\u{1b}', '\u{202e}']) && told.contains("a\u{241b}[2Jb[U+202E].jpg"),
        "{told}"
    );
}

#[test]
fn the_text_beside_a_listing_gives_order_sizes_and_remarks() {
    let mut glance = entry("Mug/IMG_2.JPG", 2);
    glance.frames = vec![frame(Verdict::Glance, vec![Reason::Unsure], 2)];
    let mut held = entry("Mug/IMG_3.JPG", 3);
    held.frames = vec![frame(Verdict::Hold, vec![Reason::TooFewPixels], 3)];
    held.frames[0].detail =
        Some("the crop is 1400 px on its short side, the profile asks for 1500".into());
    let mut l = listing(
        "Spring/Mug",
        "",
        vec![entry("Mug/IMG_1.JPG", 1), glance, held],
    );
    l.remarks = vec![Reason::FewPhotos];
    assert_eq!(
        listing_text(&l, "listing").unwrap(),
        "Spring / Mug

  1  mug-01.jpg  2666 x 2000   812 kB
  2  mug-02.jpg  2666 x 2000   812 kB
     For a glance: The product was found, but not surely, so a looser crop was taken.

Together 2 pictures, 1.6 MB.

The listing has fewer photos than the profile wishes for.

Held, so not here:
  IMG_3.JPG: The crop is 1400 px on its short side, the profile asks for 1500.
     Use the full-size photo from the camera, go closer, or accept it in a correction.
"
    );
    assert_eq!(listing_text(&l, "square"), None);
}

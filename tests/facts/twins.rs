//! Raw files and their twins, and what else cameras and computers leave beside photos.

use rustix::process::Signal;
use serde_json::Value as Json;

use crate::photo::build::{PLAIN, Value, jpeg, tiff, with_exif};
use crate::photo::corpus;
use crate::workshop::{Workshop, photo, signal};

const MARCH: &str = "2026:03:01 09:30:00";
const APRIL: &str = "2026:04:01 10:00:00";

/// One of the real photographs, made large enough for the preview of a raw file.
fn large(which: &str) -> Vec<u8> {
    let bytes = photo(which, "");
    let mut decoder = jpeg_decoder::Decoder::new(&bytes[..]);
    let small = decoder.decode().unwrap();
    let info = decoder.info().unwrap();
    let (w, h) = (usize::from(info.width), usize::from(info.height));
    let mut rgb = Vec::new();
    for y in 0..h * 5 / 2 {
        for x in 0..w * 5 / 2 {
            let i = ((y * 2 / 5) * w + x * 2 / 5) * 3;
            rgb.extend(&small[i..i + 3]);
        }
    }
    jpeg((w * 5 / 2) as u32, (h * 5 / 2) as u32, &rgb, PLAIN)
}

fn exif(at: &'static str) -> Vec<(u16, Value)> {
    vec![(0x9003, Value::Text(at))]
}

/// A raw file: sensor data, EXIF and perhaps a preview.
fn raw(preview: Option<&[u8]>, at: &'static str) -> Vec<u8> {
    let sensor = vec![
        (259, Value::Short(vec![7])),
        (262, Value::Short(vec![32_803])),
    ];
    let mut below = vec![sensor];
    if let Some(p) = preview {
        below.push(vec![
            (259, Value::Short(vec![7])),
            (262, Value::Short(vec![6])),
            (279, Value::Long(vec![p.len() as u32])),
            (273, Value::Blob(p.to_vec())),
        ]);
    }
    tiff(&[
        (254, Value::Long(vec![1])),
        (330, Value::Several(below)),
        (0x8769, Value::Below(exif(at))),
    ])
}

/// The camera's JPEG of the same shot.
fn shot(which: &str, at: &'static str) -> Vec<u8> {
    with_exif(
        &photo(which, ""),
        &tiff(&[(0x8769, Value::Below(exif(at)))]),
    )
}

fn reasons(w: &Workshop, event: &str) -> Vec<String> {
    let mut all: Vec<String> = w
        .events(event)
        .iter()
        .map(|l| l["reasons"][0].as_str().unwrap_or_default().to_owned())
        .collect();
    all.sort();
    all
}

fn is_from_preview(line: &Json) -> bool {
    let reasons = line["reasons"].as_array().unwrap();
    reasons.iter().any(|r| r == "raw-preview")
}

fn stop(mut child: std::process::Child) {
    signal(&child, Signal::TERM);
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn a_raw_file_with_its_jpeg_beside_it_is_archived_with_it() {
    let w = Workshop::new();
    let preview = large("china");
    w.put("Mug/IMG_1.NEF", &raw(Some(&preview), MARCH));
    w.put("Mug/img_1.jpg", &shot("china", MARCH));
    w.put("Mug/IMG_2.jpg", &shot("flower", APRIL));
    w.put("DCIM/100ABCDE/DSC_7.DNG", &raw(None, APRIL));
    w.put("DCIM/100ABCDE/DSC_7.JPEG", &shot("flower", APRIL));
    w.once();
    assert_eq!(
        w.files("ready"),
        [
            "listing/dsc-7.jpg",
            "listing/mug/mug-01.jpg",
            "listing/mug/mug-02.jpg"
        ]
    );
    assert_eq!(w.files("originals").len(), 5);
    assert_eq!((w.files("inbox").len(), w.files("held").len()), (0, 0));
    assert!(!w.events("delivered").iter().any(is_from_preview));
    assert_eq!(reasons(&w, "ignored"), ["raw-twin", "raw-twin"]);
    assert!(
        w.events("ignored")
            .iter()
            .any(|l| l["source"] == "Mug/IMG_1.NEF" && l["detail"] == "img_1.jpg is used")
    );
    // A raw file that comes after its JPEG was delivered goes the same way.
    w.put("Mug/IMG_2.CR2", &raw(Some(&preview), APRIL));
    w.once();
    assert!(w.path("originals/Mug/IMG_2.CR2").exists());
    assert_eq!(w.files("ready").len(), 3);
}

#[test]
fn a_raw_file_waits_for_its_twin_and_goes_alone_when_none_comes() {
    let w = Workshop::new();
    let text = std::fs::read_to_string(w.path("stallhand.toml")).unwrap();
    std::fs::write(
        w.path("stallhand.toml"),
        text.replace("listing_settle = \"300ms\"", "listing_settle = \"3s\""),
    )
    .unwrap();
    let child = w.start(&[]);
    w.wait(|w| w.path("state/journal").exists());
    w.put("IMG_1.NEF", &raw(Some(&large("china")), MARCH));
    std::thread::sleep(std::time::Duration::from_millis(1000));
    assert_eq!(w.files("ready"), [""; 0], "it waits");
    w.put("IMG_1.JPG", &shot("china", MARCH));
    w.wait(|w| w.files("originals").len() == 2);
    assert_eq!(w.files("ready"), ["listing/img-1.jpg"]);
    assert!(!is_from_preview(&w.events("delivered")[0]));
    w.put("Mug/IMG_2.NEF", &raw(Some(&large("flower")), APRIL));
    w.wait(|w| w.events("delivered").len() == 2);
    assert!(is_from_preview(&w.events("delivered")[1]));
    w.wait(|w| w.path("originals/Mug/IMG_2.NEF").exists());
    stop(child);
}

#[test]
fn a_late_twin_takes_the_place_of_the_output_made_from_the_raw_files_preview() {
    let w = Workshop::new();
    let preview = large("china");
    w.put("Mug/IMG_1.NEF", &raw(Some(&preview), MARCH));
    w.put("Mug/IMG_2.jpg", &shot("flower", APRIL));
    w.put("DSC_7.NEF", &raw(Some(&preview), APRIL));
    w.once();
    let ready = [
        "listing/dsc-7.jpg",
        "listing/mug/mug-01.jpg",
        "listing/mug/mug-02.jpg",
    ];
    assert_eq!(w.files("ready"), ready);
    let read = |n: usize| std::fs::read(w.path("ready").join(ready[n])).unwrap();
    let before = [read(0), read(1)];
    w.put("Mug/IMG_1.JPG", &shot("flower", MARCH));
    w.put("DSC_7.jpg", &shot("flower", APRIL));
    w.once();
    assert_eq!(w.files("ready"), ready);
    assert!(read(0) != before[0] && read(1) != before[1]);
    let delivered = w.events("delivered");
    assert_eq!(delivered.len(), 5);
    for (source, output) in [("DSC_7.jpg", ready[0]), ("Mug/IMG_1.JPG", ready[1])] {
        let line = delivered.iter().find(|l| l["source"] == source).unwrap();
        assert_eq!(
            (line["output"].as_str(), line["replaces"].as_str()),
            (Some(output), Some(output))
        );
        assert!(!is_from_preview(line));
    }
    assert_eq!(reasons(&w, "ignored"), ["raw-twin", "raw-twin"]);
    assert_eq!(w.files("originals").len(), 5);
    // From now on the twin is the photo: it is made again from, and known by its content.
    let redone = w.run(&["redo", "mug-01"]);
    assert_eq!(w.events("delivered").len(), 6, "{redone:?}");
    w.put("Mug/again.jpg", &shot("flower", MARCH));
    w.once();
    assert_eq!(w.files("ready"), ready);
}

#[test]
fn a_late_twin_releases_a_raw_file_that_was_held_alone() {
    for listing in ["", "Mug/"] {
        let w = Workshop::new();
        w.put(&format!("{listing}IMG_1.NEF"), &raw(None, MARCH));
        assert_eq!(w.once(), 1);
        assert_eq!(reasons(&w, "held"), ["raw-alone"]);
        assert_eq!(w.files("held").len(), 2);
        w.put(&format!("{listing}IMG_1.JPG"), &shot("china", MARCH));
        w.once();
        assert_eq!(w.files("held"), [""; 0]);
        assert_eq!(w.files("originals").len(), 2);
        assert_eq!(w.files("ready").len(), 1);
    }
}

#[test]
fn a_raw_file_is_held_with_its_twin_and_released_with_it() {
    let w = Workshop::new();
    w.put("Mug/IMG_1.NEF", &raw(Some(&large("china")), MARCH));
    // A small one: the profile wants more pixels.
    w.put("Mug/IMG_1.heic", &corpus("p3.heic"));
    assert_eq!(w.once(), 1);
    assert_eq!(
        w.files("held"),
        ["Mug/IMG_1.NEF", "Mug/IMG_1.heic", "Mug/IMG_1.heic.txt"]
    );
    assert_eq!(w.files("ready"), [""; 0]);
    std::fs::write(
        w.path("held/Mug/IMG_1.heic.framing.toml"),
        "accept = true\n",
    )
    .unwrap();
    w.once();
    assert_eq!(w.files("held"), [""; 0]);
    assert_eq!(
        w.files("originals"),
        [
            "Mug/IMG_1.NEF",
            "Mug/IMG_1.heic",
            "Mug/IMG_1.heic.framing.toml"
        ]
    );
    assert_eq!(w.files("ready").len(), 1);
}

#[test]
fn with_keep_both_stay_and_the_raw_file_is_told_of_once() {
    let w = Workshop::with("after = \"keep\"", "");
    w.put("IMG_1.NEF", &raw(Some(&large("china")), MARCH));
    w.put("IMG_1.JPG", &shot("china", MARCH));
    w.put("IMG_2.NEF", &raw(Some(&large("china")), APRIL));
    w.once();
    assert_eq!(reasons(&w, "ignored"), ["raw-twin"]);
    assert_eq!(w.files("ready").len(), 2);
    let lines = w.journal().len();
    w.once();
    assert_eq!(w.journal().len(), lines + 2, "only its own start and stop");
    w.put("IMG_2.JPG", &shot("flower", APRIL));
    w.once();
    w.once();
    assert_eq!(w.files("inbox").len(), 4);
    assert_eq!(w.files("ready").len(), 2);
    assert_eq!(reasons(&w, "ignored"), ["raw-twin", "raw-twin"]);
    assert_eq!(w.events("delivered").len(), 3);
}

#[test]
fn another_name_folder_kind_or_capture_time_makes_no_twin() {
    let w = Workshop::new();
    let preview = large("china");
    w.put("Mug/IMG_1.NEF", &raw(Some(&preview), MARCH));
    w.put("Bowl/IMG_1.JPG", &shot("china", MARCH));
    w.put("Mug/IMG_11.JPG", &shot("flower", MARCH));
    w.put("Vase/IMG_3.NEF", &raw(Some(&preview), MARCH));
    w.put("Vase/IMG_3.png", &photo_as_png());
    // The camera's counter came round: another shot under an old name.
    w.put("Cup/IMG_1.NEF", &raw(Some(&preview), MARCH));
    w.put("Cup/IMG_1.JPG", &shot("flower", APRIL));
    w.once();
    assert_eq!(w.events("delivered").len(), 7);
    assert_eq!(w.files("ready").len(), 7);
    assert_eq!(w.events("ignored").len(), 0);
    // The same when it comes late, and when the raw file does.
    w.put("Mug/IMG_1.JPG", &shot("flower", APRIL));
    w.put("Bowl/IMG_1.NEF", &raw(Some(&preview), APRIL));
    w.once();
    assert_eq!(w.files("ready").len(), 9);
    assert!(
        w.events("delivered")
            .iter()
            .all(|l| l["replaces"].is_null())
    );
    assert_eq!(w.files("originals").len(), 9);
}

fn photo_as_png() -> Vec<u8> {
    let bytes = photo("flower", "");
    let mut decoder = jpeg_decoder::Decoder::new(&bytes[..]);
    let rgb = decoder.decode().unwrap();
    let info = decoder.info().unwrap();
    let mut out = Vec::new();
    let mut encoder = png::Encoder::new(&mut out, info.width.into(), info.height.into());
    encoder.set_color(png::ColorType::Rgb);
    encoder
        .write_header()
        .unwrap()
        .write_image_data(&rgb)
        .unwrap();
    out
}

#[test]
fn an_output_she_edited_is_left_alone_by_a_late_twin() {
    let w = Workshop::new();
    w.put("Mug/IMG_1.NEF", &raw(Some(&large("china")), MARCH));
    w.once();
    let hers = w.path("ready/listing/mug/mug-01.jpg");
    std::fs::write(&hers, b"hers").unwrap();
    w.put("Mug/IMG_1.JPG", &shot("flower", MARCH));
    w.once();
    assert_eq!(std::fs::read(&hers).unwrap(), b"hers");
    assert_eq!(w.files("ready").len(), 1);
    assert_eq!(w.files("originals").len(), 2);
}

#[test]
fn her_correction_of_a_raw_file_counts_for_its_late_twin_at_that_ones_size() {
    for by_hash in [false, true] {
        let w = Workshop::new();
        // 1600 x 1067 px, and 640 x 427 px for the twin.
        let raw = raw(Some(&large("china")), MARCH);
        let twin = shot("china", MARCH);
        w.put("Mug/IMG_1.NEF", &raw);
        w.once();
        let mut word = "[listing]\ncrop = [400, 200, 800, 600]\n".to_owned();
        if by_hash {
            word = format!("photo = \"{}\"\n{word}", blake3::hash(&raw).to_hex());
            w.put("from the page.framing.toml", word.as_bytes());
        } else {
            std::fs::write(w.path("originals/Mug/IMG_1.NEF.framing.toml"), &word).unwrap();
        }
        w.once();
        assert_eq!(crop_of(&w.events("delivered")[1]), [400, 200, 800, 600]);
        w.put("Mug/IMG_1.JPG", &twin);
        w.once();
        let delivered = w.events("delivered");
        assert_eq!(delivered.len(), 3, "by hash: {by_hash}");
        assert_eq!(crop_of(&delivered[2]), [160, 80, 320, 240]);
        assert_eq!(delivered[2]["source"], "Mug/IMG_1.JPG");
        assert_eq!(delivered[2]["replaces"], "listing/mug/mug-01.jpg");
        let beside = w.path("originals/Mug/IMG_1.JPG.framing.toml");
        let kept = std::fs::read_to_string(beside).unwrap();
        assert!(
            kept.contains(blake3::hash(&twin).to_hex().as_str()),
            "{kept}"
        );
        assert_eq!(
            std::fs::read_to_string(w.path("originals/Mug/IMG_1.NEF.framing.toml")).unwrap(),
            word
        );
        // The word stays in force, and is used once.
        w.once();
        assert_eq!(w.events("delivered").len(), 3);
        w.run(&["redo", "mug-01"]);
        let delivered = w.events("delivered");
        assert_eq!(crop_of(&delivered[3]), [160, 80, 320, 240]);
    }
}

#[test]
fn a_correction_of_a_raw_file_is_not_guessed_for_a_twin_of_another_shape_or_over_its_own() {
    let w = Workshop::new();
    let bytes = raw(Some(&large("china")), MARCH);
    let word = b"[listing]\ncrop = [400, 200, 800, 600]\n";
    for listing in ["Mug", "Bowl"] {
        w.put(&format!("{listing}/IMG_1.NEF"), &bytes);
        w.put(&format!("{listing}/IMG_1.NEF.framing.toml"), word);
    }
    w.once();
    assert_eq!(w.events("delivered").len(), 2);
    let square = jpeg(500, 500, &[90; 500 * 500 * 3], PLAIN);
    w.put("Mug/IMG_1.JPG", &square);
    w.put("Bowl/IMG_1.JPG", &shot("china", MARCH));
    w.put(
        "Bowl/IMG_1.JPG.framing.toml",
        b"[listing]\ncrop = [0, 0, 400, 300]\n",
    );
    assert_eq!(w.once(), 1, "she is told");
    let delivered = w.events("delivered");
    let of = |source: &str| delivered.iter().find(|l| l["source"] == source);
    assert_eq!(crop_of(of("Bowl/IMG_1.JPG").unwrap()), [0, 0, 400, 300]);
    if let Some(made) = of("Mug/IMG_1.JPG") {
        let reasons = made["reasons"].as_array().unwrap();
        assert!(reasons.iter().all(|r| r != "corrected"), "{made}");
    }
    let told = w.events("ignored");
    let told = told
        .iter()
        .find(|l| l["reasons"][0] == "correction-refused");
    let detail = told.unwrap()["detail"].as_str().unwrap();
    assert!(
        detail.contains("IMG_1.NEF") && detail.contains("another shape"),
        "{detail}"
    );
}

fn crop_of(line: &Json) -> Vec<u64> {
    let crop = line["crop"].as_array().unwrap();
    crop.iter().map(|v| v.as_u64().unwrap()).collect()
}

#[test]
fn a_damaged_late_twin_is_held_and_the_output_from_the_preview_stays() {
    let w = Workshop::new();
    let raw = raw(Some(&large("china")), MARCH);
    w.put("Mug/IMG_1.NEF", &raw);
    w.once();
    let output = w.path("ready/listing/mug/mug-01.jpg");
    let before = std::fs::read(&output).unwrap();
    let twin = shot("flower", MARCH);
    w.put("Mug/IMG_1.JPG", &twin[..twin.len() / 2]);
    assert_eq!(w.once(), 1);
    assert_eq!(w.files("held"), ["Mug/IMG_1.JPG", "Mug/IMG_1.JPG.txt"]);
    assert_eq!(std::fs::read(&output).unwrap(), before);
    assert!(std::fs::read(w.path("originals/Mug/IMG_1.NEF")).unwrap() == raw);
}

#[test]
fn killed_at_any_disk_operation_a_pair_is_kept_and_delivered_once() {
    let raw = raw(Some(&large("china")), MARCH);
    let jpeg = shot("flower", MARCH);
    let is_whole = |w: &Workshop, at: &str| {
        let all: Vec<String> = ["inbox", "held", "originals"]
            .iter()
            .flat_map(|f| w.files(f))
            .collect();
        assert_eq!(all, ["Mug/IMG_1.JPG", "Mug/IMG_1.NEF"], "{at}");
        assert_eq!(w.files("originals").len(), 2, "{at}");
        let kept = |n: &str| std::fs::read(w.path("originals/Mug").join(n)).unwrap();
        assert!(
            kept("IMG_1.NEF") == raw && kept("IMG_1.JPG") == jpeg,
            "{at}"
        );
        assert_eq!(w.files("ready"), ["listing/mug/mug-01.jpg"], "{at}");
        let from_jpeg = w.events("delivered");
        let from_jpeg = from_jpeg.iter().filter(|l| l["source"] == "Mug/IMG_1.JPG");
        assert_eq!(from_jpeg.count(), 1, "{at}");
        assert_eq!(reasons(w, "ignored"), ["raw-twin"], "{at}");
    };
    for late in [false, true] {
        for n in (1..).step_by(if late { 3 } else { 2 }) {
            let w = Workshop::new();
            w.put("Mug/IMG_1.NEF", &raw);
            if late {
                w.once();
            }
            w.put("Mug/IMG_1.JPG", &jpeg);
            let clean = w.once_in_trouble(&format!("kill:{n}")).is_some();
            w.once();
            is_whole(&w, &format!("late: {late}, a kill at operation {n}"));
            if clean {
                assert!(n > 8, "only {n} operations");
                break;
            }
        }
    }
}

#[test]
fn sidecars_and_what_systems_leave_behind_are_passed_over_with_one_line_each() {
    let w = Workshop::new();
    w.put("Mug/IMG_1.JPG", &photo("china", ""));
    let left: [(&str, &[u8], &str); 9] = [
        (
            "Mug/IMG_1.XMP",
            b"<x:xmpmeta xmlns:x='adobe:ns:meta/'/>",
            "sidecar",
        ),
        ("Mug/IMG_1.JPG.xmp", b"<x:xmpmeta/>", "sidecar"),
        ("Mug/IMG_1.AAE", b"<?xml version='1.0'?><plist/>", "sidecar"),
        ("Mug/MVI_2.THM", &photo("flower", ""), "sidecar"),
        ("Mug/MVI_2.MOV", b"\0\0\0\x14ftypqt  ", "video"),
        ("Mug/Thumbs.db", &[0xd0, 0xcf, 0x11, 0xe0], "sidecar"),
        ("Mug/desktop.ini", b"[.ShellClassInfo]\r\n", "sidecar"),
        ("Mug/.DS_Store", b"\0\0\0\x01Bud1", "hidden-name"),
        ("Mug/._IMG_1.JPG", b"\0\x05\x16\x07", "hidden-name"),
    ];
    for (name, bytes, _) in left {
        w.put(name, bytes);
    }
    w.once();
    w.once();
    w.was_passed_over(&left);
    assert_eq!(w.files("ready"), ["listing/mug/mug-01.jpg"]);
    assert_eq!(w.files("held"), [""; 0]);
}

//! The main job, told through the real program: from inbox to ready, held, originals and journal.

use std::path::Path;

use crate::workshop::{Workshop, photo, small};

#[test]
fn a_photo_becomes_a_listing_ready_file_and_its_original_is_archived_unchanged() {
    let w = Workshop::new();
    let bytes = photo("flower", "");
    w.put("Dahlia Bowl.JPG", &bytes);
    w.once();
    assert_eq!(w.files("ready"), ["listing/dahlia-bowl.jpg"]);
    assert_eq!(w.files("inbox"), [""; 0]);
    assert_eq!(
        std::fs::read(w.path("originals/Dahlia Bowl.JPG")).unwrap(),
        bytes
    );
    let lines = w.events("delivered");
    let line = &lines[0];
    assert_eq!(line["source"], "Dahlia Bowl.JPG");
    assert_eq!(line["blake3"], blake3::hash(&bytes).to_hex().as_str());
    assert_eq!(line["output"], "listing/dahlia-bowl.jpg");
    let file = std::fs::read(w.path("ready/listing/dahlia-bowl.jpg")).unwrap();
    let mut decoder = jpeg_decoder::Decoder::new(&file[..]);
    decoder.decode().unwrap();
    let info = decoder.info().unwrap();
    assert_eq!(
        (line["width"].as_u64(), line["height"].as_u64()),
        (Some(info.width.into()), Some(info.height.into()))
    );
    let ratio = f64::from(info.width) / f64::from(info.height);
    assert!((ratio - 4.0 / 3.0).abs() < 0.01, "{ratio}");
    assert_eq!(line["bytes"].as_u64(), Some(file.len() as u64));
    w.is_gapless();
}

#[test]
fn a_truncated_photo_is_held_with_a_note_and_the_others_go_on() {
    let w = Workshop::new();
    let whole = photo("china", "");
    w.put("Mug/a.jpg", &whole[..whole.len() * 6 / 10]);
    w.put("Mug/b.jpg", &whole);
    assert_eq!(w.once(), 1);
    assert_eq!(w.files("held"), ["Mug/a.jpg", "Mug/a.jpg.txt"]);
    let note = std::fs::read_to_string(w.path("held/Mug/a.jpg.txt")).unwrap();
    assert!(
        note.contains("undecodable") && note.contains("copy it from the card again"),
        "{note}"
    );
    assert_eq!(w.files("originals"), ["Mug/b.jpg"]);
    assert_eq!(w.files("ready").len(), 1);
    assert_eq!(w.events("held").len(), 1);
}

#[test]
fn a_listing_is_numbered_by_name_where_no_capture_time_tells_and_late_photos_come_next() {
    let w = Workshop::new();
    w.put("Spring/Mug/DCIM/100ABCDE/b.jpg", &photo("china", "b"));
    w.put("Spring/Mug/DCIM/100ABCDE/c.jpg", &photo("china", "c"));
    w.once();
    w.put("Spring/Mug/a.jpg", &photo("china", "a"));
    w.once();
    let at = |n: &str| format!("listing/spring-mug/spring-mug-{n}.jpg");
    assert_eq!(w.files("ready"), [at("01"), at("02"), at("03")]);
    let delivered = w.events("delivered");
    let last = delivered.last().unwrap();
    assert_eq!(
        (last["source"].as_str(), last["output"].as_str()),
        (Some("Spring/Mug/a.jpg"), Some(at("03").as_str()))
    );
}

#[test]
fn a_repeat_goes_to_originals_and_is_not_delivered_again() {
    let w = Workshop::new();
    let bytes = photo("china", "");
    w.put("Mug/a.jpg", &bytes);
    w.once();
    w.put("Mug/a.jpg", &bytes);
    assert_eq!(w.once(), 0);
    assert_eq!(w.files("ready").len(), 1);
    assert_eq!(w.files("originals"), ["Mug/a (2).jpg", "Mug/a.jpg"]);
    assert_eq!(w.events("ignored")[0]["reasons"][0], "seen-before");
    // The same photo in another listing is that listing's own.
    w.put("Bowl/a.jpg", &bytes);
    w.once();
    assert_eq!(w.files("ready").len(), 2);
}

#[test]
fn a_file_in_ready_that_is_not_ours_is_never_overwritten() {
    let w = Workshop::new();
    std::fs::create_dir_all(w.path("ready/listing")).unwrap();
    std::fs::write(w.path("ready/listing/a.jpg"), b"hers").unwrap();
    w.put("a.jpg", &photo("china", ""));
    w.once();
    assert_eq!(
        std::fs::read(w.path("ready/listing/a.jpg")).unwrap(),
        b"hers"
    );
    assert_eq!(w.files("ready"), ["listing/a-2.jpg", "listing/a.jpg"]);
}

#[test]
fn with_keep_the_original_stays_and_is_not_made_twice() {
    let w = Workshop::with("after = \"keep\"", "");
    w.put("a.jpg", &photo("china", ""));
    w.put("bad.jpg", b"no photo at all");
    w.once();
    let lines = w.journal().len();
    w.once();
    assert_eq!(w.files("inbox"), ["a.jpg", "bad.jpg"]);
    assert_eq!(w.files("held"), ["bad.jpg.txt"]);
    assert_eq!(w.files("ready"), ["listing/a.jpg"]);
    // Only the second run's own start and stop were added.
    assert_eq!(w.journal().len(), lines + 2);
}

#[test]
fn profiles_decide_each_for_itself_and_one_hold_sends_the_original_to_held() {
    let large = "\n[[profile]]\nname = \"large\"\nshort_side = 2000\nshort_side_min = 1500\n";
    let w = Workshop::with("", large);
    w.put("a.jpg", &photo("china", ""));
    assert_eq!(w.once(), 1);
    assert_eq!(w.files("ready"), ["listing/a.jpg"]);
    assert_eq!(w.files("held"), ["a.jpg", "a.jpg.txt"]);
    let note = std::fs::read_to_string(w.path("held/a.jpg.txt")).unwrap();
    assert!(
        note.contains("\"large\"") && note.contains("ready/listing/a.jpg"),
        "{note}"
    );
    assert_eq!(w.events("held")[0]["profile"], "large");
    assert_eq!(w.events("held")[0]["reasons"][0], "too-few-pixels");
}

#[test]
fn what_is_no_photo_is_passed_over_with_one_line_and_never_followed() {
    let w = Workshop::new();
    let outside = w.path("outside.jpg");
    std::fs::write(&outside, photo("china", "")).unwrap();
    std::os::unix::fs::symlink(&outside, w.path("inbox/link.jpg")).unwrap();
    let made = std::process::Command::new("mkfifo")
        .arg(w.path("inbox/pipe.jpg"))
        .status();
    assert!(made.unwrap().success());
    w.put("half.jpg.part", b"x");
    w.put(".hidden.jpg", b"x");
    w.put("clip.mp4", b"\0\0\0\x18ftypisom");
    assert_eq!(w.once(), 0);
    w.once();
    let mut reasons: Vec<String> = w
        .events("ignored")
        .iter()
        .map(|l| l["reasons"][0].as_str().unwrap().to_owned())
        .collect();
    reasons.sort();
    assert_eq!(
        reasons,
        [
            "hidden-name",
            "link",
            "special-file",
            "temporary-name",
            "video"
        ]
    );
    assert_eq!(w.files("inbox").len(), 5);
    assert_eq!(w.files("ready"), [""; 0]);
}

#[test]
fn strange_names_give_safe_ones_and_nothing_is_lost() {
    use std::os::unix::ffi::OsStrExt;
    let w = Workshop::new();
    w.put("a\n\"b\".jpg", &photo("china", "1"));
    w.put("<script>.jpg", &photo("china", "2"));
    let raw = std::ffi::OsStr::from_bytes(b"caf\xE9.jpg");
    std::fs::write(w.path("inbox").join(raw), photo("china", "3")).unwrap();
    w.put("Con.jpg", &photo("china", "4"));
    w.put("con.JPG", &photo("china", "5"));
    w.put(&format!("{}.jpg", "n".repeat(251)), &photo("china", "6"));
    // One name in two Unicode forms.
    w.put("caf\u{e9} au lait.jpg", &photo("china", "7"));
    w.put("cafe\u{301} au lait.jpg", &photo("china", "8"));
    w.once();
    let ready = w.files("ready");
    assert_eq!(ready.len(), 8, "{ready:?}");
    assert!(
        ready.iter().all(|n| n
            .bytes()
            .all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b"-./".contains(&b))),
        "{ready:?}"
    );
    assert!(w.path("originals").join(Path::new(raw)).exists());
    assert_eq!(w.files("originals").len(), 8);
}

#[test]
fn folders_that_are_links_are_never_followed_and_nothing_is_written_through_them() {
    use std::os::unix::fs::{PermissionsExt, symlink};
    let whole = small(0, "");
    let torn = &whole[..whole.len() / 2];
    for (link, bytes) in [
        ("inbox/Linked", &whole[..]),
        ("ready/listing", &whole),
        ("originals/Mug", &whole),
        ("held/Mug", torn),
    ] {
        let w = Workshop::quick(&[]);
        let elsewhere = w.path("elsewhere");
        std::fs::create_dir(&elsewhere).unwrap();
        std::fs::write(elsewhere.join("hers.jpg"), &whole).unwrap();
        std::fs::create_dir_all(w.path(link).parent().unwrap()).unwrap();
        symlink(&elsewhere, w.path(link)).unwrap();
        w.put("Mug/a.jpg", bytes);
        let code = w.once();
        assert_eq!(w.files("elsewhere"), ["hers.jpg"], "{link}");
        if link == "inbox/Linked" {
            let ignored = &w.events("ignored")[0];
            assert_eq!(
                (&ignored["source"], &ignored["reasons"][0]),
                (&"Linked".into(), &"link".into())
            );
        } else {
            assert_eq!(code, 1, "{link}");
            assert_eq!(
                std::fs::read(w.path("inbox/Mug/a.jpg")).unwrap(),
                bytes,
                "{link}"
            );
        }
        std::fs::remove_file(w.path(link)).unwrap();
        w.once();
        assert!(!w.path("inbox/Mug/a.jpg").exists(), "{link}");
        assert_eq!(w.files("elsewhere"), ["hers.jpg"], "{link}");
        let mode = std::fs::metadata(w.path("state"))
            .unwrap()
            .permissions()
            .mode();
        assert_eq!(mode & 0o777, 0o700);
    }
}

#[test]
fn preview_decides_without_delivering() {
    let w = Workshop::new();
    let file = w.path("elsewhere.jpg");
    std::fs::write(&file, photo("flower", "")).unwrap();
    let out = w.run(&["preview", "--json", file.to_str().unwrap()]);
    let line: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(
        (line["schema"].as_u64(), line["profile"].as_str()),
        (Some(1), Some("listing"))
    );
    assert_eq!(line["size"], serde_json::json!([640, 427]));
    let crop: Vec<u64> = line["crop"]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_u64().unwrap())
        .collect();
    assert!(
        crop[0] + crop[2] <= 640 && crop[1] + crop[3] <= 427,
        "{crop:?}"
    );
    assert_eq!(w.files("ready"), [""; 0]);
    assert!(!w.path("state").exists());
    let unknown = w.run(&["preview", "--profile", "nope", file.to_str().unwrap()]);
    assert_eq!(unknown.status.code(), Some(2));
    let missing = w.run(&["preview", "not-there.jpg"]);
    assert_eq!(missing.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&missing.stderr).contains("hint:"));
}

#[test]
fn preview_uses_the_correction_beside_the_photo_or_one_that_names_it() {
    let w = Workshop::new();
    let file = w.path("IMG_1.jpg");
    let bytes = photo("flower", "");
    std::fs::write(&file, &bytes).unwrap();
    let crop = || {
        let out = w.run(&["preview", "--json", file.to_str().unwrap()]);
        let words = String::from_utf8_lossy(&out.stderr).into_owned();
        let line: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
        (line["crop"].clone(), line["reasons"].to_string(), words)
    };
    let own = crop().0;
    // for another photo of that name: not meant
    let other = blake3::hash(b"another").to_hex();
    let word = |hash: &str| format!("photo = \"{hash}\"\n[listing]\ncrop = [40, 20, 400, 300]\n");
    let beside = w.path("IMG_1.jpg.framing.toml");
    std::fs::write(&beside, word(&other)).unwrap();
    assert_eq!(crop().0, own);
    std::fs::write(&beside, word(&blake3::hash(&bytes).to_hex())).unwrap();
    let (used, reasons, _) = crop();
    assert_eq!(used, serde_json::json!([40, 20, 400, 300]));
    assert!(reasons.contains("corrected"), "{reasons}");
    std::fs::write(&beside, "[listing]\ncrop = [1]\n").unwrap();
    let (used, _, words) = crop();
    assert_eq!(used, own);
    assert!(words.contains("IMG_1.jpg.framing.toml") && words.contains("hint:"));
    std::fs::remove_file(&beside).unwrap();
    w.put(
        "x.framing.toml",
        word(&blake3::hash(&bytes).to_hex()).as_bytes(),
    );
    assert_eq!(crop().0, serde_json::json!([40, 20, 400, 300]));
}

#[test]
fn folders_inside_one_another_and_broken_settings_are_refused_with_exit_code_2() {
    let w = Workshop::new();
    let text = std::fs::read_to_string(w.path("stallhand.toml")).unwrap();
    let inside = text.replace(
        &format!("ready = {:?}", w.path("ready")),
        &format!("ready = {:?}", w.path("inbox/ready")),
    );
    std::fs::write(w.path("stallhand.toml"), inside).unwrap();
    let out = w.run(&["once"]);
    assert_eq!(out.status.code(), Some(2));
    assert!(!w.path("inbox/ready").exists());
    std::fs::write(
        w.path("stallhand.toml"),
        text.replace("settle = \"100ms\"", "setle = \"100ms\""),
    )
    .unwrap();
    let out = w.run(&["once"]);
    let words = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!(out.status.code(), Some(2));
    assert!(
        words.contains("stallhand.toml") && words.contains("setle") && words.contains("settle"),
        "{words}"
    );
}

#[test]
fn in_a_pipe_progress_never_falls_and_ends_with_all() {
    let w = Workshop::quick(&[]);
    for i in 0..12 {
        w.put(&format!("Mug/{i:02}.jpg"), &small(i, &i.to_string()));
        // Repeats are recognised on the way.
        if i % 3 == 0 {
            w.put(&format!("Mug/again {i}.jpg"), &small(i, &i.to_string()));
        }
    }
    let out = w.run(&["once"]);
    let said = String::from_utf8_lossy(&out.stderr);
    let told: Vec<[usize; 2]> = (said.lines())
        .filter_map(|l| {
            let (done, all) = l.strip_suffix(" photos")?.split_once(" of ")?;
            Some([done.parse().ok()?, all.parse().ok()?])
        })
        .collect();
    assert!(told.len() >= 5, "{said}");
    assert!(
        told.is_sorted_by(|a, b| a[0] < b[0] && a[1] <= b[1]),
        "{said}"
    );
    let last = told.last().unwrap();
    assert_eq!(last[0], last[1], "{said}");
}

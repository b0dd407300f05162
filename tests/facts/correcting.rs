//! Correcting is as easy as dropping: her word beside a photo or by its hash, outputs made again,
//! and what the program tells about itself.

use rustix::process::Signal;

use crate::workshop::{Workshop, photo, signal};

fn crop_of(line: &serde_json::Value) -> Vec<u64> {
    let crop = line["crop"].as_array().unwrap();
    crop.iter().map(|v| v.as_u64().unwrap()).collect()
}

#[test]
fn a_correction_beside_an_arrival_is_used_and_follows_it() {
    let w = Workshop::new();
    w.put("Mug/a.jpg", &photo("china", ""));
    w.put(
        "Mug/a.jpg.framing.toml",
        b"[listing]\ncrop = [40, 20, 400, 300]\n",
    );
    w.once();
    let line = &w.events("delivered")[0];
    assert_eq!(crop_of(line), [40, 20, 400, 300]);
    assert!(
        line["reasons"]
            .as_array()
            .unwrap()
            .iter()
            .any(|r| r == "corrected"),
        "{line}"
    );
    assert_eq!(
        w.files("originals"),
        ["Mug/a.jpg", "Mug/a.jpg.framing.toml"]
    );
}

#[test]
fn a_correction_dropped_later_makes_that_photos_output_again_in_its_place() {
    let w = Workshop::new();
    let bytes = photo("china", "");
    w.put("Mug/a.jpg", &bytes);
    w.put("Mug/b.jpg", &photo("flower", ""));
    w.once();
    let before = std::fs::read(w.path("ready/listing/mug/mug-01.jpg")).unwrap();
    let hash = blake3::hash(&bytes).to_hex();
    let word = format!("photo = \"{hash}\"\n[listing]\ncrop = [100, 50, 400, 300]\n");
    w.put("a.jpg.framing (1).toml", word.as_bytes());
    w.once();
    assert_eq!(w.files("ready").len(), 2);
    assert_ne!(
        std::fs::read(w.path("ready/listing/mug/mug-01.jpg")).unwrap(),
        before
    );
    let delivered = w.events("delivered");
    assert_eq!(delivered.len(), 3);
    assert_eq!(crop_of(&delivered[2]), [100, 50, 400, 300]);
    assert_eq!(delivered[2]["replaces"], "listing/mug/mug-01.jpg");
    assert_eq!(w.files("inbox"), [""; 0]);
    assert!(w.path("originals/Mug/a.jpg.framing.toml").exists());
    w.once();
    assert_eq!(w.events("delivered").len(), 3, "the same word is used once");
}

#[test]
fn a_held_photo_is_released_by_her_word() {
    let w = Workshop::with("", "\n[limits]\nworkers = 1\n");
    let text = std::fs::read_to_string(w.path("stallhand.toml")).unwrap();
    std::fs::write(
        w.path("stallhand.toml"),
        text.replace("short_side_min = 200", "short_side_min = 290"),
    )
    .unwrap();
    w.put("a.jpg", &photo("china", ""));
    w.put(
        "a.jpg.framing.toml",
        b"[listing]\ncrop = [0, 0, 320, 240]\n",
    );
    w.once();
    assert_eq!(w.events("held").len(), 1);
    assert_eq!(
        w.files("held"),
        ["a.jpg", "a.jpg.framing.toml", "a.jpg.txt"]
    );
    std::fs::write(
        w.path("held/a.jpg.framing.toml"),
        "accept = true\n[listing]\ncrop = [0, 0, 320, 240]\n",
    )
    .unwrap();
    w.once();
    assert_eq!(w.files("ready"), ["listing/a.jpg"]);
    assert_eq!(w.files("held"), [""; 0]);
    assert_eq!(w.files("originals"), ["a.jpg", "a.jpg.framing.toml"]);
}

#[test]
fn a_correction_that_makes_no_sense_is_refused_in_words_and_changes_nothing() {
    let w = Workshop::new();
    w.put("a.jpg", &photo("china", ""));
    w.once();
    let before = std::fs::read(w.path("ready/listing/a.jpg")).unwrap();
    for bad in [
        "crop = 1\n",
        "[listing]\ncrop = [0, 0, 99999, 10]\n",
        "subject = [nan, 0, 1, 1]\n",
    ] {
        std::fs::write(w.path("originals/a.jpg.framing.toml"), bad).unwrap();
        w.once();
        assert_eq!(
            std::fs::read(w.path("ready/listing/a.jpg")).unwrap(),
            before,
            "{bad}"
        );
    }
    let refused = w.events("ignored");
    assert_eq!(refused.len(), 3);
    assert!(
        refused
            .iter()
            .all(|l| l["reasons"][0] == "correction-refused")
    );
    assert_eq!(w.events("delivered").len(), 1);
}

#[test]
fn a_correction_that_fits_no_photo_is_told_of_once_and_used_when_its_photo_comes() {
    let w = Workshop::new();
    let bytes = photo("china", "");
    let hash = blake3::hash(&bytes).to_hex();
    let words = [
        ("a.jpg.framing.toml", String::new()),
        ("b.jpg.framing.toml", format!("photo = \"{hash}\"\n")),
    ];
    for (name, which) in &words {
        let word = format!("{which}[listing]\ncrop = [40, 20, 400, 300]\n");
        w.put(&format!("Mug/{name}"), word.as_bytes());
    }
    assert_eq!(w.once(), 1);
    let told = w.events("failed");
    assert_eq!(told.len(), 2);
    for (line, (name, _)) in told.iter().zip(&words) {
        assert_eq!(line["source"], format!("Mug/{name}"));
        assert_eq!(line["reasons"], serde_json::json!(["correction-waits"]));
    }
    assert_eq!(w.status()["failures"].as_array().unwrap().len(), 2);
    assert_eq!((w.once(), w.events("failed").len()), (0, 2), "told once");
    w.put("Mug/c.jpg", &bytes);
    w.put("Mug/a.jpg", &photo("flower", ""));
    w.once();
    w.once();
    let made = w.events("delivered");
    assert_eq!((made.len(), w.events("failed").len()), (2, 2));
    for line in made {
        assert_eq!(crop_of(&line), [40, 20, 400, 300], "{line}");
    }
    assert_eq!(w.files("inbox"), [""; 0]);
}

#[test]
fn what_redo_was_to_make_is_made_also_when_it_is_killed_meanwhile() {
    let w = Workshop::new();
    for i in 0..4 {
        w.put(&format!("Mug/{i}.jpg"), &photo("china", &i.to_string()));
    }
    w.once();
    let gone = w.path("ready/listing/mug/mug-02.jpg");
    std::fs::remove_file(&gone).unwrap();
    let text = std::fs::read_to_string(w.path("stallhand.toml")).unwrap();
    let text = text.replace("short_side = 300", "short_side = 280");
    std::fs::write(w.path("stallhand.toml"), text).unwrap();
    let made = |w: &Workshop| w.events("delivered").len() - 4;
    // Killed while the first of them is being written.
    let kill = [("STALLHAND_DISK_TROUBLE", "kill:4")];
    let all = ["redo", "Mug/0.jpg", "Mug/1.jpg", "Mug/2.jpg", "Mug/3.jpg"];
    assert_eq!(w.run_with(&all, &kill).status.code(), None);
    assert!(made(&w) < 4, "nothing was left to do");
    w.once();
    assert_eq!(made(&w), 4);
    assert!(
        w.events("delivered")[4..]
            .iter()
            .all(|l| l["height"] == 280)
    );
    assert!(
        gone.exists(),
        "it was named, so it is made although deleted"
    );
    w.once();
    assert_eq!(made(&w), 4, "made again once");
}

#[test]
fn redo_makes_only_what_changed_and_respects_what_she_edited() {
    let w = Workshop::new();
    w.put("Mug/a.jpg", &photo("china", ""));
    w.put("Mug/b.jpg", &photo("flower", ""));
    w.once();
    let out = w.run(&["redo", "--changed"]);
    assert_eq!(w.events("delivered").len(), 2, "{out:?}");
    let hers = w.path("ready/listing/mug/mug-02.jpg");
    std::fs::write(&hers, b"hers").unwrap();
    let text = std::fs::read_to_string(w.path("stallhand.toml")).unwrap();
    std::fs::write(
        w.path("stallhand.toml"),
        text.replace("short_side = 300", "short_side = 280"),
    )
    .unwrap();
    w.run(&["redo", "--changed"]);
    assert_eq!(w.events("delivered").len(), 3);
    assert_eq!(std::fs::read(&hers).unwrap(), b"hers");
    w.run(&["redo", "mug-02"]);
    assert_eq!(std::fs::read(&hers).unwrap(), b"hers");
    assert_eq!(
        w.files("ready"),
        [
            "listing/mug/mug-01.jpg",
            "listing/mug/mug-02-2.jpg",
            "listing/mug/mug-02.jpg"
        ]
    );
    assert_eq!(
        w.run(&["redo", "nothing-of-that-name"]).status.code(),
        Some(2)
    );
}

#[test]
fn a_running_daemon_takes_requests_and_status_and_why_tell_how_things_stand() {
    let w = Workshop::with("listing_settle = \"60s\"", "");
    let text = std::fs::read_to_string(w.path("stallhand.toml")).unwrap();
    std::fs::write(
        w.path("stallhand.toml"),
        text.replace("listing_settle = \"300ms\"\n", ""),
    )
    .unwrap();
    let mut child = w.start(&[]);
    w.wait(|w| w.path("state/requests").exists());
    w.put("Mug/a.jpg", &photo("china", ""));
    let whole = photo("flower", "");
    w.put("Mug/b.jpg", &whole[..whole.len() / 2]);
    // The daemon would wait a minute for the listing; the request makes it go on at once.
    let once = w.run(&["once", "--json"]);
    let answer: serde_json::Value = serde_json::from_slice(&once.stdout).unwrap();
    assert_eq!(
        (answer["delivered"].as_u64(), answer["held"].as_u64()),
        (Some(1), Some(1)),
        "{answer}"
    );
    assert_eq!(once.status.code(), Some(1));
    let status: serde_json::Value =
        serde_json::from_slice(&w.run(&["status", "--json"]).stdout).unwrap();
    assert_eq!(
        (status["running"].as_bool(), status["offline"].as_bool()),
        (Some(true), Some(false))
    );
    assert_eq!(status["held"], serde_json::json!(["Mug/b.jpg"]));
    let page = std::fs::read_to_string(w.path("state/proof/index.html")).unwrap();
    assert!(page.contains("Mug"), "{page}");
    let story = w.run(&["why", "mug-01"]);
    assert!(String::from_utf8_lossy(&story.stdout).contains("Mug/a.jpg"));
    assert_eq!(w.run(&["why", "nobody"]).status.code(), Some(2));
    signal(&child, Signal::TERM);
    assert_eq!(child.wait().unwrap().code(), Some(0));
    let gone = w.path("inbox");
    std::fs::rename(&gone, w.path("inbox-away")).unwrap();
    let status: serde_json::Value =
        serde_json::from_slice(&w.run(&["status", "--json"]).stdout).unwrap();
    assert_eq!(
        (status["running"].as_bool(), status["offline"].as_bool()),
        (Some(false), Some(true))
    );
}

#[test]
fn what_only_the_daemon_knows_is_told_by_status_while_it_runs() {
    let w = Workshop::new();
    let mut child = w.start(&[]);
    w.wait(|w| w.path("state/requests").exists() && !w.events("started").is_empty());
    std::thread::sleep(std::time::Duration::from_millis(300));
    // As the daemon writes it after a minute of changes (a fact of the model).
    let said = br#"{"changing":["Mug/b.jpg"]}"#;
    std::fs::write(w.path("state/now.json"), said).unwrap();
    let json = |w: &Workshop| -> serde_json::Value {
        serde_json::from_slice(&w.run(&["status", "--json"]).stdout).unwrap()
    };
    let s = json(&w);
    assert_eq!(s["changing"], serde_json::json!(["Mug/b.jpg"]));
    assert!(s["paused"].is_null());
    assert_eq!(
        (&s["offline"], &s["failures"]),
        (&false.into(), &serde_json::json!([]))
    );
    let words = String::from_utf8_lossy(&w.run(&["status"]).stdout).into_owned();
    assert!(words.contains("still being written: 1"), "{words}");
    assert!(words.contains("it keeps changing"), "{words}");
    signal(&child, Signal::KILL);
    child.wait().unwrap();
    // What a dead daemon said counts no longer, and the next one takes it away.
    assert_eq!(json(&w)["changing"], serde_json::json!([]));
    w.once();
    assert!(!w.path("state/now.json").exists());
}

#[test]
fn changed_settings_are_taken_up_at_once_and_broken_ones_change_nothing() {
    let w = Workshop::new();
    let mut child = w.start(&[]);
    w.wait(|w| w.path("state/requests").exists());
    let text = std::fs::read_to_string(w.path("stallhand.toml")).unwrap();
    let file = w.path("stallhand.toml");
    let logged = |w: &Workshop, words: &str| {
        let logs = w.files("state/log");
        logs.iter().any(|f| {
            std::fs::read_to_string(w.path("state/log").join(f)).is_ok_and(|t| t.contains(words))
        })
    };
    std::fs::write(&file, text.replace("short_side = 300", "short_side = 250")).unwrap();
    w.wait(|w| logged(w, "the changed settings are in force"));
    w.put("a.jpg", &photo("china", ""));
    w.wait(|w| w.events("delivered").len() == 1);
    assert_eq!(w.events("delivered")[0]["height"], 250);
    std::fs::write(&file, "nonsense = 1\n").unwrap();
    w.wait(|w| logged(w, "the settings before stay in force"));
    w.put("b.jpg", &photo("china", "b"));
    w.wait(|w| w.events("delivered").len() == 2);
    assert_eq!(w.events("delivered")[1]["height"], 250);
    signal(&child, Signal::TERM);
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn a_build_without_vector_instructions_says_so_once_in_status_and_demo() {
    use stallhand::command::demo::ground;
    let slow = usize::from(!stallhand::render::encode::simd());
    let w = Workshop::new();
    let told = |args: &[&str]| {
        let out = w.run(args);
        assert!(out.status.success(), "{args:?}: {out:?}");
        let words = String::from_utf8_lossy(&out.stdout).into_owned();
        words.matches("it was built without nasm").count()
    };
    assert_eq!(told(&["status"]), slow);
    assert_eq!(w.status()["slow_build"], slow == 1);
    assert_eq!(told(&["once"]), 0);
    // One that was laid out before is shown again at once.
    let folder = w.path("workshop");
    std::fs::create_dir_all(folder.join("inbox")).unwrap();
    std::fs::write(folder.join(ground::MARK), ground::MARK_TEXT).unwrap();
    assert_eq!(told(&["demo", "--folder", folder.to_str().unwrap()]), slow);
}

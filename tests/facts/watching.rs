//! Events are hints and the folder is the truth: bursts, new folders, an inbox that goes away, comes
//! back, is another one; and the watch is armed again each time.

use std::os::unix::fs::MetadataExt;
use std::path::Path;
use std::process::Child;
use std::time::Duration;

use rustix::process::Signal;

use crate::workshop::{Workshop, signal, small};

fn stop(mut child: Child) {
    signal(&child, Signal::TERM);
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

/// Whether the process has an inotify watch on this very folder (proc_pid_fdinfo(5)).
fn watches(child: &Child, folder: &Path) -> bool {
    let Ok(meta) = std::fs::metadata(folder) else {
        return false;
    };
    let wanted = format!("ino:{:x} ", meta.ino());
    let infos = std::fs::read_dir(format!("/proc/{}/fdinfo", child.id()));
    let texts = infos.unwrap().flatten();
    let mut lines = texts.flat_map(|e| {
        let text = std::fs::read_to_string(e.path()).unwrap_or_default();
        text.lines().map(str::to_owned).collect::<Vec<_>>()
    });
    lines.any(|l| l.starts_with("inotify ") && l.contains(&wanted))
}

#[test]
fn a_burst_of_twenty_thousand_files_while_the_daemon_stands_still_loses_none() {
    const FILES: usize = 20_000;
    let w = Workshop::quick(&[("rescan", "10m")]);
    let child = w.begin(&[]);
    w.wait(|w| watches(&child, &w.path("inbox")));
    signal(&child, Signal::STOP);
    std::fs::create_dir(w.path("inbox/Mug")).unwrap();
    for i in 0..FILES {
        if i % 4000 == 3999 {
            w.put(&format!("Mug/{i}.jpg"), &small(i, &i.to_string()));
        }
        let folder = ["inbox", "inbox/Mug"][i % 2];
        std::fs::write(w.path(folder).join(format!("{i}.jpg.part")), "").unwrap();
    }
    signal(&child, Signal::CONT);
    w.wait(|w| w.count("delivered") == 5 && w.count("ignored") >= FILES);
    assert_eq!(w.count("ignored"), FILES);
    stop(child);
}

#[test]
fn new_deep_folders_that_fill_at_once_are_seen_without_waiting_for_the_next_look() {
    let w = Workshop::quick(&[("rescan", "10m")]);
    let child = w.begin(&[]);
    w.wait(|w| watches(&child, &w.path("inbox")));
    for i in 0..8 {
        w.put(&format!("{i}/a/b/c/1.jpg"), &small(0, &format!("{i}")));
        std::thread::sleep(Duration::from_millis(i * 7));
        w.put(&format!("{i}/a/b/c/2.jpg"), &small(1, &format!("{i}")));
        w.put(&format!("{i}/a/b/d/3.jpg"), &small(1, &format!("{i}x")));
    }
    w.wait(|w| w.events("delivered").len() == 24);
    stop(child);
}

#[test]
fn an_inbox_that_goes_away_is_offline_and_watched_again_when_it_is_back() {
    let w = Workshop::quick(&[("settle", "700ms")]);
    let child = w.begin(&[]);
    w.put("a.jpg", &small(0, "a"));
    w.wait(|w| w.events("delivered").len() == 1);
    let offline = |w: &Workshop| w.status()["offline"] == true;
    assert!(!offline(&w));
    let ledger = |w: &Workshop| (w.journal().len(), w.files("ready"), w.files("held"));
    // Renamed away with a photo that waits, and back.
    w.put("late.jpg", &small(1, "late"));
    std::fs::rename(w.path("inbox"), w.path("away")).unwrap();
    w.wait(|w| offline(w) && !watches(&child, &w.path("away")));
    let before = ledger(&w);
    std::thread::sleep(Duration::from_millis(2200));
    assert!(offline(&w), "a missing inbox is never an empty one");
    assert_eq!(ledger(&w), before);
    std::fs::rename(w.path("away"), w.path("inbox")).unwrap();
    w.wait(|w| watches(&child, &w.path("inbox")));
    w.wait(|w| w.events("delivered").len() == 2);
    // Deleted, and made anew after a while.
    std::fs::remove_dir_all(w.path("inbox")).unwrap();
    let before = ledger(&w);
    w.wait(offline);
    assert!(!w.path("inbox").exists());
    std::fs::create_dir(w.path("inbox")).unwrap();
    w.wait(|w| watches(&child, &w.path("inbox")));
    assert_eq!(ledger(&w), before);
    // Deleted and made anew at once: the file system may give it the same number again.
    for n in 0..3 {
        std::fs::remove_dir_all(w.path("inbox")).unwrap();
        std::fs::create_dir(w.path("inbox")).unwrap();
        w.put(&format!("{n}.jpg"), &small(n, &n.to_string()));
        w.wait(|w| watches(&child, &w.path("inbox")));
        w.wait(|w| w.events("delivered").len() == 3 + n);
    }
    stop(child);
}

#[test]
fn a_disk_mounted_over_the_inbox_is_watched_can_be_ejected_and_is_offline_then() {
    let w = Workshop::quick(&[]);
    let child = w.begin(&[]);
    w.put("a.jpg", &small(0, "a"));
    w.wait(|w| w.events("delivered").len() == 1);
    let Some(disk) = w.mount("inbox", "size=4m") else {
        return stop(child);
    };
    w.wait(|w| watches(&child, &w.path("inbox")));
    w.put("b.jpg", &small(1, "b"));
    w.wait(|w| w.events("delivered").len() == 2 && w.files("originals").len() == 2);
    // Between two looks nothing keeps the disk busy.
    w.wait(|_| disk.unmount());
    w.wait(|w| w.status()["offline"] == true);
    let before = (w.journal().len(), w.files("ready"));
    std::thread::sleep(Duration::from_millis(1200));
    assert_eq!((w.journal().len(), w.files("ready")), before);
    stop(child);
    // Still so for a daemon that is started without the disk.
    let child = w.begin(&[]);
    assert_eq!(w.status()["offline"], true);
    let again = w.mount("inbox", "size=4m");
    w.wait(|w| watches(&child, &w.path("inbox")));
    w.put("c.jpg", &small(1, "c"));
    w.wait(|w| w.events("delivered").len() == 3);
    assert_eq!(w.status()["offline"], false);
    drop(again);
    stop(child);
}

#[test]
fn an_inbox_that_was_there_before_is_not_made_anew_at_the_start() {
    let w = Workshop::quick(&[]);
    w.put("a.jpg", &small(0, "a"));
    w.once();
    std::fs::remove_dir(w.path("inbox")).unwrap();
    assert_eq!(w.once(), 1);
    assert!(!w.path("inbox").exists());
    assert_eq!(w.status()["offline"], true);
}

const MARK: &str = "user.cifs.dosattrib";

/// Marks a file as one whose content a sync program would have to fetch, as shares show it (offline:
/// Windows' file attribute constants, from memory); false where no such marks can be made.
fn marked_elsewhere(path: &Path) -> bool {
    let recall = 0x40_0000u32.to_le_bytes();
    let made = rustix::fs::setxattr(path, MARK, &recall, rustix::fs::XattrFlags::empty());
    if made.is_err() {
        println!("skipped: no extended attributes here");
    }
    made.is_ok()
}

#[test]
fn a_photo_whose_content_is_elsewhere_is_left_alone_told_once_and_taken_when_it_is_here() {
    let w = Workshop::quick(&[("rescan", "1s")]);
    let a = w.path("inbox/Mug/a.jpg");
    w.put("Mug/a.jpg", b"no photo to one that opens it");
    w.put("Mug/b.jpg", &small(1, "b"));
    if !marked_elsewhere(&a) {
        return;
    }
    assert_eq!(w.status()["cloud_only"], serde_json::json!(["Mug/a.jpg"]));
    assert_eq!(w.status()["waiting"], serde_json::json!(["Mug/b.jpg"]));
    for _ in 0..2 {
        assert_eq!(w.once(), 0);
        let told = w.events("ignored");
        assert_eq!(told.len(), 1, "{told:?}");
        assert_eq!(told[0]["reasons"], serde_json::json!(["cloud-only"]));
        assert_eq!(w.files("ready").len(), 1);
        assert_eq!(w.files("inbox"), ["Mug/a.jpg"]);
        assert_eq!(w.status()["cloud_only"], serde_json::json!(["Mug/a.jpg"]));
        assert_eq!(w.status()["waiting"], serde_json::json!([]));
    }
    // The running daemon sees by itself that it has come.
    let child = w.begin(&[("STALLHAND_NO_EVENTS", "1")]);
    std::fs::write(&a, small(2, "a")).unwrap();
    w.wait(|w| w.count("ignored") == 2);
    rustix::fs::removexattr(&a, MARK).unwrap();
    w.wait(|w| w.files("ready").len() == 2);
    stop(child);
    assert_eq!(w.status()["cloud_only"], serde_json::json!([]));
}

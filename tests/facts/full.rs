//! A disk that is really full, of bytes or of files: the daemon waits, says so in plain words, and
//! goes on by itself when there is room. Small file systems are mounted for it where that is permitted.

use std::path::Path;

use rustix::process::Signal;

use crate::workshop::{Workshop, signal, small};

/// Fills a folder's disk up with one file of hers, to the last byte.
fn fill(folder: &Path) -> std::path::PathBuf {
    use std::io::Write;
    let path = folder.join("hers.bin");
    let mut file = std::fs::File::create(&path).unwrap();
    for size in [1 << 16, 1 << 12, 1] {
        while file.write_all(&vec![1; size]).is_ok() {}
    }
    path
}

fn put_three(w: &Workshop) {
    for i in 0..3 {
        w.put(&format!("Mug/{i}.jpg"), &small(i, &i.to_string()));
    }
}

/// Waits until the running daemon says that it waits, and returns its words.
fn waits(w: &Workshop) -> String {
    w.wait(|w| w.status()["paused"].is_string());
    let plain = w.run(&["status"]);
    let plain = String::from_utf8_lossy(&plain.stdout).into_owned();
    assert!(
        plain.contains("paused, and tried again by itself"),
        "{plain}"
    );
    w.status()["paused"].as_str().unwrap().to_owned()
}

fn log(w: &Workshop) -> String {
    let read = |f: String| std::fs::read_to_string(w.path("state/log").join(f)).unwrap();
    w.files("state/log").into_iter().map(read).collect()
}

/// Nothing said to be delivered that does not stand there; every original in one place.
fn delivered_in_the_end(w: &Workshop) {
    w.wait(|w| w.events("delivered").len() == 3 && w.files("originals").len() == 3);
    w.wait(|w| w.status()["paused"].is_null());
    assert_eq!(w.files("inbox"), [""; 0]);
    let names = |n: &str| n.ends_with(".jpg");
    assert_eq!(w.files("ready").iter().filter(|n| names(n)).count(), 3);
    w.wait(|w| w.files("ready").iter().all(|n| !n.contains("/.")));
}

fn stop(mut child: std::process::Child) {
    signal(&child, Signal::TERM);
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn a_full_ready_disk_is_waited_for_and_said_in_plain_words() {
    let w = Workshop::quick(&[]);
    let Some(_disk) = w.mount("ready", "size=2m") else {
        return;
    };
    let hers = fill(&w.path("ready"));
    let child = w.begin(&[]);
    put_three(&w);
    let words = waits(&w);
    assert!(
        words.contains("the disk is full") && words.contains("hint:"),
        "{words}"
    );
    assert!(log(&w).contains("the disk is full"));
    assert_eq!(w.files("ready"), ["hers.bin"]);
    assert!(w.events("delivered").is_empty());
    assert_eq!((w.files("inbox").len(), w.files("originals").len()), (3, 0));
    std::fs::remove_file(hers).unwrap();
    delivered_in_the_end(&w);
    stop(child);
}

#[test]
fn a_disk_that_can_hold_no_more_files_is_told_from_one_without_bytes() {
    let w = Workshop::quick(&[]);
    let Some(_disk) = w.mount("ready", "size=8m,nr_inodes=24") else {
        return;
    };
    let mut hers = Vec::new();
    for n in 0.. {
        let path = w.path("ready").join(format!("hers-{n}"));
        match std::fs::File::create(&path) {
            Ok(_) => hers.push(path),
            Err(_) => break,
        }
    }
    let child = w.begin(&[]);
    put_three(&w);
    let words = waits(&w);
    assert!(words.contains("can hold no more files"), "{words}");
    assert!(w.events("delivered").is_empty());
    assert_eq!(w.files("ready").len(), hers.len());
    for path in hers {
        std::fs::remove_file(path).unwrap();
    }
    delivered_in_the_end(&w);
    stop(child);
}

#[test]
fn a_full_disk_under_the_originals_leaves_them_in_the_inbox() {
    let w = Workshop::quick(&[]);
    let Some(_disk) = w.mount("originals", "size=1m") else {
        return;
    };
    let hers = fill(&w.path("originals"));
    let child = w.begin(&[]);
    put_three(&w);
    assert!(waits(&w).contains("the disk is full"));
    // What is said to be delivered stands there; its original is whole and where it was.
    assert_eq!(w.files("inbox").len(), 3);
    assert_eq!(w.files("originals"), ["hers.bin"]);
    assert!(w.files("ready").len() >= w.events("delivered").len());
    std::fs::remove_file(hers).unwrap();
    w.wait(|w| w.files("originals").len() == 3);
    delivered_in_the_end(&w);
    stop(child);
}

#[test]
fn a_full_disk_under_the_state_folder_is_waited_for_also_at_the_start() {
    let w = Workshop::quick(&[]);
    let Some(_disk) = w.mount("state", "size=3m") else {
        return;
    };
    let child = w.begin(&[]);
    w.wait(|w| w.events("started").len() == 1);
    let hers = fill(&w.path("state"));
    put_three(&w);
    assert!(waits(&w).contains("full"));
    assert!(w.events("delivered").is_empty());
    stop(child);
    std::fs::remove_file(&hers).unwrap();
    fill(&w.path("state"));
    let child = w.begin(&[]);
    assert!(waits(&w).contains("full"));
    std::fs::remove_file(hers).unwrap();
    delivered_in_the_end(&w);
    stop(child);
}

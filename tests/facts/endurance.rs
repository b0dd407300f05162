//! Nothing is lost: the daemon killed, stopped, starved of disk, deaf to events.

use std::collections::BTreeSet;

use rustix::process::Signal;

use crate::workshop::{Workshop, decodes, photo, signal, small};

/// Each original exactly once by hash, each output once and whole, each decision one line.
fn is_whole(w: &Workshop, photos: &[Vec<u8>], at: &str) {
    let mut found = Vec::new();
    for folder in ["inbox", "held", "originals"] {
        for f in w.files(folder) {
            found.push(blake3::hash(
                &std::fs::read(w.path(folder).join(f)).unwrap(),
            ));
        }
    }
    let mut wanted: Vec<_> = photos.iter().map(|b| blake3::hash(b)).collect();
    let by_bytes = |h: &blake3::Hash| *h.as_bytes();
    found.sort_by_key(by_bytes);
    wanted.sort_by_key(by_bytes);
    assert_eq!(found, wanted, "originals after {at}");
    let ready = w.files("ready");
    assert_eq!(ready.len(), photos.len(), "outputs after {at}: {ready:?}");
    for f in &ready {
        let bytes = std::fs::read(w.path("ready").join(f)).unwrap();
        jpeg_decoder::Decoder::new(&bytes[..]).decode().unwrap();
    }
    let delivered = w.events("delivered");
    let sources: BTreeSet<String> = delivered.iter().map(|l| l["source"].to_string()).collect();
    assert_eq!(
        (delivered.len(), sources.len()),
        (photos.len(), photos.len()),
        "lines after {at}"
    );
    w.is_gapless();
}

fn two() -> [Vec<u8>; 2] {
    [photo("china", "1"), photo("flower", "2")]
}

#[test]
fn killed_at_every_disk_operation_nothing_is_lost_or_made_twice() {
    let photos = two();
    let mut points = 0;
    for n in 1.. {
        let w = Workshop::new();
        w.put("Mug/1.jpg", &photos[0]);
        w.put("Mug/2.jpg", &photos[1]);
        let clean = w.once_in_trouble(&format!("kill:{n}")).is_some();
        w.once();
        is_whole(&w, &photos, &format!("a kill at operation {n}"));
        if clean {
            break;
        }
        points = n;
    }
    assert!(points >= 15, "only {points} operations");
}

/// What is said to be delivered stands in `ready`, whole.
fn said_the_truth(w: &Workshop, at: &str) {
    for l in w.events("delivered") {
        let output = l["output"].as_str().unwrap();
        let bytes = std::fs::read(w.path("ready").join(output)).unwrap_or_default();
        assert!(decodes(&bytes), "{output} after {at}");
    }
}

/// Every operation and both errors: a fact of the model. Here the real program, also across file systems.
#[test]
fn the_program_goes_on_after_a_disk_that_failed_or_was_full_and_never_said_delivered_falsely() {
    let photos = [small(0, "1"), small(1, "2")];
    for n in 1..=24 {
        let w = Workshop::quick(&[]);
        let _apart = (n % 2 == 0).then(|| w.mount("originals", "size=8m"));
        let errno = ["eio", "enospc"][n / 2 % 2];
        w.put("Mug/1.jpg", &photos[0]);
        w.put("Mug/2.jpg", &photos[1]);
        w.once_in_trouble(&format!("{errno}:{n}"));
        let at = format!("{errno} at operation {n}");
        said_the_truth(&w, &at);
        w.once();
        is_whole(&w, &photos, &at);
    }
}

#[test]
fn the_daemon_delivers_what_is_dropped_while_it_runs_and_stops_on_a_signal() {
    let w = Workshop::new();
    let mut child = w.start(&[]);
    w.wait(|w| w.path("state/journal").exists());
    w.put("Mug/1.jpg", &photo("china", "1"));
    w.put("2.jpg", &photo("flower", "2"));
    w.wait(|w| w.events("delivered").len() == 2);
    let second = w.run(&["watch"]);
    assert_eq!(second.status.code(), Some(3));
    let words = String::from_utf8_lossy(&second.stderr).into_owned();
    assert!(words.contains(&child.id().to_string()), "{words}");
    signal(&child, Signal::TERM);
    assert_eq!(child.wait().unwrap().code(), Some(0));
    assert_eq!(w.events("stopped").len(), 1);
}

#[test]
fn without_any_event_everything_still_arrives() {
    let w = Workshop::new();
    let mut child = w.start(&[("STALLHAND_NO_EVENTS", "1")]);
    w.wait(|w| w.path("state/journal").exists());
    w.put("a/b/c/1.jpg", &photo("china", "1"));
    w.wait(|w| w.events("delivered").len() == 1);
    // The inbox goes away and comes back: absence concludes nothing.
    std::fs::rename(w.path("inbox"), w.path("inbox-away")).unwrap();
    std::thread::sleep(std::time::Duration::from_millis(1500));
    std::fs::create_dir(w.path("inbox")).unwrap();
    w.put("2.jpg", &photo("china", "2"));
    w.wait(|w| w.events("delivered").len() == 2);
    signal(&child, Signal::INT);
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

#[test]
fn a_slowly_growing_photo_is_never_taken_half() {
    use std::io::Write;
    let w = Workshop::new();
    let mut child = w.start(&[]);
    w.wait(|w| w.path("state/journal").exists());
    let bytes = photo("china", "");
    let mut file = std::fs::File::create(w.path("inbox/slow.jpg")).unwrap();
    for part in bytes.chunks(bytes.len() / 12 + 1) {
        file.write_all(part).unwrap();
        std::thread::sleep(std::time::Duration::from_millis(50));
    }
    drop(file);
    w.wait(|w| w.events("delivered").len() == 1);
    assert_eq!(
        w.events("delivered")[0]["blake3"],
        blake3::hash(&bytes).to_hex().as_str()
    );
    signal(&child, Signal::TERM);
    child.wait().unwrap();
}

#[test]
fn one_original_that_cannot_be_moved_keeps_no_other_photo_waiting() {
    let w = Workshop::new();
    let child = w.begin(&[]);
    // Where its folder is to be, something else is.
    std::fs::write(w.path("originals/Mug"), "hers").unwrap();
    w.put("Mug/1.jpg", &photo("china", "1"));
    w.wait(|w| w.status()["paused"].is_string());
    w.put("2.jpg", &photo("flower", "2"));
    w.wait(|w| w.files("originals") == ["2.jpg", "Mug"]);
    assert_eq!(w.files("inbox"), ["Mug/1.jpg"]);
    w.wait(|w| w.count("delivered") == 2);
    std::fs::remove_file(w.path("originals/Mug")).unwrap();
    w.wait(|w| w.files("originals") == ["2.jpg", "Mug/1.jpg"]);
    w.wait(|w| w.status()["paused"].is_null());
    signal(&child, Signal::TERM);
    let mut child = child;
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

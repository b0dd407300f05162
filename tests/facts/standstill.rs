//! The daemon stands still for seconds, as over a suspend: nothing is released early, nothing starves.

use std::io::Write;
use std::time::Duration;

use rustix::process::Signal;

use crate::workshop::{Workshop, signal, small};

fn wait(ms: u64) {
    std::thread::sleep(Duration::from_millis(ms));
}

#[test]
fn a_photo_half_copied_when_everything_stood_still_is_not_taken_on_waking() {
    let w = Workshop::quick(&[("settle", "400ms")]);
    let mut child = w.begin(&[]);
    // One that stands still as well, and one that grows meanwhile.
    let photos = [small(0, ""), small(1, "")];
    let parts = photos.each_ref().map(|p| p.chunks(p.len() / 9 + 1));
    let [mut still, mut grows] = parts.map(|p| p.collect::<Vec<_>>().into_iter());
    let open = |name: &str| std::fs::File::create(w.path("inbox").join(name)).unwrap();
    let mut files = [open("still.jpg"), open("grows.jpg")];
    for _ in 0..3 {
        files[0].write_all(still.next().unwrap()).unwrap();
        files[1].write_all(grows.next().unwrap()).unwrap();
    }
    wait(150);
    signal(&child, Signal::STOP);
    for _ in 0..3 {
        wait(800);
        files[1].write_all(grows.next().unwrap()).unwrap();
    }
    signal(&child, Signal::CONT);
    for part in still {
        files[0].write_all(part).unwrap();
        files[1]
            .write_all(grows.next().unwrap_or_default())
            .unwrap();
        wait(120);
    }
    drop(files);
    w.wait(|w| w.events("delivered").len() == 2);
    assert!(w.events("failed").is_empty(), "one was taken half");
    signal(&child, Signal::TERM);
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

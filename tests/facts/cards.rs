//! A whole card dropped in: what cameras write beside photos is passed over once, and their folders
//! are no listings.

use rustix::process::Signal;

use crate::workshop::{Workshop, photo, signal};

#[test]
fn a_whole_card_is_sorted_out_with_one_line_for_each_file_however_often_it_is_looked_through() {
    let w = Workshop::new();
    let left: [(&str, &[u8], &str); 9] = [
        ("DCIM/100ABCDE/MVI_2.MP4", b"\0\0\0\x18ftypisom", "video"),
        ("DCIM/100ABCDE/MVI_2.THM", &photo("flower", ""), "sidecar"),
        (
            "DCIM/100ABCDE/SND_3.WAV",
            b"RIFF\x24\0\0\0WAVEfmt ",
            "video",
        ),
        ("MISC/100ABCDE.CTG", &[0x7a; 64], "sidecar"),
        ("MISC/AUTPRINT.MRK", b"[HDR]\r\n", "sidecar"),
        ("Vase/DCIM/101ABCDE/IMG_4.XMP", b"<x:xmpmeta/>", "sidecar"),
        ("Vase/DCIM/101ABCDE/IMG_4.AAE", b"<?xml?>", "sidecar"),
        ("AVF_INFO/AVIN0001.BDM", b"INDX", "sidecar"),
        ("Catalogue/Candles.lrcat", b"SQLite format 3\0", "sidecar"),
    ];
    for (name, bytes, _) in left {
        w.put(name, bytes);
    }
    w.put("DCIM/100ABCDE/IMG_1.JPG", &photo("china", "1"));
    w.put("Vase/DCIM/101ABCDE/IMG_4.JPG", &photo("china", "2"));
    let mut child = w.start(&[]);
    w.wait(|w| w.files("originals").len() == 2 && w.events("ignored").len() == left.len());
    // Two looks more through the whole folder.
    std::thread::sleep(std::time::Duration::from_millis(2500));
    signal(&child, Signal::TERM);
    assert_eq!(child.wait().unwrap().code(), Some(0));
    w.once();
    w.was_passed_over(&left);
    assert_eq!(
        w.files("ready"),
        ["listing/img-1.jpg", "listing/vase/vase-01.jpg"]
    );
    assert_eq!(w.files("held"), [""; 0]);
}

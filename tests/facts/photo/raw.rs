//! Raw files: told from TIFF by what they hold, and read through the camera's own JPEG inside.

use stallhand::base::geometry::Size;
use stallhand::base::reason::Reason;
use stallhand::photo::sniff::{Format, Kind, format, kind};

use super::build::{PLAIN, Value, jpeg, tiff, with_exif};
use super::{corpus, open, refused};

const BIG: (u32, u32) = (1500, 1000);

fn picture(w: u32, h: u32) -> Vec<u8> {
    let mut rgb = vec![128u8; (w * h * 3) as usize];
    rgb[..3 * 64].fill(250);
    for y in 0..64 {
        let i = (y * w * 3) as usize;
        rgb[i..i + 3 * 64].fill(250);
    }
    jpeg(w, h, &rgb, PLAIN)
}

/// A raw file as cameras build them: a thumbnail in the first directory, sensor data and a preview
/// below it, EXIF beside.
fn raw(preview: Option<Vec<u8>>, hidden: Option<Vec<u8>>) -> Vec<u8> {
    let sensor = vec![
        (256, Value::Long(vec![3000])),
        (257, Value::Long(vec![2000])),
        (259, Value::Short(vec![7])),
        (262, Value::Short(vec![32_803])),
        // Sensor data are a JPEG of the lossless kind; it is no preview.
        (273, Value::Blob(lossless())),
        (279, Value::Long(vec![lossless().len() as u32])),
    ];
    let mut below = vec![sensor];
    if let Some(p) = preview {
        below.push(vec![
            (254, Value::Long(vec![1])),
            (259, Value::Short(vec![7])),
            (262, Value::Short(vec![6])),
            (279, Value::Long(vec![p.len() as u32])),
            (273, Value::Blob(p)),
        ]);
    }
    let thumb = picture(160, 120);
    let mut exif = vec![
        (0x9003, Value::Text("2026:03:01 09:30:00")),
        (0x9291, Value::Text("5")),
    ];
    if let Some(h) = hidden {
        exif.push((0x927c, Value::Bytes(h)));
    }
    tiff(&[
        (254, Value::Long(vec![1])),
        (0x0112, Value::Short(vec![6])),
        (330, Value::Several(below)),
        (514, Value::Long(vec![thumb.len() as u32])),
        (513, Value::Blob(thumb)),
        (0x8769, Value::Below(exif)),
    ])
}

fn lossless() -> Vec<u8> {
    let mut b = picture(2048, 64);
    let at = b.windows(2).position(|w| w == [0xff, 0xc0]).unwrap();
    b[at + 1] = 0xc3;
    b
}

#[test]
fn a_raw_file_is_read_through_its_largest_preview_turned_as_the_raw_file_says() {
    let hidden = picture(BIG.0, BIG.1);
    for bytes in [
        raw(Some(picture(BIG.0, BIG.1)), None),
        raw(None, Some(hidden.clone())),
        raw(Some(picture(640, 480)), Some(hidden)),
    ] {
        assert_eq!(format(&bytes), Some(Format::Raw));
        let photo = open(&bytes).unwrap();
        assert_eq!(photo.raster.size(), Size::new(BIG.1, BIG.0));
        assert!(photo.remarks.contains(&Reason::RawPreview));
        assert_eq!(
            photo.header.captured.as_deref(),
            Some("2026-03-01T09:30:00.5")
        );
        // Orientation 6: the stored top left corner lies at the top right.
        assert!(photo.raster.at(BIG.1 - 10, 10)[0] > 200);
    }
}

#[test]
fn a_preview_that_says_its_own_orientation_is_turned_once() {
    let own = tiff(&[(0x0112, Value::Short(vec![3]))]);
    let preview = with_exif(&picture(BIG.0, BIG.1), &own);
    let photo = open(&raw(Some(preview), None)).unwrap();
    assert_eq!(photo.header.orientation, 3);
    assert_eq!(photo.raster.size(), Size::new(BIG.0, BIG.1));
}

#[test]
fn a_raw_file_without_a_preview_of_enough_pixels_asks_for_a_jpeg() {
    let refusal = open(&raw(Some(picture(640, 480)), None)).err().unwrap();
    assert_eq!(refusal.reason, Reason::RawAlone);
    assert!(refusal.detail.contains("640x480"), "{refusal}");
    assert_eq!(
        refused(b"\0\0\0\x18ftypcrx \0\0\0\0crx isom"),
        Reason::RawAlone
    );
    assert_eq!(refused(b"FOVb\0\0\0\0nothing inside"), Reason::RawAlone);
}

#[test]
fn raw_files_with_headers_of_their_own_are_searched_too() {
    let inside = picture(BIG.0, BIG.1);
    for head in [
        b"\0\0\0\x18ftypcrx \0\0\0\0crx isom".as_slice(),
        b"IIRO\x08\0\0\0\0\0\0\0",
        b"IIU\0\x08\0\0\0\0\0\0\0",
        b"\0MRM\0\0\0\0",
    ] {
        let bytes = [head, &[7; 999], &inside, &[9; 500]].concat();
        assert_eq!(format(&bytes), Some(Format::Raw));
        let photo = open(&bytes).unwrap();
        assert_eq!(photo.raster.size(), Size::new(BIG.0, BIG.1));
    }
}

#[test]
fn a_tiff_from_an_editor_is_no_raw_file() {
    assert_eq!(format(&corpus("rgb.tif")), Some(Format::Tiff));
    assert_eq!(kind("mug.tif", &corpus("rgb.tif")), Kind::Photo);
    // Before the whole file is read, the name of a raw file decides that it may wait for its twin.
    assert_eq!(kind("mug.NEF", &corpus("rgb.tif")[..64]), Kind::Raw);
}

#[test]
fn a_cut_raw_file_is_not_delivered_from_half_a_preview() {
    let whole = raw(None, Some(picture(BIG.0, BIG.1)));
    let begins = whole
        .windows(3)
        .rposition(|w| w == [0xff, 0xd8, 0xff])
        .unwrap();
    for cut in (begins + 1000..whole.len() - 200).step_by(whole.len() / 50) {
        let reason = refused(&whole[..cut]);
        assert!(
            matches!(reason, Reason::Undecodable | Reason::RawAlone),
            "{reason}"
        );
    }
}

//! Facts about the demonstration's sample photos: they are what a camera would have left.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use stallhand::command::demo::photos::{PIXELS, counts, photos};
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::bytestream::ZCursor;
use zune_jpeg::zune_core::options::DecoderOptions;

fn strictly(bytes: &[u8]) -> Option<(usize, usize)> {
    let options = DecoderOptions::default().set_strict_mode(true);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    decoder.decode().ok()?;
    decoder.dimensions()
}

#[test]
fn the_sample_photos_are_camera_sized_and_tagged_but_for_the_ones_that_are_meant_to_be_odd() {
    let started = std::time::Instant::now();
    let all: Vec<(PathBuf, Vec<u8>)> = photos().collect();
    eprintln!("{} photos in {:?}", all.len(), started.elapsed());
    assert_eq!(all.len(), counts().0);
    let mut by_content: BTreeMap<&[u8], Vec<&Path>> = BTreeMap::new();
    let (mut small, mut damaged) = (Vec::new(), Vec::new());
    for (path, bytes) in &all {
        by_content.entry(bytes).or_default().push(path);
        let exif = exif::Reader::new()
            .read_from_container(&mut std::io::Cursor::new(bytes))
            .unwrap();
        let has = |tag| exif.get_field(tag, exif::In::PRIMARY).is_some();
        assert!(has(exif::Tag::DateTimeOriginal) && has(exif::Tag::GPSLatitude));
        match strictly(bytes) {
            None => damaged.push(path),
            Some((w, h)) if ((w * h) as u64) < PIXELS => small.push(path),
            Some(_) => {}
        }
    }
    assert_eq!(damaged, [Path::new("Mugs/IMG_0414.JPG")]);
    assert_eq!(small, [Path::new("Candle in glass/from a message.jpg")]);
    let twice: Vec<_> = by_content.values().filter(|v| v.len() > 1).collect();
    assert_eq!(twice.len(), 1);
}

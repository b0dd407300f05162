//! Fuzzes EXIF: the bytes are the EXIF of a photo that is whole, which must be delivered whatever
//! they are.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stallhand::config::profile::Limits;
use stallhand::photo;

const JPEG: &[u8] = include_bytes!("../../facts/corpus/grey.jpg");

fuzz_target!(|exif: &[u8]| {
    let exif = &exif[..exif.len().min(65_000)];
    let mut bytes = JPEG[..2].to_vec();
    bytes.extend([0xff, 0xe1]);
    bytes.extend((exif.len() as u16 + 8).to_be_bytes());
    bytes.extend(b"Exif\0\0");
    bytes.extend(exif);
    bytes.extend(&JPEG[2..]);
    let photo = photo::open(&bytes, &Limits::default(), [255; 3], "_1").expect("the photo is whole");
    assert!((1..=8).contains(&photo.header.orientation));
});

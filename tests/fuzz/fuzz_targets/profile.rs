//! Fuzzes colour profiles: the bytes are the embedded profile of a photo that is whole, which must be
//! delivered whatever they are.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stallhand::config::profile::Limits;
use stallhand::photo;

const JPEG: &[u8] = include_bytes!("../../facts/corpus/rgb.jpg");

fuzz_target!(|icc: &[u8]| {
    let icc = &icc[..icc.len().min(65_000)];
    let mut bytes = JPEG[..2].to_vec();
    bytes.extend([0xff, 0xe2]);
    bytes.extend((icc.len() as u16 + 16).to_be_bytes());
    bytes.extend(b"ICC_PROFILE\0\x01\x01");
    bytes.extend(icc);
    bytes.extend(&JPEG[2..]);
    let photo = photo::open(&bytes, &Limits::default(), [255; 3], "").expect("the photo is whole");
    let mut pixels = photo.raster.clone();
    photo.to_srgb(&mut pixels);
});

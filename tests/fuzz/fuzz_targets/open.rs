//! Fuzzes the whole reading of a photo: any bytes are taken or refused, and the header alone tells
//! the same as the whole.
#![no_main]

use libfuzzer_sys::fuzz_target;
use stallhand::config::profile::Limits;
use stallhand::photo;

fuzz_target!(|bytes: &[u8]| {
    let limits = Limits {
        pixels: 4_000_000,
        ..Limits::default()
    };
    photo::sniff::kind("_photo", bytes);
    if let Ok(photo) = photo::open(bytes, &limits, [255; 3], "_photo") {
        let header = photo::survey(bytes, &limits).expect("what opens can be surveyed");
        assert_eq!(header, photo.header);
        assert_eq!(header.size, photo.raster.size());
    }
});

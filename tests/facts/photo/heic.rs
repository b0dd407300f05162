//! HEIC files against libheif 1.23 with libde265 1.1, which decoded the references of the corpus.

use stallhand::base::geometry::Size;
use stallhand::base::reason::Reason;

use super::{H, W, assert_near, corpus, difference, open, reference, refused, scene};

#[test]
fn full_colour_files_are_read_as_an_independent_decoder_reads_them() {
    for name in [
        "444.heic",
        "limited-709.heic",
        "p3.heic",
        "profile.heic",
        "grey.heic",
        "alpha.heic",
        "ten-bit.heic",
    ] {
        let photo = open(&corpus(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(photo.raster.size(), Size::new(W, H));
        assert_near(
            name,
            &photo.raster,
            &reference(&format!("{name}.ref.png")),
            0.6,
            3,
        );
    }
    // Half the colour samples: libheif repeats each, ours fills in between, so edges differ; on the
    // whole ours must be about as close to the scene that was put in.
    let photo = open(&corpus("420.heic")).unwrap();
    let theirs = reference("420.heic.ref.png");
    assert_near("420.heic", &photo.raster, &theirs, 2.0, 96);
    let ours = difference(photo.raster.pixels(), &scene()).0;
    assert!(ours <= difference(&theirs, &scene()).0 + 0.4, "{ours}");
}

#[test]
fn colours_come_from_the_profile_or_the_code_points() {
    for (name, colour) in [
        ("444.heic", "sRGB"),
        ("p3.heic", "Display P3"),
        ("profile.heic", "our table RGB"),
    ] {
        let photo = open(&corpus(name)).unwrap();
        assert_eq!(photo.colour, colour, "{name}");
        assert_eq!(photo.is_srgb(), colour == "sRGB");
    }
    let refusal = open(&corpus("hdr.heic")).err().unwrap();
    assert_eq!(refusal.reason, Reason::Unsupported);
    assert!(refusal.detail.contains("dynamic range"), "{refusal}");
}

#[test]
fn without_code_points_in_the_container_those_of_the_stream_count() {
    // x265 writes them there as well (ITU-T H.265, annex E).
    for name in ["p3.heic", "hdr.heic"] {
        let mut bytes = corpus(name);
        let at = bytes.windows(4).position(|w| w == b"nclx").unwrap();
        bytes[at - 4..at].copy_from_slice(b"skip");
        match open(&bytes) {
            Ok(photo) => assert_eq!((name, photo.colour.as_str()), ("p3.heic", "Display P3")),
            Err(r) => assert_eq!((name, r.reason), ("hdr.heic", Reason::Unsupported)),
        }
    }
}

#[test]
fn a_heic_cut_at_any_place_is_refused() {
    for name in ["444.heic", "exif-turned.heic", "alpha.heic"] {
        let whole = corpus(name);
        for cut in (12..whole.len()).step_by(7) {
            assert_eq!(
                refused(&whole[..cut]),
                Reason::Undecodable,
                "{name} cut at {cut}"
            );
        }
    }
}

#[test]
fn the_containers_turn_counts_and_exif_is_not_applied_on_top() {
    let photo = open(&corpus("exif-turned.heic")).unwrap();
    let expected = reference("exif-turned.heic.ref.png");
    let turned = Size::new(H, W);
    assert_eq!(photo.raster.size(), turned);
    assert_near("exif-turned.heic", &photo.raster, &expected, 0.6, 3);
    assert_eq!(
        photo.header.captured.as_deref(),
        Some("2026-03-01T09:30:00.25")
    );
    assert_eq!(photo.header.orientation, 1);
    // The file's EXIF says 6 as well. With the container's turn taken out, that alone counts.
    let mut bytes = corpus("exif-turned.heic");
    let at = bytes.windows(4).position(|w| w == b"irot").unwrap();
    bytes[at..at + 4].copy_from_slice(b"skip");
    let by_exif = open(&bytes).unwrap();
    assert_eq!(by_exif.header.orientation, 6);
    assert_eq!(by_exif.raster, photo.raster);
}

#[test]
fn a_picture_of_tiles_is_put_together() {
    // Encoded by heifer in tiles of 512 px, as phones write them; the scene is what went in.
    let (w, h) = (700, 540);
    let rgb = super::scene_of(w, h);
    let options = heifer::EncodeOptions {
        quality: 95,
        ..Default::default()
    };
    let bytes = heifer::encode_rgb8(w, h, &rgb, &options).unwrap();
    let photo = open(&bytes).unwrap();
    assert_eq!(photo.raster.size(), Size::new(w, h));
    assert_near("tiles", &photo.raster, &rgb, 2.0, 80);
}

//! AVIF files against libaom 3.6 through libavif 0.11, which decoded the references of the corpus.

use stallhand::base::geometry::Size;
use stallhand::base::reason::Reason;
use stallhand::config::profile::Limits;
use stallhand::photo::raster::Raster;
use stallhand::photo::{self, Photo};

use super::{H, W, assert_near, corpus, difference, open, reference, refused, scene, scene_of};

fn taken(name: &str) -> Photo {
    open(&corpus(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
}

#[test]
fn avif_files_of_every_layout_are_read_as_an_independent_decoder_reads_them() {
    let lossless = taken("lossless.avif");
    assert_near("lossless.avif", &lossless.raster, &scene(), 0.0, 0);
    // Those whose colours are not sRGB are compared before they are converted, but for the ones of
    // more than 8 bits, which are all sRGB.
    for (name, mean, most) in [
        ("444.avif", 0.5, 2),
        ("422.avif", 0.5, 2),
        ("420.avif", 0.5, 2),
        ("grey.avif", 0.5, 1),
        ("limited-709.avif", 0.5, 2),
        ("p3.avif", 0.5, 2),
        ("derived.avif", 0.5, 2),
        ("ycgco.avif", 0.5, 2),
        ("profile.avif", 0.5, 2),
        ("grain.avif", 0.5, 2),
        ("ten-bit.avif", 0.5, 1),
        ("ten-bit-420.avif", 0.5, 1),
        ("twelve-bit.avif", 0.5, 1),
        ("alpha.avif", 0.6, 3),
    ] {
        let photo = taken(name);
        assert_eq!(photo.header.format, "AVIF");
        assert_eq!(photo.raster.size(), Size::new(W, H), "{name}");
        let theirs = reference(&format!("{name}.ref.png"));
        assert_near(name, &photo.raster, &theirs, mean, most);
    }
    // Multiplied by a small alpha, colours have lost their precision, and they are laid on white.
    let photo = taken("alpha-multiplied.avif");
    let theirs = reference("alpha-multiplied.avif.ref.png");
    assert_near("alpha-multiplied.avif", &photo.raster, &theirs, 0.6, 3);
    // The two kinds show the same scene.
    let (mean, _) = difference(photo.raster.pixels(), taken("alpha.avif").raster.pixels());
    assert!(mean < 2.0, "{mean}");
}

#[test]
fn tiles_of_an_avif_are_put_together_without_a_seam() {
    let photo = taken("tiles.avif");
    assert_eq!(photo.raster.size(), Size::new(192, 128));
    let theirs = reference("tiles.avif.ref.png");
    assert_near("tiles.avif", &photo.raster, &theirs, 0.5, 2);
    let (mean, _) = difference(photo.raster.pixels(), &scene_of(192, 128));
    assert!(mean < 2.5, "{mean}");
}

#[test]
fn colours_of_an_avif_come_from_the_profile_or_the_code_points() {
    for (name, colour) in [
        ("444.avif", "sRGB"),
        ("p3.avif", "Display P3"),
        ("profile.avif", "our table RGB"),
    ] {
        let photo = taken(name);
        assert_eq!(photo.colour, colour, "{name}");
        assert_eq!(photo.is_srgb(), colour == "sRGB");
    }
    let refusal = open(&corpus("hdr.avif")).err().unwrap();
    assert_eq!(refusal.reason, Reason::Unsupported);
    assert!(refusal.detail.contains("dynamic range"), "{refusal}");
    // Without the container's code points the stream's own count: the same picture.
    let mut bytes = corpus("p3.avif");
    let at = bytes.windows(4).position(|w| w == b"nclx").unwrap();
    bytes[at - 4..at].copy_from_slice(b"skip");
    let by_stream = open(&bytes).unwrap();
    assert_eq!(by_stream.colour, "Display P3");
    assert_eq!(by_stream.raster, taken("p3.avif").raster);
}

/// Turned against the clock by quarters, then mirrored (ISO/IEC 23008-12, 6.5.10 and 6.5.12).
fn turned(r: &Raster, quarters: u8, axis: Option<u8>) -> (Size, Vec<u8>) {
    let size = r.size();
    let mut rows: Vec<Vec<[u8; 3]>> = (0..size.h)
        .map(|y| (0..size.w).map(|x| r.at(x, y)).collect())
        .collect();
    for _ in 0..quarters {
        let w = rows[0].len();
        // The last column becomes the first row.
        rows = (0..w)
            .rev()
            .map(|x| rows.iter().map(|row| row[x]).collect())
            .collect();
    }
    match axis {
        Some(0) => rows.reverse(),
        Some(_) => rows.iter_mut().for_each(|r| r.reverse()),
        None => {}
    }
    let size = Size::new(rows[0].len() as u32, rows.len() as u32);
    (size, rows.concat().concat())
}

#[test]
fn every_turn_and_mirror_of_the_container_is_undone() {
    let upright = Raster::new(Size::new(24, 16), scene_of(24, 16));
    for quarters in 0..4 {
        for axis in [None, Some(0), Some(1)] {
            let mirror = axis.map_or(String::new(), |a| format!("-mirror-{a}"));
            let name = format!("turn-{quarters}{mirror}.avif");
            let photo = taken(&name);
            let (size, pixels) = turned(&upright, quarters, axis);
            assert_eq!(photo.raster.size(), size, "{name}");
            assert!(photo.raster.pixels() == pixels, "{name}");
        }
    }
}

#[test]
fn the_containers_turn_of_an_avif_counts_before_exif_and_never_both() {
    let photo = taken("exif-turned.avif");
    let time = photo.header.captured.as_deref();
    assert_eq!(time, Some("2026-03-01T09:30:00.25"));
    // EXIF says 6, a turn to the right; the container as well, or EXIF counts alone.
    let upright = Raster::new(Size::new(W, H), scene());
    let (size, pixels) = turned(&upright, 3, None);
    assert_eq!(photo.raster.size(), size);
    assert!(photo.raster.pixels() == pixels);
}

#[test]
fn the_part_of_an_avif_that_is_to_be_shown_is_cut_out() {
    let photo = taken("cropped.avif");
    assert_eq!(photo.raster.size(), Size::new(40, 32));
    let whole = scene();
    let part: Vec<u8> = (8..40)
        .flat_map(|y| whole[(y * W as usize + 8) * 3..][..40 * 3].to_vec())
        .collect();
    assert_near("cropped.avif", &photo.raster, &part, 2.0, 24);
}

#[test]
fn an_avif_sequence_is_held_as_a_moving_picture() {
    assert_eq!(refused(&corpus("sequence.avif")), Reason::Animated);
}

#[test]
fn an_avif_cut_at_any_place_or_of_another_size_than_stated_is_refused() {
    for name in ["444.avif", "alpha.avif", "tiles.avif"] {
        let whole = corpus(name);
        for cut in (12..whole.len()).step_by(7) {
            let reason = refused(&whole[..cut]);
            assert_eq!(reason, Reason::Undecodable, "{name} cut at {cut}");
        }
    }
    let mut bytes = corpus("444.avif");
    let at = bytes.windows(4).position(|w| w == b"ispe").unwrap() + 8;
    bytes[at + 3] = 95;
    assert_eq!(refused(&bytes), Reason::Undecodable);
    // A property that must be understood and is not.
    let mut bytes = corpus("cropped.avif");
    let at = bytes.windows(4).position(|w| w == b"clap").unwrap();
    bytes[at..at + 4].copy_from_slice(b"lsel");
    assert_eq!(refused(&bytes), Reason::Unsupported);
}

#[test]
fn an_avif_of_more_pixels_than_the_limit_is_refused_before_it_is_decoded() {
    let limits = Limits {
        pixels: 1000,
        ..Limits::default()
    };
    let refusal = photo::survey(&corpus("444.avif"), &limits).unwrap_err();
    assert_eq!(refusal.reason, Reason::TooLarge);
    // The stream may not be larger than the container says either.
    let mut bytes = corpus("444.avif");
    let at = bytes.windows(4).position(|w| w == b"ispe").unwrap() + 8;
    bytes[at..at + 8].copy_from_slice(&[0, 0, 0, 8, 0, 0, 0, 8]);
    assert_eq!(refused(&bytes), Reason::Undecodable);
}

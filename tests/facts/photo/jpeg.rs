//! JPEG files as cameras, phones and editors write them, whole and broken.

use stallhand::base::geometry::Size;
use stallhand::base::reason::Reason;

use super::build::{PLAIN, Value, Way, jpeg, segment, tiff, with_exif, with_segments};
use super::{H, W, assert_near, corpus, difference, open, open_as, refused, scene, scene_of};

const EOI: [u8; 2] = [0xff, 0xd9];

/// What `jpeg-decoder`, a decoder independent of ours, makes of a file.
fn independently(bytes: &[u8]) -> Vec<u8> {
    let mut decoder = jpeg_decoder::Decoder::new(bytes);
    let pixels = decoder.decode().unwrap();
    match decoder.info().unwrap().pixel_format {
        jpeg_decoder::PixelFormat::RGB24 => pixels,
        jpeg_decoder::PixelFormat::L8 => pixels.iter().flat_map(|v| [*v; 3]).collect(),
        other => panic!("{other:?}"),
    }
}

#[test]
fn every_way_of_coding_gives_the_pixels_that_an_independent_decoder_gives() {
    // Reference: the crate jpeg-decoder. Both decoders interpolate colour between samples in ways
    // of their own, so subsampled files may differ by more at edges.
    for (w, h) in [(96, 64), (97, 61), (17, 33), (8, 8), (1, 1), (15, 2)] {
        let rgb = scene_of(w.max(2), h.max(2));
        let rgb = &rgb[..(w * h * 3) as usize];
        for chroma in [
            (1, 1),
            (2, 1),
            (1, 2),
            (2, 2),
            (4, 1),
            (1, 4),
            (4, 2),
            (2, 4),
        ] {
            for progressive in [false, true] {
                let bytes = jpeg(
                    w,
                    h,
                    rgb,
                    Way {
                        progressive,
                        chroma,
                    },
                );
                let photo = open(&bytes).unwrap();
                assert_eq!(photo.raster.size(), Size::new(w, h));
                assert!(photo.remarks.is_empty());
                let name = format!("{w}x{h} {chroma:?} progressive {progressive}");
                assert_near(&name, &photo.raster, &independently(&bytes), 0.6, 6);
            }
        }
    }
}

#[test]
fn restart_markers_grey_and_unconverted_rgb_are_read() {
    for name in ["restart.jpg", "restart-progressive.jpg", "grey.jpg"] {
        let bytes = corpus(name);
        let photo = open(&bytes).unwrap();
        assert_near(name, &photo.raster, &independently(&bytes), 0.6, 6);
    }
    // Stored as red, green and blue; what it shows is known.
    let photo = open(&corpus("rgb.jpg")).unwrap();
    assert_near("rgb.jpg", &photo.raster, &scene(), 1.5, 30);
}

#[test]
fn a_jpeg_cut_at_any_place_is_refused_as_damaged() {
    let rgb = scene_of(150, 110);
    for progressive in [false, true] {
        for chroma in [(1, 1), (2, 2)] {
            let whole = jpeg(
                150,
                110,
                &rgb,
                Way {
                    progressive,
                    chroma,
                },
            );
            for cut in 3..whole.len() - 2 {
                let cut_file = &whole[..cut];
                // A decoder that meets an end marker early fills the rest in; a repaired end must
                // not hide the hole either.
                for bytes in [cut_file.to_vec(), [cut_file, &EOI].concat()] {
                    match open(&bytes) {
                        Err(r) => assert_eq!(r.reason, Reason::Undecodable, "cut at {cut}: {r}"),
                        // The last byte may hold nothing but padding.
                        Ok(p) => {
                            assert!(cut + 1 >= whole.len() - 2, "cut at {cut} was taken");
                            let all = open(&whole).unwrap();
                            assert_eq!(difference(p.raster.pixels(), all.raster.pixels()).1, 0);
                        }
                    }
                }
            }
        }
    }
}

#[test]
fn a_jpeg_whose_end_mark_alone_is_missing_is_delivered_with_a_remark() {
    for progressive in [false, true] {
        let whole = jpeg(
            150,
            110,
            &scene_of(150, 110),
            Way {
                progressive,
                ..PLAIN
            },
        );
        let photo = open(&whole[..whole.len() - 2]).unwrap();
        assert_eq!(photo.remarks, [Reason::EndMissing]);
        assert_eq!(photo.raster, open(&whole).unwrap().raster);
    }
}

#[test]
fn a_copy_that_was_given_its_size_before_its_data_is_refused() {
    let whole = jpeg(150, 110, &scene_of(150, 110), PLAIN);
    for keep in [whole.len() / 2, whole.len() - 40] {
        let mut bytes = whole.clone();
        bytes[keep..].fill(0);
        assert_eq!(refused(&bytes), Reason::Undecodable, "filled from {keep}");
        let n = bytes.len();
        bytes[n - 2..].copy_from_slice(&EOI);
        assert_eq!(
            refused(&bytes),
            Reason::Undecodable,
            "filled from {keep}, ended"
        );
    }
}

#[test]
fn what_lies_around_the_picture_does_not_matter() {
    let plain = jpeg(W, H, &scene(), PLAIN);
    let expected = open(&plain).unwrap().raster;
    let trailing = [
        plain.as_slice(),
        &[0; 5000],
        b"trailing",
        &[0xff, 0xd8, 0xff],
    ]
    .concat();
    // Multi-picture and gain-map files: an index in APP2, further pictures after the first's end.
    let small = jpeg(W / 2, H / 2, &scene_of(W / 2, H / 2), PLAIN);
    let many = with_segments(
        &[plain.as_slice(), &small, &small].concat(),
        &[
            segment(0xe2, b"MPF\0II*\0\x08\0\0\0\0\0\0\0\0\0"),
            segment(0xe2, b"urn:iso:std:iso:ts:21496:-1\0\0\0\0\0"),
            segment(0xe1, b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta/>"),
            segment(0xe1, b"http://ns.adobe.com/xmp/extension/\0short"),
            segment(0xed, b"Photoshop 3.0\x008BIM"),
            segment(0xfe, b"a comment"),
            segment(0xef, &[0; 60_000]),
        ],
    );
    let stuffed = with_segments(&plain, &[vec![0xff; 7], segment(0xe5, &[0xff, 0xd9])]);
    for bytes in [trailing, many, stuffed] {
        let photo = open(&bytes).unwrap();
        assert_eq!(photo.raster, expected);
        assert!(photo.remarks.is_empty());
    }
}

#[test]
fn what_cannot_be_read_is_refused_in_words() {
    let plain = jpeg(W, H, &scene(), PLAIN);
    let frame = plain.windows(2).position(|w| w == [0xff, 0xc0]).unwrap();
    let patched = |offset: usize, value: u8| {
        let mut b = plain.clone();
        b[frame + offset] = value;
        open(&b).err().expect("refused")
    };
    for (offset, value, words) in [
        (1, 0xc9, "arithmetic"),
        (1, 0xca, "arithmetic"),
        (1, 0xc3, "lossless"),
        (1, 0xc5, "hierarchical"),
        (4, 12, "8 bits"),
    ] {
        let refusal = patched(offset, value);
        assert_eq!(refusal.reason, Reason::Unsupported);
        assert!(refusal.detail.contains(words), "{refusal}");
    }
}

#[test]
fn all_eight_exif_orientations_are_undone() {
    // Meaning of the values: CIPA DC-008 (EXIF), tag 0x0112. Where row 0 and column 0 of the stored
    // picture lie in the upright one decides where the stored top left corner comes to lie.
    let (w, h) = (48, 32);
    let mut rgb = vec![30u8; (w * h * 3) as usize];
    for y in 0..8 {
        for x in 0..8 {
            let i = ((y * w + x) * 3) as usize;
            rgb[i..i + 3].copy_from_slice(&[250, 250, 250]);
        }
    }
    let plain = jpeg(
        w,
        h,
        &rgb,
        Way {
            chroma: (1, 1),
            ..PLAIN
        },
    );
    let corners = ["tl", "tr", "br", "bl", "tl", "tr", "br", "bl"];
    for (i, corner) in corners.iter().enumerate() {
        let o = i as u16 + 1;
        let exif = tiff(&[(0x0112, Value::Short(vec![o]))]);
        let photo = open(&with_exif(&plain, &exif)).unwrap();
        let size = photo.raster.size();
        let expected = if o < 5 {
            Size::new(w, h)
        } else {
            Size::new(h, w)
        };
        assert_eq!(size, expected, "orientation {o}");
        assert_eq!(u16::from(photo.header.orientation), o);
        let x = if corner.ends_with('l') { 2 } else { size.w - 3 };
        let y = if corner.starts_with('t') {
            2
        } else {
            size.h - 3
        };
        assert!(photo.raster.at(x, y)[0] > 200, "orientation {o}");
        assert!(
            photo.raster.at(size.w - 1 - x, y)[0] < 80,
            "orientation {o}"
        );
        assert!(
            photo.raster.at(x, size.h - 1 - y)[0] < 80,
            "orientation {o}"
        );
    }
    for o in [0, 9, 200] {
        let exif = tiff(&[(0x0112, Value::Short(vec![o]))]);
        assert_eq!(
            open(&with_exif(&plain, &exif)).unwrap().header.orientation,
            1
        );
    }
}

#[test]
fn her_turn_goes_clockwise_after_exif() {
    let plain = jpeg(W, H, &scene(), PLAIN);
    let straight = open(&plain).unwrap();
    let mut photo = open(&plain).unwrap();
    photo.turn(90);
    assert_eq!(photo.raster.size(), Size::new(H, W));
    assert_eq!(photo.header.size, Size::new(H, W));
    // The top left corner goes to the top right.
    assert_eq!(photo.raster.at(H - 1, 0), straight.raster.at(0, 0));
    photo.turn(270);
    assert_eq!(photo.raster, straight.raster);
    photo.turn(180);
    assert_eq!(photo.raster.at(W - 1, H - 1), straight.raster.at(0, 0));
    photo.turn(45);
    assert_eq!(photo.raster.at(W - 1, H - 1), straight.raster.at(0, 0));
}

#[test]
fn exif_is_read_as_an_independent_reader_reads_it() {
    // Reference: the crate kamadak-exif.
    let exif = tiff(&[
        (0x0112, Value::Short(vec![6])),
        (0x0132, Value::Text("2026:05:05 05:05:05")),
        (
            0x8769,
            Value::Below(vec![
                (0x9003, Value::Text("2026:03:01 09:30:00")),
                (0x9291, Value::Text("125")),
                (0xa001, Value::Short(vec![0xffff])),
                (0xa005, Value::Below(vec![(1, Value::Text("R03"))])),
            ]),
        ),
    ]);
    let fields = exif::Reader::new().read_raw(exif.clone()).unwrap();
    let text = |tag| {
        let f = fields.get_field(tag, exif::In::PRIMARY).unwrap();
        f.display_value().to_string()
    };
    assert_eq!(text(exif::Tag::DateTimeOriginal), "2026-03-01 09:30:00");
    assert_eq!(text(exif::Tag::SubSecTimeOriginal).trim_matches('"'), "125");
    assert!(text(exif::Tag::InteroperabilityIndex).contains("R03"));
    let photo = open(&with_exif(&jpeg(W, H, &scene(), PLAIN), &exif)).unwrap();
    assert_eq!(
        photo.header.captured.as_deref(),
        Some("2026-03-01T09:30:00.125")
    );
    assert_eq!(photo.header.orientation, 6);
    assert_eq!(photo.colour, "Adobe RGB");
}

#[test]
fn cameras_that_name_adobe_rgb_by_index_or_file_name_are_understood() {
    let plain = jpeg(W, H, &scene(), PLAIN);
    let with = |space: u16, index: &'static str| {
        let exif = tiff(&[(
            0x8769,
            Value::Below(vec![
                (0xa001, Value::Short(vec![space])),
                (0xa005, Value::Below(vec![(1, Value::Text(index))])),
            ]),
        )]);
        with_exif(&plain, &exif)
    };
    let colour = |bytes: &[u8], name: &str| open_as(bytes, name).unwrap().colour;
    assert_eq!(colour(&with(0xffff, "R03"), "IMG_1.JPG"), "Adobe RGB");
    // DCF 2.0 (CIPA DC-009): the file name of the optional colour space begins with an underscore.
    assert_eq!(colour(&with(0xffff, "R98"), "_MG_0001.JPG"), "Adobe RGB");
    assert_eq!(colour(&with(0xffff, "R98"), "IMG_0001.JPG"), "sRGB");
    assert_eq!(colour(&with(1, "R98"), "_MG_0001.JPG"), "sRGB");
    assert_eq!(colour(&with(1, "R03"), "IMG_0001.JPG"), "sRGB");
    assert_eq!(colour(&plain, "_MG_0001.JPG"), "sRGB");
}

#[test]
fn printing_colours_without_a_profile_are_read_by_the_plain_formula_with_a_remark() {
    // Light that is left = (1 - ink) x (1 - black); the ink of the corpus is 255 less the scene, and
    // black is 40 of 255.
    let expected: Vec<u8> = scene()
        .iter()
        .map(|v| (f64::from(*v) * (215.0 / 255.0)).round() as u8)
        .collect();
    let bytes = corpus("cmyk.jpg");
    let photo = open(&bytes).unwrap();
    assert_eq!(photo.remarks, [Reason::PlainCmyk]);
    assert_near("cmyk.jpg", &photo.raster, &expected, 1.5, 24);
    let ycck = open(&ycck(&expected)).unwrap();
    assert_eq!(ycck.remarks, [Reason::PlainCmyk]);
    assert_near("ycck", &ycck.raster, &expected, 2.0, 72);
    // Without the APP14 segment the same numbers are amounts of ink, not their inverse.
    let at = bytes.windows(5).position(|w| w == b"Adobe").unwrap() - 4;
    let bare = [&bytes[..at], &bytes[at + 16..]].concat();
    let photo = open(&bare).unwrap();
    let inverse = photo.raster.at(40, 30);
    assert_ne!(inverse, ycck.raster.at(40, 30));
}

/// A YCCK file by an encoder that inverts nothing itself: the samples handed over are what is stored.
fn ycck(light: &[u8]) -> Vec<u8> {
    let mut c = mozjpeg::Compress::new(mozjpeg::ColorSpace::JCS_CMYK);
    c.set_size(W as usize, H as usize);
    c.set_quality(95.0);
    c.set_color_space(mozjpeg::ColorSpace::JCS_YCCK);
    let stored: Vec<u8> = light
        .chunks_exact(3)
        .flat_map(|p| [p[0], p[1], p[2], 255])
        .collect();
    let mut c = c.start_compress(Vec::new()).unwrap();
    c.write_scanlines(&stored).unwrap();
    c.finish().unwrap()
}

#[test]
fn two_real_photographs_are_read_as_an_independent_decoder_reads_them() {
    for name in ["china.jpg", "flower.jpg"] {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/facts/real/");
        let bytes = std::fs::read(format!("{path}{name}")).unwrap();
        let photo = open(&bytes).unwrap();
        assert_near(name, &photo.raster, &independently(&bytes), 0.6, 8);
        for cut in (1000..bytes.len() - 3).step_by(9973) {
            assert_eq!(refused(&bytes[..cut]), Reason::Undecodable);
        }
    }
}

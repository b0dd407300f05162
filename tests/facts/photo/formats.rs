//! PNG, WebP, TIFF and BMP in their variants, each against the scene that was put in.

use stallhand::base::geometry::Size;
use stallhand::base::reason::Reason;
use stallhand::config::profile::Limits;
use stallhand::photo;

use super::{H, W, assert_near, corpus, open, reference, refused, scene, scene_of};

/// The scene's green channel as grey.
fn grey() -> Vec<u8> {
    scene().chunks_exact(3).flat_map(|p| [p[1]; 3]).collect()
}

/// The scene fading from white at the left to itself at the right.
fn faded(scene: &[u8]) -> Vec<u8> {
    let alpha = |x: usize| (x as f64 * 255.0 / f64::from(W - 1)).round() / 255.0;
    let pixels = scene.chunks_exact(3).enumerate();
    pixels
        .flat_map(|(i, p)| {
            let a = alpha(i % W as usize);
            [p[0], p[1], p[2]].map(|v| (f64::from(v) * a + 255.0 * (1.0 - a)).round() as u8)
        })
        .collect()
}

#[test]
fn lossless_files_of_every_layout_show_the_scene_exactly() {
    for name in [
        "rgb.png",
        "interlaced.png",
        "rgb-16.png",
        "lossless.webp",
        "rgb.tif",
        "rgb-big-endian.tif",
        "rgb-16-deflate.tif",
        "rgb-16-big-endian.tif",
        "lzw.tif",
        "packbits.tif",
        "tiled.tif",
        "planar.tif",
        "small-page-first.tif",
        "rgb.bmp",
    ] {
        let photo = open(&corpus(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(photo.raster.size(), Size::new(W, H), "{name}");
        // Sixteen bits are rounded once more on the way.
        let most = u8::from(name.contains("16"));
        assert_near(name, &photo.raster, &scene(), f64::from(most), most);
        assert!(photo.remarks.is_empty() && photo.is_srgb(), "{name}");
    }
    for name in [
        "grey.png",
        "grey-16.png",
        "grey.tif",
        "grey-white-is-zero.tif",
    ] {
        let photo = open(&corpus(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_near(name, &photo.raster, &grey(), 1.0, 1);
    }
}

#[test]
fn transparency_is_laid_on_the_backdrop_in_every_format() {
    for name in [
        "rgba.png",
        "lossless-alpha.webp",
        "rgba.tif",
        "rgba-associated.tif",
    ] {
        let photo = open(&corpus(name)).unwrap();
        // Colours that were multiplied by a small alpha have lost their precision.
        assert_near(name, &photo.raster, &faded(&scene()), 0.5, 2);
    }
    let photo = open(&corpus("grey-alpha.png")).unwrap();
    assert_near("grey-alpha.png", &photo.raster, &faded(&grey()), 0.5, 2);
    let limits = Limits::default();
    let red = photo::open(&corpus("rgba.png"), &limits, [200, 10, 30], "").unwrap();
    assert_eq!(red.raster.at(0, 40), [200, 10, 30]);
}

#[test]
fn palettes_and_lossy_webp_are_read_as_independent_decoders_read_them() {
    // References: Pillow 13.0 (its palette expansion; libwebp for the WebP file).
    for name in ["palette.png", "palette.bmp"] {
        let photo = open(&corpus(name)).unwrap();
        assert_near(name, &photo.raster, &reference("palette.ref.png"), 0.0, 0);
    }
    let clear = open(&corpus("palette-clear.png")).unwrap();
    assert!(clear.raster.pixels().chunks_exact(3).any(|p| p == [255; 3]));
    let photo = open(&corpus("lossy.webp")).unwrap();
    assert_near(
        "lossy.webp",
        &photo.raster,
        &reference("lossy.webp.ref.png"),
        1.0,
        8,
    );
}

#[test]
fn orientation_counts_in_every_format_that_can_say_it() {
    let upright = open(&corpus("rgb.png")).unwrap().raster;
    for name in ["turned.webp", "turned.tif"] {
        let photo = open(&corpus(name)).unwrap();
        assert_eq!(photo.header.orientation, 6, "{name}");
        assert_eq!(photo.raster.size(), Size::new(H, W), "{name}");
        assert_eq!(photo.raster.at(H - 1, 0), upright.at(0, 0), "{name}");
        assert_eq!(
            photo.raster.at(0, W - 1),
            upright.at(W - 1, H - 1),
            "{name}"
        );
    }
}

#[test]
fn colour_chunks_of_png_count_in_the_order_of_the_standard() {
    // PNG, third edition, 12.1: cICP before iCCP before sRGB before gAMA with cHRM.
    let space = |name: &str| {
        let p = open(&corpus(name)).unwrap_or_else(|e| panic!("{name}: {e}"));
        (p.colour.clone(), p.is_srgb(), p)
    };
    let plain = scene_of(24, 16);
    for name in ["chunk-srgb-over-gama.png", "chunk-gama-of-srgb.png"] {
        let (colour, is_srgb, p) = space(name);
        assert!(is_srgb && colour == "sRGB", "{name}: {colour}");
        assert_eq!(p.raster.pixels(), plain);
    }
    assert_eq!(space("chunk-iccp-over-gama.png").0, "our table RGB");
    assert_eq!(space("chunk-cicp-over-iccp.png").0, "Display P3");
    // gAMA 0.55556 with sRGB's primaries: light = value ^ 1.8, then the sRGB curve of IEC 61966-2-1.
    let (_, is_srgb, p) = space("chunk-gama.png");
    assert!(!is_srgb);
    let mut converted = p.raster.clone();
    p.to_srgb(&mut converted);
    let expected: Vec<u8> = plain
        .iter()
        .map(|v| {
            let light = (f64::from(*v) / 255.0).powf(1.0 / 0.55556);
            let code = if light <= 0.003_130_8 {
                12.92 * light
            } else {
                1.055 * light.powf(1.0 / 2.4) - 0.055
            };
            (code * 255.0).round() as u8
        })
        .collect();
    assert_near("chunk-gama.png", &converted, &expected, 0.5, 1);
    // The wider primaries of P3 make the same numbers more colourful: red gains, green loses.
    let (_, _, wide) = space("chunk-gama-chrm.png");
    let mut wider = wide.raster.clone();
    wide.to_srgb(&mut wider);
    let (w, n) = (wider.at(23, 0), converted.at(23, 0));
    assert!(w[0] > n[0] && w[1] < n[1], "{w:?} {n:?}");
    assert_eq!(refused(&corpus("chunk-cicp-hdr.png")), Reason::Unsupported);
}

#[test]
fn moving_pictures_are_held_as_such_and_other_kinds_by_name() {
    assert_eq!(refused(&corpus("animated.png")), Reason::Animated);
    assert_eq!(refused(&corpus("animated.webp")), Reason::Animated);
    assert_eq!(refused(b"\0\0\0\x14ftyphevc\0\0\0\0hevc"), Reason::Animated);
    for (name, word) in [("some.gif", "GIF"), ("float.tif", "TIFF")] {
        let refusal = open(&corpus(name)).err().expect(name);
        assert_eq!(refusal.reason, Reason::Unsupported, "{name}: {refusal}");
        assert!(refusal.detail.contains(word), "{refusal}");
    }
    assert_eq!(refused(b""), Reason::NotAPhoto);
    assert_eq!(refused(b"<html>no photo</html>"), Reason::NotAPhoto);
}

#[test]
fn a_file_of_any_format_cut_at_any_place_is_refused_or_was_whole_before_the_cut() {
    for name in [
        "rgb.png",
        "interlaced.png",
        "palette.png",
        "rgb-16.png",
        "lossless.webp",
        "lossless-alpha.webp",
        "lossy.webp",
        "rgb.tif",
        "lzw.tif",
        "rgb-16-deflate.tif",
        "tiled.tif",
        "packbits.tif",
        "rgb.bmp",
        "palette.bmp",
    ] {
        let whole = corpus(name);
        let raster = open(&whole).unwrap().raster;
        let step = (whole.len() / 800).max(1);
        for cut in (0..whole.len())
            .step_by(step)
            .chain(whole.len() - 16..whole.len())
        {
            match open(&whole[..cut]) {
                Err(r) => assert!(
                    matches!(r.reason, Reason::Undecodable | Reason::NotAPhoto),
                    "{name} cut at {cut}: {r}"
                ),
                Ok(p) => {
                    assert_eq!(p.raster, raster, "{name} cut at {cut} of {}", whole.len());
                    assert!(whole.len() - cut <= 16, "{name} cut at {cut} was taken");
                }
            }
        }
    }
}

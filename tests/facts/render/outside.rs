//! Files and pixels against the standard and against libraries that share no code with ours.

use mozjpeg::qtable::{AnnexK_Chroma, AnnexK_Luma, QTable};
use resize::Pixel::RGBF32;
use resize::Type::Lanczos3;
use resize::px::RGB;
use stallhand::base::geometry::Size;
use stallhand::photo::raster::Raster;
use stallhand::render::encode::{self, Chroma, Segment};
use stallhand::render::resize::crop_to;

use super::real;

/// Natural place of each entry in the order of ITU-T T.81, figure A.6.
const ZIGZAG: [usize; 64] = [
    0, 1, 8, 16, 9, 2, 3, 10, 17, 24, 32, 25, 18, 11, 4, 5, 12, 19, 26, 33, 40, 48, 41, 34, 27, 20,
    13, 6, 7, 14, 21, 28, 35, 42, 49, 56, 57, 50, 43, 36, 29, 22, 15, 23, 30, 37, 44, 51, 58, 59,
    52, 45, 38, 31, 39, 46, 53, 60, 61, 54, 47, 55, 62, 63,
];

/// ITU-T T.81, tables K.1 and K.2.
const K1: [u32; 64] = [
    16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56,
    14, 17, 22, 29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113,
    92, 49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99,
];
const K2: [u32; 64] = [
    17, 18, 24, 47, 99, 99, 99, 99, 18, 21, 26, 66, 99, 99, 99, 99, 24, 26, 56, 99, 99, 99, 99, 99,
    47, 66, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99,
    99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99, 99,
];

/// Klein, Silverstein and Carney, "Relevance of human vision to JPEG-DCT compression", 1992, as
/// mozjpeg's table 5 gives it: the first row.
const KSC_ROW: [f64; 8] = [10.0, 12.0, 14.0, 19.0, 26.0, 38.0, 57.0, 86.0];

/// The markers of a file, and its quantisation tables in natural order.
fn read(bytes: &[u8]) -> (Vec<u8>, Vec<[u32; 64]>) {
    let (mut markers, mut tables) = (Vec::new(), Vec::new());
    let mut at = 2;
    while bytes[at + 1] != 0xda {
        let length = usize::from(u16::from_be_bytes([bytes[at + 2], bytes[at + 3]]));
        markers.push(bytes[at + 1]);
        if bytes[at + 1] == 0xdb {
            let mut body = &bytes[at + 4..at + 2 + length];
            while !body.is_empty() {
                assert!(body[0] >> 4 == 0, "8 bit tables");
                let mut table = [0; 64];
                for (k, &v) in body[1..65].iter().enumerate() {
                    table[ZIGZAG[k]] = u32::from(v);
                }
                tables.push(table);
                body = &body[65..];
            }
        }
        at += 2 + length;
    }
    (markers, tables)
}

fn china() -> Raster {
    real("china.jpg").raster
}

#[test]
fn the_library_scales_the_standards_tables_in_the_customary_way() {
    // Independent JPEG Group, jcparam.c: at quality 50 and more the entries are
    // (base * (200 - 2 * quality) + 50) / 100, at least 1.
    let (_, tables) = read(&encode::camera_jpeg(&china(), 82.0, b"").unwrap());
    for (table, base) in tables.iter().zip([K1, K2]) {
        for (v, b) in table.iter().zip(base) {
            assert_eq!(*v, ((b * 36 + 50) / 100).max(1));
        }
    }
    let same = |t: &QTable, k: [u32; 64]| {
        let words = format!("{t:?}");
        let inner = words.split_once('[').unwrap().1.split_once(']').unwrap().0;
        let values: Vec<u32> = inner.split(", ").map(|v| v.parse().unwrap()).collect();
        assert_eq!(values, k);
    };
    same(&AnnexK_Luma, K1);
    same(&AnnexK_Chroma, K2);
}

#[test]
fn our_tables_follow_the_customary_scaling_in_fractions_and_grow_with_quality_by_rounding_alone() {
    let mut before: Option<Vec<[u32; 64]>> = None;
    for quality in [40.0, 60.5, 70.0, 81.25, 81.5, 90.0, 92.0, 100.0] {
        let bytes = encode::jpeg(&china(), quality, Chroma::Half, &[]).unwrap();
        let (_, tables) = read(&bytes);
        let scale: f64 = if quality < 50.0 {
            50.0 / quality
        } else {
            (100.0 - quality) / 50.0
        };
        // The first few are a little finer by design.
        for k in 3..8 {
            // Above the diagonal they are 2.5 % coarser than below it.
            let wanted = (KSC_ROW[k] * scale * 1.025).max(1.0);
            assert!(
                (f64::from(tables[0][k]) - wanted).abs() <= 1.0,
                "{quality} {k}"
            );
        }
        if let Some(before) = before {
            for (a, b) in before.iter().flatten().zip(tables.iter().flatten()) {
                assert!(*b <= a + 1, "{quality}");
            }
            for (a, b) in before.iter().zip(&tables) {
                let sum = |t: &[u32; 64]| t.iter().sum::<u32>();
                assert!(sum(b) <= sum(a), "{quality}");
            }
        }
        before = Some(tables);
    }
}

#[test]
fn files_are_progressive_with_the_profile_and_nothing_else_and_another_decoder_reads_them() {
    let picture = china();
    for chroma in [Chroma::Half, Chroma::Full] {
        let bytes = encode::jpeg(&picture, 85.0, chroma, &[Segment::srgb()]).unwrap();
        let (markers, _) = read(&bytes);
        assert!(
            markers.contains(&0xc2) && !markers.contains(&0xc0),
            "progressive: SOF2"
        );
        let apps: Vec<u8> = markers
            .iter()
            .copied()
            .filter(|m| m & 0xf0 == 0xe0)
            .collect();
        assert_eq!(apps, [0xe0, 0xe2]);
        let mut decoder = jpeg_decoder::Decoder::new(&bytes[..]);
        let theirs = decoder.decode().unwrap();
        let info = decoder.info().unwrap();
        assert_eq!((u32::from(info.width), u32::from(info.height)), (640, 427));
        let profile = decoder.icc_profile().unwrap();
        assert!(profile.windows(4).any(|w| w == b"sRGB"));
        let ours = encode::decoded(&bytes).unwrap();
        let sum: u64 = ours
            .pixels()
            .iter()
            .zip(&theirs)
            .map(|(a, b)| u64::from(a.abs_diff(*b)))
            .sum();
        let mean = sum as f64 / theirs.len() as f64;
        assert!(mean < 1.0, "{chroma:?}: {mean}");
    }
}

#[test]
fn a_reduction_is_that_of_another_resampler_in_linear_light() {
    let picture = china();
    let (w, h) = (640, 427);
    let linear = |v: u8| {
        let v = f32::from(v) / 255.0;
        if v <= 0.04045 {
            v / 12.92
        } else {
            ((v + 0.055) / 1.055).powf(2.4)
        }
    };
    let encoded = |l: f32| {
        let l = l.clamp(0.0, 1.0);
        let v = if l <= 0.003_130_8 {
            12.92 * l
        } else {
            1.055 * l.powf(1.0 / 2.4) - 0.055
        };
        (v * 255.0).round() as u8
    };
    let source: Vec<RGB<f32>> = picture
        .pixels()
        .chunks_exact(3)
        .map(|p| RGB::new(linear(p[0]), linear(p[1]), linear(p[2])))
        .collect();
    for (ow, oh) in [(444, 296), (320, 214), (171, 114)] {
        let mut out = vec![RGB::new(0.0, 0.0, 0.0); ow * oh];
        resize::new(w, h, ow, oh, RGBF32, Lanczos3)
            .unwrap()
            .resize(&source, &mut out)
            .unwrap();
        let theirs = out.iter().flat_map(|p| [p.r, p.g, p.b].map(encoded));
        let size = Size::new(ow as u32, oh as u32);
        let ours = crop_to(&picture, picture.size().frame(), size).unwrap();
        // Ours keeps dark halos bounded, so it may be brighter beside hard edges, and cuts off at
        // black and white after each direction; elsewhere it is the same to two levels.
        let (mut darker, mut far) = (0, 0);
        for (a, b) in ours.pixels().iter().zip(theirs) {
            darker += usize::from(i32::from(*a) < i32::from(b) - 2);
            far += usize::from(a.abs_diff(b) > 2);
        }
        let share = |n: usize| n as f64 / ours.pixels().len() as f64;
        assert!(share(darker) < 0.01, "{ow}x{oh}: {}", share(darker));
        assert!(share(far) < 0.10, "{ow}x{oh}: {}", share(far));
    }
}

#[test]
fn the_encoder_says_whether_it_has_vector_instructions() {
    // Either is right; on ARM no assembler is needed.
    let simd = encode::simd();
    assert!(simd || cfg!(not(target_arch = "aarch64")));
}

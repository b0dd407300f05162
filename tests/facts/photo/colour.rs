//! Colours against what is published and against lcms2, an independent colour engine.

use lcms2::{CIExyY, CIExyYTRIPLE, Flags, Intent, PixelFormat, Profile, ToneCurve, Transform};
use stallhand::base::reason::Reason;
use stallhand::photo::Photo;
use stallhand::photo::raster::Raster;

use super::build::{PLAIN, Way, jpeg, with_icc};
use super::delta::{difference as delta_e, lab_of_srgb, xyz_of_lab};
use super::{H, W, assert_near, corpus, difference, open, scene};

/// A photo and its pixels in sRGB.
fn converted(bytes: &[u8]) -> (Photo, Raster) {
    let photo = open(bytes).unwrap();
    let mut srgb = photo.raster.clone();
    photo.to_srgb(&mut srgb);
    (photo, srgb)
}

/// A PNG of one row with an embedded profile; 8 or 16 bit samples as they lie in the file.
fn png_with(samples: &[u8], kind: png::ColorType, depth: png::BitDepth, icc: &[u8]) -> Vec<u8> {
    let bytes = kind.samples()
        * if depth == png::BitDepth::Sixteen {
            2
        } else {
            1
        };
    let mut out = Vec::new();
    let mut info = png::Info::with_size((samples.len() / bytes) as u32, 1);
    info.color_type = kind;
    info.bit_depth = depth;
    info.icc_profile = Some(icc.to_vec().into());
    let encoder = png::Encoder::with_info(&mut out, info).unwrap();
    let mut writer = encoder.write_header().unwrap();
    writer.write_image_data(samples).unwrap();
    drop(writer);
    out
}

/// Samples all over the range, then with all but one channel at an end of it, where clipping is.
fn samples(channels: usize) -> Vec<u8> {
    let mut out = Vec::new();
    let mut seed = 0x2545_f491_4f6c_dd1d_u64;
    for _ in 0..20_000 {
        seed ^= seed << 13;
        seed ^= seed >> 7;
        seed ^= seed << 17;
        out.extend(&seed.to_le_bytes()[..channels]);
    }
    for free in 0..channels {
        for ends in 0..1u32 << (channels - 1) {
            for v in 0..=255u8 {
                let mut pixel = [0u8; 4];
                let mut bit = 0;
                for (c, p) in pixel.iter_mut().enumerate().take(channels) {
                    *p = if c == free {
                        v
                    } else {
                        bit += 1;
                        (ends >> (bit - 1) & 1) as u8 * 255
                    };
                }
                out.extend(&pixel[..channels]);
            }
        }
    }
    out
}

/// What lcms2 makes of the samples: sRGB, relative colorimetric, without its shortcuts.
fn by_lcms2(icc: &[u8], format: PixelFormat, samples: &[u8], channels: usize) -> Vec<u8> {
    let profile = Profile::new_icc(icc).unwrap();
    let t = Transform::<u8, u8>::new_flags(
        &profile,
        format,
        &Profile::new_srgb(),
        PixelFormat::RGB_8,
        Intent::RelativeColorimetric,
        Flags::NO_OPTIMIZE,
    )
    .unwrap();
    let mut out = vec![0; samples.len() / channels * 3];
    t.transform_pixels(samples, &mut out);
    out
}

const D65: CIExyY = CIExyY {
    x: 0.3127,
    y: 0.3290,
    Y: 1.0,
};

fn primary(x: f64, y: f64) -> CIExyY {
    CIExyY { x, y, Y: 1.0 }
}

/// A profile of lcms2's own making, so that both its writer and its reader are independent.
fn rgb_profile(xy: [(f64, f64); 3], curve: &ToneCurve, version: f64) -> Vec<u8> {
    let primaries = CIExyYTRIPLE {
        Red: primary(xy[0].0, xy[0].1),
        Green: primary(xy[1].0, xy[1].1),
        Blue: primary(xy[2].0, xy[2].1),
    };
    let mut p = Profile::new_rgb(&D65, &primaries, &[curve, curve, curve]).unwrap();
    p.set_version(version);
    p.icc().unwrap()
}

const P3: [(f64, f64); 3] = [(0.680, 0.320), (0.265, 0.690), (0.150, 0.060)];
const ADOBE: [(f64, f64); 3] = [(0.64, 0.33), (0.21, 0.71), (0.15, 0.06)];
const BT2020: [(f64, f64); 3] = [(0.708, 0.292), (0.170, 0.797), (0.131, 0.046)];

fn srgb_curve() -> ToneCurve {
    ToneCurve::new_parametric(4, &[2.4, 1.0 / 1.055, 0.055 / 1.055, 1.0 / 12.92, 0.04045]).unwrap()
}

#[test]
fn profiles_of_every_kind_give_what_lcms2_gives() {
    let table: Vec<u16> = (0..1024)
        .map(|i| ((f64::from(i) / 1023.0).powf(2.0) * 65_535.0).round() as u16)
        .collect();
    let rgb = [
        ("P3, v4, parametric", rgb_profile(P3, &srgb_curve(), 4.3)),
        ("P3, v2", rgb_profile(P3, &ToneCurve::new(2.2), 2.1)),
        (
            "Adobe RGB",
            rgb_profile(ADOBE, &ToneCurve::new(563.0 / 256.0), 2.1),
        ),
        (
            "BT.2020, tabulated",
            rgb_profile(BT2020, &ToneCurve::new_tabulated(&table), 4.3),
        ),
        ("table", corpus("rgb-table.icc")),
    ];
    let s = samples(3);
    for (name, icc) in rgb {
        let expected = by_lcms2(&icc, PixelFormat::RGB_8, &s, 3);
        let bytes = png_with(&s, png::ColorType::Rgb, png::BitDepth::Eight, &icc);
        let (photo, got) = converted(&bytes);
        assert!(photo.remarks.is_empty(), "{name}");
        assert_near(name, &got, &expected, 0.5, 4);
        // The same through the way that 16 bit files take.
        let wide: Vec<u8> = s.iter().flat_map(|v| [*v; 2]).collect();
        let bytes = png_with(&wide, png::ColorType::Rgb, png::BitDepth::Sixteen, &icc);
        let (_, got) = converted(&bytes);
        assert_near(&format!("{name}, 16 bit"), &got, &expected, 0.5, 4);
    }
    let grey = corpus("grey-curve.icc");
    let s = samples(1);
    let expected = by_lcms2(&grey, PixelFormat::GRAY_8, &s, 1);
    let bytes = png_with(&s, png::ColorType::Grayscale, png::BitDepth::Eight, &grey);
    assert_near("grey", &converted(&bytes).1, &expected, 0.5, 4);
    let cmyk = corpus("cmyk-table.icc");
    let s = samples(4);
    let expected = by_lcms2(&cmyk, PixelFormat::CMYK_8, &s, 4);
    assert_near(
        "CMYK",
        &converted(&tiff_cmyk(&s, &cmyk)).1,
        &expected,
        0.5,
        4,
    );
}

/// A TIFF of one row of ink.
fn tiff_cmyk(samples: &[u8], icc: &[u8]) -> Vec<u8> {
    use super::build::Value::{Blob, Bytes, Long, Short};
    let n = (samples.len() / 4) as u32;
    super::build::tiff(&[
        (256, Long(vec![n])),
        (257, Long(vec![1])),
        (258, Short(vec![8; 4])),
        (259, Short(vec![1])),
        (262, Short(vec![5])),
        (273, Blob(samples.to_vec())),
        (277, Short(vec![4])),
        (278, Long(vec![1])),
        (279, Long(vec![samples.len() as u32])),
        (34_675, Bytes(icc.to_vec())),
    ])
}

#[test]
fn the_same_profile_counts_in_every_container_that_can_carry_it() {
    let table = corpus("rgb-table.icc");
    for name in [
        "profile.tif",
        "profile.webp",
        "profile.heic",
        "table-profile.jpg",
    ] {
        let (photo, srgb) = converted(&corpus(name));
        assert_eq!(photo.colour, "our table RGB", "{name}");
        let expected = by_lcms2(&table, PixelFormat::RGB_8, photo.raster.pixels(), 3);
        assert_near(name, &srgb, &expected, 0.5, 4);
    }
    let press = corpus("cmyk-table.icc");
    let ink: Vec<u8> = scene()
        .chunks_exact(3)
        .flat_map(|p| [255 - p[0], 255 - p[1], 255 - p[2], 40])
        .collect();
    let expected = by_lcms2(&press, PixelFormat::CMYK_8, &ink, 4);
    for (name, mean, most) in [("cmyk-profile.tif", 0.5, 4), ("cmyk-profile.jpg", 1.5, 24)] {
        let (photo, srgb) = converted(&corpus(name));
        assert_eq!(photo.colour, "our press", "{name}");
        assert!(photo.remarks.is_empty(), "{name}");
        assert_near(name, &srgb, &expected, mean, most);
    }
    let (grey, srgb) = converted(&corpus("grey-profile.jpg"));
    assert_eq!(grey.colour, "grey 1.8");
    let plain: Vec<u8> = scene().chunks_exact(3).map(|p| p[1]).collect();
    let expected = by_lcms2(&corpus("grey-curve.icc"), PixelFormat::GRAY_8, &plain, 1);
    assert_near("grey-profile.jpg", &srgb, &expected, 1.5, 24);
}

/// The 24 patches of the usual test chart, Lab under D50 as their maker published them in 2005; the
/// figures are from memory. Patch 18, cyan, lies outside sRGB and is left out.
const PATCHES: [[f64; 3]; 24] = [
    [37.986, 13.555, 14.059],
    [65.711, 18.130, 17.810],
    [49.927, -4.880, -21.925],
    [43.139, -13.095, 21.905],
    [55.112, 8.844, -25.399],
    [70.719, -33.397, -0.199],
    [62.661, 36.067, 57.096],
    [40.020, 10.410, -45.964],
    [51.124, 48.239, 16.248],
    [30.325, 22.976, -21.587],
    [72.532, -23.709, 57.255],
    [71.941, 19.363, 67.857],
    [28.778, 14.179, -50.297],
    [55.261, -38.342, 31.370],
    [42.101, 53.378, 28.190],
    [81.733, 4.039, 79.819],
    [51.935, 49.986, -14.574],
    [51.038, -28.631, -28.638],
    [96.539, -0.425, 1.186],
    [81.257, -0.638, -0.335],
    [66.766, -0.734, -0.504],
    [50.867, -0.153, -0.270],
    [35.656, -0.421, -1.231],
    [20.461, -0.079, -0.973],
];
const CYAN: usize = 17;

/// Adobe RGB (1998) numbers of a colour, from its XYZ under D50 by the inverse matrix that Bradford
/// adaptation gives, and the exponent 563/256.
fn adobe_numbers(lab: [f64; 3]) -> [u8; 3] {
    let m = [
        [1.962_41, -0.610_52, -0.341_38],
        [-0.978_70, 1.916_12, 0.033_41],
        [0.028_69, -0.140_67, 1.348_96],
    ];
    let xyz = xyz_of_lab(lab);
    m.map(|r| {
        let light = (r[0] * xyz[0] + r[1] * xyz[1] + r[2] * xyz[2]).clamp(0.0, 1.0);
        (light.powf(256.0 / 563.0) * 255.0).round() as u8
    })
}

#[test]
fn a_chart_of_24_patches_comes_through_decoding_and_conversion_true() {
    let side = 32u32;
    let (w, h) = (side * 6, side * 4);
    let mut rgb = Vec::new();
    for y in 0..h {
        for x in 0..w {
            rgb.extend(adobe_numbers(PATCHES[(y / side * 6 + x / side) as usize]));
        }
    }
    let fine = Way {
        chroma: (1, 1),
        ..PLAIN
    };
    let icc = rgb_profile(ADOBE, &ToneCurve::new(563.0 / 256.0), 2.1);
    let (photo, srgb) = converted(&with_icc(&jpeg(w, h, &rgb, fine), &icc));
    assert!(!photo.is_srgb());
    let (mut sum, mut most) = (0.0, 0f64);
    for (i, lab) in PATCHES.iter().enumerate().filter(|(i, _)| *i != CYAN) {
        let at = |n: u32| n * side + side / 2;
        let got = srgb.at(at(i as u32 % 6), at(i as u32 / 6));
        let d = delta_e(*lab, lab_of_srgb(got));
        sum += d;
        most = most.max(d);
        assert!(d < 2.0, "patch {}: {d:.2}", i + 1);
    }
    let mean = sum / 23.0;
    assert!(mean < 1.0, "mean {mean:.2}");
    println!("chart: mean {mean:.2}, most {most:.2}");
}

#[test]
fn srgb_by_profile_is_left_as_it_is() {
    let srgb = Profile::new_srgb().icc().unwrap();
    let bytes = with_icc(&jpeg(W, H, &scene(), PLAIN), &srgb);
    let photo = open(&bytes).unwrap();
    assert!(photo.is_srgb() && photo.remarks.is_empty());
}

#[test]
fn a_bad_or_absurd_profile_costs_a_remark_and_never_the_photo() {
    let plain = jpeg(W, H, &scene(), PLAIN);
    let good = corpus("rgb-table.icc");
    let raster = open(&plain).unwrap().raster;
    let mut absurd = good.clone();
    // A table of 255 points a side: 16 million entries that the file does not hold.
    let at = good.windows(4).position(|w| w == b"mft2").unwrap();
    absurd[at + 10] = 255;
    let mut far = good.clone();
    // The first tag lies 4 GiB away.
    far[136..144].fill(0xff);
    let mut many = good.clone();
    many[128..132].fill(0xff);
    let wrong = corpus("cmyk-table.icc");
    let big = [good.as_slice(), &vec![0; 5 << 20]].concat();
    for (name, icc) in [
        ("cut", good[..good.len() / 2].to_vec()),
        ("empty", vec![0; 128]),
        ("absurd table", absurd),
        ("far", far),
        ("many tags", many),
        ("for ink", wrong),
        ("5 MiB", big),
    ] {
        let photo = open(&with_icc(&plain, &icc)).unwrap_or_else(|e| panic!("{name}: {e}"));
        assert_eq!(photo.remarks, [Reason::ProfileIgnored], "{name}");
        assert!(photo.is_srgb(), "{name}");
        assert_eq!(
            difference(photo.raster.pixels(), raster.pixels()).1,
            0,
            "{name}"
        );
    }
    // A profile in pieces of which one is missing.
    let long = [good.as_slice(), &vec![0; 100_000]].concat();
    let bytes = with_icc(&plain, &long);
    let second = bytes
        .windows(14)
        .rposition(|w| w.starts_with(b"ICC_PROFILE\0"))
        .unwrap();
    let mut holed = bytes.clone();
    holed[second..second + 3].copy_from_slice(b"OLD");
    assert_eq!(open(&holed).unwrap().remarks, [Reason::ProfileIgnored]);
}

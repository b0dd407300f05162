//! The sRGB profile that every output carries. Owns its bytes; refuses to know pixels.

use std::sync::LazyLock;

/// Points of the tone curve: linear interpolation between them errs by under 0.01 of 255.
const CURVE_POINTS: usize = 256;

/// A compact version 2 matrix profile of sRGB (IEC 61966-2-1), described as `sRGB`.
pub fn srgb() -> &'static [u8] {
    static PROFILE: LazyLock<Vec<u8>> = LazyLock::new(build);
    &PROFILE
}

/// The transfer function of IEC 61966-2-1, encoded 0 to 1 to linear 0 to 1.
pub fn linear(encoded: f64) -> f64 {
    if encoded <= 0.04045 {
        encoded / 12.92
    } else {
        ((encoded + 0.055) / 1.055).powf(2.4)
    }
}

/// Layout of ICC.1:2001-04: a header of 128 bytes, the tag table, the tags on 4-byte bounds.
fn build() -> Vec<u8> {
    let mut desc = b"desc\0\0\0\0\0\0\0\x05sRGB\0".to_vec();
    desc.resize(desc.len() + 78, 0);
    let cprt = b"text\0\0\0\0CC0\0".to_vec();
    let mut curve = b"curv\0\0\0\0".to_vec();
    curve.extend((CURVE_POINTS as u32).to_be_bytes());
    for i in 0..CURVE_POINTS {
        let v = linear(i as f64 / (CURVE_POINTS - 1) as f64) * 65535.0;
        curve.extend((v.round() as u16).to_be_bytes());
    }
    // sRGB primaries and white adapted to D50 (Bradford), as in the ICC's own sRGB profiles.
    let white = xyz(0.964_20, 1.0, 0.824_91);
    let red = xyz(0.436_07, 0.222_49, 0.013_92);
    let green = xyz(0.385_15, 0.716_87, 0.097_08);
    let blue = xyz(0.143_07, 0.060_61, 0.714_10);
    let tags: [(&[u8; 4], usize); 9] = [
        (b"desc", 0),
        (b"cprt", 1),
        (b"wtpt", 2),
        (b"rXYZ", 3),
        (b"gXYZ", 4),
        (b"bXYZ", 5),
        (b"rTRC", 6),
        (b"gTRC", 6),
        (b"bTRC", 6),
    ];
    let bodies = [desc, cprt, white, red, green, blue, curve];

    let mut at = 128 + 4 + 12 * tags.len();
    let places: Vec<(usize, usize)> = bodies
        .iter()
        .map(|b| {
            let place = (at, b.len());
            at += b.len().next_multiple_of(4);
            place
        })
        .collect();

    let mut out = vec![0; 128];
    out[0..4].copy_from_slice(&(at as u32).to_be_bytes());
    out[8] = 2;
    out[9] = 0x10;
    out[12..24].copy_from_slice(b"mntrRGB XYZ ");
    // A fixed date keeps outputs the same byte for byte: 2026-01-01.
    for (i, part) in [2026u16, 1, 1, 0, 0, 0].into_iter().enumerate() {
        out[24 + 2 * i..26 + 2 * i].copy_from_slice(&part.to_be_bytes());
    }
    out[36..40].copy_from_slice(b"acsp");
    out[64..68].copy_from_slice(&1u32.to_be_bytes());
    for (i, v) in [0.9642, 1.0, 0.8249].into_iter().enumerate() {
        out[68 + 4 * i..72 + 4 * i].copy_from_slice(&fixed(v));
    }
    out.extend((tags.len() as u32).to_be_bytes());
    for (name, body) in tags {
        let (offset, len) = places[body];
        out.extend_from_slice(name);
        out.extend((offset as u32).to_be_bytes());
        out.extend((len as u32).to_be_bytes());
    }
    for body in bodies {
        out.extend_from_slice(&body);
        out.resize(out.len().next_multiple_of(4), 0);
    }
    out
}

fn xyz(x: f64, y: f64, z: f64) -> Vec<u8> {
    let mut body = b"XYZ \0\0\0\0".to_vec();
    for v in [x, y, z] {
        body.extend(fixed(v));
    }
    body
}

/// s15Fixed16Number.
fn fixed(v: f64) -> [u8; 4] {
    ((v * 65536.0).round() as i32).to_be_bytes()
}

#[cfg(test)]
mod tests {
    use super::*;
    use moxcms::{ColorProfile, Layout, TransformOptions};

    #[test]
    fn the_profile_is_small_and_an_independent_reader_finds_srgb_in_it() {
        let bytes = srgb();
        assert!(bytes.len() < 1200, "{} bytes", bytes.len());
        let read = ColorProfile::new_from_slice(bytes).unwrap();
        let change = read
            .create_transform_8bit(
                Layout::Rgb,
                &ColorProfile::new_srgb(),
                Layout::Rgb,
                TransformOptions::default(),
            )
            .unwrap();
        let colours: Vec<u8> = (0u32..3 * 4096).map(|i| (i * 131 % 256) as u8).collect();
        let mut out = vec![0; colours.len()];
        change.transform(&colours, &mut out).unwrap();
        let worst = colours.iter().zip(&out).map(|(a, b)| a.abs_diff(*b)).max();
        assert!(worst <= Some(1), "{worst:?}");
    }
}

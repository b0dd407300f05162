//! The sample photos: small renders of pots and candles, grown to camera size with a sensor's
//! noise, turned and tagged as a camera would. Owns what the demonstration's inbox holds; refuses
//! to write it anywhere.

use std::path::PathBuf;

use super::exif::{Shot, app1};
use crate::base::geometry::Size;
use crate::photo::raster::Raster;
use crate::render::{encode, resize};

/// Pixels of a sample photo are at least this many.
pub const PIXELS: u64 = 12_000_000;

/// What happened to a photo on its way.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// As the camera wrote it.
    Whole,
    /// Cut off after 60 % of its bytes, as by a card pulled out too early.
    Truncated,
    /// Left at the render's own size.
    Small,
    /// The bytes of the photo before it, dropped a second time.
    Again,
}

struct Sample {
    path: &'static str,
    render: &'static [u8],
    orientation: u16,
    taken: &'static str,
    fate: Fate,
}

macro_rules! samples {
    ($($path:literal $render:literal $orientation:literal $taken:literal $fate:ident;)*) => {
        &[$(Sample {
            path: $path,
            render: include_bytes!(concat!("renders/", $render, ".jpg")),
            orientation: $orientation,
            taken: $taken,
            fate: Fate::$fate,
        }),*]
    };
}

// The plum mug was photographed first, so that the listing's order is not that of the names.
const SAMPLES: &[Sample] = samples! {
    "Mugs/IMG_0411.JPG" "mug-blue" 1 "2026:03:14 10:20:30" Whole;
    "Mugs/IMG_0411 again.JPG" "mug-blue" 1 "2026:03:14 10:20:30" Again;
    "Mugs/IMG_0412.JPG" "cup-green" 3 "2026:03:14 10:22:05" Whole;
    "Mugs/IMG_0413.JPG" "mug-plum" 6 "2026:03:14 10:19:48" Whole;
    "Mugs/IMG_0414.JPG" "mug-plum" 8 "2026:03:14 10:24:11" Truncated;
    "Candle in glass/IMG_0420.JPG" "candle-pair" 1 "2026:03:15 16:02:10" Whole;
    "Candle in glass/IMG_0421.JPG" "candle-dark" 8 "2026:03:15 16:03:40" Whole;
    "Candle in glass/IMG_0422.JPG" "candle-sweep" 1 "2026:03:15 16:05:00" Whole;
    "Candle in glass/IMG_0423.JPG" "candle-slate" 1 "2026:03:15 16:07:25" Whole;
    "Candle in glass/IMG_0424.JPG" "candle-wood" 1 "2026:03:15 16:09:50" Whole;
    "Candle in glass/from a message.jpg" "candle-slate" 1 "2026:03:15 16:07:25" Small;
    "Bowl, speckled.JPG" "bowl-speckled" 1 "2026:03:16 09:30:00" Whole;
    "Bowl near the edge.JPG" "bowl-edge" 8 "2026:03:16 09:31:12" Whole;
    "Candle, cream.JPG" "candle-cream" 3 "2026:03:16 09:40:59" Whole;
};

/// The photos, each as its path in the inbox and its bytes; made one at a time as they are asked
/// for, the same bytes in every run. Photos that are cut off, too small or come twice are among
/// them.
pub fn photos() -> impl Iterator<Item = (PathBuf, Vec<u8>)> {
    let mut before: Vec<u8> = Vec::new();
    SAMPLES.iter().enumerate().map(move |(i, sample)| {
        if sample.fate != Fate::Again {
            before = photo(sample, i as u64 + 1);
        }
        (PathBuf::from(sample.path), before.clone())
    })
}

/// How many photos there are, and how many of them no careful tool would deliver: one is cut off,
/// one is too small, one comes twice.
pub fn counts() -> (usize, usize) {
    let odd = SAMPLES.iter().filter(|s| s.fate != Fate::Whole).count();
    (SAMPLES.len(), odd)
}

/// One photo's bytes. The bundled renders decode and encode by construction (a test makes all of
/// them), so trouble here is a programming error.
fn photo(sample: &Sample, seed: u64) -> Vec<u8> {
    let render = encode::decoded(sample.render).expect("a bundled render decodes");
    let size = match sample.fate {
        Fate::Small => render.size(),
        _ => grown(render.size()),
    };
    let mut big =
        resize::crop_to(&render, render.size().frame(), size).expect("the whole render is inside");
    add_noise(&mut big, seed);
    let stored = stored(big, sample.orientation);
    let exif = app1(&Shot {
        orientation: sample.orientation,
        taken: sample.taken,
        subsec: (seed * 7 % 100) as u8,
        north: [12, 34, 50 + seed as u32 % 10],
        west: [141, 20, seed as u32],
        serial: "KILN-000042",
    });
    let mut bytes = encode::camera_jpeg(&stored, 90.0, &exif).expect("a raster encodes");
    if sample.fate == Fate::Truncated {
        bytes.truncate(bytes.len() * 6 / 10);
    }
    bytes
}

/// The size of the same shape with at least `PIXELS` pixels, sides in whole multiples of 4.
fn grown(size: Size) -> Size {
    let factor = (PIXELS as f64 / size.area() as f64).sqrt();
    let side = |n: u32| ((f64::from(n) * factor / 4.0).ceil() as u32) * 4;
    Size::new(side(size.w), side(size.h))
}

/// Noise of a small sensor at base sensitivity: mostly of brightness, a little of colour,
/// standard deviation about 1.6 and 0.7 levels, near enough to normal (sums of uniform numbers).
fn add_noise(picture: &mut Raster, seed: u64) {
    let mut state = seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1;
    for pixel in picture.pixels_mut().chunks_exact_mut(3) {
        // xorshift64 (Marsaglia, 2003).
        state ^= state << 13;
        state ^= state >> 7;
        state ^= state << 17;
        let part = |i: u32| (state >> (8 * i) & 0xff) as i32;
        // Each sum of two bytes has standard deviation 104.5; shifts scale it down.
        let bright = part(0) + part(1) - 255;
        for (i, value) in pixel.iter_mut().enumerate() {
            let own = part(2 + i as u32) + part(5 + (i as u32) % 3) - 255;
            let noise = (bright * 2 + own + 64) >> 7;
            *value = (i32::from(*value) + noise).clamp(0, 255) as u8;
        }
    }
}

/// The rows as a camera stores them so that `orientation` turns them upright (EXIF, tag 0x0112:
/// 1 as it is, 3 turned by 180 degrees, 6 to be turned clockwise, 8 counter-clockwise).
fn stored(upright: Raster, orientation: u16) -> Raster {
    let size = upright.size();
    let (w, h) = (size.w as usize, size.h as usize);
    let source = upright.pixels();
    match orientation {
        3 => {
            let mut pixels = source.to_vec();
            pixels.reverse();
            for pixel in pixels.chunks_exact_mut(3) {
                pixel.swap(0, 2);
            }
            Raster::new(size, pixels)
        }
        6 | 8 => {
            let mut pixels = vec![0; source.len()];
            // Stored pixel (x, y) of an h x w picture; blocks of rows keep the reads in the cache.
            const BLOCK: usize = 16;
            for y0 in (0..w).step_by(BLOCK) {
                for x in 0..h {
                    for y in y0..(y0 + BLOCK).min(w) {
                        let (ux, uy) = if orientation == 6 {
                            (w - 1 - y, x)
                        } else {
                            (y, h - 1 - x)
                        };
                        let (to, from) = ((y * h + x) * 3, (uy * w + ux) * 3);
                        pixels[to..to + 3].copy_from_slice(&source[from..from + 3]);
                    }
                }
            }
            Raster::new(size.turned(), pixels)
        }
        _ => upright,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_workshop_has_whole_photos_of_camera_size_and_one_of_each_kind_of_trouble() {
        let count = |fate| SAMPLES.iter().filter(|s| s.fate == fate).count();
        assert!(count(Fate::Whole) >= 8);
        for fate in [Fate::Truncated, Fate::Small, Fate::Again] {
            assert_eq!(count(fate), 1, "{fate:?}");
        }
        let listings: std::collections::BTreeSet<&str> = SAMPLES
            .iter()
            .filter_map(|s| s.path.split_once('/'))
            .map(|(listing, _)| listing)
            .collect();
        assert_eq!(listings.len(), 2);
        assert!(SAMPLES.iter().any(|s| !s.path.contains('/')));
        let turned: std::collections::BTreeSet<u16> =
            SAMPLES.iter().map(|s| s.orientation).collect();
        assert_eq!(turned, [1, 3, 6, 8].into());
        let weight: usize = SAMPLES.iter().map(|s| s.render.len()).sum();
        assert!(weight < 1_200_000, "{weight}");
    }

    #[test]
    fn a_photo_turned_as_its_exif_says_is_the_render_again() {
        for (orientation, sample) in [1, 3, 6, 8].into_iter().zip(SAMPLES) {
            let bytes = photo(
                &Sample {
                    orientation,
                    fate: Fate::Small,
                    ..*sample
                },
                1,
            );
            let limits = crate::config::profile::Limits::default();
            let opened = crate::photo::open(&bytes, &limits, [255; 3], "IMG_1.JPG").unwrap();
            let render = encode::decoded(sample.render).unwrap();
            assert_eq!(u16::from(opened.header.orientation), orientation);
            assert_eq!(opened.raster.size(), render.size());
            let pairs = opened.raster.pixels().iter().zip(render.pixels());
            let apart: u64 = pairs.map(|(a, b)| u64::from(a.abs_diff(*b))).sum();
            let mean = apart as f64 / render.pixels().len() as f64;
            assert!(mean < 4.0, "orientation {orientation}: {mean}");
        }
    }

    #[test]
    fn the_noise_is_that_of_a_small_sensor() {
        let mut grey = Raster::filled(Size::new(400, 400), [128; 3]);
        add_noise(&mut grey, 7);
        let n = grey.pixels().len() as f64;
        let mean = grey.pixels().iter().map(|v| f64::from(*v)).sum::<f64>() / n;
        let deviation = (grey.pixels().iter())
            .map(|v| (f64::from(*v) - mean).powi(2))
            .sum::<f64>()
            / n;
        assert!((mean - 128.0).abs() < 0.3, "{mean}");
        let deviation = deviation.sqrt();
        assert!((1.2..2.4).contains(&deviation), "{deviation}");
    }
}

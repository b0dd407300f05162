//! JPEG files as cameras, phones and editors write them, whole and broken.

use stallhand::base::geometry::Size;
use stallhand::base::reason::Reason;
use stallhand::config::profile::Limits;
use stallhand::photo::{self, Photo};

const WHITE: [u8; 3] = [255; 3];

pub fn open(bytes: &[u8]) -> Result<Photo, stallhand::base::reason::Refusal> {
    photo::open(bytes, &Limits::default(), WHITE, "IMG_1.JPG")
}

/// A smooth colourful picture with fine structure, so that no part of the data is trivial.
pub fn scene(w: u32, h: u32) -> Vec<u8> {
    let mut out = Vec::new();
    for y in 0..h {
        for x in 0..w {
            let (u, v) = (x as f32 / w as f32, y as f32 / h as f32);
            let fine = ((x * 7 + y * 13) % 32) as f32;
            out.push((u * 200.0 + fine) as u8);
            out.push((v * 200.0 + 20.0) as u8);
            out.push(((1.0 - u) * 180.0 + (v * 40.0).sin() * 20.0 + 40.0) as u8);
        }
    }
    out
}

pub struct Way {
    pub progressive: bool,
    /// Horizontal and vertical sampling of the colour channels, 1 to 4 pixels a sample.
    pub chroma: (u8, u8),
}

pub fn encode(w: u32, h: u32, rgb: &[u8], way: &Way) -> Vec<u8> {
    let mut c = mozjpeg::Compress::new(mozjpeg::ColorSpace::JCS_RGB);
    c.set_size(w as usize, h as usize);
    c.set_quality(85.0);
    c.set_chroma_sampling_pixel_sizes(way.chroma, way.chroma);
    if way.progressive {
        c.set_progressive_mode();
    }
    c.set_optimize_coding(true);
    let mut c = c.start_compress(Vec::new()).unwrap();
    c.write_scanlines(rgb).unwrap();
    c.finish().unwrap()
}

#[test]
fn a_jpeg_cut_at_any_place_is_refused_as_damaged() {
    let rgb = scene(150, 110);
    for progressive in [false, true] {
        let way = Way {
            progressive,
            chroma: (2, 2),
        };
        let whole = encode(150, 110, &rgb, &way);
        assert_eq!(open(&whole).unwrap().raster.size(), Size::new(150, 110));
        for cut in 3..whole.len() - 2 {
            let refusal = open(&whole[..cut])
                .err()
                .unwrap_or_else(|| panic!("cut at {cut}"));
            assert_eq!(
                refusal.reason,
                Reason::Undecodable,
                "cut at {cut}: {refusal}"
            );
        }
    }
}

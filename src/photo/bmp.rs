//! BMP to samples. Owns the BMP decoder; refuses to know what the picture shows.

use std::io::Cursor;

use image::codecs::bmp::BmpDecoder;
use image::{ColorType, ImageDecoder};

use super::colour::{Ink, Space};
use super::convert::{Alpha, Decoded, Samples};
use super::{Stored, damaged, limits, plain};
use crate::base::geometry::Size;
use crate::base::reason::Refusal;
use crate::config::profile::Limits;

type Reader<'a> = BmpDecoder<Cursor<&'a [u8]>>;

/// Reads the header.
pub fn survey<'a>(bytes: &'a [u8], limits: &Limits) -> Result<(Stored, Reader<'a>), Refusal> {
    let reader = BmpDecoder::new(Cursor::new(bytes)).map_err(refusal)?;
    let (w, h) = reader.dimensions();
    let size = Size::new(w, h);
    limits::check(size, limits)?;
    let stored = Stored {
        format: "BMP",
        size,
        facts: Default::default(),
        decoded_bytes: size.area() * 7,
    };
    Ok((stored, reader))
}

/// The samples, 8 bit, taken as sRGB.
pub fn decode(reader: Reader<'_>, size: Size) -> Result<Decoded, Refusal> {
    let (ink, alpha) = match reader.color_type() {
        ColorType::Rgba8 => (Ink::Rgb, Alpha::Straight),
        ColorType::L8 => (Ink::Grey, Alpha::None),
        _ => (Ink::Rgb, Alpha::None),
    };
    let mut buffer = vec![0; reader.total_bytes() as usize];
    reader.read_image(&mut buffer).map_err(refusal)?;
    // Many writers leave the fourth byte zero and mean an opaque picture.
    if alpha == Alpha::Straight && buffer.chunks_exact(4).all(|p| p[3] == 0) {
        for p in buffer.chunks_exact_mut(4) {
            p[3] = 255;
        }
    }
    Ok(Decoded {
        size,
        samples: Samples::Eight(buffer),
        ink,
        alpha,
        space: Space::srgb(),
        remarks: Vec::new(),
    })
}

fn refusal(e: image::ImageError) -> Refusal {
    damaged(format!(
        "the BMP is damaged or incomplete: {}",
        plain(&e.to_string())
    ))
}

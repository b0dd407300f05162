//! WebP to samples (RFC 9649). Owns the WebP decoder; refuses to know what the picture shows.

use std::io::Cursor;

use image::codecs::webp::WebPDecoder;
use image::{ColorType, ImageDecoder};

use super::colour::{Ink, Space};
use super::convert::{Alpha, Decoded, Samples};
use super::exif::Facts;
use super::{Stored, damaged, limits, plain};
use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Limits;

type Reader<'a> = WebPDecoder<Cursor<&'a [u8]>>;

/// Reads the container and its header.
pub fn survey<'a>(bytes: &'a [u8], limits: &Limits) -> Result<(Stored, Reader<'a>), Refusal> {
    let length = bytes
        .get(4..8)
        .map(|b| u32::from_le_bytes([b[0], b[1], b[2], b[3]]));
    if length.is_none_or(|n| u64::from(n) + 8 > bytes.len() as u64 + 1) {
        return Err(damaged("the WebP breaks off before its end"));
    }
    let mut reader = WebPDecoder::new(Cursor::new(bytes)).map_err(refusal)?;
    if reader.has_animation() {
        return Err(Refusal::new(Reason::Animated, "this WebP is animated"));
    }
    let (w, h) = reader.dimensions();
    let size = Size::new(w, h);
    limits::check(size, limits)?;
    let exif = reader.exif_metadata().ok().flatten();
    let stored = Stored {
        format: "WebP",
        size,
        facts: exif.map(|e| Facts::read(tiff(&e))).unwrap_or_default(),
        decoded_bytes: size.area() * 8,
    };
    Ok((stored, reader))
}

/// The TIFF structure; some writers keep the name of the JPEG segment before it.
fn tiff(exif: &[u8]) -> &[u8] {
    exif.strip_prefix(b"Exif\0\0").unwrap_or(exif)
}

/// The samples, 8 bit.
pub fn decode(mut reader: Reader<'_>, size: Size, limits: &Limits) -> Result<Decoded, Refusal> {
    let alpha = match reader.color_type() {
        ColorType::Rgba8 => Alpha::Straight,
        _ => Alpha::None,
    };
    let icc = reader.icc_profile().ok().flatten();
    let mut buffer = vec![0; reader.total_bytes() as usize];
    reader.read_image(&mut buffer).map_err(refusal)?;
    let mut remarks = Vec::new();
    let space = Space::of_embedded(icc.as_deref(), limits, &mut remarks);
    Ok(Decoded {
        size,
        samples: Samples::Eight(buffer),
        ink: Ink::Rgb,
        alpha,
        space,
        remarks,
    })
}

fn refusal(e: image::ImageError) -> Refusal {
    damaged(format!(
        "the WebP is damaged or incomplete: {}",
        plain(&e.to_string())
    ))
}

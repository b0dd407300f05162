//! JPEG to pixels (ITU-T T.81), strictly: a picture with a missing part is refused, not filled in.
//! Owns the JPEG decoder; refuses to know colour management and what the picture shows.

use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace;
use zune_core::options::DecoderOptions;
use zune_jpeg::JpegDecoder;

use super::exif::Facts;
use super::jpeg_parts::{Parts, bare};
use super::{Stored, limits};
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Limits;

/// Reads the segments before the first scan.
pub fn survey<'a>(bytes: &'a [u8], limits: &Limits) -> Result<(Stored, Parts<'a>), Refusal> {
    let Some(parts) = Parts::read(bytes) else {
        return Err(damaged("the JPEG breaks off before its picture begins"));
    };
    let size = parts.size.unwrap_or(crate::base::geometry::Size::new(0, 0));
    let words = match parts.frame {
        0xc3 | 0xc7 => Some("a lossless JPEG"),
        0xc5 | 0xc6 => Some("a hierarchical JPEG"),
        _ if parts.arithmetic() => Some("an arithmetic-coded JPEG"),
        _ if parts.precision != 8 => Some("a JPEG of more than 8 bits"),
        _ if !matches!(parts.components.len(), 1 | 3 | 4) => Some("a JPEG of unusual channels"),
        _ if size.h == 0 => Some("a JPEG that does not say how tall it is"),
        _ => None,
    };
    if let Some(words) = words {
        let text = format!("this is {words}, which cannot be read");
        return Err(Refusal::new(Reason::Unsupported, text));
    }
    limits::check(size, limits)?;
    let whole = parts.progressive() || usize::from(parts.first_scan) < parts.components.len();
    let sample = if whole { 2 } else { 0 };
    let n = parts.components.len() as u64;
    let stored = Stored {
        format: "JPEG",
        size,
        facts: parts.exif.map(Facts::read).unwrap_or_default(),
        decoded_bytes: size.area() * (n.max(3) + n * sample) + bytes.len() as u64,
    };
    Ok((stored, parts))
}

/// The samples of the primary picture, 8 bit, interleaved, RGB.
pub fn decode(bytes: &[u8], parts: &Parts<'_>) -> Result<Vec<u8>, Refusal> {
    let bare = bare(bytes);
    if !bare.ended {
        return Err(damaged("the JPEG breaks off before its end"));
    }
    let out = match parts.components.len() {
        1 => ColorSpace::RGB,
        3 if is_rgb(parts) => ColorSpace::YCbCr,
        3 => ColorSpace::RGB,
        _ => {
            let text = "this JPEG is in printing colours, which cannot be read yet";
            return Err(Refusal::new(Reason::Unsupported, text));
        }
    };
    let options = DecoderOptions::default()
        .set_strict_mode(true)
        .set_max_width(usize::from(u16::MAX))
        .set_max_height(usize::from(u16::MAX))
        .jpeg_set_out_colorspace(out);
    let mut decoder = JpegDecoder::new_with_options(ZCursor::new(&bare.bytes), options);
    decoder.decode().map_err(|e| {
        let text = format!(
            "the JPEG is damaged or incomplete: {}",
            plain(&e.to_string())
        );
        Refusal::new(Reason::Undecodable, text)
    })
}

/// Three components that are red, green and blue themselves: the APP14 segment says so, or nothing
/// says anything and they are named so.
fn is_rgb(parts: &Parts<'_>) -> bool {
    match parts.app14 {
        Some(transform) => transform == 0,
        None => !parts.jfif && parts.components.iter().map(|c| c[0]).eq(*b"RGB"),
    }
}

/// A decoder's message without quotes and line ends.
fn plain(message: &str) -> String {
    message
        .chars()
        .filter(|c| *c != '"' && !c.is_control())
        .take(120)
        .collect()
}

fn damaged(text: &str) -> Refusal {
    Refusal::new(Reason::Undecodable, text)
}

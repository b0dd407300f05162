//! JPEG to samples (ITU-T T.81), strictly: a picture with a missing part is refused, not filled in.
//! Owns the JPEG decoder; refuses to know colour management and what the picture shows.

use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace;
use zune_core::options::DecoderOptions;
use zune_jpeg::JpegDecoder;

use super::colour::{Ink, Space};
use super::convert::{Alpha, Decoded, Samples};
use super::exif::Facts;
use super::jpeg_parts::{Parts, bare};
use super::{Stored, damaged, jpeg_scan, limits, plain};
use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Limits;

/// A picture without its end marker whose data end in more zero bytes than this was never filled.
const MOST_ZEROS: usize = 16;

/// Reads the segments before the first scan.
pub fn survey<'a>(bytes: &'a [u8], limits: &Limits) -> Result<(Stored, Parts<'a>), Refusal> {
    let Some(parts) = Parts::read(bytes) else {
        return Err(damaged("the JPEG breaks off before its picture begins"));
    };
    let size = parts.size.unwrap_or(Size::new(0, 0));
    let words = match parts.frame {
        0xc3 | 0xc7 => Some("a lossless JPEG"),
        0xc5 | 0xc6 => Some("a hierarchical JPEG"),
        _ if parts.arithmetic() => Some("an arithmetic-coded JPEG"),
        _ if parts.precision != 8 => Some("a JPEG of more than 8 bits"),
        _ if !matches!(parts.components.len(), 1 | 3 | 4) => Some("a JPEG of unusual channels"),
        _ if size.h == 0 && size.w > 0 => Some("a JPEG that does not say how tall it is"),
        _ => None,
    };
    if let Some(words) = words {
        let text = format!("this is {words}, which cannot be read");
        return Err(Refusal::new(Reason::Unsupported, text));
    }
    limits::check(size, limits)?;
    let whole = parts.progressive() || usize::from(parts.first_scan) < parts.components.len();
    let n = parts.components.len() as u64;
    let stored = Stored {
        format: "JPEG",
        size,
        facts: parts.exif.map(Facts::read).unwrap_or_default(),
        decoded_bytes: size.area() * (n.max(3) + if whole { n * 2 } else { 0 })
            + bytes.len() as u64,
    };
    Ok((stored, parts))
}

/// The samples of the primary picture, 8 bit.
///
/// Every block is known to be there before the decoder sees the file, which would fill gaps in.
pub fn decode(
    bytes: &[u8],
    parts: &Parts<'_>,
    facts: &Facts,
    limits: &Limits,
    name: &str,
) -> Result<Decoded, Refusal> {
    let broken = |why: &str| damaged(format!("the JPEG is incomplete: {why}"));
    let bare = bare(bytes, parts).ok_or_else(|| broken("a header is damaged"))?;
    if bare.scans.is_empty() {
        return Err(broken("its picture data are missing"));
    }
    if !bare.ended && bare.zeros > MOST_ZEROS {
        return Err(broken(
            "its end is filled with zeros, as if copying had stopped",
        ));
    }
    jpeg_scan::complete(&bare).map_err(broken)?;
    let mut remarks = Vec::new();
    if !bare.ended {
        remarks.push(Reason::EndMissing);
    }
    let (ink, out) = match parts.components.len() {
        1 => (Ink::Grey, ColorSpace::Luma),
        3 if is_rgb(parts) => (Ink::Rgb, ColorSpace::YCbCr),
        3 => (Ink::Rgb, ColorSpace::RGB),
        _ => (Ink::Cmyk, ColorSpace::CMYK),
    };
    // The bare file names no colours, so three components come as they are when YCbCr is asked for.
    let options = DecoderOptions::default()
        .set_strict_mode(true)
        .set_max_width(usize::from(u16::MAX))
        .set_max_height(usize::from(u16::MAX))
        .jpeg_set_out_colorspace(out);
    let mut samples = JpegDecoder::new_with_options(ZCursor::new(&bare.bytes), options)
        .decode()
        .map_err(|e| {
            // Nothing is missing, so it is the decoder's lack and not the file's.
            let why = plain(&e.to_string());
            let text = format!("this is a JPEG of an unusual kind, which cannot be read: {why}");
            Refusal::new(Reason::Unsupported, text)
        })?;
    if ink == Ink::Cmyk {
        to_ink(&mut samples, parts.app14);
    }
    let space = match parts.icc(limits.icc_bytes) {
        Ok(None) if ink == Ink::Cmyk => {
            remarks.push(Reason::PlainCmyk);
            Space::plain_cmyk()
        }
        Ok(None) if facts.adobe_rgb(name) => Space::adobe_rgb(),
        Ok(icc) => Space::of_embedded(icc.as_deref(), limits, &mut remarks),
        Err(()) => Space::of_embedded(Some(&[]), limits, &mut remarks),
    };
    Ok(Decoded {
        size: bare.header.size,
        samples: Samples::Eight(samples),
        ink,
        alpha: Alpha::None,
        space,
        remarks,
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

/// Four components to amounts of ink. With an APP14 segment they are stored inverted, and under
/// transform 2 the first three are YCbCr (T.872, 6.5.3); without one they are amounts already.
fn to_ink(samples: &mut [u8], app14: Option<u8>) {
    for p in samples.chunks_exact_mut(4) {
        if app14 == Some(2) {
            let (y, cb, cr) = (
                f32::from(p[0]),
                f32::from(p[1]) - 128.0,
                f32::from(p[2]) - 128.0,
            );
            // What the transform gives is 255 less the stored, inverted value: the ink itself.
            p[0] = (y + 1.402 * cr).round() as u8;
            p[1] = (y - 0.344_136 * cb - 0.714_136 * cr).round() as u8;
            p[2] = (y + 1.772 * cb).round() as u8;
            p[3] = 255 - p[3];
        } else if app14.is_some() {
            for v in p {
                *v = 255 - *v;
            }
        }
    }
}

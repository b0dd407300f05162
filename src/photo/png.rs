//! PNG to samples (PNG, third edition). Owns the PNG decoder and the meaning of its chunks;
//! refuses to know what the picture shows.

use std::io::Cursor;

use png::{BitDepth, ColorType, Decoder, Info, Transformations};

use super::colour::{Ink, Space};
use super::convert::{Alpha, Decoded, Samples};
use super::exif::Facts;
use super::{Stored, damaged, limits, plain};
use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Limits;

/// Bytes that the decoder may set aside for chunks, besides the picture.
const CHUNK_BYTES: usize = 16 << 20;

type Reader<'a> = png::Reader<Cursor<&'a [u8]>>;

/// Reads the chunks before the picture.
pub fn survey<'a>(bytes: &'a [u8], limits: &Limits) -> Result<(Stored, Reader<'a>), Refusal> {
    // The header alone first, so that the limits are known to hold before the decoder makes room.
    let head = bytes
        .get(16..24)
        .ok_or_else(|| damaged("the PNG breaks off in its header"))?;
    let side = |b: &[u8]| u32::from_be_bytes([b[0], b[1], b[2], b[3]]);
    let size = Size::new(side(&head[..4]), side(&head[4..]));
    limits::check(size, limits)?;
    let mut decoder =
        Decoder::new_with_limits(Cursor::new(bytes), png::Limits { bytes: CHUNK_BYTES });
    decoder.set_ignore_text_chunk(true);
    decoder.set_transformations(Transformations::EXPAND);
    let reader = decoder.read_info().map_err(refusal)?;
    let info = reader.info();
    if info.animation_control.is_some_and(|a| a.num_frames > 1) {
        return Err(Refusal::new(Reason::Animated, "this PNG is animated"));
    }
    let (colour, depth) = reader.output_color_type();
    let wide = if depth == BitDepth::Sixteen { 2 } else { 1 };
    let channels = colour.samples() as u64;
    let stored = Stored {
        format: "PNG",
        size,
        facts: info
            .exif_metadata
            .as_deref()
            .map(Facts::read)
            .unwrap_or_default(),
        decoded_bytes: size.area() * (channels * wide * 2 + 3),
    };
    Ok((stored, reader))
}

/// The samples, palette and low depths expanded, 16 bit kept.
pub fn decode(
    bytes: &[u8],
    mut reader: Reader<'_>,
    size: Size,
    limits: &Limits,
) -> Result<Decoded, Refusal> {
    let profile = has_profile(bytes);
    let (colour, depth) = reader.output_color_type();
    let (ink, alpha) = match colour {
        ColorType::Grayscale => (Ink::Grey, Alpha::None),
        ColorType::GrayscaleAlpha => (Ink::Grey, Alpha::Straight),
        ColorType::Rgba => (Ink::Rgb, Alpha::Straight),
        ColorType::Rgb | ColorType::Indexed => (Ink::Rgb, Alpha::None),
    };
    let length = reader.output_buffer_size().ok_or_else(|| {
        Refusal::new(Reason::TooLarge, "the photo is too large for this computer")
    })?;
    let mut buffer = vec![0; length];
    reader.next_frame(&mut buffer).map_err(refusal)?;
    let mut remarks = Vec::new();
    if reader.finish().is_err() {
        remarks.push(Reason::EndMissing);
    }
    let samples = match depth {
        BitDepth::Sixteen => {
            let pairs = buffer.chunks_exact(2);
            Samples::Sixteen(pairs.map(|b| u16::from_be_bytes([b[0], b[1]])).collect())
        }
        _ => Samples::Eight(buffer),
    };
    let space = space(reader.info(), limits, &mut remarks)?;
    if profile && reader.info().icc_profile.is_none() {
        // The decoder leaves out a profile that it cannot unpack within its bounds.
        remarks.push(Reason::ProfileIgnored);
    }
    Ok(Decoded {
        size,
        samples,
        ink,
        alpha,
        space,
        remarks,
    })
}

/// Whether an iCCP chunk comes before the picture.
fn has_profile(bytes: &[u8]) -> bool {
    let mut at = 8usize;
    while let Some([a, b, c, d, kind @ ..]) = bytes.get(at..at.saturating_add(8)) {
        match kind {
            b"iCCP" => return true,
            b"IDAT" => return false,
            _ => {}
        }
        at = at.saturating_add(12 + u32::from_be_bytes([*a, *b, *c, *d]) as usize);
    }
    false
}

/// The colour space by the standard's precedence (PNG third edition, 12.1): cICP, iCCP, sRGB, gAMA
/// with cHRM.
fn space(info: &Info<'_>, limits: &Limits, remarks: &mut Vec<Reason>) -> Result<Space, Refusal> {
    if let Some(c) = info.coding_independent_code_points
        && c.matrix_coefficients == 0
    {
        if matches!(c.transfer_function, 16 | 18) {
            let text = "the PNG holds a picture of high dynamic range only";
            return Err(Refusal::new(Reason::Unsupported, text));
        }
        if let Some(space) = Space::of_cicp(c.color_primaries, c.transfer_function) {
            return Ok(space);
        }
    }
    if info.icc_profile.is_some() || info.srgb.is_some() {
        return Ok(Space::of_embedded(
            info.icc_profile.as_deref(),
            limits,
            remarks,
        ));
    }
    let Some(gamma) = info.gama_chunk.map(|g| g.into_scaled()) else {
        return Ok(Space::srgb());
    };
    let xy = info.chrm_chunk.map(|c| {
        [c.white, c.red, c.green, c.blue].map(|(x, y)| (x.into_scaled(), y.into_scaled()))
    });
    // The values that the standard tells writers of sRGB to add (12.1.3, table 14).
    let of_srgb = xy.is_none_or(|xy| {
        xy == [
            (31_270, 32_900),
            (64_000, 33_000),
            (30_000, 60_000),
            (15_000, 6_000),
        ]
    });
    if gamma == 45_455 && of_srgb {
        return Ok(Space::srgb());
    }
    let part = |v: u32| f64::from(v) / 100_000.0;
    let xy = xy.map(|xy| xy.map(|(x, y)| (part(x), part(y))));
    Ok(Space::of_gamma(part(gamma), xy).unwrap_or_else(|| {
        remarks.push(Reason::ProfileIgnored);
        Space::srgb()
    }))
}

fn refusal(e: png::DecodingError) -> Refusal {
    damaged(format!(
        "the PNG is damaged or incomplete: {}",
        plain(&e.to_string())
    ))
}

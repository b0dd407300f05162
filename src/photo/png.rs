//! PNG to samples (PNG, third edition). Owns the PNG decoder and the meaning of its chunks;
//! refuses to know what the picture shows.

use std::io::Cursor;

use png::{BitDepth, ColorType, Decoder, Info, Transformations};

use super::colour::Colour;
use super::convert::{Channels, Decoded, Samples};
use super::exif::Facts;
use super::{Stored, limits};
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
    let (channels, depth) = layout(&reader);
    let wide = if depth == BitDepth::Sixteen { 2 } else { 1 };
    let stored = Stored {
        format: "PNG",
        size,
        facts: info
            .exif_metadata
            .as_deref()
            .map(Facts::read)
            .unwrap_or_default(),
        decoded_bytes: size.area() * (channels.count() as u64 * wide * 2 + 3),
    };
    Ok((stored, reader))
}

/// The samples, palette and low depths expanded, 16 bit kept.
pub fn decode(
    mut reader: Reader<'_>,
    size: Size,
    limits: &Limits,
) -> Result<(Decoded, Vec<Reason>), Refusal> {
    let (channels, depth) = layout(&reader);
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
        BitDepth::Sixteen => Samples::Sixteen(
            buffer
                .chunks_exact(2)
                .map(|b| u16::from_be_bytes([b[0], b[1]]))
                .collect(),
        ),
        _ => Samples::Eight(buffer),
    };
    let colour = colour(reader.info(), limits).unwrap_or_else(|()| {
        remarks.push(Reason::ProfileIgnored);
        Colour::srgb()
    });
    let decoded = Decoded {
        size,
        samples,
        channels,
        colour,
    };
    Ok((decoded, remarks))
}

fn layout(reader: &Reader<'_>) -> (Channels, BitDepth) {
    let (colour, depth) = reader.output_color_type();
    let channels = match colour {
        ColorType::Grayscale => Channels::Grey,
        ColorType::GrayscaleAlpha => Channels::GreyAlpha,
        ColorType::Rgba => Channels::Rgba,
        ColorType::Rgb | ColorType::Indexed => Channels::Rgb,
    };
    (channels, depth)
}

/// The colour space by the standard's precedence (PNG third edition, 13.13): cICP, iCCP, sRGB,
/// gAMA with cHRM.
fn colour(info: &Info<'_>, limits: &Limits) -> Result<Colour, ()> {
    if let Some(icc) = &info.icc_profile {
        if icc.len() > limits.icc_bytes {
            return Err(());
        }
        return Colour::of_icc(icc).ok_or(());
    }
    Ok(Colour::srgb())
}

fn refusal(e: png::DecodingError) -> Refusal {
    let text = format!("the PNG is damaged or incomplete: {e}");
    Refusal::new(Reason::Undecodable, text)
}

fn damaged(text: &str) -> Refusal {
    Refusal::new(Reason::Undecodable, text)
}

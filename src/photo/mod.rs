//! Bytes in, upright pixels out. Owns what a file says and how its pixels and colours are read;
//! refuses to know what the picture shows or what becomes of it.

mod av1;
mod avif;
mod bmp;
mod colour;
mod convert;
mod exif;
mod heic;
mod heif_items;
mod jpeg;
mod jpeg_bits;
mod jpeg_parts;
mod jpeg_scan;
mod limits;
mod orient;
mod png;
pub mod raster;
mod raw;
pub mod sniff;
mod tiff;
mod tree;
mod webp;
mod yuv;

use std::panic::{AssertUnwindSafe, catch_unwind};

use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Limits;
use colour::Colour;
use convert::Decoded;
use raster::Raster;
use sniff::Format;

/// What a file's header says, read without decoding a pixel.
#[derive(Clone, Debug, PartialEq)]
pub struct Header {
    /// Format in plain words, e.g. `JPEG`, `HEIC`.
    pub format: &'static str,
    /// Upright size, width x height in px.
    pub size: Size,
    /// EXIF orientation 1 to 8 that was (or will be) undone.
    pub orientation: u8,
    /// Capture time, local, as `YYYY-MM-DDTHH:MM:SS[.fff]`; sorts as text.
    pub captured: Option<String>,
    /// Bytes that decoding will take at its peak, an estimate from above.
    pub decoded_bytes: u64,
}

/// What a decoder found in a header, before orientation is undone.
struct Stored {
    format: &'static str,
    /// As stored, width x height in px.
    size: Size,
    facts: exif::Facts,
    decoded_bytes: u64,
}

impl Stored {
    /// The facts of the raw file around a preview, but the preview's own orientation and colours.
    fn within_raw(mut self, raw: exif::Facts) -> Self {
        self.format = "raw preview";
        let own = &mut self.facts;
        own.orientation = own.orientation.or(raw.orientation);
        own.captured = own.captured.take().or(raw.captured);
        own.color_space = own.color_space.or(raw.color_space);
        own.r03 |= raw.r03;
        self
    }
    fn header(&self) -> Header {
        let orientation = self.facts.orientation.unwrap_or(1);
        // Turning a picture on its side needs a second copy of it.
        let turning = if orientation > 4 {
            self.size.area() * 3
        } else {
            0
        };
        Header {
            format: self.format,
            size: orient::upright_size(self.size, orientation),
            orientation,
            captured: self.facts.captured.clone(),
            decoded_bytes: self.decoded_bytes.max(self.size.area() * 3 + turning),
        }
    }
}

/// A photo decoded and upright, still in its own colours.
pub struct Photo {
    pub header: Header,
    /// Upright, 8 bit RGB, in the source's colour space (see `to_srgb`).
    pub raster: Raster,
    /// Source colour space in plain words, e.g. `sRGB`, `Display P3`.
    pub colour: String,
    /// What was odd but harmless.
    pub remarks: Vec<Reason>,
    space: Colour,
}

/// Reads the header alone.
///
/// # Errors
/// A refusal when the content is no photo we read, is animated, or is over the limits.
pub fn survey(bytes: &[u8], limits: &Limits) -> Result<Header, Refusal> {
    let stored = unbroken(|| match sniff::format(bytes) {
        Some(Format::Jpeg) => Ok(jpeg::survey(bytes, limits)?.0),
        Some(Format::Png) => Ok(png::survey(bytes, limits)?.0),
        Some(Format::Webp) => Ok(webp::survey(bytes, limits)?.0),
        Some(Format::Tiff) => Ok(tiff::survey(bytes, limits)?.0),
        Some(Format::Bmp) => Ok(bmp::survey(bytes, limits)?.0),
        Some(Format::Heic) => Ok(heic::survey(bytes, limits)?.0),
        Some(Format::Avif) => Ok(avif::survey(bytes, limits)?.0),
        Some(Format::Raw) => {
            let preview = raw::preview(bytes)?;
            let stored = jpeg::survey(preview.jpeg, limits)?.0;
            Ok(stored.within_raw(preview.facts))
        }
        other => Err(not_read(other, bytes)),
    })?;
    Ok(stored.header())
}

/// Decodes a photo, upright, with transparency laid on `backdrop` (sRGB). `name` is the file's own
/// name, or empty: where the file itself does not say its colours, cameras say them there.
///
/// # Errors
/// A refusal when the file is damaged, incomplete, unsupported or over the limits.
pub fn open(
    bytes: &[u8],
    limits: &Limits,
    backdrop: [u8; 3],
    name: &str,
) -> Result<Photo, Refusal> {
    unbroken(|| {
        let (stored, decoded) = decode(bytes, limits, name)?;
        let (raster, colour, remarks) = decoded.flatten(backdrop);
        let header = stored.header();
        Ok(Photo {
            raster: orient::upright(raster, header.orientation),
            header,
            colour: colour.name().to_owned(),
            remarks,
            space: colour,
        })
    })
}

fn decode(bytes: &[u8], limits: &Limits, name: &str) -> Result<(Stored, Decoded), Refusal> {
    #[cfg(test)]
    crate::base::tally::add("decodes", 1);
    match sniff::format(bytes) {
        Some(Format::Jpeg) => {
            let (stored, parts) = jpeg::survey(bytes, limits)?;
            let decoded = jpeg::decode(bytes, &parts, &stored.facts, limits, name)?;
            Ok((stored, decoded))
        }
        Some(Format::Png) => {
            let (stored, reader) = png::survey(bytes, limits)?;
            let decoded = png::decode(bytes, reader, stored.size, limits)?;
            Ok((stored, decoded))
        }
        Some(Format::Webp) => {
            let (stored, reader) = webp::survey(bytes, limits)?;
            let decoded = webp::decode(reader, stored.size, limits)?;
            Ok((stored, decoded))
        }
        Some(Format::Tiff) => {
            let (stored, page) = tiff::survey(bytes, limits)?;
            let decoded = tiff::decode(&page, stored.size, limits)?;
            Ok((stored, decoded))
        }
        Some(Format::Bmp) => {
            let (stored, reader) = bmp::survey(bytes, limits)?;
            let decoded = bmp::decode(reader, stored.size)?;
            Ok((stored, decoded))
        }
        Some(Format::Heic) => {
            let (stored, container) = heic::survey(bytes, limits)?;
            let decoded = heic::decode(&container, limits)?;
            Ok((stored, decoded))
        }
        Some(Format::Avif) => {
            let (stored, container) = avif::survey(bytes, limits)?;
            let decoded = avif::decode(&container, limits)?;
            Ok((stored, decoded))
        }
        Some(Format::Raw) => {
            let preview = raw::preview(bytes)?;
            let (stored, parts) = jpeg::survey(preview.jpeg, limits)?;
            let stored = stored.within_raw(preview.facts);
            let mut decoded = jpeg::decode(preview.jpeg, &parts, &stored.facts, limits, name)?;
            // What follows the preview in the raw file is no concern of its end.
            decoded.remarks.push(Reason::RawPreview);
            Ok((stored, decoded))
        }
        other => Err(not_read(other, bytes)),
    }
}

/// A decoder's panic on a strange file is the same as its refusal.
fn unbroken<T>(f: impl FnOnce() -> Result<T, Refusal>) -> Result<T, Refusal> {
    catch_unwind(AssertUnwindSafe(f)).unwrap_or_else(|_| {
        let text = "the file is damaged in a way that its decoder could not cope with";
        Err(Refusal::new(Reason::Undecodable, text))
    })
}

fn not_read(format: Option<Format>, bytes: &[u8]) -> Refusal {
    match format {
        Some(Format::Other(what)) => Refusal::new(
            Reason::Unsupported,
            format!("this is {what}, which cannot be read"),
        ),
        Some(Format::Sequence) => {
            Refusal::new(Reason::Animated, "the file holds a sequence of pictures")
        }
        _ if bytes.is_empty() => Refusal::new(Reason::NotAPhoto, "the file is empty"),
        _ => Refusal::new(
            Reason::NotAPhoto,
            "the file is no kind of photo that is known here",
        ),
    }
}

fn damaged(text: impl Into<String>) -> Refusal {
    Refusal::new(Reason::Undecodable, text)
}

/// A decoder's message without quotes and line ends, at most 120 characters.
fn plain(message: &str) -> String {
    message
        .chars()
        .filter(|c| *c != '"' && !c.is_control())
        .take(120)
        .collect()
}

impl Photo {
    /// A photo of sRGB pixels that lie upright, as if read from a file without metadata.
    pub fn of_srgb(raster: Raster) -> Self {
        let size = raster.size();
        Self {
            header: Header {
                format: "raster",
                size,
                orientation: 1,
                captured: None,
                decoded_bytes: size.area() * 3,
            },
            raster,
            colour: "sRGB".into(),
            remarks: Vec::new(),
            space: Colour::srgb_from("sRGB"),
        }
    }
    /// Converts pixels of this photo's colour space to sRGB in place (no-op when they are sRGB).
    pub fn to_srgb(&self, pixels: &mut Raster) {
        self.space.to_srgb(pixels.pixels_mut());
    }
    /// Whether `to_srgb` changes nothing.
    pub fn is_srgb(&self) -> bool {
        self.space.is_srgb()
    }
    /// Turns the photo clockwise by 90, 180 or 270 degrees, after EXIF; anything else leaves it.
    pub fn turn(&mut self, degrees: u32) {
        let orientation = match degrees {
            90 => 6,
            180 => 3,
            270 => 8,
            _ => return,
        };
        let empty = Raster::filled(Size::new(0, 0), [0; 3]);
        let raster = std::mem::replace(&mut self.raster, empty);
        self.raster = orient::upright(raster, orientation);
        self.header.size = self.raster.size();
    }
}

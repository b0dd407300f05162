//! Bytes in, upright pixels out. Owns what a file says and how its pixels and colours are read;
//! refuses to know what the picture shows or what becomes of it.

pub mod raster;

use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Limits;
use raster::Raster;

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

/// A photo decoded and upright, still in its own colours.
pub struct Photo {
    pub header: Header,
    /// Upright, 8 bit RGB, in the source's colour space (see `to_srgb`).
    pub raster: Raster,
    /// Source colour space in plain words, e.g. `sRGB`, `Display P3`.
    pub colour: String,
    /// What was odd but harmless.
    pub remarks: Vec<Reason>,
}

/// Reads the header alone.
///
/// # Errors
/// A refusal when the content is no photo we read, is animated, or is over the limits.
pub fn survey(bytes: &[u8], limits: &Limits) -> Result<Header, Refusal> {
    let _ = (bytes, limits);
    Err(Refusal::new(Reason::NotAPhoto, "not read yet"))
}

/// Decodes a photo, upright, with transparency laid on `backdrop` (sRGB).
///
/// # Errors
/// A refusal when the file is damaged, incomplete, unsupported or over the limits.
pub fn open(bytes: &[u8], limits: &Limits, backdrop: [u8; 3]) -> Result<Photo, Refusal> {
    let _ = (bytes, limits, backdrop);
    Err(Refusal::new(Reason::NotAPhoto, "not read yet"))
}

impl Photo {
    /// Converts pixels of this photo's colour space to sRGB in place (no-op when they are sRGB).
    pub fn to_srgb(&self, pixels: &mut Raster) {
        let _ = pixels;
    }
}

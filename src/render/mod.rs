//! Draws the plan in memory: resize, sharpen, encode within the byte budget, stamp, and prove clean.
//! Owns pixels on their way out; refuses to know files, folders and why the crop is where it is.

use crate::base::geometry::{Rect, Size};
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::{Imprint, Profile};
use crate::framing::Extension;
use crate::photo::Photo;

/// A finished file in memory: within budget, upright, sRGB, and proved free of private data.
pub struct Rendition {
    bytes: Vec<u8>,
    pub size: Size,
    /// JPEG quality used, fractional.
    pub quality: f64,
    /// `4:4:4` or `4:2:0`.
    pub subsampling: &'static str,
    /// Score against the unencoded picture.
    pub ssimulacra2: Option<f64>,
    /// Full encodes that were needed.
    pub encodes: u32,
    pub reasons: Vec<Reason>,
}

impl Rendition {
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }
    pub fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }
}

/// Renders `crop` of the photo, its canvas grown on each side by `extension` (px of the source) with
/// the backdrop's own colour and grain, for a profile.
///
/// # Errors
/// A refusal when the crop has too few pixels or no file within the budget exists. `accept`
/// lifts the pixel rule, never the weight.
pub fn render(
    photo: &Photo,
    crop: Rect,
    extension: Option<Extension>,
    profile: &Profile,
    imprint: &Imprint,
    accept: bool,
) -> Result<Rendition, Refusal> {
    let _ = (photo, crop, extension, profile, imprint, accept);
    Err(Refusal::new(Reason::TooHeavy, "not rendered yet"))
}

/// A small sRGB JPEG of the whole upright photo for the proof sheet, at most `long_side` px.
pub fn proof_picture(photo: &Photo, long_side: u32) -> Vec<u8> {
    let _ = (photo, long_side);
    Vec::new()
}

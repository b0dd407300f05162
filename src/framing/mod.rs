//! Finds the product and decides the crop. Owns sight and geometry; refuses to touch files or bytes.

use crate::base::geometry::{Rect, Shape, Size};
use crate::base::reason::{Reason, Verdict};
use crate::config::profile::Profile;
use crate::photo::raster::Raster;

/// What was seen in a photo, the same for all profiles. Boxes in px of the upright source.
#[derive(Clone, Debug, PartialEq)]
pub struct Sight {
    pub frame: Size,
    /// The product; `None` where none was found.
    pub subject: Option<Rect>,
    /// The part free of surface and backdrop ends; `None` where no such end is in view.
    pub usable: Option<Rect>,
}

/// Her word about one photo, already checked against the frame.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Correction {
    /// The product is here.
    pub subject: Option<Rect>,
    /// Use exactly this crop (for the profile at hand).
    pub crop: Option<Rect>,
    /// Deliver although small or tight.
    pub accept: bool,
}

/// Canvas grown around the crop before rendering, in px of the source.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Extension {
    pub left: u32,
    pub top: u32,
    pub right: u32,
    pub bottom: u32,
}

/// The decision for one photo and profile.
#[derive(Clone, Debug, PartialEq)]
pub struct Framing {
    pub subject: Option<Rect>,
    pub usable: Option<Rect>,
    /// Always the best found, also on hold; inside the frame.
    pub crop: Rect,
    /// The crop's canvas is grown by this on each side when it is rendered (`tight = "extend"`).
    pub extension: Option<Extension>,
    /// Each thumbnail shape, and whether it still holds the product.
    pub thumbnails: Vec<(Shape, bool)>,
    /// Probability, 0 to 1, that this crop is one she would accept.
    pub confidence: f64,
    pub verdict: Verdict,
    pub reasons: Vec<Reason>,
}

/// The loaded network; made once for a batch.
pub struct Eye;

impl Eye {
    /// Loads the embedded network.
    ///
    /// # Errors
    /// One sentence when the embedded weights are damaged.
    pub fn load() -> Result<Self, String> {
        Ok(Self)
    }
    /// Looks at an upright photo.
    pub fn look(&self, photo: &Raster) -> Sight {
        Sight {
            frame: photo.size(),
            subject: None,
            usable: None,
        }
    }
}

/// Chooses the crop for one profile from what was seen (`photo` only for the backdrop's plainness).
pub fn decide(
    sight: &Sight,
    photo: &Raster,
    profile: &Profile,
    correction: &Correction,
) -> Framing {
    let _ = photo;
    let crop = correction
        .crop
        .unwrap_or_else(|| profile.shape.centred_in(sight.frame.frame()));
    Framing {
        subject: None,
        usable: None,
        crop,
        extension: None,
        thumbnails: profile.thumbnails.iter().map(|&s| (s, true)).collect(),
        confidence: 0.0,
        verdict: Verdict::Glance,
        reasons: vec![Reason::NoSubject],
    }
}

//! Finds the product and decides the crop. Owns sight and geometry; refuses to touch files or bytes.
//!
//! `Eye::look` runs the network and reads its maps (`map`, `subject`, `usable`); `decide` searches the
//! crop of one profile (`search`), says how sure it is (`confidence`) and what gave way.

mod area;
mod confidence;
mod decide;
mod extend;
mod eye;
mod map;
mod search;
mod subject;
mod usable;

use crate::base::geometry::{Rect, Shape, Size};
use crate::base::reason::{Reason, Verdict};
use crate::photo::raster::Raster;
use area::Area;
use map::Sums;

pub use confidence::{GLANCE_BELOW, NAMES as SIGNAL_NAMES};
pub use decide::decide;

/// What was seen in a photo, the same for all profiles. Boxes in px of the upright source.
#[derive(Clone, Debug, PartialEq)]
pub struct Sight {
    pub frame: Size,
    /// The product; `None` where none was found.
    pub subject: Option<Rect>,
    /// The part free of surface and backdrop ends; `None` where no such end is in view.
    pub usable: Option<Rect>,
    evidence: Evidence,
}

/// What stands behind a sight: finer boxes, other readings, and the map of what lies beyond.
#[derive(Clone, Debug, Default, PartialEq)]
struct Evidence {
    /// The product below the pixel.
    area: Option<Area>,
    /// The box as other thresholds and the mirrored look read it.
    others: Vec<Area>,
    /// Share of the product map's mass in parts that were taken for props.
    left_out: f64,
    /// Mean probability over the product's cells.
    certainty: f64,
    /// Overlap (IoU) of the plain and the mirrored look's boxes.
    mirror: f64,
    /// Probabilities of lying beyond the surface; `None` where no end is in view.
    beyond: Option<Sums>,
    /// Mean doubt about the surface's end: `min(p, 1 - p)` over the frame.
    doubt: f64,
}

impl Sight {
    /// A sight of a photo in which nothing was found.
    pub fn of_nothing(frame: Size) -> Self {
        Self {
            frame,
            subject: None,
            usable: None,
            evidence: Evidence::default(),
        }
    }
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
    /// What the confidence was computed from (`SIGNAL_NAMES`); empty where nothing was weighed.
    pub signals: Vec<f64>,
    pub verdict: Verdict,
    pub reasons: Vec<Reason>,
}

/// The loaded network; made once for a batch and dropped when idle.
pub struct Eye(eye::Network);

impl Eye {
    /// Loads the embedded network.
    ///
    /// # Errors
    /// One sentence when the embedded weights are damaged.
    pub fn load() -> Result<Self, String> {
        eye::Network::load().map(Self)
    }

    /// Looks at an upright photo, plain and mirrored (test-time augmentation, common practice).
    pub fn look(&self, photo: &Raster) -> Sight {
        let frame = photo.size();
        let plain = self.0.look(photo, frame.frame(), false);
        let mirrored = self.0.look(photo, frame.frame(), true);
        let product = plain.product.mean(&mirrored.product);
        let Some(found) = subject::read(&product, subject::LEVEL, frame) else {
            return Sight::of_nothing(frame);
        };
        let read = |m: &map::Map, level| subject::read(m, level, frame).map(|r| r.area);
        let (one, two) = (read(&plain.product, 0.5), read(&mirrored.product, 0.5));
        let beyond = plain.beyond.mean(&mirrored.beyond);
        let ends = usable::end_in_view(&beyond);
        let evidence = Evidence {
            area: Some(found.area),
            others: [read(&product, 0.25), read(&product, 0.75), one, two]
                .into_iter()
                .flatten()
                .collect(),
            left_out: found.left_out,
            certainty: found.certainty,
            mirror: one.zip(two).map_or(0.0, |(a, b)| a.iou(b)),
            doubt: beyond
                .cells()
                .iter()
                .map(|&p| f64::from(p.min(1.0 - p)))
                .sum::<f64>()
                / beyond.cells().len() as f64,
            beyond: ends.then(|| Sums::of(&beyond.map(|p| if p < 0.2 { 0.0 } else { p }))),
        };
        Sight {
            frame,
            subject: Some(found.area.rounded(frame)),
            usable: if ends {
                usable::usable(&beyond, Some(found.area), frame)
            } else {
                None
            },
            evidence,
        }
    }
}

//! Finds the product and decides the crop. Owns sight and geometry; refuses to touch files or bytes.
//!
//! `Eye::look` runs the network and reads its maps (`map`, `subject`, `usable`); `decide` searches the
//! crop of one profile (`search`), says how sure it is (`confidence`) and what gave way.

mod area;
mod calibrated;
mod confidence;
#[cfg(test)]
mod contract;
mod decide;
mod even;
mod extend;
mod eye;
mod map;
mod picture;
mod search;
mod subject;
mod usable;

use crate::base::geometry::{Rect, Shape, Size};
use crate::base::reason::{Reason, Verdict};
use crate::photo::raster::Raster;
use area::Area;
use eye::View;
use map::Sums;

pub use confidence::{GLANCE_BELOW, NAMES as SIGNAL_NAMES};
pub use decide::decide;
pub use even::{Air, Span, even};
pub use picture::picture;

/// What was seen in a photo, the same for all profiles. Boxes in px of the upright source.
#[derive(Clone, Debug, PartialEq)]
pub struct Sight {
    pub frame: Size,
    /// The product; `None` where none was found.
    pub subject: Option<Rect>,
    /// The part free of surface and backdrop ends; `None` where no such end is in view.
    pub usable: Option<Rect>,
    /// Degrees by which the surface's far edge is off level, clockwise positive; `None` where no straight
    /// one is in view.
    pub tilt: Option<f64>,
    evidence: Evidence,
}

/// What stands behind a sight: finer boxes, other readings, and the map of what lies beyond.
#[derive(Clone, Debug, Default, PartialEq)]
struct Evidence {
    /// The product below the pixel.
    area: Option<Area>,
    /// The box as other thresholds and each look alone read it.
    others: Vec<Area>,
    /// Share of the product map's mass in parts that were taken for props.
    left_out: f64,
    /// Mean probability over the product's cells.
    certainty: f64,
    /// Overlap (IoU) of the two looks' boxes.
    mirror: f64,
    /// Disagreement of the two looks about the product, as a share of its size.
    dispute: f64,
    /// Doubt, `min(p, 1 - p)`, about the product, as a share of its size.
    blur: f64,
    /// Probabilities of lying beyond the surface; `None` where no end is in view.
    beyond: Option<Sums>,
    /// The same grown by a cell on every side.
    near: Option<Sums>,
    /// The same map with every faint probability, and the doubt `min(p, 1 - p)` of it.
    faint: Option<Sums>,
    doubt: Option<Sums>,
    /// Disagreement of the two looks about what lies beyond, mean over the window of the close one.
    beyond_dispute: f64,
    /// Mass of the second strongest part relative to the strongest: seen from afar, faint parts counted, and close.
    rivals: (f64, f64),
}

impl Sight {
    /// A sight of a photo in which nothing was found.
    pub fn of_nothing(frame: Size) -> Self {
        Self {
            frame,
            subject: None,
            usable: None,
            tilt: None,
            evidence: Evidence::default(),
        }
    }
}

/// What is said of one photo beside its profile: her word, already checked against the frame, and its
/// listing's air.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Correction {
    /// The product is here.
    pub subject: Option<Rect>,
    /// Use exactly this crop (for the profile at hand).
    pub crop: Option<Rect>,
    /// Deliver although small or tight.
    pub accept: bool,
    /// What was decided for its listing; `None` where it stands by itself.
    pub air: Option<Air>,
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
    /// What the confidence was computed from; `None` where nothing was weighed.
    pub weighed: Option<Weighed>,
    pub verdict: Verdict,
    pub reasons: Vec<Reason>,
    /// The fills it could have: only for a profile whose set is even, where the product was surely found and
    /// no air was decided yet.
    pub span: Option<Span>,
}

impl Framing {
    /// Size of what is rendered, grown canvas and all, px of the source.
    pub fn canvas(&self) -> Size {
        let e = self.extension.unwrap_or_default();
        let Size { w, h } = self.crop.size();
        Size::new(w + e.left + e.right, h + e.top + e.bottom)
    }
}

/// A crop and the signals of how probably she would accept it (`SIGNAL_NAMES`). For a glance a looser crop than
/// this is taken.
#[derive(Clone, Debug, PartialEq)]
pub struct Weighed {
    pub crop: Rect,
    pub signals: Vec<f64>,
}

/// Probability from which a cell beyond the surface counts against a crop.
const ROOM_FROM: f32 = 0.35;

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

    /// Looks at an upright photo twice: at the whole, and closely at the mirror image of what surrounds the
    /// product of the first look (test-time augmentation and coarse to fine, common practice). So the box is
    /// refined on the photo's own pixels.
    pub fn look(&self, photo: &Raster) -> Sight {
        #[cfg(test)]
        crate::base::tally::add("searches", 1);
        let frame = photo.size();
        let whole = Area::from(frame.frame());
        let far = self.0.look(&View::of(photo, whole, eye::WHOLE), false);
        let first = subject::read(&far.product, subject::FAINT, whole).map(|r| r.area);
        let window = subject::surroundings(first, whole);
        let near = self.0.look(&View::of(photo, window, eye::CLOSE), true);
        let from_afar = far.product.part(window, frame);
        let product = from_afar.mean(&near.product);
        // What lies beyond is read from afar alone: seen close, a room loses what shows that it is one.
        let beyond = far.beyond;
        let ends = usable::end_in_view(&beyond);
        let found = subject::read(&product, subject::LEVEL, window);
        let area = found.as_ref().map(|f| f.area);
        let sight = Sight {
            frame,
            subject: area.map(|a| a.rounded(frame)),
            tilt: ends.then(|| usable::tilt(&beyond, frame)).flatten(),
            usable: ends.then(|| usable::usable(&beyond, area, frame)).flatten(),
            evidence: Evidence::default(),
        };
        let Some(found) = found else {
            return sight;
        };
        let read = |m: &map::Map, level, over| subject::read(m, level, over).map(|r| r.area);
        let (one, two) = (
            read(&far.product, subject::LEVEL, whole),
            read(&near.product, subject::LEVEL, window),
        );
        let unsure = |p: f32| p.min(1.0 - p);
        let differ = |a: f32, b: f32| (a - b).abs();
        let room = beyond.map(|p| if p < ROOM_FROM { 0.0 } else { p });
        let mass = f64::from(product.sum()).max(1.0);
        let evidence = Evidence {
            area: Some(found.area),
            others: [subject::FAINTEST, 0.25, 0.75, 0.9]
                .into_iter()
                .map(|level| read(&product, level, window))
                .chain([one, two])
                .flatten()
                .collect(),
            left_out: found.left_out,
            certainty: found.certainty,
            mirror: one.zip(two).map_or(0.0, |(a, b)| a.iou(b)),
            dispute: f64::from(from_afar.zip(&near.product, differ).sum()) / mass,
            blur: f64::from(product.map(unsure).sum()) / mass,
            beyond: ends.then(|| Sums::of(&room)),
            near: ends.then(|| Sums::of(&room.grown())),
            faint: Some(Sums::of(&beyond)),
            doubt: Some(Sums::of(&beyond.map(unsure))),
            beyond_dispute: f64::from(beyond.part(window, frame).zip(&near.beyond, differ).sum())
                / beyond.cells().len() as f64,
            rivals: (
                subject::rival(&far.product, subject::FAINTEST),
                subject::rival(&near.product, subject::LEVEL),
            ),
        };
        Sight { evidence, ..sight }
    }
}

//! A profile: the rule set for one kind of output, as the rooms below read it.
//! Owns the meaning and the default of each key; refuses to know the file it came from.

use serde::{Deserialize, Serialize};

use crate::base::geometry::Shape;

/// Quality bounds of the search for one output.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Quality {
    /// Lowest JPEG quality ever used, 1 to 100.
    pub floor: u8,
    /// Highest JPEG quality ever used, 1 to 100.
    pub ceiling: u8,
    /// SSIMULACRA2 score that is enough, 0 to 100 (the metric's own scale).
    pub target: f64,
}
impl Default for Quality {
    fn default() -> Self {
        Self {
            floor: 70,
            ceiling: 92,
            target: 88.0,
        }
    }
}

/// What to do when the product fits no crop of the shape even without margin.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Tight {
    #[default]
    Hold,
    Extend,
}

/// How the air of one listing's photos relates.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Set {
    /// Each photo by itself.
    #[default]
    Free,
    /// The same air through a listing.
    Even,
}

/// File format of an output.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Format {
    #[default]
    Jpeg,
    Webp,
    Png,
}
impl Format {
    pub fn extension(self) -> &'static str {
        match self {
            Self::Jpeg => "jpg",
            Self::Webp => "webp",
            Self::Png => "png",
        }
    }
}

/// One profile, checked. All fractions are of the crop's short side unless said otherwise.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Profile {
    pub name: String,
    pub shape: Shape,
    /// px aimed at on the short side; never enlarged.
    pub short_side: u32,
    /// px; fewer is held.
    pub short_side_min: u32,
    /// bytes; an output is never over it.
    pub max_bytes: u64,
    pub quality: Quality,
    /// The product's longer side relative to the crop's, 0 to 1.
    pub fill: f64,
    /// Least air around the product, fraction of the crop's short side, 0 to 0.4.
    pub margin: f64,
    pub thumbnails: Vec<Shape>,
    pub tight: Tight,
    /// Globs of inbox-relative paths.
    #[serde(rename = "for")]
    pub applies_to: Vec<String>,
    /// Output sharpening after reduction, 0 to 1.
    pub sharpen: f64,
    pub set: Set,
    pub format: Format,
    /// sRGB colour laid under transparency.
    pub backdrop: [u8; 3],
    /// Remarks hold.
    pub strict: bool,
    /// Photos a listing should have; 0 for no wish.
    pub wish: u32,
}

impl Profile {
    /// One line that says everything that shapes an output, numbers with six decimals. A key that
    /// comes later is written only where it is not at its default, so that an upgrade by itself
    /// changes no line.
    pub fn canonical(&self, imprint: &Imprint) -> String {
        let list = |shapes: &[Shape]| {
            let all: Vec<String> = shapes.iter().map(Shape::to_string).collect();
            all.join(",")
        };
        let q = self.quality;
        let [r, g, b] = self.backdrop;
        let mut line = format!(
            "shape={} short_side={}..{} max_bytes={} quality={}..{}/{:.6} fill={:.6} margin={:.6} \
             thumbnails={} tight={:?} sharpen={:.6} set={:?} format={:?} backdrop={r},{g},{b} strict={}",
            self.shape,
            self.short_side_min,
            self.short_side,
            self.max_bytes,
            q.floor,
            q.ceiling,
            q.target,
            self.fill,
            self.margin,
            list(&self.thumbnails),
            self.tight,
            self.sharpen,
            self.set,
            self.format,
            self.strict,
        );
        if *imprint != Imprint::default() {
            line += &format!(
                " credit={:?} copyright={:?} keep_time={}",
                imprint.credit, imprint.copyright, imprint.keep_time
            );
        }
        line
    }
}

impl Default for Profile {
    fn default() -> Self {
        Self {
            name: "listing".into(),
            shape: Shape::Ratio(4, 3),
            short_side: 2000,
            short_side_min: 1500,
            max_bytes: 1_000_000,
            quality: Quality::default(),
            fill: 0.6,
            margin: 0.06,
            thumbnails: vec![Shape::Ratio(1, 1), Shape::Ratio(5, 4)],
            tight: Tight::Hold,
            applies_to: vec!["**".into()],
            sharpen: 0.3,
            set: Set::Free,
            format: Format::Jpeg,
            backdrop: [255, 255, 255],
            strict: false,
            wish: 0,
        }
    }
}

/// What is put into every output, and nothing else is.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Imprint {
    pub credit: String,
    pub copyright: String,
    pub keep_time: bool,
}

/// Bounds that protect the machine from strange files; every one is checked before allocation.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limits {
    /// Most pixels of a photo (default 300 MP).
    pub pixels: u64,
    /// Most bytes of an ICC profile (default 4 MiB).
    pub icc_bytes: usize,
}
impl Default for Limits {
    fn default() -> Self {
        Self {
            pixels: 300_000_000,
            icc_bytes: 4 << 20,
        }
    }
}

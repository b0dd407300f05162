//! What the pure rooms decide and are told, in the form in which it crosses to a worker and back.
//! Owns that form alone; refuses to know what it means.

use serde::{Deserialize, Serialize};

use crate::base::geometry::Rect;
use crate::checks::Measures;
use crate::config::correction;
use crate::config::profile::Profile;
use crate::framing::{Air, Correction, Extension, Span};

/// What is said of one photo beside a profile: her word, and its listing's air.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct WireCorrection {
    pub subject: Option<Rect>,
    pub crop: Option<Rect>,
    pub accept: bool,
    pub air: Option<WireAir>,
}

impl WireCorrection {
    /// What her word says for one profile.
    pub fn of(word: Option<&correction::Correction>, profile: &Profile) -> Self {
        word.map_or_else(Self::default, |w| Self {
            subject: w.subject,
            crop: w.crops.get(&profile.name).copied(),
            accept: w.accept,
            air: None,
        })
    }
    /// The same with the air that was decided for its listing.
    pub fn with_air(self, air: Option<Air>) -> Self {
        Self {
            air: air.map(WireAir::from),
            ..self
        }
    }
}

impl From<&WireCorrection> for Correction {
    fn from(c: &WireCorrection) -> Self {
        Self {
            subject: c.subject,
            crop: c.crop,
            accept: c.accept,
            air: c.air.map(Air::from),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum WireAir {
    Common(f64),
    First(f64),
    Own(f64),
}

impl From<Air> for WireAir {
    fn from(a: Air) -> Self {
        match a {
            Air::Common(fill) => Self::Common(fill),
            Air::First(fill) => Self::First(fill),
            Air::Own(fill) => Self::Own(fill),
        }
    }
}
impl From<WireAir> for Air {
    fn from(a: WireAir) -> Self {
        match a {
            WireAir::Common(fill) => Self::Common(fill),
            WireAir::First(fill) => Self::First(fill),
            WireAir::Own(fill) => Self::Own(fill),
        }
    }
}

#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct WireSpan {
    scale: f64,
    least: f64,
    own: f64,
    most: f64,
}

impl From<Span> for WireSpan {
    fn from(s: Span) -> Self {
        Self {
            scale: s.scale,
            least: s.least,
            own: s.own,
            most: s.most,
        }
    }
}
impl From<WireSpan> for Span {
    fn from(s: WireSpan) -> Self {
        Self {
            scale: s.scale,
            least: s.least,
            own: s.own,
            most: s.most,
        }
    }
}

/// How far the canvas is grown on each side, px of the source, on the wire and in the ledger.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct WireExtension {
    left: u32,
    top: u32,
    right: u32,
    bottom: u32,
}

impl From<Extension> for WireExtension {
    fn from(e: Extension) -> Self {
        Self {
            left: e.left,
            top: e.top,
            right: e.right,
            bottom: e.bottom,
        }
    }
}
impl From<WireExtension> for Extension {
    fn from(e: WireExtension) -> Self {
        Self {
            left: e.left,
            top: e.top,
            right: e.right,
            bottom: e.bottom,
        }
    }
}

/// What a careful eye measured, on the wire and in the ledger.
#[derive(Clone, Copy, Debug, Serialize, Deserialize)]
pub struct WireMeasures {
    sharpness: f64,
    burnt: f64,
    blocked: f64,
    cast: Option<f64>,
    tilt: Option<f64>,
    print: u64,
}

impl From<Measures> for WireMeasures {
    fn from(m: Measures) -> Self {
        Self {
            sharpness: m.sharpness,
            burnt: m.burnt,
            blocked: m.blocked,
            cast: m.cast,
            tilt: m.tilt,
            print: m.print,
        }
    }
}
impl From<WireMeasures> for Measures {
    fn from(m: WireMeasures) -> Self {
        Self {
            sharpness: m.sharpness,
            burnt: m.burnt,
            blocked: m.blocked,
            cast: m.cast,
            tilt: m.tilt,
            print: m.print,
        }
    }
}

//! How probable it is that she would accept a crop. Owns the signals and their weights; refuses to know
//! verdicts.
//!
//! Logistic regression (Cox, 1958) on signs of agreement, fitted on scenes that the network was not
//! trained on by `training/calibrate.py`.

use super::Evidence;
use super::area::Area;
use super::search::Standing;
use crate::base::geometry::Rect;

/// Confidence below which a crop is for her eye, and a looser one is taken.
pub const GLANCE_BELOW: f64 = 0.8;

/// Names of the signals, in order; all lie between 0 and 1.
pub const NAMES: [&str; 9] = [
    "stands under other readings",
    "least overlap of other readings",
    "overlap with the mirrored look",
    "left out",
    "certainty",
    "room in the crop",
    "doubt about the surface's end",
    "air",
    "off centre",
];

const WEIGHTS: [f64; NAMES.len()] = [2.0, 3.0, 1.0, -2.0, 2.0, -1.0, -1.0, 0.5, -0.5];
const BIAS: f64 = -4.0;

/// The signals of one crop.
pub fn signals(evidence: &Evidence, crop: Rect, standing: &Standing) -> Vec<f64> {
    let c = Area::from(crop);
    let subject = evidence.area.unwrap_or(c);
    let stands = |a: &&Area| {
        let ((cx, cy), (ax, ay)) = (c.centre(), a.centre());
        let air = ((a.x0 - c.x0) / c.w())
            .min((a.y0 - c.y0) / c.h())
            .min((c.x1 - a.x1) / c.w())
            .min((c.y1 - a.y1) / c.h());
        air >= 0.02 && ((ax - cx) / c.w()).hypot((ay - cy) / c.h()) <= 0.1
    };
    let n = evidence.others.len().max(1) as f64;
    vec![
        evidence.others.iter().filter(stands).count() as f64 / n,
        evidence
            .others
            .iter()
            .map(|a| a.iou(subject))
            .fold(1.0, f64::min),
        evidence.mirror,
        evidence.left_out,
        evidence.certainty,
        (standing.room * 50.0).min(1.0),
        (evidence.doubt * 20.0).min(1.0),
        (standing.air * 10.0).clamp(0.0, 1.0),
        (standing.off_centre * 5.0).min(1.0),
    ]
}

/// Probability that the crop is one she would accept.
pub fn probability(signals: &[f64]) -> f64 {
    let z: f64 = BIAS + WEIGHTS.iter().zip(signals).map(|(w, s)| w * s).sum::<f64>();
    1.0 / (1.0 + (-z).exp())
}

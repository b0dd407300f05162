//! How probable it is that she would accept a crop. Owns the signals and their weights; refuses to know
//! verdicts.
//!
//! Logistic regression (Cox, 1958) on signs of agreement, fitted on scenes that the network was not
//! trained on by `training/calibrate.py`.

use super::Evidence;
use super::area::Area;
use super::calibrated::{BIAS, WEIGHTS};
use super::map::Sums;
use super::search::Standing;
use crate::base::geometry::{Rect, Size};

/// Confidence below which a crop is for her eye, and a looser one is taken.
pub const GLANCE_BELOW: f64 = 0.8;

/// Names of the signals, in order; all lie between 0 and 1.
pub const NAMES: [&str; 17] = [
    "stands under other readings",
    "least overlap of other readings",
    "overlap of the two looks",
    "left out",
    "certainty",
    "dispute about the product",
    "blur of the product's outline",
    "room in the crop",
    "faint room in the crop",
    "doubt about room in the crop",
    "dispute about the room",
    "air",
    "off centre",
    "size in the frame",
    "distance from the frame's middle",
    "rival seen from afar",
    "rival seen close",
];

/// The signals of one crop.
pub fn signals(evidence: &Evidence, frame: Size, crop: Rect, standing: &Standing) -> Vec<f64> {
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
    let over = |map: &Option<Sums>| map.as_ref().map_or(0.0, |m| m.mean_over(c, frame));
    let (w, h) = (f64::from(frame.w), f64::from(frame.h));
    let (sx, sy) = subject.centre();
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
        evidence.dispute.min(1.0),
        evidence.blur.min(1.0),
        (standing.room * 50.0).min(1.0),
        (over(&evidence.faint) * 20.0).min(1.0),
        (over(&evidence.doubt) * 20.0).min(1.0),
        (evidence.beyond_dispute * 20.0).min(1.0),
        (standing.air * 10.0).clamp(0.0, 1.0),
        (standing.off_centre * 5.0).min(1.0),
        (subject.w() / w).max(subject.h() / h),
        (sx / w - 0.5).hypot(sy / h - 0.5).min(1.0),
        evidence.rivals.0,
        evidence.rivals.1,
    ]
}

/// Probability that the crop is one she would accept.
pub fn probability(signals: &[f64]) -> f64 {
    let z: f64 = BIAS + WEIGHTS.iter().zip(signals).map(|(w, s)| w * s).sum::<f64>();
    1.0 / (1.0 + (-z).exp())
}

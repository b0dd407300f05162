//! Weights of the confidence, written by `training/calibrate.py`; nothing here is set by hand.
//! Fitted on 1593 crops of 557 scenes, 90.0% of them ready.

/// One weight for each of the signals, in their order.
pub const WEIGHTS: [f64; 17] = [
    1.0638, 3.5995, 0.0238, -0.5109, 2.1118, 0.0000, -0.6610, 0.0000, 0.0000, 0.0000, -1.0422,
    0.0000, -0.0106, -0.5292, 0.7099, 0.0000, 0.0000,
];
pub const BIAS: f64 = -3.7013;

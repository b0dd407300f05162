//! Weights of the confidence, written by `training/calibrate.py`; nothing here is set by hand.
//! Fitted on 449 crops of 156 scenes, 82.4% of them ready.

/// One weight for each of the signals, in their order.
pub const WEIGHTS: [f64; 15] = [
    1.4932, 2.6233, 1.5939, 0.0000, 2.5552, -0.0379, -1.6033, -0.1741, 0.0000, 0.0000, -0.7141,
    0.4017, 0.0000, 0.1008, 0.2495,
];
pub const BIAS: f64 = -5.3077;

//! The Gaussian of SSIMULACRA2 (Charalampidis 2016, sigma 1.5). Owns its recursions along a row and
//! down the columns; refuses to know pictures.
//!
//! Each step is rounded once (`Fused`): with two roundings the score would be up to 2 lower on
//! smooth pictures, without the recursion's errors up to 3 higher: they are part of the published
//! scale.

use crate::render::wide::{Fused, widest};

pub const RADIUS: usize = 5;
/// Rows and columns that it looks ahead.
pub const REACH: usize = RADIUS - 1;
/// Noughts before a row: the recursion starts `REACH` places early and looks back.
pub const BEFORE: usize = 2 * RADIUS;
/// Its three oscillators: weight of what comes in, and twice the cosine of their angle.
const INPUT: [f32; 3] = [0.055_295_236, -0.058_836_687, 0.012_955_819];
const TURN: [f32; 3] = [1.902_113, 1.175_570_5, 0.0];

/// Four values side by side: both pictures, the sum of their squares, their product.
pub type Four = [f32; 4];

widest! {
    /// Lays two rows side by side with the sum of their squares and their product.
    pub fn paired(out: &mut [Four], a: &[f32], b: &[f32]) = paired_in
}

#[inline(always)]
fn paired_in<F: Fused>(out: &mut [Four], a: &[f32], b: &[f32]) {
    for ((to, &a), &b) in out.iter_mut().zip(a).zip(b) {
        *to = [a, b, a * a + b * b, a * b];
    }
}

widest! {
    /// The recursion along one row. `padded` has noughts before and after.
    pub fn along(padded: &[Four], out: &mut [Four]) = along_in
}

#[inline(always)]
fn along_in<F: Fused>(padded: &[Four], out: &mut [Four]) {
    let (mut before, mut last) = ([[0.0f32; 4]; 3], [[0.0f32; 4]; 3]);
    let entering = padded[2 * RADIUS..].iter();
    for (at, (l, r)) in padded.iter().zip(entering).enumerate() {
        let mut now = [[0.0f32; 4]; 3];
        for i in 0..3 {
            for p in 0..4 {
                let sum = l[p] + r[p];
                now[i][p] = F::fused(TURN[i], last[i][p], INPUT[i] * sum - before[i][p]);
            }
        }
        (before, last) = (last, now);
        if let Some(o) = at.checked_sub(REACH).and_then(|x| out.get_mut(x)) {
            for p in 0..4 {
                o[p] = now[0][p] + (now[1][p] + now[2][p]);
            }
        }
    }
}

/// The state of the recursion down all columns.
pub struct Columns {
    before: [Vec<Four>; 3],
    last: [Vec<Four>; 3],
    pub whole: Vec<Four>,
    nought: Vec<Four>,
}

impl Columns {
    pub fn new(w: usize) -> Self {
        let row = || vec![[0.0; 4]; w];
        Self {
            before: std::array::from_fn(|_| row()),
            last: std::array::from_fn(|_| row()),
            whole: row(),
            nought: row(),
        }
    }

    /// One step down: `entering` is the row `REACH` ahead, `leaving` the one `2 * RADIUS` before
    /// it; `None` beyond the picture. The blurred row is in `whole`.
    pub fn step(&mut self, entering: Option<&[Four]>, leaving: Option<&[Four]>) {
        let nought = &self.nought[..];
        for i in 0..3 {
            std::mem::swap(&mut self.before[i], &mut self.last[i]);
        }
        // `before` holds the last row now, and `last`, the one before it, is overwritten.
        let [b0, b1, b2] = &self.before;
        let [l0, l1, l2] = &mut self.last;
        down(
            entering.unwrap_or(nought).as_flattened(),
            leaving.unwrap_or(nought).as_flattened(),
            [b0.as_flattened(), b1.as_flattened(), b2.as_flattened()],
            [
                l0.as_flattened_mut(),
                l1.as_flattened_mut(),
                l2.as_flattened_mut(),
            ],
            self.whole.as_flattened_mut(),
        );
    }
}

widest! {
    fn down(
        entering: &[f32],
        leaving: &[f32],
        before: [&[f32]; 3],
        last: [&mut [f32]; 3],
        out: &mut [f32],
    ) = down_in
}

#[inline(always)]
fn down_in<F: Fused>(
    entering: &[f32],
    leaving: &[f32],
    before: [&[f32]; 3],
    last: [&mut [f32]; 3],
    out: &mut [f32],
) {
    let n = out.len();
    let (entering, leaving) = (&entering[..n], &leaving[..n]);
    let [b0, b1, b2] = before;
    let (b0, b1, b2) = (&b0[..n], &b1[..n], &b2[..n]);
    let [l0, l1, l2] = last;
    let (l0, l1, l2) = (&mut l0[..n], &mut l1[..n], &mut l2[..n]);
    for x in 0..n {
        let sum = entering[x] + leaving[x];
        l0[x] = F::fused(TURN[0], b0[x], INPUT[0] * sum - l0[x]);
        l1[x] = F::fused(TURN[1], b1[x], INPUT[1] * sum - l1[x]);
        l2[x] = F::fused(TURN[2], b2[x], INPUT[2] * sum - l2[x]);
        out[x] = l0[x] + (l1[x] + l2[x]);
    }
}

//! The Gaussian of SSIMULACRA2 (Charalampidis 2016, sigma 1.5). Owns its recursions along a row and
//! down the columns; refuses to know pictures.
//!
//! Each step is rounded where the published program rounds it: its errors are part of the scale.
//! With two roundings a step the score would be up to 2 lower on smooth pictures, without any error
//! up to 3 higher.

use crate::render::wide::{Fused, widest};

pub const RADIUS: usize = 5;
/// Rows and columns that it looks ahead.
pub const REACH: usize = RADIUS - 1;
/// Noughts before a row: the recursion starts `REACH` places early and looks back.
pub const BEFORE: usize = 2 * RADIUS;
/// Its three oscillators: weight of what comes in, and twice the cosine of their angle.
const INPUT: [f64; 3] = [
    0.055_295_235_726_086_62,
    -0.058_836_687_026_949_99,
    0.012_955_819_110_517_11,
];
const TURN: [f64; 3] = [1.902_113_032_590_307, 1.175_570_504_584_946_3, 0.0];

/// What is blurred: both pictures, their squares, their product.
pub const PLANES: usize = 5;
/// The five of one pixel, and three idle ones, so that they fill a vector.
pub type Lanes = [f32; LANES];
const LANES: usize = 8;

widest! {
    /// Lays two rows side by side with their squares and their product.
    pub fn paired(out: &mut [Lanes], a: &[f32], b: &[f32]) = paired_in
}

#[inline(always)]
fn paired_in<F: Fused>(out: &mut [Lanes], a: &[f32], b: &[f32]) {
    for ((to, &a), &b) in out.iter_mut().zip(a).zip(b) {
        *to = [a, b, a * a, b * b, a * b, 0.0, 0.0, 0.0];
    }
}

/// Places that are made at once in the middle of a row.
const STEPS: usize = 4;
/// From here on they are.
const ALIGNED: usize = 8;

/// Weights of one oscillator, `STEPS` steps ahead: of what comes in, of the last value, of the one
/// before it.
struct Ahead {
    input: [f32; STEPS],
    last: [f32; STEPS],
    before: [f32; STEPS],
}

const AHEAD: [Ahead; 3] = [ahead(0), ahead(1), ahead(2)];

const fn ahead(oscillator: usize) -> Ahead {
    let (n, d) = (INPUT[oscillator], -TURN[oscillator]);
    let d2 = d * d;
    Ahead {
        input: [
            n as f32,
            (-d * n) as f32,
            (d2 * n - n) as f32,
            (-d2 * d * n + 2.0 * d * n) as f32,
        ],
        last: [
            -d as f32,
            (d2 - 1.0) as f32,
            (-d2 * d + 2.0 * d) as f32,
            (d2 * d2 - 3.0 * d2 + 1.0) as f32,
        ],
        before: [
            -1.0,
            d as f32,
            (-d2 + 1.0) as f32,
            (d2 * d - 2.0 * d) as f32,
        ],
    }
}

widest! {
    /// The recursion along one row. `padded` has noughts before and after; `out` is `PLANES` rows,
    /// one after the other.
    pub fn along(padded: &[Lanes], out: &mut [f32]) = along_in
}

#[inline(always)]
fn along_in<F: Fused>(padded: &[Lanes], out: &mut [f32]) {
    let w = padded.len() - BEFORE - REACH;
    let mut planes = out[..PLANES * w].chunks_exact_mut(w);
    let mut planes: [&mut [f32]; PLANES] =
        std::array::from_fn(|_| planes.next().unwrap_or_default());
    let mut state = [[[0.0f32; LANES]; 2]; 3];
    let [first, second, third] = &mut state;
    let mut at = 0;
    while at < w + REACH {
        if at >= REACH + ALIGNED && at + STEPS <= w {
            let (left, right) = (&padded[at..][..STEPS], &padded[at + BEFORE..][..STEPS]);
            let mut sums = [[0.0f32; LANES]; STEPS];
            for ((sum, l), r) in sums.iter_mut().zip(left).zip(right) {
                *sum = added(l, r);
            }
            let a = some::<F>(&AHEAD[0], &sums, first);
            let b = some::<F>(&AHEAD[1], &sums, second);
            let c = some::<F>(&AHEAD[2], &sums, third);
            let mut whole = [[0.0f32; LANES]; STEPS];
            for j in 0..STEPS {
                whole[j] = added(&a[j], &added(&b[j], &c[j]));
            }
            for (p, plane) in planes.iter_mut().enumerate() {
                let to = &mut plane[at - REACH..][..STEPS];
                for j in 0..STEPS {
                    to[j] = whole[j][p];
                }
            }
            at += STEPS;
        } else {
            let sum = added(&padded[at], &padded[at + BEFORE]);
            let a = one::<F>(&AHEAD[0], &sum, first);
            let b = one::<F>(&AHEAD[1], &sum, second);
            let c = one::<F>(&AHEAD[2], &sum, third);
            let whole = added(&a, &added(&b, &c));
            if at >= REACH {
                for (plane, v) in planes.iter_mut().zip(whole) {
                    plane[at - REACH] = v;
                }
            }
            at += 1;
        }
    }
}

/// One step of an oscillator; `state` holds its last value and the one before.
#[inline(always)]
fn one<F: Fused>(by: &Ahead, sum: &Lanes, state: &mut [Lanes; 2]) -> Lanes {
    let [last, before] = *state;
    let mut v = [0.0f32; LANES];
    for p in 0..LANES {
        v[p] = by.input[0] * sum[p] - before[p];
    }
    let now = fused::<F>(by.last[0], &last, &v);
    *state = [now, last];
    now
}

/// `STEPS` steps of an oscillator, all from the state before the first.
#[inline(always)]
fn some<F: Fused>(by: &Ahead, sums: &[Lanes; STEPS], state: &mut [Lanes; 2]) -> [Lanes; STEPS] {
    let [last, before] = *state;
    let mut out = [[0.0f32; LANES]; STEPS];
    for (j, out) in out.iter_mut().enumerate() {
        let mut v = [0.0f32; LANES];
        for p in 0..LANES {
            v[p] = by.input[j] * sums[0][p];
        }
        for (sum, input) in sums[1..=j].iter().zip(by.input[..j].iter().rev()) {
            v = fused::<F>(*input, sum, &v);
        }
        v = fused::<F>(by.before[j], &before, &v);
        *out = fused::<F>(by.last[j], &last, &v);
    }
    *state = [out[STEPS - 1], out[STEPS - 2]];
    out
}

#[inline(always)]
fn added(a: &Lanes, b: &Lanes) -> Lanes {
    let mut out = [0.0f32; LANES];
    for p in 0..LANES {
        out[p] = a[p] + b[p];
    }
    out
}

#[inline(always)]
fn fused<F: Fused>(by: f32, a: &Lanes, b: &Lanes) -> Lanes {
    let mut out = [0.0f32; LANES];
    for p in 0..LANES {
        out[p] = F::fused(by, a[p], b[p]);
    }
    out
}

/// The state of the recursion down all columns of `PLANES` rows.
pub struct Columns {
    before: [Vec<f32>; 3],
    last: [Vec<f32>; 3],
    pub whole: Vec<f32>,
    nought: Vec<f32>,
}

impl Columns {
    pub fn new(w: usize) -> Self {
        let row = || vec![0.0; w * PLANES];
        Self {
            before: std::array::from_fn(|_| row()),
            last: std::array::from_fn(|_| row()),
            whole: row(),
            nought: row(),
        }
    }

    /// One step down: `entering` is the row `REACH` ahead, `leaving` the one `2 * RADIUS` before
    /// it; `None` beyond the picture. The blurred row is in `whole`.
    pub fn step(&mut self, entering: Option<&[f32]>, leaving: Option<&[f32]>) {
        let nought = &self.nought[..];
        for i in 0..3 {
            std::mem::swap(&mut self.before[i], &mut self.last[i]);
        }
        // `before` holds the last row now, and `last`, the one before it, is overwritten.
        let [b0, b1, b2] = &self.before;
        let [l0, l1, l2] = &mut self.last;
        down(
            entering.unwrap_or(nought),
            leaving.unwrap_or(nought),
            [b0, b1, b2],
            [l0, l1, l2],
            &mut self.whole,
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
    let turned = |i: usize, sum: f32, last: f32, before: f32| {
        let by = &AHEAD[i];
        F::fused(by.input[0], sum, F::fused(by.last[0], last, -before))
    };
    for x in 0..n {
        let sum = entering[x] + leaving[x];
        l0[x] = turned(0, sum, b0[x], l0[x]);
        l1[x] = turned(1, sum, b1[x], l1[x]);
        l2[x] = turned(2, sum, b2[x], l2[x]);
        out[x] = l0[x] + (l1[x] + l2[x]);
    }
}

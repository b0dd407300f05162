//! The pooling of SSIMULACRA2: what is summed at each scale and channel, and how much it weighs.
//! Owns the numbers; refuses to know pictures.

use crate::render::blur::PLANES;
use crate::render::wide::{Fused, widest};

/// Weights of one channel at one scale: mean and fourth norm of structure, artefacts and lost
/// detail. Nought means that it is not looked at.
#[derive(Clone, Copy, Debug, Default)]
pub struct Wanted {
    structure: [f64; 2],
    artefacts: [f64; 2],
    lost: [f64; 2],
}

impl Wanted {
    const fn none() -> Self {
        Self::of([0.0; 2], [0.0; 2], [0.0; 2])
    }
    const fn of(structure: [f64; 2], artefacts: [f64; 2], lost: [f64; 2]) -> Self {
        Self {
            structure,
            artefacts,
            lost,
        }
    }
    pub fn any(&self) -> bool {
        self.structure() || self.artefacts() || self.lost()
    }
    pub fn structure(&self) -> bool {
        self.structure != [0.0; 2]
    }
    pub fn artefacts(&self) -> bool {
        self.artefacts != [0.0; 2]
    }
    pub fn lost(&self) -> bool {
        self.lost != [0.0; 2]
    }
}

/// The published weights over 0.003, by scale, then X, Y and B. The sixth scale has none.
#[rustfmt::skip]
pub const WEIGHTS: [[Wanted; 3]; 5] = [
    [
        Wanted::none(),
        Wanted::of([0.0, 7.466890328078848], [0.0, 0.0], [0.0, 17.445833984131262]),
        Wanted::none(),
    ],
    [
        Wanted::of([0.0, 1.1041726426657346], [0.0, 0.0], [0.0, 0.0]),
        Wanted::of([0.0, 6.683678146179332], [0.0, 0.0], [0.0, 1.027889937768264]),
        Wanted::none(),
    ],
    [
        Wanted::of([0.0, 1.8422455520539298], [0.0, 11.441172603757666], [0.0, 0.0]),
        Wanted::of([225.20515300849274, 19.213238186143016], [0.0, 0.0], [0.0, 0.0]),
        Wanted::none(),
    ],
    [
        Wanted::of([0.0, 1.8787594979546387], [0.0, 10.94906990605142], [0.0, 0.0]),
        Wanted::of([176.39317598450694, 24.43300999870476], [0.0, 0.28520802612117757], [0.0, 0.0]),
        Wanted::of([0.0, 8.826982764996862], [0.0, 23.19243343998926], [0.0, 0.0]),
    ],
    [
        Wanted::of([0.0, 0.0], [0.9677937080626833, 0.9981766977854967], [0.0, 0.0]),
        Wanted::of([0.0, 34.77906344483772], [0.0, 44.835625328877896], [0.0, 0.0]),
        Wanted::of([95.1080498811086, 0.0], [0.9863978034400682, 171.2667255897307], [0.9834382792465353, 0.9807858872435379]),
    ],
];

/// Sums and sums of fourth powers over the pixels of one channel at one scale.
#[derive(Clone, Copy, Debug, Default)]
pub struct Sums {
    structure: [f64; 2],
    artefacts: [f64; 2],
    lost: [f64; 2],
}

/// Sums are kept in this many places side by side within a row, so that they can be vectorised.
const LANES: usize = 8;

impl Sums {
    /// Adds one row. `blurred` holds the rows of both pictures, of their squares and of their
    /// product; `a` and `b` are the pictures as they are.
    pub fn row(&mut self, wanted: &Wanted, blurred: &[f32], a: &[f32], b: &[f32]) {
        let planes: [&[f32]; PLANES] = {
            let mut rows = blurred.chunks_exact(a.len());
            std::array::from_fn(|_| rows.next().unwrap_or_default())
        };
        if wanted.structure() {
            structure(&mut self.structure, planes);
        }
        if wanted.artefacts() {
            edges(&mut self.artefacts, planes, a, b, 1.0);
        }
        if wanted.lost() {
            edges(&mut self.lost, planes, a, b, -1.0);
        }
    }

    /// The share of the score's sum, for `n` pixels.
    pub fn weighed(&self, wanted: &Wanted, n: f64) -> f64 {
        let pooled = |s: &[f64; 2], w: &[f64; 2]| w[0] * s[0] / n + w[1] * (s[1] / n).sqrt().sqrt();
        pooled(&self.structure, &wanted.structure)
            + pooled(&self.artefacts, &wanted.artefacts)
            + pooled(&self.lost, &wanted.lost)
    }
}

widest! {
    fn structure(to: &mut [f64; 2], blurred: [&[f32]; PLANES]) = structure_in
}

#[inline(always)]
fn structure_in<F: Fused>(to: &mut [f64; 2], blurred: [&[f32]; PLANES]) {
    const C2: f32 = 0.0009;
    let n = blurred[0].len();
    let [mean_a, mean_b, square_a, square_b, product] = blurred.map(|row| &row[..n]);
    add(to, n, |i| {
        let (m1, m2) = (mean_a[i], mean_b[i]);
        let d = m1 - m2;
        let top = 2.0 * (product[i] - m1 * m2) + C2;
        let low = (square_a[i] - m1 * m1) + (square_b[i] - m2 * m2) + C2;
        (1.0 - (1.0 - d * d) * top / low).max(0.0)
    });
}

widest! {
    /// What is added (`sign` 1) or lost (-1) of each pixel's difference to its surroundings.
    fn edges(to: &mut [f64; 2], blurred: [&[f32]; PLANES], a: &[f32], b: &[f32], sign: f32) = edges_in
}

#[inline(always)]
fn edges_in<F: Fused>(
    to: &mut [f64; 2],
    blurred: [&[f32]; PLANES],
    a: &[f32],
    b: &[f32],
    sign: f32,
) {
    let n = a.len();
    let (b, m1, m2) = (&b[..n], &blurred[0][..n], &blurred[1][..n]);
    add(to, n, |i| {
        let more = (1.0 + (b[i] - m2[i]).abs()) / (1.0 + (a[i] - m1[i]).abs()) - 1.0;
        (sign * more).max(0.0)
    });
}

#[inline(always)]
fn add(to: &mut [f64; 2], n: usize, value: impl Fn(usize) -> f32) {
    let (mut sum, mut fourth) = ([0.0f32; LANES], [0.0f32; LANES]);
    let whole = n / LANES * LANES;
    for start in (0..whole).step_by(LANES) {
        for l in 0..LANES {
            let v = value(start + l);
            sum[l] += v;
            let square = v * v;
            fourth[l] += square * square;
        }
    }
    for i in whole..n {
        let v = f64::from(value(i));
        to[0] += v;
        to[1] += v.powi(4);
    }
    to[0] += sum.iter().map(|&v| f64::from(v)).sum::<f64>();
    to[1] += fourth.iter().map(|&v| f64::from(v)).sum::<f64>();
}

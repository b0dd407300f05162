//! Whether two photos show nearly the same. Owns the perceptual print; refuses to choose between them.

use std::f64::consts::PI;

use super::reduced;
use crate::base::geometry::{Rect, Size};
use crate::photo::raster::Raster;

/// Cells of the reduced picture along each side.
const CELLS: usize = 32;
/// Frequencies kept along each direction.
const KEPT: usize = 8;
/// Bits of 63 that may differ between near twins. Measured (`cargo bench --bench checks`, 72 scenes): a camera
/// moved by 1 or 3 % of the frame changes 2 at the median, by 8 % 8; of two other scenes 19 in 20 differ by 22
/// or more.
const NEAR: u32 = 8;

/// Perceptual print: signs of the low frequencies of a discrete cosine transform against their median
/// (Zauner, Implementation and Benchmarking of Perceptual Image Hash Functions, 2010).
///
/// Taken of the product and a little around it, so that it does not matter where in the frame it stands.
pub fn print(photo: &Raster, subject: Rect) -> u64 {
    let (w, h, luma) = reduced(photo, around(subject, photo.size()), 256);
    let mut cells = [[0.0; CELLS]; CELLS];
    for (j, row) in cells.iter_mut().enumerate() {
        for (i, cell) in row.iter_mut().enumerate() {
            let (x0, y0) = (i * w / CELLS, j * h / CELLS);
            let (x1, y1) = (
                ((i + 1) * w / CELLS).max(x0 + 1),
                ((j + 1) * h / CELLS).max(y0 + 1),
            );
            let part = (y0..y1).flat_map(|y| (x0..x1).map(move |x| (x, y)));
            let sum: f64 = part.map(|(x, y)| luma[y * w + x]).sum();
            *cell = sum / ((x1 - x0) * (y1 - y0)) as f64;
        }
    }
    let wave = |k: usize, t: usize| (PI * k as f64 * (t as f64 + 0.5) / CELLS as f64).cos();
    let mut low = Vec::with_capacity(KEPT * KEPT);
    for v in 0..KEPT {
        for u in 0..KEPT {
            let rows = cells.iter().enumerate();
            let sum: f64 = rows
                .map(|(y, row)| {
                    let line: f64 = row.iter().enumerate().map(|(x, c)| c * wave(u, x)).sum();
                    line * wave(v, y)
                })
                .sum();
            low.push(sum);
        }
    }
    // The mean brightness says nothing about what is shown.
    let rest = &low[1..];
    let mut sorted = rest.to_vec();
    sorted.sort_by(f64::total_cmp);
    let median = sorted[sorted.len() / 2];
    rest.iter()
        .fold(0, |bits, c| bits << 1 | u64::from(*c > median))
}

/// The product's box grown by a sixth on each side, as far as the photo goes.
fn around(subject: Rect, size: Size) -> Rect {
    let (dx, dy) = (subject.w / 6, subject.h / 6);
    let (x, y) = (subject.x.saturating_sub(dx), subject.y.saturating_sub(dy));
    let right = (subject.right() + dx).min(size.w);
    let bottom = (subject.bottom() + dy).min(size.h);
    Rect::new(x, y, right - x, bottom - y)
}

/// Bits of 63 in which two prints differ.
pub fn apart(a: u64, b: u64) -> u32 {
    (a ^ b).count_ones()
}

pub fn are_near(a: u64, b: u64) -> bool {
    apart(a, b) <= NEAR
}

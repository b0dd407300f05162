//! Whether two photos show nearly the same. Owns the perceptual print; refuses to choose between them.

use std::f64::consts::PI;

use super::reduced;
use crate::photo::raster::Raster;

/// Cells of the reduced picture along each side.
const CELLS: usize = 32;
/// Frequencies kept along each direction.
const KEPT: usize = 8;
/// Bits of 63 that may differ between near twins: a few, as photos of one thing on one table are alike anyway.
/// Common practice, no source.
const NEAR: u32 = 5;

/// Perceptual print: signs of the low frequencies of a discrete cosine transform against their median
/// (Zauner, Implementation and Benchmarking of Perceptual Image Hash Functions, 2010).
pub fn print(photo: &Raster) -> u64 {
    let (w, h, luma) = reduced(photo, photo.size().frame(), 256);
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

pub fn are_near(a: u64, b: u64) -> bool {
    (a ^ b).count_ones() <= NEAR
}

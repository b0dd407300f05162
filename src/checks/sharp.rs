//! How sharp the product is. Owns the focus measure; refuses to know what is sharp enough.

use super::reduced;
use crate::base::geometry::Rect;
use crate::photo::raster::Raster;

/// Longer side at which products are compared, cells.
const LONG: u32 = 640;
/// Side of a tile, cells.
const TILE: usize = 16;

/// Variance of the Laplacian (Pech-Pacheco et al., ICPR 2000), over the sharpest tenth of the tiles: with a
/// shallow depth of field a good photo is sharp in a part of the product only.
pub fn sharpness(photo: &Raster, subject: Rect) -> f64 {
    let (w, h, luma) = reduced(photo, subject, LONG);
    if w < 3 || h < 3 {
        return 0.0;
    }
    let at = |x: usize, y: usize| luma[y * w + x];
    let mut tiles = Vec::new();
    for ty in (1..h - 1).step_by(TILE) {
        for tx in (1..w - 1).step_by(TILE) {
            let (mut n, mut sum, mut squares) = (0.0, 0.0, 0.0);
            for y in ty..(ty + TILE).min(h - 1) {
                for x in tx..(tx + TILE).min(w - 1) {
                    let l =
                        at(x - 1, y) + at(x + 1, y) + at(x, y - 1) + at(x, y + 1) - 4.0 * at(x, y);
                    n += 1.0;
                    sum += l;
                    squares += l * l;
                }
            }
            tiles.push(squares / n - (sum / n) * (sum / n));
        }
    }
    tiles.sort_by(f64::total_cmp);
    let best = &tiles[tiles.len() - tiles.len().div_ceil(10)..];
    best.iter().sum::<f64>() / best.len() as f64
}

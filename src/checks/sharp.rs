//! How sharp the product is. Owns the focus measure; refuses to know what is sharp enough.

use super::reduced;
use crate::base::geometry::Rect;
use crate::photo::raster::Raster;

/// Longer side at which products are compared, cells.
const LONG: u32 = 960;
/// Side of a tile, cells.
const TILE: usize = 16;
/// Length of the blur that a sharp picture cannot bear, cells.
const BLUR: usize = 5;
/// Cells along the border for which neighbours are missing.
const EDGE: usize = 1 + BLUR / 2;

/// Share of the steps between neighbours that a slight blur takes away, 0 (blurred already) to 1 (Crete et
/// al., The blur effect: perception and estimation with a new no-reference perceptual blur metric, SPIE 6492,
/// 2007, there as 1 less this), over a part of the product: of the quarter of the tiles with the strongest
/// steps the sharpest third, as with a shallow depth of field a good photo is sharp in places only. It does not
/// depend on brightness and contrast.
pub fn sharpness(photo: &Raster, subject: Rect) -> f64 {
    let (w, h, luma) = reduced(photo, subject, LONG);
    if w < 2 * EDGE + TILE || h < 2 * EDGE + TILE {
        return 0.0;
    }
    let mut sum = 0.0;
    for upright in [false, true] {
        let mut tiles = Vec::new();
        for y in (EDGE..=h - EDGE - TILE).step_by(TILE) {
            for x in (EDGE..=w - EDGE - TILE).step_by(TILE) {
                tiles.push(steps(&luma, w, (x, y, TILE, TILE), upright));
            }
        }
        tiles.sort_by(|a, b| b.0.total_cmp(&a.0));
        tiles.truncate(tiles.len().div_ceil(4));
        let mut kept: Vec<f64> = tiles
            .iter()
            .map(|(all, lost)| lost / all.max(1e-9))
            .collect();
        kept.sort_by(|a, b| b.total_cmp(a));
        kept.truncate(kept.len().div_ceil(3));
        sum += kept.iter().sum::<f64>() / kept.len() as f64;
    }
    sum / 2.0
}

/// Sum of the steps (Sobel) inside a part, left to right or upright, and how much of it a blur along the
/// same direction takes away. The part keeps `EDGE` cells from the border.
fn steps(luma: &[f64], w: usize, part: (usize, usize, usize, usize), upright: bool) -> (f64, f64) {
    let along = if upright { w } else { 1 };
    let across = if upright { 1 } else { w };
    let blurred = |i: usize| {
        let first = i - BLUR / 2 * along;
        (0..BLUR).map(|k| luma[first + k * along]).sum::<f64>() / BLUR as f64
    };
    let sobel = |at: &dyn Fn(usize) -> f64, i: usize| {
        let step = |i: usize| at(i + along) - at(i - along);
        (step(i - across) + 2.0 * step(i) + step(i + across)).abs()
    };
    let (mut all, mut lost) = (0.0, 0.0);
    let (x0, y0, pw, ph) = part;
    for y in y0..y0 + ph {
        for x in x0..x0 + pw {
            let i = y * w + x;
            let before = sobel(&|i| luma[i], i);
            all += before;
            lost += (before - sobel(&blurred, i)).max(0.0);
        }
    }
    (all, lost)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_blur_effect_is_what_scikit_image_says_of_the_same_picture() {
        // What skimage.measure.blur_effect(v, h_size=5, reduce_func=None) of scikit-image 0.26 computes for each
        // axis, summed over the cells that are counted here.
        let (w, h) = (128usize, 96usize);
        let mut v = Vec::new();
        for y in 0..h {
            for x in 0..w {
                let (fx, fy) = (x as f64, y as f64);
                let wave = 60.0 * (fx * fx / 300.0).sin() + 50.0 * (fy * fy / 500.0).cos();
                let raised = (30..60).contains(&y) && (40..90).contains(&x);
                let step = if raised { 40.0 } else { 0.0 };
                v.push(((127.0 + wave).floor() + step).clamp(0.0, 255.0));
            }
        }
        let part = (EDGE, EDGE, w - 2 * EDGE, h - 2 * EDGE);
        for (upright, theirs) in [(true, 0.889_351_155_728_5), (false, 0.696_747_803_969_1)] {
            let (all, lost) = steps(&v, w, part, upright);
            let ours = 1.0 - lost / all;
            assert!((ours - theirs).abs() < 1e-9, "{upright}: {ours} {theirs}");
        }
    }
}

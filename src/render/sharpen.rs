//! A mild sharpening after reduction. Owns how strong it may be; refuses to know sizes.

use crate::photo::raster::Raster;
use crate::render::wide::{Fused, widest};

/// Weight of the difference to the surroundings at strength 1.
const STRONGEST: f32 = 0.8;
/// Most that a pixel may leave the range of its 3x3 surroundings, of 255, at any strength: no halo.
const OVERSHOOT: f32 = 3.0;
/// Differences under this are grain, not detail, and are raised less.
const GRAIN: f32 = 3.0;

/// Raises the light of each pixel against its surroundings (a 3x3 binomial mean) by `strength`,
/// 0 to 1; colour differences stay as they are.
pub fn sharpen(picture: &mut Raster, strength: f64) {
    let amount = STRONGEST * strength.clamp(0.0, 1.0) as f32;
    let (w, h) = (picture.size().w as usize, picture.size().h as usize);
    if amount <= 0.0 || w < 3 || h < 3 {
        return;
    }
    // Three rows of light are kept, so that the picture can be changed in place.
    let pixels = picture.pixels_mut();
    let [mut above, mut here, mut below] = [vec![0.0; w], vec![0.0; w], vec![0.0; w]];
    let mut columns = std::array::from_fn(|_| vec![0.0; w + 2]);
    let [mut change, mut thrice] = [vec![0.0; w], vec![0.0; w * 3]];
    light(&pixels[..w * 3], &mut here);
    above.copy_from_slice(&here);
    for y in 0..h {
        if y + 1 < h {
            light(&pixels[(y + 1) * w * 3..(y + 2) * w * 3], &mut below);
        } else {
            below.copy_from_slice(&here);
        }
        columns_of([&above, &here, &below], &mut columns);
        let [mean, low, high] = &columns;
        changes(&here, [mean, low, high], &mut change, amount);
        for (three, c) in thrice.chunks_exact_mut(3).zip(&change) {
            three.fill(*c);
        }
        changed(&mut pixels[y * w * 3..(y + 1) * w * 3], &thrice);
        std::mem::swap(&mut above, &mut here);
        std::mem::swap(&mut here, &mut below);
    }
}

widest! {
    /// Light of a row (ITU-R BT.601).
    fn light(row: &[u8], out: &mut [f32]) = light_in
}

#[inline(always)]
fn light_in<F: Fused>(row: &[u8], out: &mut [f32]) {
    for (l, p) in out.iter_mut().zip(row.chunks_exact(3)) {
        *l = 0.299 * f32::from(p[0]) + 0.587 * f32::from(p[1]) + 0.114 * f32::from(p[2]);
    }
}

widest! {
    /// Mean, least and most of each column of three; both ends are there twice.
    fn columns_of(rows: [&[f32]; 3], out: &mut [Vec<f32>; 3]) = columns_in
}

#[inline(always)]
fn columns_in<F: Fused>(rows: [&[f32]; 3], out: &mut [Vec<f32>; 3]) {
    let w = rows[0].len();
    let [above, here, below] = rows.map(|r| &r[..w]);
    let [mean, low, high] = out;
    {
        let (mean, low, high) = (&mut mean[1..=w], &mut low[1..=w], &mut high[1..=w]);
        for x in 0..w {
            mean[x] = (above[x] + 2.0 * here[x] + below[x]) / 4.0;
            low[x] = above[x].min(here[x]).min(below[x]);
            high[x] = above[x].max(here[x]).max(below[x]);
        }
    }
    for column in [mean, low, high] {
        column[0] = column[1];
        column[w + 1] = column[w];
    }
}

widest! {
    /// By how much each pixel of a row changes, from the columns around it.
    fn changes(here: &[f32], columns: [&[f32]; 3], change: &mut [f32], amount: f32) = changes_in
}

#[inline(always)]
fn changes_in<F: Fused>(here: &[f32], columns: [&[f32]; 3], change: &mut [f32], amount: f32) {
    let w = change.len();
    let here = &here[..w];
    let [mean, low, high] = columns.map(|c| &c[..w + 2]);
    for x in 0..w {
        let around = (mean[x] + 2.0 * mean[x + 1] + mean[x + 2]) / 4.0;
        let detail = here[x] - around;
        let kept = detail * detail / (detail * detail + GRAIN * GRAIN);
        let floor = low[x].min(low[x + 1]).min(low[x + 2]) - OVERSHOOT;
        let ceiling = high[x].max(high[x + 1]).max(high[x + 2]) + OVERSHOOT;
        let to = (here[x] + amount * kept * detail).max(floor).min(ceiling);
        change[x] = to - here[x];
    }
}

widest! {
    fn changed(row: &mut [u8], change: &[f32]) = changed_in
}

#[inline(always)]
fn changed_in<F: Fused>(row: &mut [u8], change: &[f32]) {
    for (v, c) in row.iter_mut().zip(change) {
        *v = (f32::from(*v) + c + 0.5).clamp(0.0, 255.0) as i32 as u8;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::Size;

    fn soft_edge() -> Raster {
        let ramp = [60u8, 60, 60, 75, 120, 165, 180, 180, 180];
        let rows = (0..9).flat_map(|_| ramp.iter().flat_map(|&v| [v; 3]));
        Raster::new(Size::new(9, 9), rows.collect())
    }

    #[test]
    fn an_edge_grows_steeper_and_overshoots_by_three_levels_at_most() {
        let before = soft_edge();
        let mut after = before.clone();
        sharpen(&mut after, 1.0);
        let steep = |p: &Raster| i32::from(p.at(5, 4)[1]) - i32::from(p.at(3, 4)[1]);
        assert!(steep(&after) > steep(&before) + 4);
        let (low, high) = after
            .pixels()
            .iter()
            .fold((255, 0), |(l, h), &v| (v.min(l), v.max(h)));
        assert!(low >= 57 && high <= 183, "{low} {high}");
    }

    #[test]
    fn strength_nought_changes_nothing_and_flat_parts_never_change() {
        let mut same = soft_edge();
        sharpen(&mut same, 0.0);
        assert_eq!(same, soft_edge());
        let mut flat = Raster::filled(Size::new(20, 20), [200, 100, 50]);
        sharpen(&mut flat, 1.0);
        assert!(flat.pixels().chunks(3).all(|p| p == [200, 100, 50]));
    }
}

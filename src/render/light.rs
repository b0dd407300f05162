//! Averages the light of a photo's pixels row by row, as a lens would. Owns the weights along both
//! sides and the sums; refuses to know crops' reasons and files.
//!
//! Lanczos3, separable, rows before columns, in single precision: products and sums are rounded one
//! by one, so that every processor draws the same picture.

use std::sync::LazyLock;

use crate::base::geometry::Rect;
use crate::photo::raster::Raster;
use crate::render::icc;
use crate::render::wide::{Fused, widest};

/// Half the width of the kernel, in pixels of the output (Lanczos3).
pub const SUPPORT: f64 = 3.0;
/// Steps of light that are told apart: 14 bit.
const STEPS: f32 = 16383.0;
/// Added to a number from 0 to `STEPS`, the number rounded stands in the low bits.
const ROUNDS: f32 = 8_388_608.0;
/// One pixel's light: three channels and a fourth that is nought, so that they are summed at once.
type Pixel = [f32; 4];
/// The same of two rows of the output, one after the other.
type Pair = [Pixel; 2];
/// Pixels of a row that are summed together.
const AT_HAND: usize = 8;

/// The kernel at `x`, in pixels of the output.
pub fn lanczos(x: f64) -> f64 {
    let sinc = |x: f64| {
        if x == 0.0 {
            return 1.0;
        }
        let x = x * std::f64::consts::PI;
        x.sin() / x
    };
    if (-SUPPORT..SUPPORT).contains(&x) {
        sinc(x) * sinc(x / SUPPORT)
    } else {
        0.0
    }
}

/// For each place along a side of the output: the first place of the source that has a part in it,
/// and the parts, `taps` for each, those beyond the source's end nought.
struct Weights {
    first: Vec<u32>,
    parts: Vec<f32>,
    taps: usize,
}

impl Weights {
    fn new(source: u32, output: u32) -> Self {
        let scale = f64::from(source) / f64::from(output);
        let wide = scale.max(1.0);
        let reach = SUPPORT * wide;
        let taps = (2.0 * reach) as usize + 1;
        let mut first = Vec::with_capacity(output as usize);
        let mut parts = Vec::with_capacity(output as usize * taps);
        for place in 0..output {
            let centre = (f64::from(place) + 0.5) * scale;
            // The middles of those pixels lie within the reach.
            let from = (centre - reach - 0.5).ceil().max(0.0) as u32;
            let to = ((centre + reach - 0.5) as u32 + 1).min(source);
            let at = |x: u32| lanczos((f64::from(x) + 0.5 - centre) / wide);
            let sum: f64 = (from..to).map(at).sum();
            first.push(from);
            parts.extend((from..to).map(|x| (at(x) / sum) as f32));
            parts.resize(first.len() * taps, 0.0);
        }
        Self { first, parts, taps }
    }
}

/// Draws rows of a crop reduced to some size. Rows of the output that are asked for
/// from top to bottom take the least time.
pub struct Light<'a> {
    photo: &'a Raster,
    crop: Rect,
    down: Weights,
    across: Weights,
    /// Rows of the crop as light with their numbers, row n at n modulo their number.
    kept: Vec<(Option<u32>, Vec<Pixel>)>,
    sums: Vec<Pair>,
    drawn: Vec<Pair>,
}

impl<'a> Light<'a> {
    /// `crop` lies inside `photo`; the output is `w` x `h` px, neither nought.
    pub fn new(photo: &'a Raster, crop: Rect, w: u32, h: u32) -> Self {
        let (down, across) = (Weights::new(crop.h, h), Weights::new(crop.w, w));
        // The last parts of a row may reach beyond its end, where they are nought.
        let room = crop.w as usize + across.taps + AT_HAND;
        Self {
            photo,
            crop,
            kept: vec![(None, vec![[0.0; 4]; room]); down.taps + crop.h.div_ceil(h) as usize],
            sums: vec![[[0.0; 4]; 2]; room],
            drawn: vec![[[0.0; 4]; 2]; w as usize],
            down,
            across,
        }
    }

    /// Raises the encoded values of one or two `rows` from row `y` on, w x 3 channels each, to those of
    /// the averaged light where they are lower. Two at once take less time than one by one.
    pub fn raise(&mut self, y: u32, rows: &mut [u8]) {
        let width = self.drawn.len() * 3;
        let taps = self.down.taps;
        let ends = [y, y + u32::from(rows.len() > width)].map(|y| y as usize);
        let [first, second] = ends.map(|y| self.down.first[y]);
        let last = (second + taps as u32).min(self.crop.h);
        (first..last).for_each(|n| self.keep(n));
        let part = |n: u32, y: usize| {
            let tap = n.checked_sub(self.down.first[y]).map(|tap| tap as usize);
            let tap = tap.filter(|tap| *tap < taps);
            tap.map_or(0.0, |tap| self.down.parts[y * taps + tap])
        };
        let parts: Vec<[f32; 2]> = (first..last).map(|n| ends.map(|y| part(n, y))).collect();
        let at = |n: u32| &self.kept[n as usize % self.kept.len()].1[..];
        let sources: Vec<&[Pixel]> = (first..last).map(at).collect();
        sum_rows(&sources, &parts, &mut self.sums);
        let across = &self.across;
        sum_columns(&self.sums, &across.first, &across.parts, &mut self.drawn);
        let value: &[u8; 1 << 14] = &VALUE;
        for (which, row) in rows.chunks_exact_mut(width).enumerate() {
            for (to, pair) in row.as_chunks_mut::<3>().0.iter_mut().zip(&self.drawn) {
                let [r, g, b, _] = pair[which];
                for (v, step) in to.iter_mut().zip([r, g, b]) {
                    *v = (*v).max(value[(step.to_bits() & 0x3fff) as usize]);
                }
            }
        }
    }

    /// Keeps row `n` of the crop, where it is not kept yet.
    fn keep(&mut self, n: u32) {
        let many = self.kept.len();
        let (is, kept) = &mut self.kept[n as usize % many];
        if is.replace(n) == Some(n) {
            return;
        }
        let light: &[f32; 256] = &LIGHT;
        let w = self.photo.size().w as usize;
        let at = ((self.crop.y + n) as usize * w + self.crop.x as usize) * 3;
        let row = &self.photo.pixels()[at..at + self.crop.w as usize * 3];
        for (to, &[r, g, b]) in kept.iter_mut().zip(row.as_chunks().0) {
            let [r, g, b] = [r, g, b].map(|v| light[usize::from(v)]);
            *to = [r, g, b, 0.0];
        }
    }
}

widest! {
    /// Two sums of `rows`, each row times its part in the one and in the other.
    fn sum_rows(rows: &[&[Pixel]], parts: &[[f32; 2]], sums: &mut [Pair]) = sum_rows_in
}

#[inline(always)]
fn sum_rows_in<F: Fused>(rows: &[&[Pixel]], parts: &[[f32; 2]], sums: &mut [Pair]) {
    for (i, to) in sums.as_chunks_mut::<AT_HAND>().0.iter_mut().enumerate() {
        let mut one = [[0.0; 4]; AT_HAND];
        let mut two = [[0.0; 4]; AT_HAND];
        for (row, [first, second]) in rows.iter().zip(parts) {
            let row: &[Pixel; AT_HAND] = &row.as_chunks().0[i];
            for pixel in 0..AT_HAND {
                for c in 0..4 {
                    one[pixel][c] += first * row[pixel][c];
                    two[pixel][c] += second * row[pixel][c];
                }
            }
        }
        for pixel in 0..AT_HAND {
            to[pixel] = [one[pixel], two[pixel]];
        }
    }
}

widest! {
    /// Sums along both rows, each pixel's with as many parts, rounded to whole steps in the low bits.
    fn sum_columns(sums: &[Pair], first: &[u32], parts: &[f32], drawn: &mut [Pair]) = sum_columns_in
}

#[inline(always)]
fn sum_columns_in<F: Fused>(sums: &[Pair], first: &[u32], parts: &[f32], drawn: &mut [Pair]) {
    let taps = parts.len() / first.len();
    let each = first.iter().zip(parts.chunks_exact(taps));
    for (to, (&from, parts)) in drawn.iter_mut().zip(each) {
        let mut sum = [0.0; 8];
        for (pixel, part) in sums[from as usize..][..taps].iter().zip(parts) {
            for (s, v) in sum.iter_mut().zip(pixel.as_flattened()) {
                *s += part * v;
            }
        }
        let sum = sum.map(|s: f32| s.clamp(0.0, STEPS) + ROUNDS);
        to.as_flattened_mut().copy_from_slice(&sum);
    }
}

/// Encoded 8 bit to linear light, in steps (IEC 61966-2-1). Other colour spaces' curves are near
/// enough for the mere purpose of averaging.
static LIGHT: LazyLock<[f32; 256]> =
    LazyLock::new(|| std::array::from_fn(|v| icc::linear(v as f64 / 255.0) as f32 * STEPS));
/// Steps of light back to encoded 8 bit.
static VALUE: LazyLock<[u8; 1 << 14]> = LazyLock::new(|| {
    let limits: [f64; 255] =
        std::array::from_fn(|v| icc::linear((v as f64 + 0.5) / 255.0) * f64::from(STEPS));
    let mut value = 0;
    std::array::from_fn(|step| {
        while value < 255 && step as f64 > limits[value] {
            value += 1;
        }
        value as u8
    })
});

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::Size;

    #[test]
    fn every_level_of_a_plain_photo_comes_out_as_it_went_in() {
        for level in 0..=255u8 {
            let photo = Raster::filled(Size::new(21, 17), [level, 255 - level, 0]);
            let mut light = Light::new(&photo, Rect::new(2, 1, 18, 16), 11, 9);
            for y in 0..9 {
                let mut row = [0; 33];
                light.raise(y, &mut row);
                assert!(
                    row.as_chunks()
                        .0
                        .iter()
                        .all(|p| *p == [level, 255 - level, 0])
                );
            }
        }
    }

    #[test]
    fn rows_may_be_drawn_in_any_order_and_two_at_once() {
        let mut photo = Raster::filled(Size::new(40, 90), [0; 3]);
        for (i, v) in photo.pixels_mut().iter_mut().enumerate() {
            *v = ((i * 7919) >> 4) as u8;
        }
        let draw = |rows: &[u32]| {
            let mut light = Light::new(&photo, photo.size().frame(), 17, 40);
            let drawn = rows.iter().map(|&y| {
                let mut row = [0; 51];
                light.raise(y, &mut row);
                row
            });
            drawn.collect::<Vec<_>>()
        };
        let all = draw(&(0..40).collect::<Vec<_>>());
        let some = draw(&[3, 4, 39, 20, 0]);
        assert_eq!(some, [all[3], all[4], all[39], all[20], all[0]]);
        let mut light = Light::new(&photo, photo.size().frame(), 17, 40);
        for y in [0, 2, 37, 38, 4, 5] {
            let mut two = [0; 102];
            light.raise(y, &mut two);
            assert_eq!(two.as_chunks().0, [all[y as usize], all[y as usize + 1]]);
        }
    }
}

//! Grows the canvas with the backdrop's own colour and grain. Owns the painting; refuses to judge
//! whether the backdrop is plain enough.
//!
//! Each side in turn: a straight line is fitted into the border's depth at every place along it
//! and smoothed along the border; it runs on outwards and levels off. What the border has on top
//! of that line, its grain, is laid over in overlapping pieces taken from random places nearby,
//! weighted so that its strength stays the same. Nothing is repeated along a line, so there is no
//! smear.

use crate::base::geometry::Size;
use crate::photo::raster::Raster;

/// Pixels by which each side grows.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Border {
    pub left: u32,
    pub top: u32,
    pub right: u32,
    pub bottom: u32,
}

/// Grain beyond this many standard deviations is something else that touches the border.
const OUTLIER: f32 = 3.0;

/// The picture on a canvas that is larger by `border`.
pub fn extended(picture: Raster, border: Border) -> Raster {
    if border == Border::default() {
        return picture;
    }
    let mut out = picture;
    // One routine grows upwards; the other sides are turned to the top and back.
    out = grown(out, border.top, 1);
    out = flipped(&out);
    out = grown(out, border.bottom, 2);
    out = flipped(&out);
    out = transposed(&out);
    out = grown(out, border.left, 3);
    out = flipped(&out);
    out = grown(out, border.right, 4);
    out = flipped(&out);
    transposed(&out)
}

fn flipped(p: &Raster) -> Raster {
    let row = p.size().w as usize * 3;
    let pixels = p.pixels().chunks_exact(row).rev().flatten().copied();
    Raster::new(p.size(), pixels.collect())
}

fn transposed(p: &Raster) -> Raster {
    let Size { w, h } = p.size();
    let mut pixels = Vec::with_capacity(p.pixels().len());
    for x in 0..w {
        for y in 0..h {
            pixels.extend_from_slice(&p.at(x, y));
        }
    }
    Raster::new(Size::new(h, w), pixels)
}

/// Adds `n` rows above.
fn grown(p: Raster, n: u32, seed: u32) -> Raster {
    if n == 0 {
        return p;
    }
    let size = p.size();
    let w = size.w as usize;
    let depth = (size.short() / 32).clamp(8, 64).min(size.h) as usize;
    // n x width values of each colour.
    let planes: [Vec<f32>; 3] = std::array::from_fn(|c| {
        let at = |x: usize, y: usize| f32::from(p.pixels()[(y * w + x) * 3 + c]);
        let line = Line::fit(w, depth, at);
        let mut laid = laid(&line.grain(at), w, depth, n as usize, seed * 8);
        for (i, v) in laid.iter_mut().enumerate() {
            *v += line.beyond(i % w, i / w + 1);
        }
        laid
    });
    let mut pixels = Vec::with_capacity((size.area() as usize + w * n as usize) * 3);
    for k in (0..n as usize).rev() {
        for x in 0..w {
            for plane in &planes {
                pixels.push(plane[k * w + x].round().clamp(0.0, 255.0) as u8);
            }
        }
    }
    pixels.extend_from_slice(p.pixels());
    Raster::new(Size::new(size.w, size.h + n), pixels)
}

/// A straight line from the border inwards at every place along it.
struct Line {
    depth: usize,
    mean: Vec<f32>,
    slope: Vec<f32>,
}

impl Line {
    fn fit(w: usize, depth: usize, at: impl Fn(usize, usize) -> f32) -> Self {
        let middle = (depth - 1) as f32 / 2.0;
        let spread: f32 = (0..depth).map(|y| (y as f32 - middle).powi(2)).sum();
        let (mut mean, mut slope) = (vec![0.0; w], vec![0.0; w]);
        for x in 0..w {
            for y in 0..depth {
                mean[x] += at(x, y) / depth as f32;
                slope[x] += at(x, y) * (y as f32 - middle) / spread.max(1.0);
            }
        }
        Self {
            depth,
            mean: smooth(&mean, depth),
            slope: smooth(&slope, 4 * depth),
        }
    }
    /// Value `y` rows inside.
    fn inside(&self, x: usize, y: usize) -> f32 {
        self.mean[x] + self.slope[x] * (y as f32 - (self.depth - 1) as f32 / 2.0)
    }
    /// Value `k` rows outside: the slope fades out over four depths.
    fn beyond(&self, x: usize, k: usize) -> f32 {
        let reach = 4.0 * self.depth as f32;
        let run = reach * (1.0 - (-(k as f32) / reach).exp());
        self.inside(x, 0) - self.slope[x] * run
    }
    /// What lies on top of the line, depth x width.
    fn grain(&self, at: impl Fn(usize, usize) -> f32) -> Vec<f32> {
        let w = self.mean.len();
        let mut grain: Vec<f32> = (0..self.depth * w)
            .map(|i| at(i % w, i / w) - self.inside(i % w, i / w))
            .collect();
        // The median of the magnitude is 0.6745 standard deviations of normal noise and does not
        // see the few outliers.
        let mut sorted: Vec<f32> = grain.iter().map(|g| g.abs()).collect();
        sorted.sort_unstable_by(f32::total_cmp);
        let limit = OUTLIER * (sorted[sorted.len() / 2] / 0.6745).max(0.5);
        for g in &mut grain {
            *g = g.clamp(-limit, limit);
        }
        grain
    }
}

/// Moving average over `2 * radius + 1` places, three times, the ends held.
fn smooth(values: &[f32], radius: usize) -> Vec<f32> {
    let n = values.len() as i64;
    let mut out = values.to_vec();
    for _ in 0..3 {
        let old = out.clone();
        let get = |i: i64| f64::from(old[i.clamp(0, n - 1) as usize]);
        let r = radius as i64;
        let mut sum: f64 = (-r..=r).map(get).sum();
        for i in 0..n {
            out[i as usize] = (sum / (2 * r + 1) as f64) as f32;
            sum += get(i + r + 1) - get(i - r);
        }
    }
    out
}

/// `n` rows of grain, width `w`, from pieces of the border's own grain.
fn laid(grain: &[f32], w: usize, depth: usize, n: usize, seed: u32) -> Vec<f32> {
    let side = (depth / 2).clamp(4, w.max(4));
    let half = side / 2;
    let mut sum = vec![0.0f32; n * w];
    let mut power = vec![0.0f32; n * w];
    // Weights of a raised sine; dividing by the root of their summed squares keeps the strength.
    let window: Vec<f32> = (0..side)
        .map(|i| ((i as f32 + 0.5) / side as f32 * std::f32::consts::PI).sin())
        .collect();
    for (py, top) in (0..n + half).step_by(half).enumerate() {
        for (px, left) in (0..w + half).step_by(half).enumerate() {
            let random = mixed(px as u32, py as u32, seed);
            let sx = {
                let reach = (w / 4).max(side).min(w);
                let from = (left as i64 - reach as i64 / 2).clamp(0, (w - reach) as i64) as usize;
                from + random as usize % (reach.saturating_sub(side) + 1)
            };
            let sy = (random >> 16) as usize % (depth.saturating_sub(side) + 1);
            for (j, wy) in window.iter().enumerate() {
                let Some(y) = (top + j).checked_sub(half).filter(|&y| y < n) else {
                    continue;
                };
                for (i, wx) in window.iter().enumerate() {
                    let Some(x) = (left + i).checked_sub(half).filter(|&x| x < w) else {
                        continue;
                    };
                    let from = (sy + j).min(depth - 1) * w + (sx + i).min(w - 1);
                    let weight = wx * wy;
                    sum[y * w + x] += weight * grain[from];
                    power[y * w + x] += weight * weight;
                }
            }
        }
    }
    for (s, p) in sum.iter_mut().zip(&power) {
        *s /= p.max(1e-6).sqrt();
    }
    sum
}

/// A number that looks random but is the same on every run.
fn mixed(x: u32, y: u32, seed: u32) -> u32 {
    let mut n =
        x.wrapping_mul(0x9E37_79B1) ^ y.wrapping_mul(0x85EB_CA77) ^ seed.wrapping_mul(0xC2B2_AE3D);
    n = (n ^ (n >> 15)).wrapping_mul(0x2C1B_3C6D);
    n = (n ^ (n >> 12)).wrapping_mul(0x297A_2D39);
    n ^ (n >> 15)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn paper(w: u32, h: u32) -> Raster {
        let mut pixels = Vec::new();
        for y in 0..h {
            for x in 0..w {
                for c in 0..3 {
                    let noise = (0..4)
                        .map(|i| (mixed(x, y, 90 + c * 4 + i) >> 24) as f32)
                        .sum::<f32>();
                    let v =
                        190.0 + x as f32 * 0.03 - y as f32 * 0.05 + (noise - 510.0) / 148.0 * 3.0;
                    pixels.push((v - c as f32 * 8.0).round() as u8);
                }
            }
        }
        Raster::new(Size::new(w, h), pixels)
    }

    /// Mean and standard deviation of green over a part, and the correlation of neighbouring rows.
    fn facts(p: &Raster, xs: std::ops::Range<u32>, ys: std::ops::Range<u32>) -> (f64, f64, f64) {
        let at = |x, y| f64::from(p.at(x, y)[1]);
        let n = (xs.len() * ys.len()) as f64;
        let each = || ys.clone().flat_map(|y| xs.clone().map(move |x| (x, y)));
        let mean = each().map(|(x, y)| at(x, y)).sum::<f64>() / n;
        let var = each().map(|(x, y)| (at(x, y) - mean).powi(2)).sum::<f64>() / n;
        let along = each()
            .map(|(x, y)| (at(x, y) - mean) * (at(x, y + 1) - mean))
            .sum::<f64>()
            / n;
        (mean, var.sqrt(), along / var)
    }

    #[test]
    fn the_grown_canvas_has_the_backdrops_colour_and_grain_and_is_no_smear() {
        let border = Border {
            left: 60,
            top: 90,
            right: 0,
            bottom: 40,
        };
        let out = extended(paper(400, 300), border);
        assert_eq!(out.size(), Size::new(460, 430));
        let near = facts(&out, 160..260, 92..122);
        for (xs, ys) in [
            (160..260, 50..80),
            (160..260, 10..40),
            (10..50, 150..220),
            (160..260, 395..425),
        ] {
            let (mean, spread, along) = facts(&out, xs.clone(), ys.clone());
            assert!(
                (mean - near.0).abs() < 17.0,
                "{xs:?} {ys:?}: mean {mean}, {near:?}"
            );
            assert!(
                (spread / near.1 - 1.0).abs() < 0.35,
                "{xs:?} {ys:?}: grain {spread}, {near:?}"
            );
            assert!(along < 0.5, "{xs:?} {ys:?}: rows repeat, {along}");
        }
        // No step where the canvas was grown.
        let (above, _, _) = facts(&out, 100..400, 80..89);
        let (below, _, _) = facts(&out, 100..400, 91..100);
        assert!((above - below).abs() < 1.0, "{above} {below}");
    }

    #[test]
    fn the_picture_itself_is_not_touched() {
        let inside = paper(120, 90);
        let border = Border {
            left: 9,
            top: 8,
            right: 7,
            bottom: 6,
        };
        let out = extended(inside.clone(), border);
        let part = out.part(crate::base::geometry::Rect::new(9, 8, 120, 90));
        assert_eq!(part, inside);
    }
}

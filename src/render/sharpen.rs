//! A mild sharpening after reduction. Owns how strong it may be; refuses to know sizes.

use crate::photo::raster::Raster;

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
    let light_of = |pixels: &[u8], y: usize| -> Vec<f32> {
        pixels[y * w * 3..(y + 1) * w * 3]
            .chunks_exact(3)
            .map(|p| 0.299 * f32::from(p[0]) + 0.587 * f32::from(p[1]) + 0.114 * f32::from(p[2]))
            .collect()
    };
    let pixels = picture.pixels_mut();
    let mut above = light_of(pixels, 0);
    let mut here = above.clone();
    for y in 0..h {
        let below = if y + 1 < h {
            light_of(pixels, y + 1)
        } else {
            here.clone()
        };
        let mean: Vec<f32> = (0..w)
            .map(|x| (above[x] + 2.0 * here[x] + below[x]) / 4.0)
            .collect();
        let low: Vec<f32> = (0..w)
            .map(|x| above[x].min(here[x]).min(below[x]))
            .collect();
        let high: Vec<f32> = (0..w)
            .map(|x| above[x].max(here[x]).max(below[x]))
            .collect();
        let row = &mut pixels[y * w * 3..(y + 1) * w * 3];
        for (x, p) in row.chunks_exact_mut(3).enumerate() {
            let (l, r) = (x.saturating_sub(1), (x + 1).min(w - 1));
            let around = (mean[l] + 2.0 * mean[x] + mean[r]) / 4.0;
            let detail = here[x] - around;
            let kept = detail * detail / (detail * detail + GRAIN * GRAIN);
            let floor = low[l].min(low[x]).min(low[r]) - OVERSHOOT;
            let ceiling = high[l].max(high[x]).max(high[r]) + OVERSHOOT;
            let to = (here[x] + amount * kept * detail).clamp(floor, ceiling);
            let change = to - here[x];
            for v in p {
                // The cast cuts off and stays within a byte.
                *v = (f32::from(*v) + change + 0.5) as u8;
            }
        }
        above = here;
        here = below;
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

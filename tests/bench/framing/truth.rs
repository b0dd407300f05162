//! A rendered set with its exact truth, as `truth.json` and its masks tell it. Owns reading; refuses to
//! judge.

use std::collections::BTreeMap;
use std::path::Path;

use serde::Deserialize;

#[derive(Deserialize)]
pub struct Truth {
    pub images: Vec<Scene>,
}

/// One scene; boxes in px of the image.
#[derive(Deserialize)]
pub struct Scene {
    pub image: String,
    pub width: f64,
    pub height: f64,
    pub mask: Option<String>,
    pub ok_mask: Option<String>,
    pub subject: [f64; 4],
    pub usable: Option<[f64; 4]>,
    pub feasible: BTreeMap<String, Feasible>,
    #[serde(default)]
    pub tags: Vec<String>,
}

#[derive(Deserialize)]
pub struct Feasible {
    pub feasible_by_mask: bool,
    pub largest_centred: Option<[f64; 4]>,
}

impl Truth {
    pub fn read(dir: &Path) -> Result<Self, String> {
        let path = dir.join("truth.json");
        let text = std::fs::read(&path).map_err(|e| format!("{}: {e}", path.display()))?;
        serde_json::from_slice(&text).map_err(|e| format!("{}: {e}", path.display()))
    }
}

/// Sums of a mask over rectangles, sides fractional.
pub struct Integral {
    table: Vec<f64>,
    pub w: usize,
    pub h: usize,
}

impl Integral {
    /// Of a PNG mask: cells brighter than 127, or darker than 128 when `dark`.
    pub fn of_mask(path: &Path, dark: bool) -> Result<Self, String> {
        let img = image::open(path)
            .map_err(|e| format!("{}: {e}", path.display()))?
            .to_luma8();
        let (w, h) = (img.width() as usize, img.height() as usize);
        Ok(Self::new(w, h, |x, y| {
            let v = img.get_pixel(x as u32, y as u32).0[0];
            if dark { v < 128 } else { v > 127 }
        }))
    }
    pub fn new(w: usize, h: usize, on: impl Fn(usize, usize) -> bool) -> Self {
        let mut table = vec![0.0; (w + 1) * (h + 1)];
        for y in 0..h {
            let mut line = 0.0;
            for x in 0..w {
                line += f64::from(u8::from(on(x, y)));
                table[(y + 1) * (w + 1) + x + 1] = table[y * (w + 1) + x + 1] + line;
            }
        }
        Self { table, w, h }
    }
    pub fn total(&self) -> f64 {
        self.table[self.table.len() - 1]
    }
    pub fn over(&self, x0: f64, y0: f64, x1: f64, y1: f64) -> f64 {
        let at = |x: f64, y: f64| {
            let (x, y) = (x.clamp(0.0, self.w as f64), y.clamp(0.0, self.h as f64));
            let (i, j) = (x as usize, y as usize);
            let (i2, j2) = ((i + 1).min(self.w), (j + 1).min(self.h));
            let (fx, fy) = (x - i as f64, y - j as f64);
            let t = |x: usize, y: usize| self.table[y * (self.w + 1) + x];
            (t(i, j) * (1.0 - fx) + t(i2, j) * fx) * (1.0 - fy)
                + (t(i, j2) * (1.0 - fx) + t(i2, j2) * fx) * fy
        };
        at(x1, y1) - at(x0, y1) - at(x1, y0) + at(x0, y0)
    }
}

//! Pixels in memory: 8 bit RGB, row by row. Owns the layout; refuses to know colour spaces.

use crate::base::geometry::{Rect, Size};

/// width x height x 3 bytes, RGB, rows from the top without padding.
#[derive(Clone, Debug, PartialEq)]
pub struct Raster {
    size: Size,
    pixels: Vec<u8>,
}

impl Raster {
    /// # Panics
    /// When `pixels` is not exactly `size.w * size.h * 3` bytes long.
    pub fn new(size: Size, pixels: Vec<u8>) -> Self {
        assert_eq!(pixels.len() as u64, size.area() * 3, "raster of {size}");
        Self { size, pixels }
    }
    /// One colour everywhere.
    pub fn filled(size: Size, rgb: [u8; 3]) -> Self {
        Self::new(size, rgb.repeat(size.area() as usize))
    }
    pub fn size(&self) -> Size {
        self.size
    }
    pub fn pixels(&self) -> &[u8] {
        &self.pixels
    }
    pub fn pixels_mut(&mut self) -> &mut [u8] {
        &mut self.pixels
    }
    pub fn into_pixels(self) -> Vec<u8> {
        self.pixels
    }
    /// The pixel at column `x`, row `y`.
    pub fn at(&self, x: u32, y: u32) -> [u8; 3] {
        let i = (y as usize * self.size.w as usize + x as usize) * 3;
        [self.pixels[i], self.pixels[i + 1], self.pixels[i + 2]]
    }
    /// A copy of the part inside `r`, which must lie inside the frame.
    pub fn part(&self, r: Rect) -> Raster {
        assert!(r.inside(self.size), "{r:?} outside {}", self.size);
        let (w, x, n) = (self.size.w as usize, r.x as usize, r.w as usize);
        let mut out = Vec::with_capacity(r.area() as usize * 3);
        for y in r.y..r.bottom() {
            let i = (y as usize * w + x) * 3;
            out.extend_from_slice(&self.pixels[i..i + n * 3]);
        }
        Raster::new(r.size(), out)
    }
}

//! A probability map over the frame and sums over parts of it. Owns the grid arithmetic; refuses to
//! know what is mapped.

use super::area::Area;
use crate::base::geometry::Size;

/// Cells along each side of a map; the frame is squashed to a square.
pub const SIDE: usize = 160;

/// SIDE x SIDE probabilities, rows from the top.
#[derive(Clone, Debug, PartialEq)]
pub struct Map {
    cells: Vec<f32>,
}

impl Map {
    /// # Panics
    /// When there are not exactly SIDE x SIDE cells.
    pub fn new(cells: Vec<f32>) -> Self {
        assert_eq!(cells.len(), SIDE * SIDE, "cells of a map");
        Self { cells }
    }
    pub fn at(&self, x: usize, y: usize) -> f32 {
        self.cells[y * SIDE + x]
    }
    pub fn cells(&self) -> &[f32] {
        &self.cells
    }
    pub fn sum(&self) -> f32 {
        self.cells.iter().sum()
    }
    /// The mean of two maps.
    pub fn mean(&self, other: &Map) -> Map {
        self.zip(other, |a, b| (a + b) / 2.0)
    }
    pub fn zip(&self, other: &Map, f: impl Fn(f32, f32) -> f32) -> Map {
        Map::new(
            self.cells
                .iter()
                .zip(&other.cells)
                .map(|(&a, &b)| f(a, b))
                .collect(),
        )
    }
    pub fn map(&self, f: impl Fn(f32) -> f32) -> Map {
        Map::new(self.cells.iter().map(|&a| f(a)).collect())
    }
}

/// Sums over rectangles in constant time (summed-area table: Crow, SIGGRAPH 1984), with fractional
/// sides by linear interpolation.
#[derive(Clone, Debug, PartialEq)]
pub struct Sums {
    table: Vec<f64>,
}

impl Sums {
    pub fn of(map: &Map) -> Self {
        let n = SIDE + 1;
        let mut table = vec![0.0; n * n];
        for y in 0..SIDE {
            let mut line = 0.0;
            for x in 0..SIDE {
                line += f64::from(map.at(x, y));
                table[(y + 1) * n + x + 1] = table[y * n + x + 1] + line;
            }
        }
        Self { table }
    }
    fn corner(&self, u: f64, v: f64) -> f64 {
        let side = SIDE as f64;
        let (u, v) = ((u * side).clamp(0.0, side), (v * side).clamp(0.0, side));
        let (x, y) = (u as usize, v as usize);
        let (x1, y1) = ((x + 1).min(SIDE), (y + 1).min(SIDE));
        let (fx, fy) = (u - x as f64, v - y as f64);
        let t = |x: usize, y: usize| self.table[y * (SIDE + 1) + x];
        (t(x, y) * (1.0 - fx) + t(x1, y) * fx) * (1.0 - fy)
            + (t(x, y1) * (1.0 - fx) + t(x1, y1) * fx) * fy
    }
    /// Mean over a part of a frame, `area` in px of it.
    pub fn mean_over(&self, area: Area, frame: Size) -> f64 {
        let (w, h) = (f64::from(frame.w), f64::from(frame.h));
        let (u0, v0, u1, v1) = (area.x0 / w, area.y0 / h, area.x1 / w, area.y1 / h);
        self.over(u0, v0, u1, v1) / ((u1 - u0) * (v1 - v0) * (SIDE * SIDE) as f64)
    }
    /// Sum over the part from `(u0, v0)` to `(u1, v1)`, in fractions of the frame, 0 to 1.
    fn over(&self, u0: f64, v0: f64, u1: f64, v1: f64) -> f64 {
        self.corner(u1, v1) - self.corner(u0, v1) - self.corner(u1, v0) + self.corner(u0, v0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sums_over_fractional_parts_agree_with_the_area() {
        let sums = Sums::of(&Map::new(vec![1.0; SIDE * SIDE]));
        let all = (SIDE * SIDE) as f64;
        let part = sums.over(0.1234, 0.2, 0.777, 0.9013);
        assert!((part - all * (0.777 - 0.1234) * (0.9013 - 0.2)).abs() < 1e-6);
        assert!((sums.over(-1.0, -1.0, 2.0, 2.0) - all).abs() < 1e-6);
    }
}

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
    /// A map of `side` x `side` cells brought to SIDE, by linear interpolation.
    ///
    /// # Panics
    /// When there are not exactly `side` x `side` cells.
    pub fn of_cells(cells: &[f32], side: usize) -> Self {
        assert_eq!(cells.len(), side * side, "cells of a map");
        if side == SIDE {
            return Self::new(cells.to_vec());
        }
        let at = |i: usize| (i as f64 + 0.5) / SIDE as f64;
        Self::drawn(|x, y| linear(cells, side, at(x), at(y)))
    }
    fn drawn(f: impl Fn(usize, usize) -> f32) -> Self {
        Self::new((0..SIDE * SIDE).map(|i| f(i % SIDE, i / SIDE)).collect())
    }
    /// The part of this map over `part`, itself over the whole of `frame`, as a map over that part.
    pub fn part(&self, part: Area, frame: Size) -> Map {
        let (w, h) = (f64::from(frame.w), f64::from(frame.h));
        let n = SIDE as f64;
        Self::drawn(|x, y| {
            let u = (part.x0 + (x as f64 + 0.5) / n * part.w()) / w;
            let v = (part.y0 + (y as f64 + 0.5) / n * part.h()) / h;
            linear(&self.cells, SIDE, u, v)
        })
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
    /// Each cell the largest of itself and its eight neighbours.
    pub fn grown(&self) -> Map {
        let span = |i: usize| i.saturating_sub(1)..=(i + 1).min(SIDE - 1);
        Self::drawn(|x, y| {
            let near = span(y).flat_map(|j| span(x).map(move |i| (i, j)));
            near.map(|(i, j)| self.at(i, j)).fold(0.0, f32::max)
        })
    }
    pub fn map(&self, f: impl Fn(f32) -> f32) -> Map {
        Map::new(self.cells.iter().map(|&a| f(a)).collect())
    }
}

/// The value of `side` x `side` cells at `(u, v)`, 0 to 1, between the centres of the four nearest.
fn linear(cells: &[f32], side: usize, u: f64, v: f64) -> f32 {
    let most = (side - 1) as f64;
    let (x, y) = (
        (u * side as f64 - 0.5).clamp(0.0, most),
        (v * side as f64 - 0.5).clamp(0.0, most),
    );
    let (x0, y0) = (x as usize, y as usize);
    let (x1, y1) = ((x0 + 1).min(side - 1), (y0 + 1).min(side - 1));
    let (fx, fy) = ((x - x0 as f64) as f32, (y - y0 as f64) as f32);
    let row = |y: usize| cells[y * side + x0] * (1.0 - fx) + cells[y * side + x1] * fx;
    row(y0) * (1.0 - fy) + row(y1) * fy
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
    fn a_part_and_the_whole_lie_over_the_same_place() {
        let frame = Size::new(400, 300);
        let ramp = Map::drawn(|x, y| (x + y) as f32 / 320.0);
        let close = ramp.part(Area::new(100.0, 60.0, 300.0, 210.0), frame);
        // The middle of the part is the point (200, 135) of the frame.
        let there = (0.5 * 160.0 + 0.45 * 160.0 - 1.0) / 320.0;
        assert!(
            (close.at(80, 80) - there).abs() < 4e-3,
            "{}",
            close.at(80, 80)
        );
        let small: Vec<f32> = (0..128 * 128).map(|i| (i % 128) as f32 / 128.0).collect();
        let m = Map::of_cells(&small, 128);
        assert!((m.at(80, 3) - 80.0 / 160.0).abs() < 0.01, "{}", m.at(80, 3));
    }

    #[test]
    fn sums_over_fractional_parts_agree_with_the_area() {
        let sums = Sums::of(&Map::new(vec![1.0; SIDE * SIDE]));
        let all = (SIDE * SIDE) as f64;
        let part = sums.over(0.1234, 0.2, 0.777, 0.9013);
        assert!((part - all * (0.777 - 0.1234) * (0.9013 - 0.2)).abs() < 1e-6);
        assert!((sums.over(-1.0, -1.0, 2.0, 2.0) - all).abs() < 1e-6);
    }
}

//! The part of the frame that is free of surface and backdrop ends. Owns the rectangle; refuses to
//! know shapes and margins.

use super::area::Area;
use super::map::{Map, SIDE};
use crate::base::geometry::{Rect, Size};

/// Probability from which a cell counts as beyond the surface.
pub const LEVEL: f32 = 0.4;
/// Share of the frame beyond the surface below which no end is in view.
const LEAST_SHARE: f64 = 0.002;

/// Whether an end of the surface is in view at all.
pub fn end_in_view(beyond: &Map) -> bool {
    let n = beyond.cells().iter().filter(|&&p| p >= LEVEL).count();
    n as f64 / (SIDE * SIDE) as f64 > LEAST_SHARE
}

/// The largest rectangle free of cells beyond the surface that holds the subject; when none holds it,
/// the largest of all; `None` when no cell is free. Largest rectangle in a histogram, row by row, with a
/// stack: common knowledge of algorithm textbooks.
pub fn usable(beyond: &Map, subject: Option<Area>, frame: Size) -> Option<Rect> {
    let (sx, sy) = (
        f64::from(frame.w) / SIDE as f64,
        f64::from(frame.h) / SIDE as f64,
    );
    // Half a cell of grace on each side, as the box itself is known no better.
    let need = subject.map(|s| {
        Area::new(
            s.x0 / sx + 0.5,
            s.y0 / sy + 0.5,
            s.x1 / sx - 0.5,
            s.y1 / sy - 0.5,
        )
    });
    let found = need
        .and_then(|n| largest(beyond, |a| a.contains(n)))
        .or_else(|| largest(beyond, |_| true))?;
    Some(Area::new(found.x0 * sx, found.y0 * sy, found.x1 * sx, found.y1 * sy).rounded(frame))
}

/// Degrees by which the far edge of the surface is off level in the photo, clockwise positive; `None` where no
/// straight far edge crosses most of the frame. Slope by the median of pairs (Theil, 1950; Sen, 1968).
pub fn tilt(beyond: &Map, frame: Size) -> Option<f64> {
    let edge: Vec<(f64, f64)> = (0..SIDE)
        .step_by(2)
        .filter_map(|x| {
            let y = (0..SIDE).find(|&y| beyond.at(x, y) < LEVEL)?;
            let (above, below) = (beyond.at(x, y.checked_sub(1)?), beyond.at(x, y));
            let part = f64::from((above - LEVEL) / (above - below));
            Some((x as f64, y as f64 - 0.5 + part))
        })
        .collect();
    if edge.len() < SIDE / 2 * 6 / 10 {
        return None;
    }
    let mut slopes: Vec<f64> = Vec::new();
    for (i, a) in edge.iter().enumerate() {
        slopes.extend(edge[i + 1..].iter().map(|b| (b.1 - a.1) / (b.0 - a.0)));
    }
    let slope = median(&mut slopes)?;
    let mut starts: Vec<f64> = edge.iter().map(|(x, y)| y - slope * x).collect();
    let start = median(&mut starts)?;
    let near = edge
        .iter()
        .filter(|(x, y)| (y - slope * x - start).abs() < 1.5)
        .count();
    let rise = slope * f64::from(frame.h) / f64::from(frame.w.max(1));
    (near * 10 >= edge.len() * 8).then(|| rise.atan().to_degrees())
}

fn median(values: &mut [f64]) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied()
}

fn largest(beyond: &Map, fits: impl Fn(Area) -> bool) -> Option<Area> {
    let mut heights = [0usize; SIDE];
    let mut best: Option<Area> = None;
    for y in 0..SIDE {
        for (x, h) in heights.iter_mut().enumerate() {
            *h = if beyond.at(x, y) < LEVEL { *h + 1 } else { 0 };
        }
        let mut stack: Vec<(usize, usize)> = Vec::new();
        for (x, here) in heights.iter().copied().chain([0]).enumerate() {
            let mut start = x;
            while let Some(&(s, h)) = stack.last() {
                if h < here {
                    break;
                }
                stack.pop();
                start = s;
                if h > 0 {
                    let a = Area::new(s as f64, (y + 1 - h) as f64, x as f64, (y + 1) as f64);
                    if best.is_none_or(|b| a.area() > b.area()) && fits(a) {
                        best = Some(a);
                    }
                }
            }
            stack.push((start, here));
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;

    fn beyond(f: impl Fn(usize, usize) -> bool) -> Map {
        Map::new(
            (0..SIDE * SIDE)
                .map(|i| f32::from(u8::from(f(i % SIDE, i / SIDE))))
                .collect(),
        )
    }

    #[test]
    fn the_usable_part_ends_at_the_edge_of_the_board() {
        let m = beyond(|_, y| y < 40);
        assert!(end_in_view(&m));
        let subject = Area::new(60.0, 80.0, 100.0, 120.0);
        assert_eq!(
            usable(&m, Some(subject), Size::new(1600, 1600)),
            Some(Rect::new(0, 400, 1600, 1200))
        );
    }

    #[test]
    fn the_far_edge_is_measured_in_degrees_of_the_photo() {
        let m = beyond(|x, y| y < 30 + x / 10);
        let t = tilt(&m, Size::new(4000, 3000)).unwrap();
        assert!((t - (0.1f64 * 0.75).atan().to_degrees()).abs() < 0.2, "{t}");
        assert_eq!(
            tilt(&beyond(|x, y| x < 30 && y < 90), Size::new(400, 300)),
            None
        );
        let round = beyond(|x, y| (x as f64 - 80.0).hypot(y as f64 - 90.0) > 70.0);
        assert_eq!(
            tilt(&round, Size::new(400, 300)),
            None,
            "a round board has no level"
        );
    }

    #[test]
    fn a_smaller_rectangle_that_holds_the_product_wins_over_a_larger_that_does_not() {
        // Free: a wide band on the left and a narrow one on the right where the product stands.
        let m = beyond(|x, _| (100..110).contains(&x));
        let subject = Area::new(120.0, 60.0, 140.0, 90.0);
        assert_eq!(
            usable(&m, Some(subject), Size::new(160, 160)),
            Some(Rect::new(110, 0, 50, 160))
        );
        assert_eq!(
            usable(&m, None, Size::new(160, 160)),
            Some(Rect::new(0, 0, 100, 160))
        );
        assert_eq!(
            usable(&beyond(|_, _| true), None, Size::new(160, 160)),
            None
        );
    }
}

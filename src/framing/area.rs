//! Boxes with fractional sides, for reasoning below the pixel. Owns their arithmetic; refuses to know
//! what lies inside them.

use crate::base::geometry::{Rect, Size};

/// A box in px of the upright source, `x0 <= x1`, `y0 <= y1`.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Area {
    pub x0: f64,
    pub y0: f64,
    pub x1: f64,
    pub y1: f64,
}

impl Area {
    pub const fn new(x0: f64, y0: f64, x1: f64, y1: f64) -> Self {
        Self { x0, y0, x1, y1 }
    }
    pub fn w(self) -> f64 {
        self.x1 - self.x0
    }
    pub fn h(self) -> f64 {
        self.y1 - self.y0
    }
    pub fn centre(self) -> (f64, f64) {
        ((self.x0 + self.x1) / 2.0, (self.y0 + self.y1) / 2.0)
    }
    pub fn area(self) -> f64 {
        self.w().max(0.0) * self.h().max(0.0)
    }
    pub fn contains(self, o: Area) -> bool {
        o.x0 >= self.x0 && o.y0 >= self.y0 && o.x1 <= self.x1 && o.y1 <= self.y1
    }
    /// The smallest box that holds both.
    pub fn union(self, o: Area) -> Area {
        Area::new(
            self.x0.min(o.x0),
            self.y0.min(o.y0),
            self.x1.max(o.x1),
            self.y1.max(o.y1),
        )
    }
    pub fn overlap(self, o: Area) -> f64 {
        let w = self.x1.min(o.x1) - self.x0.max(o.x0);
        let h = self.y1.min(o.y1) - self.y0.max(o.y0);
        w.max(0.0) * h.max(0.0)
    }
    /// Intersection over union, 0 to 1.
    pub fn iou(self, o: Area) -> f64 {
        let i = self.overlap(o);
        i / (self.area() + o.area() - i).max(f64::MIN_POSITIVE)
    }
    /// The same box as it lies from the corner of another.
    pub fn seen_from(self, r: Rect) -> Area {
        let (x, y) = (f64::from(r.x), f64::from(r.y));
        Area::new(self.x0 - x, self.y0 - y, self.x1 - x, self.y1 - y)
    }
    /// Whole pixels, every side rounded to the nearest, at least 1x1, inside the frame.
    pub fn rounded(self, frame: Size) -> Rect {
        let side = |a: f64, b: f64, n: u32| {
            let a = (a.round().max(0.0) as u32).min(n.saturating_sub(1));
            let b = (b.round().max(0.0) as u32).clamp(a + 1, n);
            (a, b - a)
        };
        let (x, w) = side(self.x0, self.x1, frame.w);
        let (y, h) = side(self.y0, self.y1, frame.h);
        Rect::new(x, y, w, h)
    }
}

impl From<Rect> for Area {
    fn from(r: Rect) -> Self {
        Area::new(r.x.into(), r.y.into(), r.right().into(), r.bottom().into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn rounding_stays_inside_the_frame() {
        let frame = Size::new(10, 8);
        assert_eq!(
            Area::new(-3.0, 7.9, 99.0, 8.0).rounded(frame),
            Rect::new(0, 7, 10, 1)
        );
        assert_eq!(
            Area::new(2.4, 2.6, 5.5, 6.4).rounded(frame),
            Rect::new(2, 3, 4, 3)
        );
    }
}

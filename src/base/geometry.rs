//! Whole-pixel rectangles, sizes and shapes. Owns the arithmetic of boxes; refuses to know
//! what lies inside them.

use std::fmt;

use serde::{Deserialize, Deserializer, Serialize, Serializer};

/// A size in whole pixels, width x height.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(from = "[u32; 2]", into = "[u32; 2]")]
pub struct Size {
    pub w: u32,
    pub h: u32,
}

impl Size {
    pub const fn new(w: u32, h: u32) -> Self {
        Self { w, h }
    }
    pub fn short(self) -> u32 {
        self.w.min(self.h)
    }
    pub fn long(self) -> u32 {
        self.w.max(self.h)
    }
    /// Number of pixels.
    pub fn area(self) -> u64 {
        u64::from(self.w) * u64::from(self.h)
    }
    /// The whole frame as a box.
    pub fn frame(self) -> Rect {
        Rect::new(0, 0, self.w, self.h)
    }
    /// The size after a quarter turn.
    pub fn turned(self) -> Self {
        Self::new(self.h, self.w)
    }
}

impl From<[u32; 2]> for Size {
    fn from([w, h]: [u32; 2]) -> Self {
        Self { w, h }
    }
}
impl From<Size> for [u32; 2] {
    fn from(s: Size) -> Self {
        [s.w, s.h]
    }
}
impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}x{}", self.w, self.h)
    }
}

/// A box `[x, y, w, h]` in whole pixels of the upright photo; x to the right, y down.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(from = "[u32; 4]", into = "[u32; 4]")]
pub struct Rect {
    pub x: u32,
    pub y: u32,
    pub w: u32,
    pub h: u32,
}

impl Rect {
    pub const fn new(x: u32, y: u32, w: u32, h: u32) -> Self {
        Self { x, y, w, h }
    }
    /// First column right of the box.
    pub fn right(self) -> u32 {
        self.x.saturating_add(self.w)
    }
    /// First row below the box.
    pub fn bottom(self) -> u32 {
        self.y.saturating_add(self.h)
    }
    pub fn size(self) -> Size {
        Size::new(self.w, self.h)
    }
    pub fn area(self) -> u64 {
        self.size().area()
    }
    /// Centre in pixels, fractional.
    pub fn centre(self) -> (f64, f64) {
        (
            f64::from(self.x) + f64::from(self.w) / 2.0,
            f64::from(self.y) + f64::from(self.h) / 2.0,
        )
    }
    pub fn contains(self, other: Rect) -> bool {
        other.x >= self.x
            && other.y >= self.y
            && other.right() <= self.right()
            && other.bottom() <= self.bottom()
    }
    pub fn inside(self, frame: Size) -> bool {
        self.w > 0
            && self.h > 0
            && u64::from(self.x) + u64::from(self.w) <= u64::from(frame.w)
            && u64::from(self.y) + u64::from(self.h) <= u64::from(frame.h)
    }
    /// The common part, `None` where there is none.
    pub fn intersection(self, other: Rect) -> Option<Rect> {
        let (x, y) = (self.x.max(other.x), self.y.max(other.y));
        let (r, b) = (
            self.right().min(other.right()),
            self.bottom().min(other.bottom()),
        );
        (r > x && b > y).then(|| Rect::new(x, y, r - x, b - y))
    }
    /// The same part of the picture when it is drawn at another size; at least 1x1 and inside.
    pub fn scaled(self, from: Size, to: Size) -> Rect {
        let along = |v: u32, a: u32, b: u32| {
            (u64::from(v) * u64::from(b) / u64::from(a.max(1))).min(u64::from(b)) as u32
        };
        let x = along(self.x, from.w, to.w).min(to.w.saturating_sub(1));
        let y = along(self.y, from.h, to.h).min(to.h.saturating_sub(1));
        let (r, b) = (
            along(self.right(), from.w, to.w),
            along(self.bottom(), from.h, to.h),
        );
        Rect::new(x, y, r.max(x + 1) - x, b.max(y + 1) - y)
    }
    /// Intersection over union, 0 to 1.
    pub fn iou(self, other: Rect) -> f64 {
        let i = self.intersection(other).map_or(0, Rect::area);
        let u = self.area() + other.area() - i;
        if u == 0 { 0.0 } else { i as f64 / u as f64 }
    }
}

impl From<[u32; 4]> for Rect {
    fn from([x, y, w, h]: [u32; 4]) -> Self {
        Self { x, y, w, h }
    }
}
impl From<Rect> for [u32; 4] {
    fn from(r: Rect) -> Self {
        [r.x, r.y, r.w, r.h]
    }
}

/// The wanted proportion of an output.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Shape {
    /// The whole frame, whatever its proportion.
    AsIs,
    /// width:height, both 1 to 100.
    Ratio(u32, u32),
}

impl Shape {
    /// Reads `"4:3"` or `"as-is"`.
    pub fn parse(text: &str) -> Option<Self> {
        if text == "as-is" {
            return Some(Self::AsIs);
        }
        let (w, h) = text.split_once(':')?;
        let side = |s: &str| s.parse::<u32>().ok().filter(|n| (1..=100).contains(n));
        Some(Self::Ratio(side(w)?, side(h)?))
    }
    /// Width divided by height; `None` for as-is.
    pub fn ratio(self) -> Option<f64> {
        match self {
            Self::AsIs => None,
            Self::Ratio(w, h) => Some(f64::from(w) / f64::from(h)),
        }
    }
    /// The largest size of this shape that fits into `room`, whole pixels, at least 1x1.
    pub fn largest_in(self, room: Size) -> Size {
        let Self::Ratio(a, b) = self else { return room };
        let (a, b) = (u64::from(a), u64::from(b));
        let (w, h) = (u64::from(room.w), u64::from(room.h));
        let (w, h) = if w * b <= h * a {
            (w, (w * b + a / 2) / a)
        } else {
            ((h * a + b / 2) / b, h)
        };
        Size::new(
            w.clamp(1, u64::from(room.w.max(1))) as u32,
            h.clamp(1, u64::from(room.h.max(1))) as u32,
        )
    }
    /// The largest box of this shape in the middle of `frame`.
    pub fn centred_in(self, frame: Rect) -> Rect {
        let s = self.largest_in(frame.size());
        Rect::new(
            frame.x + (frame.w - s.w) / 2,
            frame.y + (frame.h - s.h) / 2,
            s.w,
            s.h,
        )
    }
}

impl fmt::Display for Shape {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::AsIs => f.write_str("as-is"),
            Self::Ratio(w, h) => write!(f, "{w}:{h}"),
        }
    }
}
impl Serialize for Shape {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        s.collect_str(self)
    }
}
impl<'de> Deserialize<'de> for Shape {
    fn deserialize<D: Deserializer<'de>>(d: D) -> Result<Self, D::Error> {
        let text = String::deserialize(d)?;
        Self::parse(&text).ok_or_else(|| {
            serde::de::Error::custom(format!(
                "\"{text}\" is no shape: write width:height such as \"4:3\", or \"as-is\""
            ))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_largest_crop_of_a_shape_touches_two_sides_and_stays_inside() {
        assert_eq!(
            Shape::Ratio(4, 3).largest_in(Size::new(5328, 4000)),
            Size::new(5328, 3996)
        );
        assert_eq!(
            Shape::Ratio(1, 1).centred_in(Rect::new(0, 0, 300, 100)),
            Rect::new(100, 0, 100, 100)
        );
        for w in 1..60 {
            for h in 1..60 {
                let room = Size::new(w, h);
                let s = Shape::Ratio(16, 9).largest_in(room);
                assert!(s.w <= w && s.h <= h && (s.w == w || s.h == h), "{room} {s}");
            }
        }
    }

    #[test]
    fn a_shape_reads_as_it_is_written_and_nonsense_is_refused() {
        assert_eq!(Shape::parse("4:3").unwrap().to_string(), "4:3");
        for bad in ["", "4", "4:0", "0:3", "4:3:2", "a:b", "-4:3", "1000:1"] {
            assert_eq!(Shape::parse(bad), None, "{bad}");
        }
    }

    #[test]
    fn overlap_of_two_boxes_is_one_for_equals_and_zero_apart() {
        let a = Rect::new(10, 10, 20, 20);
        assert_eq!(a.iou(a), 1.0);
        assert_eq!(a.iou(Rect::new(30, 10, 20, 20)), 0.0);
        assert!((a.iou(Rect::new(20, 10, 20, 20)) - 1.0 / 3.0).abs() < 1e-9);
    }
}

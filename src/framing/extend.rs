//! Growing the canvas when the product fits no crop of the shape. Owns how much and whether the border is
//! plain enough; refuses to draw.

use super::Extension;
use super::area::Area;
use crate::base::geometry::{Rect, Shape, Size};
use crate::photo::raster::Raster;

/// Largest spread (standard deviation of 8 bit values about a straight line along the border) of a border
/// that may be grown. Common practice, no source; paper sweeps with camera noise measure 1 to 4.
const PLAIN: f64 = 6.0;
/// Depth of the border that is examined, share of the frame's short side.
const DEPTH: f64 = 0.02;

/// Crop inside the frame and the growth around it, so that the product is held with `margin`.
pub fn grown(frame: Size, shape: Shape, subject: Area, margin: f64) -> Option<(Rect, Extension)> {
    let ratio = shape.ratio()?;
    // The margin counts in shares of the short side.
    let (kw, kh) = if ratio >= 1.0 {
        (ratio, 1.0)
    } else {
        (1.0, 1.0 / ratio)
    };
    let short = (subject.w() / (kw - 2.0 * margin)).max(subject.h() / (kh - 2.0 * margin));
    let least = short.ceil();
    let (w, h) = ((least * kw).round(), (least * kh).round());
    let air = margin * w.min(h);
    let side = |from: f64, to: f64, len: f64, limit: u32| {
        let limit = f64::from(limit);
        let mut start = ((from + to - len) / 2.0).round();
        // Room on the other side of the frame is used before the canvas is grown.
        if len <= limit {
            start = start.clamp(0.0, limit - len);
        } else {
            start = start.clamp(limit - len, 0.0);
        }
        start = start.min((from - air).floor()).max((to + air - len).ceil());
        let before = (-start).max(0.0);
        let after = (start + len - limit).max(0.0);
        (
            start.max(0.0) as u32,
            (len - before - after) as u32,
            before as u32,
            after as u32,
        )
    };
    let (x, cw, left, right) = side(subject.x0, subject.x1, w, frame.w);
    let (y, ch, top, bottom) = side(subject.y0, subject.y1, h, frame.h);
    let crop = Rect::new(x, y, cw, ch);
    (cw > 0 && ch > 0).then_some((
        crop,
        Extension {
            left,
            top,
            right,
            bottom,
        },
    ))
}

/// Whether every border of `crop` that would be grown is plain: one colour, or a steady gradient.
pub fn is_plain(photo: &Raster, crop: Rect, growth: Extension, subject: Area) -> bool {
    let d = ((f64::from(photo.size().short()) * DEPTH) as u32).clamp(2, crop.size().short());
    let strips = [
        (growth.left, Rect::new(crop.x, crop.y, d, crop.h)),
        (growth.right, Rect::new(crop.right() - d, crop.y, d, crop.h)),
        (growth.top, Rect::new(crop.x, crop.y, crop.w, d)),
        (
            growth.bottom,
            Rect::new(crop.x, crop.bottom() - d, crop.w, d),
        ),
    ];
    strips
        .iter()
        .filter(|(grow, _)| *grow > 0)
        .all(|(_, strip)| {
            Area::from(*strip).overlap(subject) == 0.0 && spread(photo, *strip) <= PLAIN
        })
}

/// Standard deviation of a strip's values about a straight line along its longer side, worst channel.
fn spread(photo: &Raster, strip: Rect) -> f64 {
    let along_x = strip.w >= strip.h;
    let (len, deep) = if along_x {
        (strip.w, strip.h)
    } else {
        (strip.h, strip.w)
    };
    let step = (len / 600).max(1) as usize;
    (0..3)
        .map(|c| {
            let (mut n, mut st, mut stt, mut sv, mut svv, mut stv) = (0.0, 0.0, 0.0, 0.0, 0.0, 0.0);
            for t in (0..len).step_by(step) {
                for u in 0..deep {
                    let (x, y) = if along_x { (t, u) } else { (u, t) };
                    let v = f64::from(photo.at(strip.x + x, strip.y + y)[c]);
                    let t = f64::from(t);
                    n += 1.0;
                    st += t;
                    stt += t * t;
                    sv += v;
                    svv += v * v;
                    stv += t * v;
                }
            }
            let (vt, cov) = (stt - st * st / n, stv - st * sv / n);
            let rest = svv - sv * sv / n - if vt > 0.0 { cov * cov / vt } else { 0.0 };
            (rest / n).max(0.0).sqrt()
        })
        .fold(0.0, f64::max)
}

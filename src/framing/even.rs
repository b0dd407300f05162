//! The same air through a listing: crops of photos that show the product at the same scale are brought to
//! one fill. Owns that arithmetic on finished decisions; refuses to look at pixels.

use crate::base::geometry::{Rect, Shape, Size};

/// Photos whose product takes shares of the frame that differ by less than this factor are of one scale.
/// Common practice, no source.
const SAME_SCALE: f64 = 1.25;

/// One photo of a listing as it was decided for one profile.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Member {
    pub frame: Size,
    pub subject: Rect,
    pub crop: Rect,
}

/// Crops with common air, in the order of `members`. A crop is only ever tightened about its product, so it
/// stays inside its old self: free of what was left out, and whole with `margin` (share of the short side) and
/// at least `short_side_min` px. Photos of another scale, or that cannot be tightened so far, keep theirs.
pub fn even(members: &[Member], shape: Shape, margin: f64, short_side_min: u32) -> Vec<Rect> {
    let mut out: Vec<Rect> = members.iter().map(|m| m.crop).collect();
    let mut order: Vec<usize> = (0..members.len()).collect();
    order.sort_by(|a, b| scale(&members[*a]).total_cmp(&scale(&members[*b])));
    let mut rest = order.as_slice();
    while let Some(first) = rest.first() {
        let bound = scale(&members[*first]) * SAME_SCALE;
        let n = rest
            .iter()
            .take_while(|i| scale(&members[**i]) < bound)
            .count();
        let (group, others) = rest.split_at(n);
        rest = others;
        // The tightest crop sets the air, as far as every other one can follow.
        let most = group
            .iter()
            .map(|i| tightest(&members[*i], shape, margin, short_side_min));
        let common = most.fold(f64::MAX, f64::min);
        let wanted = group
            .iter()
            .map(|i| fill(&members[*i], members[*i].crop))
            .fold(0.0, f64::max);
        for i in group {
            out[*i] = tightened(&members[*i], shape, wanted.min(common));
        }
    }
    out
}

/// The product's longer side as a share of the frame's.
fn scale(m: &Member) -> f64 {
    f64::from(m.subject.size().long()) / f64::from(m.frame.long().max(1))
}

fn fill(m: &Member, crop: Rect) -> f64 {
    let s = m.subject;
    (f64::from(s.w) / f64::from(crop.w)).max(f64::from(s.h) / f64::from(crop.h))
}

/// Largest fill that leaves margin and pixels; at least the one it has.
fn tightest(m: &Member, shape: Shape, margin: f64, short_side_min: u32) -> f64 {
    let (s, c) = (m.subject, m.crop);
    let Some(k) = shape.ratio() else {
        return fill(m, c);
    };
    let (kw, kh) = if k >= 1.0 { (k, 1.0) } else { (1.0, 1.0 / k) };
    let air = (f64::from(s.w) / (kw - 2.0 * margin)).max(f64::from(s.h) / (kh - 2.0 * margin));
    let short = air.max(f64::from(short_side_min));
    let at = (f64::from(s.w) / (short * kw)).max(f64::from(s.h) / (short * kh));
    at.max(fill(m, c))
}

/// The crop shrunk to a fill, about its product, inside its old self.
fn tightened(m: &Member, shape: Shape, to: f64) -> Rect {
    let (s, c) = (m.subject, m.crop);
    let by = fill(m, c) / to;
    if by >= 1.0 || !c.contains(s) {
        return c;
    }
    let room = Size::new(
        (f64::from(c.w) * by).ceil() as u32,
        (f64::from(c.h) * by).ceil() as u32,
    );
    let size = shape.largest_in(room);
    let place = |from: u32, len: u32, s0: u32, sl: u32, new: u32| {
        let centred = f64::from(s0) + (f64::from(sl) - f64::from(new)) / 2.0;
        centred
            .round()
            .clamp(f64::from(from), f64::from(from + len - new)) as u32
    };
    Rect::new(
        place(c.x, c.w, s.x, s.w, size.w),
        place(c.y, c.h, s.y, s.h, size.h),
        size.w,
        size.h,
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    const SHAPE: Shape = Shape::Ratio(4, 3);

    fn member(subject: [u32; 4], crop: [u32; 4]) -> Member {
        Member {
            frame: Size::new(4000, 3000),
            subject: subject.into(),
            crop: crop.into(),
        }
    }

    #[test]
    fn photos_of_one_scale_get_the_air_of_the_tightest() {
        let tight = member([1500, 1000, 1000, 900], [1000, 750, 2000, 1500]);
        let loose = member([1400, 1000, 1040, 900], [200, 200, 3467, 2600]);
        let out = even(&[loose, tight], SHAPE, 0.06, 1200);
        assert_eq!(out[1], tight.crop);
        assert!(loose.crop.contains(out[0]) && out[0].contains(loose.subject));
        assert!((fill(&loose, out[0]) - fill(&tight, tight.crop)).abs() < 0.01);
    }

    #[test]
    fn a_close_up_keeps_its_own_air() {
        let whole = member([1500, 1000, 800, 700], [1000, 800, 1400, 1050]);
        let close = member([500, 400, 2600, 2000], [100, 100, 3600, 2700]);
        assert_eq!(
            even(&[whole, close], SHAPE, 0.06, 900),
            vec![whole.crop, close.crop]
        );
    }

    #[test]
    fn nothing_is_tightened_below_the_least_pixels_or_into_the_margin() {
        let tight = member([1500, 1000, 1000, 900], [1400, 920, 1400, 1050]);
        let loose = member([1400, 1000, 1000, 900], [200, 200, 3467, 2600]);
        let out = even(&[loose, tight], SHAPE, 0.06, 2000);
        assert!(
            out[0].size().short() >= 2000 && out[1] == tight.crop,
            "{out:?}"
        );
        assert!(even(&[], SHAPE, 0.06, 1).is_empty());
    }
}

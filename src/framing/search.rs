//! The crop search: every size and place that could do, narrowed wish by wish in a stated order.
//! Owns the order of the wishes; refuses to know how surely anything was seen.

use super::area::Area;
use super::map::Sums;
use crate::base::geometry::{Rect, Shape, Size};

/// Steps between the largest and the smallest size.
const SIZES: usize = 36;
/// Places tried along each direction for one size.
const PLACES: usize = 13;
/// Air, as a share of the short side, that belongs to "whole" and never gives way to anything else.
const LEAST_AIR: f64 = 0.03;
/// Share of the crop beyond the surface that counts as none.
const NO_ROOM: f64 = 0.0008;
/// Distance of the product's centre from the crop's, as a share of its sides, that counts as centred.
const CENTRED: f64 = 0.07;
/// The same from which it is said that the product is off centre.
pub const OFF_CENTRE: f64 = 0.1;
/// The same for a frame that is kept whole.
const MIDDLE: f64 = 0.05;
/// Share of the frame's sides from which a crop is the frame kept whole: 5328x3996 of 5328x4000 is. Common
/// practice, no source.
const WHOLE: f64 = 0.99;
/// Logarithm of a factor between fills that the eye takes for one.
const SAME: f64 = 0.01;

/// What is wished of a crop.
pub struct Wishes<'a> {
    pub frame: Size,
    pub shape: Shape,
    /// Where the product most probably is: the crop is centred on it and never cuts it while any does not.
    pub subject: Area,
    /// What should stay inside with its air: the product, or all that may belong to it.
    pub keep: Area,
    /// The product was found surely; only then the frame may be kept whole.
    pub sure: bool,
    /// Least air, share of the crop's short side.
    pub margin: f64,
    /// The product's longer side relative to the crop's.
    pub fill: f64,
    /// The same as it is aimed at in this crop.
    pub aim: f64,
    /// The aim is one that other photos have too: nearness to it comes before the last bit of centring.
    pub common: bool,
    /// px; fewer on the short side is held.
    pub short_side_min: u32,
    pub thumbnails: &'a [Shape],
    /// Map of what lies beyond the surface; `None` where no end is in view.
    pub beyond: Option<&'a Sums>,
    /// The same grown by a cell on every side: an end is known no better.
    pub near: Option<&'a Sums>,
    pub usable: Option<Area>,
}

/// How one crop stands with the wishes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Standing {
    /// Share of what has to stay inside that is cut off.
    pub lost: f64,
    /// Least air on any side, share of the short side; negative where cut.
    pub air: f64,
    /// Share of the crop that lies beyond the surface.
    pub room: f64,
    /// Distance of the centres in shares of the sides.
    pub off_centre: f64,
    /// Larger share of a side that the product takes.
    pub fill: f64,
}

impl Wishes<'_> {
    /// Measures a crop.
    pub fn standing(&self, crop: Rect) -> Standing {
        let (c, s, k) = (Area::from(crop), self.subject, self.keep);
        let short = c.w().min(c.h());
        let air = (k.x0 - c.x0)
            .min(k.y0 - c.y0)
            .min(c.x1 - k.x1)
            .min(c.y1 - k.y1);
        let ((cx, cy), (sx, sy)) = (c.centre(), s.centre());
        let room = self.beyond.map_or(0.0, |b| b.mean_over(c, self.frame));
        Standing {
            lost: 1.0 - c.overlap(k) / k.area().max(1.0),
            air: air / short,
            room,
            off_centre: ((sx - cx) / c.w()).hypot((sy - cy) / c.h()),
            fill: (s.w() / c.w()).max(s.h() / c.h()),
        }
    }

    /// The best crop. A photo with too few pixels is held and one with little air delivered, so the least air gives
    /// way where that alone saves the photo.
    pub fn best(&self) -> Rect {
        let enough = |c: &Rect| c.size().short() >= self.short_side_min;
        let airy = self.chosen(self.margin.min(LEAST_AIR));
        Some(airy)
            .filter(enough)
            .or_else(|| Some(self.chosen(0.0)).filter(enough))
            .unwrap_or(airy)
    }

    /// Holds the product > whole with the least air > no surface end > centred > enough pixels > margin > a cell
    /// away from the surface's end > not the whole frame for nothing > inside the usable rectangle > thumbnails > fill.
    fn chosen(&self, least: f64) -> Rect {
        let mut left: Vec<(Rect, Standing)> = self
            .candidates()
            .into_iter()
            .map(|c| (c, self.standing(c)))
            .collect();
        let no = |b: bool| f64::from(u8::from(b));
        narrow(&mut left, 0.0, 0.0, |(c, _)| {
            no(!Area::from(*c).contains(self.subject))
        });
        narrow(&mut left, 0.0, 0.002, |(_, s)| s.lost);
        narrow(&mut left, 0.0, 0.002, |(_, s)| (least - s.air).max(0.0));
        narrow(&mut left, NO_ROOM, 0.001, |(_, s)| s.room);
        let lack = |(c, _): &(Rect, Standing)| {
            let floor = f64::from(self.short_side_min.max(1));
            (1.0 - f64::from(c.size().short()) / floor).max(0.0)
        };
        // What cannot be centred at all is not held for being a little less off centre.
        if left.iter().all(|(_, s)| s.off_centre > OFF_CENTRE) {
            narrow(&mut left, 0.0, 0.01, lack);
        }
        narrow(&mut left, CENTRED, 0.01, |(_, s)| s.off_centre);
        narrow(&mut left, 0.0, 0.01, lack);
        narrow(&mut left, 0.0, 0.004, |(_, s)| {
            (self.margin - s.air).max(0.0)
        });
        narrow(&mut left, NO_ROOM, 0.001, |(c, _)| {
            self.near
                .map_or(0.0, |n| n.mean_over(Area::from(*c), self.frame))
        });
        narrow(&mut left, 0.0, 0.0, |(c, s)| {
            no(self.is_whole(*c) && !self.may_be_kept_whole(*c, s))
        });
        narrow(&mut left, 0.0, 0.0, |(c, _)| {
            no(self.usable.is_some_and(|u| !u.contains(Area::from(*c))))
        });
        narrow(&mut left, 0.0, 0.0, |(c, _)| {
            let cut = |t: &&Shape| !holds_thumbnail(c.size(), **t, self.subject.seen_from(*c));
            self.thumbnails.iter().filter(cut).count() as f64
        });
        let away = |s: &Standing| (s.fill / self.aim).ln().abs();
        if self.common {
            narrow(&mut left, SAME, SAME / 2.0, |(_, s)| away(s));
        }
        let cost = |s: &Standing| away(s) + 2.0 * s.off_centre;
        left.into_iter()
            .min_by(|(_, a), (_, b)| cost(a).total_cmp(&cost(b)))
            .map_or_else(|| self.shape.centred_in(self.frame.frame()), |(c, _)| c)
    }

    /// Whether a crop is the frame kept whole.
    pub fn is_whole(&self, crop: Rect) -> bool {
        let most = |len: u32, of: u32| f64::from(len) >= WHOLE * f64::from(of);
        most(crop.w, self.frame.w) && most(crop.h, self.frame.h)
    }

    /// Whether the frame may be the crop: found surely, margins met, the product in the middle and large enough, no
    /// surface end in view, thumbnails safe. That the shape is the camera's own is no reason.
    pub fn may_be_kept_whole(&self, crop: Rect, s: &Standing) -> bool {
        let holds = |t: &Shape| holds_thumbnail(crop.size(), *t, self.subject.seen_from(crop));
        self.sure
            && s.air >= self.margin
            && s.off_centre <= MIDDLE
            && s.fill >= self.fill
            && self.usable.is_none()
            && self.thumbnails.iter().all(holds)
    }

    /// Crops of the shape inside the frame, from the largest down to one that just holds the product.
    fn candidates(&self) -> Vec<Rect> {
        let largest = self.shape.largest_in(self.frame);
        let (lw, lh) = (f64::from(largest.w), f64::from(largest.h));
        let (s, k) = (self.subject, self.keep);
        let share = |a: Area| (a.w() / lw).max(a.h() / lh);
        let least = share(k).clamp(0.02, 1.0);
        let aimed = (share(s) / self.aim).clamp(least, 1.0);
        let floor = (f64::from(self.short_side_min) / f64::from(largest.short())).clamp(least, 1.0);
        let mut out = Vec::new();
        let steps = (0..=SIZES).map(|i| least.powf(i as f64 / SIZES as f64));
        for scale in steps.chain([aimed, floor]) {
            let room = Size::new(
                ((lw * scale).ceil() as u32).clamp(1, self.frame.w),
                ((lh * scale).ceil() as u32).clamp(1, self.frame.h),
            );
            let size = if scale == 1.0 {
                largest
            } else {
                self.shape.largest_in(room)
            };
            let xs = places((k.x0, k.x1), (s.x0, s.x1), size.w, self.frame.w);
            let ys = places((k.y0, k.y1), (s.y0, s.y1), size.h, self.frame.h);
            for &y in &ys {
                out.extend(xs.iter().map(|&x| Rect::new(x, y, size.w, size.h)));
            }
        }
        out
    }
}

/// Starts along one direction from which `len` inside `0..limit` holds `keep`, or as much of it as can be, and of all
/// things `subject`, a part of it; first the one that is centred on the subject as far as that goes.
fn places(keep: (f64, f64), subject: (f64, f64), len: u32, limit: u32) -> Vec<u32> {
    let (most, n) = (f64::from(limit - len), f64::from(len));
    let holding = |(from, to): (f64, f64)| ((to - n).max(0.0), from.min(most));
    let (least, greatest) = holding(subject);
    let middle = (subject.0 + subject.1 - n) / 2.0;
    if least > greatest {
        return vec![middle.clamp(0.0, most).round() as u32];
    }
    let (a, b) = holding(keep);
    let within = |v: f64| v.clamp(least, greatest);
    let (lo, hi) = (within(a.min(b).ceil()), within(a.max(b).floor()));
    let first = middle.clamp(lo.min(hi), hi.max(lo)).round() as u32;
    let step = (hi - lo) / (PLACES - 1) as f64;
    let all = (0..PLACES).map(|i| (lo + step * i as f64).round() as u32);
    std::iter::once(first).chain(all).collect()
}

/// Whether the centred thumbnail of an output, as large in px of the source as `canvas`, still holds the product (98 of
/// 100 parts of its box); `subject` counts from the output's corner.
pub fn holds_thumbnail(canvas: Size, thumbnail: Shape, subject: Area) -> bool {
    let t = Area::from(thumbnail.centred_in(canvas.frame()));
    t.overlap(subject) >= 0.98 * subject.area()
}

/// Keeps what costs no more than `enough`, or, when nothing does, no more than the least cost and `slack`.
fn narrow<T>(left: &mut Vec<T>, enough: f64, slack: f64, cost: impl Fn(&T) -> f64) {
    let costs: Vec<f64> = left.iter().map(cost).collect();
    let least = costs.iter().copied().fold(f64::MAX, f64::min);
    let bound = if least <= enough {
        enough
    } else {
        least + slack
    };
    let mut costs = costs.into_iter();
    left.retain(|_| costs.next().is_some_and(|c| c <= bound));
}

#[cfg(test)]
mod tests {
    use super::*;

    fn wishes(subject: Area) -> Wishes<'static> {
        Wishes {
            frame: Size::new(4000, 3000),
            shape: Shape::Ratio(4, 3),
            subject,
            keep: subject,
            sure: true,
            margin: 0.06,
            fill: 0.6,
            aim: 0.6,
            common: false,
            short_side_min: 1,
            thumbnails: &[],
            beyond: None,
            near: None,
            usable: None,
        }
    }

    #[test]
    fn the_camera_s_own_shape_is_no_reason_to_keep_the_frame_whole() {
        let small = Area::new(1600.0, 1200.0, 2400.0, 1800.0);
        let crop = wishes(small).best();
        assert!(
            crop.w < 2000 && Area::from(crop).contains(small),
            "{crop:?}"
        );
        let large = Area::new(700.0, 600.0, 3300.0, 2400.0);
        let kept = wishes(large).best();
        assert_eq!(kept, Size::new(4000, 3000).frame());
    }

    #[test]
    fn a_looser_crop_keeps_all_that_may_belong_to_the_product_and_is_centred_on_what_surely_does() {
        let sure = Area::new(1600.0, 1200.0, 2400.0, 1800.0);
        let keep = Area::new(1500.0, 1150.0, 3100.0, 1900.0);
        let crop = Area::from(
            Wishes {
                keep,
                ..wishes(sure)
            }
            .best(),
        );
        assert!(crop.contains(keep), "{crop:?}");
        let ((x, y), (u, v)) = (crop.centre(), sure.centre());
        let off = ((x - u) / crop.w()).hypot((y - v) / crop.h());
        assert!(off <= CENTRED, "{off} of {crop:?}");
    }

    #[test]
    fn a_product_at_the_side_is_off_centre_rather_than_held_for_want_of_pixels() {
        let aside = Area::new(10.0, 1200.0, 610.0, 2000.0);
        let strict = Wishes {
            short_side_min: 1500,
            ..wishes(aside)
        };
        let crop = strict.best();
        assert!(
            crop.h >= 1500 && Area::from(crop).contains(aside),
            "{crop:?}"
        );
    }

    #[test]
    fn the_frame_is_kept_whole_for_want_of_pixels_rather_than_held() {
        let small = Area::new(1600.0, 1200.0, 2400.0, 1800.0);
        let strict = Wishes {
            short_side_min: 3000,
            ..wishes(small)
        };
        assert_eq!(strict.best(), Size::new(4000, 3000).frame());
    }
}

//! The decision for one profile: which crop, what gave way, and what becomes of the photo.
//! Owns verdicts and reasons of the framing; refuses to look at the product itself.

use super::area::Area;
use super::confidence::{self, GLANCE_BELOW};
use super::search::{OFF_CENTRE, Standing, Wishes, holds_thumbnail};
use super::{Air, Correction, Framing, Sight, Span, Weighed, extend};
use crate::base::geometry::{Rect, Shape};
use crate::base::reason::{Reason, Verdict};
use crate::config::profile::{Profile, Set, Tight};
use crate::photo::raster::Raster;

/// Probability that the largest centred crop is one she would accept when no product was found.
const BLIND: f64 = 0.25;
/// Probability that she would accept a crop that cuts the product.
const CUT: f64 = 0.02;
/// Share of the frame's side within which a product's box counts as cut by the frame.
const AT_THE_BORDER: f64 = 0.002;
/// Share of a crop beyond the surface from which it is said.
const ROOM_SEEN: f64 = 0.003;
/// Fills that no crop reaches: aimed at, they find the loosest and the tightest one.
const LEAST_AIM: f64 = 0.001;
const MOST_AIM: f64 = 10.0;
/// Logarithm of the factor up to which a fill counts as the listing's.
const EVEN: f64 = 0.03;

/// Chooses the crop for one profile from what was seen (`photo` only for the backdrop's plainness).
pub fn decide(
    sight: &Sight,
    photo: &Raster,
    profile: &Profile,
    correction: &Correction,
) -> Framing {
    // The box as it is told, in whole pixels: what is said and what is decided on are one.
    let told = correction.subject.or(sight.subject);
    let subject = told.map(Area::from);
    let mut framing = Framing {
        subject: told,
        usable: sight.usable,
        crop: profile.shape.centred_in(sight.frame.frame()),
        extension: None,
        thumbnails: Vec::new(),
        confidence: BLIND,
        weighed: None,
        verdict: Verdict::Deliver,
        reasons: Vec::new(),
        span: None,
    };
    if correction.subject.is_some() || correction.crop.is_some() {
        framing.reasons.push(Reason::Corrected);
    }
    match (correction.crop, profile.shape, subject) {
        (Some(crop), _, _) => {
            framing.crop = crop;
            framing.confidence = 1.0;
        }
        (None, Shape::AsIs, _) => framing.confidence = 1.0,
        (None, Shape::Ratio(..), None) => {
            framing.verdict = Verdict::Glance;
            framing.reasons.push(Reason::NoSubject);
        }
        (None, Shape::Ratio(..), Some(subject)) => {
            Decider {
                sight,
                photo,
                profile,
                correction,
                subject,
            }
            .frame(&mut framing);
        }
    }
    framing.thumbnails = thumbnails(&framing, &profile.thumbnails);
    if framing.canvas().short() < profile.short_side_min && !correction.accept {
        framing.verdict = Verdict::Hold;
        framing.reasons.push(Reason::TooFewPixels);
    }
    framing.span = framing.span.filter(|_| framing.verdict == Verdict::Deliver);
    if framing.thumbnails.iter().any(|(_, safe)| !safe) {
        framing.reasons.push(Reason::ThumbnailCuts);
    }
    framing
}

/// Each shape, and whether its thumbnail of the output, grown canvas and all, still holds the product.
fn thumbnails(framing: &Framing, shapes: &[Shape]) -> Vec<(Shape, bool)> {
    let grown = framing.extension.unwrap_or_default();
    let (left, top) = (f64::from(grown.left), f64::from(grown.top));
    let there = framing.subject.map(|s| {
        let a = Area::from(s).seen_from(framing.crop);
        Area::new(a.x0 + left, a.y0 + top, a.x1 + left, a.y1 + top)
    });
    let safe = |t: &Shape| there.is_none_or(|s| holds_thumbnail(framing.canvas(), *t, s));
    shapes.iter().map(|t| (*t, safe(t))).collect()
}

struct Decider<'a> {
    sight: &'a Sight,
    photo: &'a Raster,
    profile: &'a Profile,
    correction: &'a Correction,
    subject: Area,
}

impl Decider<'_> {
    fn frame(&self, framing: &mut Framing) {
        let frame = self.sight.frame;
        let largest = self.profile.shape.largest_in(frame);
        if self.cut_by_the_frame() {
            framing.crop = self.largest_held();
            framing.confidence = self.confidence(framing, self.wishes());
            framing.verdict = Verdict::Glance;
            framing.reasons.push(Reason::FillsFrame);
            return;
        }
        let s = self.subject;
        if s.w() > f64::from(largest.w) || s.h() > f64::from(largest.h) {
            self.does_not_fit(framing);
            return;
        }
        let wishes = self.wishes();
        framing.crop = wishes.best();
        framing.confidence = self.confidence(framing, self.wishes());
        if framing.confidence < GLANCE_BELOW {
            framing.verdict = Verdict::Glance;
            framing.reasons.push(Reason::Unsure);
            framing.crop = self.looser();
        }
        let standing = wishes.standing(framing.crop);
        if framing.verdict == Verdict::Deliver && self.profile.set == Set::Even {
            self.even(framing, &standing);
        }
        self.say(framing, &standing);
    }

    /// Says whether it has its listing's air or, before that is decided, which it could have.
    fn even(&self, framing: &mut Framing, standing: &Standing) {
        let own = standing.fill;
        match self.correction.air {
            Some(Air::Common(fill)) if (own / fill).ln().abs() < EVEN => {
                framing.reasons.push(Reason::EvenAir);
            }
            Some(Air::Common(_) | Air::Own(_)) => framing.reasons.push(Reason::OwnAir),
            Some(Air::First(_)) => {}
            None => {
                let fill = |aim| {
                    let wishes = Wishes {
                        aim,
                        ..self.wishes()
                    };
                    wishes.standing(wishes.best()).fill
                };
                let (s, frame) = (self.subject, self.sight.frame);
                framing.span = Some(Span {
                    scale: s.w().max(s.h()) / f64::from(frame.long()),
                    least: fill(LEAST_AIM).min(own),
                    own,
                    most: fill(MOST_AIM).max(own),
                });
            }
        }
    }

    fn wishes(&self) -> Wishes<'_> {
        let common = match self.correction.air {
            Some(Air::Common(fill)) => Some(fill),
            _ => None,
        };
        Wishes {
            frame: self.sight.frame,
            shape: self.profile.shape,
            subject: self.subject,
            keep: self.subject,
            sure: true,
            margin: self.profile.margin,
            fill: self.profile.fill,
            aim: common.unwrap_or(self.profile.fill),
            common: common.is_some(),
            short_side_min: self.profile.short_side_min,
            thumbnails: &self.profile.thumbnails,
            beyond: self.sight.evidence.beyond.as_ref(),
            near: self.sight.evidence.near.as_ref(),
            usable: self.sight.usable.map(Area::from),
        }
    }

    /// A crop with more air that keeps the product under every reading, centred on the likeliest.
    fn looser(&self) -> Rect {
        let others = self.sight.evidence.others.iter();
        let wishes = Wishes {
            keep: others.fold(self.subject, |a, &o| a.union(o)),
            sure: false,
            fill: self.profile.fill * 0.85,
            aim: self.profile.fill * 0.85,
            common: false,
            ..self.wishes()
        };
        wishes.best()
    }

    fn confidence(&self, framing: &mut Framing, wishes: Wishes<'_>) -> f64 {
        if self.correction.subject.is_some() {
            return 1.0;
        }
        let standing = wishes.standing(framing.crop);
        let (evidence, crop) = (&self.sight.evidence, framing.crop);
        let signals = confidence::signals(evidence, self.sight.frame, crop, &standing);
        let probability = confidence::probability(&signals);
        framing.weighed = Some(Weighed { crop, signals });
        probability
    }

    fn cut_by_the_frame(&self) -> bool {
        let (w, h) = (f64::from(self.sight.frame.w), f64::from(self.sight.frame.h));
        let (dx, dy) = (w * AT_THE_BORDER, h * AT_THE_BORDER);
        let s = self.subject;
        s.x0 <= dx || s.y0 <= dy || s.x1 >= w - dx || s.y1 >= h - dy
    }

    /// The largest crop in the middle of the frame, moved only as far as the product needs.
    fn largest_held(&self) -> Rect {
        let frame = self.sight.frame;
        let size = self.profile.shape.largest_in(frame);
        let place = |from: f64, to: f64, len: u32, limit: u32| {
            let most = f64::from(limit - len);
            let middle = (most / 2.0).floor();
            let (lo, hi) = (to - f64::from(len), from);
            let start = if lo <= hi {
                middle.clamp(lo, hi)
            } else {
                (from + to - f64::from(len)) / 2.0
            };
            start.round().clamp(0.0, most) as u32
        };
        let s = self.subject;
        Rect::new(
            place(s.x0, s.x1, size.w, frame.w),
            place(s.y0, s.y1, size.h, frame.h),
            size.w,
            size.h,
        )
    }

    fn does_not_fit(&self, framing: &mut Framing) {
        framing.crop = self.largest_held();
        let sure = self.confidence(framing, self.wishes());
        framing.confidence = CUT;
        framing.verdict = Verdict::Hold;
        framing.reasons.push(Reason::DoesNotFit);
        if self.correction.accept {
            framing.verdict = Verdict::Deliver;
            framing.reasons.push(Reason::Accepted);
        } else if self.profile.tight == Tight::Extend {
            let grown = extend::grown(
                self.sight.frame,
                self.profile.shape,
                self.subject,
                self.profile.margin,
            )
            .filter(|(crop, growth)| extend::is_plain(self.photo, *crop, *growth, self.subject));
            match grown {
                None => framing.reasons.push(Reason::CannotExtend),
                Some((crop, growth)) => {
                    framing.crop = crop;
                    framing.extension = Some(growth);
                    framing.verdict = Verdict::Glance;
                    framing.confidence = sure.min(GLANCE_BELOW);
                    framing.reasons.pop();
                    framing.reasons.push(Reason::Extended);
                }
            }
        }
    }

    /// Says what gave way.
    fn say(&self, framing: &mut Framing, s: &Standing) {
        let profile = self.profile;
        let short = framing.crop.size().short();
        let mut say = |when: bool, reason| {
            if when {
                framing.reasons.push(reason);
            }
        };
        say(s.room > ROOM_SEEN, Reason::SurfaceEnd);
        say(s.air < profile.margin, Reason::LittleAir);
        say(s.off_centre > OFF_CENTRE, Reason::OffCentre);
        let for_pixels = f64::from(short) <= f64::from(profile.short_side_min) * 1.02;
        say(
            for_pixels && s.fill < profile.fill * 0.75,
            Reason::SmallInFrame,
        );
    }
}

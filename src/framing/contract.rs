//! The contract's rules of framing as properties of every decision, whatever was found. Owns arbitrary sights,
//! profiles and words of hers; refuses to know how a crop is searched.

use proptest::prelude::*;

use super::area::Area;
use super::map::{Map, SIDE, Sums};
use super::search::{Wishes, holds_thumbnail};
use super::{Air, Correction, Evidence, Framing, Sight, decide, usable};
use crate::base::geometry::{Rect, Shape, Size};
use crate::base::reason::{Reason, Verdict};
use crate::config::profile::{Profile, Set, Tight};
use crate::photo::raster::Raster;

/// A photo as it was seen, a profile, and her word.
#[derive(Clone, Debug)]
struct Case {
    frame: Size,
    subject: Rect,
    others: Vec<Rect>,
    /// Where the surface ends: the room lies outside this box.
    board: Option<Rect>,
    /// 0 for a product that is doubtful in every way, 1 for one that is not.
    surely: f64,
    profile: Profile,
    correction: Correction,
}

impl Case {
    fn sight(&self) -> Sight {
        let (w, h) = (f64::from(self.frame.w), f64::from(self.frame.h));
        let beyond = self.board.map(|b| {
            let b = Area::from(b);
            let on = |i: usize| {
                let (x, y) = ((i % SIDE) as f64 + 0.5, (i / SIDE) as f64 + 0.5);
                let (x, y) = (x / SIDE as f64 * w, y / SIDE as f64 * h);
                !(b.x0..b.x1).contains(&x) || !(b.y0..b.y1).contains(&y)
            };
            Map::new(
                (0..SIDE * SIDE)
                    .map(|i| f32::from(u8::from(on(i))))
                    .collect(),
            )
        });
        let area = Area::from(self.subject);
        let sums = |m: &Map| Sums::of(m);
        Sight {
            subject: Some(self.subject),
            usable: beyond
                .as_ref()
                .and_then(|m| usable::usable(m, Some(area), self.frame)),
            evidence: Evidence {
                area: Some(area),
                others: self.others.iter().map(|&r| Area::from(r)).collect(),
                certainty: self.surely,
                mirror: self.surely,
                blur: 1.0 - self.surely,
                dispute: 1.0 - self.surely,
                beyond: beyond.as_ref().map(sums),
                near: beyond.as_ref().map(|m| Sums::of(&m.grown())),
                ..Evidence::default()
            },
            ..Sight::of_nothing(self.frame)
        }
    }
    fn decided(&self) -> Framing {
        let photo = Raster::filled(self.frame, [200, 200, 200]);
        decide(&self.sight(), &photo, &self.profile, &self.correction)
    }
    fn told(&self) -> Rect {
        self.correction.subject.unwrap_or(self.subject)
    }
    fn fits(&self) -> bool {
        let (s, most) = (self.told(), self.profile.shape.largest_in(self.frame));
        s.w <= most.w && s.h <= most.h
    }
    /// The crop as the search itself would measure it, for a product that was surely found.
    fn wishes<'a>(&'a self, sight: &'a Sight) -> Wishes<'a> {
        let subject = Area::from(self.told());
        Wishes {
            frame: self.frame,
            shape: self.profile.shape,
            subject,
            keep: subject,
            sure: true,
            margin: self.profile.margin,
            fill: self.profile.fill,
            aim: self.profile.fill,
            common: false,
            short_side_min: self.profile.short_side_min,
            thumbnails: &self.profile.thumbnails,
            beyond: sight.evidence.beyond.as_ref(),
            near: sight.evidence.near.as_ref(),
            usable: sight.usable.map(Area::from),
        }
    }
}

/// A box inside the frame, at least 1x1, often at or near its border.
fn boxes(frame: Size) -> impl Strategy<Value = Rect> {
    let side = |n: u32| {
        prop_oneof![
            3 => (0..n, 1..=n),
            1 => (Just(0), 1..=n),
            1 => (1..=n).prop_map(move |l| (n - l, l)),
        ]
        .prop_map(move |(a, l)| (a, l.min(n - a)))
    };
    (side(frame.w), side(frame.h)).prop_map(|((x, w), (y, h))| Rect::new(x, y, w, h))
}

fn shapes() -> impl Strategy<Value = Shape> {
    prop_oneof![
        4 => prop::sample::select(vec![(4, 3), (1, 1), (4, 5), (3, 4), (16, 9), (3, 1)]),
        1 => (1..=100u32, 1..=100u32),
    ]
    .prop_map(|(a, b)| Shape::Ratio(a, b))
}

fn profiles() -> impl Strategy<Value = Profile> {
    let floor = prop_oneof![2 => Just(1), 1 => 1..160u32];
    let margin = prop_oneof![2 => Just(0.06), 1 => 0.0..0.4f64];
    let fill = prop_oneof![2 => Just(0.6), 1 => 0.05..1.0f64];
    let thumbnails = prop::collection::vec(shapes(), 0..3);
    (
        shapes(),
        floor,
        margin,
        fill,
        thumbnails,
        any::<bool>(),
        any::<bool>(),
    )
        .prop_map(
            |(shape, short_side_min, margin, fill, thumbnails, extend, even)| Profile {
                shape,
                short_side_min,
                margin,
                fill,
                thumbnails,
                tight: if extend { Tight::Extend } else { Tight::Hold },
                set: if even { Set::Even } else { Set::Free },
                ..Profile::default()
            },
        )
}

fn cases() -> impl Strategy<Value = Case> {
    let frame = (8..260u32, 8..260u32).prop_map(|(w, h)| Size::new(w, h));
    let frame = prop_oneof![3 => frame, 1 => prop::sample::select(vec![Size::new(240, 180), Size::new(150, 200), Size::new(213, 160)])];
    frame.prop_flat_map(|frame| {
        let her = prop_oneof![3 => Just(None), 1 => boxes(frame).prop_map(Some)];
        let board = prop_oneof![1 => Just(None), 1 => boxes(frame).prop_map(Some)];
        let air =
            prop_oneof![3 => Just(None), 1 => (0.05..1.0f64).prop_map(|f| Some(Air::Common(f)))];
        (
            boxes(frame),
            prop::collection::vec(boxes(frame), 0..5),
            board,
            0.0..=1.0f64,
            profiles(),
            (her, prop::bool::weighted(0.1), air),
        )
            .prop_map(
                move |(subject, others, board, surely, profile, (her, accept, air))| Case {
                    frame,
                    subject,
                    others,
                    board,
                    surely,
                    profile,
                    correction: Correction {
                        subject: her,
                        crop: None,
                        accept,
                        air,
                    },
                },
            )
    })
}

fn runs() -> ProptestConfig {
    ProptestConfig {
        cases: 300,
        failure_persistence: None,
        ..ProptestConfig::default()
    }
}

proptest! {
    #![proptest_config(runs())]

    #[test]
    fn what_was_found_is_never_cut_while_some_crop_holds_it(case in cases()) {
        let f = case.decided();
        if f.reasons.contains(&Reason::FillsFrame) {
            prop_assert_eq!(f.verdict == Verdict::Deliver, false);
        } else if case.fits() {
            prop_assert!(f.crop.contains(case.told()), "{:?}", f);
            prop_assert!(f.extension.is_none() && !f.reasons.contains(&Reason::DoesNotFit), "{:?}", f);
        } else if f.extension.is_some() {
            prop_assert_eq!(case.profile.tight, Tight::Extend);
            prop_assert!(f.crop.contains(case.told()), "{:?}", f);
            prop_assert!(f.verdict != Verdict::Deliver, "{:?}", f);
        } else {
            prop_assert!(f.reasons.contains(&Reason::DoesNotFit), "{:?}", f);
            prop_assert!(f.verdict == Verdict::Hold || case.correction.accept, "{:?}", f);
        }
    }

    #[test]
    fn a_crop_lies_in_the_frame_and_has_the_shape_and_so_has_a_grown_canvas(case in cases()) {
        let f = case.decided();
        prop_assert!(f.crop.inside(case.frame), "{:?}", f);
        let c = f.canvas();
        let ratio = case.profile.shape.ratio().unwrap();
        // Whole pixels: one side is the other's, rounded; a grown canvas rounds both.
        let (w, h) = (f64::from(c.w), f64::from(c.h));
        let slack = 0.51 * (1.0 + f64::from(u8::from(f.extension.is_some())) * (1.0 + ratio.max(1.0 / ratio)));
        prop_assert!((w - h * ratio).abs() <= slack || (h - w / ratio).abs() <= slack || c.short() == 1, "{} {:?}", c, f);
    }

    #[test]
    fn a_grown_canvas_gives_the_margin(case in cases()) {
        let f = case.decided();
        if let Some(e) = f.extension {
            let s = case.told();
            let sides = [
                s.x - f.crop.x + e.left,
                s.y - f.crop.y + e.top,
                f.crop.right() - s.right() + e.right,
                f.crop.bottom() - s.bottom() + e.bottom,
            ];
            let air = f64::from(*sides.iter().min().unwrap());
            prop_assert!(air >= case.profile.margin * f64::from(f.canvas().short()) - 2.0, "{:?}", f);
        }
    }

    #[test]
    fn thumbnails_are_told_of_the_output(case in cases()) {
        let f = case.decided();
        let e = f.extension.unwrap_or_default();
        let (left, top) = (f64::from(e.left) - f64::from(f.crop.x), f64::from(e.top) - f64::from(f.crop.y));
        let s = Area::from(case.told());
        let there = Area::new(s.x0 + left, s.y0 + top, s.x1 + left, s.y1 + top);
        let shapes: Vec<Shape> = f.thumbnails.iter().map(|(t, _)| *t).collect();
        prop_assert_eq!(&shapes, &case.profile.thumbnails);
        for (shape, holds) in &f.thumbnails {
            prop_assert_eq!(holds_thumbnail(f.canvas(), *shape, there), *holds);
        }
        let said = f.reasons.contains(&Reason::ThumbnailCuts);
        prop_assert_eq!(said, f.thumbnails.iter().any(|(_, holds)| !holds));
    }

    #[test]
    fn less_air_than_the_margin_is_delivered_and_said(case in cases()) {
        let f = case.decided();
        let plain = ![Reason::FillsFrame, Reason::DoesNotFit, Reason::Extended].iter().any(|r| f.reasons.contains(r));
        if plain {
            let sight = case.sight();
            let air = case.wishes(&sight).standing(f.crop).air;
            prop_assert_eq!(f.reasons.contains(&Reason::LittleAir), air < case.profile.margin, "{} {:?}", air, f);
            prop_assert_eq!(f.verdict == Verdict::Hold, f.reasons.contains(&Reason::TooFewPixels), "{:?}", f);
        }
    }

    #[test]
    fn the_frame_is_kept_whole_by_the_rule_or_it_is_said_what_forced_it(case in cases()) {
        let f = case.decided();
        let sight = case.sight();
        let wishes = case.wishes(&sight);
        let other = [Reason::FillsFrame, Reason::DoesNotFit, Reason::Extended].iter().any(|r| f.reasons.contains(r));
        if wishes.is_whole(f.crop) && !other {
            let allowed = f.verdict == Verdict::Deliver && wishes.may_be_kept_whole(f.crop, &wishes.standing(f.crop));
            let said = [
                Reason::LittleAir,
                Reason::OffCentre,
                Reason::SurfaceEnd,
                Reason::ThumbnailCuts,
                Reason::SmallInFrame,
                Reason::TooFewPixels,
                Reason::Unsure,
            ];
            prop_assert!(allowed || said.iter().any(|r| f.reasons.contains(r)), "{:?} {:?}", wishes.standing(f.crop), f);
        }
    }

    /// Only for want of pixels: nothing beyond, her own box, no other reason to hold.
    #[test]
    fn too_few_pixels_are_held_only_where_no_centred_crop_has_enough(case in cases()) {
        let case = Case {
            board: None,
            correction: Correction { subject: Some(case.subject), crop: None, accept: false, air: None },
            ..case
        };
        let f = case.decided();
        if f.reasons.contains(&Reason::TooFewPixels) && case.fits() && !f.reasons.contains(&Reason::FillsFrame) {
            prop_assert_eq!(f.verdict, Verdict::Hold);
            let sight = case.sight();
            let wishes = case.wishes(&sight);
            let largest = case.profile.shape.largest_in(case.frame);
            let s = case.told();
            // Each size at the place that centres it best: whether it has enough pixels, and how far off it is.
            let at = |from: u32, len: u32, n: u32, limit: u32| {
                let start = f64::from(from) + (f64::from(len) - f64::from(n)) / 2.0;
                start.round().clamp(0.0, f64::from(limit - n)) as u32
            };
            let all: Vec<(bool, f64)> = (1..=largest.w)
                .map(|w| case.profile.shape.largest_in(Size::new(w, largest.h)))
                .map(|n| Rect::new(at(s.x, s.w, n.w, case.frame.w), at(s.y, s.h, n.h, case.frame.h), n.w, n.h))
                .filter(|crop| crop.contains(s))
                .map(|crop| (crop.size().short() >= case.profile.short_side_min, wishes.standing(crop).off_centre))
                .collect();
            let some = all.iter().any(|(_, off)| *off <= 0.12);
            for (enough, off) in all {
                prop_assert!(!enough || (some && off > 0.05), "one is {} off: {:?}", off, f);
            }
        }
    }
}

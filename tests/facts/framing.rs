//! The eye and its decisions on a handful of rendered scenes with exact truth (our own renders, most at half size).

use std::path::{Path, PathBuf};

use stallhand::base::geometry::{Rect, Shape, Size};
use stallhand::base::reason::{Reason, Verdict};
use stallhand::config::profile::{Limits, Profile, Tight};
use stallhand::framing::{Correction, Eye, Sight, decide};
use stallhand::photo::{self, raster::Raster};

#[allow(dead_code)] // the bench prints more of a judgement than is asked here
#[path = "../bench/framing/score.rs"]
mod score;
#[allow(dead_code)]
#[path = "../bench/framing/truth.rs"]
mod truth;

use score::{Answer, judge};
use truth::{Integral, Truth};

const SHAPES: [(&str, Shape); 3] = [
    ("4:3", Shape::Ratio(4, 3)),
    ("1:1", Shape::Ratio(1, 1)),
    ("4:5", Shape::Ratio(4, 5)),
];

fn folder() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/facts/scenes")
}

fn scene(name: &str) -> Raster {
    let bytes = std::fs::read(folder().join(name)).unwrap();
    photo::open(&bytes, &Limits::default(), [255; 3], name)
        .unwrap()
        .raster
}

fn profile(shape: Shape) -> Profile {
    Profile {
        shape,
        short_side_min: 1,
        ..Profile::default()
    }
}

fn floats(r: Rect) -> [f64; 4] {
    <[u32; 4]>::from(r).map(f64::from)
}

#[test]
fn the_bundled_scenes_are_framed_as_a_person_would_accept() {
    let eye = Eye::load().unwrap();
    let truth = Truth::read(&folder()).unwrap();
    let (mut found, mut ready, mut judged, mut centred) = (0, 0, 0, 0);
    for s in &truth.images {
        let photo = scene(&s.image);
        let product = Integral::of_mask(&folder().join(s.mask.as_ref().unwrap()), false).unwrap();
        let beyond = s
            .ok_mask
            .as_ref()
            .map(|m| Integral::of_mask(&folder().join(m), true).unwrap());
        let sight = eye.look(&photo);
        for (aspect, shape) in SHAPES {
            let f = decide(&sight, &photo, &profile(shape), &Correction::default());
            let a = Answer {
                aspect,
                crop: floats(f.crop),
                subject: f.subject.map(floats),
                confidence: f.confidence,
            };
            let j = judge(s, &a, &product, beyond.as_ref());
            // A white bowl on white paper, cut by the frame, is the one that may be missed, never unsaid.
            found += usize::from(j.iou >= 0.7);
            assert!(
                j.iou >= 0.7 || f.verdict == Verdict::Glance,
                "{} {aspect}: overlap {:.2}",
                s.image,
                j.iou
            );
            assert_ne!(
                j.whole_f,
                Some(false),
                "{} {aspect}: {:.3} kept",
                s.image,
                j.kept
            );
            let middle = floats(shape.centred_in(photo.size().frame()));
            let plain = judge(s, &Answer { crop: middle, ..a }, &product, beyond.as_ref());
            judged += usize::from(j.ready.is_some());
            ready += usize::from(j.ready == Some(true));
            centred += usize::from(plain.ready == Some(true));
        }
    }
    assert!(judged >= 15, "{judged} judged");
    assert!(found >= 18, "{found} of 21 found");
    assert!(ready * 100 >= judged * 94, "{ready} of {judged} ready");
    assert!(
        centred * 2 < ready,
        "a centred crop alone would be ready in {centred}"
    );
}

#[test]
fn a_product_cut_by_the_frame_gets_the_largest_crop_for_a_glance() {
    let photo = scene("cut.jpg");
    let sight = Eye::load().unwrap().look(&photo);
    for (_, shape) in SHAPES {
        let f = decide(&sight, &photo, &profile(shape), &Correction::default());
        assert_eq!(f.verdict, Verdict::Glance);
        assert!(f.reasons.contains(&Reason::FillsFrame), "{:?}", f.reasons);
        assert_eq!(f.crop.size(), shape.largest_in(photo.size()));
    }
}

#[test]
fn an_empty_table_is_the_largest_centred_crop_for_a_glance() {
    let photo = Raster::filled(Size::new(800, 600), [190, 180, 170]);
    let sight = Eye::load().unwrap().look(&photo);
    assert_eq!(sight, Sight::of_nothing(photo.size()));
    let f = decide(
        &sight,
        &photo,
        &profile(Shape::Ratio(1, 1)),
        &Correction::default(),
    );
    assert_eq!(
        (f.verdict, f.crop),
        (Verdict::Glance, Rect::new(100, 0, 600, 600))
    );
    assert_eq!(f.reasons, [Reason::NoSubject]);
    assert!(f.confidence < 0.5);
}

#[test]
fn her_crop_is_used_exactly_and_her_box_replaces_the_eye() {
    let photo = scene("mug.jpg");
    let sight = Eye::load().unwrap().look(&photo);
    let crop = Rect::new(11, 13, 300, 225);
    let by_crop = Correction {
        crop: Some(crop),
        ..Correction::default()
    };
    let f = decide(&sight, &photo, &profile(Shape::Ratio(4, 3)), &by_crop);
    assert_eq!(
        (f.crop, f.verdict, f.confidence),
        (crop, Verdict::Deliver, 1.0)
    );
    assert_eq!(f.reasons[0], Reason::Corrected);

    let subject = Rect::new(40, 60, 80, 80);
    let by_box = Correction {
        subject: Some(subject),
        ..Correction::default()
    };
    let f = decide(&sight, &photo, &profile(Shape::Ratio(1, 1)), &by_box);
    assert_eq!(f.subject, Some(subject));
    assert!(f.crop.contains(subject) && f.reasons.contains(&Reason::Corrected));
}

/// A tall plain vase on a plain ground in a landscape frame, found by her own box.
fn tall(ground: impl Fn(u32, u32) -> [u8; 3]) -> (Raster, Rect) {
    let size = Size::new(600, 900);
    let mut photo = Raster::filled(size, [0; 3]);
    for y in 0..size.h {
        for x in 0..size.w {
            let vase = (200..400).contains(&x) && (30..870).contains(&y);
            let px = if vase { [90, 60, 50] } else { ground(x, y) };
            let i = (y * size.w + x) as usize * 3;
            photo.pixels_mut()[i..i + 3].copy_from_slice(&px);
        }
    }
    (photo, Rect::new(200, 30, 200, 840))
}

#[test]
fn what_fits_no_crop_is_held_or_the_plain_backdrop_is_grown() {
    let (photo, vase) = tall(|_, _| [225, 222, 218]);
    let sight = Sight::of_nothing(photo.size());
    let here = Correction {
        subject: Some(vase),
        ..Correction::default()
    };
    let hold = profile(Shape::Ratio(4, 3));
    let f = decide(&sight, &photo, &hold, &here);
    assert_eq!(f.verdict, Verdict::Hold);
    assert!(f.reasons.contains(&Reason::DoesNotFit));
    assert_eq!(
        f.crop.size(),
        Size::new(600, 450),
        "still the best crop there is"
    );

    let extend = Profile {
        tight: Tight::Extend,
        ..hold.clone()
    };
    let f = decide(&sight, &photo, &extend, &here);
    assert_eq!(f.verdict, Verdict::Glance);
    assert!(f.reasons.contains(&Reason::Extended) && !f.reasons.contains(&Reason::DoesNotFit));
    let e = f.extension.unwrap();
    let (w, h) = (f.crop.w + e.left + e.right, f.crop.h + e.top + e.bottom);
    assert!(
        f.crop.contains(vase) && (f64::from(w) / f64::from(h) - 4.0 / 3.0).abs() < 0.01,
        "{w}x{h}"
    );

    let accepted = Correction {
        accept: true,
        ..here.clone()
    };
    let f = decide(&sight, &photo, &hold, &accepted);
    assert_eq!(f.verdict, Verdict::Deliver);
    assert!(f.reasons.contains(&Reason::Accepted));

    let (busy, vase) = tall(|x, y| {
        if (x / 20 + y / 20) % 2 == 0 {
            [40, 40, 40]
        } else {
            [220, 220, 220]
        }
    });
    let here = Correction {
        subject: Some(vase),
        ..Correction::default()
    };
    let f = decide(&sight, &busy, &extend, &here);
    assert_eq!((f.verdict, f.extension), (Verdict::Hold, None));
    assert!(f.reasons.contains(&Reason::CannotExtend));
}

#[test]
fn too_few_pixels_for_the_profile_are_held_unless_accepted() {
    let photo = scene("mug.jpg");
    let sight = Eye::load().unwrap().look(&photo);
    let strict = Profile::default();
    let f = decide(&sight, &photo, &strict, &Correction::default());
    assert_eq!(f.verdict, Verdict::Hold);
    assert!(f.reasons.contains(&Reason::TooFewPixels));
    let accept = Correction {
        accept: true,
        ..Correction::default()
    };
    assert_ne!(
        decide(&sight, &photo, &strict, &accept).verdict,
        Verdict::Hold
    );
}

#[test]
fn as_is_keeps_the_whole_frame() {
    let photo = scene("soap.jpg");
    let sight = Eye::load().unwrap().look(&photo);
    let f = decide(
        &sight,
        &photo,
        &profile(Shape::AsIs),
        &Correction::default(),
    );
    assert_eq!(
        (f.crop, f.verdict),
        (photo.size().frame(), Verdict::Deliver)
    );
}

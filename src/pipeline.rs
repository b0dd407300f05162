//! The story of one photo: open, look, decide, render. Owns the order of the rooms; refuses to
//! know where bytes come from or go to.

use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal, Verdict};
use crate::checks::{self, Measures};
use crate::config::profile::{Imprint, Limits, Profile};
use crate::framing::{self, Correction, Eye, Framing};
use crate::photo::{self, Header};
use crate::render::{self, Rendition};

/// Long side of the small pictures on the proof sheet, px.
pub const PROOF_LONG_SIDE: u32 = 960;

/// One photo's work order: every profile that applies, each with her correction.
pub struct Order<'a> {
    pub profiles: &'a [(Profile, Correction)],
    pub imprint: &'a Imprint,
    pub limits: &'a Limits,
    /// Her clockwise turn after EXIF: 0, 90, 180 or 270.
    pub turn: u32,
    /// The photo's own file name; cameras say the colour space there.
    pub name: &'a str,
    /// Stop after the decision (for `preview`).
    pub decide_only: bool,
    /// Also draw the first profile's decision as a PNG.
    pub picture: bool,
}

/// What one profile got: the decision, and the file or the refusal.
pub struct Outcome {
    pub framing: Framing,
    /// `None` when only a decision was asked for, or the framing holds.
    pub rendition: Option<Result<Rendition, Refusal>>,
}

/// A photo that was read: its facts and one outcome for each profile, in order.
pub struct Prepared {
    pub header: Header,
    pub size: Size,
    pub colour: String,
    pub remarks: Vec<Reason>,
    pub outcomes: Vec<Outcome>,
    pub proof: Vec<u8>,
    /// What a careful eye measures; none when only a decision was asked for.
    pub measures: Option<Measures>,
    pub picture: Option<Vec<u8>>,
}

/// Tells the whole story of one photo; `eye` is loaded on the first call.
///
/// # Errors
/// A refusal when the photo itself cannot be read.
pub fn prepare(bytes: &[u8], order: &Order<'_>, eye: &Eye) -> Result<Prepared, Refusal> {
    let backdrop = order.profiles.first().map_or([255; 3], |(p, _)| p.backdrop);
    let mut photo = photo::open(bytes, order.limits, backdrop, order.name)?;
    photo.turn(order.turn);
    let frame = photo.raster.size();
    for (_, c) in order.profiles {
        if let Some(b) = [c.subject, c.crop]
            .into_iter()
            .flatten()
            .find(|b| !b.inside(frame))
        {
            return Err(Refusal::new(
                Reason::CorrectionRefused,
                format!(
                    "the correction's box of {} px at {},{} does not lie inside the photo of {frame} px",
                    b.size(),
                    b.x,
                    b.y
                ),
            ));
        }
    }
    let sight = eye.look(&photo.raster);
    let mut outcomes: Vec<Outcome> = order
        .profiles
        .iter()
        .map(|(profile, correction)| {
            let framing = framing::decide(&sight, &photo.raster, profile, correction);
            let wanted = !order.decide_only && framing.verdict != Verdict::Hold;
            let rendition = wanted.then(|| {
                render::render(
                    &photo,
                    framing.crop,
                    framing.extension,
                    profile,
                    order.imprint,
                    correction.accept,
                )
            });
            Outcome { framing, rendition }
        })
        .collect();
    let (proof, measures) = if order.decide_only {
        (Vec::new(), None)
    } else {
        let small = render::small(&photo, PROOF_LONG_SIDE);
        let scaled = sight.subject.map(|b| b.scaled(frame, small.size()));
        let measures = checks::measure(&small, scaled, sight.tilt);
        (render::proof_picture(&small), Some(measures))
    };
    let remarks = measures.as_ref().map(checks::remarks).unwrap_or_default();
    for (outcome, (profile, _)) in outcomes.iter_mut().zip(order.profiles) {
        outcome.framing.reasons.extend(&remarks);
        if profile.strict && !remarks.is_empty() {
            outcome.framing.verdict = Verdict::Hold;
            outcome.rendition = None;
        }
    }
    let picture = order
        .picture
        .then(|| draw(&photo, order, &outcomes))
        .flatten();
    Ok(Prepared {
        size: photo.raster.size(),
        header: photo.header,
        colour: photo.colour,
        remarks: photo.remarks,
        outcomes,
        proof,
        measures,
        picture,
    })
}

/// The first profile's decision drawn on the photo, as a PNG.
fn draw(photo: &photo::Photo, order: &Order<'_>, outcomes: &[Outcome]) -> Option<Vec<u8>> {
    let ((profile, _), outcome) = order.profiles.first().zip(outcomes.first())?;
    let mut drawn = photo.raster.clone();
    photo.to_srgb(&mut drawn);
    let picture = framing::picture(&drawn, profile, &outcome.framing);
    render::encode::png(&picture, None, None).ok()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::Shape;
    use crate::base::tally;

    /// A photo of 640x426 px whose colours are Display P3's.
    fn wide() -> Vec<u8> {
        let jpeg = include_bytes!("../tests/facts/scenes/mug.jpg");
        let icc = moxcms::ColorProfile::new_display_p3().encode().unwrap();
        let mut bytes = jpeg[..2].to_vec();
        bytes.extend([0xff, 0xe2]);
        bytes.extend((icc.len() as u16 + 16).to_be_bytes());
        bytes.extend(b"ICC_PROFILE\0\x01\x01");
        bytes.extend(icc);
        bytes.extend(&jpeg[2..]);
        bytes
    }

    #[test]
    fn all_profiles_of_a_photo_share_one_decode_and_one_search_and_no_pixel_is_converted_twice() {
        let shapes = [Shape::Ratio(4, 3), Shape::Ratio(1, 1), Shape::Ratio(4, 5)];
        let profiles = shapes.map(|shape| {
            let profile = Profile {
                shape,
                short_side: 200,
                short_side_min: 100,
                ..Profile::default()
            };
            (profile, Correction::default())
        });
        let order = Order {
            profiles: &profiles,
            imprint: &Imprint::default(),
            limits: &Limits::default(),
            turn: 0,
            name: "mug.jpg",
            decide_only: false,
            picture: false,
        };
        let eye = Eye::load().unwrap();
        tally::take();
        let done = prepare(&wide(), &order, &eye).unwrap();
        let counts = tally::take();
        assert!(done.colour.contains("P3"), "{}", done.colour);
        assert_eq!((counts["decodes"], counts["searches"]), (1, 1));
        // Each profile's own pixels after the reduction, and the proof picture's.
        let outputs = done.outcomes.iter().map(|o| {
            let made = o.rendition.as_ref().unwrap().as_ref().unwrap();
            made.size.area()
        });
        let proof = done.size.area();
        assert_eq!(counts["px converted"], outputs.sum::<u64>() + proof);
    }
}

//! Draws the plan in memory: resize, sharpen, encode within the byte budget, stamp, and prove clean.
//! Owns pixels on their way out; refuses to know files, folders and why the crop is where it is.

mod bands;
mod blur;
mod budget;
mod chroma;
pub mod encode;
mod extend;
mod foresee;
mod icc;
mod light;
mod pooling;
mod prove;
pub mod resize;
pub mod score;
mod sharpen;
mod site;
mod stamp;
mod tables;
mod trial;
mod wide;

use std::ops::Range;

use crate::base::geometry::{Rect, Size};
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::{Format, Imprint, Profile};
use crate::framing::Extension;
use crate::photo::Photo;
use crate::photo::raster::Raster;
pub use crate::render::chroma::choose as chroma_of;
use crate::render::stamp::Stamp;

/// A finished file in memory: within budget, upright, sRGB, and proved free of private data.
#[derive(Debug)]
pub struct Rendition {
    bytes: Vec<u8>,
    pub size: Size,
    /// JPEG quality used, fractional.
    pub quality: f64,
    /// `4:4:4` or `4:2:0`.
    pub subsampling: &'static str,
    /// Score against the unencoded picture.
    pub ssimulacra2: Option<f64>,
    /// Full encodes that were needed.
    pub encodes: u32,
    pub reasons: Vec<Reason>,
}

impl Rendition {
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }
    pub fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }
}

/// Quality of the small pictures on the proof sheet.
const PROOF_QUALITY: f64 = 82.0;

/// Fraction of the size aimed at below which pixels are not given up, though she accepts few.
const SMALLEST_ACCEPTED: f64 = 0.25;

/// Renders `crop` of the photo, its canvas grown on each side by `extension` (px of the source) with
/// the backdrop's own colour and grain, for a profile.
///
/// # Errors
/// A refusal when the crop has too few pixels or no file within the budget exists. `accept`
/// lifts the pixel rule, never the weight.
pub fn render(
    photo: &Photo,
    crop: Rect,
    extension: Option<Extension>,
    profile: &Profile,
    imprint: &Imprint,
    accept: bool,
) -> Result<Rendition, Refusal> {
    let stamp = Stamp::new(imprint, photo.header.captured.as_deref());
    let growth = extension.unwrap_or_default();
    let canvas = Size::new(
        crop.w
            .saturating_add(growth.left)
            .saturating_add(growth.right),
        crop.h
            .saturating_add(growth.top)
            .saturating_add(growth.bottom),
    );
    let mut reasons = Vec::new();
    let target = aim(canvas, profile, accept, &mut reasons)?;
    let draw = |size: Size| -> Result<Raster, Refusal> {
        let (inner, border) = placed(canvas, growth, size);
        let mut picture = resize::crop_to(&photo.raster, crop, inner)?;
        photo.to_srgb(&mut picture);
        let mut picture = extend::extended(picture, border);
        if size != canvas {
            sharpen::sharpen(&mut picture, profile.sharpen);
        }
        Ok(picture)
    };
    let draw_bands = |size: Size, n: u32| {
        let rows = bands::rows_of_weight(size, n).filter(|_| growth == Extension::default())?;
        // Sharpening looks one row up and down; with them bands are what they are in the whole.
        let with = |r: &Range<u32>| r.start.saturating_sub(1)..(r.end + 1).min(size.h);
        let with: Vec<_> = rows.iter().map(with).collect();
        let mut picture = resize::rows_to(&photo.raster, crop, size, &with).ok()?;
        photo.to_srgb(&mut picture);
        if size != canvas {
            sharpen::sharpen(&mut picture, profile.sharpen);
        }
        Some(bands::without_margin(&picture, &rows, &with))
    };
    let smallest = if accept {
        SMALLEST_ACCEPTED
    } else {
        f64::from(profile.short_side_min) / f64::from(target.short())
    };
    let best = match profile.format {
        Format::Jpeg => budget::fit(
            target,
            smallest,
            profile,
            &stamp.segments(),
            draw,
            draw_bands,
        )?,
        _ => site::fit(target, smallest, profile, &stamp, draw)?,
    };
    proven(&best.bytes, best.size, profile.format, &stamp)?;
    if best.size.short() < profile.short_side && !reasons.contains(&Reason::Accepted) {
        reasons.push(Reason::SmallOutput);
    }
    Ok(Rendition {
        bytes: best.bytes,
        size: best.size,
        quality: best.quality,
        subsampling: best.subsampling,
        ssimulacra2: best.ssimulacra2,
        encodes: best.encodes,
        reasons,
    })
}

/// Reads a finished file again, and lets it go on only when nothing is in it but what belongs there.
fn proven(bytes: &[u8], size: Size, format: Format, stamp: &Stamp) -> Result<(), Refusal> {
    let proof = match format {
        Format::Jpeg => prove::clean(bytes, size, stamp),
        Format::Webp => site::clean_webp(bytes, size, stamp),
        Format::Png => site::clean_png(bytes, size, stamp),
    };
    proof.map_err(|what| {
        Refusal::new(
            Reason::NotClean,
            format!("the finished file was read again and refused: {what}"),
        )
    })
}

/// Where the crop lies on a canvas reduced to `size`: its own size and what is grown around it.
fn placed(canvas: Size, growth: Extension, size: Size) -> (Size, extend::Border) {
    let along = |before: u32, after: u32, whole: u32, to: u32| {
        let scaled = |v: u32| (u64::from(v) * u64::from(to) / u64::from(whole.max(1))) as u32;
        let (before, after) = (scaled(before), scaled(after));
        (before, after, to - before - after)
    };
    let (left, right, w) = along(growth.left, growth.right, canvas.w, size.w);
    let (top, bottom, h) = along(growth.top, growth.bottom, canvas.h, size.h);
    let border = extend::Border {
        left,
        top,
        right,
        bottom,
    };
    (Size::new(w, h), border)
}

/// The size aimed at: the crop reduced to the profile's short side, never enlarged.
fn aim(
    crop: Size,
    profile: &Profile,
    accept: bool,
    reasons: &mut Vec<Reason>,
) -> Result<Size, Refusal> {
    if crop.short() < profile.short_side_min {
        if !accept {
            return Err(Refusal::new(
                Reason::TooFewPixels,
                format!(
                    "the crop is {crop} px, and profile \"{}\" needs at least {} px on the short side",
                    profile.name, profile.short_side_min
                ),
            ));
        }
        reasons.push(Reason::Accepted);
    }
    Ok(resize::reduced(crop, profile.short_side))
}

/// The whole upright photo in sRGB, at most `long_side` px; one pixel when it cannot be reduced.
pub fn small(photo: &Photo, long_side: u32) -> Raster {
    let whole = photo.raster.size();
    let short = (u64::from(long_side) * u64::from(whole.short()) / u64::from(whole.long().max(1)))
        .max(1) as u32;
    let size = resize::reduced(whole, short);
    let mut picture = resize::crop_to(&photo.raster, whole.frame(), size)
        .unwrap_or_else(|_| Raster::filled(Size::new(1, 1), [128; 3]));
    photo.to_srgb(&mut picture);
    picture
}

/// A small sRGB JPEG for the proof sheet. Empty when it cannot be made, which harms no output.
pub fn proof_picture(small: &Raster) -> Vec<u8> {
    let segments = [encode::Segment::srgb()];
    encode::jpeg(small, PROOF_QUALITY, encode::Chroma::Half, &segments).unwrap_or_default()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A photo of `size` whose pixels come from `paint(x, y)`.
    pub(crate) fn photo(size: Size, paint: impl Fn(u32, u32) -> [u8; 3]) -> Photo {
        let mut pixels = Vec::with_capacity(size.area() as usize * 3);
        for y in 0..size.h {
            for x in 0..size.w {
                pixels.extend_from_slice(&paint(x, y));
            }
        }
        Photo::of_srgb(Raster::new(size, pixels))
    }

    pub(crate) fn small_profile() -> Profile {
        Profile {
            short_side: 120,
            short_side_min: 90,
            max_bytes: 20_000,
            ..Profile::default()
        }
    }

    fn hash(x: u32, y: u32) -> u8 {
        let mut n = x.wrapping_mul(374_761_393) ^ y.wrapping_mul(668_265_263);
        n = (n ^ (n >> 13)).wrapping_mul(1_274_126_177);
        (n >> 24) as u8
    }

    fn drawn(photo: &Photo, profile: &Profile, accept: bool) -> Result<Rendition, Refusal> {
        render(
            photo,
            photo.raster.size().frame(),
            None,
            profile,
            &Imprint::default(),
            accept,
        )
    }

    #[test]
    fn a_crop_is_reduced_to_the_short_side_and_lies_within_the_budget() {
        let photo = photo(Size::new(640, 480), |x, y| {
            [(x / 3) as u8, (y / 2) as u8, 90]
        });
        let profile = small_profile();
        let done = drawn(&photo, &profile, false).unwrap();
        assert_eq!(done.size, Size::new(160, 120));
        assert!(done.bytes().len() as u64 <= profile.max_bytes);
        assert!(done.reasons.is_empty());
        assert!(done.ssimulacra2.unwrap() > 80.0);
    }

    #[test]
    fn a_picture_is_never_enlarged_and_a_smaller_one_is_remarked() {
        let photo = photo(Size::new(133, 100), |x, y| [x as u8, y as u8, 9]);
        let done = drawn(&photo, &small_profile(), false).unwrap();
        assert_eq!(done.size, Size::new(133, 100));
        assert_eq!(done.reasons, [Reason::SmallOutput]);
    }

    #[test]
    fn too_few_pixels_are_refused_unless_she_accepts() {
        let photo = photo(Size::new(100, 75), |x, y| [x as u8, y as u8, 9]);
        let no = drawn(&photo, &small_profile(), false).unwrap_err();
        assert_eq!(no.reason, Reason::TooFewPixels);
        assert!(
            no.detail.contains("100x75") && no.detail.contains("90 px"),
            "{no}"
        );
        let yes = drawn(&photo, &small_profile(), true).unwrap();
        assert_eq!(yes.size, Size::new(100, 75));
        assert_eq!(yes.reasons, [Reason::Accepted]);
    }

    #[test]
    fn noise_gives_up_quality_then_pixels_and_at_last_is_refused_with_the_best_size() {
        let photo = photo(Size::new(320, 240), |x, y| [hash(x, y); 3]);
        let mut profile = Profile {
            short_side: 240,
            short_side_min: 120,
            max_bytes: 25_000,
            ..small_profile()
        };
        let done = drawn(&photo, &profile, false).unwrap();
        assert!(done.bytes().len() <= 25_000);
        assert!((120..240).contains(&done.size.short()), "{}", done.size);
        assert_eq!(done.reasons, [Reason::SmallOutput]);
        profile.max_bytes = 1_500;
        for accept in [false, true] {
            let no = drawn(&photo, &profile, accept).unwrap_err();
            assert_eq!(no.reason, Reason::TooHeavy);
            assert!(no.detail.contains("KB"), "{no}");
        }
    }

    /// Colours that change from one thread to the next.
    fn yarn(size: Size) -> Photo {
        let hues = [[190, 20, 40], [40, 40, 190], [200, 30, 160], [220, 120, 20]];
        photo(size, |x, y| {
            let over = (x / 7 + y / 7) % 2 == 0;
            let pick = if over { x / 7 * 5 % 11 } else { y / 7 * 3 % 7 };
            let shade = 60 + 40 * ((x + y) % 7) / 7;
            hues[pick as usize % 4].map(|v: u32| (v * shade / 100) as u8)
        })
    }

    #[test]
    fn the_score_told_of_every_kind_of_output_is_that_of_the_complete_metric() {
        let china = Photo::of_srgb(score::tests::photo("china.jpg"));
        let yarn = yarn(Size::new(800, 640));
        let grown = Extension {
            left: 60,
            right: 40,
            ..Extension::default()
        };
        let (none, part) = (Extension::default(), Rect::new(120, 30, 400, 300));
        let whole = |p: &Photo| p.raster.size().frame();
        let cases = [
            (
                "a correction's crop as it is",
                &china,
                part,
                none,
                300,
                90_000,
            ),
            ("reduced", &china, whole(&china), none, 280, 60_000),
            ("hardly reduced", &china, whole(&china), none, 400, 120_000),
            ("fewer pixels", &china, whole(&china), none, 400, 36_000),
            ("full colour", &yarn, whole(&yarn), none, 300, 300_000),
            ("grown", &china, part, grown, 280, 90_000),
        ];
        for (what, photo, crop, growth, short_side, max_bytes) in cases {
            let profile = Profile {
                short_side,
                short_side_min: 256,
                max_bytes,
                ..Profile::default()
            };
            let imprint = Imprint::default();
            let done = render(photo, crop, Some(growth), &profile, &imprint, true).unwrap();
            let full = (done.subsampling == "4:4:4", done.size.short() < short_side);
            assert_eq!(
                full,
                (what == "full colour", what == "fewer pixels"),
                "{what}"
            );

            let canvas = Size::new(crop.w + growth.left + growth.right, crop.h);
            let (inner, border) = placed(canvas, growth, done.size);
            let meant = resize::crop_to(&photo.raster, crop, inner).unwrap();
            let mut meant = extend::extended(meant, border);
            if done.size != canvas {
                sharpen::sharpen(&mut meant, profile.sharpen);
            }
            let seen = encode::decoded(done.bytes()).unwrap();
            let (told, theirs) = (
                done.ssimulacra2.unwrap(),
                score::tests::complete(&meant, &seen),
            );
            assert!((told - theirs).abs() < 0.05, "{what}: {told} {theirs}");
        }
    }

    #[test]
    fn the_proof_picture_shows_the_whole_photo_small() {
        let photo = photo(Size::new(400, 300), |x, y| [x as u8, y as u8, 50]);
        let small = proof_picture(&small(&photo, 96));
        let picture = encode::decoded(&small).unwrap();
        assert_eq!(picture.size(), Size::new(96, 72));
        prove::clean(&small, picture.size(), &Stamp::default()).unwrap();
    }

    #[test]
    fn a_file_that_holds_more_than_it_should_is_refused_in_every_format() {
        let photo = photo(Size::new(160, 120), |x, y| [x as u8, y as u8, 50]);
        let (size, none) = (Size::new(160, 120), Stamp::default());
        let theirs = Imprint {
            copyright: "someone else".into(),
            ..Imprint::default()
        };
        for format in [Format::Jpeg, Format::Webp, Format::Png] {
            let profile = Profile {
                format,
                max_bytes: 200_000,
                short_side: 120,
                ..small_profile()
            };
            let frame = photo.raster.size().frame();
            let done =
                |imprint: &Imprint| render(&photo, frame, None, &profile, imprint, false).unwrap();
            proven(done(&Imprint::default()).bytes(), size, format, &none).unwrap();
            let no = proven(done(&theirs).bytes(), size, format, &none).unwrap_err();
            assert_eq!(no.reason, Reason::NotClean);
            assert!(no.detail.contains("read again and refused"), "{no}");
        }
    }
}

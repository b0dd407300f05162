//! Guesses how many pixels a heavy picture can keep before it is drawn whole. Owns the guess;
//! refuses to know how a picture is drawn, and leaves the proof to the search that follows.
//!
//! A picture that is too heavy even at the lowest quality is drawn with fewer pixels. Drawing it whole
//! only to find that out costs nearly as much as the rest of the work, so a few bands of it are drawn
//! and encoded first.

use crate::base::geometry::Size;
use crate::config::profile::Profile;
use crate::photo::raster::Raster;
use crate::render::encode::{self, Chroma};
use crate::render::{bands, budget, chroma};

/// Bands that tell whether a closer look is worth while, and those of the closer look.
const FEW: u32 = 4;
const MANY: u32 = bands::WEIGHT_BANDS;
/// Share of the budget, by few bands, under which no closer look is taken.
const LIGHT: f64 = 0.8;
/// Share of the budget, by many bands, over which the whole is too heavy: these err by a tenth at
/// most on the bench's photos.
const HEAVY: f64 = 1.12;
/// Share of the budget over which still fewer pixels are tried.
const MOST: f64 = 0.98;
/// Share of the budget aimed at with fewer pixels: what is left is used up by quality.
const AIM: f64 = 0.96;

/// What bands tell of a picture before it is drawn.
pub struct Outlook {
    /// The size to draw first: the one aimed at, or smaller where that is surely too heavy.
    pub first: Size,
    /// The colour sampling that was counted on; known only where pixels were given up.
    pub chroma: Option<Chroma>,
    /// Bytes at the lowest quality for each byte of the budget, to a fifth or so.
    pub share: Option<f64>,
}

/// Weighs bands of `target` px and of smaller sizes at the profile's lowest quality, never under
/// `least` px on the short side. `draw` makes `n` bands of a drawing, or nothing where there are
/// none.
pub fn outlook(
    target: Size,
    least: u32,
    profile: &Profile,
    draw: impl Fn(Size, u32) -> Option<Raster>,
) -> Outlook {
    let limit = profile.max_bytes as f64;
    let floor = f64::from(profile.quality.floor);
    let as_wished = |share: Option<f64>| Outlook {
        first: target,
        chroma: None,
        share,
    };
    // Where colour may do with half the sampling the file is the lighter, so that no pixel is given
    // up for colour in vain.
    let sampling = |part: &Raster| match chroma::surely_full(part) {
        true => Chroma::Full,
        false => Chroma::Half,
    };
    let share = |bytes: f64, part: &Raster, size: Size| {
        bytes * size.area() as f64 / part.size().area() as f64 / limit
    };
    let good =
        |part: &Raster, chroma| Some(encode::jpeg(part, floor, chroma, &[]).ok()?.len() as f64);
    let quick = |part: &Raster, chroma| Some(encode::quick(part, floor, chroma).ok()?.len() as f64);

    let Some((part, own, bytes)) = draw(target, FEW).and_then(|p| {
        let own = sampling(&p);
        let bytes = good(&p, own)?;
        Some((p, own, bytes))
    }) else {
        return as_wished(None);
    };
    let few = share(bytes, &part, target);
    if few < LIGHT {
        return as_wished(Some(few));
    }
    // Of many bands quick encodes are enough: how much heavier they are than good ones is the same
    // in few bands and in many.
    let mut known = None;
    let mut lookup = |size: Size| {
        let many = draw(size, MANY)?;
        let chroma = sampling(&many);
        let heavier = match known {
            Some((of, heavier)) if of == chroma => heavier,
            _ if chroma == own => quick(&part, chroma)? / bytes,
            _ => quick(&part, chroma)? / good(&part, chroma)?,
        };
        known = Some((chroma, heavier));
        Some((share(quick(&many, chroma)? / heavier, &many, size), chroma))
    };
    let Some((mut over, chroma)) = lookup(target) else {
        return as_wished(Some(few));
    };
    if over <= HEAVY || target.short() <= least {
        return as_wished(Some(over));
    }
    let (mut first, mut left) = (target, None);
    for _ in 0..3 {
        first = budget::lighter(target, first, over / AIM, least);
        left = lookup(first).map(|(s, _)| s);
        match left {
            Some(s) if s > MOST && first.short() > least => over = s,
            _ => break,
        }
    }
    Outlook {
        first,
        chroma: (chroma == Chroma::Full).then_some(chroma),
        share: left,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::{budget::fit, resize};

    /// A picture of 1200x900 px, its lower half noise of so many levels.
    fn noisy(levels: u32) -> Raster {
        let mut picture = Raster::filled(Size::new(1200, 900), [128; 3]);
        let half = picture.pixels().len() / 2;
        for (i, v) in picture.pixels_mut().iter_mut().enumerate().skip(half) {
            let mut n = (i as u32).wrapping_mul(374_761_393);
            n = (n ^ (n >> 13)).wrapping_mul(1_274_126_177);
            *v = 128 + ((n >> 16) % levels) as u8;
        }
        picture
    }

    fn rows_of(picture: &Raster, size: Size, n: u32) -> Option<Raster> {
        let rows = bands::rows_of_weight(size, n)?;
        resize::rows_to(picture, picture.size().frame(), size, &rows).ok()
    }

    fn budget_of(max_bytes: u64) -> Profile {
        Profile {
            max_bytes,
            ..Profile::default()
        }
    }

    #[test]
    fn pixels_foreseen_to_be_too_many_are_about_those_that_drawing_it_all_gives_up() {
        let picture = noisy(90);
        let target = Size::new(1100, 825);
        for max_bytes in [120_000, 150_000] {
            let profile = budget_of(max_bytes);
            let seen = outlook(target, 500, &profile, |s, n| rows_of(&picture, s, n));
            assert!(seen.first.short() < 825, "{}", seen.first);
            let draw = |size| resize::crop_to(&picture, picture.size().frame(), size);
            let of = |foresee: bool| {
                let bands = |s, n| rows_of(&picture, s, n).filter(|_| foresee);
                fit(target, 0.5, &profile, &[], draw, bands).unwrap()
            };
            let (slow, quick) = (of(false), of(true));
            assert!(quick.bytes.len() as u64 <= max_bytes);
            let ratio = f64::from(quick.size.w) / f64::from(slow.size.w);
            assert!(
                (0.94..1.02).contains(&ratio),
                "{} {}",
                quick.size,
                slow.size
            );
            let (a, b) = (quick.ssimulacra2.unwrap(), slow.ssimulacra2.unwrap());
            assert!(a > b - 1.0, "{a} {b}");
        }
    }

    #[test]
    fn no_pixel_is_given_up_where_the_lowest_quality_fits_or_there_are_no_bands() {
        let picture = noisy(40);
        let target = Size::new(1100, 825);
        let light = budget_of(400_000);
        let seen = outlook(target, 500, &light, |s, n| rows_of(&picture, s, n));
        assert!(seen.first == target && seen.share.is_some_and(|s| s < 0.8));
        let blind = outlook(target, 500, &budget_of(1000), |_, _| None);
        assert!(blind.first == target && blind.share.is_none());
    }
}

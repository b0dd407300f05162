//! What a careful eye would remark about the pictures themselves: sharpness, exposure, cast, twins, tilt.
//! Owns the measures and their thresholds; refuses to decide what becomes of a photo.

mod exposed;
mod sharp;
mod twin;

pub use twin::{apart, are_near as near};

use crate::base::geometry::{Rect, Size};
use crate::base::reason::Reason;
use crate::photo::raster::Raster;

/// Share of the product that is burnt out to white from which it is said. Common practice, no source.
pub const BURNT: f64 = 0.04;
/// Share of the product that is lost in black from which it is said. Common practice, no source.
pub const BLOCKED: f64 = 0.25;
/// CIELAB chroma of a light plain backdrop from which its cast is strong; a just noticeable difference is
/// about 2.3 (Mahy et al., Color Res. Appl. 19, 1994), the factor is common practice.
pub const CAST: f64 = 12.0;
/// Degrees off level from which the surface's edge is tilted; more than the upper bound is a board laid
/// askew on purpose. Common practice, no source.
pub const TILTED: std::ops::Range<f64> = 1.5..8.0;
/// Sharpness below this share of the listing's median is unsharp. Measured (`cargo bench --bench checks`, 96
/// scenes): as sharp but at 0.6 to 1 of the size or two stops darker 19 in 20 keep at least 0.78 of it; blurred
/// by a Gaussian of 2 px at 960 px, 19 in 20 fall below 0.44.
pub const UNSHARP: f64 = 0.5;
/// Fewest photos of a listing among which sharpness is compared.
pub const LEAST_COMPARED: usize = 3;
/// Of two near twins the one with so many times the pixels is the better, whatever their sharpness: the
/// other is a reduced copy. Common practice, no source.
pub const COPY: u64 = 2;

/// What was measured in one photo.
#[derive(Clone, Debug, PartialEq)]
pub struct Measures {
    /// Local sharpness on the product, 0 to 1, 0 where it is too small to tell; only comparable among photos of
    /// one thing.
    pub sharpness: f64,
    /// Share of the product that is burnt out to white, 0 to 1.
    pub burnt: f64,
    /// Share of the product that is lost in black, 0 to 1.
    pub blocked: f64,
    /// CIELAB chroma of the backdrop when it is plain and light.
    pub cast: Option<f64>,
    /// Degrees by which the far edge of the surface is off level, clockwise positive.
    pub tilt: Option<f64>,
    /// Perceptual print of the whole picture.
    pub print: u64,
}

/// Measures one upright sRGB photo; `subject` the product's box in px (the middle half where there is none),
/// `tilt` as `framing` saw it.
pub fn measure(photo: &Raster, subject: Option<Rect>, tilt: Option<f64>) -> Measures {
    let size = photo.size();
    let middle = || {
        Rect::new(
            size.w / 4,
            size.h / 4,
            (size.w / 2).max(1),
            (size.h / 2).max(1),
        )
    };
    let subject = subject.filter(|s| s.inside(size)).unwrap_or_else(middle);
    let (burnt, blocked) = exposed::lost(photo, subject);
    Measures {
        sharpness: sharp::sharpness(photo, subject),
        burnt,
        blocked,
        cast: exposed::cast(photo, subject),
        tilt,
        print: twin::print(photo, subject),
    }
}

/// What is to be remarked about one photo by itself.
pub fn remarks(m: &Measures) -> Vec<Reason> {
    let mut out = Vec::new();
    if m.burnt >= BURNT {
        out.push(Reason::BurntOut);
    }
    if m.blocked >= BLOCKED {
        out.push(Reason::Blocked);
    }
    if m.cast.is_some_and(|c| c >= CAST) {
        out.push(Reason::ColourCast);
    }
    if m.tilt.is_some_and(|t| TILTED.contains(&t.abs())) {
        out.push(Reason::Tilted);
    }
    out
}

/// What shows of a photo only beside its listing's other photos.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Beside {
    pub unsharp: bool,
    /// Where in the listing its better near twin stands, when it is the worse of the two.
    pub better: Option<usize>,
}

/// Compares the photos of one listing, each with its upright size; in their order.
pub fn compared(listing: &[(Measures, Size)]) -> Vec<Beside> {
    let mut out = vec![Beside::default(); listing.len()];
    // A product of a few pixels has none.
    let sharpness = listing
        .iter()
        .map(|(m, _)| m.sharpness)
        .filter(|s| *s > 0.0);
    let mut sorted: Vec<f64> = sharpness.collect();
    sorted.sort_by(f64::total_cmp);
    if let Some(median) = sorted
        .get(sorted.len() / 2)
        .filter(|_| sorted.len() >= LEAST_COMPARED)
    {
        for ((m, _), out) in listing.iter().zip(&mut out) {
            out.unsharp = m.sharpness > 0.0 && m.sharpness < UNSHARP * median;
        }
    }
    for (i, a) in listing.iter().enumerate() {
        for (j, b) in listing.iter().enumerate().skip(i + 1) {
            if twin::are_near(a.0.print, b.0.print) {
                let (better, worse) = if is_better(b, a) { (j, i) } else { (i, j) };
                let known = &mut out[worse].better;
                if known.is_none_or(|k| is_better(&listing[better], &listing[k])) {
                    *known = Some(better);
                }
            }
        }
    }
    out
}

fn is_better((a, a_size): &(Measures, Size), (b, b_size): &(Measures, Size)) -> bool {
    let (mine, theirs) = (a_size.area(), b_size.area());
    if mine >= COPY * theirs || theirs >= COPY * mine {
        return mine > theirs;
    }
    a.sharpness > b.sharpness
}

/// Luma of one pixel, 0 to 255 (ITU-R BT.709 weights on the encoded values).
fn luma([r, g, b]: [u8; 3]) -> f64 {
    0.2126 * f64::from(r) + 0.7152 * f64::from(g) + 0.0722 * f64::from(b)
}

/// Luma of `part` reduced to at most `long` cells on its longer side by averaging; rows from the top.
fn reduced(photo: &Raster, part: Rect, long: u32) -> (usize, usize, Vec<f64>) {
    let by = (part.size().long().div_ceil(long)).max(1);
    let (w, h) = ((part.w / by).max(1), (part.h / by).max(1));
    let mut out = Vec::with_capacity((w * h) as usize);
    for y in 0..h {
        for x in 0..w {
            let (mut sum, mut n) = (0.0, 0.0);
            for dy in 0..by.min(part.h) {
                for dx in 0..by.min(part.w) {
                    sum += luma(photo.at(part.x + x * by + dx, part.y + y * by + dy));
                    n += 1.0;
                }
            }
            out.push(sum / n);
        }
    }
    (w as usize, h as usize, out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A textured product on a plain ground, `soft` times averaged.
    fn shot(soft: u32, shift: u32) -> Raster {
        let size = SIZE;
        let mut photo = Raster::filled(size, [200, 200, 200]);
        for _ in 0..=soft {
            let old = photo.clone();
            for y in 75..225u32 {
                for x in 100..300u32 {
                    let v = if soft > 0 && old != Raster::filled(size, [200, 200, 200]) {
                        let sum: u32 = (0..9)
                            .map(|k| u32::from(old.at(x + k % 3 - 1, y + k / 3 - 1)[0]))
                            .sum();
                        (sum / 9) as u8
                    } else {
                        let n = (x + shift)
                            .wrapping_mul(2_654_435_761)
                            .wrapping_add(y.wrapping_mul(40_503 * 7));
                        60 + (n >> 20) as u8 % 120
                    };
                    let i = (y * size.w + x) as usize * 3;
                    photo.pixels_mut()[i..i + 3].fill(v);
                }
            }
        }
        photo
    }
    const PRODUCT: Rect = Rect::new(100, 75, 200, 150);
    const SIZE: Size = Size::new(400, 300);

    #[test]
    fn a_blurred_photo_among_sharp_ones_is_unsharp_and_alone_it_is_not() {
        let m = |soft, shift| measure(&shot(soft, shift), Some(PRODUCT), None);
        let listing = [m(0, 0), m(0, 31), m(8, 57), m(0, 90)].map(|m| (m, SIZE));
        let out = compared(&listing);
        let unsharp: Vec<bool> = out.iter().map(|b| b.unsharp).collect();
        assert_eq!(unsharp, [false, false, true, false], "{listing:?}");
        assert_eq!(compared(&listing[2..3]), [Beside::default()]);
    }

    #[test]
    fn of_two_twins_the_sharper_is_the_better_unless_the_other_has_twice_the_pixels() {
        let better = |first: u32, soft: u32, third: Size| {
            let m = |soft| measure(&shot(soft, 0), Some(PRODUCT), None);
            let out = compared(&[(m(first), SIZE), (m(soft), third)]);
            assert!(!out[0].unsharp && !out[1].unsharp);
            [out[0].better, out[1].better]
        };
        assert_eq!(better(1, 0, SIZE), [Some(1), None]);
        assert_eq!(better(0, 1, SIZE), [None, Some(0)]);
        assert_eq!(better(1, 0, Size::new(280, 212)), [None, Some(0)]);
        assert_eq!(better(1, 0, Size::new(380, 285)), [Some(1), None]);
    }

    #[test]
    fn burnt_black_cast_and_tilt_are_remarked_from_their_thresholds() {
        let plain = Measures {
            sharpness: 1.0,
            burnt: 0.0,
            blocked: 0.0,
            cast: None,
            tilt: None,
            print: 0,
        };
        assert!(remarks(&plain).is_empty());
        let all = Measures {
            burnt: BURNT,
            blocked: BLOCKED,
            cast: Some(CAST),
            tilt: Some(-3.0),
            ..plain.clone()
        };
        let expected = [
            Reason::BurntOut,
            Reason::Blocked,
            Reason::ColourCast,
            Reason::Tilted,
        ];
        assert_eq!(remarks(&all), expected);
        assert!(
            remarks(&Measures {
                tilt: Some(20.0),
                ..plain
            })
            .is_empty()
        );
    }

    #[test]
    fn any_size_can_be_measured() {
        for (w, h) in [(1, 1), (1, 900), (900, 1), (7, 5)] {
            let photo = Raster::filled(Size::new(w, h), [255, 255, 255]);
            assert!(measure(&photo, None, None).sharpness.is_finite());
        }
    }
}

//! Cuts and reduces in one go. Owns the resampling; refuses to know what is cut away or why.

use std::cell::RefCell;
use std::ops::Range;

use fast_image_resize::images::{CroppedImage, Image, ImageRef};
use fast_image_resize::{Filter, FilterType, PixelType, ResizeAlg, ResizeOptions, Resizer};

use crate::base::geometry::{Rect, Size};
use crate::base::reason::{Reason, Refusal};
use crate::photo::raster::Raster;
use crate::render::light::{Light, SUPPORT, lanczos};

/// `size` reduced so that its short side is at most `short` px, the shape kept to half a pixel.
pub fn reduced(size: Size, short: u32) -> Size {
    if size.short() <= short {
        return size;
    }
    let (s, l) = (u64::from(size.short()), u64::from(size.long()));
    let long = ((l * u64::from(short) + s / 2) / s) as u32;
    if size.w <= size.h {
        Size::new(short, long)
    } else {
        Size::new(long, short)
    }
}

/// The part `crop` of `photo`, resampled to `size` px in the photo's own colour space.
///
/// # Errors
/// A refusal when the crop does not lie inside the photo.
pub fn crop_to(photo: &Raster, crop: Rect, size: Size) -> Result<Raster, Refusal> {
    let wrong = |e: &dyn std::fmt::Display| {
        Refusal::new(
            Reason::CorrectionRefused,
            format!("the crop {crop:?} cannot be drawn: {e}"),
        )
    };
    if !crop.inside(photo.size()) || size.area() == 0 {
        return Err(wrong(&"it does not lie inside the photo"));
    }
    if crop.size() == size {
        return Ok(photo.part(crop));
    }
    let tops = (0..size.h).step_by(BAND as usize);
    let all: Vec<_> = tops.map(|top| top..(top + BAND).min(size.h)).collect();
    drawn(photo, crop, size, &all).map_err(|e| wrong(&e))
}

/// The `rows` of what `crop_to` would draw, one above the other.
///
/// # Errors
/// One sentence when the crop does not lie inside the photo, or rows lie outside `size`.
pub fn rows_to(
    photo: &Raster,
    crop: Rect,
    size: Size,
    rows: &[Range<u32>],
) -> Result<Raster, String> {
    if !crop.inside(photo.size()) || rows.iter().any(|r| r.is_empty() || r.end > size.h) {
        return Err("the rows do not lie inside the photo".into());
    }
    if crop.size() == size {
        let mut pixels = Vec::new();
        for r in rows {
            let part = Rect::new(crop.x, crop.y + r.start, crop.w, r.end - r.start);
            pixels.extend_from_slice(photo.part(part).pixels());
        }
        let h = (pixels.len() / 3) as u32 / size.w;
        return Ok(Raster::new(Size::new(size.w, h), pixels));
    }
    drawn(photo, crop, size, rows)
}

/// The rows in `all` of the crop reduced to `size`, one above the other: light is averaged, as a lens
/// would, but never falls more than `DARKER` under the average of the encoded values. On their own,
/// encoded values lose a quarter to nearly half of the light of fine bright detail, and linear ones
/// draw dark halos of up to 60 levels beside white.
fn drawn(photo: &Raster, crop: Rect, size: Size, all: &[Range<u32>]) -> Result<Raster, String> {
    let h = all.iter().map(|r| r.end - r.start).sum();
    let size_drawn = Size::new(size.w, h);
    let mut out = Vec::with_capacity(size_drawn.area() as usize * 3);
    let mut resizer = Resizer::new();
    let mut light = Light::new(photo, crop, size.w, size.h);
    for these in all {
        let encoded = Band::new(crop, size, these).reduced(&mut resizer, photo)?;
        let from = out.len();
        out.extend(encoded.into_iter().map(|v| v.saturating_sub(DARKER)));
        let rows = out[from..].chunks_mut(size.w as usize * 3 * 2);
        for (y, two) in these.clone().step_by(2).zip(rows) {
            light.raise(y, two);
        }
    }
    Ok(Raster::new(size_drawn, out))
}

/// Rows of the output that are made at once: memory stays small beside the photo's own.
const BAND: u32 = 128;

/// Most that averaged light may be darker than averaged encoded values, of 255.
const DARKER: u8 = 8;

/// Some rows of the output and the part of the photo that they are made from. The part never goes
/// beyond the crop, so that nothing of what was cut away shines into the border.
struct Band {
    source: Rect,
    /// First row and number of rows within the source, fractional.
    from: f64,
    height: f64,
    size: Size,
}

impl Band {
    fn new(crop: Rect, size: Size, rows: &Range<u32>) -> Self {
        let (top, bottom) = (rows.start, rows.end);
        let scale = f64::from(crop.h) / f64::from(size.h);
        let (from, to) = (f64::from(top) * scale, f64::from(bottom) * scale);
        let reach = SUPPORT * scale.max(1.0) + 2.0;
        let first = (from - reach).max(0.0) as u32;
        let last = ((to + reach).ceil() as u32).min(crop.h);
        Self {
            source: Rect::new(crop.x, crop.y + first, crop.w, last - first),
            from: from - f64::from(first),
            height: (to - from).min(f64::from(last - first) - (from - f64::from(first))),
            size: Size::new(size.w, bottom - top),
        }
    }

    fn reduced(&self, resizer: &mut Resizer, photo: &Raster) -> Result<Vec<u8>, String> {
        let (part, whole) = (self.source, photo.size());
        let source = ImageRef::new(whole.w, whole.h, photo.pixels(), PixelType::U8x3)
            .map_err(|e| e.to_string())?;
        let view = CroppedImage::new(&source, part.x, part.y, part.w, part.h)
            .map_err(|e| e.to_string())?;
        let mut out = Image::new(self.size.w, self.size.h, PixelType::U8x3);
        let options = ResizeOptions::new()
            .resize_alg(ResizeAlg::Convolution(KERNEL.with(|k| *k)))
            .crop(0.0, self.from, f64::from(part.w), self.height);
        Tape::rewind();
        resizer
            .resize(&view, &mut out, &options)
            .map_err(|e| e.to_string())?;
        Ok(out.into_vec())
    }
}

/// Lanczos3 as the library has it, for which each weight takes two sines; but the weights along a row
/// are the same in every band, and asked for in the same order. So they are
/// kept in that order, and a weight that is asked for again is only read.
#[derive(Default)]
struct Tape {
    /// Places and their weights.
    kept: Vec<(f64, f64)>,
    at: usize,
}

thread_local! {
    static KERNEL: FilterType = Filter::new("kept Lanczos3", weight, SUPPORT)
        .map_or(FilterType::Lanczos3, FilterType::Custom);
    static TAPE: RefCell<Tape> = RefCell::default();
}

impl Tape {
    /// To be called before each reduction.
    fn rewind() {
        TAPE.with_borrow_mut(|t| t.at = 0);
    }
}

fn weight(x: f64) -> f64 {
    TAPE.with_borrow_mut(|t| {
        let at = t.at;
        t.at += 1;
        match t.kept.get_mut(at) {
            Some((place, w)) if place.to_bits() == x.to_bits() => *w,
            Some(other) => {
                *other = (x, lanczos(x));
                other.1
            }
            None => {
                let w = lanczos(x);
                t.kept.push((x, w));
                w
            }
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::render::icc;

    #[test]
    fn a_reduced_size_keeps_its_shape_and_is_never_larger() {
        assert_eq!(reduced(Size::new(3843, 2883), 2000), Size::new(2666, 2000));
        assert_eq!(reduced(Size::new(2883, 3843), 2000), Size::new(2000, 2666));
        assert_eq!(reduced(Size::new(300, 200), 2000), Size::new(300, 200));
    }

    #[test]
    fn some_rows_alone_are_the_same_as_in_the_whole() {
        let mut photo = Raster::filled(Size::new(200, 300), [0; 3]);
        for (i, v) in photo.pixels_mut().iter_mut().enumerate() {
            *v = ((i * 7919) >> 4) as u8;
        }
        let crop = Rect::new(11, 20, 160, 270);
        for size in [crop.size(), Size::new(100, 169), Size::new(64, 108)] {
            let whole = crop_to(&photo, crop, size).unwrap();
            let rows = [3..19, 64..70, size.h - 1..size.h];
            let some = rows_to(&photo, crop, size, &rows).unwrap();
            let mut expected = Vec::new();
            for r in &rows {
                let part = Rect::new(0, r.start, size.w, r.end - r.start);
                expected.extend_from_slice(whole.part(part).pixels());
            }
            assert_eq!(some.size(), Size::new(size.w, 23));
            assert!(some.pixels() == expected, "{size}");
            let beyond = size.h - 1..size.h + 1;
            rows_to(&photo, crop, size, &[beyond]).unwrap_err();
        }
    }

    #[test]
    fn nothing_of_what_was_cut_away_shines_into_the_border() {
        let mut photo = Raster::filled(Size::new(90, 60), [255, 255, 255]);
        for y in 10..50 {
            for x in 20..80 {
                let i = (y * 90 + x) * 3;
                photo.pixels_mut()[i..i + 3].copy_from_slice(&[181, 43, 7]);
            }
        }
        let out = crop_to(&photo, Rect::new(20, 10, 60, 40), Size::new(17, 11)).unwrap();
        assert!(out.pixels().chunks(3).all(|p| p == [181, 43, 7]));
    }

    #[test]
    fn a_crop_outside_the_photo_is_refused() {
        let photo = Raster::filled(Size::new(9, 9), [0; 3]);
        let crop = Rect::new(5, 5, 5, 4);
        assert!(crop_to(&photo, crop, Size::new(2, 2)).is_err());
    }

    fn painted(size: Size, paint: impl Fn(u32, u32) -> u8) -> Raster {
        let each = (0..size.h).flat_map(|y| (0..size.w).map(move |x| (x, y)));
        Raster::new(size, each.flat_map(|(x, y)| [paint(x, y); 3]).collect())
    }

    /// Mean linear light of the middle half.
    fn light(p: &Raster) -> f64 {
        let Size { w, h } = p.size();
        let part = p.part(Rect::new(w / 4, h / 4, w / 2, h / 2));
        let sum: f64 = part
            .pixels()
            .iter()
            .map(|&v| icc::linear(f64::from(v) / 255.0))
            .sum();
        sum / part.pixels().len() as f64
    }

    #[test]
    fn fine_bright_detail_keeps_its_light() {
        let size = Size::new(700, 700);
        let lines = painted(size, |x, _| if x % 7 == 0 { 235 } else { 40 });
        let sparks = painted(
            size,
            |x, y| if (x * 7 + y * 13) % 49 == 0 { 255 } else { 40 },
        );
        for (photo, bound) in [(lines, 0.15), (sparks, 0.15)] {
            for short in [486, 350, 262] {
                let small = crop_to(&photo, size.frame(), Size::new(short, short)).unwrap();
                let change = light(&small) / light(&photo) - 1.0;
                assert!((-0.02..bound).contains(&change), "{short}: {change:+.3}");
            }
        }
    }

    #[test]
    fn a_zone_plate_keeps_its_light_and_does_not_swim() {
        // cos(pi r^2 / n) reaches the photo's finest pattern at its border.
        let n = 720;
        let plate = painted(Size::new(n, n), |x, y| {
            let (dx, dy) = (f64::from(x) - 360.0, f64::from(y) - 360.0);
            (127.5 + 100.0 * (std::f64::consts::PI * (dx * dx + dy * dy) / f64::from(n)).cos())
                as u8
        });
        let small = crop_to(&plate, plate.size().frame(), Size::new(360, 360)).unwrap();
        assert!((light(&small) / light(&plate) - 1.0).abs() < 0.05);
        // Patterns finer than the output can hold must go grey, not come back as coarse ones.
        let corner: Vec<f64> = small
            .part(Rect::new(0, 0, 60, 60))
            .pixels()
            .iter()
            .map(|&v| f64::from(v))
            .collect();
        let mean = corner.iter().sum::<f64>() / corner.len() as f64;
        let spread =
            (corner.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / corner.len() as f64).sqrt();
        assert!(spread < 12.0, "{spread}");
    }

    #[test]
    fn no_halo_beside_an_edge_is_over_a_tenth_of_its_step_and_eight_levels() {
        for (dark, bright) in [(60u8, 255u8), (60, 180), (20, 235), (120, 160)] {
            let size = Size::new(720, 90);
            let edge = painted(size, |x, _| if x < 360 { dark } else { bright });
            for w in [499, 500, 360, 270] {
                let small = crop_to(&edge, size.frame(), Size::new(w, w / 8)).unwrap();
                let low = small.pixels().iter().min().unwrap();
                let high = small.pixels().iter().max().unwrap();
                let step = f64::from(bright - dark);
                let halo = dark.saturating_sub(*low).max(high.saturating_sub(bright));
                assert!(
                    f64::from(halo) <= 0.1 * step + 8.0,
                    "{dark} {bright} {w}: {halo}"
                );
            }
        }
    }

    #[test]
    fn weights_that_are_kept_draw_what_weights_worked_out_anew_draw() {
        let size = Size::new(200, 300);
        let photo = painted(size, |x, y| ((x * 7919 + y * 104_729) >> 3) as u8);
        let plain = ResizeOptions::new().resize_alg(ResizeAlg::Convolution(FilterType::Lanczos3));
        for (w, h) in [(131, 190), (190, 131), (131, 190), (40, 299)] {
            let source = ImageRef::new(200, 300, photo.pixels(), PixelType::U8x3).unwrap();
            let draw = |options: &ResizeOptions| {
                let mut out = Image::new(w, h, PixelType::U8x3);
                Tape::rewind();
                Resizer::new().resize(&source, &mut out, options).unwrap();
                out.into_vec()
            };
            let kept = ResizeOptions::new().resize_alg(ResizeAlg::Convolution(KERNEL.with(|k| *k)));
            assert_ne!(kept.algorithm, plain.algorithm);
            for _ in 0..2 {
                assert!(draw(&kept) == draw(&plain), "{w}x{h}");
            }
        }
    }

    #[test]
    fn bands_join_without_a_seam() {
        let size = Size::new(64, 900);
        let photo = painted(size, |x, y| {
            (120.0 + 60.0 * (f64::from(x * 3 + y * 2) * 0.11).sin()) as u8
        });
        let whole = crop_to(&photo, size.frame(), Size::new(45, 633)).unwrap();
        // The row of the first seam, made in the middle of a band of its own.
        let rows = std::slice::from_ref(&(64..192));
        let again = rows_to(&photo, size.frame(), Size::new(45, 633), rows).unwrap();
        let again = again.pixels();
        let row = 45 * 3;
        for y in 64..192 {
            let (a, b) = (
                &whole.pixels()[y * row..][..row],
                &again[(y - 64) * row..][..row],
            );
            assert!(a.iter().zip(b).all(|(a, b)| a.abs_diff(*b) <= 1), "row {y}");
        }
    }
}

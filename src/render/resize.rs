//! Cuts and reduces in one go. Owns the resampling; refuses to know what is cut away or why.

use fast_image_resize::images::{CroppedImage, Image, ImageRef};
use fast_image_resize::{FilterType, PixelType, ResizeAlg, ResizeOptions, Resizer};

use crate::base::geometry::{Rect, Size};
use crate::base::reason::{Reason, Refusal};
use crate::photo::raster::Raster;

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
    let source = ImageRef::new(
        photo.size().w,
        photo.size().h,
        photo.pixels(),
        PixelType::U8x3,
    )
    .map_err(|e| wrong(&e))?;
    // A view, not the resizer's crop option: that one lets the kernel reach beyond the crop, and
    // what was cut away would shine into the border.
    let part = CroppedImage::new(&source, crop.x, crop.y, crop.w, crop.h).map_err(|e| wrong(&e))?;
    let mut out = Image::new(size.w, size.h, PixelType::U8x3);
    let options = ResizeOptions::new().resize_alg(ResizeAlg::Convolution(FilterType::Lanczos3));
    Resizer::new()
        .resize(&part, &mut out, &options)
        .map_err(|e| wrong(&e))?;
    Ok(Raster::new(size, out.into_vec()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reduced_size_keeps_its_shape_and_is_never_larger() {
        assert_eq!(reduced(Size::new(3843, 2883), 2000), Size::new(2666, 2000));
        assert_eq!(reduced(Size::new(2883, 3843), 2000), Size::new(2000, 2666));
        assert_eq!(reduced(Size::new(300, 200), 2000), Size::new(300, 200));
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
}

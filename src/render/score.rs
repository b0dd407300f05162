//! How near the file is to the picture. Owns the metric; refuses to know what score is wanted.

use fast_ssim2::{PixelDescriptor, PixelSlice, compute_ssimulacra2};

use crate::photo::raster::Raster;

/// SSIMULACRA2 of `seen` against `meant`, both sRGB of one size: 100 is the same, 90 cannot be
/// told apart by eye, 70 is high quality (the metric's own scale). `None` where they cannot be
/// compared.
pub fn ssimulacra2(meant: &Raster, seen: &Raster) -> Option<f64> {
    compute_ssimulacra2(&view(meant)?, &view(seen)?).ok()
}

fn view(picture: &Raster) -> Option<PixelSlice<'_>> {
    let size = picture.size();
    PixelSlice::new(
        picture.pixels(),
        size.w,
        size.h,
        size.w as usize * 3,
        PixelDescriptor::RGB8_SRGB,
    )
    .ok()
}

//! Pixels to file bytes and back. Owns the encoders and their settings; refuses to know budgets.

use std::panic::{AssertUnwindSafe, catch_unwind};

use mozjpeg::qtable::{NRobidoux, QTable};
use mozjpeg::{ColorSpace, Compress, Marker};
use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace as ZuneColour;
use zune_core::options::DecoderOptions;
use zune_jpeg::JpegDecoder;

use crate::base::geometry::Size;
use crate::photo::raster::Raster;
use crate::render::icc;

/// How densely colour difference is sampled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chroma {
    /// 4:2:0, at every second pixel both ways.
    Half,
}
impl Chroma {
    pub fn name(self) -> &'static str {
        match self {
            Self::Half => "4:2:0",
        }
    }
}

/// The quantisation table of a quality, 1 to 100, fractional: the base table times the customary
/// scaling 50/q below 50 and (100 - q)/50 above (Independent JPEG Group, `jcparam.c`), which the
/// library itself only offers in whole steps.
fn table(quality: f64) -> QTable {
    let quality = quality.clamp(1.0, 100.0) as f32;
    NRobidoux.scaled(quality, quality)
}

/// Encodes a progressive JPEG with trellis quantisation and the sRGB profile, nothing else in it.
///
/// # Errors
/// One sentence when the encoder gives up.
pub fn jpeg(picture: &Raster, quality: f64, chroma: Chroma) -> Result<Vec<u8>, String> {
    // The library reports errors by unwinding through its C frames.
    catch_unwind(AssertUnwindSafe(|| {
        let size = picture.size();
        let mut c = Compress::new(ColorSpace::JCS_RGB);
        c.set_size(size.w as usize, size.h as usize);
        c.set_luma_qtable(&table(quality));
        c.set_chroma_qtable(&table(quality));
        let px = match chroma {
            Chroma::Half => (2, 2),
        };
        c.set_chroma_sampling_pixel_sizes(px, px);
        let mut c = c
            .start_compress(Vec::with_capacity(1 << 20))
            .map_err(|e| e.to_string())?;
        // The library's own writer numbers the profile's pieces from 0; the standard (ICC.1, B.4)
        // counts from 1.
        let mut app2 = b"ICC_PROFILE\0\x01\x01".to_vec();
        app2.extend_from_slice(icc::srgb());
        c.write_marker(Marker::APP(2), &app2);
        c.write_scanlines(picture.pixels())
            .map_err(|e| e.to_string())?;
        c.finish().map_err(|e| e.to_string())
    }))
    .unwrap_or_else(|panic| {
        Err(panic
            .downcast_ref::<String>()
            .cloned()
            .unwrap_or_else(|| "the encoder gave up".into()))
    })
}

/// Decodes a JPEG of our own making to RGB.
///
/// # Errors
/// One sentence when it cannot be read.
pub fn decoded(bytes: &[u8]) -> Result<Raster, String> {
    let options = DecoderOptions::default()
        .set_strict_mode(true)
        .jpeg_set_out_colorspace(ZuneColour::RGB);
    let mut d = JpegDecoder::new_with_options(ZCursor::new(bytes), options);
    let pixels = d.decode().map_err(|e| e.to_string())?;
    let (w, h) = d.dimensions().ok_or("no size")?;
    Ok(Raster::new(Size::new(w as u32, h as u32), pixels))
}

/// Encodes a baseline JPEG quickly, as a camera's chip does, with `app1` as its EXIF segment; for
/// the demonstration's own sample photos.
///
/// # Errors
/// One sentence when the encoder gives up.
pub fn camera_jpeg(picture: &Raster, quality: f32, app1: &[u8]) -> Result<Vec<u8>, String> {
    // The library reports errors by unwinding through its C frames.
    catch_unwind(AssertUnwindSafe(|| {
        let size = picture.size();
        let mut c = Compress::new(ColorSpace::JCS_RGB);
        c.set_fastest_defaults();
        c.set_quality(quality);
        c.set_size(size.w as usize, size.h as usize);
        c.set_chroma_sampling_pixel_sizes((2, 1), (2, 1));
        let mut c = c
            .start_compress(Vec::with_capacity(4 << 20))
            .map_err(|e| e.to_string())?;
        c.write_marker(Marker::APP(1), app1);
        c.write_scanlines(picture.pixels())
            .map_err(|e| e.to_string())?;
        c.finish().map_err(|e| e.to_string())
    }))
    .unwrap_or_else(|_| Err("the encoder gave up".into()))
}

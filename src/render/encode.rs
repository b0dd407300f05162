//! Pixels to file bytes and back. Owns the encoders and their settings; refuses to know budgets.

use std::panic::{AssertUnwindSafe, catch_unwind};

use mozjpeg::qtable::QTable;
use mozjpeg::{ColorSpace, Compress, Marker};
use zune_core::bytestream::ZCursor;
use zune_core::colorspace::ColorSpace as ZuneColour;
use zune_core::options::DecoderOptions;
use zune_jpeg::JpegDecoder;

use crate::base::geometry::Size;
use crate::photo::raster::Raster;
use crate::render::icc;
use crate::render::tables::{self, Table};

/// How densely colour difference is sampled.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Chroma {
    /// 4:4:4, at every pixel.
    Full,
    /// 4:2:0, at every second pixel both ways.
    Half,
}
impl Chroma {
    pub fn name(self) -> &'static str {
        match self {
            Self::Full => "4:4:4",
            Self::Half => "4:2:0",
        }
    }
}

/// A segment that is written into a file before its pixels.
pub struct Segment {
    /// Number of the application segment, 0 to 15.
    pub app: u8,
    pub body: Vec<u8>,
}
impl Segment {
    /// The sRGB profile. The library's own writer numbers a profile's pieces from 0; the standard
    /// (ICC.1, annex B.4) counts from 1.
    pub fn srgb() -> Self {
        let mut body = b"ICC_PROFILE\0\x01\x01".to_vec();
        body.extend_from_slice(icc::srgb());
        Self { app: 2, body }
    }
    /// Bytes it takes in the file, marker and length included.
    pub fn weight(&self) -> usize {
        self.body.len() + 4
    }
}

/// A table of our own as the library's; it offers none but its own, scaled in whole steps.
fn library(table: Table) -> QTable {
    const { assert!(size_of::<QTable>() == size_of::<Table>()) };
    // SAFETY: `QTable` has one field, the 64 entries; of the same size it can hold nothing else.
    unsafe { std::mem::transmute::<Table, QTable>(table) }
}

/// Whether two qualities give the same file.
pub fn same_tables(a: f64, b: f64) -> bool {
    tables::of(a) == tables::of(b)
}

/// Encodes a progressive JPEG with trellis quantisation; `segments` and nothing else is put in.
///
/// # Errors
/// One sentence when the encoder gives up.
pub fn jpeg(
    picture: &Raster,
    quality: f64,
    chroma: Chroma,
    segments: &[Segment],
) -> Result<Vec<u8>, String> {
    trimmed(picture, quality, 0.0, chroma, segments)
}

/// The same with the tables trimmed by `by`, see [`tables::trimmed`].
///
/// # Errors
/// One sentence when the encoder gives up.
pub fn trimmed(
    picture: &Raster,
    quality: f64,
    by: f64,
    chroma: Chroma,
    segments: &[Segment],
) -> Result<Vec<u8>, String> {
    unbroken(|| {
        let mut c = prepared(picture);
        // Trying scan scripts costs as much time as all the rest of the encoder and saves 0.4 %;
        // without it the library falls back to a baseline file unless it is asked again.
        c.set_optimize_scans(false);
        c.set_progressive_mode();
        with_tables(&mut c, tables::trimmed(quality, by), chroma);
        finished(c, picture, segments)
    })
}

/// A quick baseline encode without trellis, by which parts of a picture are weighed against the whole;
/// from one quality to the next bytes of good encodes follow those of quick ones closely.
///
/// # Errors
/// One sentence when the encoder gives up.
pub fn quick(picture: &Raster, quality: f64, chroma: Chroma) -> Result<Vec<u8>, String> {
    quick_with(picture, tables::of(quality), chroma)
}

/// The same with given tables, for light and for colour.
///
/// # Errors
/// One sentence when the encoder gives up.
pub fn quick_with(picture: &Raster, tables: [Table; 2], chroma: Chroma) -> Result<Vec<u8>, String> {
    unbroken(|| {
        let mut c = prepared(picture);
        c.set_fastest_defaults();
        with_tables(&mut c, tables, chroma);
        finished(c, picture, &[])
    })
}

/// Bytes of a JPEG file of our own that are coded pixels, and those of its headers and tables, which
/// do not grow with the picture.
pub fn coded(file: &[u8]) -> (usize, usize) {
    let (mut at, mut coded) = (2, 0);
    while let Some(&[0xFF, marker, high, low]) = file.get(at..at + 4) {
        at += 2 + usize::from(u16::from_be_bytes([high, low]));
        if marker == START_OF_SCAN {
            let rest = file.get(at..).unwrap_or_default();
            let ends = |w: &[u8]| w[0] == 0xFF && w[1] != 0;
            let scan = rest.windows(2).position(ends).unwrap_or(rest.len());
            (at, coded) = (at + scan, coded + scan);
        }
    }
    (coded, file.len() - coded)
}
/// Marker that begins a scan (ITU-T T.81, table B.1); what is coded after it goes on to the next
/// marker, since no other byte 255 is followed by anything but nought.
const START_OF_SCAN: u8 = 0xDA;

fn with_tables(c: &mut Compress, tables: [Table; 2], chroma: Chroma) {
    let [light, colour] = tables.map(library);
    c.set_luma_qtable(&light);
    c.set_chroma_qtable(&colour);
    let px = match chroma {
        Chroma::Full => (1, 1),
        Chroma::Half => (2, 2),
    };
    c.set_chroma_sampling_pixel_sizes(px, px);
}

fn prepared(picture: &Raster) -> Compress {
    let size = picture.size();
    let mut c = Compress::new(ColorSpace::JCS_RGB);
    c.set_size(size.w as usize, size.h as usize);
    c
}

fn finished(c: Compress, picture: &Raster, segments: &[Segment]) -> Result<Vec<u8>, String> {
    let mut c = c
        .start_compress(Vec::with_capacity(1 << 20))
        .map_err(|e| e.to_string())?;
    for segment in segments {
        c.write_marker(Marker::APP(segment.app), &segment.body);
    }
    c.write_scanlines(picture.pixels())
        .map_err(|e| e.to_string())?;
    c.finish().map_err(|e| e.to_string())
}

/// The library reports errors by unwinding through its C frames.
fn unbroken(f: impl FnOnce() -> Result<Vec<u8>, String>) -> Result<Vec<u8>, String> {
    catch_unwind(AssertUnwindSafe(f)).unwrap_or_else(|panic| {
        Err(panic
            .downcast_ref::<String>()
            .cloned()
            .unwrap_or_else(|| "the encoder gave up".into()))
    })
}

/// Whether the JPEG encoder was built with the processor's vector instructions. Without them (no
/// `nasm` at build time on x86) it takes half as long again and writes the same bytes.
pub fn simd() -> bool {
    unsafe extern "C" {
        // Part of the library's own build (`jsimd.h`); it answers 0 from `jsimd_none.c`.
        safe fn jsimd_can_fdct_islow() -> std::ffi::c_int;
    }
    jsimd_can_fdct_islow() != 0
}

/// Encodes a lossy WebP without metadata, colour sampled at half with the library's sharper way.
///
/// # Errors
/// One sentence when the encoder gives up.
pub fn webp(picture: &Raster, quality: f64) -> Result<Vec<u8>, String> {
    let size = picture.size();
    let mut config = webp::WebPConfig::new().map_err(|()| "no settings")?;
    config.quality = quality.clamp(0.0, 100.0) as f32;
    config.use_sharp_yuv = 1;
    let encoder = webp::Encoder::from_rgb(picture.pixels(), size.w, size.h);
    let file = encoder
        .encode_advanced(&config)
        .map_err(|e| format!("the encoder gave up: {e:?}"))?;
    Ok(file.to_vec())
}

/// Decodes a WebP of our own making to RGB.
///
/// # Errors
/// One sentence when it cannot be read.
pub fn decoded_webp(bytes: &[u8]) -> Result<Raster, String> {
    let picture = image::load_from_memory_with_format(bytes, image::ImageFormat::WebP)
        .map_err(|e| e.to_string())?
        .into_rgb8();
    let size = Size::new(picture.width(), picture.height());
    Ok(Raster::new(size, picture.into_raw()))
}

/// Encodes a PNG with the sRGB profile and, where given, Exif and XMP.
///
/// # Errors
/// One sentence when the encoder gives up.
pub fn png(picture: &Raster, exif: Option<&[u8]>, xmp: Option<&str>) -> Result<Vec<u8>, String> {
    let size = picture.size();
    let mut info = png::Info::with_size(size.w, size.h);
    info.color_type = png::ColorType::Rgb;
    info.bit_depth = png::BitDepth::Eight;
    info.icc_profile = Some(icc::srgb().into());
    info.exif_metadata = exif.map(Into::into);
    let mut out = Vec::new();
    let words = |e: png::EncodingError| e.to_string();
    let mut encoder = png::Encoder::with_info(&mut out, info).map_err(words)?;
    encoder.set_compression(png::Compression::High);
    if let Some(xmp) = xmp {
        encoder
            .add_itxt_chunk("XML:com.adobe.xmp".into(), xmp.into())
            .map_err(words)?;
    }
    let mut writer = encoder.write_header().map_err(words)?;
    writer.write_image_data(picture.pixels()).map_err(words)?;
    writer.finish().map_err(words)?;
    Ok(out)
}

/// The colour profile inside a PNG, unpacked.
pub fn png_profile(bytes: &[u8]) -> Option<Vec<u8>> {
    let reader = png::Decoder::new(std::io::Cursor::new(bytes)).read_info();
    let profile = reader.ok()?.info().icc_profile.as_ref()?.to_vec();
    Some(profile)
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

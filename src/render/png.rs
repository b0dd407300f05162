//! PNG out of a raster (W3C PNG, third edition), for pictures that draw a decision.
//! Refuses to know what is drawn.

use crate::photo::raster::Raster;

/// Encodes 8 bit RGB; `None` when the encoder refuses, which no raster makes it do.
pub fn png(picture: &Raster) -> Option<Vec<u8>> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, picture.size().w, picture.size().h);
    encoder.set_color(png::ColorType::Rgb);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_source_srgb(png::SrgbRenderingIntent::RelativeColorimetric);
    let mut writer = encoder.write_header().ok()?;
    writer.write_image_data(picture.pixels()).ok()?;
    writer.finish().ok()?;
    Some(bytes)
}

//! HEIC to samples (ISO/IEC 23008-12). Owns the HEIF container and the HEVC decoder; refuses to
//! know what the picture shows.

use heifer::heifer_hevc_dec::nal::NalUnit;
use heifer::heifer_hevc_dec::params::ParameterSets;
use heifer::heifer_isobmff::boxes::{ColorInfo, Property};
use heifer::heifer_isobmff::{HeifFile, ItemId};

use super::colour::{Ink, Space};
use super::convert::{Alpha, Decoded, Samples};
use super::exif::Facts;
use super::{Stored, damaged, heif_items, limits, plain};
use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Limits;

/// The parsed container.
pub struct Container<'a> {
    file: HeifFile<'a>,
    bytes: &'a [u8],
    /// Size after the container's own turns, which decoding applies.
    turned: Size,
}

/// Reads the container.
pub fn survey<'a>(bytes: &'a [u8], limits: &Limits) -> Result<(Stored, Container<'a>), Refusal> {
    if heif_items::crowded(bytes) {
        return Err(damaged("the HEIC claims to hold thousands of pictures"));
    }
    let file = HeifFile::parse(bytes).map_err(|e| refusal(&e.into()))?;
    let kind = file
        .primary_item()
        .map_err(|e| refusal(&e.into()))?
        .item_type
        .0;
    if !matches!(&kind, b"hvc1" | b"grid" | b"iovl" | b"iden") {
        let text = "this HEIF file is coded in a way that cannot be read";
        return Err(Refusal::new(Reason::Unsupported, text));
    }
    let primary = file.primary_id;
    let (w, h) = file
        .image_size(primary)
        .map_err(|e| refusal(&e.into()))?
        .ok_or_else(|| damaged("the HEIC does not say how large its picture is"))?;
    let mut size = Size::new(w, h);
    limits::check(size, limits)?;
    check_tiles(&file, limits)?;
    let mut turns = false;
    let properties = file
        .item_properties(primary)
        .map_err(|e| refusal(&e.into()))?;
    for p in properties {
        match p {
            Property::Rotation(q) => {
                turns = true;
                if q % 2 == 1 {
                    size = size.turned();
                }
            }
            Property::Mirror(_) => turns = true,
            Property::CleanAperture { width, height, .. } => size = aperture(size, *width, *height),
            _ => {}
        }
    }
    let mut facts = file
        .exif(primary)
        .ok()
        .flatten()
        .map(|e| Facts::read(&e))
        .unwrap_or_default();
    if turns {
        // The container has the last word; EXIF repeats it or is out of date.
        facts.orientation = None;
    }
    let depth = depth(&file);
    let wide = if depth > 8 { 2 } else { 1 };
    let copies = if turns { 2 } else { 1 };
    let stored = Stored {
        format: "HEIC",
        size,
        facts,
        decoded_bytes: size.area() * (4 * wide * copies + 3) + bytes.len() as u64,
    };
    let container = Container {
        file,
        bytes,
        turned: size,
    };
    Ok((stored, container))
}

/// Size inside a clean aperture, as the decoder rounds it.
fn aperture(size: Size, w: (u32, u32), h: (u32, u32)) -> Size {
    let side = |(n, d): (u32, u32), most: u32| {
        ((f64::from(n) / f64::from(d.max(1))).round() as u32).min(most)
    };
    Size::new(side(w, size.w), side(h, size.h))
}

/// All coded pictures together may be twice the limit: tiles overhang the picture.
fn check_tiles(file: &HeifFile<'_>, limits: &Limits) -> Result<(), Refusal> {
    let tiles = file.referenced_items(file.primary_id, b"dimg");
    let mut pixels = 0u64;
    for id in tiles {
        let (w, h) = file.image_size(*id).ok().flatten().unwrap_or((0, 0));
        pixels = pixels.saturating_add(u64::from(w) * u64::from(h));
    }
    if pixels > limits.pixels.saturating_mul(2) {
        let text = "the HEIC's tiles have more pixels than the limit";
        return Err(Refusal::new(Reason::TooLarge, text));
    }
    Ok(())
}

/// Bits of a sample, of the picture or its first tile.
fn depth(file: &HeifFile<'_>) -> u8 {
    let mut id = file.primary_id;
    for _ in 0..4 {
        if let Ok(Some(c)) = file.hevc_config(id) {
            return c.bit_depth_luma.max(c.bit_depth_chroma);
        }
        match file.referenced_items(id, b"dimg").first() {
            Some(next) => id = *next,
            None => break,
        }
    }
    8
}

/// The samples with the container's turns applied, 8 bit, or 16 where the file has more than 8.
pub fn decode(c: &Container<'_>, limits: &Limits) -> Result<Decoded, Refusal> {
    let options = heifer::Options {
        max_threads: 1,
        max_pixels: limits.pixels,
    };
    let mut remarks = Vec::new();
    let icc = c.file.icc_profile(c.file.primary_id).ok().flatten();
    let space = match (icc, code_points(&c.file)) {
        (None, Some((primaries, transfer))) => {
            Space::of_cicp(primaries, transfer).ok_or_else(|| {
                let text = "the HEIC holds a picture of high dynamic range only";
                Refusal::new(Reason::Unsupported, text)
            })?
        }
        (icc, _) => Space::of_embedded(icc, limits, &mut remarks),
    };
    let (size, alpha, samples) = if depth(&c.file) > 8 {
        let image = heifer::decode_with_options(c.bytes, &options).map_err(|e| refusal(&e))?;
        let top = u32::from(image.max_value());
        let size = Size::new(image.width, image.height);
        let mut samples = image.data;
        if !image.has_alpha {
            drop_fourth(&mut samples);
        }
        for v in &mut samples {
            *v = ((u32::from(*v) * 65_535 + top / 2) / top) as u16;
        }
        (size, image.has_alpha, Samples::Sixteen(samples))
    } else {
        let image = heifer::decode_rgba8(c.bytes, &options).map_err(|e| refusal(&e))?;
        let size = Size::new(image.width, image.height);
        let mut samples = image.data;
        if !image.has_alpha {
            drop_fourth(&mut samples);
        }
        (size, image.has_alpha, Samples::Eight(samples))
    };
    if size != c.turned {
        return Err(damaged(
            "the HEIC's picture is not of the size that it states",
        ));
    }
    Ok(Decoded {
        size,
        samples,
        ink: Ink::Rgb,
        alpha: if alpha { Alpha::Straight } else { Alpha::None },
        space,
        remarks,
    })
}

/// RGBA to RGB in place.
fn drop_fourth<T: Copy>(samples: &mut Vec<T>) {
    let pixels = samples.len() / 4;
    for i in 1..pixels {
        samples.copy_within(i * 4..i * 4 + 3, i * 3);
    }
    samples.truncate(pixels * 3);
    samples.shrink_to_fit();
}

/// Primaries and transfer: of the picture's `nclx` property, else of its stream, else the same of its
/// first tile.
fn code_points(file: &HeifFile<'_>) -> Option<(u8, u8)> {
    let own = |id| {
        file.item_properties(id).ok()?.find_map(|p| match p {
            Property::Color(ColorInfo::Nclx {
                primaries,
                transfer,
                ..
            }) => Some((
                u8::try_from(*primaries).ok()?,
                u8::try_from(*transfer).ok()?,
            )),
            _ => None,
        })
    };
    let first = file.referenced_items(file.primary_id, b"dimg").first();
    own(file.primary_id)
        .or_else(|| usability(file, file.primary_id))
        .or_else(|| own(*first?))
        .or_else(|| usability(file, *first?))
}

/// What the stream itself says of its colours (ITU-T H.265, annex E: video usability information),
/// where it says anything; 2 is unspecified.
fn usability(file: &HeifFile<'_>, id: ItemId) -> Option<(u8, u8)> {
    let mut sets = ParameterSets::default();
    for unit in &file.hevc_config(id).ok()??.nal_units {
        sets.add(&NalUnit::parse(unit).ok()?).ok()?;
    }
    sets.sps.iter().flatten().find_map(|s| {
        let v = s.vui.as_ref()?;
        let said = (v.colour_primaries, v.transfer_characteristics);
        (said != (2, 2)).then_some(said)
    })
}

fn refusal(e: &heifer::Error) -> Refusal {
    match e {
        heifer::Error::Unsupported(what) => Refusal::new(
            Reason::Unsupported,
            format!("this HEIC cannot be read: {}", plain(what)),
        ),
        e => damaged(format!(
            "the HEIC is damaged or incomplete: {}",
            plain(&e.to_string())
        )),
    }
}

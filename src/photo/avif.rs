//! AVIF to samples (AV1 Image File Format 1.1, on ISO/IEC 23008-12 and 23000-22). Owns the container,
//! tiles, transparency and turns; refuses to know how AV1 is coded.

use heifer::heifer_isobmff::boxes::{ColorInfo, Property};
use heifer::heifer_isobmff::{HeifFile, ItemId};

use super::av1::{self, Picture};
use super::colour::{Ink, Space};
use super::convert::{Alpha, Decoded};
use super::exif::Facts;
use super::yuv::{self, Matrix};
use super::{Stored, damaged, heif_items, limits, plain};
use crate::base::geometry::{Rect, Size};
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Limits;

/// Names of the auxiliary picture that is transparency.
const ALPHA: [&str; 2] = [
    "urn:mpeg:mpegB:cicp:systems:auxiliary:alpha",
    "urn:mpeg:hevc:2015:auxid:1",
];

/// The parsed container.
pub struct Container<'a> {
    file: HeifFile<'a>,
    /// What is shown of the coded picture.
    crop: Rect,
    alpha: Option<ItemId>,
}

/// Reads the container.
pub fn survey<'a>(bytes: &'a [u8], limits: &Limits) -> Result<(Stored, Container<'a>), Refusal> {
    if heif_items::crowded(bytes) {
        return Err(damaged("the AVIF claims to hold thousands of pictures"));
    }
    let file = HeifFile::parse(bytes).map_err(broken)?;
    let primary = file.primary_id;
    let size = size(&file, primary)?;
    limits::check(size, limits)?;
    let alpha = alpha_of(&file, primary)?;
    let mut coded = check(&file, primary, limits)?;
    if let Some(alpha) = alpha {
        let other = check(&file, alpha, limits)?;
        if self::size(&file, alpha)? != size {
            return Err(cannot("its transparency is of another size"));
        }
        coded.depth = coded.depth.max(other.depth);
    } else if let Some(tile) = file.referenced_items(primary, b"dimg").first()
        && alpha_of(&file, *tile)?.is_some()
    {
        return Err(cannot("each of its tiles has transparency of its own"));
    }
    let (crop, turn) = turns(&file, size)?;
    let exif = file.exif(primary).ok().flatten();
    let mut facts = exif.map(|e| Facts::read(&e)).unwrap_or_default();
    // The container has the last word; EXIF repeats it or is out of date.
    facts.orientation = turn.or(facts.orientation);
    let wide = if coded.depth > 8 { 2 } else { 1 };
    let extra = u64::from(alpha.is_some());
    // Our planes of 16 bit, then beside them the decoder's or the samples.
    let planes = size.area() * (coded.halves + 2 * extra);
    let beside = size.area() * wide * (3 + extra).max(coded.halves.div_ceil(2) + 1);
    let stored = Stored {
        format: "AVIF",
        size: crop.size(),
        facts,
        decoded_bytes: planes + beside + bytes.len() as u64,
    };
    Ok((stored, Container { file, crop, alpha }))
}

/// What is known of a coded picture before it is decoded.
struct Coded {
    depth: u8,
    /// Bytes for each pixel at 16 bits a sample.
    halves: u64,
}

/// Checks a coded picture or all tiles of one: kinds, sizes, and what must be understood.
fn check(file: &HeifFile<'_>, id: ItemId, limits: &Limits) -> Result<Coded, Refusal> {
    understood(file, id)?;
    let item = file.item(id).map_err(broken)?;
    let tiles = match &item.item_type.0 {
        b"av01" => &[id],
        b"grid" => file.referenced_items(id, b"dimg"),
        _ => return Err(cannot("it is coded in another way than AV1")),
    };
    let first = *tiles
        .first()
        .ok_or_else(|| damaged("the AVIF has no picture"))?;
    let mut pixels = 0u64;
    for tile in tiles {
        if file.item(*tile).map_err(broken)?.item_type.0 != *b"av01" {
            return Err(cannot("its tiles are coded in another way than AV1"));
        }
        understood(file, *tile)?;
        pixels = pixels.saturating_add(size(file, *tile)?.area());
    }
    // Tiles overhang the picture.
    if pixels > limits.pixels.saturating_mul(2) {
        let text = "the AVIF's tiles have more pixels than the limit";
        return Err(Refusal::new(Reason::TooLarge, text));
    }
    // AV1 in ISOBMFF 1.2, 2.3: the third byte tells depth and planes.
    let config = file
        .item_properties(first)
        .map_err(broken)?
        .find_map(|p| match p {
            Property::Unknown(name, data) if name.0 == *b"av1C" => data.get(2).copied(),
            _ => None,
        });
    let flags = config.ok_or_else(|| damaged("the AVIF does not say how it is coded"))?;
    Ok(Coded {
        depth: match flags & 0x60 {
            0 => 8,
            0x60 => 12,
            _ => 10,
        },
        halves: match flags & 0x1c {
            f if f & 0x10 != 0 => 2,
            0x0c => 3,
            0x08 => 4,
            _ => 6,
        },
    })
}

/// Whether every property that the file calls essential is known here.
fn understood(file: &HeifFile<'_>, id: ItemId) -> Result<(), Refusal> {
    let essential = file.item(id).map_err(broken)?.properties.iter();
    for p in essential.filter(|p| p.essential && p.index > 0) {
        match &file.properties[usize::from(p.index) - 1] {
            Property::Unknown(name, _) if !matches!(&name.0, b"av1C" | b"colr") => {
                return Err(cannot(&format!("it needs {}", plain(&name.to_string()))));
            }
            _ => {}
        }
    }
    Ok(())
}

fn size(file: &HeifFile<'_>, id: ItemId) -> Result<Size, Refusal> {
    let stated = file.image_size(id).map_err(broken)?;
    let (w, h) = stated.ok_or_else(|| damaged("the AVIF does not say how large its picture is"))?;
    Ok(Size::new(w, h))
}

fn alpha_of(file: &HeifFile<'_>, id: ItemId) -> Result<Option<ItemId>, Refusal> {
    for other in file.referencing_items(id, b"auxl") {
        let mut properties = file.item_properties(other).map_err(broken)?;
        let named =
            |p: &Property| matches!(p, Property::AuxiliaryType(t) if ALPHA.contains(&t.as_str()));
        if properties.any(named) {
            return Ok(Some(other));
        }
    }
    Ok(None)
}

/// The part that is shown, and the container's turns as an EXIF orientation, if it has any.
fn turns(file: &HeifFile<'_>, size: Size) -> Result<(Rect, Option<u8>), Refusal> {
    let mut crop = size.frame();
    // Mirrored left to right first, then turned clockwise by quarters.
    let (mut mirrored, mut quarters, mut turned) = (false, 0u8, false);
    for p in file.item_properties(file.primary_id).map_err(broken)? {
        match *p {
            Property::CleanAperture {
                width,
                height,
                horiz_offset,
                vert_offset,
            } => {
                if turned || crop != size.frame() {
                    return Err(cannot("it is cropped after it is turned"));
                }
                let across = aperture(size.w, width, horiz_offset);
                let down = aperture(size.h, height, vert_offset);
                let (Some((x, w)), Some((y, h))) = (across, down) else {
                    return Err(damaged("the AVIF shows a part that is not inside it"));
                };
                crop = Rect { x, y, w, h };
            }
            Property::Rotation(q) => {
                turned = true;
                quarters = (quarters + 4 - q) % 4;
            }
            Property::Mirror(upside_down) => {
                turned = true;
                mirrored = !mirrored;
                // A mirror turns the other way what was turned before it.
                quarters = (4 - quarters + if upside_down { 2 } else { 0 }) % 4;
            }
            _ => {}
        }
    }
    let exif = [[1, 6, 3, 8], [2, 7, 4, 5]][usize::from(mirrored)][usize::from(quarters)];
    Ok((crop, turned.then_some(exif)))
}

/// First pixel and pixels of a clean aperture (ISO/IEC 14496-12, 12.1.4.1), rounded to whole ones.
fn aperture(side: u32, part: (u32, u32), offset: (i32, u32)) -> Option<(u32, u32)> {
    let of = |n: f64, d: u32| (d > 0).then(|| n / f64::from(d));
    let length = of(f64::from(part.0), part.1)?;
    let middle = f64::from(side) / 2.0 + of(f64::from(offset.0), offset.1)?;
    let (first, length) = ((middle - length / 2.0).round(), length.round());
    let inside = first >= 0.0 && length >= 1.0 && first + length <= f64::from(side);
    inside.then_some((first as u32, length as u32))
}

/// The samples of the part that is shown, not yet turned.
pub fn decode(c: &Container<'_>, limits: &Limits) -> Result<Decoded, Refusal> {
    let primary = c.file.primary_id;
    let mut picture = picture(&c.file, primary)?;
    let alpha = c.alpha.map(|id| self::picture(&c.file, id)).transpose()?;
    // The container's code points count before the stream's.
    if let Some((primaries, transfer, matrix, full)) = code_points(&c.file) {
        (picture.primaries, picture.transfer) = (primaries, transfer);
        (picture.matrix, picture.full_range) = (matrix, full);
    }
    let mut remarks = Vec::new();
    let icc = c.file.icc_profile(primary).ok().flatten();
    let space = if icc.is_some() {
        Space::of_embedded(icc, limits, &mut remarks)
    } else {
        Space::of_cicp(picture.primaries, picture.transfer).ok_or_else(|| {
            let text = "the AVIF holds a picture of high dynamic range only";
            Refusal::new(Reason::Unsupported, text)
        })?
    };
    let grey = picture.planes.len() == 1;
    let matrix = match Matrix::of(picture.matrix, picture.primaries) {
        Some(Matrix::Identity) if picture.halved.0 => None,
        // Grey needs none.
        None if grey => Some(Matrix::Identity),
        other => other,
    };
    let matrix = matrix.ok_or_else(|| cannot("its colours are coded in an uncommon way"))?;
    let multiplied = c.alpha.is_some_and(|a| {
        let of = c.file.referenced_items(primary, b"prem");
        of.contains(&a)
    });
    Ok(Decoded {
        size: c.crop.size(),
        samples: yuv::samples(&picture, alpha.as_ref(), c.crop, matrix),
        ink: if grey { Ink::Grey } else { Ink::Rgb },
        alpha: match (c.alpha, multiplied) {
            (None, _) => Alpha::None,
            (_, false) => Alpha::Straight,
            (_, true) => Alpha::Associated,
        },
        space,
        remarks,
    })
}

/// A coded picture, or one put together from its tiles.
fn picture(file: &HeifFile<'_>, id: ItemId) -> Result<Picture, Refusal> {
    if file.item(id).map_err(broken)?.item_type.0 == *b"av01" {
        return coded(file, id);
    }
    let grid = file.grid(id).map_err(broken)?;
    let whole = size(file, id)?;
    let tiles = file.referenced_items(id, b"dimg");
    let (columns, rows) = (usize::from(grid.columns), usize::from(grid.rows));
    if tiles.len() != columns * rows || whole != Size::new(grid.output_width, grid.output_height) {
        return Err(damaged("the AVIF's tiles are not as many as it states"));
    }
    let mut out: Option<Picture> = None;
    let mut tile_size = (0, 0);
    for (i, id) in tiles.iter().enumerate() {
        let tile = coded(file, *id)?;
        let out = out.get_or_insert_with(|| {
            tile_size = (tile.w, tile.h);
            blank(&tile, whole)
        });
        let even = |n: usize, half: bool, count: usize| !half || count == 1 || n.is_multiple_of(2);
        let fits = (tile.w, tile.h) == tile_size
            && tile.w * columns >= out.w
            && tile.h * rows >= out.h
            && even(tile.w, tile.halved.0, columns)
            && even(tile.h, tile.halved.1, rows)
            && (tile.planes.len(), tile.depth) == (out.planes.len(), out.depth)
            && (tile.halved, tile.full_range) == (out.halved, out.full_range);
        if !fits {
            return Err(damaged("the AVIF's tiles do not fit together"));
        }
        place(&tile, out, (i % columns) * tile.w, (i / columns) * tile.h);
    }
    out.ok_or_else(|| damaged("the AVIF has no picture"))
}

/// A picture like `tile`, of `size` and without content.
fn blank(tile: &Picture, size: Size) -> Picture {
    let mut out = Picture {
        w: size.w as usize,
        h: size.h as usize,
        planes: Vec::new(),
        ..*tile
    };
    for plane in 0..tile.planes.len() {
        let (w, h) = out.plane_size(plane);
        out.planes.push(vec![0; w * h]);
    }
    out
}

/// Copies `tile` to `left`, `top` (px) of `out`, what overhangs left out.
fn place(tile: &Picture, out: &mut Picture, left: usize, top: usize) {
    for plane in 0..tile.planes.len() {
        let (w, h) = tile.plane_size(plane);
        let (to_w, to_h) = out.plane_size(plane);
        let halved = if plane == 0 {
            (false, false)
        } else {
            out.halved
        };
        let (x, y) = (left >> u8::from(halved.0), top >> u8::from(halved.1));
        let count = w.min(to_w.saturating_sub(x));
        for row in 0..h.min(to_h.saturating_sub(y)) {
            let to = (y + row) * to_w + x;
            out.planes[plane][to..to + count]
                .copy_from_slice(&tile.planes[plane][row * w..row * w + count]);
        }
    }
}

fn coded(file: &HeifFile<'_>, id: ItemId) -> Result<Picture, Refusal> {
    let stated = size(file, id)?;
    let data = file.item_data(id).map_err(broken)?;
    if av1::frames(&data).is_some_and(|n| n > 1) {
        return Err(cannot("its picture is coded in several layers"));
    }
    let picture = av1::decode(&data, stated.area());
    let picture = picture.ok_or_else(|| damaged("the AVIF is damaged or incomplete"))?;
    if (picture.w, picture.h) != (stated.w as usize, stated.h as usize) {
        let text = "the AVIF's picture is not of the size that it states";
        return Err(damaged(text));
    }
    Ok(picture)
}

/// Primaries, transfer, matrix and whether the range is full, by the picture's `nclx` property or its
/// first tile's.
fn code_points(file: &HeifFile<'_>) -> Option<(u8, u8, u8, bool)> {
    let own = |id| {
        file.item_properties(id).ok()?.find_map(|p| match p {
            Property::Color(ColorInfo::Nclx {
                primaries,
                transfer,
                matrix,
                full_range,
            }) => Some((
                u8::try_from(*primaries).ok()?,
                u8::try_from(*transfer).ok()?,
                u8::try_from(*matrix).ok()?,
                *full_range,
            )),
            _ => None,
        })
    };
    let first = file.referenced_items(file.primary_id, b"dimg").first();
    own(file.primary_id).or_else(|| own(*first?))
}

fn cannot(why: &str) -> Refusal {
    Refusal::new(
        Reason::Unsupported,
        format!("this AVIF cannot be read: {why}"),
    )
}

fn broken(e: heifer::heifer_isobmff::Error) -> Refusal {
    damaged(format!(
        "the AVIF is damaged or incomplete: {}",
        plain(&e.to_string())
    ))
}

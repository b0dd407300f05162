//! TIFF to samples (TIFF 6.0). Owns the TIFF decoder; refuses to know raw files, which share the
//! structure, and what the picture shows.

use std::io::Cursor;

use tiff::decoder::{Decoder, DecodingResult};
use tiff::{ColorType, TiffError};

use super::colour::{Ink, Space};
use super::convert::{Alpha, Decoded, Samples};
use super::exif::Facts;
use super::tree::{Directory, Tree};
use super::{Stored, damaged, limits, plain};
use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Limits;

const SUBFILE: u16 = 254;
const WIDTH: u16 = 256;
const HEIGHT: u16 = 257;
const BITS: u16 = 258;
const COMPRESSION: u16 = 259;
const STRIPS: u16 = 273;
const SAMPLES: u16 = 277;
const STRIP_BYTES: u16 = 279;
const TILES: u16 = 324;
const TILE_BYTES: u16 = 325;
const EXTRA_SAMPLES: u16 = 338;
const SAMPLE_FORMAT: u16 = 339;
const CHROMA: u16 = 529;
const ICC: u16 = 34_675;
/// Most pages looked at for the picture.
const MOST_PAGES: usize = 16;
/// Most strips or tiles of a page.
const MOST_STRIPS: usize = 1 << 20;
/// Most values of another entry; a palette of 16 bits has no more.
const MOST_VALUES: usize = 3 << 16;
/// Bytes set aside for one value of a directory, e.g. a list of strips.
const VALUE_BYTES: usize = 1 << 20;

/// The page that is the picture.
pub struct Page<'a> {
    bytes: &'a [u8],
    directory: Directory<'a>,
    number: usize,
}

/// Reads the directories and chooses the first page that is no reduced copy.
pub fn survey<'a>(bytes: &'a [u8], limits: &Limits) -> Result<(Stored, Page<'a>), Refusal> {
    let tree = Tree::new(bytes).ok_or_else(|| damaged("the TIFF's header is damaged"))?;
    let cut = || damaged("the TIFF breaks off before its directory");
    let mut at = tree.first();
    let mut pages = Vec::new();
    while at != 0 && pages.len() < MOST_PAGES {
        let Some(directory) = tree.directory(at) else {
            break;
        };
        at = directory.next;
        pages.push(directory);
    }
    let full = |d: &Directory<'_>| d.number(SUBFILE).unwrap_or(0) & 1 == 0;
    let number = pages.iter().position(full).unwrap_or(0);
    if number >= pages.len() {
        return Err(cut());
    }
    // The decoder sets memory aside for what an entry claims, on the way to the page too.
    if !pages[..=number].iter().all(modest) {
        return Err(damaged("the TIFF's directory is damaged"));
    }
    let directory = pages.swap_remove(number);
    let side = |tag| directory.number(tag).unwrap_or(0);
    let size = Size::new(side(WIDTH), side(HEIGHT));
    limits::check(size, limits)?;
    if !matches!(
        directory.number(COMPRESSION).unwrap_or(1),
        1 | 5 | 8 | 32_773 | 32_946
    ) {
        return Err(unsupported("a TIFF with an unusual compression"));
    }
    if !whole(&directory, bytes.len()) {
        return Err(damaged(
            "the TIFF is incomplete: parts of its picture data are missing",
        ));
    }
    let wide = u64::from(directory.number(BITS).unwrap_or(8).div_ceil(8));
    let samples = u64::from(directory.number(SAMPLES).unwrap_or(1));
    let stored = Stored {
        format: "TIFF",
        size,
        facts: Facts::read(bytes),
        decoded_bytes: size.area() * (wide * samples + 3),
    };
    Ok((
        stored,
        Page {
            bytes,
            directory,
            number,
        },
    ))
}

/// Whether the entries that the decoder reads are there and of a plausible length.
fn modest(d: &Directory<'_>) -> bool {
    let list = |tag| matches!(tag, STRIPS | STRIP_BYTES | TILES | TILE_BYTES);
    let read = |tag| (WIDTH..=SAMPLE_FORMAT).contains(&tag) || (CHROMA..=CHROMA + 3).contains(&tag);
    let most = |tag| if list(tag) { MOST_STRIPS } else { MOST_VALUES };
    !d.lost.iter().any(|t| read(*t))
        && d.entries
            .iter()
            .all(|e| !read(e.tag) || e.len() <= most(e.tag) || text(e.tag))
}

/// Tags of words, which the decoder leaves alone: description, maker, dates, names.
fn text(tag: u16) -> bool {
    matches!(tag, 269..=272 | 285 | 305 | 306 | 315 | 316 | 333 | 337)
}

/// Whether all strips or tiles lie inside the file.
fn whole(d: &Directory<'_>, length: usize) -> bool {
    let (Some(at), Some(n)) = (
        d.entry(STRIPS).or_else(|| d.entry(TILES)),
        d.entry(STRIP_BYTES).or_else(|| d.entry(TILE_BYTES)),
    ) else {
        return false;
    };
    at.len() == n.len()
        && (0..at.len()).all(|i| match (at.number(i), n.number(i)) {
            (Some(at), Some(n)) => u64::from(at) + u64::from(n) <= length as u64,
            _ => false,
        })
}

/// The samples, 8 or 16 bit.
pub fn decode(page: &Page<'_>, size: Size, limits: &Limits) -> Result<Decoded, Refusal> {
    let mut decoder = Decoder::new(Cursor::new(page.bytes)).map_err(refusal)?;
    let mut bounds = tiff::decoder::Limits::default();
    bounds.decoding_buffer_size = size.area() as usize * 10 + (1 << 20);
    bounds.intermediate_buffer_size = page.bytes.len() + (1 << 20);
    bounds.ifd_value_size = VALUE_BYTES;
    decoder = decoder.with_limits(bounds);
    if page.number > 0 {
        decoder.seek_to_image(page.number).map_err(refusal)?;
    }
    let extra = page.directory.number(EXTRA_SAMPLES);
    let known = match extra {
        Some(1) => Alpha::Associated,
        _ => Alpha::Straight,
    };
    let (ink, alpha) = match decoder.colortype().map_err(refusal)? {
        ColorType::Gray(8 | 16) => (Ink::Grey, Alpha::None),
        ColorType::Multiband {
            bit_depth: 8 | 16,
            num_samples: 2,
        } if extra.is_some_and(|e| e > 0) => (Ink::Grey, known),
        ColorType::RGB(8 | 16) => (Ink::Rgb, Alpha::None),
        ColorType::RGBA(8 | 16) => (Ink::Rgb, known),
        ColorType::CMYK(8 | 16) => (Ink::Cmyk, Alpha::None),
        ColorType::CMYKA(8 | 16) => (Ink::Cmyk, known),
        _ => return Err(unsupported("a TIFF of unusual samples")),
    };
    let stride = super::colour::channels(ink) + usize::from(alpha != Alpha::None);
    let expected = size.area() as usize * stride;
    let mut result = DecodingResult::U8(Vec::new());
    let layout = decoder.read_image_to_buffer(&mut result).map_err(refusal)?;
    let planes = layout.planes;
    let samples = match result {
        DecodingResult::U8(v) if v.len() >= expected => Samples::Eight(chunky(v, planes, expected)),
        DecodingResult::U16(v) if v.len() >= expected => {
            Samples::Sixteen(chunky(v, planes, expected))
        }
        _ => return Err(unsupported("a TIFF of unusual samples")),
    };
    let mut remarks = Vec::new();
    let icc = page.directory.entry(ICC).map(|e| e.data);
    let mut space = Space::of_embedded(icc, limits, &mut remarks);
    if icc.is_none() && ink == Ink::Cmyk {
        space = Space::plain_cmyk();
        remarks.push(Reason::PlainCmyk);
    }
    Ok(Decoded {
        size,
        samples,
        ink,
        alpha,
        space,
        remarks,
    })
}

/// Interleaves samples that were stored plane by plane.
fn chunky<T: Copy>(v: Vec<T>, planes: usize, length: usize) -> Vec<T> {
    if planes <= 1 {
        return v;
    }
    let each = v.len() / planes;
    (0..length)
        .map(|i| v[i % planes * each + i / planes])
        .collect()
}

fn unsupported(what: &str) -> Refusal {
    let text = format!("this is {what}, which cannot be read");
    Refusal::new(Reason::Unsupported, text)
}

fn refusal(e: TiffError) -> Refusal {
    match e {
        TiffError::UnsupportedError(_) => unsupported("a TIFF of an unusual kind"),
        e => damaged(format!(
            "the TIFF is damaged or incomplete: {}",
            plain(&e.to_string())
        )),
    }
}

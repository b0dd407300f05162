//! Raw files: told from TIFF, and searched for the largest JPEG that the camera put inside.
//! Owns where previews hide; refuses to develop sensor data.

use super::exif::Facts;
use super::jpeg_parts::Parts;
use super::tree::{Directory, Tree};
use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};

/// A preview with a shorter side than this (px) is no picture to deliver.
pub const LEAST_SHORT_SIDE: u32 = 1000;
/// Most directories visited in one file.
const MOST_DIRECTORIES: usize = 64;
/// Most segments of a preview before its first scan.
const MOST_SEGMENTS: usize = 512;
/// Most places tried as the begin of a JPEG.
const MOST_TRIES: usize = 4096;

const COMPRESSION: u16 = 259;
const PHOTOMETRIC: u16 = 262;
const STRIP_OFFSETS: u16 = 273;
const STRIP_BYTES: u16 = 279;
const SUB_DIRECTORIES: u16 = 330;
const JPEG_OFFSET: u16 = 513;
const JPEG_BYTES: u16 = 514;
const EXIF_DIRECTORY: u16 = 34_665;
const DNG_VERSION: u16 = 50_706;

/// Photometric interpretations of sensor data: colour filter array and linear raw (DNG 1.4).
const SENSOR: [u32; 2] = [32_803, 34_892];

/// A JPEG inside a raw file.
pub struct Preview<'a> {
    pub jpeg: &'a [u8],
    /// Facts of the raw file itself.
    pub facts: Facts,
}

/// Whether the bytes begin a raw file. TIFF-structured ones are told by their directories: sensor
/// data, a DNG version, or a magic number of their own.
pub fn is_raw(bytes: &[u8]) -> bool {
    let at = |from: usize, magic: &[u8]| bytes.get(from..).is_some_and(|b| b.starts_with(magic));
    let own_header = at(0, b"FOVb") || at(0, b"\0MRM") || at(6, b"HEAPCCDR") || fifteen(bytes);
    if own_header || (at(4, b"ftyp") && at(8, b"crx ")) {
        return true;
    }
    let Some(tree) = Tree::new(bytes) else {
        return false;
    };
    if !at(2, b"*\0") && !at(2, b"\0*") || at(8, b"CR") {
        return true;
    }
    every_directory(&tree).iter().any(|d| {
        d.entry(DNG_VERSION).is_some() || d.number(PHOTOMETRIC).is_some_and(|p| SENSOR.contains(&p))
    })
}

/// A header of fifteen upper-case letters, a dash among them, and a space: `...CCD-RAW `.
fn fifteen(bytes: &[u8]) -> bool {
    bytes.get(8..16) == Some(b"CCD-RAW ")
}

/// The chain of directories and all that they name as theirs, each once.
fn every_directory<'a>(tree: &Tree<'a>) -> Vec<Directory<'a>> {
    let mut places = vec![tree.first()];
    let mut found = Vec::new();
    let mut i = 0;
    while i < places.len() && found.len() < MOST_DIRECTORIES {
        let at = places[i];
        i += 1;
        if at == 0 {
            continue;
        }
        let Some(d) = tree.directory(at) else {
            continue;
        };
        let mut below = vec![d.next];
        if let Some(e) = d.entry(SUB_DIRECTORIES) {
            below.extend((0..e.len().min(16)).filter_map(|i| e.number(i)));
        }
        below.extend(d.number(EXIF_DIRECTORY));
        for at in below {
            if !places.contains(&at) {
                places.push(at);
            }
        }
        found.push(d);
    }
    found
}

/// The largest embedded JPEG, by pixels.
///
/// # Errors
/// `raw-alone` when there is none with enough pixels.
pub fn preview(bytes: &[u8]) -> Result<Preview<'_>, Refusal> {
    let tree = Tree::new(bytes);
    let mut best: Option<(Size, &[u8])> = None;
    let mut consider = |jpeg| {
        if let Some(size) = usable(jpeg)
            && best.is_none_or(|(b, _)| size.area() > b.area())
        {
            best = Some((size, jpeg));
        }
    };
    if let Some(tree) = &tree {
        for d in every_directory(tree) {
            for (at, n) in places(&d) {
                let (at, n) = (at as usize, n as usize);
                if let Some(jpeg) = at.checked_add(n).and_then(|end| bytes.get(at..end)) {
                    consider(jpeg);
                }
            }
        }
    }
    // Makers keep previews in places of their own; every JPEG has the same first bytes.
    let mut at = 0;
    for _ in 0..MOST_TRIES {
        let Some(step) = find(&bytes[at..]) else {
            break;
        };
        at += step;
        consider(&bytes[at..]);
        at += 3;
    }
    match best {
        Some((size, jpeg)) if size.short() >= LEAST_SHORT_SIDE => Ok(Preview {
            jpeg,
            facts: Facts::read(bytes),
        }),
        Some((size, _)) => Err(alone(&format!("its largest preview is only {size}"))),
        None => Err(alone("it holds no preview")),
    }
}

fn alone(why: &str) -> Refusal {
    Refusal::new(
        Reason::RawAlone,
        format!("this raw file came without a JPEG, and {why}"),
    )
}

/// Offset and length of each JPEG that a directory names.
fn places(d: &Directory<'_>) -> Vec<(u32, u32)> {
    let mut out = Vec::new();
    if let (Some(at), Some(n)) = (d.number(JPEG_OFFSET), d.number(JPEG_BYTES)) {
        out.push((at, n));
    }
    if matches!(d.number(COMPRESSION), Some(6 | 7))
        && d.entry(STRIP_OFFSETS).is_some_and(|e| e.len() == 1)
        && let (Some(at), Some(n)) = (d.number(STRIP_OFFSETS), d.number(STRIP_BYTES))
    {
        out.push((at, n));
    }
    out
}

/// Size of a JPEG that can be decoded: not the lossless kind in which sensor data are kept.
fn usable(jpeg: &[u8]) -> Option<Size> {
    if !begins(jpeg) {
        return None;
    }
    let parts = Parts::read(jpeg)?;
    let kind = matches!(parts.frame, 0xc0..=0xc2) && parts.precision == 8;
    parts
        .size
        .filter(|_| kind && matches!(parts.components.len(), 1 | 3))
}

/// Whether segments follow one another without a gap up to the first scan. Sensor data hold the
/// first bytes of a JPEG by chance, and a file may hold nothing else.
fn begins(bytes: &[u8]) -> bool {
    let mut at = 2;
    for _ in 0..MOST_SEGMENTS {
        match bytes.get(at..at + 4) {
            Some([0xff, 0xda, ..]) => return at > 2,
            Some([0xff, 0xc0..=0xcf | 0xdb..=0xef | 0xfe, hi, lo]) => {
                at += 2 + usize::from(u16::from_be_bytes([*hi, *lo])).max(2);
            }
            _ => return false,
        }
    }
    false
}

/// The next place of a JPEG's first three bytes.
fn find(bytes: &[u8]) -> Option<usize> {
    let mut at = 0;
    loop {
        at += bytes.get(at..)?.iter().position(|b| *b == 0xff)?;
        if bytes.get(at + 1..at + 3)? == [0xd8, 0xff] {
            return Some(at);
        }
        at += 1;
    }
}

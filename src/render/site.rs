//! WebP and PNG for her own site. Owns their search, their containers and the proof that nothing
//! else is in them; refuses to know how JPEGs are made.

use crate::base::geometry::Size;
use crate::base::reason::Refusal;
use crate::config::profile::{Format, Profile};
use crate::photo::raster::Raster;
use crate::render::budget::{self, Best, Found, broken, shrinking};
use crate::render::stamp::Stamp;
use crate::render::{encode, icc, prove, score};

/// What stands before XMP in a PNG (XMP specification part 3, 1.1.5): keyword, not packed, no language.
const XMP_CHUNK: &[u8] = b"XML:com.adobe.xmp\0\0\0\0\0";

/// Draws and encodes as the profile's format within its budget. WebP: the highest quality of the
/// profile's bounds that fits (WebP's own scale), to half a step; PNG is lossless and can only
/// give up pixels.
///
/// # Errors
/// `too-heavy` with the lightest file reached, or the drawing's own refusal.
pub fn fit(
    target: Size,
    smallest: f64,
    profile: &Profile,
    stamp: &Stamp,
    draw: impl Fn(Size) -> Result<Raster, Refusal>,
) -> Result<Best, Refusal> {
    let mut encodes = 0;
    let least = budget::least(target, smallest);
    shrinking(target, target, least, profile, |size, _| {
        let picture = draw(size)?;
        let mut file = |quality: f64| -> Result<Vec<u8>, Refusal> {
            encodes += 1;
            let (exif, xmp) = (stamp.exif(), stamp.xmp());
            match profile.format {
                Format::Png => encode::png(&picture, exif.as_deref(), xmp.as_deref()),
                _ => encode::webp(&picture, quality)
                    .and_then(|b| with_metadata(&b, size, exif.as_deref(), xmp.as_deref())),
            }
            .map_err(broken)
        };
        let limit = profile.max_bytes as usize;
        let png = profile.format == Format::Png;
        let floor = f64::from(profile.quality.floor);
        let ceiling = f64::from(profile.quality.ceiling).max(floor);
        let mut bytes = file(ceiling)?;
        let mut quality = ceiling;
        if bytes.len() > limit && !png {
            bytes = file(floor)?;
            quality = floor;
            let (mut low, mut high) = (floor, ceiling);
            while bytes.len() <= limit && high - low > 0.5 {
                let middle = (low + high) / 2.0;
                let tried = file(middle)?;
                if tried.len() <= limit {
                    (bytes, quality, low) = (tried, middle, middle);
                } else {
                    high = middle;
                }
            }
        }
        if bytes.len() > limit {
            return Ok(Found::TooHeavy(bytes.len() as f64));
        }
        let ssimulacra2 = if png {
            Some(100.0)
        } else {
            let seen = encode::decoded_webp(&bytes).map_err(broken)?;
            score::ssimulacra2(&picture, &seen)
        };
        Ok(Found::Fits(Best {
            bytes,
            size,
            quality: if png { 100.0 } else { quality },
            subsampling: if png { "4:4:4" } else { "4:2:0" },
            ssimulacra2,
            encodes,
        }))
    })
}

/// The extended container (WebP container specification): a header that tells what follows, the
/// profile, the picture, then Exif and XMP.
fn with_metadata(
    plain: &[u8],
    size: Size,
    exif: Option<&[u8]>,
    xmp: Option<&str>,
) -> Result<Vec<u8>, String> {
    let picture = plain.get(12..).ok_or("the encoder gave no picture")?;
    const PROFILE: u8 = 0x20;
    const EXIF: u8 = 0x08;
    const XMP: u8 = 0x04;
    let mut flags = PROFILE;
    if exif.is_some() {
        flags |= EXIF;
    }
    if xmp.is_some() {
        flags |= XMP;
    }
    let head = [&[flags, 0, 0, 0][..], &sides(size)].concat();
    let mut body = b"WEBP".to_vec();
    let chunk = |body: &mut Vec<u8>, name: &[u8; 4], content: &[u8]| {
        body.extend_from_slice(name);
        body.extend((content.len() as u32).to_le_bytes());
        body.extend_from_slice(content);
        body.resize(body.len().next_multiple_of(2), 0);
    };
    chunk(&mut body, b"VP8X", &head);
    chunk(&mut body, b"ICCP", icc::srgb());
    body.extend_from_slice(picture);
    if let Some(exif) = exif {
        chunk(&mut body, b"EXIF", exif);
    }
    if let Some(xmp) = xmp {
        chunk(&mut body, b"XMP ", xmp.as_bytes());
    }
    let mut out = b"RIFF".to_vec();
    out.extend((body.len() as u32).to_le_bytes());
    out.extend(body);
    Ok(out)
}

/// Width and height less one, 24 bits each.
fn sides(size: Size) -> Vec<u8> {
    let side = |v: u32| v.saturating_sub(1).to_le_bytes();
    [&side(size.w)[..3], &side(size.h)[..3]].concat()
}

/// Reads a finished WebP again: every chunk is on the list, and metadata is the stamp's own.
///
/// # Errors
/// One sentence that names what does not belong.
pub fn clean_webp(bytes: &[u8], size: Size, stamp: &Stamp) -> Result<(), String> {
    let length = |at: usize| {
        bytes
            .get(at..at + 4)
            .map(|l| u32::from_le_bytes([l[0], l[1], l[2], l[3]]) as usize)
    };
    if !bytes.starts_with(b"RIFF") || bytes.get(8..12) != Some(b"WEBP") {
        return Err("it does not begin as a WebP".into());
    }
    if length(4) != Some(bytes.len() - 8) {
        return Err("its length is not what it says".into());
    }
    let (mut at, mut pictures, mut profile) = (12, 0, false);
    while at < bytes.len() {
        let n = length(at + 4).ok_or("a chunk is cut")?;
        let body = bytes.get(at + 8..at + 8 + n).ok_or("a chunk is cut")?;
        match &bytes[at..at + 4] {
            b"VP8X" if body.get(4..10) == Some(&sides(size)[..]) => {}
            b"VP8X" => return Err(format!("its size is not {size}")),
            b"VP8 " => pictures += 1,
            b"ICCP" if body == icc::srgb() => profile = true,
            b"EXIF" => prove::exif(body, stamp)?,
            b"XMP " if stamp.xmp().is_some_and(|x| x.as_bytes() == body) => {}
            other => return Err(foreign(other)),
        }
        at += 8 + n.next_multiple_of(2);
    }
    complete(pictures == 1 && profile)
}

/// Reads a finished PNG again: every chunk is on the list, and metadata is the stamp's own.
///
/// # Errors
/// One sentence that names what does not belong.
pub fn clean_png(bytes: &[u8], size: Size, stamp: &Stamp) -> Result<(), String> {
    if !bytes.starts_with(b"\x89PNG\r\n\x1a\n") {
        return Err("it does not begin as a PNG".into());
    }
    let (mut at, mut pictures, mut ended) = (8, 0, false);
    while at < bytes.len() {
        if ended {
            return Err("something lies behind its end".into());
        }
        let n = bytes
            .get(at..at + 4)
            .map(|l| u32::from_be_bytes([l[0], l[1], l[2], l[3]]) as usize)
            .ok_or("a chunk is cut")?;
        let name = bytes.get(at + 4..at + 8).ok_or("a chunk is cut")?;
        let body = bytes.get(at + 8..at + 8 + n).ok_or("a chunk is cut")?;
        match name {
            b"IHDR"
                if body.get(..8)
                    == Some(&[size.w.to_be_bytes(), size.h.to_be_bytes()].concat()) => {}
            b"IHDR" => return Err(format!("its size is not {size}")),
            b"IDAT" => pictures += 1,
            // What is packed in it is told by a reader below.
            b"iCCP" => {}
            b"IEND" if n == 0 => ended = true,
            b"eXIf" => prove::exif(body, stamp)?,
            b"iTXt"
                if stamp
                    .xmp()
                    .is_some_and(|x| body == [XMP_CHUNK, x.as_bytes()].concat()) => {}
            other => return Err(foreign(other)),
        }
        at += 12 + n;
    }
    complete(pictures > 0 && ended && encode::png_profile(bytes).as_deref() == Some(icc::srgb()))
}

fn foreign(name: &[u8]) -> String {
    format!("it holds a foreign chunk {}", String::from_utf8_lossy(name))
}

fn complete(whole: bool) -> Result<(), String> {
    if whole {
        Ok(())
    } else {
        Err("its colour profile or its picture is missing".into())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::reason::Reason;
    use crate::config::profile::Imprint;
    use crate::photo;

    fn picture(size: Size) -> Raster {
        let each = (0..size.h).flat_map(|y| (0..size.w).map(move |x| (x, y)));
        // A gradient with grain, so that a file has something to give up.
        let grain = |x: u32, y: u32| {
            (x.wrapping_mul(374_761_393) ^ y.wrapping_mul(668_265_263)).wrapping_mul(1_274_126_177)
                >> 27
        };
        let paint = |(x, y): (u32, u32)| {
            let g = grain(x, y);
            [
                (x / 2 + 60 + g) as u8,
                (y / 2 + 80 + g) as u8,
                (90 + g) as u8,
            ]
        };
        Raster::new(size, each.flat_map(paint).collect())
    }

    fn stamp() -> Stamp {
        let imprint = Imprint {
            credit: "Zoë".into(),
            copyright: "© Zoë".into(),
            keep_time: false,
        };
        Stamp::new(&imprint, None)
    }

    fn made(format: Format, max_bytes: u64, stamp: &Stamp) -> Result<Best, Refusal> {
        let profile = Profile {
            format,
            max_bytes,
            ..Profile::default()
        };
        let draw = |size| Ok(picture(size));
        fit(Size::new(160, 120), 0.5, &profile, stamp, draw)
    }

    #[test]
    fn webp_and_png_open_again_with_their_profile_and_pass_the_proof() {
        for stamp in [Stamp::default(), stamp()] {
            let webp = made(Format::Webp, 1_000_000, &stamp).unwrap();
            clean_webp(&webp.bytes, webp.size, &stamp).unwrap();
            assert!(webp.ssimulacra2.unwrap() > 50.0);
            let png = made(Format::Png, 1_000_000, &stamp).unwrap();
            clean_png(&png.bytes, png.size, &stamp).unwrap();
            for best in [&webp, &png] {
                let again = photo::open(&best.bytes, &Default::default(), [0; 3], "").unwrap();
                assert_eq!(again.raster.size(), best.size);
                assert_eq!(again.colour, "sRGB");
            }
            let exact = photo::open(&png.bytes, &Default::default(), [0; 3], "").unwrap();
            assert_eq!(exact.raster, picture(png.size));
        }
    }

    #[test]
    fn a_tight_budget_takes_quality_from_webp_and_pixels_from_png() {
        let stamp = Stamp::default();
        let free = made(Format::Webp, 1_000_000, &stamp).unwrap();
        let limit = free.bytes.len() as u64 * 3 / 4;
        let tight = made(Format::Webp, limit, &stamp).unwrap();
        assert!(tight.bytes.len() as u64 <= limit && tight.quality < free.quality);
        let free = made(Format::Png, 1_000_000, &stamp).unwrap();
        let limit = free.bytes.len() as u64 * 3 / 4;
        let tight = made(Format::Png, limit, &stamp).unwrap();
        assert!(tight.bytes.len() as u64 <= limit && tight.size.short() < free.size.short());
        let no = made(Format::Png, 1_200, &stamp).err().unwrap();
        assert_eq!(no.reason, Reason::TooHeavy);
    }

    #[test]
    fn foreign_chunks_and_another_size_refuse_the_file() {
        let none = Stamp::default();
        let size = Size::new(160, 120);
        let webp = |stamp: &Stamp| made(Format::Webp, 1_000_000, stamp).unwrap().bytes;
        let png = |stamp: &Stamp| made(Format::Png, 1_000_000, stamp).unwrap().bytes;
        assert!(clean_webp(&webp(&stamp()), size, &none).is_err());
        assert!(clean_png(&png(&stamp()), size, &none).is_err());
        let other = Size::new(120, 160);
        assert!(clean_webp(&webp(&none), other, &none).is_err());
        assert!(clean_png(&png(&none), other, &none).is_err());
        for chunk in [
            &b"\0\0\0\x04tEXta\0bc\0\0\0\0"[..],
            b"\0\0\0\x04zTXta\0bc\0\0\0\0",
            b"\0\0\0\x04tIME\0\0\0\0\0\0\0\0",
            b"\0\0\0\x04eXIfII*\0\0\0\0\0",
        ] {
            let mut file = png(&none);
            file.splice(33..33, chunk.iter().copied());
            assert!(clean_png(&file, size, &none).is_err(), "{chunk:?}");
        }
        for name in [b"EXIF", b"XMP ", b"ANIM", b"junk"] {
            let mut file = webp(&none);
            file.extend([&name[..], &[4, 0, 0, 0], b"abcd"].concat());
            let length = file.len() as u32 - 8;
            file[4..8].copy_from_slice(&length.to_le_bytes());
            assert!(clean_webp(&file, size, &none).is_err(), "{name:?}");
        }
        // Something put before our own XMP.
        let mut file = png(&stamp());
        let at = file.windows(8).position(|w| w == b"iTXtXML:").unwrap();
        file[at + 4] = b'Y';
        assert!(
            clean_png(&file, size, &stamp())
                .unwrap_err()
                .contains("iTXt")
        );
    }
}

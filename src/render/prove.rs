//! Reads a finished JPEG again before it is published. Owns the proof that nothing is in it but
//! pixels, the sRGB profile and the stamp; refuses to trust the writer.

use exif::{In, Reader, Value};

use crate::base::geometry::Size;
use crate::render::icc;
use crate::render::stamp::{EXIF_NAME, Stamp, XMP_NAME, tag};

/// Walks every segment of a JPEG (ITU-T T.81, annex B) to its end.
///
/// # Errors
/// One sentence that names what does not belong, or what is missing.
pub fn clean(bytes: &[u8], size: Size, stamp: &Stamp) -> Result<(), String> {
    if !bytes.starts_with(&[0xff, 0xd8]) {
        return Err("it does not begin as a JPEG".into());
    }
    let (mut at, mut profile, mut framed, mut scans) = (2, false, false, 0);
    loop {
        let [0xff, kind] = *bytes.get(at..at + 2).ok_or("it ends too early")? else {
            return Err(format!("there is no marker at byte {at}"));
        };
        if kind == 0xd9 {
            break;
        }
        let length = bytes
            .get(at + 2..at + 4)
            .map(|l| usize::from(u16::from_be_bytes([l[0], l[1]])))
            .filter(|&l| l >= 2)
            .ok_or("a segment is cut")?;
        let body = bytes
            .get(at + 4..at + 2 + length)
            .ok_or("a segment is cut")?;
        at += 2 + length;
        match kind {
            0xe0 => jfif(body)?,
            0xe1 if body.starts_with(EXIF_NAME) => exif(&body[EXIF_NAME.len()..], stamp)?,
            0xe1 if body.starts_with(XMP_NAME) => {
                let ours = stamp.xmp().unwrap_or_default();
                if body[XMP_NAME.len()..] != *ours.as_bytes() {
                    return Err("it holds foreign XMP".into());
                }
            }
            0xe2 if body.get(14..) == Some(icc::srgb()) && body.starts_with(b"ICC_PROFILE\0") => {
                profile = true;
            }
            0xfe => return Err("it holds a comment".into()),
            0xe1..=0xef => return Err(format!("it holds a foreign segment APP{}", kind & 15)),
            0xc0 | 0xc2 => {
                let side = |i: usize| {
                    body.get(i..i + 2)
                        .map(|s| u32::from(s[0]) << 8 | u32::from(s[1]))
                };
                if (side(3), side(1)) != (Some(size.w), Some(size.h)) {
                    return Err(format!("its size is not {size}"));
                }
                framed = true;
            }
            0xdb | 0xc4 => {}
            0xda => {
                scans += 1;
                at = after_scan(bytes, at).ok_or("its last scan is cut")?;
            }
            _ => return Err(format!("it holds a foreign marker {kind:02x}")),
        }
    }
    if at + 2 != bytes.len() {
        return Err("something lies behind its end".into());
    }
    if !(profile && framed && scans > 0) {
        return Err("its colour profile or its picture is missing".into());
    }
    Ok(())
}

/// The first byte after entropy-coded data that is a marker, stuffing and restarts passed over.
fn after_scan(bytes: &[u8], from: usize) -> Option<usize> {
    let mut at = from;
    loop {
        at += bytes.get(at..)?.iter().position(|&b| b == 0xff)?;
        match bytes.get(at + 1)? {
            0 | 0xd0..=0xd7 => at += 2,
            _ => return Some(at),
        }
    }
}

/// JFIF 1.02: 14 bytes of header, of which the last two are the thumbnail's size.
fn jfif(body: &[u8]) -> Result<(), String> {
    if body.len() == 14 && body.starts_with(b"JFIF\0") && body[12..] == [0, 0] {
        Ok(())
    } else {
        Err("it holds a thumbnail or a foreign segment APP0".into())
    }
}

/// Every tag is on the allow-list, and every text is the stamp's own.
///
/// # Errors
/// One sentence that names what does not belong.
pub fn exif(tiff: &[u8], stamp: &Stamp) -> Result<(), String> {
    if stamp.exif().is_none() {
        return Err("it holds metadata that nobody asked for".into());
    }
    let read = Reader::new()
        .read_raw(tiff.to_vec())
        .map_err(|e| format!("its metadata cannot be read again: {e}"))?;
    for field in read.fields() {
        let number = field.tag.number();
        if field.ifd_num != In::PRIMARY {
            return Err("it holds a thumbnail".into());
        }
        if !tag::ALLOWED.contains(&number) {
            return Err(format!("it holds the metadata field {}", field.tag));
        }
        let wanted = match number {
            tag::ARTIST => stamp.credit.clone(),
            tag::COPYRIGHT => stamp.copyright.clone(),
            tag::TAKEN | tag::TAKEN_PART => {
                let taken = stamp.taken.as_deref().unwrap_or_default();
                let (whole, part) = taken.split_once('.').unwrap_or((taken, ""));
                if number == tag::TAKEN {
                    whole.replace('-', ":").replace('T', " ")
                } else {
                    part.to_owned()
                }
            }
            _ => continue,
        };
        let same = matches!(&field.value, Value::Ascii(texts)
            if texts.len() == 1 && texts[0] == wanted.as_bytes());
        if wanted.is_empty() || !same {
            return Err(format!("its {} is not what was asked for", field.tag));
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::config::profile::Imprint;
    use crate::photo::raster::Raster;
    use crate::render::encode::{self, Chroma, Segment};

    fn stamp() -> Stamp {
        let imprint = Imprint {
            credit: "Zoë Møller & daughters".into(),
            copyright: "© 2026 <Zoë>".into(),
            keep_time: true,
        };
        Stamp::new(&imprint, Some("2026-03-04T05:06:07.25"))
    }

    fn file(segments: &[Segment]) -> Vec<u8> {
        let picture = Raster::filled(Size::new(40, 30), [90, 120, 60]);
        encode::jpeg(&picture, 80.0, Chroma::Half, segments).unwrap()
    }

    fn verdict(segments: &[Segment]) -> Result<(), String> {
        clean(&file(segments), Size::new(40, 30), &stamp())
    }

    /// `stamp` with one more entry in its first directory, put before all others.
    fn with_tag(tag: u16, kind: u16, value: [u8; 4]) -> Vec<u8> {
        let mut out = b"II\x2a\0\x08\0\0\0\x01\0".to_vec();
        out.extend(tag.to_le_bytes());
        out.extend(kind.to_le_bytes());
        out.extend(1u32.to_le_bytes());
        out.extend(value);
        out.extend([0; 4]);
        out
    }

    #[test]
    fn a_file_with_nothing_but_the_stamp_passes() {
        verdict(&stamp().segments()).unwrap();
        let plain = Stamp::default();
        clean(&file(&plain.segments()), Size::new(40, 30), &plain).unwrap();
    }

    #[test]
    fn whatever_does_not_belong_is_refused_by_name() {
        let app = |app: u8, body: &[u8]| Segment {
            app,
            body: body.to_vec(),
        };
        let exif = |tiff: Vec<u8>| Segment {
            app: 1,
            body: [EXIF_NAME, &tiff].concat(),
        };
        let foreign = [
            (app(1, b"http://ns.adobe.com/xap/1.0/\0<x:xmpmeta/>"), "XMP"),
            (app(13, b"Photoshop 3.0\0"), "APP13"),
            (app(0, b"JFXX\0\x10"), "thumbnail"),
            (app(2, b"MPF\0"), "APP2"),
            // GPS directory, serial number, owner, maker note, unique number, user comment.
            (exif(with_tag(0x8825, 4, [8, 0, 0, 0])), "metadata"),
            (exif(with_tag(0xa431, 2, *b"S1\0\0")), "metadata"),
            (exif(with_tag(0xa430, 2, *b"Me\0\0")), "metadata"),
            (exif(with_tag(0x927c, 7, *b"note")), "metadata"),
            (exif(with_tag(0xa420, 2, *b"123\0")), "metadata"),
            (exif(with_tag(0x9286, 7, *b"text")), "metadata"),
            (
                exif(with_tag(0x013b, 2, *b"Eve\0")),
                "not what was asked for",
            ),
        ];
        for (segment, word) in foreign {
            let mut all = vec![segment];
            all.extend(stamp().segments());
            let why = verdict(&all).unwrap_err();
            assert!(why.contains(word), "{word}: {why}");
        }
        // Asked for nothing, not even an allowed field may be there.
        let why = clean(
            &file(&stamp().segments()),
            Size::new(40, 30),
            &Stamp::default(),
        );
        assert!(why.is_err());
    }

    #[test]
    fn a_comment_a_tail_a_missing_profile_and_another_size_are_refused() {
        let good = file(&stamp().segments());
        let size = Size::new(40, 30);
        let mut comment = good.clone();
        comment.splice(2..2, *b"\xff\xfe\0\x04hi");
        assert!(
            clean(&comment, size, &stamp())
                .unwrap_err()
                .contains("comment")
        );
        let mut tail = good.clone();
        tail.extend_from_slice(b"\xff\xd8");
        assert!(
            clean(&tail, size, &stamp())
                .unwrap_err()
                .contains("behind its end")
        );
        assert!(verdict(&[]).unwrap_err().contains("profile"));
        assert!(clean(&good, Size::new(30, 40), &stamp()).is_err());
        for cut in 0..good.len() {
            assert!(clean(&good[..cut], size, &stamp()).is_err(), "cut at {cut}");
        }
    }

    #[test]
    fn an_independent_reader_finds_the_stamp_letter_for_letter() {
        let read = Reader::new()
            .read_from_container(&mut std::io::Cursor::new(file(&stamp().segments())))
            .unwrap();
        let text = |tag| {
            let field = read.get_field(tag, In::PRIMARY).unwrap();
            let Value::Ascii(t) = &field.value else {
                panic!("{tag}")
            };
            String::from_utf8(t[0].clone()).unwrap()
        };
        assert_eq!(text(exif::Tag::Artist), "Zoë Møller & daughters");
        assert_eq!(text(exif::Tag::Copyright), "© 2026 <Zoë>");
        assert_eq!(text(exif::Tag::DateTimeOriginal), "2026:03:04 05:06:07");
        assert_eq!(text(exif::Tag::SubSecTimeOriginal), "25");
        let space = read.get_field(exif::Tag::ColorSpace, In::PRIMARY).unwrap();
        assert_eq!(space.value.get_uint(0), Some(1));
        assert_eq!(read.fields().count(), 6);
        let xmp = stamp().xmp().unwrap();
        assert!(xmp.contains("Zoë Møller &amp; daughters") && xmp.contains("© 2026 &lt;Zoë&gt;"));
    }

    #[test]
    fn time_is_kept_only_when_asked_and_only_as_a_time() {
        let mut imprint = Imprint::default();
        assert_eq!(
            Stamp::new(&imprint, Some("2026-03-04T05:06:07")).taken,
            None
        );
        imprint.keep_time = true;
        for odd in [
            "somewhere 47.1 N",
            "2026-03-04",
            "2026-03-04T05:06:07.",
            "2026-03-04T05:06:07.N47",
        ] {
            assert_eq!(Stamp::new(&imprint, Some(odd)).taken, None, "{odd}");
        }
        assert!(
            Stamp::new(&imprint, Some("2026-03-04T05:06:07.9"))
                .exif()
                .is_some()
        );
    }
}

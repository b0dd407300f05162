//! Files stuffed with private facts go in; none of them comes out.

use exif::{In, Reader, Tag};
use stallhand::base::geometry::Size;
use stallhand::config::profile::Imprint;
use stallhand::photo::raster::Raster;
use stallhand::render::encode::{self, Chroma, Segment};
use stallhand::render::render;

use super::{open, small};

/// Words that are planted and must not be found.
const SECRETS: [&str; 7] = [
    "SERIAL-4711",
    "OWNER-Zoe",
    "MAKER-secret",
    "GPS-Lane-7",
    "XMP-secret",
    "COMMENT-secret",
    "THUMB-secret",
];

/// A TIFF structure with serial number, owner, maker note, a position with a place's name, and a
/// second directory with a thumbnail; tags by CIPA DC-008.
fn stuffed_exif() -> Vec<u8> {
    type Entry = (u16, u16, u32, Vec<u8>);
    let text = |tag: u16, s: &str| -> Entry {
        (tag, 2, s.len() as u32 + 1, [s.as_bytes(), b"\0"].concat())
    };
    let bytes = |tag: u16, s: &str| -> Entry { (tag, 7, s.len() as u32, s.as_bytes().to_vec()) };
    let long = |tag: u16, v: usize| -> Entry { (tag, 4, 1, (v as u32).to_le_bytes().to_vec()) };
    let size = |entries: &[Entry]| {
        6 + entries
            .iter()
            .map(|e| {
                12 + if e.3.len() > 4 {
                    e.3.len().next_multiple_of(2)
                } else {
                    0
                }
            })
            .sum::<usize>()
    };
    let exif = vec![
        bytes(0x927c, SECRETS[2]),
        text(0xa430, SECRETS[1]),
        text(0xa431, SECRETS[0]),
    ];
    let degrees: Vec<u8> = [47u32, 1, 6, 1, 7, 1]
        .iter()
        .flat_map(|v| v.to_le_bytes())
        .collect();
    let gps = vec![
        text(0x0001, "N"),
        (0x0002, 5, 3, degrees),
        bytes(0x001c, SECRETS[3]),
    ];
    let main_len = size(&[long(0x8769, 0), long(0x8825, 0)]);
    let (exif_at, gps_at) = (8 + main_len, 8 + main_len + size(&exif));
    let thumb_at = gps_at + size(&gps);
    let thumb_body = thumb_at + size(&[long(0x201, 0), long(0x202, 0)]);
    let main = vec![long(0x8769, exif_at), long(0x8825, gps_at)];
    let thumb = vec![long(0x201, thumb_body), long(0x202, SECRETS[6].len())];
    let mut out = b"II\x2a\0\x08\0\0\0".to_vec();
    for (entries, next) in [(&main, thumb_at), (&exif, 0), (&gps, 0), (&thumb, 0)] {
        let mut outside = out.len() + 6 + 12 * entries.len();
        let mut values = Vec::new();
        out.extend((entries.len() as u16).to_le_bytes());
        for (tag, kind, count, value) in entries {
            out.extend(tag.to_le_bytes());
            out.extend(kind.to_le_bytes());
            out.extend(count.to_le_bytes());
            if value.len() > 4 {
                out.extend((outside as u32).to_le_bytes());
                values.extend_from_slice(value);
                values.resize(values.len().next_multiple_of(2), 0);
                outside += value.len().next_multiple_of(2);
            } else {
                let mut v = value.clone();
                v.resize(4, 0);
                out.extend(v);
            }
        }
        out.extend((next as u32).to_le_bytes());
        out.extend(values);
    }
    out.extend_from_slice(SECRETS[6].as_bytes());
    out
}

fn picture() -> Raster {
    let size = Size::new(420, 320);
    let each = (0..size.h).flat_map(|y| (0..size.w).map(move |x| (x, y)));
    Raster::new(
        size,
        each.flat_map(|(x, y)| [x as u8, y as u8, 80]).collect(),
    )
}

fn stuffed_jpeg() -> Vec<u8> {
    let app1 = |body: Vec<u8>| Segment { app: 1, body };
    let xmp = format!("http://ns.adobe.com/xap/1.0/\0<x>{}</x>", SECRETS[4]);
    let segments = [
        app1([b"Exif\0\0", &stuffed_exif()[..]].concat()),
        app1(xmp.into_bytes()),
    ];
    let mut bytes = encode::jpeg(&picture(), 90.0, Chroma::Half, &segments).unwrap();
    let text = SECRETS[5].as_bytes();
    let comment = [b"\xff\xfe\0", &[text.len() as u8 + 2][..], text].concat();
    bytes.splice(2..2, comment);
    bytes
}

fn stuffed_png() -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 420, 320);
    encoder.set_color(png::ColorType::Rgb);
    encoder
        .add_text_chunk("Comment".into(), SECRETS[5].into())
        .unwrap();
    encoder
        .add_itxt_chunk("XML:com.adobe.xmp".into(), SECRETS[4].into())
        .unwrap();
    let mut writer = encoder.write_header().unwrap();
    writer
        .write_chunk(png::chunk::ChunkType(*b"eXIf"), &stuffed_exif())
        .unwrap();
    writer.write_image_data(picture().pixels()).unwrap();
    writer.finish().unwrap();
    bytes
}

fn stuffed_webp() -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = image::codecs::webp::WebPEncoder::new_lossless(&mut bytes);
    image::ImageEncoder::set_exif_metadata(&mut encoder, stuffed_exif()).unwrap();
    encoder
        .encode(picture().pixels(), 420, 320, image::ExtendedColorType::Rgb8)
        .unwrap();
    bytes
}

fn holds(bytes: &[u8], word: &str) -> bool {
    bytes.windows(word.len()).any(|w| w == word.as_bytes())
}

#[test]
fn nothing_private_comes_out_of_a_stuffed_file() {
    let sources = [
        ("JPEG", stuffed_jpeg(), 7),
        ("PNG", stuffed_png(), 7),
        ("WebP", stuffed_webp(), 5),
    ];
    let imprint = Imprint {
        credit: "Clay & Wick".into(),
        copyright: "© Clay & Wick".into(),
        keep_time: true,
    };
    for (name, bytes, planted) in sources {
        let there = SECRETS.iter().filter(|s| holds(&bytes, s)).count();
        assert_eq!(there, planted, "{name} is stuffed");
        let photo = open(&bytes);
        for imprint in [Imprint::default(), imprint.clone()] {
            let frame = photo.raster.size().frame();
            let done = render(&photo, frame, None, &small(), &imprint, false).unwrap();
            for secret in SECRETS {
                assert!(!holds(done.bytes(), secret), "{name}: {secret}");
            }
            let mut cursor = std::io::Cursor::new(done.bytes());
            let Ok(read) = Reader::new().read_from_container(&mut cursor) else {
                assert!(imprint.credit.is_empty(), "{name}: the credit is missing");
                continue;
            };
            let tags: Vec<Tag> = read.fields().map(|f| f.tag).collect();
            let allowed = [
                Tag::Artist,
                Tag::Copyright,
                Tag::ExifVersion,
                Tag::ColorSpace,
            ];
            assert!(tags.iter().all(|t| allowed.contains(t)), "{name}: {tags:?}");
            assert!(read.fields().all(|f| f.ifd_num == In::PRIMARY));
        }
    }
}

#[test]
fn the_stuffed_file_is_what_it_claims_to_another_reader() {
    let bytes = stuffed_jpeg();
    let read = Reader::new()
        .read_from_container(&mut std::io::Cursor::new(&bytes))
        .unwrap();
    for tag in [
        Tag::BodySerialNumber,
        Tag::CameraOwnerName,
        Tag::MakerNote,
        Tag::GPSLatitude,
    ] {
        assert!(read.get_field(tag, In::PRIMARY).is_some(), "{tag}");
    }
    assert!(
        read.get_field(Tag::JPEGInterchangeFormat, In::THUMBNAIL)
            .is_some()
    );
}

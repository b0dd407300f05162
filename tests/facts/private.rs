//! Private by construction: photos stuffed with everything that cameras and programs leave in them go
//! through the real program, and nothing of it is in any file or word that comes out.

use std::collections::BTreeSet;
use std::io::Cursor;

use exif::{In, Reader, Tag, Value as Field};

use crate::photo::build::{PLAIN, Value, jpeg, segment, tiff, with_exif, with_segments};
use crate::photo::corpus;
use crate::workshop::{Workshop, photo};

/// What every planted text begins with.
const SECRET: &str = "QZSECRET";
/// The seconds of the planted latitude as a fraction, and as they would be written.
const SECONDS: (u32, u32) = (1_369_235_113, 37_171_717);

/// EXIF with a position, serial numbers, owner, maker note and a thumbnail (CIPA DC-008).
fn stuffed_exif() -> Vec<u8> {
    let text = |tag: u16, t: &'static str| (tag, Value::Text(t));
    let secret = |what: &str| Value::Bytes(format!("{SECRET}{what}").into_bytes());
    let place = vec![
        text(1, "N"),
        (2, Value::Ratio(vec![(47, 1), (22, 1), SECONDS])),
        text(3, "E"),
        (4, Value::Ratio(vec![(8, 1), (32, 1), SECONDS])),
        (0x1b, secret("METHOD")),
        (0x1c, secret("PLACE")),
    ];
    let about = vec![
        text(0x9003, "2026:03:01 09:30:00"),
        (0x927c, secret("MAKERNOTE")),
        (0x9286, secret("USERCOMMENT")),
        text(0xa420, "QZSECRETUNIQUE"),
        text(0xa430, "QZSECRETOWNER"),
        text(0xa431, "QZSECRETSERIAL"),
        text(0xa435, "QZSECRETLENSSERIAL"),
    ];
    let wide: Vec<u8> = SECRET.bytes().flat_map(|b| [b, 0]).collect();
    tiff(&[
        text(0x010e, "QZSECRETDESCRIPTION"),
        text(0x010f, "QZSECRETMAKE"),
        text(0x0110, "QZSECRETMODEL"),
        text(0x0131, "QZSECRETSOFTWARE"),
        text(0x013b, "QZSECRETARTIST"),
        text(0x013c, "QZSECRETCOMPUTER"),
        text(0x8298, "QZSECRETCOPYRIGHT"),
        (0x9c9d, Value::Bytes(wide)),
        text(0xc62f, "QZSECRETCAMERASERIAL"),
        (
            0x0201,
            Value::Blob(format!("{SECRET}THUMBNAIL").into_bytes()),
        ),
        (0x8769, Value::Below(about)),
        (0x8825, Value::Below(place)),
    ])
}

fn stuffed_xmp() -> String {
    format!(
        "<x:xmpmeta xmlns:x='adobe:ns:meta/'><a b='{SECRET}XMP' exif:GPSLatitude='47,22.6139N'/>\
         </x:xmpmeta>"
    )
}

fn stuffed_jpeg(plain: &[u8]) -> Vec<u8> {
    let iptc = [
        b"Photoshop 3.0\08BIM\x04\x04\0\0\0\0\0\x14\x1c\x02\x78\0\x0f".as_slice(),
        b"QZSECRETCAPTION",
    ];
    let mut out = with_segments(
        plain,
        &[
            segment(0xe0, b"JFXX\0\x13\x01\x01QZSECRETTHUMB"),
            segment(
                0xe1,
                &[b"http://ns.adobe.com/xap/1.0/\0", stuffed_xmp().as_bytes()].concat(),
            ),
            segment(0xed, &iptc.concat()),
            segment(0xe9, b"QZSECRETVENDOR"),
            segment(0xfe, b"QZSECRETCOMMENT"),
        ],
    );
    out = with_exif(&out, &stuffed_exif());
    out.extend(b"QZSECRETTAIL");
    out
}

/// One of the real photographs, 640 x 427.
fn pixels(which: &str) -> (u32, u32, Vec<u8>) {
    let bytes = photo(which, "");
    let mut decoder = jpeg_decoder::Decoder::new(&bytes[..]);
    let rgb = decoder.decode().unwrap();
    let info = decoder.info().unwrap();
    (info.width.into(), info.height.into(), rgb)
}

fn stuffed_png() -> Vec<u8> {
    let (w, h, rgb) = pixels("china");
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, w, h);
    encoder.set_color(png::ColorType::Rgb);
    let text = |t: &str| format!("{SECRET}{t}");
    encoder
        .add_text_chunk("Comment".into(), text("TEXT"))
        .unwrap();
    encoder
        .add_ztxt_chunk("Author".into(), text("ZTEXT"))
        .unwrap();
    encoder
        .add_itxt_chunk("XML:com.adobe.xmp".into(), stuffed_xmp())
        .unwrap();
    let mut writer = encoder.write_header().unwrap();
    writer
        .write_chunk(png::chunk::ChunkType(*b"eXIf"), &stuffed_exif())
        .unwrap();
    writer.write_image_data(&rgb).unwrap();
    writer.finish().unwrap();
    bytes
}

fn stuffed_webp() -> Vec<u8> {
    let (w, h, rgb) = pixels("flower");
    let mut bytes = Vec::new();
    let mut encoder = image::codecs::webp::WebPEncoder::new_lossless(&mut bytes);
    image::ImageEncoder::set_exif_metadata(&mut encoder, stuffed_exif()).unwrap();
    encoder
        .encode(&rgb, w, h, image::ExtendedColorType::Rgb8)
        .unwrap();
    // XMP is one more chunk, told of by a flag (WebP container specification).
    let mut xmp = stuffed_xmp().into_bytes();
    let length = xmp.len() as u32;
    xmp.resize(xmp.len().next_multiple_of(2), b' ');
    bytes.extend([b"XMP ", &length.to_le_bytes()[..], &xmp].concat());
    bytes[20] |= 0x04;
    let all = bytes.len() as u32 - 8;
    bytes[4..8].copy_from_slice(&all.to_le_bytes());
    bytes
}

fn stuffed_tiff() -> Vec<u8> {
    let (w, h, rgb) = pixels("flower");
    let exif = stuffed_exif();
    tiff(&[
        (256, Value::Long(vec![w])),
        (257, Value::Long(vec![h])),
        (258, Value::Short(vec![8; 3])),
        (259, Value::Short(vec![1])),
        (262, Value::Short(vec![2])),
        (0x010e, Value::Text("QZSECRETDESCRIPTION")),
        (0x0110, Value::Text("QZSECRETMODEL")),
        (273, Value::Blob(rgb.clone())),
        (277, Value::Short(vec![3])),
        (278, Value::Long(vec![h])),
        (279, Value::Long(vec![rgb.len() as u32])),
        (0x02bc, Value::Bytes(stuffed_xmp().into_bytes())),
        (0x83bb, Value::Bytes(b"QZSECRETIPTC".to_vec())),
        (
            0x8769,
            Value::Below(vec![
                (0xa431, Value::Text("QZSECRETSERIAL")),
                (0x927c, Value::Bytes(exif)),
            ]),
        ),
        (
            0x8825,
            Value::Below(vec![(0x1c, Value::Bytes(b"QZSECRETPLACE".to_vec()))]),
        ),
    ])
}

fn stuffed_heic() -> Vec<u8> {
    let (w, h, rgb) = pixels("china");
    let plain = heifer::encode_rgb8(w, h, &rgb, &heifer::EncodeOptions::default()).unwrap();
    let image = heifer::decode(&plain).unwrap();
    let metadata = heifer::Metadata {
        exif: Some(stuffed_exif()),
        xmp: Some(stuffed_xmp().into_bytes()),
        icc_profile: None,
    };
    heifer::encode_with_metadata(&image, &metadata, &heifer::EncodeOptions::default()).unwrap()
}

/// A raw file whose preview is stuffed as well, 1600 px wide.
fn stuffed_raw() -> Vec<u8> {
    let (w, h, rgb) = pixels("flower");
    let wide: Vec<u8> = (0..h * 5 / 2)
        .flat_map(|y| (0..w * 5 / 2).map(move |x| ((y * 2 / 5) * w + x * 2 / 5) as usize * 3))
        .flat_map(|i| [rgb[i], rgb[i + 1], rgb[i + 2]])
        .collect();
    let preview = stuffed_jpeg(&jpeg(w * 5 / 2, h * 5 / 2, &wide, PLAIN));
    let below = vec![
        vec![
            (259, Value::Short(vec![7])),
            (262, Value::Short(vec![32_803])),
        ],
        vec![
            (259, Value::Short(vec![7])),
            (262, Value::Short(vec![6])),
            (279, Value::Long(vec![preview.len() as u32])),
            (273, Value::Blob(preview)),
        ],
    ];
    tiff(&[
        (254, Value::Long(vec![1])),
        (330, Value::Several(below)),
        (0x0110, Value::Text("QZSECRETMODEL")),
        (0xc62f, Value::Text("QZSECRETCAMERASERIAL")),
        (0xc634, Value::Bytes(b"QZSECRETPRIVATE".to_vec())),
        (
            0x8825,
            Value::Below(vec![(0x1c, Value::Bytes(b"QZSECRETPLACE".to_vec()))]),
        ),
    ])
}

fn stuffed() -> Vec<(&'static str, Vec<u8>)> {
    vec![
        ("a.jpg", stuffed_jpeg(&photo("china", ""))),
        ("b.png", stuffed_png()),
        ("c.webp", stuffed_webp()),
        ("d.tif", stuffed_tiff()),
        ("e.heic", stuffed_heic()),
        ("f.avif", corpus("stuffed.avif")),
        ("g.nef", stuffed_raw()),
    ]
}

/// Whether any of the planted things is in there, in whatever writing.
fn tells(bytes: &[u8]) -> Option<&'static str> {
    let has = |what: &[u8]| bytes.windows(what.len()).any(|w| w == what);
    let wide: Vec<u8> = SECRET.bytes().flat_map(|b| [b, 0]).collect();
    if has(SECRET.as_bytes()) || has(&wide) {
        return Some("a text");
    }
    let (n, d) = SECONDS;
    let little = [n.to_le_bytes(), d.to_le_bytes()].concat();
    if has(&little) || has(&[n.to_be_bytes(), d.to_be_bytes()].concat()) {
        return Some("a position");
    }
    // 47 degrees, 22 minutes, 36.8354 seconds.
    let written = [
        &b"1369235113"[..],
        b"47.376",
        b"47.377",
        b"36.835",
        b"22.6139",
    ];
    if written.iter().any(|w| has(w)) {
        return Some("a written position");
    }
    None
}

/// Kinds of parts that the three formats are made of, as they stand in the file.
fn parts(bytes: &[u8]) -> BTreeSet<String> {
    let mut found = BTreeSet::new();
    let name = |b: &[u8]| String::from_utf8_lossy(b).into_owned();
    if bytes.starts_with(b"\xff\xd8") {
        let mut at = 2;
        while bytes[at + 1] != 0xd9 {
            assert_eq!(bytes[at], 0xff);
            let n = usize::from(u16::from_be_bytes([bytes[at + 2], bytes[at + 3]]));
            found.insert(format!("{:02x}", bytes[at + 1]));
            let scan = bytes[at + 1] == 0xda;
            at += 2 + n;
            while scan && !(bytes[at] == 0xff && bytes[at + 1] != 0) {
                at += 1;
            }
        }
        assert_eq!(at + 2, bytes.len(), "nothing lies behind the end");
    } else if bytes.starts_with(b"RIFF") {
        let mut at = 12;
        while at < bytes.len() {
            found.insert(name(&bytes[at..at + 4]));
            let n = u32::from_le_bytes(bytes[at + 4..at + 8].try_into().unwrap()) as usize;
            at += 8 + n.next_multiple_of(2);
        }
    } else {
        let mut at = 8;
        while at < bytes.len() {
            let n = u32::from_be_bytes(bytes[at..at + 4].try_into().unwrap()) as usize;
            found.insert(name(&bytes[at + 4..at + 8]));
            at += 12 + n;
        }
    }
    found
}

const PROFILES: &str = r#"
[[profile]]
name = "site"
format = "webp"
short_side = 200
short_side_min = 150
[[profile]]
name = "exact"
format = "png"
short_side = 100
short_side_min = 80
"#;

#[test]
fn nothing_private_is_in_any_file_or_word_that_comes_out() {
    let w = Workshop::with("", PROFILES);
    let mut hers: BTreeSet<Vec<u8>> = BTreeSet::new();
    for (name, bytes) in stuffed() {
        assert_eq!(tells(&bytes), Some("a text"), "{name} is stuffed");
        w.put(&format!("Mug/{name}"), &bytes);
        // And a damaged one of each, whose words are told as well.
        let cut = bytes[..bytes.len() * 7 / 10].to_vec();
        w.put(&format!("Cut/{name}"), &cut);
        hers.extend([bytes, cut]);
    }
    let mut words = w.run(&["once"]);
    let mut said = [words.stdout, words.stderr].concat();
    assert_eq!(w.files("ready").len(), 7 * 3, "{:?}", w.files("ready"));
    assert!(w.files("held").len() >= 12, "{:?}", w.files("held"));
    let mut asked: Vec<Vec<String>> =
        [&["status"][..], &["status", "--json"], &["config", "check"]]
            .iter()
            .map(|a| a.iter().map(|s| (*s).to_owned()).collect())
            .collect();
    for file in w.files("originals") {
        let path = w.path("originals").join(&file);
        asked.push(vec!["why".into(), file.clone()]);
        asked.push(vec![
            "preview".into(),
            "--json".into(),
            path.display().to_string(),
        ]);
    }
    for ask in asked {
        words = w.run(&ask.iter().map(String::as_str).collect::<Vec<_>>());
        said.extend([words.stdout, words.stderr].concat());
    }
    assert!(said.len() > 2000);
    assert_eq!(tells(&said), None, "{}", String::from_utf8_lossy(&said));
    // Every file of the workshop but her own: outputs, texts, notes, journal, ledger, proof sheet, log.
    let (mut seen, everything) = (0, w.files(""));
    for file in &everything {
        let bytes = std::fs::read(w.path(file)).unwrap();
        if !hers.contains(&bytes) {
            seen += 1;
            assert_eq!(tells(&bytes), None, "{file}");
        }
    }
    assert!(seen > 21 + 7 + 7, "{seen} files were looked through");
    for kind in [
        "journal/",
        "proof/",
        "ledger",
        "log/",
        "LISTING.txt",
        ".jpg.txt",
    ] {
        assert!(
            everything.iter().any(|f| f.contains(kind)),
            "{kind}: {everything:?}"
        );
    }
    for line in w.journal() {
        let text = line.to_string().to_lowercase();
        for word in ["gps", "latitude", "longitude", "serial"] {
            assert!(!text.contains(word), "{line}");
        }
    }
    for file in w.files("ready") {
        let bytes = std::fs::read(w.path("ready").join(&file)).unwrap();
        let plain: &[&str] = match file.rsplit('.').next().unwrap() {
            "jpg" => &["c2", "c4", "da", "db", "e0", "e2"],
            "webp" => &["ICCP", "VP8 ", "VP8X"],
            _ => &["IDAT", "IEND", "IHDR", "iCCP"],
        };
        let found = parts(&bytes);
        assert!(
            found.iter().all(|p| plain.contains(&p.as_str())),
            "{file}: {found:?}"
        );
        assert!(
            Reader::new()
                .read_from_container(&mut Cursor::new(&bytes))
                .is_err()
        );
    }
}

#[test]
fn her_own_name_and_the_time_are_put_in_only_as_she_asks_and_in_her_letters() {
    let more = format!(
        "{PROFILES}\n[output]\ncredit = \"Zoë Møller\"\ncopyright = \"© 2026 <Zoë> & 娘\"\nkeep_time = true\n"
    );
    let w = Workshop::with("", &more);
    w.put("a.jpg", &stuffed_jpeg(&photo("china", "")));
    w.once();
    let files = w.files("ready");
    assert_eq!(files.len(), 3, "{files:?}");
    for file in files {
        let bytes = std::fs::read(w.path("ready").join(&file)).unwrap();
        assert_eq!(tells(&bytes), None, "{file}");
        let read = Reader::new()
            .read_from_container(&mut Cursor::new(&bytes))
            .unwrap_or_else(|e| panic!("{file}: {e}"));
        let tags: BTreeSet<u16> = read.fields().map(|f| f.tag.number()).collect();
        let allowed = [0x013b, 0x8298, 0x9000, 0x9003, 0xa001];
        assert_eq!(tags, BTreeSet::from(allowed), "{file}");
        let text = |tag: Tag| match &read.get_field(tag, In::PRIMARY).unwrap().value {
            Field::Ascii(t) => String::from_utf8(t[0].clone()).unwrap(),
            other => panic!("{file}: {other:?}"),
        };
        assert_eq!(text(Tag::Artist), "Zoë Møller", "{file}");
        assert_eq!(text(Tag::Copyright), "© 2026 <Zoë> & 娘", "{file}");
        assert_eq!(text(Tag::DateTimeOriginal), "2026:03:01 09:30:00", "{file}");
        // XMP by an XML parser: Dublin Core's creator and rights, and nothing else.
        let find = |word: &[u8]| bytes.windows(word.len()).position(|w| w == word).unwrap();
        let end = b"</x:xmpmeta>";
        let xmp = &bytes[find(b"<x:xmpmeta")..find(end) + end.len()];
        let tree = roxmltree::Document::parse(std::str::from_utf8(xmp).unwrap()).unwrap();
        const DC: &str = "http://purl.org/dc/elements/1.1/";
        let of = |name: &str| {
            let mut all = tree.descendants().filter(|n| n.has_tag_name((DC, name)));
            let first = all.next().unwrap();
            let texts = first.descendants().filter(|n| n.is_text());
            let text: String = texts.filter_map(|n| n.text()).collect();
            (text, all.count())
        };
        assert_eq!(of("creator"), ("Zoë Møller".into(), 0), "{file}");
        assert_eq!(of("rights"), ("© 2026 <Zoë> & 娘".into(), 0), "{file}");
        let dublin = tree
            .descendants()
            .filter(|n| n.tag_name().namespace() == Some(DC));
        assert_eq!(dublin.count(), 2, "{file}");
    }
}

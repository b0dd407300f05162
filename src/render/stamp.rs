//! What an output may say of itself. Owns the allow-list and builds each piece anew from it;
//! refuses to see the source's metadata.

use crate::config::profile::Imprint;
use crate::render::encode::Segment;

/// Name of the XMP segment (XMP specification part 3, 1.1.3).
pub const XMP_NAME: &[u8] = b"http://ns.adobe.com/xap/1.0/\0";
/// Name of the Exif segment (CIPA DC-008).
pub const EXIF_NAME: &[u8] = b"Exif\0\0";

/// Tags of CIPA DC-008 that an output may hold.
pub mod tag {
    pub const ARTIST: u16 = 0x013b;
    pub const COPYRIGHT: u16 = 0x8298;
    pub const EXIF_IFD: u16 = 0x8769;
    pub const VERSION: u16 = 0x9000;
    pub const TAKEN: u16 = 0x9003;
    pub const TAKEN_PART: u16 = 0x9291;
    pub const COLOUR_SPACE: u16 = 0xa001;
    pub const ALLOWED: [u16; 7] = [
        ARTIST,
        COPYRIGHT,
        EXIF_IFD,
        VERSION,
        TAKEN,
        TAKEN_PART,
        COLOUR_SPACE,
    ];
}

/// What is put into an output besides its pixels and the sRGB profile.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Stamp {
    pub credit: String,
    pub copyright: String,
    /// `YYYY-MM-DDTHH:MM:SS[.fff]`, local time of the camera.
    pub taken: Option<String>,
}

impl Stamp {
    /// From the configuration; `captured` is the photo's time, used only when she keeps it.
    pub fn new(imprint: &Imprint, captured: Option<&str>) -> Self {
        let clean = |s: &str| s.replace('\0', " ").trim().to_owned();
        Self {
            credit: clean(&imprint.credit),
            copyright: clean(&imprint.copyright),
            taken: captured
                .filter(|t| imprint.keep_time && is_time(t))
                .map(str::to_owned),
        }
    }

    /// The TIFF structure of an Exif segment, little-endian; `None` when there is nothing to say.
    pub fn exif(&self) -> Option<Vec<u8>> {
        if self.credit.is_empty() && self.copyright.is_empty() && self.taken.is_none() {
            return None;
        }
        let mut main = Vec::new();
        if !self.credit.is_empty() {
            main.push(text(tag::ARTIST, &self.credit));
        }
        if !self.copyright.is_empty() {
            main.push(text(tag::COPYRIGHT, &self.copyright));
        }
        let mut inner = vec![Entry {
            tag: tag::VERSION,
            kind: 7,
            count: 4,
            value: b"0232".to_vec(),
        }];
        if let Some(taken) = &self.taken {
            let (whole, part) = taken.split_once('.').unwrap_or((taken, ""));
            let whole = whole.replace('-', ":").replace('T', " ");
            inner.push(text(tag::TAKEN, &whole));
            if !part.is_empty() {
                inner.push(text(tag::TAKEN_PART, part));
            }
        }
        inner.push(Entry {
            tag: tag::COLOUR_SPACE,
            kind: 3,
            count: 1,
            value: 1u16.to_le_bytes().to_vec(),
        });
        // The pointer's value is known once the length of its own directory is.
        main.push(Entry {
            tag: tag::EXIF_IFD,
            kind: 4,
            count: 1,
            value: vec![0; 4],
        });
        main.sort_by_key(|e| e.tag);
        let inner_at = 8 + length(&main);
        for e in &mut main {
            if e.tag == tag::EXIF_IFD {
                e.value = (inner_at as u32).to_le_bytes().to_vec();
            }
        }
        let mut out = b"II\x2a\0\x08\0\0\0".to_vec();
        directory(&mut out, &main);
        directory(&mut out, &inner);
        Some(out)
    }

    /// An XMP packet with `dc:creator` and `dc:rights`; `None` when neither is set.
    pub fn xmp(&self) -> Option<String> {
        if self.credit.is_empty() && self.copyright.is_empty() {
            return None;
        }
        let mut inside = String::new();
        if !self.credit.is_empty() {
            inside += &format!(
                "<dc:creator><rdf:Seq><rdf:li>{}</rdf:li></rdf:Seq></dc:creator>",
                escaped(&self.credit)
            );
        }
        if !self.copyright.is_empty() {
            inside += &format!(
                "<dc:rights><rdf:Alt><rdf:li xml:lang=\"x-default\">{}</rdf:li></rdf:Alt></dc:rights>",
                escaped(&self.copyright)
            );
        }
        Some(format!(
            "<?xpacket begin=\"\u{feff}\" id=\"W5M0MpCehiHzreSzNTczkc9d\"?>\
             <x:xmpmeta xmlns:x=\"adobe:ns:meta/\">\
             <rdf:RDF xmlns:rdf=\"http://www.w3.org/1999/02/22-rdf-syntax-ns#\">\
             <rdf:Description rdf:about=\"\" xmlns:dc=\"http://purl.org/dc/elements/1.1/\">{inside}\
             </rdf:Description></rdf:RDF></x:xmpmeta><?xpacket end=\"r\"?>"
        ))
    }

    /// The segments of a JPEG, the sRGB profile last.
    pub fn segments(&self) -> Vec<Segment> {
        let mut out = Vec::new();
        let app1 = |name: &[u8], body: &[u8]| Segment {
            app: 1,
            body: [name, body].concat(),
        };
        if let Some(exif) = self.exif() {
            out.push(app1(EXIF_NAME, &exif));
        }
        if let Some(xmp) = self.xmp() {
            out.push(app1(XMP_NAME, xmp.as_bytes()));
        }
        out.push(Segment::srgb());
        out
    }
}

/// `YYYY-MM-DDTHH:MM:SS` with an optional fraction.
fn is_time(t: &str) -> bool {
    let (whole, part) = t.split_once('.').unwrap_or((t, "0"));
    let shape = "0000-00-00T00:00:00";
    whole.len() == shape.len()
        && whole.bytes().zip(shape.bytes()).all(|(c, s)| {
            if s == b'0' {
                c.is_ascii_digit()
            } else {
                c == s
            }
        })
        && (1..=9).contains(&part.len())
        && part.bytes().all(|c| c.is_ascii_digit())
}

/// One entry of a TIFF directory (TIFF 6.0, section 2).
struct Entry {
    tag: u16,
    kind: u16,
    count: u32,
    value: Vec<u8>,
}

/// ASCII by the standard; readers take UTF-8 in it, as the later standard's own text type.
fn text(tag: u16, s: &str) -> Entry {
    let mut value = s.as_bytes().to_vec();
    value.push(0);
    Entry {
        tag,
        kind: 2,
        count: value.len() as u32,
        value,
    }
}

/// Bytes of a directory and the values that lie outside it.
fn length(entries: &[Entry]) -> usize {
    let outside = |e: &Entry| {
        if e.value.len() > 4 {
            e.value.len().next_multiple_of(2)
        } else {
            0
        }
    };
    2 + 12 * entries.len() + 4 + entries.iter().map(outside).sum::<usize>()
}

fn directory(out: &mut Vec<u8>, entries: &[Entry]) {
    let mut outside = out.len() + 2 + 12 * entries.len() + 4;
    let mut values = Vec::new();
    out.extend((entries.len() as u16).to_le_bytes());
    for e in entries {
        out.extend(e.tag.to_le_bytes());
        out.extend(e.kind.to_le_bytes());
        out.extend(e.count.to_le_bytes());
        if e.value.len() > 4 {
            out.extend((outside as u32).to_le_bytes());
            values.extend_from_slice(&e.value);
            values.resize(values.len().next_multiple_of(2), 0);
            outside += e.value.len().next_multiple_of(2);
        } else {
            let mut value = e.value.clone();
            value.resize(4, 0);
            out.extend(value);
        }
    }
    out.extend([0; 4]);
    out.extend(values);
}

/// Text inside an XML element; characters that XML 1.0 cannot hold become spaces.
fn escaped(s: &str) -> String {
    let mut out = String::new();
    for c in s.chars() {
        match c {
            '&' => out += "&amp;",
            '<' => out += "&lt;",
            '>' => out += "&gt;",
            '\t' | '\n' | '\r' => out.push(' '),
            c if c < ' ' || matches!(c, '\u{fffe}' | '\u{ffff}') => out.push(' '),
            c => out.push(c),
        }
    }
    out
}

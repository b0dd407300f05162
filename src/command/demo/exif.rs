//! The few EXIF entries that a camera would write (CIPA DC-008, TIFF 6.0), made up. Owns the bytes
//! of one APP1 segment; refuses to read any.

/// What the made-up camera writes.
pub struct Shot {
    /// 1 to 8.
    pub orientation: u16,
    /// `YYYY:MM:DD HH:MM:SS`, local.
    pub taken: &'static str,
    /// Hundredths of a second.
    pub subsec: u8,
    /// Degrees, minutes and seconds north and west.
    pub north: [u32; 3],
    pub west: [u32; 3],
    /// Made-up serial number of the camera.
    pub serial: &'static str,
}

const ASCII: u16 = 2;
const SHORT: u16 = 3;
const LONG: u16 = 4;
const RATIONAL: u16 = 5;
const BYTE: u16 = 1;

struct Entry {
    tag: u16,
    kind: u16,
    count: u32,
    data: Vec<u8>,
}

fn text(tag: u16, text: &str) -> Entry {
    let mut data = text.as_bytes().to_vec();
    data.push(0);
    Entry {
        tag,
        kind: ASCII,
        count: data.len() as u32,
        data,
    }
}
fn short(tag: u16, n: u16) -> Entry {
    Entry {
        tag,
        kind: SHORT,
        count: 1,
        data: n.to_be_bytes().to_vec(),
    }
}
fn long(tag: u16, n: u32) -> Entry {
    Entry {
        tag,
        kind: LONG,
        count: 1,
        data: n.to_be_bytes().to_vec(),
    }
}
fn degrees(tag: u16, parts: [u32; 3]) -> Entry {
    let data = parts
        .iter()
        .flat_map(|n| [n.to_be_bytes(), 1u32.to_be_bytes()].concat())
        .collect();
    Entry {
        tag,
        kind: RATIONAL,
        count: 3,
        data,
    }
}

/// Bytes of a directory that starts at `at`, its longer values right behind it.
fn directory(entries: &[Entry], at: u32) -> Vec<u8> {
    let head = 2 + 12 * entries.len() as u32 + 4;
    let mut out = (entries.len() as u16).to_be_bytes().to_vec();
    let mut behind: Vec<u8> = Vec::new();
    for e in entries {
        out.extend_from_slice(&e.tag.to_be_bytes());
        out.extend_from_slice(&e.kind.to_be_bytes());
        out.extend_from_slice(&e.count.to_be_bytes());
        if e.data.len() <= 4 {
            let mut inline = e.data.clone();
            inline.resize(4, 0);
            out.extend_from_slice(&inline);
        } else {
            out.extend_from_slice(&(at + head + behind.len() as u32).to_be_bytes());
            behind.extend_from_slice(&e.data);
            if behind.len() % 2 == 1 {
                behind.push(0);
            }
        }
    }
    out.extend_from_slice(&0u32.to_be_bytes());
    out.extend_from_slice(&behind);
    out
}

/// The payload of an APP1 segment: the identifier and a big-endian TIFF of three directories.
pub fn app1(shot: &Shot) -> Vec<u8> {
    let exif = [
        text(0x9003, shot.taken),
        text(0x9291, &format!("{:02}", shot.subsec)),
        short(0xa001, 1),
        text(0xa431, shot.serial),
    ];
    let gps = [
        Entry {
            tag: 0,
            kind: BYTE,
            count: 4,
            data: vec![2, 3, 0, 0],
        },
        text(1, "N"),
        degrees(2, shot.north),
        text(3, "W"),
        degrees(4, shot.west),
    ];
    let main = |exif_at, gps_at| {
        [
            short(0x0112, shot.orientation),
            text(0x0132, shot.taken),
            long(0x8769, exif_at),
            long(0x8825, gps_at),
        ]
    };
    let first = 8;
    let exif_at = first + directory(&main(0, 0), first).len() as u32;
    let exif = directory(&exif, exif_at);
    let gps_at = exif_at + exif.len() as u32;
    let mut out = b"Exif\0\0MM\0\x2a\0\0\0\x08".to_vec();
    out.extend_from_slice(&directory(&main(exif_at, gps_at), first));
    out.extend_from_slice(&exif);
    out.extend_from_slice(&directory(&gps, gps_at));
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    // Read back by kamadak-exif, a reader that no one here wrote.
    #[test]
    fn an_independent_reader_finds_every_entry_as_it_was_written() {
        let bytes = app1(&Shot {
            orientation: 6,
            taken: "2026:03:14 10:20:30",
            subsec: 7,
            north: [12, 34, 56],
            west: [141, 2, 3],
            serial: "KILN-0007",
        });
        let read = exif::Reader::new().read_raw(bytes[6..].to_vec()).unwrap();
        let show = |tag| {
            let field = read.get_field(tag, exif::In::PRIMARY).unwrap();
            field.display_value().to_string()
        };
        let number = |tag| {
            let field = read.get_field(tag, exif::In::PRIMARY).unwrap();
            field.value.get_uint(0).unwrap()
        };
        assert_eq!(number(exif::Tag::Orientation), 6);
        assert_eq!(number(exif::Tag::ColorSpace), 1);
        assert_eq!(show(exif::Tag::DateTimeOriginal), "2026-03-14 10:20:30");
        assert_eq!(show(exif::Tag::SubSecTimeOriginal), "\"07\"");
        assert_eq!(show(exif::Tag::GPSLatitude), "12 deg 34 min 56 sec");
        assert_eq!(show(exif::Tag::GPSLongitude), "141 deg 2 min 3 sec");
        assert_eq!(show(exif::Tag::BodySerialNumber), "\"KILN-0007\"");
    }
}

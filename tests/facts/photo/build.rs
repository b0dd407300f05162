//! Makes files for tests: JPEG by an encoder, TIFF structures and JPEG segments byte by byte.

/// How a JPEG is coded.
#[derive(Clone, Copy)]
pub struct Way {
    pub progressive: bool,
    /// Pixels that one colour sample stands for, across and down, 1 to 4.
    pub chroma: (u8, u8),
}

pub const PLAIN: Way = Way {
    progressive: false,
    chroma: (2, 2),
};

pub fn jpeg(w: u32, h: u32, rgb: &[u8], way: Way) -> Vec<u8> {
    let mut c = mozjpeg::Compress::new(mozjpeg::ColorSpace::JCS_RGB);
    c.set_size(w as usize, h as usize);
    // The encoder's own default is progressive.
    c.set_fastest_defaults();
    c.set_quality(90.0);
    c.set_chroma_sampling_pixel_sizes(way.chroma, way.chroma);
    if way.progressive {
        c.set_progressive_mode();
    }
    let mut c = c.start_compress(Vec::new()).unwrap();
    c.write_scanlines(rgb).unwrap();
    c.finish().unwrap()
}

/// A segment with its length.
pub fn segment(marker: u8, body: &[u8]) -> Vec<u8> {
    let mut out = vec![0xff, marker];
    out.extend((body.len() as u16 + 2).to_be_bytes());
    out.extend(body);
    out
}

/// `segments` right after the first two bytes.
pub fn with_segments(jpeg: &[u8], segments: &[Vec<u8>]) -> Vec<u8> {
    let mut out = jpeg[..2].to_vec();
    out.extend(segments.concat());
    out.extend(&jpeg[2..]);
    out
}

pub fn with_exif(jpeg: &[u8], tiff: &[u8]) -> Vec<u8> {
    with_segments(jpeg, &[segment(0xe1, &[b"Exif\0\0", tiff].concat())])
}

pub fn with_icc(jpeg: &[u8], icc: &[u8]) -> Vec<u8> {
    let pieces: Vec<&[u8]> = icc.chunks(65_000).collect();
    let segments: Vec<_> = pieces
        .iter()
        .enumerate()
        .map(|(i, p)| {
            let head = [
                b"ICC_PROFILE\0".as_slice(),
                &[i as u8 + 1, pieces.len() as u8],
            ]
            .concat();
            segment(0xe2, &[&head, *p].concat())
        })
        .collect();
    with_segments(jpeg, &segments)
}

/// A value of a directory entry.
#[derive(Clone)]
pub enum Value {
    Short(Vec<u16>),
    Long(Vec<u32>),
    Text(&'static str),
    /// Fractions.
    Ratio(Vec<(u32, u32)>),
    Bytes(Vec<u8>),
    /// A directory placed after this one; the entry holds its place.
    Below(Vec<(u16, Value)>),
    /// Several such.
    Several(Vec<Vec<(u16, Value)>>),
    /// Bytes placed after the directory; the entry holds their place.
    Blob(Vec<u8>),
}

/// A little-endian TIFF structure of one chain of directories, whose first is `first`.
pub fn tiff(first: &[(u16, Value)]) -> Vec<u8> {
    let mut out = b"II*\0\x08\0\0\0".to_vec();
    directory(&mut out, first);
    out
}

fn directory(out: &mut Vec<u8>, entries: &[(u16, Value)]) {
    let mut sorted = entries.to_vec();
    sorted.sort_by_key(|e| e.0);
    let start = out.len();
    out.extend((sorted.len() as u16).to_le_bytes());
    out.resize(start + 2 + sorted.len() * 12 + 4, 0);
    for (i, (tag, value)) in sorted.iter().enumerate() {
        let (kind, count, bytes) = match value {
            Value::Short(v) => (
                3u16,
                v.len(),
                v.iter().flat_map(|v| v.to_le_bytes()).collect(),
            ),
            Value::Long(v) => (4, v.len(), v.iter().flat_map(|v| v.to_le_bytes()).collect()),
            Value::Ratio(v) => {
                let both = |(n, d): &(u32, u32)| [n.to_le_bytes(), d.to_le_bytes()].concat();
                (5, v.len(), v.iter().flat_map(both).collect())
            }
            Value::Text(t) => (2, t.len() + 1, [t.as_bytes(), &[0]].concat()),
            Value::Bytes(b) => (7, b.len(), b.clone()),
            Value::Blob(b) => {
                let at = out.len() as u32;
                out.extend(b);
                (4, 1, at.to_le_bytes().to_vec())
            }
            Value::Below(d) => {
                let at = out.len() as u32;
                directory(out, d);
                (4, 1, at.to_le_bytes().to_vec())
            }
            Value::Several(list) => {
                let mut places = Vec::new();
                for d in list {
                    places.extend((out.len() as u32).to_le_bytes());
                    directory(out, d);
                }
                (4, list.len(), places)
            }
        };
        let mut field = [0; 4];
        if bytes.len() <= 4 {
            field[..bytes.len()].copy_from_slice(&bytes);
        } else {
            field = (out.len() as u32).to_le_bytes();
            out.extend(&bytes);
        }
        let e = start + 2 + i * 12;
        out[e..e + 2].copy_from_slice(&tag.to_le_bytes());
        out[e + 2..e + 4].copy_from_slice(&kind.to_le_bytes());
        out[e + 4..e + 8].copy_from_slice(&(count as u32).to_le_bytes());
        out[e + 8..e + 12].copy_from_slice(&field);
    }
}

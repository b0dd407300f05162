//! The marker segments of a JPEG file (ITU-T T.81, annex B). Owns their order and bounds;
//! refuses to know coefficients and pixels.

use std::ops::Range;

use crate::base::geometry::Size;

/// What the segments before the first scan say.
#[derive(Debug, Default)]
pub struct Parts<'a> {
    /// Stored size, width x height in px.
    pub size: Option<Size>,
    /// Second byte of the frame header's marker, e.g. 0xc0 for baseline.
    pub frame: u8,
    /// Bits of a sample.
    pub precision: u8,
    /// Identifier, horizontal and vertical sampling of each component.
    pub components: Vec<[u8; 3]>,
    /// Components in the first scan.
    pub first_scan: u8,
    /// Colour transform of the APP14 segment: 0 none, 1 YCbCr, 2 YCCK.
    pub app14: Option<u8>,
    pub jfif: bool,
    /// TIFF structure of the first Exif segment.
    pub exif: Option<&'a [u8]>,
    /// Number, count and bytes of each piece of the ICC profile.
    icc: Vec<(u8, u8, &'a [u8])>,
    /// Where the first scan's marker lies.
    pub first_scan_at: usize,
}

/// One piece of the file between `at` and `end`.
struct Segment {
    marker: u8,
    at: usize,
    /// First byte of the content.
    body: usize,
    end: usize,
}

/// Most scans of one picture.
const MOST_SCANS: usize = 100;

const SOI: u8 = 0xd8;
const EOI: u8 = 0xd9;
const SOS: u8 = 0xda;
const DQT: u8 = 0xdb;
const DHT: u8 = 0xc4;
const DRI: u8 = 0xdd;

/// The next segment at or after `from`; stray bytes before it are passed over. `None` at the end
/// of the file, also when the segment does not lie wholly inside it.
fn next(bytes: &[u8], from: usize) -> Option<Segment> {
    let mut at = from;
    loop {
        at += bytes.get(at..)?.iter().position(|b| *b == 0xff)?;
        let fill = bytes[at..].iter().take_while(|b| **b == 0xff).count();
        at += fill - 1;
        let marker = *bytes.get(at + 1)?;
        let alone = |end| Segment {
            marker,
            at,
            body: end,
            end,
        };
        match marker {
            0x00 | 0x01 | 0xd0..=0xd7 => at += 2,
            SOI | EOI => return Some(alone(at + 2)),
            _ => {
                let length = bytes.get(at + 2..at + 4)?;
                let length = usize::from(u16::from_be_bytes([length[0], length[1]]));
                if length < 2 {
                    at += 2;
                    continue;
                }
                let end = at + 2 + length;
                return (end <= bytes.len()).then_some(Segment {
                    marker,
                    at,
                    body: at + 4,
                    end,
                });
            }
        }
    }
}

fn is_frame(marker: u8) -> bool {
    matches!(marker, 0xc0..=0xcf) && !matches!(marker, DHT | 0xc8 | 0xcc)
}

impl<'a> Parts<'a> {
    /// Walks up to the first scan. `None` when there is none or the frame header is cut.
    pub fn read(bytes: &'a [u8]) -> Option<Self> {
        let mut parts = Self::default();
        let mut at = 2;
        loop {
            let s = next(bytes, at)?;
            let body = &bytes[s.body..s.end];
            match s.marker {
                SOS => {
                    parts.first_scan = *body.first()?;
                    parts.first_scan_at = s.at;
                    return parts.size.is_some().then_some(parts);
                }
                SOI | EOI => return None,
                m if is_frame(m) && parts.size.is_none() => parts.frame_header(m, body)?,
                0xe0 if body.starts_with(b"JFIF\0") => parts.jfif = true,
                0xe1 if parts.exif.is_none() => {
                    parts.exif = body.strip_prefix(b"Exif\0").and_then(|b| b.get(1..));
                }
                0xe2 => {
                    if let Some([n, of, piece @ ..]) = body.strip_prefix(b"ICC_PROFILE\0") {
                        parts.icc.push((*n, *of, piece));
                    }
                }
                0xee if body.starts_with(b"Adobe") => parts.app14 = body.get(11).copied(),
                _ => {}
            }
            at = s.end;
        }
    }
    fn frame_header(&mut self, marker: u8, body: &[u8]) -> Option<()> {
        let [precision, y1, y0, x1, x0, n, rest @ ..] = body else {
            return None;
        };
        self.frame = marker;
        self.precision = *precision;
        self.size = Some(Size::new(
            u32::from(u16::from_be_bytes([*x1, *x0])),
            u32::from(u16::from_be_bytes([*y1, *y0])),
        ));
        let components = rest.get(..usize::from(*n) * 3)?.chunks_exact(3);
        self.components = components.map(|c| [c[0], c[1] >> 4, c[1] & 15]).collect();
        Some(())
    }
    pub fn progressive(&self) -> bool {
        matches!(self.frame, 0xc2 | 0xc6 | 0xca | 0xce)
    }
    pub fn arithmetic(&self) -> bool {
        self.frame >= 0xc9
    }
    /// The ICC profile put together; an error when pieces are missing, doubled or over `limit` bytes.
    pub fn icc(&self, limit: usize) -> Result<Option<Vec<u8>>, ()> {
        if self.icc.is_empty() {
            return Ok(None);
        }
        let mut pieces = self.icc.clone();
        pieces.sort_by_key(|p| p.0);
        let whole = pieces
            .iter()
            .enumerate()
            .all(|(i, p)| usize::from(p.0) == i + 1 && usize::from(p.1) == pieces.len());
        let length: usize = pieces.iter().map(|p| p.2.len()).sum();
        if !whole || length > limit {
            return Err(());
        }
        Ok(Some(pieces.iter().flat_map(|p| p.2).copied().collect()))
    }
}

/// What the walk through the scans needs of the frame header.
#[derive(Debug)]
pub struct Header {
    pub size: Size,
    /// Identifier, horizontal and vertical sampling of each component.
    pub components: Vec<[u8; 3]>,
    /// Largest horizontal and vertical sampling.
    pub sampling: (usize, usize),
    pub progressive: bool,
}

/// One scan, with the places of what belongs to it in the bare file.
#[derive(Debug)]
pub struct Scan {
    /// Huffman table segments since the last scan.
    pub tables: Vec<Range<usize>>,
    /// MCUs between restart markers; 0 for none.
    pub restart: usize,
    /// Index of each component and its table selectors.
    pub parts: Vec<(usize, u8)>,
    /// First and last coefficient.
    pub spectral: (usize, usize),
    /// Bit plane before and after.
    pub planes: (u8, u8),
    /// First byte of the entropy-coded data.
    pub data: usize,
}

/// The primary picture alone, without application segments, comments and what follows its end.
#[derive(Debug)]
pub struct Bare {
    /// A JPEG file of tables, frame and scans; always ends with an end marker.
    pub bytes: Vec<u8>,
    pub header: Header,
    pub scans: Vec<Scan>,
    /// The end marker was there.
    pub ended: bool,
    /// Zero bytes at the end of the last scan: a file that was never filled ends in them.
    pub zeros: usize,
}

/// Copies what decoding the primary picture needs. Components are renamed 1, 2, 3, ..., so that no
/// decoder guesses colours from their names. `None` when a header is cut or names no component.
pub fn bare(bytes: &[u8], parts: &Parts<'_>) -> Option<Bare> {
    let top = |i: usize| parts.components.iter().map(|c| usize::from(c[i])).max();
    let valid = |s: u8| (1..=4).contains(&s);
    if !parts.components.iter().all(|c| valid(c[1]) && valid(c[2])) {
        return None;
    }
    let mut bare = Bare {
        bytes: Vec::with_capacity(bytes.len() + 4),
        header: Header {
            size: parts.size?,
            components: parts.components.clone(),
            sampling: (top(1)?, top(2)?),
            progressive: parts.progressive(),
        },
        scans: Vec::new(),
        ended: false,
        zeros: 0,
    };
    let out = &mut bare.bytes;
    out.extend([0xff, SOI]);
    let (mut at, mut framed, mut restart, mut tables) = (2, false, 0, Vec::new());
    while let Some(s) = next(bytes, at) {
        at = s.end;
        let body = &bytes[s.body..s.end];
        let here = out.len() + (s.body - s.at);
        match s.marker {
            EOI => {
                bare.ended = true;
                break;
            }
            DQT | DHT | DRI => {
                out.extend(&bytes[s.at..s.end]);
                match (s.marker, body) {
                    (DHT, _) => tables.push(here..here + body.len()),
                    (DRI, [a, b]) => restart = usize::from(u16::from_be_bytes([*a, *b])),
                    _ => {}
                }
            }
            m if is_frame(m) && framed => {}
            m if is_frame(m) => {
                out.extend(&bytes[s.at..s.end]);
                for i in 0..parts.components.len() {
                    *out.get_mut(here + 6 + i * 3)? = i as u8 + 1;
                }
                framed = true;
            }
            SOS if bare.scans.len() < MOST_SCANS => {
                at = entropy_end(bytes, s.end);
                out.extend(&bytes[s.at..at]);
                let (n, list) = body.split_first()?;
                let n = usize::from(*n);
                let tail = list.get(n * 2..n * 2 + 3)?;
                let mut chosen = Vec::new();
                for (i, pair) in list[..n * 2].chunks_exact(2).enumerate() {
                    let c = parts.components.iter().position(|c| c[0] == pair[0])?;
                    out[here + 1 + i * 2] = c as u8 + 1;
                    chosen.push((c, pair[1]));
                }
                bare.scans.push(Scan {
                    tables: std::mem::take(&mut tables),
                    restart,
                    parts: chosen,
                    spectral: (usize::from(tail[0]), usize::from(tail[1])),
                    planes: (tail[2] >> 4, tail[2] & 15),
                    data: here + body.len(),
                });
                bare.zeros = out.iter().rev().take_while(|b| **b == 0).count();
            }
            SOS => return None,
            _ => {}
        }
    }
    out.extend([0xff, EOI]);
    Some(bare)
}

/// Where the entropy-coded data that begin at `from` end: the next marker that is no restart.
fn entropy_end(bytes: &[u8], from: usize) -> usize {
    let mut at = from;
    while let Some(step) = bytes[at..].iter().position(|b| *b == 0xff) {
        at += step;
        match bytes.get(at + 1) {
            None => break,
            Some(0x00 | 0xd0..=0xd7) => at += 2,
            Some(0xff) => at += 1,
            Some(_) => return at,
        }
    }
    bytes.len()
}

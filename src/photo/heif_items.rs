//! How many pictures and notes about them a HEIF container lists (ISO/IEC 14496-12, 8.11), counted
//! before it is parsed: the parser compares every one with every other. Refuses to know what they are.

use heifer::heifer_isobmff::{BoxIter, RawBox};

/// Most items of a file: a picture of 300 megapixels in tiles of 512 x 512 has 1,200.
const MOST: u64 = 4096;

/// Whether a list of the container is longer than any picture needs.
pub fn crowded(bytes: &[u8]) -> bool {
    let (mut items, mut notes, mut places) = (0, 0, 0);
    for meta in inside(bytes).filter(|b| b.header.box_type.0 == *b"meta") {
        for b in inside(meta.content.get(4..).unwrap_or_default()) {
            let version = b.content.first().copied().unwrap_or(0);
            match &b.header.box_type.0 {
                b"iinf" => {
                    let skip = if version == 0 { 6 } else { 8 };
                    let list = inside(b.content.get(skip..).unwrap_or_default());
                    items += list.take(MOST as usize + 1).count() as u64;
                }
                b"iprp" => {
                    let lists = inside(b.content).filter(|b| b.header.box_type.0 == *b"ipma");
                    notes += lists.map(|l| number(l.content, 4, 4)).sum::<u64>();
                }
                b"iloc" => places += number(b.content, 6, if version < 2 { 2 } else { 4 }),
                _ => {}
            }
        }
    }
    items.max(notes).max(places) > MOST
}

/// The boxes that lie one behind the other, up to the first that is broken.
fn inside(bytes: &[u8]) -> impl Iterator<Item = RawBox<'_>> {
    BoxIter::new(bytes).map_while(Result::ok)
}

/// A number of `length` bytes, the first the greatest.
fn number(content: &[u8], from: usize, length: usize) -> u64 {
    let digits = content.get(from..from + length).unwrap_or_default();
    digits.iter().fold(0, |n, d| n << 8 | u64::from(*d))
}

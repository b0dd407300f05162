//! Turning and mirroring whole pictures. Owns the eight EXIF orientations (CIPA DC-008, tag 0x0112);
//! refuses to know where an orientation came from.

use super::raster::Raster;
use crate::base::geometry::Size;

/// Side of the square tiles in which transposing walks, px: both sides of a tile stay in cache.
const TILE: usize = 32;

/// The size an upright picture has, width x height in px.
pub fn upright_size(stored: Size, orientation: u8) -> Size {
    if orientation >= 5 {
        stored.turned()
    } else {
        stored
    }
}

/// Undoes an EXIF orientation 1 to 8 (anything else is taken as 1).
///
/// The value names where the stored first row and first column lie in the upright picture:
/// 1 top left, 2 top right, 3 bottom right, 4 bottom left, 5 left top, 6 right top,
/// 7 right bottom, 8 left bottom.
pub fn upright(mut stored: Raster, orientation: u8) -> Raster {
    match orientation {
        2 => mirror_rows(&mut stored),
        3 => reverse(&mut stored),
        4 => {
            reverse(&mut stored);
            mirror_rows(&mut stored);
        }
        5 => return transposed(&stored, |_, y| y, |x, _| x),
        6 => return transposed(&stored, |h, y| h - 1 - y, |x, _| x),
        7 => return transposed(&stored, |h, y| h - 1 - y, |x, w| w - 1 - x),
        8 => return transposed(&stored, |_, y| y, |x, w| w - 1 - x),
        _ => {}
    }
    stored
}

fn mirror_rows(r: &mut Raster) {
    let w = r.size().w as usize;
    for row in r.pixels_mut().chunks_exact_mut(w * 3) {
        reverse_pixels(row);
    }
}

fn reverse(r: &mut Raster) {
    reverse_pixels(r.pixels_mut());
}

fn reverse_pixels(p: &mut [u8]) {
    let (pixels, _) = p.as_chunks_mut::<3>();
    pixels.reverse();
}

/// Stored column x, row y goes to upright column `column(h, y)`, row `row(x, w)`.
fn transposed(
    stored: &Raster,
    column: impl Fn(usize, usize) -> usize,
    row: impl Fn(usize, usize) -> usize,
) -> Raster {
    let size = stored.size();
    let (w, h) = (size.w as usize, size.h as usize);
    let (from, _) = stored.pixels().as_chunks::<3>();
    let mut out = vec![0u8; from.len() * 3];
    let (to, _) = out.as_chunks_mut::<3>();
    for ty in (0..h).step_by(TILE) {
        for tx in (0..w).step_by(TILE) {
            for x in tx..(tx + TILE).min(w) {
                let line = row(x, w) * h;
                for y in ty..(ty + TILE).min(h) {
                    to[line + column(h, y)] = from[y * w + x];
                }
            }
        }
    }
    Raster::new(size.turned(), out)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A 2 x 3 picture with six different pixels: a b / c d / e f.
    fn letters() -> Raster {
        Raster::new(
            Size::new(2, 3),
            b"abcdef".iter().flat_map(|b| [*b, 0, 255 - b]).collect(),
        )
    }
    fn rows(r: &Raster) -> Vec<String> {
        (0..r.size().h)
            .map(|y| (0..r.size().w).map(|x| r.at(x, y)[0] as char).collect())
            .collect()
    }

    #[test]
    fn each_exif_orientation_puts_row_and_column_where_the_standard_says() {
        // CIPA DC-008 (EXIF), Orientation: the visual place of the 0th row and the 0th column.
        let expected: [&[&str]; 8] = [
            &["ab", "cd", "ef"], // 1: row 0 top, column 0 left
            &["ba", "dc", "fe"], // 2: row 0 top, column 0 right
            &["fe", "dc", "ba"], // 3: row 0 bottom, column 0 right
            &["ef", "cd", "ab"], // 4: row 0 bottom, column 0 left
            &["ace", "bdf"],     // 5: row 0 left, column 0 top
            &["eca", "fdb"],     // 6: row 0 right, column 0 top
            &["fdb", "eca"],     // 7: row 0 right, column 0 bottom
            &["bdf", "ace"],     // 8: row 0 left, column 0 bottom
        ];
        for (i, rows_expected) in expected.iter().enumerate() {
            let o = i as u8 + 1;
            let up = upright(letters(), o);
            assert_eq!(rows(&up), *rows_expected, "orientation {o}");
            assert_eq!(up.size(), upright_size(Size::new(2, 3), o));
        }
    }

    #[test]
    fn four_quarter_turns_of_a_large_odd_picture_give_it_back() {
        let size = Size::new(101, 67);
        let p: Vec<u8> = (0..size.area() * 3).map(|i| (i * 31 % 251) as u8).collect();
        let start = Raster::new(size, p);
        let mut r = start.clone();
        for _ in 0..4 {
            r = upright(r, 6);
        }
        assert_eq!(r, start);
        assert_eq!(upright(upright(start.clone(), 6), 8), start);
        assert_eq!(upright(upright(start.clone(), 7), 7), start);
    }
}

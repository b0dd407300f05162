//! A sample of a picture by which the whole is judged. Owns how it is cut; refuses to know what is
//! judged by it.

use std::ops::Range;

use crate::base::geometry::{Rect, Size};
use crate::photo::raster::Raster;

/// Rows of one band: the height of a block of 4:2:0, so that bands encode as they would in place.
const WEIGHT_ROWS: u32 = 16;
pub const WEIGHT_BANDS: u32 = 16;
/// Bands for comparing scores, which look at neighbours through a pyramid, are higher; every second
/// one is taken from the left half, the others from the right.
const SCORE_ROWS: u32 = 64;
const SCORE_BANDS: u32 = 8;

/// Bands for predicting bytes, one above the other, 256 rows; `None` for a picture so small that
/// they would be half of it.
pub fn for_weight(picture: &Raster) -> Option<Raster> {
    let size = picture.size();
    (size.h >= 2 * WEIGHT_ROWS * WEIGHT_BANDS)
        .then(|| stacked(picture, size.w, WEIGHT_BANDS, WEIGHT_ROWS, |_| 0))
}

/// Where `n` bands for predicting bytes lie in a picture of `size`: first row and the row after the
/// last of each. `None` for a picture so small that `for_weight` takes none.
pub fn rows_of_weight(size: Size, n: u32) -> Option<Vec<Range<u32>>> {
    (size.h >= 2 * WEIGHT_ROWS * WEIGHT_BANDS).then(|| {
        let first = |i| top(size.h, i, n, WEIGHT_ROWS);
        (0..n).map(|i| first(i)..first(i) + WEIGHT_ROWS).collect()
    })
}

/// Every second band of those for predicting bytes.
pub fn half_of_weight(bands: &Raster) -> Raster {
    let w = bands.size().w;
    let half = (0..WEIGHT_BANDS / 2).flat_map(|i| {
        let y = (2 * i + 1) * WEIGHT_ROWS;
        bands.part(Rect::new(0, y, w, WEIGHT_ROWS)).into_pixels()
    });
    Raster::new(Size::new(w, WEIGHT_BANDS / 2 * WEIGHT_ROWS), half.collect())
}

/// The bands alone of a drawing that has a row more above and below each of them, where there is one.
pub fn without_margin(drawn: &Raster, bands: &[Range<u32>], with: &[Range<u32>]) -> Raster {
    let w = drawn.size().w;
    let (mut pixels, mut h, mut top) = (Vec::new(), 0, 0);
    for (band, with) in bands.iter().zip(with) {
        let part = Rect::new(0, top + band.start - with.start, w, band.end - band.start);
        pixels.extend_from_slice(drawn.part(part).pixels());
        h += part.h;
        top += with.end - with.start;
    }
    Raster::new(Size::new(w, h), pixels)
}

/// Bands for comparing scores, half as wide as the picture, 512 rows; `None` for a picture so
/// small that they would be half of it.
pub fn for_score(picture: &Raster) -> Option<Raster> {
    let size = picture.size();
    let half = size.w / 2;
    (size.h >= SCORE_ROWS * SCORE_BANDS && half >= 64).then(|| {
        stacked(picture, half, SCORE_BANDS, SCORE_ROWS, |i| {
            (i % 2) * (size.w - half)
        })
    })
}

/// Four of the bands for comparing scores, two of either side.
pub fn half_of_score(bands: &Raster) -> Raster {
    let w = bands.size().w;
    let half = [0, 1, 4, 5].map(|i| {
        let band = Rect::new(0, i * SCORE_ROWS, w, SCORE_ROWS);
        bands.part(band).into_pixels()
    });
    Raster::new(Size::new(w, 4 * SCORE_ROWS), half.concat())
}

/// First row of the band `i` of `n`: a multiple of 16.
fn top(h: u32, i: u32, n: u32, rows: u32) -> u32 {
    (h - rows) * (2 * i + 1) / (2 * n) / 16 * 16
}

/// `bands` bands of `w` x `rows` px, evenly spread, starting at rows that are a multiple of 16.
fn stacked(picture: &Raster, w: u32, bands: u32, rows: u32, left: impl Fn(u32) -> u32) -> Raster {
    let size = picture.size();
    let mut pixels = Vec::with_capacity((w * bands * rows) as usize * 3);
    for i in 0..bands {
        let y = top(size.h, i, bands, rows);
        let part = picture.part(Rect::new(left(i), y, w, rows));
        pixels.extend_from_slice(part.pixels());
    }
    Raster::new(Size::new(w, bands * rows), pixels)
}

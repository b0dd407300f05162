//! Predicts the bytes of a file from a sample of its picture. Owns the predictions;
//! refuses to know limits.
//!
//! Bytes: the sample's share of a quick encode is also its share of a good one, headers and tables
//! left out of both, to a quarter of a percent (bench: 0.25 of 25 files, most 0.6), so a good encode of
//! the sample stands for one of the whole. The logarithm of the bytes is nearly linear in that of the
//! tables' scale, and quick encodes foretell what is left, so that two or three good ones are enough.

use std::ops::RangeInclusive;

use crate::photo::raster::Raster;
use crate::render::bands;
use crate::render::encode::{self, Chroma};
use crate::render::tables::{self, Table};

/// The logarithm of bytes falls by about this much for each unit of the logarithm of the tables'
/// scale near quality 70, and by as much more towards 92 (the bench's photos: 0.68 to 0.79, and
/// 0.84 to 0.89).
const SLOPE: f64 = 0.7;
const STEEPER: f64 = 0.2;
/// A quality whose predicted bytes are under the aim by at most this (as a logarithm), or over it by
/// `OVER`, is good enough.
const CLOSE: f64 = 0.005;
const OVER: f64 = 0.0015;
/// Quick encodes are asked for so much less than the aim, the middle of what is good enough, give or
/// take so much.
const MIDDLE: f64 = 0.002;
const WITHIN: f64 = 0.002;
/// After two trials this is over it, and after three and more these under it: a further trial costs
/// more than it gains.
const THEN_OVER: f64 = 0.003;
const THEN_CLOSE: [f64; 3] = [0.008, 0.012, 0.02];
/// The same near the floor, where pixels were given up to land there.
const NEAR_FLOOR: [f64; 3] = [0.006, 0.010, 0.02];
/// Between two qualities this near lies a jump and nothing else.
const NEXT: f64 = 0.03;
/// How often a trim is tried, and how far under what is wished for, or over it, is good enough.
const TRIMS: u32 = 6;
const TRIM_UNDER: f64 = 0.002;
const TRIM_OVER: f64 = 0.0005;

/// Trial encodes of one picture.
pub struct Trial<'a> {
    picture: &'a Raster,
    bands: Option<Raster>,
    /// Half of them, enough for telling how bytes go from one quality to the next.
    half: Option<Raster>,
    chroma: Chroma,
    /// Whole bytes for each byte of the sample, once it is known better than by their areas.
    share: Option<f64>,
    /// Bytes of the segments, the same at every quality.
    extra: f64,
    /// Qualities tried so far and the sample's bytes, coded and head.
    points: Vec<(f64, (f64, f64))>,
    /// Tables that quick encodes of half the sample were made with, and their coded bytes.
    quick: Vec<([Table; 2], f64)>,
}

impl<'a> Trial<'a> {
    pub fn new(picture: &'a Raster, chroma: Chroma, extra: f64) -> Self {
        let bands = bands::for_weight(picture);
        Self {
            picture,
            half: bands.as_ref().map(bands::half_of_weight),
            bands,
            chroma,
            share: None,
            extra,
            points: Vec::new(),
            quick: Vec::new(),
        }
    }

    /// Whole bytes for each byte of the sample, as if bytes were spread evenly.
    fn by_area(&self) -> f64 {
        self.bands.as_ref().map_or(1.0, |b| {
            self.picture.size().area() as f64 / b.size().area() as f64
        })
    }

    /// Bytes of the whole file at a quality, predicted from the sample's area alone: within a
    /// tenth on the bench's photos.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn rough(&mut self, quality: f64) -> Result<f64, String> {
        let (coded, head) = self.sampled(quality)?;
        Ok(coded * self.by_area() + head + self.extra)
    }

    /// Predicted bytes of the whole file at a quality.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn weight(&mut self, quality: f64) -> Result<f64, String> {
        let share = match (self.share, &self.bands) {
            (Some(share), _) => share,
            (None, None) => 1.0,
            (None, Some(part)) => {
                let quick = |p| {
                    let file = encode::quick(p, quality, self.chroma)?;
                    Ok::<f64, String>(encode::coded(&file).0 as f64)
                };
                quick(self.picture)? / quick(part)?
            }
        };
        self.share = Some(share);
        let (coded, head) = self.sampled(quality)?;
        Ok(coded * share + head + self.extra)
    }

    /// Coded bytes of the sample at a quality and those of its head, from memory where it was tried
    /// before.
    fn sampled(&mut self, quality: f64) -> Result<(f64, f64), String> {
        let known = |p: &&(f64, (f64, f64))| encode::same_tables(p.0, quality);
        if let Some(p) = self.points.iter().find(known) {
            return Ok(p.1);
        }
        let sample = self.bands.as_ref().unwrap_or(self.picture);
        let file = encode::jpeg(sample, quality, self.chroma, &[])?;
        let (coded, head) = encode::coded(&file);
        let bytes = (coded as f64, head as f64);
        self.points.push((quality, bytes));
        Ok(bytes)
    }

    /// The highest quality within `bounds` whose predicted bytes are about `aim`, the search
    /// beginning at `start`; `None` when not even the lowest has that few.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn heaviest(
        &mut self,
        aim: f64,
        bounds: RangeInclusive<f64>,
        start: f64,
        near_floor: bool,
    ) -> Result<Option<f64>, String> {
        let (floor, ceiling) = (*bounds.start(), *bounds.end());
        let room = (aim - self.extra).max(1.0);
        // Highest that fits and lowest that does not: quality and logarithm of bytes over the aim.
        let (mut low, mut high) = (None::<(f64, f64)>, None::<(f64, f64)>);
        let mut tried: Vec<f64> = self.points.iter().map(|p| p.0).collect();
        tried.retain(|q| bounds.contains(q));
        let mut q = tried.pop().unwrap_or(start);
        for step in 0.. {
            let over = ((self.weight(q)? - self.extra) / room).ln();
            if over <= 0.0 && low.is_none_or(|l| q > l.0) {
                low = Some((q, over));
            } else if over > 0.0 && high.is_none_or(|h| q < h.0) {
                high = Some((q, over));
            }
            if let Some(known) = tried.pop() {
                q = known;
                continue;
            }
            let close = match step {
                _ if near_floor => NEAR_FLOOR[step.min(2)],
                0..=2 => CLOSE,
                3..=5 => THEN_CLOSE[step - 3],
                _ => f64::INFINITY,
            };
            let far = if step < 2 { OVER } else { THEN_OVER };
            match (low, high) {
                (Some(l), _) if l.0 >= ceiling || l.1 >= -close => return Ok(Some(l.0)),
                (_, Some(h)) if h.1 <= far => return Ok(Some(h.0)),
                (None, Some(h)) if h.0 <= floor => return Ok(None),
                (None, None) => return Ok(None),
                (Some(l), Some(h)) if h.0 - l.0 < NEXT => return Ok(Some(l.0)),
                _ => {}
            }
            match self.foretold(low, high, &bounds)? {
                Some(next) => q = next,
                None if low.is_none() => q = floor,
                None => break,
            }
        }
        Ok(low.map(|l| l.0))
    }

    /// The highest quality between one that fits and one that does not, or within `bounds` where one
    /// of them is missing, whose quick encode says that it about fits: quick ones jump where good ones
    /// do, and those of half the sample take a thirtieth of the time. `None` where there seems to be
    /// none.
    fn foretold(
        &mut self,
        low: Option<(f64, f64)>,
        high: Option<(f64, f64)>,
        bounds: &RangeInclusive<f64>,
    ) -> Result<Option<f64>, String> {
        let (floor, ceiling) = (*bounds.start(), *bounds.end());
        let shifted = |(q, over): (f64, f64)| (q, over + MIDDLE);
        let (low, high) = (low.map(shifted), high.map(shifted));
        let near = |p: &(f64, f64)| p.1.abs();
        let ends = low.into_iter().chain(high);
        let Some(from) = ends.min_by(|a, b| near(a).total_cmp(&near(b))) else {
            return Ok(None);
        };
        let base = self.quick(from.0)?;
        // Between two known ends good encodes go from one to the other as quick ones do.
        let steeper = match (low, high) {
            (Some(l), Some(h)) => (h.1 - l.1) / (self.quick(h.0)? / self.quick(l.0)?).ln(),
            _ => 1.0,
        };
        let steeper = Some(steeper)
            .filter(|s| (0.5..2.0).contains(s))
            .unwrap_or(1.0);
        let (mut under, mut above) = (low, high);
        let (mut found, mut nearly) = (None, None);
        for step in 0..8 {
            let next = match (under, above) {
                (Some(l), Some(h)) => between(l, h, step > 2),
                (one, other) => one.or(other).map(|(q, over)| {
                    // A second step to the same side goes too far rather than fall short again.
                    let far = if step > 0 { 1.3 } else { 1.0 };
                    let over = over + OVER.copysign(over);
                    quality_of(scale(q) * (over * far / slope(q, over)).exp())
                }),
            };
            let Some(q) = next.map(|q| q.clamp(floor, ceiling)) else {
                break;
            };
            let over = (self.quick(q)? / base).ln() * steeper + from.1;
            if over.abs() <= WITHIN || (over < 0.0 && q >= ceiling) || (over > 0.0 && q <= floor) {
                return Ok(Some(q));
            }
            if over <= 0.0 {
                (under, found) = (Some((q, over)), Some(q));
            } else {
                above = Some((q, over));
                nearly = Some(q).filter(|_| over < CLOSE || low.is_none());
            }
        }
        Ok(found.or(nearly))
    }

    /// By how much to trim the tables of a quality so that the bytes change by about `wish` and at most
    /// by `most` (logarithms), and by how much they then should: what a trim gives differs from photo
    /// to photo, so quick encodes are asked. `None` where every trim gives more, or none changes them
    /// that way.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn trim(
        &mut self,
        quality: f64,
        wish: f64,
        most: f64,
    ) -> Result<Option<(f64, f64)>, String> {
        let base = self.quick(quality)?;
        let mut by = wish / 2.0;
        let mut best: Option<(f64, f64)> = None;
        for _ in 0..TRIMS {
            let gives = (self.quick_with(tables::trimmed(quality, by))? / base).ln();
            let over = gives - wish;
            let nearer = best.is_none_or(|b| over.abs() < (b.1 - wish).abs());
            if gives <= most + TRIM_OVER && gives * wish > 0.0 && nearer {
                best = Some((by, gives));
            }
            if (-TRIM_UNDER..=TRIM_OVER).contains(&over) {
                break;
            }
            let ratio = if gives * wish > 0.0 {
                wish / gives
            } else {
                2.0
            };
            by *= ratio.clamp(0.4, 2.5);
        }
        Ok(best)
    }

    fn quick(&mut self, quality: f64) -> Result<f64, String> {
        self.quick_with(tables::of(quality))
    }

    /// Bytes of a quick encode of half the sample with given tables, from memory where it was made
    /// before.
    fn quick_with(&mut self, tables: [Table; 2]) -> Result<f64, String> {
        if let Some(known) = self.quick.iter().find(|k| k.0 == tables) {
            return Ok(known.1);
        }
        let sample = self.half.as_ref().unwrap_or(self.picture);
        let file = encode::quick_with(sample, tables, self.chroma)?;
        let bytes = encode::coded(&file).0 as f64;
        self.quick.push((tables, bytes));
        Ok(bytes)
    }

    /// Takes a whole file's true bytes as the measure of later predictions.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn learn(&mut self, quality: f64, bytes: f64) -> Result<(), String> {
        let (coded, head) = self.sampled(quality)?;
        self.share = Some((bytes - self.extra - head) / coded);
        Ok(())
    }
}

/// How steeply the logarithm of bytes falls from a quality on, when it is to change by `over`.
fn slope(from: f64, over: f64) -> f64 {
    SLOPE + STEEPER * ((from - 70.0) / 22.0) * (1.0 - over.abs() / 2.0)
}

/// The quality at which a file that takes `share` of the budget at `quality` fills it, by the usual
/// slope alone.
pub fn about(quality: f64, share: f64) -> f64 {
    let over = share.max(1e-3).ln();
    let to = |slope: f64| quality_of(scale(quality) * (over / slope).exp());
    let near = to(slope(quality, 0.0));
    to(slope((quality + near) / 2.0, 0.0))
}

/// Where to look next between a quality that fits and one that does not: on the straight line, or
/// beside it where the tables there are those of either end. `None` when there are no others
/// between them: bytes go up in jumps of up to 1.4 %, where low entries of the tables are rounded the
/// other way.
fn between(low: (f64, f64), high: (f64, f64), halfway: bool) -> Option<f64> {
    let share = if halfway {
        0.5
    } else {
        -low.1 / (high.1 - low.1)
    };
    let (mut a, mut b) = (low.0, high.0);
    let straight = scale(a) * (scale(b) / scale(a)).powf(share);
    let edge = (b - a) / 10.0;
    let mut q = quality_of(straight).clamp(a + edge, b - edge);
    for _ in 0..12 {
        if encode::same_tables(q, low.0) {
            a = q;
        } else if encode::same_tables(q, high.0) {
            b = q;
        } else {
            return Some(q);
        }
        q = (a + b) / 2.0;
    }
    None
}

/// The customary scaling of the tables, in percent (Independent JPEG Group, `jcparam.c`); never
/// quite nought.
fn scale(quality: f64) -> f64 {
    if quality < 50.0 {
        5000.0 / quality
    } else {
        (200.0 - 2.0 * quality).max(1.0)
    }
}

fn quality_of(scale: f64) -> f64 {
    if scale > 100.0 {
        5000.0 / scale
    } else {
        100.0 - scale / 2.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_few_trials_find_the_quality_whose_bytes_are_those_aimed_at() {
        let china = crate::render::score::tests::photo("china.jpg");
        let full = encode::jpeg(&china, 92.0, Chroma::Half, &[]).unwrap().len() as f64;
        for share in [0.4, 0.55, 0.7, 0.85] {
            let mut trial = Trial::new(&china, Chroma::Half, 0.0);
            let found = trial.heaviest(full * share, 50.0..=92.0, 92.0, false);
            let found = found.unwrap().unwrap();
            let over = (trial.weight(found).unwrap() / (full * share)).ln();
            assert!(
                (-0.012..=THEN_OVER).contains(&over),
                "{share} {found}: {over}"
            );
            assert!(trial.points.len() <= 5, "{share}: {:?}", trial.points);
        }
    }
}

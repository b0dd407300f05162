//! Predicts the bytes of a file from a sample of its picture. Owns the predictions;
//! refuses to know limits.
//!
//! Bytes: the sample's share of a quick encode is also its share of a good one, to about half a
//! percent (bench), so a good encode of the sample stands for one of the whole. The logarithm of
//! the bytes is nearly linear in quality, which makes a secant converge in three or four steps.

use crate::photo::raster::Raster;
use crate::render::bands;
use crate::render::encode::{self, Chroma};

/// The logarithm of bytes grows by about this much for each step of quality at 80 to 90 (bench).
const SLOPE: f64 = 0.045;
/// Predictions are this share of the truth on average over the bench's photos.
const BIAS: f64 = 1.0;
/// Qualities nearer than this to each other are not told apart.
const FINEST: f64 = 0.08;
/// A quality whose bytes are under the aim by this little (as a logarithm) is good enough.
const CLOSE: f64 = 0.0025;

/// Trial encodes of one picture.
pub struct Trial<'a> {
    picture: &'a Raster,
    bands: Option<Raster>,
    chroma: Chroma,
    /// Whole bytes for each byte of the sample, once it is known better than by their areas.
    share: Option<f64>,
    /// Bytes of the segments, the same at every quality.
    extra: f64,
    /// Qualities tried so far and the sample's bytes.
    points: Vec<(f64, f64)>,
}

impl<'a> Trial<'a> {
    pub fn new(picture: &'a Raster, chroma: Chroma, extra: f64) -> Self {
        Self {
            picture,
            bands: bands::for_weight(picture),
            chroma,
            share: None,
            extra,
            points: Vec::new(),
        }
    }

    /// Bytes of the whole file at a quality, predicted from the sample's area alone: within a
    /// tenth on the bench's photos.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn rough(&mut self, quality: f64) -> Result<f64, String> {
        let area = self.bands.as_ref().map_or(1.0, |b| {
            self.picture.size().area() as f64 / b.size().area() as f64
        });
        Ok(self.sampled(quality)? * area + self.extra)
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
                let whole = encode::quick(self.picture)?.len() as f64;
                whole / encode::quick(part)?.len() as f64 / BIAS
            }
        };
        self.share = Some(share);
        Ok(self.sampled(quality)? * share + self.extra)
    }

    /// Bytes of the sample at a quality, from memory where it was tried before.
    fn sampled(&mut self, quality: f64) -> Result<f64, String> {
        if let Some(p) = self.points.iter().find(|p| (p.0 - quality).abs() < 1e-9) {
            return Ok(p.1);
        }
        let sample = self.bands.as_ref().unwrap_or(self.picture);
        let bytes = encode::jpeg(sample, quality, self.chroma, &[])?.len() as f64;
        self.points.push((quality, bytes));
        Ok(bytes)
    }

    /// The highest quality between `floor` and `ceiling` whose predicted bytes are at most `aim`;
    /// `None` when not even the floor's are.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn heaviest(&mut self, aim: f64, floor: f64, ceiling: f64) -> Result<Option<f64>, String> {
        let mut low: Option<(f64, f64)> = None;
        let mut high: Option<(f64, f64)> = None;
        // What was tried before is known already.
        let known: Vec<f64> = self.points.iter().map(|p| p.0).collect();
        let mut next = known
            .into_iter()
            .filter(|q| (floor..=ceiling).contains(q))
            .chain([ceiling])
            .collect::<Vec<_>>();
        while let Some(q) = next.pop() {
            let over = ((self.weight(q)? - self.extra) / (aim - self.extra).max(1.0)).ln();
            if over > 0.0 && high.is_none_or(|h| q < h.0) {
                high = Some((q, over));
            }
            if over <= 0.0 && low.is_none_or(|l| q > l.0) {
                low = Some((q, over));
            }
            if !next.is_empty() {
                continue;
            }
            let Some(h) = high else {
                return Ok(Some(ceiling));
            };
            match low {
                None if h.0 <= floor => return Ok(None),
                None => next.push((h.0 - h.1 / SLOPE - 0.3).max(floor)),
                Some(l) => {
                    let straight = l.0 - l.1 * (h.0 - l.0) / (h.1 - l.1);
                    // Bytes go up in small jumps where entries of the table are rounded the other
                    // way, so the line is only a guess.
                    if h.0 - l.0 <= FINEST || l.1 > -CLOSE {
                        return Ok(Some(l.0));
                    }
                    let edge = (h.0 - l.0) / 5.0;
                    next.push(straight.clamp(l.0 + edge, h.0 - edge));
                }
            }
        }
        Ok(low.map(|l| l.0))
    }

    /// Takes a whole file's true bytes as the measure of later predictions.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn learn(&mut self, quality: f64, bytes: f64) -> Result<(), String> {
        self.share = Some((bytes - self.extra) / self.sampled(quality)?);
        Ok(())
    }
}

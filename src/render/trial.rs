//! Predicts the bytes and the score of a file from a sample of its picture. Owns the predictions;
//! refuses to know limits.
//!
//! Bytes: the sample's share of a quick encode is also its share of a good one, to about half a
//! percent (bench), so a good encode of the sample stands for one of the whole. The logarithm of
//! the bytes is nearly linear in quality, which makes a secant converge in three or four steps.

use crate::photo::raster::Raster;
use crate::render::bands;
use crate::render::encode::{self, Chroma};
use crate::render::score;

/// The logarithm of bytes grows by about this much for each step of quality at 80 to 90 (bench).
const SLOPE: f64 = 0.045;
/// Predictions are this share of the truth on average over the bench's photos.
const BIAS: f64 = 0.995;
/// A stacked sample scores higher than its picture by this much on average (bench).
const SCORE_BIAS: f64 = 1.0;
/// Score gained for each step of quality at 80 to 92 (bench).
const SCORE_SLOPE: f64 = 0.6;

/// Trial encodes of one picture.
pub struct Trial<'a> {
    picture: &'a Raster,
    bands: Option<Raster>,
    chroma: Chroma,
    /// Whole bytes for each byte of the sample.
    share: f64,
    /// Bytes of the segments, the same at every quality.
    extra: f64,
    /// Predicted (quality, logarithm of bytes without segments) so far, by quality.
    points: Vec<(f64, f64)>,
    score_slope: f64,
}

impl<'a> Trial<'a> {
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn new(picture: &'a Raster, chroma: Chroma, extra: f64) -> Result<Self, String> {
        let bands = bands::for_weight(picture);
        let share = match &bands {
            Some(part) => {
                encode::quick(picture)?.len() as f64 / encode::quick(part)?.len() as f64 / BIAS
            }
            None => 1.0,
        };
        Ok(Self {
            picture,
            bands,
            chroma,
            share,
            extra,
            points: Vec::new(),
            score_slope: SCORE_SLOPE,
        })
    }

    /// Predicted bytes of the whole file at a quality.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn weight(&mut self, quality: f64) -> Result<f64, String> {
        if let Some(p) = self.points.iter().find(|p| (p.0 - quality).abs() < 1e-9) {
            return Ok(p.1.exp() * self.share + self.extra);
        }
        let sample = self.bands.as_ref().unwrap_or(self.picture);
        let bytes = encode::jpeg(sample, quality, self.chroma, &[])?.len() as f64;
        let at = self.points.partition_point(|p| p.0 < quality);
        self.points.insert(at, (quality, bytes.ln()));
        Ok(bytes * self.share + self.extra)
    }

    /// The highest quality between `floor` and `ceiling` whose predicted bytes are at most `aim`;
    /// `None` when not even the floor's are.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn heaviest(&mut self, aim: f64, floor: f64, ceiling: f64) -> Result<Option<f64>, String> {
        let over = |t: &mut Self, q: f64| -> Result<f64, String> {
            Ok(((t.weight(q)? - t.extra) / (aim - t.extra).max(1.0)).ln())
        };
        let mut high = (ceiling, over(self, ceiling)?);
        if high.1 <= 0.0 {
            return Ok(Some(ceiling));
        }
        let mut low: Option<(f64, f64)> = None;
        for _ in 0..8 {
            let guess = match low {
                None => (high.0 - high.1 / SLOPE - 0.3).max(floor),
                Some(l) => {
                    let g = l.0 - l.1 * (high.0 - l.0) / (high.1 - l.1);
                    g.clamp(l.0 + 0.02, (high.0 - 0.02).max(l.0 + 0.02))
                }
            };
            let value = over(self, guess)?;
            if value > 0.0 {
                high = (guess, value);
                if guess <= floor {
                    return Ok(None);
                }
            } else {
                low = Some((guess, value));
                if value > -0.002 {
                    break;
                }
            }
            if let Some(l) = low
                && high.0 - l.0 < 0.06
            {
                break;
            }
        }
        Ok(Some(low.map_or(floor, |l| l.0)))
    }

    /// Takes a whole file's true bytes as the measure of later predictions.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn learn(&mut self, quality: f64, bytes: f64) -> Result<(), String> {
        let predicted = self.weight(quality)? - self.extra;
        self.share *= (bytes - self.extra) / predicted;
        Ok(())
    }

    /// The quality, at least `floor`, predicted to reach the score `target`; `None` when `ceiling`
    /// does not go beyond it.
    ///
    /// # Errors
    /// One sentence when the encoder gives up.
    pub fn quality_for(
        &mut self,
        target: f64,
        floor: f64,
        ceiling: f64,
    ) -> Result<Option<f64>, String> {
        let sample = bands::for_score(self.picture);
        let bias = if sample.is_some() { SCORE_BIAS } else { 0.0 };
        let sample = sample.as_ref().unwrap_or(self.picture);
        let chroma = self.chroma;
        let score = |q: f64| -> Result<Option<f64>, String> {
            let seen = encode::decoded(&encode::jpeg(sample, q, chroma, &[])?)?;
            Ok(score::ssimulacra2(sample, &seen).map(|s| s - bias))
        };
        let Some(top) = score(ceiling)? else {
            return Ok(None);
        };
        if top <= target + 0.5 {
            return Ok(None);
        }
        let mut points = ((ceiling, top), (ceiling, top));
        let mut guess = ceiling - (top - target) / SCORE_SLOPE;
        for _ in 0..3 {
            guess = guess.clamp(floor, ceiling);
            let Some(s) = score(guess)? else { break };
            points = (points.1, (guess, s));
            let ((q0, s0), (q1, s1)) = points;
            if (q1 - q0).abs() > 0.1 {
                self.score_slope = ((s1 - s0) / (q1 - q0)).clamp(0.2, 2.0);
            }
            if (s - target).abs() < 0.3 || (guess <= floor && s > target) {
                break;
            }
            guess = q1 - (s1 - target) / self.score_slope;
        }
        Ok(Some(guess.clamp(floor, ceiling)))
    }

    /// The quality that moves a whole file's score down by `off`.
    pub fn corrected(&self, quality: f64, off: f64, floor: f64, ceiling: f64) -> f64 {
        (quality - off / self.score_slope).clamp(floor, ceiling)
    }
}

//! Whether colour needs every pixel. Owns the choice between 4:4:4 and 4:2:0; refuses to know
//! budgets.

use crate::photo::raster::Raster;
use crate::render::bands;
use crate::render::encode::{self, Chroma};
use crate::render::score;

/// Colour lost at half the sampling (root mean square within 2x2 px, of 255) in the most colourful
/// 2 % of the picture, under which 4:2:0 is always the better: sensor noise and soft colour.
const SOFT: f32 = 5.0;
/// Colour lost against light within 2x2 px: under the first 4:2:0 was better on every picture
/// measured, over the second 4:4:4; between them the two are tried on a sample.
const PALE: f32 = 0.5;
const VIVID: f32 = 1.2;
/// Quality of the trial.
const TRIAL: f64 = 84.0;
/// Under the trial's quality 4:4:4 weighs as much as 4:2:0 by about this much (faded yarns: 14 to 24).
const EQUAL: f64 = 18.0;
/// Logarithm of the bytes for each step of quality there (faded yarns: 0.016 to 0.022).
const SLOPE: f64 = 0.019;
/// Good encodes are the lighter against quick ones at 4:4:4, by up to 6 % on faded yarns.
const LIGHTER: f64 = 0.03;
/// A difference in weight, as a logarithm, over which the trial is made once more.
const NEAR: f64 = 0.05;
/// What is left of one, turned into score: about this much for each unit (the bench's photos).
const SCORE_OF_WEIGHT: f64 = 13.0;
/// By how much the sample's score flatters 4:4:4 against the whole picture's (faded yarns: 0.3 to 1.4).
const FLATTERED: f64 = 0.7;

/// The sampling that scores higher at equal bytes.
///
/// # Errors
/// One sentence when the encoder gives up.
pub fn choose(picture: &Raster) -> Result<Chroma, String> {
    let loss = loss(picture);
    if loss.peak < SOFT || loss.ratio < PALE {
        return Ok(Chroma::Half);
    }
    if loss.ratio > VIVID {
        return Ok(Chroma::Full);
    }
    match bands::for_score(picture) {
        Some(sample) => tried(&sample, &bands::half_of_score(&sample)),
        None => tried(picture, picture),
    }
}

/// Whether the picture, or a part of it, is surely better at 4:4:4, without a trial.
pub fn surely_full(picture: &Raster) -> bool {
    let loss = loss(picture);
    loss.peak >= SOFT && loss.ratio > VIVID
}

/// Encodes the sample both ways to about one size and compares the scores. The quality at which
/// 4:4:4 has that size is looked for with quick encodes of a `part` of it.
fn tried(sample: &Raster, part: &Raster) -> Result<Chroma, String> {
    let half = encode::jpeg(sample, TRIAL, Chroma::Half, &[])?;
    let quick_half = encode::quick(part, TRIAL, Chroma::Half)?.len() as f64;
    let quick = |q: f64| -> Result<f64, String> {
        let bytes = encode::quick(part, q, Chroma::Full)?.len() as f64;
        Ok((bytes / quick_half).ln())
    };
    let mut q = TRIAL - EQUAL;
    let mut here = quick(q)?;
    let mut to = |aim: f64| -> Result<f64, String> {
        for _ in 0..2 {
            if (here - aim).abs() < 0.01 {
                break;
            }
            q = (q - (here - aim) / SLOPE).clamp(20.0, 95.0);
            here = quick(q)?;
        }
        Ok(q)
    };
    let good = |q: f64| -> Result<(Vec<u8>, f64), String> {
        let bytes = encode::jpeg(sample, q, Chroma::Full, &[])?;
        let log = (bytes.len() as f64 / half.len() as f64).ln();
        Ok((bytes, log))
    };
    let (mut full, mut log) = good(to(LIGHTER)?)?;
    if log.abs() > NEAR {
        (full, log) = good(to(LIGHTER - log)?)?;
    }
    let score = |bytes: &[u8]| {
        let seen = encode::decoded(bytes).ok()?;
        score::ssimulacra2(sample, &seen)
    };
    let full = score(&full).map(|s| s - SCORE_OF_WEIGHT * log);
    let half = score(&half).map(|s| s + FLATTERED);
    Ok(if full > half {
        Chroma::Full
    } else {
        Chroma::Half
    })
}

struct Loss {
    /// Colour lost in the 2 % of 16x16 blocks that lose most, root mean square of 255.
    peak: f32,
    /// Colour lost against light lost, both as root mean squares within 2x2 px, over those blocks
    /// that are among the upper half in either.
    ratio: f32,
}

/// Looks at every second 16x16 block both ways.
fn loss(picture: &Raster) -> Loss {
    let size = picture.size();
    let mut blocks = Vec::new();
    for y in (0..size.h.saturating_sub(15)).step_by(32) {
        for x in (0..size.w.saturating_sub(15)).step_by(32) {
            blocks.push(block(picture, x, y));
        }
    }
    if blocks.is_empty() {
        return Loss {
            peak: 0.0,
            ratio: 0.0,
        };
    }
    blocks.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let peak = blocks[blocks.len() * 98 / 100].0.sqrt();
    let (colour, light) = blocks[blocks.len() / 2..]
        .iter()
        .fold((0.0, 1e-6), |(c, l), b| (c + b.0, l + b.1));
    Loss {
        peak,
        ratio: (colour / light).sqrt(),
    }
}

/// Mean squares within 2x2 px of one block: colour (Cb and Cr together) and light, ITU-R BT.601.
fn block(picture: &Raster, x0: u32, y0: u32) -> (f32, f32) {
    let w = picture.size().w as usize;
    let px = picture.pixels();
    let (mut colour, mut light) = (0.0f32, 0.0f32);
    for y in (y0 as usize..y0 as usize + 16).step_by(2) {
        for x in (x0 as usize..x0 as usize + 16).step_by(2) {
            let i = (y * w + x) * 3;
            let four = [i, i + 3, i + w * 3, i + w * 3 + 3].map(|i| {
                let (r, g, b) = (f32::from(px[i]), f32::from(px[i + 1]), f32::from(px[i + 2]));
                let l = 0.299 * r + 0.587 * g + 0.114 * b;
                [l, 0.564 * (b - l), 0.713 * (r - l)]
            });
            let mean = |c: usize| four.iter().map(|p| p[c]).sum::<f32>() / 4.0;
            let m = [mean(0), mean(1), mean(2)];
            for p in four {
                light += (p[0] - m[0]).powi(2);
                colour += (p[1] - m[1]).powi(2) + (p[2] - m[2]).powi(2);
            }
        }
    }
    (colour / 256.0, light / 256.0)
}

//! Finds the best picture that fits. Owns the search for quality and pixels within the byte
//! budget; refuses to know how a picture is drawn or encoded.

use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Profile;
use crate::photo::raster::Raster;
use crate::render::encode::{self, Chroma};
use crate::render::resize::reduced;
use crate::render::score;

/// The file that was chosen.
pub struct Best {
    pub bytes: Vec<u8>,
    pub size: Size,
    pub quality: f64,
    pub subsampling: &'static str,
    pub ssimulacra2: Option<f64>,
    pub encodes: u32,
}

/// Draws at `target` px, or with fewer pixels down to the fraction `smallest`, and encodes at the
/// highest quality of the profile whose file is within its `max_bytes`.
///
/// # Errors
/// `too-heavy` with the lightest file reached, or the drawing's own refusal.
pub fn fit(
    target: Size,
    smallest: f64,
    profile: &Profile,
    draw: impl Fn(Size) -> Result<Raster, Refusal>,
) -> Result<Best, Refusal> {
    let least = ((f64::from(target.short()) * smallest).ceil() as u32).clamp(1, target.short());
    let mut size = target;
    let mut encodes = 0;
    loop {
        let picture = draw(size)?;
        let floor = f64::from(profile.quality.floor);
        let lightest = attempt(&picture, floor)?;
        encodes += 1;
        if lightest.len() as u64 <= profile.max_bytes {
            let (bytes, quality) = highest(&picture, lightest, profile, &mut encodes)?;
            let seen = encode::decoded(&bytes).ok();
            return Ok(Best {
                ssimulacra2: seen.and_then(|seen| score::ssimulacra2(&picture, &seen)),
                bytes,
                size,
                quality,
                subsampling: Chroma::Half.name(),
                encodes,
            });
        }
        if size.short() <= least {
            return Err(Refusal::new(
                Reason::TooHeavy,
                format!(
                    "at {size} px and quality {} the file is {:.0} KB, over the limit of {:.0} KB",
                    profile.quality.floor,
                    lightest.len() as f64 / 1000.0,
                    profile.max_bytes as f64 / 1000.0
                ),
            ));
        }
        // Bytes grow about as the pixels; a little less than predicted makes progress certain.
        let ratio = (profile.max_bytes as f64 / lightest.len() as f64).sqrt() * 0.98;
        let short = (f64::from(size.short()) * ratio.clamp(0.5, 0.98)) as u32;
        size = reduced(target, short.max(least));
    }
}

/// Bisects whole qualities between floor and ceiling, `lightest` being the file at the floor.
fn highest(
    picture: &Raster,
    lightest: Vec<u8>,
    profile: &Profile,
    encodes: &mut u32,
) -> Result<(Vec<u8>, f64), Refusal> {
    let mut best = (lightest, f64::from(profile.quality.floor));
    let (mut low, mut high) = (profile.quality.floor, profile.quality.ceiling + 1);
    while high - low > 1 {
        let middle = low + (high - low) / 2;
        let bytes = attempt(picture, f64::from(middle))?;
        *encodes += 1;
        if bytes.len() as u64 <= profile.max_bytes {
            best = (bytes, f64::from(middle));
            low = middle;
        } else {
            high = middle;
        }
    }
    Ok(best)
}

fn attempt(picture: &Raster, quality: f64) -> Result<Vec<u8>, Refusal> {
    encode::jpeg(picture, quality, Chroma::Half).map_err(|e| {
        Refusal::new(
            Reason::Broke,
            format!("the picture could not be encoded: {e}"),
        )
    })
}

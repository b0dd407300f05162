//! Finds the best picture that fits. Owns the search for quality and pixels within the byte
//! budget; refuses to know how a picture is drawn or encoded.

use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::{Format, Profile};
use crate::photo::raster::Raster;
use crate::render::chroma;
use crate::render::encode::{self, Chroma, Segment};
use crate::render::foresee;
use crate::render::resize::reduced;
use crate::render::score;
use crate::render::trial::{self, Trial};

/// The file that was chosen.
pub struct Best {
    pub bytes: Vec<u8>,
    pub size: Size,
    pub quality: f64,
    pub subsampling: &'static str,
    pub ssimulacra2: Option<f64>,
    pub encodes: u32,
}

/// Share of the budget that the first full encode aims at: predictions err by about half of what
/// is left, seldom by more.
const AIM: f64 = 0.995;
/// Share that a second one aims at, when the first has told how good predictions are.
const AIM_AGAIN: f64 = 0.9975;
/// A file under this share of the budget is worth a second encode.
const ENOUGH: f64 = 0.99;
/// A file that misses `AIM_AGAIN` by less than this, as a logarithm, is made again at the same quality
/// with its tables trimmed.
const NEARLY: f64 = 0.02;
/// Where the search ends further than this under what the first encode aims at, that one is trimmed.
const TRIM_FIRST: f64 = 0.003;
/// What quick encodes say of a trim errs by up to two fifths, so of what is missed this is wished for;
/// all of it may be given where no trim comes nearer, since the aims keep that much clear of the limit.
const TRIM_UP: f64 = 0.7;
const TRIM_DOWN: f64 = 1.3;
/// A trim makes a file no worse than the floor's where the quality is so far over it.
const ABOVE_FLOOR: f64 = 0.5;
/// A second encode that would add less than this is not made.
const WORTH: f64 = 1.005;
/// A file at the floor is tried, though predicted to be too heavy, when it is over by less than
/// this: where pixels can still be given up, and where they cannot.
const UNSURE: f64 = 1.002;
const LAST_CHANCE: f64 = 1.02;
/// A prediction from the sample's area alone that stays under this share of the budget is safe.
const SAFE: f64 = 0.85;
/// The ceiling is tried first where it is expected to be within reach by this many steps.
const NEAR_CEILING: f64 = 3.0;
/// A score this far over the target is lowered with a second encode; one over a smaller step could
/// not be told apart by eye.
const TARGET_OVER: f64 = 1.25;
/// Where over the target the second encode aims, and the least it may reach.
const TARGET_AIM: f64 = 0.4;
const TARGET_UNDER: f64 = -0.5;
/// Score for each step of quality at 80 to 92 (median of the bench's photos).
const SCORE_SLOPE: f64 = 0.6;

/// Draws at `target` px, or with fewer pixels down to the fraction `smallest`, and encodes at the
/// highest quality of the profile whose file is within its `max_bytes`, or at the one that
/// reaches its target score. `draw_bands` draws some bands of a size alone, where it can.
///
/// # Errors
/// `too-heavy` with the lightest file reached, or the drawing's own refusal.
pub fn fit(
    target: Size,
    smallest: f64,
    profile: &Profile,
    segments: &[Segment],
    draw: impl Fn(Size) -> Result<Raster, Refusal>,
    draw_bands: impl Fn(Size, u32) -> Option<Raster>,
) -> Result<Best, Refusal> {
    let least = least(target, smallest);
    let outlook = foresee::outlook(target, least, profile, draw_bands);
    let mut known = Known {
        encodes: 0,
        chroma: outlook.chroma,
        smaller: outlook.first != target,
        share: outlook.share,
    };
    shrinking(target, outlook.first, least, profile, |size, last| {
        let picture = draw(size)?;
        let mut search = Search::new(&picture, profile, segments, &known)?;
        let found = search.best(last);
        known = Known {
            encodes: search.encodes,
            chroma: Some(search.chroma),
            smaller: true,
            share: None,
        };
        found
    })
}

/// What is known from a larger drawing of the same picture, or from bands of one.
struct Known {
    encodes: u32,
    chroma: Option<Chroma>,
    /// Whether a larger drawing was too heavy.
    smaller: bool,
    /// Bytes at the floor for each byte of the budget, roughly.
    share: Option<f64>,
}

/// The least short side, px, when the fraction `smallest` of `target` must be kept.
pub fn least(target: Size, smallest: f64) -> u32 {
    ((f64::from(target.short()) * smallest).ceil() as u32).clamp(1, target.short())
}

/// The size to draw next where the lightest file of `size` has `over` times the bytes allowed.
pub fn lighter(target: Size, size: Size, over: f64, least: u32) -> Size {
    // Bytes grow a little less than pixels (bench: within 1 %), since a smaller drawing has more
    // detail in each; a little less than predicted makes progress certain.
    let ratio = over.recip().powf(0.515) * 0.993;
    let short = (f64::from(size.short()) * ratio.clamp(0.5, 0.99)) as u32;
    reduced(target, short.max(least))
}

/// Tries `first`, which is `target` px or smaller, then fewer down to `least` on the short side,
/// until a file fits. An attempt is told whether it is the last.
///
/// # Errors
/// `too-heavy` with the lightest file reached, or the attempt's own refusal.
pub fn shrinking(
    target: Size,
    first: Size,
    least: u32,
    profile: &Profile,
    mut attempt: impl FnMut(Size, bool) -> Result<Found, Refusal>,
) -> Result<Best, Refusal> {
    let mut size = first;
    loop {
        let lightest = match attempt(size, size.short() <= least)? {
            Found::Fits(best) => return Ok(best),
            Found::TooHeavy(bytes) => bytes,
        };
        if size.short() <= least {
            let (is, limit) = (lightest / 1000.0, profile.max_bytes as f64 / 1000.0);
            let quality = match profile.format {
                Format::Png => String::new(),
                _ => format!(" and quality {}", profile.quality.floor),
            };
            return Err(Refusal::new(
                Reason::TooHeavy,
                format!(
                    "at {size} px{quality} the file is {:.0} KB, over the limit of {limit:.0} KB",
                    is.ceil()
                ),
            ));
        }
        size = lighter(target, size, lightest / profile.max_bytes as f64, least);
    }
}

/// What one attempt came to.
pub enum Found {
    Fits(Best),
    /// Bytes of the file at the floor, known or predicted surely.
    TooHeavy(f64),
}

struct Search<'a> {
    picture: &'a Raster,
    segments: &'a [Segment],
    chroma: Chroma,
    floor: f64,
    ceiling: f64,
    target: f64,
    limit: f64,
    trial: Trial<'a>,
    /// Whether a larger drawing was too heavy, so that the floor is near.
    smaller: bool,
    /// The quality to try first.
    start: f64,
    encodes: u32,
}

/// A full file and what is known of it.
struct File {
    bytes: Vec<u8>,
    quality: f64,
    /// What a trim of its tables should have added to its bytes (a logarithm).
    gives: f64,
}

impl<'a> Search<'a> {
    fn new(
        picture: &'a Raster,
        profile: &Profile,
        segments: &'a [Segment],
        known: &Known,
    ) -> Result<Self, Refusal> {
        let chroma = match known.chroma {
            Some(chroma) => chroma,
            None => chroma::choose(picture).map_err(broken)?,
        };
        let extra = segments.iter().map(Segment::weight).sum::<usize>() as f64;
        let floor = f64::from(profile.quality.floor);
        let ceiling = f64::from(profile.quality.ceiling).max(floor);
        let start = match known.share {
            Some(share) => trial::about(floor, share).clamp(floor, ceiling),
            None if known.smaller => floor,
            None => ceiling,
        };
        let start = if start > ceiling - NEAR_CEILING {
            ceiling
        } else {
            start
        };
        Ok(Self {
            picture,
            segments,
            chroma,
            floor,
            ceiling,
            start,
            target: profile.quality.target,
            limit: profile.max_bytes as f64,
            trial: Trial::new(picture, chroma, extra),
            smaller: known.smaller,
            encodes: known.encodes,
        })
    }

    fn best(&mut self, last: bool) -> Result<Found, Refusal> {
        let safe = self.start >= self.ceiling
            && self.trial.rough(self.ceiling).map_err(broken)? < self.limit * SAFE;
        let top = if safe {
            Some(self.ceiling)
        } else {
            self.heaviest(self.limit * AIM)?
        };
        if top.is_none() {
            // Only a file can prove it when it is near.
            let predicted = self.trial.weight(self.floor).map_err(broken)?;
            let unsure = match (last, self.smaller) {
                (true, _) => LAST_CHANCE,
                (_, false) => UNSURE,
                (_, true) => AIM_AGAIN,
            };
            if predicted > self.limit * unsure {
                return Ok(Found::TooHeavy(predicted));
            }
        }
        let quality = top.unwrap_or(self.floor);
        let trim = if safe || quality <= self.floor || quality >= self.ceiling {
            None
        } else {
            let predicted = self.trial.weight(quality).map_err(broken)?;
            let missed = (self.limit * AIM / predicted).ln();
            if missed > TRIM_FIRST {
                self.trim(quality, 0.0, missed)?
            } else {
                None
            }
        };
        let file = self.encode_trimmed(quality, trim.unwrap_or_default())?;
        let file = match self.settled(file)? {
            Ok(file) => file,
            Err(lightest) => return Ok(Found::TooHeavy(lightest)),
        };
        let score = self.score(&file);
        let over = score.map_or(0.0, |s| s - self.target);
        if over > TARGET_OVER && file.quality > self.floor && self.encodes < 2 {
            let lower = file.quality - (over - TARGET_AIM) / SCORE_SLOPE;
            let lighter = self.encode(lower.max(self.floor))?;
            let again = self.score(&lighter);
            if again.is_some_and(|s| s - self.target >= TARGET_UNDER) {
                return Ok(Found::Fits(self.named(lighter, again)));
            }
        }
        Ok(Found::Fits(self.named(file, score)))
    }

    /// The highest quality whose predicted bytes are at most `aim`; `None` when not even the floor.
    fn heaviest(&mut self, aim: f64) -> Result<Option<f64>, Refusal> {
        self.trial
            .heaviest(aim, self.floor..=self.ceiling, self.start, self.smaller)
            .map_err(broken)
    }

    /// Makes `file` fit and use the budget, with one more encode where it misses; `Err` with the
    /// bytes at the floor when even that is too heavy.
    fn settled(&mut self, mut file: File) -> Result<Result<File, f64>, Refusal> {
        for step in 0..6 {
            let bytes = file.bytes.len() as f64;
            let at_ceiling = file.quality >= self.ceiling;
            if bytes <= self.limit && (at_ceiling || bytes >= self.limit * ENOUGH) {
                return Ok(Ok(file));
            }
            if bytes > self.limit && file.quality <= self.floor {
                return Ok(Err(bytes));
            }
            let missed = (self.limit * AIM_AGAIN / bytes).ln();
            let above = file.quality > self.floor + ABOVE_FLOOR;
            if step == 0
                && missed.abs() < NEARLY
                && (missed > 0.0 || above)
                && let Some(trim) = self.trim(file.quality, file.gives, missed)?
            {
                let again = self.encode_trimmed(file.quality, trim)?;
                let fits = again.bytes.len() as f64 <= self.limit;
                if bytes <= self.limit {
                    let heavier = fits && again.bytes.len() > file.bytes.len();
                    return Ok(Ok(if heavier { again } else { file }));
                }
                if fits {
                    return Ok(Ok(again));
                }
            }
            let untrimmed = bytes * (-file.gives).exp();
            self.trial.learn(file.quality, untrimmed).map_err(broken)?;
            // Calibrated by a whole file, the prediction is good to a few thousandths.
            let next = self.heaviest(self.limit * AIM_AGAIN)?.unwrap_or(self.floor);
            let next = if bytes > self.limit {
                next.min(file.quality - 0.05).max(self.floor)
            } else {
                next
            };
            if bytes <= self.limit {
                let gain = self.trial.weight(next).map_err(broken)? / bytes;
                if next <= file.quality || gain < WORTH {
                    return Ok(Ok(file));
                }
            }
            let again = self.encode(next)?;
            let fits = again.bytes.len() as f64 <= self.limit;
            if bytes <= self.limit {
                return Ok(Ok(if fits { again } else { file }));
            }
            if fits {
                return Ok(Ok(again));
            }
            file = again;
        }
        let file = self.encode(self.floor)?;
        let bytes = file.bytes.len() as f64;
        Ok(if bytes <= self.limit {
            Ok(file)
        } else {
            Err(bytes)
        })
    }

    /// A trim of the tables for a file that misses its aim by so much (a logarithm) with a trim that
    /// gives `already`, and what it gives.
    fn trim(
        &mut self,
        quality: f64,
        already: f64,
        missed: f64,
    ) -> Result<Option<(f64, f64)>, Refusal> {
        let (wish, most) = if missed > 0.0 {
            (missed * TRIM_UP, missed)
        } else {
            (missed * TRIM_DOWN, missed * TRIM_DOWN)
        };
        self.trial
            .trim(quality, already + wish, already + most)
            .map_err(broken)
    }

    fn encode(&mut self, quality: f64) -> Result<File, Refusal> {
        self.encode_trimmed(quality, (0.0, 0.0))
    }

    fn encode_trimmed(&mut self, quality: f64, trim: (f64, f64)) -> Result<File, Refusal> {
        self.encodes += 1;
        let ((by, gives), chroma, segments) = (trim, self.chroma, self.segments);
        let bytes = encode::trimmed(self.picture, quality, by, chroma, segments).map_err(broken)?;
        Ok(File {
            bytes,
            quality,
            gives,
        })
    }

    fn score(&self, file: &File) -> Option<f64> {
        let seen = encode::decoded(&file.bytes).ok()?;
        score::ssimulacra2(self.picture, &seen)
    }

    fn named(&self, file: File, ssimulacra2: Option<f64>) -> Best {
        Best {
            bytes: file.bytes,
            size: self.picture.size(),
            quality: file.quality,
            subsampling: self.chroma.name(),
            ssimulacra2,
            encodes: self.encodes,
        }
    }
}

pub fn broken(e: String) -> Refusal {
    Refusal::new(
        Reason::Broke,
        format!("the picture could not be encoded: {e}"),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_file_under_the_ceiling_ends_within_a_hundredth_below_its_budget() {
        let china = score::tests::photo("china.jpg");
        let full = encode::jpeg(&china, 92.0, Chroma::Half, &[]).unwrap().len() as f64;
        for share in [0.55, 0.6, 0.65, 0.7, 0.75, 0.8, 0.85, 0.9, 0.95] {
            let profile = Profile {
                max_bytes: (full * share) as u64,
                ..Profile::default()
            };
            let draw = |_| Ok(Raster::new(china.size(), china.pixels().to_vec()));
            let best = fit(china.size(), 1.0, &profile, &[], draw, |_, _| None).unwrap();
            let used = best.bytes.len() as f64 / profile.max_bytes as f64;
            assert!((0.99..=1.0).contains(&used), "{share}: {used}");
            assert!(best.encodes <= 2, "{share}: {}", best.encodes);
        }
    }

    #[test]
    fn a_second_trim_adds_to_the_first_and_gives_no_more_than_what_was_missed() {
        let china = score::tests::photo("china.jpg");
        let known = Known {
            encodes: 0,
            chroma: Some(Chroma::Half),
            smaller: false,
            share: None,
        };
        let mut search = Search::new(&china, &Profile::default(), &[], &known).unwrap();
        let mut found = 0;
        for missed in [0.004, 0.006, 0.008, 0.012] {
            let Some((_, first)) = search.trim(85.0, 0.0, missed).unwrap() else {
                continue;
            };
            assert!(first > 0.0 && first <= missed + 0.0005, "{first}");
            if let Some((_, both)) = search.trim(85.0, first, missed).unwrap() {
                assert!(
                    both > first && both <= first + missed + 0.0005,
                    "{first} {both}"
                );
                found += 1;
            }
            if let Some((_, less)) = search.trim(85.0, 0.0, -missed).unwrap() {
                assert!(less <= 0.0005 - missed, "{less}");
                found += 1;
            }
        }
        assert!(found >= 4, "{found}");
    }
}

//! Colour spaces and the way from each to sRGB (IEC 61966-2-1), relative colorimetric.
//! Owns profiles and transforms (ICC.1, v2 and v4); refuses to know containers and pixels' places.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use moxcms::{
    ColorProfile, DataColorSpace, Layout, ParsingOptions, ProfileText, RenderingIntent,
    Transform8BitExecutor, TransformOptions,
};

/// Pixels converted at a time.
const RUN: usize = 4096;

/// The colour space of 8 bit RGB pixels.
#[derive(Clone)]
pub struct Colour {
    name: String,
    /// `None`: the pixels are sRGB.
    to_srgb: Option<Arc<Transform8BitExecutor>>,
}

impl Colour {
    pub fn srgb() -> Self {
        Self {
            name: "sRGB".into(),
            to_srgb: None,
        }
    }
    /// Adobe RGB (1998).
    pub fn adobe_rgb() -> Self {
        Self::of(&ColorProfile::new_adobe_rgb(), "Adobe RGB".into()).unwrap_or_else(Self::srgb)
    }
    /// The space of an embedded RGB profile; `None` when it is damaged, absurd or of other channels.
    pub fn of_icc(icc: &[u8]) -> Option<Self> {
        let profile = parse(icc)?;
        (profile.color_space == DataColorSpace::Rgb).then_some(())?;
        let name = name(&profile);
        Self::of(&profile, name)
    }
    /// Plain words for the journal, e.g. `Display P3`.
    pub fn name(&self) -> &str {
        &self.name
    }
    /// Whether pixels of this space must be converted to be sRGB.
    pub fn is_srgb(&self) -> bool {
        self.to_srgb.is_none()
    }
    /// The same name for pixels that were converted already.
    pub fn done(self) -> Self {
        Self {
            to_srgb: None,
            ..self
        }
    }
    fn of(profile: &ColorProfile, name: String) -> Option<Self> {
        let transform = guarded(|| {
            profile
                .create_transform_8bit(
                    Layout::Rgb,
                    &ColorProfile::new_srgb(),
                    Layout::Rgb,
                    options(),
                )
                .ok()
        })?;
        let mut colour = Self {
            name,
            to_srgb: Some(transform),
        };
        if colour.changes_nothing()? {
            colour.to_srgb = None;
        }
        Some(colour)
    }
    /// Whether a grid of colours comes out within one step of what went in.
    fn changes_nothing(&self) -> Option<bool> {
        let steps = (0..=255).step_by(17);
        let grid: Vec<u8> = steps
            .clone()
            .flat_map(|r| steps.clone().map(move |g| (r, g)))
            .flat_map(|(r, g)| steps.clone().flat_map(move |b| [r as u8, g as u8, b as u8]))
            .collect();
        let mut out = grid.clone();
        guarded(|| self.convert(&mut out))?;
        Some(grid.iter().zip(&out).all(|(a, b)| a.abs_diff(*b) <= 1))
    }
    /// Converts 8 bit RGB pixels to sRGB in place.
    pub fn to_srgb(&self, rgb: &mut [u8]) {
        // The transform was tried when it was made, so a failure leaves the pixels as they are.
        let _ = self.convert(rgb);
    }
    fn convert(&self, rgb: &mut [u8]) -> Option<()> {
        let Some(transform) = &self.to_srgb else {
            return Some(());
        };
        let mut from = vec![0; RUN * 3];
        for run in rgb.chunks_mut(RUN * 3) {
            let from = &mut from[..run.len()];
            from.copy_from_slice(run);
            transform.transform(from, run).ok()?;
        }
        Some(())
    }
}

fn options() -> TransformOptions {
    TransformOptions {
        rendering_intent: RenderingIntent::RelativeColorimetric,
        allow_use_cicp_transfer: false,
        ..TransformOptions::default()
    }
}

/// Reads a profile within bounds. An A2B table of the perceptual intent serves where the
/// colorimetric one is missing (ICC.1:2022, 9.1 and table 25).
fn parse(icc: &[u8]) -> Option<ColorProfile> {
    let limits = ParsingOptions {
        max_profile_size: icc.len() + 1,
        ..ParsingOptions::default()
    };
    let mut profile = guarded(|| ColorProfile::new_from_slice_with_options(icc, limits).ok())?;
    if profile.lut_a_to_b_colorimetric.is_none() {
        profile.lut_a_to_b_colorimetric = profile.lut_a_to_b_perceptual.clone();
    }
    Some(profile)
}

/// A library's panic on a strange profile is the same as its refusal.
fn guarded<T>(f: impl FnOnce() -> Option<T>) -> Option<T> {
    catch_unwind(AssertUnwindSafe(f)).ok().flatten()
}

/// The profile's own description, cleaned and at most 40 characters.
fn name(profile: &ColorProfile) -> String {
    let text = match &profile.description {
        Some(ProfileText::PlainString(s)) => s.as_str(),
        Some(ProfileText::Localizable(l)) => l.first().map_or("", |l| l.value.as_str()),
        Some(ProfileText::Description(d)) => d.ascii_string.as_str(),
        None => "",
    };
    let clean: String = text
        .chars()
        .filter(|c| !c.is_control())
        .take(40)
        .collect::<String>()
        .trim()
        .to_owned();
    if clean.is_empty() {
        "embedded profile".into()
    } else {
        clean
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn green(colour: &Colour, rgb: [f64; 3]) -> [u8; 3] {
        let mut p = rgb.map(|v| (v * 255.0).round() as u8);
        colour.to_srgb(&mut p);
        p
    }

    #[test]
    fn the_same_green_in_three_spaces_is_one_green_in_srgb() {
        // The coordinates of sRGB #008000 in Display P3 and Adobe RGB (1998) as the web platform's
        // reference tests for predefined colour spaces state them.
        let p3 = ColorProfile::new_display_p3().encode().unwrap();
        let p3 = green(&Colour::of_icc(&p3).unwrap(), [0.21604, 0.49418, 0.13151]);
        let adobe = green(&Colour::adobe_rgb(), [0.281363, 0.498012, 0.116746]);
        for got in [p3, adobe] {
            for (a, b) in got.iter().zip([0u8, 128, 0]) {
                assert!(a.abs_diff(b) <= 2, "{got:?}");
            }
        }
    }

    #[test]
    fn an_embedded_srgb_profile_asks_for_no_conversion() {
        let icc = ColorProfile::new_srgb().encode().unwrap();
        let colour = Colour::of_icc(&icc).unwrap();
        assert!(colour.is_srgb());
        assert!(colour.name().contains("sRGB"));
    }

    #[test]
    fn a_damaged_profile_is_refused() {
        let icc = ColorProfile::new_display_p3().encode().unwrap();
        for cut in [0, 4, 100, 127, 131, 200, icc.len() / 2] {
            assert!(Colour::of_icc(&icc[..cut]).is_none(), "cut at {cut}");
        }
    }
}

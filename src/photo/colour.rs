//! Colour spaces and the way from each to sRGB (IEC 61966-2-1), relative colorimetric.
//! Owns profiles and transforms (ICC.1, v2 and v4; H.273 code points); refuses to know containers.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use moxcms::{
    Chromaticity, CicpColorPrimaries, CicpProfile, ColorPrimaries, ColorProfile, DataColorSpace,
    Layout, MatrixCoefficients, ParsingOptions, ProfileText, RenderingIntent, ToneReprCurve,
    TransferCharacteristics, Transform8BitExecutor, Transform16BitExecutor, TransformOptions, XyY,
};

use crate::base::reason::Reason;
use crate::config::profile::Limits;

/// Pixels converted at a time.
pub const RUN: usize = 4096;

/// What the numbers of a colour space stand for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ink {
    Grey,
    Rgb,
    /// 0 is no ink.
    Cmyk,
}

/// A colour space as a file declares it.
#[derive(Clone)]
pub struct Space {
    name: String,
    /// `None`: sRGB, or nothing known of printing colours.
    profile: Option<Box<ColorProfile>>,
    ink: Ink,
}

impl Space {
    pub fn srgb() -> Self {
        Self {
            name: "sRGB".into(),
            profile: None,
            ink: Ink::Rgb,
        }
    }
    /// Printing colours without a profile.
    pub fn plain_cmyk() -> Self {
        Self {
            name: "CMYK without a profile".into(),
            profile: None,
            ink: Ink::Cmyk,
        }
    }
    /// Adobe RGB (1998).
    pub fn adobe_rgb() -> Self {
        Self::rgb("Adobe RGB", ColorProfile::new_adobe_rgb())
    }
    fn rgb(name: &str, profile: ColorProfile) -> Self {
        Self {
            name: name.into(),
            profile: Some(Box::new(profile)),
            ink: Ink::Rgb,
        }
    }
    /// The space of a profile that may be there: sRGB without one, and with a remark when it is over
    /// the limit or damaged.
    pub fn of_embedded(icc: Option<&[u8]>, limits: &Limits, remarks: &mut Vec<Reason>) -> Self {
        let Some(icc) = icc else {
            return Self::srgb();
        };
        let known = (icc.len() <= limits.icc_bytes).then(|| Self::of_icc(icc));
        known.flatten().unwrap_or_else(|| {
            remarks.push(Reason::ProfileIgnored);
            Self::srgb()
        })
    }
    /// The space of an embedded profile; `None` when it is damaged, absurd or for other things than
    /// grey, RGB and CMYK. An A2B table of the perceptual intent serves where the colorimetric one
    /// is missing (ICC.1:2022, 8.2 and table 25).
    pub fn of_icc(icc: &[u8]) -> Option<Self> {
        let limits = ParsingOptions {
            max_profile_size: icc.len() + 1,
            ..ParsingOptions::default()
        };
        let mut profile = guarded(|| ColorProfile::new_from_slice_with_options(icc, limits).ok())?;
        if profile.lut_a_to_b_colorimetric.is_none() {
            profile.lut_a_to_b_colorimetric = profile.lut_a_to_b_perceptual.clone();
        }
        let ink = match profile.color_space {
            DataColorSpace::Gray => Ink::Grey,
            DataColorSpace::Rgb => Ink::Rgb,
            DataColorSpace::Cmyk => Ink::Cmyk,
            _ => return None,
        };
        let space = Self {
            name: name(&profile),
            profile: Some(Box::new(profile)),
            ink,
        };
        // A profile is known to be good when a transform can be made of it and run.
        match ink {
            Ink::Rgb => space.lazy().map(drop)?,
            _ => {
                let mut out = [0; 3];
                let wide = space.wide(ink)?;
                guarded(|| wide.run(&vec![0; channels(ink)], &mut out))?;
            }
        }
        Some(space)
    }
    /// The space of H.273 code points. Transfers of video are taken as sRGB's (common practice for
    /// stills); `None` for spaces of high dynamic range and unknown primaries.
    pub fn of_cicp(primaries: u8, transfer: u8) -> Option<Self> {
        let transfer = match transfer {
            1 | 2 | 6 | 13 | 14 | 15 => TransferCharacteristics::Srgb,
            4 | 5 | 8 => TransferCharacteristics::try_from(transfer).ok()?,
            _ => return None,
        };
        let (name, primaries) = match primaries {
            1 | 2 => ("sRGB", CicpColorPrimaries::Bt709),
            9 => ("BT.2020", CicpColorPrimaries::Bt2020),
            11 => ("DCI-P3", CicpColorPrimaries::Smpte431),
            12 => ("Display P3", CicpColorPrimaries::Smpte432),
            4..=8 | 10 | 22 => (
                "H.273 code points",
                CicpColorPrimaries::try_from(primaries).ok()?,
            ),
            _ => return None,
        };
        let code = CicpProfile {
            color_primaries: primaries,
            transfer_characteristics: transfer,
            matrix_coefficients: MatrixCoefficients::Identity,
            full_range: true,
        };
        if name == "sRGB" && transfer == TransferCharacteristics::Srgb {
            return Some(Self::srgb());
        }
        guarded(|| Some(Self::rgb(name, ColorProfile::new_from_cicp(code)))).filter(Self::works)
    }
    /// A space of one exponent (encoded = linear ^ `gamma`) and primaries as xy of white, red, green
    /// and blue; sRGB's primaries when `None`.
    pub fn of_gamma(gamma: f64, xy: Option<[(f64, f64); 4]>) -> Option<Self> {
        if !(0.1..=10.0).contains(&gamma) {
            return None;
        }
        let mut profile = ColorProfile::new_srgb();
        profile.cicp = None;
        if let Some([white, red, green, blue]) = xy {
            let sane = |c: (f64, f64)| (0.0..=1.0).contains(&c.0) && (0.01..=1.0).contains(&c.1);
            if ![white, red, green, blue].into_iter().all(sane) {
                return None;
            }
            let at = |c: (f64, f64)| Chromaticity::new(c.0 as f32, c.1 as f32);
            let primaries = ColorPrimaries {
                red: at(red),
                green: at(green),
                blue: at(blue),
            };
            let white = XyY::new(white.0, white.1, 1.0);
            guarded(|| {
                profile.update_rgb_colorimetry(white, primaries);
                Some(())
            })?;
        }
        let curve = ToneReprCurve::Parametric(vec![1.0 / gamma as f32]);
        profile.red_trc = Some(curve.clone());
        profile.green_trc = Some(curve.clone());
        profile.blue_trc = Some(curve);
        Some(Self::rgb("RGB with stated primaries", profile)).filter(Self::works)
    }
    fn works(&self) -> bool {
        self.lazy().is_some()
    }
    /// Whether samples of `ink` can be read in this space.
    pub fn reads(&self, ink: Ink) -> bool {
        ink == self.ink || (ink == Ink::Grey && self.ink == Ink::Rgb)
    }
    /// Plain words for the journal, e.g. `Display P3`.
    pub fn name(&self) -> &str {
        &self.name
    }
    /// For 8 bit RGB pixels that are converted later. `None` when no transform can be made.
    pub fn lazy(&self) -> Option<Colour> {
        let mut colour = Colour {
            name: self.name.clone(),
            to_srgb: None,
        };
        let Some(profile) = self.profile.as_ref().filter(|_| self.ink == Ink::Rgb) else {
            return Some(colour);
        };
        colour.to_srgb = Some(guarded(|| {
            profile
                .create_transform_8bit(Layout::Rgb, &srgb(), Layout::Rgb, options())
                .ok()
        })?);
        if colour.changes_nothing()? {
            colour.to_srgb = None;
        }
        Some(colour)
    }
    /// For samples of `ink`, 16 bit, converted now. `None` when the profile is for other samples.
    /// Grey samples may be read through an RGB profile, as equal parts.
    pub fn wide(&self, ink: Ink) -> Option<Wide> {
        if !self.reads(ink) {
            return None;
        }
        let Some(profile) = &self.profile else {
            return Some(Wide {
                transform: None,
                from: ink,
                through: self.ink,
            });
        };
        let layout = match self.ink {
            Ink::Grey => Layout::Gray,
            Ink::Rgb => Layout::Rgb,
            Ink::Cmyk => Layout::Rgba,
        };
        let transform = guarded(|| {
            profile
                .create_transform_16bit(layout, &srgb(), Layout::Rgb, options())
                .ok()
        })?;
        Some(Wide {
            transform: Some(transform),
            from: ink,
            through: self.ink,
        })
    }
}

/// Samples of one pixel.
pub fn channels(ink: Ink) -> usize {
    match ink {
        Ink::Grey => 1,
        Ink::Rgb => 3,
        Ink::Cmyk => 4,
    }
}

/// The way to sRGB for samples of 16 bit.
pub struct Wide {
    transform: Option<Arc<Transform16BitExecutor>>,
    from: Ink,
    through: Ink,
}

impl Wide {
    /// Converts whole pixels of `from` (its channels interleaved) to sRGB, `to` being 3 samples each.
    pub fn run(&self, from: &[u16], to: &mut [u16]) -> Option<()> {
        let equal_parts;
        let mut from = from;
        if self.from == Ink::Grey && self.through == Ink::Rgb {
            equal_parts = from.iter().flat_map(|v| [*v; 3]).collect::<Vec<_>>();
            from = &equal_parts;
        }
        match (&self.transform, self.through) {
            (Some(t), _) => t.transform(from, to).ok(),
            (None, Ink::Rgb) => {
                to.copy_from_slice(from);
                Some(())
            }
            (None, Ink::Grey) => {
                for (p, v) in to.chunks_exact_mut(3).zip(from) {
                    p.fill(*v);
                }
                Some(())
            }
            // The plain formula: what neither the ink nor black takes away.
            (None, Ink::Cmyk) => {
                for (p, ink) in to.chunks_exact_mut(3).zip(from.chunks_exact(4)) {
                    let light = |v: u16| u32::from(u16::MAX - v);
                    for (v, c) in p.iter_mut().zip(ink) {
                        *v = ((light(*c) * light(ink[3]) + 32_767) / 65_535) as u16;
                    }
                }
                Some(())
            }
        }
    }
}

/// The colour space of 8 bit RGB pixels, ready to convert.
#[derive(Clone)]
pub struct Colour {
    name: String,
    /// `None`: the pixels are sRGB.
    to_srgb: Option<Arc<Transform8BitExecutor>>,
}

impl Colour {
    /// For pixels that are sRGB, or became it, out of a space of this name.
    pub fn srgb_from(name: &str) -> Self {
        Self {
            name: name.into(),
            to_srgb: None,
        }
    }
    pub fn name(&self) -> &str {
        &self.name
    }
    pub fn is_srgb(&self) -> bool {
        self.to_srgb.is_none()
    }
    /// Whether a grid of colours comes out within one step of what went in.
    fn changes_nothing(&self) -> Option<bool> {
        let steps: Vec<u8> = (0..=255).step_by(17).collect();
        let mut grid = Vec::with_capacity(steps.len().pow(3) * 3);
        for r in &steps {
            for g in &steps {
                grid.extend(steps.iter().flat_map(|b| [*r, *g, *b]));
            }
        }
        let mut out = grid.clone();
        guarded(|| self.convert(&mut out))?;
        Some(grid.iter().zip(&out).all(|(a, b)| a.abs_diff(*b) <= 1))
    }
    /// Converts 8 bit RGB pixels to sRGB in place.
    pub fn to_srgb(&self, rgb: &mut [u8]) {
        #[cfg(test)]
        crate::base::tally::add("px converted", rgb.len() as u64 / 3);
        // The transform was tried when it was made, so there is no failure left to tell of.
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

fn srgb() -> ColorProfile {
    ColorProfile::new_srgb()
}

fn options() -> TransformOptions {
    TransformOptions {
        rendering_intent: RenderingIntent::RelativeColorimetric,
        allow_use_cicp_transfer: false,
        ..TransformOptions::default()
    }
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
    let clean: String = text.chars().filter(|c| !c.is_control()).take(40).collect();
    match clean.trim() {
        "" => "embedded profile".into(),
        text => text.into(),
    }
}

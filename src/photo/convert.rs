//! From samples as a decoder gives them to 8 bit RGB: depth, grey, ink, transparency. Owns that
//! arithmetic; refuses to know formats.

use super::colour::{Colour, Ink, RUN, Space, channels};
use super::raster::Raster;
use crate::base::geometry::Size;
use crate::base::reason::Reason;

/// Samples of one picture, interleaved, rows from the top without padding.
pub enum Samples {
    Eight(Vec<u8>),
    /// 0 to 65,535.
    Sixteen(Vec<u16>),
}

/// How much of a pixel is there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Alpha {
    /// No such sample: all of it.
    None,
    /// The last sample of each pixel.
    Straight,
    /// The last sample of each pixel, multiplied into the others already.
    Associated,
}

/// A picture as its decoder gives it, not yet upright.
pub struct Decoded {
    pub size: Size,
    pub samples: Samples,
    pub ink: Ink,
    pub alpha: Alpha,
    pub space: Space,
    pub remarks: Vec<Reason>,
}

impl Decoded {
    /// 8 bit RGB on `backdrop` (sRGB). Opaque 8 bit RGB stays in its own space, everything else is
    /// sRGB afterwards; the colour returned knows which.
    pub fn flatten(mut self, backdrop: [u8; 3]) -> (Raster, Colour, Vec<Reason>) {
        if !self.space.reads(self.ink) {
            self.misfit();
        }
        if self.alpha == Alpha::None
            && self.ink == Ink::Rgb
            && let Samples::Eight(rgb) = &mut self.samples
        {
            let rgb = std::mem::take(rgb);
            let colour = self.space.lazy().unwrap_or_else(|| {
                self.misfit();
                Colour::srgb_from("sRGB")
            });
            return (Raster::new(self.size, rgb), colour, self.remarks);
        }
        let raster = self.now(backdrop);
        let colour = Colour::srgb_from(self.space.name());
        (raster, colour, self.remarks)
    }
    /// The profile is for other samples than these.
    fn misfit(&mut self) {
        self.remarks.push(Reason::ProfileIgnored);
        self.space = match self.ink {
            Ink::Cmyk => Space::plain_cmyk(),
            _ => Space::srgb(),
        };
    }
    fn now(&mut self, backdrop: [u8; 3]) -> Raster {
        let wide = match self.space.wide(self.ink) {
            Some(wide) => wide,
            None => {
                self.misfit();
                self.space.wide(self.ink).expect("no profile, no misfit")
            }
        };
        let n = channels(self.ink);
        let stride = n + usize::from(self.alpha != Alpha::None);
        let mut out = vec![0u8; self.size.area() as usize * 3];
        let (mut from, mut to) = (vec![0u16; RUN * n], vec![0u16; RUN * 3]);
        let mut alpha = vec![u16::MAX; RUN];
        for (i, run) in out.chunks_mut(RUN * 3).enumerate() {
            let count = run.len() / 3;
            for p in 0..count {
                let at = (i * RUN + p) * stride;
                let sample = |c: usize| match &self.samples {
                    Samples::Eight(s) => u16::from(s[at + c]) * 257,
                    Samples::Sixteen(s) => s[at + c],
                };
                if stride > n {
                    alpha[p] = sample(n);
                }
                for c in 0..n {
                    let v = sample(c);
                    from[p * n + c] = match self.alpha {
                        Alpha::Associated => separate(v, alpha[p]),
                        _ => v,
                    };
                }
            }
            let to = &mut to[..count * 3];
            // The transform was tried when it was made.
            let _ = wide.run(&from[..count * n], to);
            for ((p, v), a) in run.chunks_exact_mut(3).zip(to.chunks_exact(3)).zip(&alpha) {
                for ((p, v), b) in p.iter_mut().zip(v).zip(backdrop) {
                    *p = lay_on(*v, *a, b);
                }
            }
        }
        Raster::new(self.size, out)
    }
}

/// Undoes a multiplication by alpha.
fn separate(v: u16, alpha: u16) -> u16 {
    match alpha {
        0 => 0,
        a => (u32::from(v) * 65_535 / u32::from(a)).min(65_535) as u16,
    }
}

/// One sample laid on the backdrop's, as 8 bit, in the gamma-encoded light in which editors and
/// browsers do it (common practice).
fn lay_on(v: u16, alpha: u16, backdrop: u8) -> u8 {
    let (v, a, b) = (u64::from(v), u64::from(alpha), u64::from(backdrop) * 257);
    let mixed = v * a + b * (65_535 - a);
    ((mixed * 255 + 65_535 * 65_535 / 2) / (65_535 * 65_535)) as u8
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sample_of_sixteen_bits_is_rounded_to_the_nearest_of_eight() {
        for v in 0..=u16::MAX {
            let exact = (f64::from(v) / 257.0).round() as u8;
            assert_eq!(lay_on(v, u16::MAX, 0), exact, "{v}");
        }
        assert_eq!(lay_on(12_345, 0, 200), 200);
    }

    #[test]
    fn half_a_pixel_shows_half_of_the_backdrop_whether_alpha_is_multiplied_in_or_not() {
        let picture = |alpha, samples| Decoded {
            size: Size::new(1, 1),
            samples: Samples::Eight(samples),
            ink: Ink::Rgb,
            alpha,
            space: Space::srgb(),
            remarks: Vec::new(),
        };
        for (alpha, samples) in [
            (Alpha::Straight, vec![200, 100, 0, 128]),
            (Alpha::Associated, vec![100, 50, 0, 128]),
        ] {
            let (r, colour, _) = picture(alpha, samples).flatten([0, 0, 255]);
            assert!(colour.is_srgb());
            let p = r.at(0, 0);
            assert!(p[0].abs_diff(100) <= 1 && p[1].abs_diff(50) <= 1, "{p:?}");
            assert!(p[2].abs_diff(127) <= 1, "{p:?}");
        }
    }
}

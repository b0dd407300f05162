//! From samples as a decoder gives them to 8 bit RGB: depth, grey, transparency. Owns that
//! arithmetic; refuses to know formats.

use super::colour::Colour;
use super::raster::Raster;
use crate::base::geometry::Size;

/// Samples of one picture, interleaved, rows from the top without padding.
pub enum Samples {
    Eight(Vec<u8>),
    /// 0 to 65,535.
    Sixteen(Vec<u16>),
}

/// What the samples of one pixel are, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Channels {
    Grey,
    GreyAlpha,
    Rgb,
    /// Alpha is not multiplied into the colours.
    Rgba,
}

impl Channels {
    pub fn count(self) -> usize {
        match self {
            Self::Grey => 1,
            Self::GreyAlpha => 2,
            Self::Rgb => 3,
            Self::Rgba => 4,
        }
    }
}

/// A picture as its decoder gives it, not yet upright.
pub struct Decoded {
    pub size: Size,
    pub samples: Samples,
    pub channels: Channels,
    pub colour: Colour,
}

impl Decoded {
    /// 8 bit RGB on `backdrop` (sRGB). Opaque 8 bit colours stay in their own space, everything else
    /// is sRGB afterwards; the colour space returned says which.
    pub fn flatten(self, backdrop: [u8; 3]) -> (Raster, Colour) {
        if let (Samples::Eight(rgb), Channels::Rgb) = (&self.samples, self.channels) {
            let _ = rgb;
            let Samples::Eight(rgb) = self.samples else {
                unreachable!("matched above")
            };
            return (Raster::new(self.size, rgb), self.colour);
        }
        let n = self.channels.count();
        let pixels = self.size.area() as usize;
        let mut out = vec![0u8; pixels * 3];
        const RUN: usize = 4096;
        let mut alpha = vec![255u8; RUN];
        for (i, run) in out.chunks_mut(RUN * 3).enumerate() {
            let from = i * RUN * n;
            let count = run.len() / 3;
            for p in 0..count {
                let at = from + p * n;
                let sample = |c: usize| match &self.samples {
                    Samples::Eight(s) => s[at + c],
                    Samples::Sixteen(s) => eight(s[at + c]),
                };
                let rgb = match self.channels {
                    Channels::Grey | Channels::GreyAlpha => [sample(0); 3],
                    Channels::Rgb | Channels::Rgba => [sample(0), sample(1), sample(2)],
                };
                run[p * 3..p * 3 + 3].copy_from_slice(&rgb);
                if matches!(self.channels, Channels::GreyAlpha | Channels::Rgba) {
                    alpha[p] = sample(n - 1);
                }
            }
            self.colour.to_srgb(run);
            if matches!(self.channels, Channels::GreyAlpha | Channels::Rgba) {
                lay_on(run, &alpha, backdrop);
            }
        }
        (Raster::new(self.size, out), self.colour.done())
    }
}

/// 16 bit to 8, rounded.
fn eight(v: u16) -> u8 {
    ((u32::from(v) * 255 + 32_767) / 65_535) as u8
}

/// Lays pixels on one colour by their alpha, in the gamma-encoded light in which editors and
/// browsers do it (common practice).
fn lay_on(rgb: &mut [u8], alpha: &[u8], backdrop: [u8; 3]) {
    for (p, a) in rgb.chunks_exact_mut(3).zip(alpha) {
        let a = u32::from(*a);
        for (v, b) in p.iter_mut().zip(backdrop) {
            *v = ((u32::from(*v) * a + u32::from(b) * (255 - a) + 127) / 255) as u8;
        }
    }
}

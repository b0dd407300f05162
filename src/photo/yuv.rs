//! Luma and colour differences to RGB (ITU-T H.273, 8.3). Owns that arithmetic and the filling in
//! between halved colour samples; refuses to know decoders and containers.

use super::av1::Picture;
use super::convert::Samples;
use crate::base::geometry::Rect;

/// How luma and two planes make red, green and blue.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Matrix {
    /// The planes are green, blue and red.
    Identity,
    /// Luma, orange and green differences.
    Ycgco,
    /// Luma of `kr` red and `kb` blue.
    Luma { kr: f32, kb: f32 },
}

impl Matrix {
    /// By the code points of H.273 (tables 2 and 4). Unspecified is taken as BT.601 (common
    /// practice for stills); `None` where light must be linear first, and for what is reserved.
    pub fn of(matrix: u8, primaries: u8) -> Option<Self> {
        let luma = |kr, kb| Some(Self::Luma { kr, kb });
        match (matrix, primaries) {
            (0, _) => Some(Self::Identity),
            (1, _) | (12, 1 | 2) => luma(0.2126, 0.0722),
            (4, _) => luma(0.30, 0.11),
            (2 | 5 | 6, _) => luma(0.299, 0.114),
            (7, _) => luma(0.212, 0.087),
            (8, _) => Some(Self::Ycgco),
            (9, _) | (12, 9) => luma(0.2627, 0.0593),
            // Equations 39 to 44 for the primaries of P3 under D65.
            (12, 12) => luma(0.228_975, 0.079_287),
            _ => None,
        }
    }
    /// Luma from 0 to 1 and differences from -0.5 to 0.5 (all from 0 to 1 for `Identity`).
    fn rgb(self, y: f32, u: f32, v: f32) -> [f32; 3] {
        match self {
            Self::Identity => [v, y, u],
            Self::Ycgco => {
                let t = y - u;
                [t + v, y + u, t - v]
            }
            Self::Luma { kr, kb } => {
                let r = y + 2.0 * (1.0 - kr) * v;
                let b = y + 2.0 * (1.0 - kb) * u;
                [r, (y - kr * r - kb * b) / (1.0 - kr - kb), b]
            }
        }
    }
}

/// From codes to luma from 0 to 1.
#[derive(Clone, Copy)]
pub struct Scale {
    offset: f32,
    span: f32,
}

impl Scale {
    /// Of `depth` bits (H.273, equations 20 to 28).
    pub fn luma(depth: u8, full: bool) -> Self {
        let (offset, span) = if full { (0.0, 255.0) } else { (16.0, 219.0) };
        Self::of(depth, full, offset, span)
    }
    fn chroma(depth: u8, full: bool) -> Self {
        let span = if full { 255.0 } else { 224.0 };
        Self::of(depth, full, 128.0, span)
    }
    fn of(depth: u8, full: bool, offset: f32, span: f32) -> Self {
        let step = (1u32 << (depth - 8)) as f32;
        // The full range ends at all ones, not at a multiple of 255.
        let top = (1u32 << depth) as f32 - 1.0;
        Self {
            offset: offset * step,
            span: if full { top } else { span * step },
        }
    }
    pub fn value(self, code: u16) -> f32 {
        (f32::from(code) - self.offset) / self.span
    }
    fn between(self, code: f32) -> f32 {
        (code - self.offset) / self.span
    }
}

/// Two neighbours along one axis and how much the second counts.
fn neighbours(at: usize, count: usize, halved: bool, sited: bool) -> (usize, usize, f32) {
    if !halved {
        return (at, at, 0.0);
    }
    let place = at as f32 / 2.0 - if sited { 0.0 } else { 0.25 };
    let first = place.floor();
    let inside = |n: f32| (n.max(0.0) as usize).min(count - 1);
    (inside(first), inside(first + 1.0), place - first)
}

/// Samples inside `crop`, interleaved: grey or red, green, blue, and the first plane of `alpha` behind
/// them where there is one. 8 bit, or 16 where picture or alpha have more than 8.
pub fn samples(p: &Picture, alpha: Option<&Picture>, crop: Rect, matrix: Matrix) -> Samples {
    if p.depth > 8 || alpha.is_some_and(|a| a.depth > 8) {
        Samples::Sixteen(rows(p, alpha, crop, matrix, |v| {
            (v.clamp(0.0, 1.0) * 65_535.0 + 0.5) as u16
        }))
    } else {
        Samples::Eight(rows(p, alpha, crop, matrix, |v| {
            (v.clamp(0.0, 1.0) * 255.0 + 0.5) as u8
        }))
    }
}

fn rows<T>(
    p: &Picture,
    alpha: Option<&Picture>,
    crop: Rect,
    matrix: Matrix,
    out: impl Fn(f32) -> T,
) -> Vec<T> {
    let grey = p.planes.len() == 1;
    let luma = Scale::luma(p.depth, p.full_range);
    let chroma = match matrix {
        Matrix::Identity => luma,
        _ => Scale::chroma(p.depth, p.full_range),
    };
    let clear = alpha.map(|a| (a, Scale::luma(a.depth, a.full_range)));
    let channels = if grey { 1 } else { 3 } + usize::from(alpha.is_some());
    let mut to = Vec::with_capacity(crop.area() as usize * channels);
    let (cw, ch) = p.plane_size(1);
    let (left, right) = (crop.x as usize, crop.right() as usize);
    let across: Vec<_> = (left..right)
        .map(|x| neighbours(x, cw, p.halved.0, p.sited.0))
        .collect();
    // One row of each colour plane, filled in between rows.
    let mut mixed = [vec![0f32; cw], vec![0f32; cw]];
    for y in crop.y as usize..crop.bottom() as usize {
        if !grey {
            let (a, b, t) = neighbours(y, ch, p.halved.1, p.sited.1);
            for (row, plane) in mixed.iter_mut().zip(&p.planes[1..]) {
                let pairs = plane[a * cw..][..cw].iter().zip(&plane[b * cw..][..cw]);
                for (to, (a, b)) in row.iter_mut().zip(pairs) {
                    let (a, b) = (f32::from(*a), f32::from(*b));
                    *to = chroma.between(a + (b - a) * t);
                }
            }
        }
        let row = &p.planes[0][y * p.w..][..p.w];
        for (x, (a, b, t)) in (left..right).zip(&across) {
            let light = luma.value(row[x]);
            if grey {
                to.push(out(light));
            } else {
                let [u, v] = [0, 1].map(|c| mixed[c][*a] + (mixed[c][*b] - mixed[c][*a]) * t);
                to.extend(matrix.rgb(light, u, v).map(&out));
            }
            if let Some((a, scale)) = clear {
                to.push(out(scale.value(a.planes[0][y * a.w + x])));
            }
        }
    }
    to
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One pixel of `codes`.
    fn pixel(codes: [u16; 3], depth: u8, full: bool, matrix: Matrix) -> Vec<u16> {
        let p = Picture {
            w: 1,
            h: 1,
            depth,
            planes: codes.map(|c| vec![c]).to_vec(),
            halved: (false, false),
            sited: (false, false),
            primaries: 1,
            transfer: 13,
            matrix: 1,
            full_range: full,
        };
        let crop = Rect {
            x: 0,
            y: 0,
            w: 1,
            h: 1,
        };
        match samples(&p, None, crop, matrix) {
            Samples::Eight(s) => s.into_iter().map(u16::from).collect(),
            Samples::Sixteen(s) => s,
        }
    }

    #[test]
    fn bars_of_full_colour_have_the_codes_that_the_standards_print() {
        // 8 bit codes of 100 % bars, limited range, rounded from the equations of BT.601 and BT.709.
        let bt601 = Matrix::of(6, 6).unwrap();
        let bt709 = Matrix::of(1, 1).unwrap();
        for (codes, matrix, rgb) in [
            ([235, 128, 128], bt601, [255, 255, 255]),
            ([16, 128, 128], bt601, [0, 0, 0]),
            ([81, 90, 240], bt601, [255, 0, 0]),
            ([145, 54, 34], bt601, [0, 255, 0]),
            ([41, 240, 110], bt601, [0, 0, 255]),
            ([63, 102, 240], bt709, [255, 0, 0]),
            ([173, 42, 26], bt709, [0, 255, 0]),
            ([32, 240, 118], bt709, [0, 0, 255]),
        ] {
            let got = pixel(codes, 8, false, matrix);
            for (g, e) in got.iter().zip(rgb) {
                assert!(g.abs_diff(e) <= 2, "{codes:?}: {got:?}");
            }
        }
        assert_eq!(pixel([1023, 512, 512], 10, true, bt709)[0], 65_535);
        assert_eq!(pixel([10, 20, 30], 8, true, Matrix::Identity), [30, 10, 20]);
        // Half light and no difference is grey; a green difference takes from red and blue.
        assert_eq!(pixel([100, 128, 128], 8, true, Matrix::Ycgco), [100; 3]);
        assert_eq!(
            pixel([100, 138, 128], 8, true, Matrix::Ycgco),
            [90, 110, 90]
        );
    }

    #[test]
    fn what_needs_linear_light_is_not_guessed() {
        for matrix in [3, 10, 11, 13, 14, 16, 255] {
            assert_eq!(Matrix::of(matrix, 1), None, "{matrix}");
        }
        assert_eq!(Matrix::of(12, 9), Matrix::of(9, 9));
    }

    #[test]
    fn halved_colour_is_filled_in_between_its_samples() {
        assert_eq!(neighbours(0, 2, true, false), (0, 0, 0.75));
        assert_eq!(neighbours(1, 2, true, false), (0, 1, 0.25));
        assert_eq!(neighbours(2, 2, true, false), (0, 1, 0.75));
        assert_eq!(neighbours(3, 2, true, false), (1, 1, 0.25));
        assert_eq!(neighbours(2, 2, true, true), (1, 1, 0.0));
        assert_eq!(neighbours(5, 9, false, false), (5, 5, 0.0));
    }
}

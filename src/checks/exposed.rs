//! What is lost at both ends of the scale, and the colour of a light plain backdrop. Owns the counts;
//! refuses to know how much is too much.

use crate::base::geometry::Rect;
use crate::photo::raster::Raster;

/// A channel from which nothing is left of the highlights, and up to which nothing of the shadows (8 bit;
/// a step of grace for the noise of a codec).
const WHITE: u8 = 254;
const BLACK: u8 = 2;
/// Largest spread of a plain backdrop's luma, standard deviation of 8 bit values.
const PLAIN: f64 = 18.0;
/// Least CIELAB lightness of a backdrop that was meant to be white or light grey.
const LIGHT: f64 = 70.0;
/// Chroma above which the backdrop is a coloured paper.
const PAPER: f64 = 35.0;

/// Shares of the product that are burnt out to white and lost in black. Counted inside the ellipse within
/// the box, drawn in by a sixth, so that the backdrop beside the product does not count.
pub fn lost(photo: &Raster, subject: Rect) -> (f64, f64) {
    let step = (subject.size().long() / 500).max(1) as usize;
    let ((cx, cy), (rx, ry)) = (
        subject.centre(),
        (f64::from(subject.w) / 2.4, f64::from(subject.h) / 2.4),
    );
    let (mut n, mut burnt, mut black) = (0u64, 0u64, 0u64);
    for y in (subject.y..subject.bottom()).step_by(step) {
        for x in (subject.x..subject.right()).step_by(step) {
            let (u, v) = (
                (f64::from(x) + 0.5 - cx) / rx,
                (f64::from(y) + 0.5 - cy) / ry,
            );
            if u * u + v * v <= 1.0 {
                let px = photo.at(x, y);
                n += 1;
                burnt += u64::from(px.iter().all(|c| *c >= WHITE));
                black += u64::from(px.iter().all(|c| *c <= BLACK));
            }
        }
    }
    let share = |k: u64| k as f64 / n.max(1) as f64;
    (share(burnt), share(black))
}

/// CIELAB chroma (CIE 15, D65) of the frame's border when it is plain, light, faintly coloured and its colour
/// lies between blue and yellow, as the light's does; the product's box does not count.
pub fn cast(photo: &Raster, subject: Rect) -> Option<f64> {
    let size = photo.size();
    let deep = (size.short() / 16).max(1);
    let step = (size.long() / 400).max(1) as usize;
    let (mut n, mut sum, mut luma, mut squares) = (0.0, [0.0; 3], 0.0, 0.0);
    for y in (0..size.h).step_by(step) {
        for x in (0..size.w).step_by(step) {
            let inner = x >= deep && y >= deep && x < size.w - deep && y < size.h - deep;
            let product = subject.contains(Rect::new(x, y, 1, 1));
            if inner || product {
                continue;
            }
            let px = photo.at(x, y);
            let l = super::luma(px);
            n += 1.0;
            luma += l;
            squares += l * l;
            for (s, c) in sum.iter_mut().zip(px) {
                *s += linear(f64::from(c) / 255.0);
            }
        }
    }
    let spread = (squares / n - (luma / n) * (luma / n)).max(0.0).sqrt();
    let [l, a, b] = lab(sum.map(|s| s / n));
    let chroma = a.hypot(b);
    let of_the_light = b.abs() > a.abs();
    (spread <= PLAIN && l >= LIGHT && chroma <= PAPER && of_the_light).then_some(chroma)
}

/// sRGB's curve undone (IEC 61966-2-1).
fn linear(v: f64) -> f64 {
    if v <= 0.040_45 {
        v / 12.92
    } else {
        ((v + 0.055) / 1.055).powf(2.4)
    }
}

/// CIELAB of linear sRGB.
fn lab([r, g, b]: [f64; 3]) -> [f64; 3] {
    let x = (0.4124 * r + 0.3576 * g + 0.1805 * b) / 0.9505;
    let y = 0.2126 * r + 0.7152 * g + 0.0722 * b;
    let z = (0.0193 * r + 0.1192 * g + 0.9505 * b) / 1.089;
    let f = |t: f64| {
        if t > 216.0 / 24389.0 {
            t.cbrt()
        } else {
            (24389.0 / 27.0 * t + 16.0) / 116.0
        }
    };
    [
        116.0 * f(y) - 16.0,
        500.0 * (f(x) - f(y)),
        200.0 * (f(y) - f(z)),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::geometry::Size;

    #[test]
    fn lab_of_known_colours() {
        // Values of the primaries from memory of colour science tables: red 53.2, 80.1, 67.2.
        let [l, a, b] = lab([1.0, 0.0, 0.0]);
        assert!((l - 53.2).abs() < 0.2 && (a - 80.1).abs() < 0.3 && (b - 67.2).abs() < 0.3);
        let [l, a, b] = lab([1.0, 1.0, 1.0]);
        assert!((l - 100.0).abs() < 0.1 && a.abs() < 0.1 && b.abs() < 0.1);
    }

    #[test]
    fn a_yellow_sheet_has_a_cast_and_white_and_red_paper_have_none() {
        let of = |rgb| {
            cast(
                &Raster::filled(Size::new(300, 200), rgb),
                Rect::new(100, 50, 100, 100),
            )
        };
        assert!(of([250, 232, 200]).unwrap() > 15.0);
        assert!(of([236, 235, 232]).unwrap() < 4.0);
        assert_eq!(of([250, 190, 200]), None, "a pink paper is no light");
        assert_eq!(of([60, 50, 30]), None, "a dark ground says nothing");
    }

    #[test]
    fn burnt_and_black_are_counted_on_the_product_alone() {
        let size = Size::new(300, 300);
        let mut photo = Raster::filled(size, [255, 255, 255]);
        let product = Rect::new(100, 100, 100, 100);
        for y in 100..200 {
            for x in 100..200 {
                let i = (y * 300 + x) * 3;
                let v = if x < 150 { 0 } else { 120 };
                photo.pixels_mut()[i..i + 3].fill(v);
            }
        }
        let (burnt, black) = lost(&photo, product);
        assert_eq!(burnt, 0.0);
        assert!((black - 0.5).abs() < 0.02, "{black}");
    }
}

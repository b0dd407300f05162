//! Faults put into a picture: blur, exposure, the light's colour, a turned, moved or nearer camera. Owns
//! plain arithmetic on pixels; refuses to know what is measured.

use stallhand::base::geometry::{Rect, Size};
use stallhand::photo::raster::Raster;

/// sRGB's curve undone (IEC 61966-2-1).
fn linear(v: u8) -> f64 {
    let v = f64::from(v) / 255.0;
    if v <= 0.040_45 {
        v / 12.92
    } else {
        ((v + 0.055) / 1.055).powf(2.4)
    }
}

fn encoded(v: f64) -> u8 {
    let v = v.clamp(0.0, 1.0);
    let v = if v <= 0.003_130_8 {
        12.92 * v
    } else {
        1.055 * v.powf(1.0 / 2.4) - 0.055
    };
    (v * 255.0).round() as u8
}

/// Each channel's light multiplied.
pub fn lit(photo: &Raster, by: [f64; 3]) -> Raster {
    let table: Vec<[u8; 3]> = (0..=255u8)
        .map(|v| by.map(|b| encoded(linear(v) * b)))
        .collect();
    let mut out = photo.clone();
    for px in out.pixels_mut().chunks_exact_mut(3) {
        for (c, v) in px.iter_mut().enumerate() {
            *v = table[usize::from(*v)][c];
        }
    }
    out
}

/// `stops` over (or under, negative).
pub fn exposed(photo: &Raster, stops: f64) -> Raster {
    lit(photo, [stops.exp2(); 3])
}

/// Contrast as a careless tone curve makes it: everything up to `black` (0 to 1, encoded) is lost.
pub fn crushed(photo: &Raster, black: f64) -> Raster {
    let mut out = photo.clone();
    for v in out.pixels_mut() {
        let c = (f64::from(*v) / 255.0 - black) / (1.0 - black);
        *v = (c.max(0.0) * 255.0).round() as u8;
    }
    out
}

fn as_image(photo: &Raster) -> image::RgbImage {
    let size = photo.size();
    image::RgbImage::from_raw(size.w, size.h, photo.pixels().to_vec())
        .expect("as many bytes as pixels")
}

fn as_raster(img: image::RgbImage) -> Raster {
    Raster::new(Size::new(img.width(), img.height()), img.into_raw())
}

/// A Gaussian of that standard deviation, px of the picture as given.
pub fn blurred(photo: &Raster, sigma: f32) -> Raster {
    as_raster(image::imageops::blur(&as_image(photo), sigma))
}

fn sample(photo: &Raster, x: f64, y: f64) -> [u8; 3] {
    let size = photo.size();
    let x = x.clamp(0.0, f64::from(size.w - 1));
    let y = y.clamp(0.0, f64::from(size.h - 1));
    let (x0, y0) = (x as u32, y as u32);
    let (x1, y1) = ((x0 + 1).min(size.w - 1), (y0 + 1).min(size.h - 1));
    let (u, v) = (x - f64::from(x0), y - f64::from(y0));
    let [a, b, c, d] = [(x0, y0), (x1, y0), (x0, y1), (x1, y1)].map(|(x, y)| photo.at(x, y));
    std::array::from_fn(|i| {
        let [a, b, c, d] = [a[i], b[i], c[i], d[i]].map(f64::from);
        (a * (1.0 - u) * (1.0 - v) + b * u * (1.0 - v) + c * (1.0 - u) * v + d * u * v).round()
            as u8
    })
}

fn mapped(photo: &Raster, from: impl Fn(f64, f64) -> (f64, f64)) -> Raster {
    let size = photo.size();
    let mut pixels = Vec::with_capacity(photo.pixels().len());
    for y in 0..size.h {
        for x in 0..size.w {
            let (u, v) = from(f64::from(x), f64::from(y));
            pixels.extend(sample(photo, u, v));
        }
    }
    Raster::new(size, pixels)
}

/// The camera rolled by so many degrees: turned about the middle and drawn in until no corner is empty.
pub fn turned(photo: &Raster, degrees: f64) -> Raster {
    let size = photo.size();
    let (w, h) = (f64::from(size.w), f64::from(size.h));
    let (sin, cos) = degrees.to_radians().sin_cos();
    let long = w.max(h) / w.min(h);
    let zoom = 1.0 / (cos.abs() + long * sin.abs());
    mapped(photo, |x, y| {
        let (x, y) = ((x - w / 2.0) * zoom, (y - h / 2.0) * zoom);
        (x * cos + y * sin + w / 2.0, y * cos - x * sin + h / 2.0)
    })
}

/// The frame moved by a part of its long side, and a little nearer so that nothing is empty.
pub fn moved(photo: &Raster, part: f64) -> Raster {
    let size = photo.size();
    let (w, h) = (f64::from(size.w), f64::from(size.h));
    let step = part * w.max(h);
    let zoom = 1.0 - 2.0 * part;
    mapped(photo, |x, y| {
        (
            (x - w / 2.0) * zoom + w / 2.0 + step,
            (y - h / 2.0) * zoom + h / 2.0 + step * h / w,
        )
    })
}

/// The same picture with everything in it `part` of the size; with the product's place.
pub fn farther(photo: &Raster, subject: Option<Rect>, part: f64) -> (Raster, Rect) {
    let size = photo.size();
    let subject =
        subject.unwrap_or_else(|| Rect::new(size.w / 4, size.h / 4, size.w / 2, size.h / 2));
    let to = |v: u32| ((f64::from(v) * part) as u32).max(1);
    let (w, h) = (to(size.w), to(size.h));
    let small = image::imageops::resize(
        &as_image(photo),
        w,
        h,
        image::imageops::FilterType::Lanczos3,
    );
    let (x, y) = (to(subject.x), to(subject.y));
    let place = Rect::new(x, y, to(subject.w).min(w - x), to(subject.h).min(h - y));
    (as_raster(small), place)
}

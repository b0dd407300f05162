//! The bench's photos: small pictures made into 21 MP camera files. Owns the made-up detail and
//! noise; refuses to know what is measured on them.
//!
//! Natural pictures carry about the same contrast in every octave of detail (Field 1987), which
//! plain enlarging leaves out: the two missing octaves are put back as noise whose strength is
//! the picture's own finest contrast at that place. Then comes a sensor's noise, growing with the
//! square root of the light, and a camera's own JPEG.

use fast_image_resize::images::{Image, ImageRef};
use fast_image_resize::{PixelType, Resizer};
use mozjpeg::{ColorSpace, Compress};

/// Pixels of the made photos, width x height (21 MP).
pub const SIZE: (u32, u32) = (5328, 4000);
/// Standard deviation of the sensor's noise at mid grey, of 255.
const NOISE: f32 = 2.2;
/// Most that a small picture is enlarged; a smaller one is laid side by side with its mirror images.
const MOST_ENLARGED: f64 = 4.2;
/// Share of the finest contrast that is given to each octave put back; edges count in it as well.
const DETAIL: f32 = 0.5;
/// Quality of the camera's JPEG.
const CAMERA_QUALITY: f32 = 94.0;

/// RGB pixels of a picture, width x height x 3.
pub struct Picture {
    pub w: u32,
    pub h: u32,
    pub rgb: Vec<u8>,
}

/// Makes a camera file of 21 MP from a small picture, the same bytes for the same `seed`.
pub fn camera_file(small: &Picture, seed: u32) -> Vec<u8> {
    let (w, h) = SIZE;
    let small = four_by_three(&mirrored(small, (f64::from(w) / MOST_ENLARGED) as u32));
    let mut big = enlarged(&small, w, h);
    let octaves = (f64::from(w) / f64::from(small.w)).log2().round() as i32;
    let contrast = finest_contrast(&small);
    let (sx, sy) = (small.w as f32 / w as f32, small.h as f32 / h as f32);
    let row = w as usize * 3;
    for y in 0..h {
        let cy = ((y as f32 * sy) as u32).min(small.h - 1);
        for x in 0..w {
            let cx = ((x as f32 * sx) as u32).min(small.w - 1);
            let local = contrast[(cy * small.w + cx) as usize];
            let mut detail = 0.0;
            for octave in 0..octaves {
                detail += band(x, y, octave as u32, seed);
            }
            detail *= DETAIL * local;
            let i = y as usize * row + x as usize * 3;
            for c in 0..3 {
                let v = f32::from(big[i + c]);
                let light = (v / 128.0).clamp(0.15, 2.0).sqrt();
                let noise = NOISE * light * soft(x, y, seed ^ (0x9E37 + c as u32 * 77));
                big[i + c] = (v + detail + noise).round().clamp(0.0, 255.0) as u8;
            }
        }
    }
    jpeg(&big, w, h, (2, 1))
}

/// A ball of saturated yarn on a grey sweep, at camera size: colour changes from thread to thread,
/// which is what half the colour sampling loses. `thread` is its width in px, `dye` the share of the
/// yarn's colour that is not faded, 0 to 1.
pub fn woven(thread: f32, dye: f32, seed: u32) -> Vec<u8> {
    let yarns = [
        [190.0, 20.0, 40.0],
        [40.0, 40.0, 190.0],
        [200.0, 30.0, 160.0],
        [220.0, 120.0, 20.0],
    ]
    .map(|yarn: [f32; 3]| {
        let grey = 0.299 * yarn[0] + 0.587 * yarn[1] + 0.114 * yarn[2];
        yarn.map(|c| c * dye + grey * (1.0 - dye))
    });
    let (w, h) = SIZE;
    let mut rgb = Vec::with_capacity((w * h * 3) as usize);
    for y in 0..h {
        for x in 0..w {
            let (fx, fy) = (x as f32, y as f32);
            let (dx, dy) = (fx / w as f32 - 0.5, (fy / h as f32 - 0.5) * 0.8);
            let inside = dx * dx + dy * dy < 0.055;
            let u = (fx + 16.0 * (fy / 180.0).sin()) / thread;
            let v = (fy + 16.0 * (fx / 220.0).sin()) / thread;
            let over = (u.floor() + v.floor()) as i64 % 2 == 0;
            let (at, part) = if over { (u, u.fract()) } else { (v, v.fract()) };
            let pick = mixed(at as u32, u32::from(over), seed) as usize % 4;
            let shade = 0.55 + 0.45 * (part * std::f32::consts::PI).sin();
            for (c, yarn) in yarns[pick].iter().enumerate() {
                let colour = if inside {
                    yarn * shade
                } else {
                    200.0 - fy / 80.0
                };
                let noise = NOISE * soft(x, y, seed ^ (0x51 + c as u32 * 77));
                rgb.push((colour + noise).round().clamp(0.0, 255.0) as u8);
            }
        }
    }
    jpeg(&rgb, w, h, (1, 1))
}

/// The picture laid out with its mirror images until it is at least `least` px wide.
fn mirrored(p: &Picture, least: u32) -> Picture {
    let n = least.div_ceil(p.w).max(1);
    let (w, h) = (p.w * n, p.h * n);
    let fold = |v: u32, side: u32| {
        let v = v % (2 * side);
        if v < side { v } else { 2 * side - 1 - v }
    };
    let mut rgb = Vec::with_capacity((w * h * 3) as usize);
    for y in 0..h {
        for x in 0..w {
            let i = ((fold(y, p.h) * p.w + fold(x, p.w)) * 3) as usize;
            rgb.extend_from_slice(&p.rgb[i..i + 3]);
        }
    }
    Picture { w, h, rgb }
}

/// The largest middle part of shape 4:3.
fn four_by_three(p: &Picture) -> Picture {
    let (w, h) = if p.w * 3 > p.h * 4 {
        (p.h * 4 / 3, p.h)
    } else {
        (p.w, p.w * 3 / 4)
    };
    let (x0, y0) = ((p.w - w) / 2, (p.h - h) / 2);
    let mut rgb = Vec::with_capacity((w * h * 3) as usize);
    for y in y0..y0 + h {
        let i = ((y * p.w + x0) * 3) as usize;
        rgb.extend_from_slice(&p.rgb[i..i + (w * 3) as usize]);
    }
    Picture { w, h, rgb }
}

fn enlarged(p: &Picture, w: u32, h: u32) -> Vec<u8> {
    let source = ImageRef::new(p.w, p.h, &p.rgb, PixelType::U8x3).expect("a picture");
    let mut out = Image::new(w, h, PixelType::U8x3);
    Resizer::new()
        .resize(&source, &mut out, None)
        .expect("an enlargement");
    out.into_vec()
}

/// Standard deviation of the green channel against its 3x3 mean, averaged over 5x5 px.
fn finest_contrast(p: &Picture) -> Vec<f32> {
    let (w, h) = (p.w as i32, p.h as i32);
    let at = |x: i32, y: i32| {
        f32::from(p.rgb[((y.clamp(0, h - 1) * w + x.clamp(0, w - 1)) * 3 + 1) as usize])
    };
    let mut fine = vec![0.0f32; (w * h) as usize];
    for y in 0..h {
        for x in 0..w {
            let mut mean = 0.0;
            for (dx, dy) in (-1..=1).flat_map(|dy| (-1..=1).map(move |dx| (dx, dy))) {
                mean += at(x + dx, y + dy);
            }
            fine[(y * w + x) as usize] = (at(x, y) - mean / 9.0).powi(2);
        }
    }
    let mut out = vec![0.0; fine.len()];
    for y in 0..h {
        for x in 0..w {
            let mut sum = 0.0;
            for (dx, dy) in (-2..=2).flat_map(|dy| (-2..=2).map(move |dx| (dx, dy))) {
                sum += fine[((y + dy).clamp(0, h - 1) * w + (x + dx).clamp(0, w - 1)) as usize];
            }
            out[(y * w + x) as usize] = (sum / 25.0).sqrt();
        }
    }
    out
}

/// One octave of smooth noise, standard deviation about 1, period 2^(octave + 1) px.
fn band(x: u32, y: u32, octave: u32, seed: u32) -> f32 {
    let seed = seed.wrapping_add(octave * 101);
    if octave == 0 {
        return 0.8 * soft(x, y, seed);
    }
    let step = 1 << octave;
    let (gx, gy) = (x / step, y / step);
    let (fx, fy) = (
        (x % step) as f32 / step as f32,
        (y % step) as f32 / step as f32,
    );
    let top = gauss(gx, gy, seed) * (1.0 - fx) + gauss(gx + 1, gy, seed) * fx;
    let low = gauss(gx, gy + 1, seed) * (1.0 - fx) + gauss(gx + 1, gy + 1, seed) * fx;
    1.4 * (top * (1.0 - fy) + low * fy)
}

/// Noise as it leaves a colour filter's interpolation: neighbours share a part of it.
fn soft(x: u32, y: u32, seed: u32) -> f32 {
    0.8 * gauss(x, y, seed) + 0.42 * (gauss(x + 1, y, seed) + gauss(x, y + 1, seed))
}

/// A number that looks random but is the same on every run.
fn mixed(x: u32, y: u32, seed: u32) -> u32 {
    let mut n = x
        .wrapping_mul(0x9E37_79B1)
        .wrapping_add(y.wrapping_mul(0x85EB_CA77))
        .wrapping_add(seed.wrapping_mul(0xC2B2_AE3D));
    n = (n ^ (n >> 15)).wrapping_mul(0x2C1B_3C6D);
    n = (n ^ (n >> 12)).wrapping_mul(0x297A_2D39);
    n ^ (n >> 15)
}

/// About normal, mean 0, standard deviation 1: the sum of four uniform bytes of one hash.
fn gauss(x: u32, y: u32, seed: u32) -> f32 {
    let sum: u32 = mixed(x, y, seed)
        .to_le_bytes()
        .iter()
        .map(|&b| u32::from(b))
        .sum();
    (sum as f32 - 510.0) / 147.8
}

/// A camera file of any size, enlarged without added detail; baseline or progressive.
pub fn plain(small: &Picture, w: u32, h: u32, progressive: bool) -> Vec<u8> {
    let rgb = enlarged(small, w, h);
    if progressive {
        written(&rgb, w, h, (2, 1), true)
    } else {
        jpeg(&rgb, w, h, (2, 1))
    }
}

/// A baseline JPEG as a camera writes it: the customary tables, colour sampled per `colour_px`.
fn jpeg(rgb: &[u8], w: u32, h: u32, colour_px: (u8, u8)) -> Vec<u8> {
    written(rgb, w, h, colour_px, false)
}

fn written(rgb: &[u8], w: u32, h: u32, colour_px: (u8, u8), progressive: bool) -> Vec<u8> {
    let mut c = Compress::new(ColorSpace::JCS_RGB);
    c.set_fastest_defaults();
    c.set_size(w as usize, h as usize);
    c.set_quality(CAMERA_QUALITY);
    c.set_chroma_sampling_pixel_sizes(colour_px, colour_px);
    if progressive {
        c.set_optimize_coding(true);
        c.set_progressive_mode();
    }
    let mut c = c.start_compress(Vec::new()).expect("an encoder");
    c.write_scanlines(rgb).expect("rows");
    c.finish().expect("a file")
}

//! Facts about reading photos: what is taken, what is refused, and that colours and sides are right.

mod avif;
mod bounds;
pub mod build;
mod colour;
mod delta;
mod formats;
mod heic;
mod jpeg;
mod mutate;
mod raw;

pub use bounds::Counting;
use stallhand::base::reason::{Reason, Refusal};
use stallhand::config::profile::Limits;
use stallhand::photo::raster::Raster;
use stallhand::photo::{self, Photo};

pub const WHITE: [u8; 3] = [255; 3];
/// Size of the scene in the corpus, px.
pub const W: u32 = 96;
pub const H: u32 = 64;

pub fn corpus(name: &str) -> Vec<u8> {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/facts/corpus/");
    std::fs::read(format!("{path}{name}")).unwrap_or_else(|e| panic!("{name}: {e}"))
}

pub fn open(bytes: &[u8]) -> Result<Photo, Refusal> {
    open_as(bytes, "IMG_1.JPG")
}

pub fn open_as(bytes: &[u8], name: &str) -> Result<Photo, Refusal> {
    let limits = Limits::default();
    let opened = photo::open(bytes, &limits, WHITE, name);
    // The header alone must tell the same as the whole.
    if let Ok(p) = &opened {
        let header = photo::survey(bytes, &limits).expect("what opens can be surveyed");
        assert_eq!(header, p.header);
        assert_eq!(header.size, p.raster.size());
    }
    opened
}

/// Why a file is refused.
pub fn refused(bytes: &[u8]) -> Reason {
    match open(bytes) {
        Ok(_) => panic!("this was taken"),
        Err(r) => {
            assert!(!r.detail.is_empty() && !r.detail.ends_with('.'), "{r}");
            r.reason
        }
    }
}

/// The scene of the corpus (see its recipe), `w` x `h`, 0 to 1.
pub fn scene_value(x: u32, y: u32, w: u32, h: u32) -> [f64; 3] {
    if (8..24).contains(&x) && (8..24).contains(&y) {
        return [0.95, 0.9, 0.85];
    }
    let (dx, dy) = (f64::from(x) - 64.0, f64::from(y) - 40.0);
    if dx * dx + dy * dy < 144.0 {
        return [0.1, 0.15, 0.3];
    }
    let r = f64::from(x) / f64::from(w - 1);
    let g = f64::from(y) / f64::from(h - 1);
    let b = 1.0 - f64::from(x + y) / f64::from(w + h - 2);
    [r, g, b].map(|v| v * 0.8 + 0.1)
}

pub fn scene() -> Vec<u8> {
    scene_of(W, H)
}

pub fn scene_of(w: u32, h: u32) -> Vec<u8> {
    (0..h)
        .flat_map(|y| (0..w).flat_map(move |x| scene_value(x, y, w, h)))
        .map(|v| (v * 255.0).round_ties_even() as u8)
        .collect()
}

/// Mean and largest difference of two pictures' samples.
pub fn difference(a: &[u8], b: &[u8]) -> (f64, u8) {
    assert_eq!(a.len(), b.len());
    let (mut sum, mut most) = (0u64, 0);
    for (a, b) in a.iter().zip(b) {
        let d = a.abs_diff(*b);
        sum += u64::from(d);
        most = most.max(d);
    }
    (sum as f64 / a.len() as f64, most)
}

pub fn assert_near(name: &str, got: &Raster, expected: &[u8], mean: f64, most: u8) {
    let (m, x) = difference(got.pixels(), expected);
    println!("{name}: mean {m:.3}, most {x}");
    assert!(m <= mean && x <= most, "{name}: mean {m:.3}, most {x}");
}

/// The pixels of a reference picture, RGB or RGBA laid on white.
pub fn reference(name: &str) -> Vec<u8> {
    let decoder = png::Decoder::new(std::io::Cursor::new(corpus(name)));
    let mut reader = decoder.read_info().unwrap();
    let mut out = vec![0; reader.output_buffer_size().unwrap()];
    let info = reader.next_frame(&mut out).unwrap();
    match info.color_type {
        png::ColorType::Rgb => out,
        png::ColorType::Grayscale => out.iter().flat_map(|v| [*v; 3]).collect(),
        png::ColorType::Rgba => out
            .chunks_exact(4)
            .flat_map(|p| {
                let a = f64::from(p[3]) / 255.0;
                let lay = move |v: u8| (f64::from(v) * a + 255.0 * (1.0 - a)).round() as u8;
                [lay(p[0]), lay(p[1]), lay(p[2])]
            })
            .collect(),
        other => panic!("{name}: {other:?}"),
    }
}

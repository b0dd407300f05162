//! The encoder by itself: bytes at equal score against libjpeg-turbo, and the choice of colour
//! sampling against both. Owns these two tables; refuses to know what a whole photo costs.

use std::path::{Path, PathBuf};

use mozjpeg::{ColorSpace, Compress};
use stallhand::base::geometry::{Rect, Size};
use stallhand::config::profile::Limits;
use stallhand::photo;
use stallhand::photo::raster::Raster;
use stallhand::render::encode::{self, Chroma};
use stallhand::render::{chroma_of, resize, score};

use crate::contest::share_of_choice;
use crate::report::{median, worst};

/// Half of the trade's crop, so that the many scores take minutes, not hours.
const CROP: Rect = Rect::new(1700, 1280, 1922, 1442);
const OUT: Size = Size::new(1333, 1000);

/// `photos` are compared with the other encoder, `faded` ones for the choice of sampling alone.
pub fn print(photos: &[PathBuf], faded: &[PathBuf]) {
    println!(
        "\nequal score: ours / libjpeg-turbo (optimised, progressive, 4:2:0) at its quality 80"
    );
    println!(
        "chroma: score of 4:4:4 less 4:2:0 at equal bytes, the choice, its share of the CPU time"
    );
    let (mut ratios, mut lost, mut shares) = (Vec::new(), Vec::new(), Vec::new());
    for path in photos {
        let picture = picture_of(path);
        let theirs = turbo(&picture);
        let wanted = scored(&picture, &theirs);
        let choice = Choice::of(&picture, path);
        let ratio = bytes_at(&picture, choice.chosen, wanted) / theirs.len() as f64;
        let kb = theirs.len() / 1000;
        println!(
            "{:16} {kb:4} KB, score {wanted:.1}: {ratio:.3} | {choice}",
            name(path)
        );
        ratios.push(ratio);
        lost.push(choice.lost);
        shares.push(choice.share);
    }
    println!(
        "bytes at equal score: median {:.3}, worst {:.3}; score lost by the choice: worst {:.1}",
        median(ratios.clone()),
        worst(ratios),
        worst(lost)
    );
    println!(
        "the choice took at most {:.1} % of the CPU time",
        100.0 * worst(shares)
    );
    let (mut lost, mut shares) = (Vec::new(), Vec::new());
    println!("\nfaded yarns, the choice alone");
    for path in faded {
        let choice = Choice::of(&picture_of(path), path);
        println!("{:16} {choice}", name(path));
        lost.push(choice.lost);
        shares.push(choice.share);
    }
    println!(
        "score lost by the choice: worst {:.1}; it took at most {:.1} % of the CPU time",
        worst(lost),
        100.0 * worst(shares)
    );
}

fn name(path: &Path) -> std::borrow::Cow<'_, str> {
    path.file_stem().unwrap_or_default().to_string_lossy()
}

fn picture_of(path: &Path) -> Raster {
    let bytes = std::fs::read(path).expect("the bench's photo");
    let photo = photo::open(&bytes, &Limits::default(), [255; 3], "").expect("a photo");
    resize::crop_to(&photo.raster, CROP, OUT).expect("a crop")
}

/// What was chosen for a picture, and what the choice was worth and cost.
struct Choice {
    chosen: Chroma,
    gain: f64,
    lost: f64,
    share: f64,
}
impl Choice {
    fn of(picture: &Raster, path: &Path) -> Self {
        let chosen = chroma_of(picture).expect("a choice");
        let gain = gain_of_full(picture);
        let full = chosen == Chroma::Full;
        Self {
            chosen,
            gain,
            lost: if full { -gain } else { gain }.max(0.0),
            share: share_of_choice(path).unwrap_or(0.0),
        }
    }
}
impl std::fmt::Display for Choice {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        let (gain, lost) = (self.gain, self.lost);
        let percent = 100.0 * self.share;
        let chosen = self.chosen.name();
        write!(
            f,
            "{gain:+.1}, chose {chosen}, lost {lost:.1}, {percent:.1} %"
        )
    }
}

/// mozjpeg's library with its own additions off writes what libjpeg-turbo writes.
fn turbo(picture: &Raster) -> Vec<u8> {
    let mut c = Compress::new(ColorSpace::JCS_RGB);
    c.set_fastest_defaults();
    c.set_size(picture.size().w as usize, picture.size().h as usize);
    c.set_quality(80.0);
    c.set_optimize_coding(true);
    c.set_progressive_mode();
    let mut c = c.start_compress(Vec::new()).expect("an encoder");
    c.write_scanlines(picture.pixels()).expect("rows");
    c.finish().expect("a file")
}

fn scored(picture: &Raster, bytes: &[u8]) -> f64 {
    let seen = encode::decoded(bytes).expect("a picture");
    score::ssimulacra2(picture, &seen).expect("a score")
}

fn at(picture: &Raster, quality: f64, chroma: Chroma) -> (f64, f64) {
    let bytes = encode::jpeg(picture, quality, chroma, &[]).expect("a file");
    (bytes.len() as f64, scored(picture, &bytes))
}

/// Bytes at a score: bisection of the quality, then a line through the two nearest files.
fn bytes_at(picture: &Raster, chroma: Chroma, wanted: f64) -> f64 {
    let (mut low, mut high) = (40.0, 97.0);
    let (mut below, mut above) = (at(picture, low, chroma), at(picture, high, chroma));
    for _ in 0..6 {
        let middle = (low + high) / 2.0;
        let here = at(picture, middle, chroma);
        if here.1 < wanted {
            (low, below) = (middle, here);
        } else {
            (high, above) = (middle, here);
        }
    }
    let t = (wanted - below.1) / (above.1 - below.1);
    below.0 + t * (above.0 - below.0)
}

/// Score of 4:4:4 less 4:2:0 at the bytes of 4:2:0 at quality 84.
fn gain_of_full(picture: &Raster) -> f64 {
    let half = at(picture, 84.0, Chroma::Half);
    let (mut low, mut high) = (20.0, 84.0);
    let (mut below, mut above) = (
        at(picture, low, Chroma::Full),
        at(picture, high, Chroma::Full),
    );
    for _ in 0..7 {
        let middle = (low + high) / 2.0;
        let here = at(picture, middle, Chroma::Full);
        if here.0 < half.0 {
            (low, below) = (middle, here);
        } else {
            (high, above) = (middle, here);
        }
    }
    let t = (half.0 - below.0) / (above.0 - below.0);
    below.1 + t * (above.1 - below.1) - half.1
}

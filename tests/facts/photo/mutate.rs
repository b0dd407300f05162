//! Tens of thousands of damaged files: each is taken or refused, none panics outward, hangs or takes
//! memory without bound.

use std::time::Duration;

use stallhand::config::profile::Limits;
use stallhand::photo;

use super::bounds::measured;
use super::build::{Value, Way, jpeg, tiff, with_exif, with_icc};
use super::{corpus, scene_of};

/// A small generator of our own, so that a failure can be repeated.
struct Chance(u64);

impl Chance {
    fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }
    fn below(&mut self, n: usize) -> usize {
        (self.next() % n.max(1) as u64) as usize
    }
}

/// One damage: bits, bytes, extremes, cuts, gaps, repeats, and pieces of another file.
fn damaged(original: &[u8], other: &[u8], chance: &mut Chance) -> Vec<u8> {
    let mut b = original.to_vec();
    for _ in 0..=chance.below(4) {
        let at = chance.below(b.len());
        // Headers are where lengths live.
        let at = if chance.below(2) == 0 {
            at % 600.min(b.len().max(1))
        } else {
            at
        };
        match chance.below(8) {
            0 if !b.is_empty() => b[at] ^= 1 << chance.below(8),
            1 if !b.is_empty() => b[at] = chance.next() as u8,
            2 => {
                let value = [0x00, 0xff, 0x7f, 0x80][chance.below(4)];
                let end = (at + 1 + chance.below(4)).min(b.len());
                b[at.min(end)..end].fill(value);
            }
            3 => b.truncate(at),
            4 => {
                let end = (at + chance.below(40)).min(b.len());
                b.drain(at.min(end)..end);
            }
            5 => {
                let end = (at + chance.below(40)).min(b.len());
                let piece = b[at.min(end)..end].to_vec();
                b.splice(at.min(end)..at.min(end), piece);
            }
            6 => {
                let from = chance.below(other.len());
                let piece = &other[from..(from + chance.below(64)).min(other.len())];
                let at = at.min(b.len());
                b.splice(at..at, piece.iter().copied());
            }
            _ => {
                let end = (at + 4).min(b.len());
                let value = (chance.next() as u32 >> chance.below(32)).to_be_bytes();
                for (b, v) in b[at.min(end)..end].iter_mut().zip(value) {
                    *b = v;
                }
            }
        }
    }
    b
}

#[test]
fn tens_of_thousands_of_damaged_files_are_taken_or_refused_within_bounds() {
    let exif = tiff(&[
        (0x0112, Value::Short(vec![6])),
        (
            0x8769,
            Value::Below(vec![(0x9003, Value::Text("2026:03:01 09:30:00"))]),
        ),
    ]);
    let small = |progressive, chroma| {
        jpeg(
            40,
            24,
            &scene_of(40, 24),
            Way {
                progressive,
                chroma,
            },
        )
    };
    let mut seeds = vec![
        with_exif(&small(false, (2, 2)), &exif),
        with_icc(&small(true, (2, 1)), &corpus("grey-curve.icc")),
        small(true, (2, 2)),
        small(false, (1, 1)),
        exif,
    ];
    for name in [
        "restart.jpg",
        "cmyk.jpg",
        "chunk-gama-chrm.png",
        "chunk-cicp-over-iccp.png",
        "palette-clear.png",
        "rgba.png",
        "lossless-alpha.webp",
        "lossy.webp",
        "lzw.tif",
        "rgb-16-deflate.tif",
        "palette.bmp",
        "420.heic",
        "exif-turned.heic",
        "alpha.avif",
        "ten-bit-420.avif",
        "tiles.avif",
        "rgb-table.icc",
    ] {
        let bytes = corpus(name);
        seeds.push(if name.ends_with("icc") {
            with_icc(&small(false, (2, 2)), &bytes)
        } else {
            bytes
        });
    }
    let limits = Limits {
        pixels: 4_000_000,
        ..Limits::default()
    };
    // A decoder's panic is caught inside the room; its words would only fill the screen.
    let loud = std::panic::take_hook();
    let here = std::thread::current().id();
    std::panic::set_hook(Box::new(move |what| {
        if std::thread::current().id() != here {
            loud(what);
        }
    }));
    let mut failure = None;
    let mut chance = Chance(0x9e37_79b9_7f4a_7c15);
    let (mut taken, mut slowest, mut heaviest) = (0, Duration::ZERO, 0);
    const ROUNDS: usize = 24_000;
    for round in 0..ROUNDS {
        let bytes = damaged(
            &seeds[round % seeds.len()],
            &seeds[chance.below(seeds.len())],
            &mut chance,
        );
        let (ok, memory, time) = measured(|| {
            let _ = photo::survey(&bytes, &limits);
            photo::sniff::kind("x", &bytes[..bytes.len().min(512)]);
            photo::open(&bytes, &limits, [255; 3], "_1").is_ok()
        });
        taken += usize::from(ok);
        slowest = slowest.max(time);
        heaviest = heaviest.max(memory);
        if time > Duration::from_secs(3) || memory > 200 << 20 {
            failure = Some(format!("round {round}: {time:?}, {memory} bytes"));
            break;
        }
    }
    drop(std::panic::take_hook());
    assert_eq!(failure, None);
    println!("{ROUNDS} files: {taken} taken; slowest {slowest:?}, heaviest {heaviest} bytes");
    assert!(taken > 100 && taken < ROUNDS * 9 / 10, "{taken} were taken");
}

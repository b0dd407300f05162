//! Ours, the floor and the scripts, each in a process of its own. Owns the table; refuses to know
//! how photos are made.

use std::path::{Path, PathBuf};
use std::process::Command;

use stallhand::base::geometry::{Rect, Size};
use stallhand::config::profile::{Imprint, Limits, Profile};
use stallhand::photo::{self, Photo};
use stallhand::render::encode::{self, Chroma, Segment};
use stallhand::render::{chroma_of, render, resize, score};

use crate::report::{median, used, worst};
use crate::scratch;
use crate::sources::python;

/// The crop of the trade's rule: 3843x2883 of 21 MP, to 2000 px on the short side.
const CROP: Rect = Rect::new(742, 558, 3843, 2883);
const OUT: Size = Size::new(2666, 2000);
/// How often the sampling of colour is chosen for one measurement.
const CHOICES: u32 = 4;

/// What one run cost and gave.
#[derive(Clone, Copy, Default)]
struct Run {
    cpu: f64,
    peak: f64,
    bytes: f64,
    score: f64,
    quality: f64,
    encodes: f64,
    size: [f64; 2],
    full: bool,
}

fn open(path: &str) -> Photo {
    let bytes = std::fs::read(path).expect("the bench's photo");
    photo::open(&bytes, &Limits::default(), [255; 3], "").expect("a photo that opens")
}

/// `ours PHOTO MAX_BYTES OUT`, or `floor` or `plain PHOTO QUALITY CHROMA WIDTH HEIGHT ENCODES`:
/// does it and prints its cost. The floor scores its file, `plain` does not. `choice PHOTO` prints
/// the cost of choosing the sampling of colour alone.
pub fn child(args: &[String]) {
    let photo = open(&args[1]);
    if args[0] == "choice" {
        let picture = drawn(&photo, OUT);
        let before = used().0;
        for _ in 0..CHOICES {
            chroma_of(&picture).expect("a choice");
        }
        return println!("{}", (used().0 - before) / f64::from(CHOICES));
    }
    let run = if args[0] == "ours" {
        let profile = Profile {
            max_bytes: args[2].parse().expect("bytes"),
            ..Profile::default()
        };
        let done =
            render(&photo, CROP, None, &profile, &Imprint::default(), false).expect("a rendition");
        std::fs::write(&args[3], done.bytes()).expect("room");
        Run {
            bytes: done.bytes().len() as f64,
            score: done.ssimulacra2.unwrap_or(0.0),
            quality: done.quality,
            encodes: f64::from(done.encodes),
            size: [f64::from(done.size.w), f64::from(done.size.h)],
            full: done.subsampling == "4:4:4",
            ..Run::default()
        }
    } else {
        let n = |i: usize| args[i].parse::<u32>().expect("a number");
        let picture = drawn(&photo, Size::new(n(4), n(5)));
        let quality = args[2].parse().expect("a quality");
        let full = args[3] == "4:4:4";
        let chroma = if full { Chroma::Full } else { Chroma::Half };
        let mut bytes = Vec::new();
        for _ in 0..n(6) {
            bytes = encode::jpeg(&picture, quality, chroma, &[Segment::srgb()]).expect("a file");
        }
        let score = if args[0] == "floor" {
            let seen = encode::decoded(&bytes).expect("a picture");
            score::ssimulacra2(&picture, &seen).expect("a score")
        } else {
            0.0
        };
        Run {
            bytes: bytes.len() as f64,
            score,
            quality,
            encodes: 1.0,
            full,
            ..Run::default()
        }
    };
    let (cpu, peak) = used();
    println!(
        "{cpu} {peak} {} {} {} {} {} {} {}",
        run.bytes, run.score, run.quality, run.encodes, run.full, run.size[0], run.size[1]
    );
}

fn drawn(photo: &Photo, size: Size) -> stallhand::photo::raster::Raster {
    let mut picture = resize::crop_to(&photo.raster, CROP, size).expect("a crop");
    photo.to_srgb(&mut picture);
    picture
}

fn run(args: &[&str]) -> Option<std::process::Output> {
    let me = std::env::current_exe().expect("this program");
    Command::new(me).arg("child").args(args).output().ok()
}

fn ours(args: &[&str]) -> Option<Run> {
    parsed(&run(args)?, true)
}

/// User seconds of choosing the sampling of colour for each of the whole work at 1 MB.
pub fn share_of_choice(photo: &Path) -> Option<f64> {
    let (photo, out) = (photo.to_str()?, scratch().join("bench-out.jpg"));
    let mine = ours(&["ours", photo, "1000000", out.to_str()?])?;
    let told = run(&["choice", photo])?.stdout;
    let choice: f64 = String::from_utf8(told).ok()?.trim().parse().ok()?;
    Some(choice / mine.cpu)
}

fn script(name: &str, args: &[String]) -> Option<Run> {
    let script = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("tests/bench/render")
        .join(name);
    let out = python()
        .env("VIPS_CONCURRENCY", "1")
        .arg(script)
        .args(args)
        .output()
        .ok()?;
    parsed(&out, false)
}

/// `cpu peak bytes [score] quality encodes [full width height]`.
fn parsed(out: &std::process::Output, scored: bool) -> Option<Run> {
    let text = String::from_utf8_lossy(&out.stdout);
    let words: Vec<&str> = text.split_whitespace().collect();
    let n = |i: usize| words.get(i)?.parse::<f64>().ok();
    let shift = usize::from(scored);
    Some(Run {
        cpu: n(0)?,
        peak: n(1)?,
        bytes: n(2)?,
        score: if scored { n(3)? } else { 0.0 },
        quality: n(3 + shift)?,
        encodes: n(4 + shift)?,
        full: words.get(6) == Some(&"true"),
        size: [n(7).unwrap_or(0.0), n(8).unwrap_or(0.0)],
    })
}

/// Runs all contenders on all photos, the contenders of one photo one after another.
pub fn print(photos: &[PathBuf], budgets: &[u64]) {
    println!(
        "the encoder was built {} vector instructions",
        if encode::simd() { "with" } else { "without" }
    );
    for &budget in budgets {
        println!("\nbudget {} KB, 3843x2883 of 21 MP to {OUT}", budget / 1000);
        println!(
            "{:14} | ours: cpu s, MiB, KB, score, quality, encodes | floor cpu, ratio | Pillow: cpu, KB, score | libvips: cpu, the same averaging light, ours alike",
            "photo"
        );
        let mut rows = Vec::new();
        for path in photos {
            if let Some(row) = row(path, budget) {
                rows.push(row);
            }
        }
        summary(&rows, budget as f64);
    }
}

struct Row {
    ours: Run,
    floor: Run,
    plain: Run,
    pillow: Option<Run>,
    vips: Option<Run>,
    vips_light: Option<Run>,
}

fn row(path: &Path, budget: u64) -> Option<Row> {
    let photo = path.to_str()?;
    let out = scratch().join("bench-out.jpg");
    let file = out.to_str()?;
    let mine = ours(&["ours", photo, &budget.to_string(), file])?;
    let chroma = if mine.full { "4:4:4" } else { "4:2:0" };
    let quality = mine.quality.to_string();
    let [w, h] = mine.size.map(|v| v.to_string());
    let floor = ours(&["floor", photo, &quality, chroma, &w, &h, "1"])?;
    let encodes = mine.encodes.to_string();
    let plain = ours(&["plain", photo, &quality, chroma, &w, &h, &encodes])?;
    let numbers = [CROP.x, CROP.y, CROP.w, CROP.h, OUT.w, OUT.h];
    let mut args = vec![photo.to_owned()];
    args.extend(numbers.iter().map(u32::to_string));
    let common = args.clone();
    args.extend([budget.to_string(), "1".into(), "95".into(), file.into()]);
    let pillow = script("pillow.py", &args).map(|mut run| {
        let seen = std::fs::read(&out)
            .ok()
            .and_then(|b| encode::decoded(&b).ok());
        run.score = seen
            .and_then(|s| score::ssimulacra2(&drawn(&open(photo), OUT), &s))
            .unwrap_or(0.0);
        run
    });
    let mut args = common;
    args.truncate(5);
    args.extend([w, h]);
    args.extend([
        format!("{:.0}", mine.quality),
        mine.encodes.to_string(),
        chroma.into(),
    ]);
    let [vips, vips_light] = ["0", "1"].map(|light| {
        let mut args = args.clone();
        args.extend([light.into(), file.into()]);
        script("libvips.py", &args)
    });
    let name = path.file_stem()?.to_string_lossy();
    print!(
        "{name:14} | {:5.2} {:4.0} {:4.0} {:5.1} {:5.2} {:1.0} {chroma} | {:5.2} {:4.2} |",
        mine.cpu,
        mine.peak / 1024.0,
        mine.bytes / 1000.0,
        mine.score,
        mine.quality,
        mine.encodes,
        floor.cpu,
        mine.cpu / floor.cpu
    );
    match &pillow {
        Some(p) => print!(" {:5.2} {:4.0} {:5.1} |", p.cpu, p.bytes / 1000.0, p.score),
        None => print!(" not installed |"),
    }
    match &vips {
        Some(v) => println!(
            " {:5.2}, {:5.2}, {:5.2}",
            v.cpu,
            vips_light.map_or(0.0, |l| l.cpu),
            plain.cpu
        ),
        None => println!(" not installed"),
    }
    Some(Row {
        ours: mine,
        floor,
        plain,
        pillow,
        vips,
        vips_light,
    })
}

fn summary(rows: &[Row], budget: f64) {
    let each = |f: fn(&Row) -> f64| rows.iter().map(f);
    println!(
        "ours / floor, user CPU: median {:.2}, worst {:.2}",
        median(each(|r| r.ours.cpu / r.floor.cpu)),
        worst(each(|r| r.ours.cpu / r.floor.cpu))
    );
    let once = rows.iter().filter(|r| r.ours.encodes == 1.0).count();
    println!(
        "whole encodes: {once} of {} photos with one, most {}; heaviest file {:.2} % of the budget",
        rows.len(),
        worst(each(|r| r.ours.encodes)),
        100.0 * worst(each(|r| r.ours.bytes)) / budget
    );
    println!(
        "medians: {:.2} s, {:.0} MiB, {:.0} KB, score {:.1}",
        median(each(|r| r.ours.cpu)),
        median(each(|r| r.ours.peak)) / 1024.0,
        median(each(|r| r.ours.bytes)) / 1000.0,
        median(each(|r| r.ours.score))
    );
    let with = |f: fn(&Row, &Run) -> f64, who: fn(&Row) -> Option<&Run>| {
        rows.iter()
            .filter_map(|r| who(r).map(|o| f(r, o)))
            .collect::<Vec<_>>()
    };
    let pillow: fn(&Row) -> Option<&Run> = |r| r.pillow.as_ref();
    let ratio = with(|r, p| r.ours.cpu / p.cpu, pillow);
    if !ratio.is_empty() {
        println!(
            "ours / Pillow script: CPU median {:.2}, worst {:.2}; bytes median {:.2}; score median {:+.1}",
            median(ratio.clone()),
            worst(ratio),
            median(with(|r, p| r.ours.bytes / p.bytes, pillow)),
            median(with(|r, p| r.ours.score - p.score, pillow))
        );
    }
    let vips: fn(&Row) -> Option<&Run> = |r| r.vips.as_ref();
    let ratio = with(|r, v| r.ours.cpu / v.cpu, vips);
    if !ratio.is_empty() {
        println!(
            "ours / libvips, as many encodes: CPU median {:.2}, worst {:.2}; \
             without search and score median {:.2}, against libvips averaging light median {:.2}",
            median(ratio.clone()),
            worst(ratio),
            median(with(|r, v| r.plain.cpu / v.cpu, vips)),
            median(with(|r, v| r.plain.cpu / v.cpu, |r| r.vips_light.as_ref()))
        );
    }
}

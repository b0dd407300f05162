//! Measures the framing on rendered sets with exact truth: `cargo bench --bench framing -- SETDIR...`.
//!
//! Prints, beside the centred crop and (where a Python with pyvips is found, `--python PATH`) the general
//! library's attention crop, the share of crops that are ready, and how honest the confidence is.
//!
//! Options: `--floor PX` (short_side_min), `--fill F`, `--margin M`, `--pred FILE` (the crops as JSON, for
//! the set's own score.py), `--signals FILE` (for training/calibrate.py), `--worst N`, `--draw DIR` (pictures of
//! the decisions that are not ready).

mod attention;
mod report;
mod score;
mod truth;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use score::{Answer, Judgement, judge};
use stallhand::base::geometry::{Rect, Shape, Size};
use stallhand::config::profile::Profile;
use stallhand::framing::{Correction, Eye, decide, picture};
use stallhand::photo::raster::Raster;
use truth::{Integral, Scene, Truth};

const SHAPES: [(&str, Shape); 3] = [
    ("4:3", Shape::Ratio(4, 3)),
    ("1:1", Shape::Ratio(1, 1)),
    ("4:5", Shape::Ratio(4, 5)),
];

/// One judged crop.
pub struct Row {
    pub image: String,
    pub aspect: &'static str,
    pub tags: String,
    pub judgement: Judgement,
    /// The signals of the crop that was weighed, and whether that one is ready.
    pub weighed: Option<(Vec<f64>, bool)>,
    pub verdict: &'static str,
}

struct Options {
    sets: Vec<PathBuf>,
    profile: Profile,
    pred: Option<PathBuf>,
    signals: Option<PathBuf>,
    worst: usize,
    draw: Option<PathBuf>,
    python: String,
}

fn options() -> Result<Options, String> {
    let mut o = Options {
        sets: Vec::new(),
        profile: Profile {
            short_side_min: 1,
            ..Profile::default()
        },
        pred: None,
        signals: None,
        worst: 0,
        draw: None,
        python: "python3".into(),
    };
    let mut args = std::env::args().skip(1);
    while let Some(a) = args.next() {
        let mut value = || args.next().ok_or(format!("{a} wants a value"));
        let number = |s: String| {
            s.parse::<f64>()
                .map_err(|_| format!("\"{s}\" is no number"))
        };
        match a.as_str() {
            "--bench" => {}
            "--floor" => o.profile.short_side_min = number(value()?)? as u32,
            "--fill" => o.profile.fill = number(value()?)?,
            "--margin" => o.profile.margin = number(value()?)?,
            "--pred" => o.pred = Some(value()?.into()),
            "--signals" => o.signals = Some(value()?.into()),
            "--worst" => o.worst = number(value()?)? as usize,
            "--draw" => o.draw = Some(value()?.into()),
            "--python" => o.python = value()?,
            _ if a.starts_with('-') => return Err(format!("unknown option {a}")),
            _ => o.sets.push(a.into()),
        }
    }
    Ok(o)
}

fn main() -> ExitCode {
    let run = options().and_then(|o| {
        if o.sets.is_empty() {
            println!("no set given, nothing measured: cargo bench --bench framing -- SETDIR...");
        }
        o.sets.iter().try_for_each(|s| measure(s, &o))
    });
    match run {
        Ok(()) => ExitCode::SUCCESS,
        Err(e) => {
            eprintln!("{e}");
            ExitCode::from(2)
        }
    }
}

fn decode(path: &Path) -> Result<Raster, String> {
    let say = |e: &dyn std::fmt::Display| format!("{}: {e}", path.display());
    let bytes = std::fs::read(path).map_err(|e| say(&e))?;
    let mut d = zune_jpeg::JpegDecoder::new(zune_core::bytestream::ZCursor::new(&bytes));
    let pixels = d.decode().map_err(|e| say(&e))?;
    let (w, h) = d.dimensions().ok_or("no size")?;
    Ok(Raster::new(Size::new(w as u32, h as u32), pixels))
}

fn floats(r: Rect) -> [f64; 4] {
    <[u32; 4]>::from(r).map(f64::from)
}

fn measure(dir: &Path, o: &Options) -> Result<(), String> {
    let truth = Truth::read(dir)?;
    let eye = Eye::load()?;
    let (mut ours, mut centred) = (Vec::new(), Vec::new());
    let mut predictions = serde_json::Map::new();
    let (mut cpu, mut slowest) = (0.0, 0f64);
    let attention = attention::crops(&o.python, dir, &truth);
    let mut theirs = Vec::new();
    for scene in &truth.images {
        let photo = decode(&dir.join(&scene.image))?;
        let (product, beyond) = masks(dir, scene)?;
        let add = |rows: &mut Vec<Row>, a: Answer, weighed, verdict| {
            rows.push(Row {
                image: scene.image.clone(),
                aspect: a.aspect,
                tags: scene.tags.join(" "),
                judgement: judge(scene, &a, &product, beyond.as_ref()),
                weighed,
                verdict,
            });
        };
        let before = report::user_cpu();
        let sight = eye.look(&photo);
        let mut framings = Vec::new();
        for (name, shape) in SHAPES {
            let profile = Profile {
                shape,
                ..o.profile.clone()
            };
            framings.push((
                name,
                shape,
                decide(&sight, &photo, &profile, &Correction::default()),
            ));
        }
        let spent = report::user_cpu() - before;
        cpu += spent;
        slowest = slowest.max(spent);
        let mut list = Vec::new();
        for (aspect, shape, f) in framings {
            let a = Answer {
                aspect,
                crop: floats(f.crop),
                subject: f.subject.map(floats),
                confidence: f.confidence,
            };
            list.push(
                serde_json::json!({ "aspect": aspect, "crop": a.crop, "subject": a.subject }),
            );
            let weighed = f.weighed.as_ref().and_then(|w| {
                let there = Answer {
                    crop: floats(w.crop),
                    ..a.clone()
                };
                let ready = judge(scene, &there, &product, beyond.as_ref()).ready?;
                Some((w.signals.clone(), ready))
            });
            add(&mut ours, a, weighed, f.verdict.code());
            let failed = ours
                .last()
                .is_some_and(|r| r.judgement.ready == Some(false));
            if let Some(d) = o.draw.as_ref().filter(|_| failed) {
                let profile = Profile {
                    shape,
                    ..o.profile.clone()
                };
                draw(d, &scene.image, aspect, &picture(&photo, &profile, &f))?;
            }
            let crop = floats(shape.centred_in(photo.size().frame()));
            add(
                &mut centred,
                Answer {
                    aspect,
                    crop,
                    subject: None,
                    confidence: 0.0,
                },
                None,
                "",
            );
            if let Some(crop) = attention.get(&(scene.image.clone(), aspect)) {
                let a = Answer {
                    aspect,
                    crop: *crop,
                    subject: None,
                    confidence: 0.0,
                };
                add(&mut theirs, a, None, "");
            }
        }
        predictions.insert(scene.image.clone(), list.into());
    }
    println!(
        "\n{} ({} scenes, {} shapes)",
        dir.display(),
        truth.images.len(),
        SHAPES.len()
    );
    report::head();
    report::line("centred crop", &centred);
    if theirs.is_empty() {
        println!("attention crop: no Python with pyvips, not measured");
    } else {
        report::line("attention crop (libvips)", &theirs);
    }
    report::line("stallhand", &ours);
    for (name, _) in SHAPES {
        report::line_of(
            &format!("  {name}"),
            ours.iter().filter(|r| r.aspect == name),
        );
    }
    report::sureness(&ours);
    let n = truth.images.len() as f64;
    println!(
        "user CPU a photo, look and three decisions: {:.0} ms (slowest {:.0})",
        cpu / n * 1e3,
        slowest * 1e3
    );
    report::worst(&ours, o.worst);
    if let Some(p) = &o.pred {
        let text = serde_json::Value::Object(predictions).to_string();
        std::fs::write(p, text).map_err(|e| format!("{}: {e}", p.display()))?;
    }
    if let Some(p) = &o.signals {
        report::signals(p, &ours)?;
    }
    Ok(())
}

fn draw(dir: &Path, image: &str, aspect: &str, picture: &Raster) -> Result<(), String> {
    let stem = Path::new(image)
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy();
    let path = dir.join(format!("{stem}-{}.png", aspect.replace(':', "x")));
    let Size { w, h } = picture.size();
    std::fs::create_dir_all(dir)
        .map_err(|e| e.to_string())
        .and_then(|()| {
            image::save_buffer(&path, picture.pixels(), w, h, image::ColorType::Rgb8)
                .map_err(|e| e.to_string())
        })
        .map_err(|e| format!("{}: {e}", path.display()))
}

fn masks(dir: &Path, scene: &Scene) -> Result<(Integral, Option<Integral>), String> {
    let product = match &scene.mask {
        Some(m) => Integral::of_mask(&dir.join(m), false)?,
        None => {
            // No mask: the box stands for the product.
            let [x, y, w, h] = scene.subject.map(|v| v.round() as usize);
            Integral::new(scene.width as usize, scene.height as usize, |i, j| {
                (x..x + w).contains(&i) && (y..y + h).contains(&j)
            })
        }
    };
    let beyond = match &scene.ok_mask {
        Some(m) => Some(Integral::of_mask(&dir.join(m), true)?),
        None => None,
    };
    Ok((product, beyond))
}

//! Measures the careful eye's thresholds on rendered sets: `cargo bench --bench checks -- SETDIR...
//! [--most N]`.
//!
//! Each scene is measured as it is (what is said then is mostly a false alarm, though scenes with a hard
//! lamp do burn out) and again with one fault put in: blur, exposure, the light's colour, a turned camera, a
//! second photo of the same thing. Prints how often each remark comes at each strength, and the spread of
//! what was measured. Owns the faults; refuses to choose the thresholds.

mod faults;

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use stallhand::base::geometry::Rect;
use stallhand::checks::{self, Measures};
use stallhand::config::profile::Limits;
use stallhand::framing::Eye;
use stallhand::photo::raster::Raster;
use stallhand::{photo, pipeline, render};

fn main() -> ExitCode {
    let mut sets: Vec<PathBuf> = Vec::new();
    let mut most = usize::MAX;
    let mut args = std::env::args().skip(1);
    while let Some(a) = args.next() {
        match a.as_str() {
            "--bench" => {}
            "--most" => most = args.next().and_then(|n| n.parse().ok()).unwrap_or(most),
            _ => sets.push(a.into()),
        }
    }
    if sets.is_empty() {
        println!("no set given, nothing measured: cargo bench --bench checks -- SETDIR...");
    }
    for set in sets {
        if let Err(e) = measure(&set, most) {
            eprintln!("{e}");
            return ExitCode::from(2);
        }
    }
    ExitCode::SUCCESS
}

/// The picture as `checks` gets it: 960 px on the long side.
fn open(path: &Path) -> Result<Raster, String> {
    let say = |e: &dyn std::fmt::Display| format!("{}: {e}", path.display());
    let bytes = std::fs::read(path).map_err(|e| say(&e))?;
    let photo = photo::open(&bytes, &Limits::default(), [255; 3], "scene.jpg")
        .map_err(|e| say(&e.detail))?;
    Ok(render::small(&photo, pipeline::PROOF_LONG_SIDE))
}

struct Scene {
    photo: Raster,
    subject: Option<Rect>,
    clean: Measures,
}

fn look(eye: &Eye, photo: &Raster) -> (Option<Rect>, Measures) {
    let sight = eye.look(photo);
    let m = checks::measure(photo, sight.subject, sight.tilt);
    (sight.subject, m)
}

/// Share of the measures for which `what` holds, with its count, and the spread of `value`.
fn tell(name: &str, all: &[Measures], what: impl Fn(&Measures) -> bool) {
    let n = all.len();
    let k = all.iter().filter(|m| what(m)).count();
    println!(
        "  {name:<40} {:5.1} %  ({k} of {n})",
        100.0 * k as f64 / n.max(1) as f64
    );
}

fn spread(name: &str, mut values: Vec<f64>) {
    values.sort_by(f64::total_cmp);
    let at = |q: f64| {
        let i = ((values.len().max(1) - 1) as f64 * q).round() as usize;
        values.get(i).copied().unwrap_or(f64::NAN)
    };
    println!(
        "  {name:<40} least {:.2}, 5 % {:.2}, median {:.2}, 95 % {:.2}, most {:.2}",
        at(0.0),
        at(0.05),
        at(0.5),
        at(0.95),
        at(1.0)
    );
}

fn measure(set: &Path, most: usize) -> Result<(), String> {
    let eye = Eye::load()?;
    let mut names: Vec<PathBuf> = std::fs::read_dir(set.join("images"))
        .map_err(|e| format!("{}: {e}", set.display()))?
        .flatten()
        .map(|f| f.path())
        .collect();
    names.sort();
    // Spread over the set, as its order may be by kind.
    let step = names.len().div_ceil(most).max(1);
    let names = names.into_iter().step_by(step);
    let mut scenes = Vec::new();
    for name in names {
        let photo = open(&name)?;
        let (subject, clean) = look(&eye, &photo);
        scenes.push(Scene {
            photo,
            subject,
            clean,
        });
    }
    println!("\n{} ({} scenes)", set.display(), scenes.len());
    let with = |fault: &dyn Fn(&Raster) -> Raster| -> Vec<Measures> {
        let one = |s: &Scene| checks::measure(&fault(&s.photo), s.subject, None);
        scenes.iter().map(one).collect()
    };
    let ratios = |all: &[Measures]| -> Vec<f64> {
        let pairs = all.iter().zip(&scenes);
        pairs
            .map(|(m, s)| m.sharpness / s.clean.sharpness)
            .collect()
    };
    let clean: Vec<Measures> = scenes.iter().map(|s| s.clean.clone()).collect();

    println!("unsharp: below {} of the listing's median", checks::UNSHARP);
    for far in [0.8, 0.6] {
        let r = scenes
            .iter()
            .map(|s| {
                let (photo, subject) = faults::farther(&s.photo, s.subject, far);
                checks::measure(&photo, Some(subject), None).sharpness / s.clean.sharpness
            })
            .collect();
        spread(&format!("as sharp, {far} of the size"), r);
    }
    spread(
        "as sharp, one stop darker",
        ratios(&with(&|p| faults::exposed(p, -1.0))),
    );
    for sigma in [0.5, 1.0, 2.0, 4.0] {
        let r = ratios(&with(&|p| faults::blurred(p, sigma)));
        let said = r.iter().filter(|r| **r < checks::UNSHARP).count();
        spread(
            &format!(
                "blurred by {sigma} px: said {:.0} %",
                100.0 * said as f64 / r.len() as f64
            ),
            r,
        );
    }

    println!("burnt out: {} of the product", checks::BURNT);
    let burnt = |m: &Measures| m.burnt >= checks::BURNT;
    tell("as it is", &clean, burnt);
    for stops in [0.5, 1.0, 1.5, 2.0] {
        tell(
            &format!("{stops} stops over"),
            &with(&|p| faults::exposed(p, stops)),
            burnt,
        );
    }
    println!("blocked up: {} of the product", checks::BLOCKED);
    let blocked = |m: &Measures| m.blocked >= checks::BLOCKED;
    tell("as it is", &clean, blocked);
    for stops in [-2.0, -4.0, -6.0] {
        tell(
            &format!("{} stops under", -stops),
            &with(&|p| faults::exposed(p, stops)),
            blocked,
        );
    }
    for black in [0.1, 0.2, 0.3] {
        tell(
            &format!("all under {} of 255 lost", black * 255.0),
            &with(&|p| faults::crushed(p, black)),
            blocked,
        );
    }

    println!("colour cast: chroma {} of a plain backdrop", checks::CAST);
    let plain: Vec<bool> = clean.iter().map(|m| m.cast.is_some()).collect();
    println!(
        "  light, plain backdrops: {} of {}",
        plain.iter().filter(|p| **p).count(),
        plain.len()
    );
    let only = |all: Vec<Measures>| -> Vec<Measures> {
        all.into_iter()
            .zip(&plain)
            .filter_map(|(m, p)| p.then_some(m))
            .collect()
    };
    let cast = |m: &Measures| m.cast.is_some_and(|c| c >= checks::CAST);
    tell("as it is, all scenes", &clean, cast);
    spread(
        "chroma as it is",
        only(clean.clone()).iter().filter_map(|m| m.cast).collect(),
    );
    for (name, red, blue) in [
        ("light 10 % warmer", 1.1, 0.9),
        ("light 20 % warmer", 1.2, 0.8),
        ("light 40 % warmer (lamp)", 1.4, 0.6),
        ("light 20 % colder", 0.8, 1.2),
    ] {
        tell(
            name,
            &only(with(&|p| faults::lit(p, [red, 1.0, blue]))),
            cast,
        );
    }

    println!("tilted: {:?} degrees", checks::TILTED);
    let tilted = |m: &Measures| m.tilt.is_some_and(|t| checks::TILTED.contains(&t.abs()));
    let seen: Vec<&Scene> = scenes.iter().filter(|s| s.clean.tilt.is_some()).collect();
    println!("  a straight edge seen: {} of {}", seen.len(), scenes.len());
    tell("as it is, all scenes", &clean, tilted);
    let level: Vec<&&Scene> = seen
        .iter()
        .filter(|s| s.clean.tilt.is_some_and(|t| t.abs() < 0.5))
        .collect();
    for degrees in [1.0, 2.0, 3.0, 5.0] {
        let turned: Vec<(f64, Measures)> = level
            .iter()
            .map(|s| {
                let m = look(&eye, &faults::turned(&s.photo, degrees)).1;
                (s.clean.tilt.unwrap_or(0.0), m)
            })
            .collect();
        let all: Vec<Measures> = turned.iter().map(|(_, m)| m.clone()).collect();
        tell(
            &format!("level ones, turned by {degrees} degrees"),
            &all,
            tilted,
        );
        let off = turned
            .iter()
            .filter_map(|(before, m)| m.tilt.map(|t| (t - before).abs()))
            .collect();
        spread("  change measured, degrees", off);
    }

    println!("near twins");
    let near = |pairs: Vec<(u64, u64)>, name: &str| {
        let k = pairs.iter().filter(|(a, b)| checks::near(*a, *b)).count();
        let share = 100.0 * k as f64 / pairs.len().max(1) as f64;
        let bits = |(a, b): &(u64, u64)| f64::from(checks::apart(*a, *b));
        spread(
            &format!("{name}: said {share:.1} %"),
            pairs.iter().map(bits).collect(),
        );
    };
    let again = |fault: &dyn Fn(&Raster) -> Raster| -> Vec<(u64, u64)> {
        let one = |s: &Scene| (look(&eye, &fault(&s.photo)).1.print, s.clean.print);
        scenes.iter().map(one).collect()
    };
    near(again(&|p| faults::exposed(p, 0.2)), "0.2 stops over");
    for part in [0.01, 0.03, 0.08] {
        let name = format!("camera moved by {} %", part * 100.0);
        near(again(&|p| faults::moved(p, part)), &name);
    }
    for degrees in [3.0, 10.0] {
        let name = format!("turned by {degrees} degrees");
        near(again(&|p| faults::turned(p, degrees)), &name);
    }
    let mut others = Vec::new();
    for (i, a) in scenes.iter().enumerate() {
        for b in &scenes[i + 1..] {
            others.push((a.clean.print, b.clean.print));
        }
    }
    near(others, "two other scenes");
    Ok(())
}

//! The same air through a listing: one mug photographed from two distances, by the real program.

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::OnceLock;

use serde_json::Value;

use crate::workshop::{Workshop, decodes, signal};
use rustix::process::Signal;
use stallhand::config::profile::Limits;
use stallhand::photo;

const EVEN: &str = "set = \"even\"\n";

/// The mug from farther away, where the board's end leaves it one crop; from nearer, and that once more with too
/// few pixels to be cut as close as the first.
fn mugs() -> &'static [Vec<u8>; 3] {
    static MADE: OnceLock<[Vec<u8>; 3]> = OnceLock::new();
    MADE.get_or_init(|| {
        [
            taken((0.0, 0.0, 1.0), 640),
            taken((0.115, 0.105, 0.85), 960),
            taken((0.115, 0.105, 0.85), 352),
        ]
    })
}

/// The part of the scene from `(x, y)`, as large as `share` of it, `wide` px wide; by linear interpolation.
fn taken((x, y, share): (f64, f64, f64), wide: usize) -> Vec<u8> {
    let scene = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/facts/scenes/mug.jpg");
    let bytes = std::fs::read(scene).unwrap();
    let whole = photo::open(&bytes, &Limits::default(), [255; 3], "mug.jpg").unwrap();
    let (w, h) = (
        whole.raster.size().w as usize,
        whole.raster.size().h as usize,
    );
    let from = whole.raster.pixels();
    let high = wide * h / w;
    let mut rgb = Vec::with_capacity(wide * high * 3);
    for j in 0..high {
        for i in 0..wide {
            let u = (x + share * (i as f64 + 0.5) / wide as f64) * w as f64 - 0.5;
            let v = (y + share * (j as f64 + 0.5) / high as f64) * h as f64 - 0.5;
            let (u, v) = (u.clamp(0.0, (w - 2) as f64), v.clamp(0.0, (h - 2) as f64));
            let (a, b) = (u as usize, v as usize);
            let (fu, fv) = (u - a as f64, v - b as f64);
            for c in 0..3 {
                let at = |a: usize, b: usize| f64::from(from[(b * w + a) * 3 + c]);
                let above = at(a, b) * (1.0 - fu) + at(a + 1, b) * fu;
                let below = at(a, b + 1) * (1.0 - fu) + at(a + 1, b + 1) * fu;
                rgb.push((above * (1.0 - fv) + below * fv).round() as u8);
            }
        }
    }
    let mut c = mozjpeg::Compress::new(mozjpeg::ColorSpace::JCS_RGB);
    c.set_size(wide, high);
    c.set_fastest_defaults();
    c.set_quality(92.0);
    let mut c = c.start_compress(Vec::new()).unwrap();
    c.write_scanlines(&rgb).unwrap();
    c.finish().unwrap()
}

/// The product's longer side relative to the crop's.
fn fill(line: &Value) -> f64 {
    let side = |key: &str, i: usize| line[key][i].as_f64().unwrap();
    (side("subject", 2) / side("crop", 2)).max(side("subject", 3) / side("crop", 3))
}

fn reasons(line: &Value) -> Vec<&str> {
    let all = line["reasons"].as_array().unwrap();
    all.iter().filter_map(Value::as_str).collect()
}

/// The last delivered line of each photo.
fn delivered(w: &Workshop) -> BTreeMap<String, Value> {
    let lines = w.events("delivered").into_iter();
    let named = lines.map(|l| (l["source"].as_str().unwrap().replace("Mug/", ""), l));
    named.collect()
}

fn same(a: f64, b: f64) -> bool {
    (a / b - 1.0).abs() < 0.02
}

fn apart(a: f64, b: f64) -> bool {
    (a / b - 1.0).abs() > 0.05
}

#[test]
fn one_mug_from_two_distances_gets_one_air_where_the_profile_says_so_and_else_each_its_own() {
    let [far, near, _] = mugs();
    let w = Workshop::new();
    w.put("Mug/far.jpg", far);
    w.put("Mug/near.jpg", near);
    assert_eq!(w.once(), 0);
    let free = delivered(&w);
    let (a, b) = (fill(&free["far.jpg"]), fill(&free["near.jpg"]));
    assert!(apart(a, b), "{a} and {b} without it");
    assert!(!reasons(&free["far.jpg"]).contains(&"even-air"));

    // The profile changes, and what it changes is made again.
    let file = w.path("stallhand.toml");
    let text = std::fs::read_to_string(&file).unwrap() + EVEN;
    std::fs::write(&file, text).unwrap();
    assert_eq!(w.run(&["redo", "--changed"]).status.code(), Some(0));
    let even = delivered(&w);
    let (a, b) = (fill(&even["far.jpg"]), fill(&even["near.jpg"]));
    assert!(same(a, b), "{a} and {b}");
    for line in even.values() {
        assert!(line["replaces"].is_string(), "{line}");
        assert!(reasons(line).contains(&"even-air"), "{line}");
        assert_eq!(line["verdict"], "deliver");
    }
    let told = String::from_utf8(w.run(&["why", "Mug/near.jpg"]).stdout).unwrap();
    assert!(told.contains("same air around the product"), "{told}");
    w.is_gapless();
}

#[test]
fn what_cannot_have_the_others_air_keeps_its_own_and_what_comes_late_takes_what_is_there() {
    let [far, near, small] = mugs();
    let alone = Workshop::with("", "");
    alone.put("Mug/far.jpg", far);
    assert_eq!(alone.once(), 0);
    let w = Workshop::with("", EVEN);
    let mut daemon = w.begin(&[]);
    w.put("Mug/far.jpg", far);
    w.put("Mug/small.jpg", small);
    w.wait(|w| w.count("delivered") == 2);
    let first = delivered(&w);
    assert!(apart(fill(&first["far.jpg"]), fill(&first["small.jpg"])));
    let outputs: Vec<Vec<u8>> = w
        .files("ready")
        .iter()
        .filter(|f| f.ends_with(".jpg"))
        .map(|f| std::fs::read(w.path("ready").join(f)).unwrap())
        .collect();
    assert!(outputs.len() == 2 && outputs.iter().all(|b| decodes(b)));
    // Its own is what it gets without the others.
    let (own, lonely) = (&first["far.jpg"], &delivered(&alone)["far.jpg"]);
    assert_eq!(
        (&own["crop"], reasons(own)[0]),
        (&lonely["crop"], "own-air")
    );

    w.put("Mug/near.jpg", near);
    w.wait(|w| w.count("delivered") == 3);
    signal(&daemon, Signal::TERM);
    daemon.wait().unwrap();
    let all = delivered(&w);
    assert_eq!(
        w.count("delivered"),
        3,
        "what was delivered stays as it was"
    );
    let near = fill(&all["near.jpg"]);
    let there = ["far.jpg", "small.jpg"].map(|n| fill(&all[n]));
    assert!(there.iter().any(|f| same(*f, near)), "{near} of {there:?}");
    assert!(reasons(&all["near.jpg"]).contains(&"even-air"));
    assert_eq!(w.files("ready").len(), 3);
}

#[test]
fn her_crop_wins_and_the_others_are_even_without_it() {
    let [far, near, _] = mugs();
    let w = Workshop::with("", EVEN);
    w.put("Mug/far.jpg", far);
    w.put("Mug/near.jpg", near);
    let third = taken((0.06, 0.06, 0.92), 800);
    w.put("Mug/third.jpg", &third);
    let word = b"[listing]\ncrop = [30, 20, 600, 450]\n";
    w.put("Mug/third.jpg.framing.toml", word);
    assert_eq!(w.once(), 0);
    let all = delivered(&w);
    assert_eq!(
        all["third.jpg"]["crop"],
        serde_json::json!([30, 20, 600, 450])
    );
    assert!(
        !reasons(&all["third.jpg"])
            .iter()
            .any(|r| r.ends_with("-air"))
    );
    let (a, b) = (fill(&all["far.jpg"]), fill(&all["near.jpg"]));
    assert!(same(a, b), "{a} and {b}");
    let once: BTreeMap<String, Value> = all.clone();
    // Without her word it takes the air that is there.
    std::fs::remove_file(w.path("originals/Mug/third.jpg.framing.toml")).unwrap();
    assert_eq!(w.run(&["redo", "Mug/third.jpg"]).status.code(), Some(0));
    let all = delivered(&w);
    let c = fill(&all["third.jpg"]);
    assert!(same(c, a), "{c} beside {a}");
    assert_eq!(all["far.jpg"], once["far.jpg"]);
}

#[test]
fn killed_at_any_moment_a_listing_comes_out_with_the_same_air() {
    let [far, near, small] = mugs();
    let fresh = || {
        let w = Workshop::with("", EVEN);
        w.put("Mug/a.jpg", small);
        w.put("Mug/b.jpg", far);
        w.put("Mug/c.jpg", near);
        w
    };
    let outcome = |w: &Workshop| -> Vec<(String, Value, Vec<u8>)> {
        let lines = delivered(w).into_iter();
        let with_bytes = lines.map(|(name, l)| {
            let path = w.path("ready").join(l["output"].as_str().unwrap());
            (name, l["crop"].clone(), std::fs::read(path).unwrap())
        });
        with_bytes.collect()
    };
    let whole = fresh();
    assert_eq!(whole.once(), 0);
    let wanted = outcome(&whole);
    assert_eq!(wanted.len(), 3);
    let mut killed = 0;
    for n in [12, 24, 36, 48] {
        let w = fresh();
        killed += usize::from(w.once_in_trouble(&format!("kill:{n}")).is_none());
        w.once();
        assert_eq!(outcome(&w), wanted, "killed at {n}");
        w.is_gapless();
    }
    assert!(killed >= 2, "{killed}");
}

#[test]
fn a_preview_of_photos_together_tells_the_air_they_would_have() {
    let [far, near, _] = mugs();
    let w = Workshop::with("", EVEN);
    w.put("Mug/far.jpg", far);
    w.put("Mug/near.jpg", near);
    let path = |n: &str| w.path("inbox").join(n).to_str().unwrap().to_owned();
    let preview = |names: &[&str]| -> Vec<f64> {
        let paths: Vec<String> = names.iter().map(|n| path(n)).collect();
        let mut args = vec!["preview", "--json"];
        args.extend(paths.iter().map(String::as_str));
        let out = String::from_utf8(w.run(&args).stdout).unwrap();
        let lines = out
            .lines()
            .map(|l| serde_json::from_str::<Value>(l).unwrap());
        lines
            .map(|mut l| {
                l["subject"] = l["subject"]["box"].clone();
                fill(&l)
            })
            .collect()
    };
    let both = preview(&["Mug/far.jpg", "Mug/near.jpg"]);
    assert!(same(both[0], both[1]), "{both:?}");
    let near = preview(&["Mug/near.jpg"]);
    assert!(apart(near[0], both[1]), "{near:?} alone, {both:?} together");
}

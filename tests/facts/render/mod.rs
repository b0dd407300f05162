//! Facts about what comes out: files against the standard, against other libraries, and clean.

mod clean;
mod outside;

use stallhand::base::geometry::{Rect, Size};
use stallhand::config::profile::{Imprint, Profile};
use stallhand::photo::raster::Raster;
use stallhand::photo::{self, Photo};
use stallhand::render::{Rendition, render};

#[path = "../../bench/render/photos.rs"]
#[allow(dead_code)]
mod photos;

fn real(name: &str) -> Photo {
    let path = format!("{}/tests/facts/real/{name}", env!("CARGO_MANIFEST_DIR"));
    open(&std::fs::read(path).unwrap())
}

fn open(bytes: &[u8]) -> Photo {
    photo::open(bytes, &Default::default(), [255; 3], "").unwrap()
}

fn whole(photo: &Photo, profile: &Profile) -> Rendition {
    let frame = photo.raster.size().frame();
    render(photo, frame, None, profile, &Imprint::default(), false).unwrap()
}

fn small() -> Profile {
    Profile {
        short_side: 300,
        short_side_min: 200,
        ..Profile::default()
    }
}

#[test]
fn within_the_budget_a_file_uses_it() {
    for name in ["china.jpg", "flower.jpg"] {
        let photo = real(name);
        for max_bytes in [30_000, 45_000, 60_000] {
            let done = whole(
                &photo,
                &Profile {
                    max_bytes,
                    ..small()
                },
            );
            let share = done.bytes().len() as f64 / max_bytes as f64;
            assert!(share <= 1.0, "{name} {max_bytes}: {share}");
            let bounded = done.quality < 91.9 && done.size.short() == 300;
            assert!(!bounded || share > 0.96, "{name} {max_bytes}: {share}");
        }
    }
}

#[test]
fn enough_is_enough_at_the_target_score() {
    let photo = real("flower.jpg");
    let much = Profile {
        max_bytes: 5_000_000,
        ..small()
    };
    let at = |target: f64| {
        let mut profile = much.clone();
        profile.quality.target = target;
        whole(&photo, &profile)
    };
    let (high, low) = (at(100.0), at(75.0));
    assert_eq!(high.quality, 92.0);
    assert!(low.bytes().len() < high.bytes().len() * 3 / 4);
    let score = low.ssimulacra2.unwrap();
    assert!((74.0..78.5).contains(&score), "{score}");
    assert!(low.encodes <= 2);
}

#[test]
fn saturated_threads_get_full_colour_and_soft_colours_half() {
    let size = Size::new(800, 640);
    let hues = [[190, 20, 40], [40, 40, 190], [200, 30, 160], [220, 120, 20]];
    let mut pixels = Vec::new();
    for y in 0..size.h {
        for x in 0..size.w {
            let over = (x / 7 + y / 7) % 2 == 0;
            let pick = if over { x / 7 * 5 % 11 } else { y / 7 * 3 % 7 };
            let shade = 60 + 40 * ((x + y) % 7) / 7;
            pixels.extend(hues[pick as usize % 4].map(|v: u32| (v * shade / 100) as u8));
        }
    }
    let yarn = Photo::of_srgb(Raster::new(size, pixels));
    assert_eq!(whole(&yarn, &small()).subsampling, "4:4:4");
    assert_eq!(whole(&real("flower.jpg"), &small()).subsampling, "4:2:0");
}

#[test]
fn a_canvas_that_is_grown_has_the_wanted_size_and_keeps_the_picture() {
    use stallhand::framing::Extension;
    let photo = Photo::of_srgb(Raster::filled(Size::new(600, 600), [180, 170, 160]));
    let growth = Extension {
        left: 100,
        right: 100,
        ..Extension::default()
    };
    let frame = Rect::new(0, 0, 600, 600);
    let done = render(
        &photo,
        frame,
        Some(growth),
        &small(),
        &Imprint::default(),
        false,
    )
    .unwrap();
    assert_eq!(done.size, Size::new(400, 300));
    let seen = open(done.bytes()).raster;
    let near = |x, y| {
        seen.at(x, y)
            .iter()
            .zip([180, 170, 160])
            .all(|(a, b)| a.abs_diff(b) <= 3)
    };
    assert!(near(2, 150) && near(200, 150) && near(397, 150));
}

#[test]
fn the_rule_of_the_trade_holds() {
    // Common practice, no source: a 3843x2883 crop of a 21 MP photo, reduced to 2000 px on its
    // longer or its shorter side, weighs under 1 MB at about quality 80.
    let render = real_render("cup-green");
    let photo = open(&photos::camera_file(&render, 3));
    let crop = Rect::new(742, 558, 3843, 2883);
    for short_side in [1500, 2000] {
        let mut profile = Profile {
            short_side,
            ..Profile::default()
        };
        profile.max_bytes = 20_000_000;
        (profile.quality.floor, profile.quality.ceiling) = (80, 80);
        let done =
            stallhand::render::render(&photo, crop, None, &profile, &Imprint::default(), false)
                .unwrap();
        assert!(
            done.bytes().len() < 1_000_000,
            "{} bytes",
            done.bytes().len()
        );
        assert_eq!(done.size.short(), short_side);
    }
}

fn real_render(name: &str) -> photos::Picture {
    let path = format!(
        "{}/src/command/demo/renders/{name}.jpg",
        env!("CARGO_MANIFEST_DIR")
    );
    let raster = open(&std::fs::read(path).unwrap()).raster;
    photos::Picture {
        w: raster.size().w,
        h: raster.size().h,
        rgb: raster.into_pixels(),
    }
}

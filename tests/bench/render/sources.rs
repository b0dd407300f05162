//! Which photos are measured. Owns where they come from; refuses to know what is measured.

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::photos::{self, Picture};
use crate::scratch;

/// Camera files of 21 MP, made once and kept in cargo's scratch folder: renders of the
/// demonstration and one more, two real photographs, saturated yarn, and more real photographs where Python has
/// scikit-image.
pub fn photos(quick: bool) -> Vec<PathBuf> {
    let folder = scratch().join("bench-photos");
    std::fs::create_dir_all(&folder).expect("a scratch folder");
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let renders = top.join("src/command/demo/renders");
    let mut from = Vec::new();
    let names: &[&str] = if quick {
        &["mug-blue", "bowl-speckled"]
    } else {
        &[
            "mug-blue",
            "bowl-speckled",
            "cup-green",
            "candle-pair",
            "bowl-edge",
        ]
    };
    from.extend(names.iter().map(|n| renders.join(format!("{n}.jpg"))));
    if !quick {
        from.insert(2, top.join("tests/bench/render/candle-linen.jpg"));
    }
    from.push(top.join("tests/facts/real/china.jpg"));
    if !quick {
        from.push(top.join("tests/facts/real/flower.jpg"));
        if let Some(more) = scikit_image() {
            let names = ["coffee.png", "chelsea.png", "astronaut.png", "rocket.jpg"];
            from.extend(names.iter().map(|n| more.join(n)).filter(|p| p.exists()));
        }
    }
    let mut out = Vec::new();
    for (seed, path) in from.iter().enumerate() {
        let stem = path.file_stem().unwrap_or_default().to_string_lossy();
        let to = folder.join(format!("{stem}.jpg"));
        if !to.exists() {
            let file = photos::camera_file(&read(path), seed as u32);
            std::fs::write(&to, file).expect("room for the photo");
        }
        out.push(to);
    }
    let yarns: &[(&str, f32)] = if quick {
        &[]
    } else {
        &[("yarn-fine", 10.0), ("yarn", 22.0)]
    };
    out.extend(yarns.iter().map(|(name, thread)| yarn(name, *thread, 1.0)));
    out
}

/// Yarns faded so far that the sampling of colour must be tried.
pub fn faded() -> Vec<PathBuf> {
    let mut out = Vec::new();
    for (name, thread) in [("fine", 10.0), ("middling", 15.0), ("coarse", 22.0)] {
        for percent in [40, 50, 60, 70] {
            let name = format!("yarn-{name}-{percent}");
            out.push(yarn(&name, thread, percent as f32 / 100.0));
        }
    }
    out
}

fn yarn(name: &str, thread: f32, dye: f32) -> PathBuf {
    let to = scratch().join(format!("bench-photos/{name}.jpg"));
    if !to.exists() {
        std::fs::write(&to, photos::woven(thread, dye, 9)).expect("room for the photo");
    }
    to
}

/// The Python that has the other libraries: `BENCH_PYTHON`, or `python3`.
pub fn python() -> Command {
    Command::new(std::env::var("BENCH_PYTHON").unwrap_or_else(|_| "python3".into()))
}

fn scikit_image() -> Option<PathBuf> {
    let code = "import skimage, os; print(os.path.join(os.path.dirname(skimage.__file__), 'data'))";
    let out = python().args(["-c", code]).output().ok()?;
    let text = String::from_utf8(out.stdout).ok()?;
    (out.status.success()).then(|| PathBuf::from(text.trim()))
}

pub fn read(path: &Path) -> Picture {
    let bytes = std::fs::read(path).expect("the bench's own picture");
    let limits = stallhand::config::profile::Limits::default();
    let photo = stallhand::photo::open(&bytes, &limits, [255; 3], "").expect("a picture");
    let size = photo.raster.size();
    Picture {
        w: size.w,
        h: size.h,
        rgb: photo.raster.into_pixels(),
    }
}

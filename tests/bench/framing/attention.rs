//! The general library's attention crop, through pyvips in a Python of the machine, for comparison only.
//! Owns that one call; refuses to judge.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::Command;

use crate::truth::Truth;

const SCRIPT: &str = r#"
import json, sys, pyvips
d, names = sys.argv[1], json.load(open(sys.argv[2]))
out = {}
for n in names:
    im = pyvips.Image.new_from_file(d + '/' + n).autorot()
    W, H = im.width, im.height
    for a, b in ((4, 3), (1, 1), (4, 5)):
        w, h = (W, round(W * b / a)) if W * b <= H * a else (round(H * a / b), H)
        c, o = im.smartcrop(w, h, interesting='attention', attention_x=True, attention_y=True)
        x, y = -c.xoffset, -c.yoffset
        out[f'{n}|{a}:{b}'] = [x, y, w, h]
print(json.dumps(out))
"#;

/// Crops by image and aspect; empty where Python or pyvips is missing.
pub fn crops(
    python: &str,
    dir: &Path,
    truth: &Truth,
) -> BTreeMap<(String, &'static str), [f64; 4]> {
    let names: Vec<&str> = truth.images.iter().map(|s| s.image.as_str()).collect();
    let list = std::env::temp_dir().join(format!("framing-bench-{}.json", std::process::id()));
    let ready = std::fs::write(&list, serde_json::to_vec(&names).unwrap_or_default());
    let run = ready.and_then(|()| {
        Command::new(python)
            .arg("-c")
            .arg(SCRIPT)
            .arg(dir)
            .arg(&list)
            .output()
    });
    let _ = std::fs::remove_file(&list);
    let Ok(run) = run else { return BTreeMap::new() };
    let Ok(found) = serde_json::from_slice::<BTreeMap<String, [f64; 4]>>(&run.stdout) else {
        return BTreeMap::new();
    };
    let aspect = |a: &str| crate::SHAPES.iter().map(|s| s.0).find(|n| *n == a);
    found
        .into_iter()
        .filter_map(|(k, v)| {
            let (image, a) = k.rsplit_once('|')?;
            Some(((image.to_owned(), aspect(a)?), v))
        })
        .collect()
}

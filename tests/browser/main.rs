//! The proof sheet in a real browser: it loads under its own policy, fifty hostile names stay text,
//! and a moved crop becomes a correction file. Not part of the default test run:
//!
//! `cargo test --release --test browser` needs `chromium` and `chromedriver` (Debian: `apt-get
//! install chromium chromium-driver`) and says so where they are missing. Screenshots are left in
//! `target/proof-sheet/`.

mod driver;
#[path = "../facts/hostile.rs"]
mod hostile;
mod laid;
#[path = "../facts/workshop.rs"]
#[allow(dead_code)]
mod workshop;

use std::fs;
use std::path::Path;

use driver::Browser;
use laid::{FRAME, HERE, ready};
use serde_json::json;
use stallhand::proof;

/// Opens the crop of output `n` on the page and returns the middle and the size of its photo on the
/// screen, CSS px.
fn start_moving(b: &Browser, n: usize) -> [f64; 4] {
    let at = b.run(
        "const o = document.querySelectorAll('.output[data-crop]')[arguments[0]];
         if (o.querySelector('.tools').hidden) o.querySelector('.open').click();
         o.scrollIntoView({block: 'start'});
         const r = o.querySelector('.stage').getBoundingClientRect();
         return [r.left, r.top, r.width, r.height];",
        &[json!(n)],
    );
    let n: Vec<f64> = at
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect();
    n.try_into().unwrap()
}

/// A real click on a tool: the browser saves several files only for her own clicks.
fn press(b: &Browser, output: usize, what: &str) {
    let at = b.run(
        "const e = document.querySelectorAll('.output[data-crop]')[arguments[0]].querySelector(arguments[1]);
         e.scrollIntoView({block: 'center'});
         const r = e.getBoundingClientRect();
         return [r.left + r.width / 2, r.top + r.height / 2]",
        &[json!(output), json!(format!("[data-do={what}], .{what}"))],
    );
    let at = (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
    b.drag(at, at, false);
}

/// Where a point of the photo is on the screen.
fn on_screen(stage: [f64; 4], x: u32, y: u32) -> (f64, f64) {
    (
        stage[0] + f64::from(x) / f64::from(FRAME.w) * stage[2],
        stage[1] + f64::from(y) / f64::from(FRAME.h) * stage[3],
    )
}

fn crop(text: &str, profile: &str) -> Vec<i64> {
    let doc: toml::Table = text.parse().unwrap_or_else(|e| panic!("{e}\n{text}"));
    let list = doc[profile]["crop"].as_array().unwrap();
    list.iter().map(|v| v.as_integer().unwrap()).collect()
}

fn hash(name: &str) -> String {
    blake3::hash(&fs::read(Path::new(HERE).join("tests/facts/real").join(name)).unwrap())
        .to_hex()
        .to_string()
}

#[test]
fn the_pages_load_whole_under_their_own_policy_at_two_widths_in_light_and_dark() {
    let Some((laid, b)) = ready() else { return };
    let out = Path::new(HERE).join("target/proof-sheet");
    fs::create_dir_all(&out).unwrap();
    for (width, height) in [(1280, 900), (390, 844)] {
        for scheme in ["light", "dark"] {
            b.dress(width, height, scheme);
            for name in &laid.files {
                b.open(&laid.folder.path().join(name));
                let seen = b.run(
                    "return [document.documentElement.scrollWidth, innerWidth,
                        [...document.querySelectorAll('image')].every(i => i.getBoundingClientRect().width > 0),
                        getComputedStyle(document.body).backgroundColor, document.querySelectorAll('[style]').length]",
                    &[],
                );
                assert_eq!(seen[0], seen[1], "{name} scrolls sideways at {width}");
                assert_eq!(seen[2], true, "{name}");
                assert_eq!(
                    seen[3],
                    if scheme == "dark" {
                        "rgb(24, 21, 18)"
                    } else {
                        "rgb(243, 239, 230)"
                    }
                );
                assert_eq!(seen[4], 0);
                let (stem, _) = name.split_once('.').unwrap();
                fs::write(
                    out.join(format!("{stem}-{width}-{scheme}.png")),
                    b.picture(),
                )
                .unwrap();
            }
        }
    }
    assert_eq!(b.complaints(), Vec::<String>::new());
}

#[test]
fn the_policy_refuses_what_is_not_ours() {
    let Some((laid, b)) = ready() else { return };
    b.open(&laid.page("listing-mug"));
    // The same page with a style attribute, a handler, a script and a picture from elsewhere put in:
    // each must be refused, or the test above proves nothing.
    let refused = b.run(
        "return new Promise(done => {
            const seen = [];
            addEventListener('securitypolicyviolation', e => seen.push(e.effectiveDirective));
            const d = document.createElement('div');
            d.innerHTML = '<p style=\"color:red\">x</p><img src=\"https://example.invalid/x.png\"><img src=\"data:,\" onerror=\"1\">';
            document.body.append(d);
            const s = document.createElement('script'); s.textContent = '1'; document.body.append(s);
            fetch('x').catch(() => {});
            setTimeout(() => done([...new Set(seen)].sort()), 500);
        })",
        &[],
    );
    let refused: Vec<&str> = refused
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_str().unwrap())
        .collect();
    for directive in [
        "connect-src",
        "img-src",
        "script-src-elem",
        "style-src-attr",
    ] {
        assert!(refused.contains(&directive), "{directive}: {refused:?}");
    }
}

#[test]
fn fifty_hostile_names_are_shown_as_text_and_each_photo_can_still_be_corrected() {
    let Some((laid, b)) = ready() else { return };
    let pages: Vec<&String> = laid
        .files
        .iter()
        .filter(|n| n.starts_with("listing-zoo"))
        .collect();
    let mut names = Vec::new();
    for page in pages {
        b.open(&laid.folder.path().join(page));
        let seen = b.run(
            "return [document.title, document.querySelectorAll('script').length, document.querySelectorAll('style, base, iframe, img, a[href^=java]').length,
                [...document.querySelectorAll('article h2 bdi')].map(n => n.textContent),
                [...document.querySelectorAll('article')].every(a => a.dataset.save.endsWith('.framing.toml') && a.dataset.photo.length === 64)]",
            &[],
        );
        assert_eq!(seen[0], "Zoo <b>\"'");
        assert_eq!(seen[1], 1, "only our script");
        assert_eq!(seen[2], 1, "only our style");
        assert_eq!(seen[4], true);
        names.extend(
            seen[3]
                .as_array()
                .unwrap()
                .iter()
                .map(|v| v.as_str().unwrap().to_owned()),
        );
    }
    assert_eq!(names.len(), 50);
    for (shown, given) in names.iter().zip(hostile::NAMES) {
        assert_eq!(*shown, proof::escape::plain(given));
    }
    b.open(&laid.page("listing-zoo"));
    for n in [0, 1, 4] {
        start_moving(&b, n);
        press(&b, n, "right");
        press(&b, n, "save");
        let (name, text) = laid.saved();
        assert!(name.ends_with(".framing.toml"), "{name}");
        assert_eq!(crop(&text, "listing"), [751, 300, 3600, 2700]);
    }
    assert_eq!(b.complaints(), Vec::<String>::new());
}

#[test]
fn dragging_the_crop_moves_it_shows_the_thumbnails_and_saves_a_correction() {
    let Some((laid, b)) = ready() else { return };
    for touch in [false, true] {
        b.dress(1280, 900, "light");
        b.open(&laid.page("listing-mug"));
        let stage = start_moving(&b, 0);
        b.drag(
            on_screen(stage, 2500, 1600),
            on_screen(stage, 3100, 1800),
            touch,
        );
        let live = b.run(
            "const o = document.querySelector('.output'); return [[...o.querySelectorAll('.cut svg')].map(s => s.getAttribute('viewBox').split(' ').map(Number)),
                o.querySelectorAll('.fit')[0].textContent, o.querySelector('.over').getAttribute('d')]",
            &[],
        );
        press(&b, 0, "save");
        let (name, text) = laid.saved();
        assert_eq!(name, "IMG_1.JPG.framing.toml");
        let moved = crop(&text, "listing");
        // 600 and 200 px as near as whole screen pixels allow; the size is kept to the pixel
        let unit = f64::from(FRAME.w) / stage[2];
        assert!(
            (moved[0] as f64 - 1300.0).abs() <= 2.0 * unit
                && (moved[1] as f64 - 500.0).abs() <= 2.0 * unit,
            "{moved:?}"
        );
        assert_eq!(moved[2..], [3600, 2700]);
        assert_eq!(live[0][0], json!(moved), "the picture as cut follows");
        let side = moved[3];
        assert_eq!(
            live[0][1],
            json!([moved[0] + (3600 - side) / 2, moved[1], side, side]),
            "and the square thumbnail"
        );
        assert_eq!(live[1], "cuts the product");
        assert!(
            live[2]
                .as_str()
                .unwrap()
                .starts_with(&format!("M{} ", moved[0]))
        );
        let doc: toml::Table = text.parse().unwrap();
        assert_eq!(doc["photo"].as_str().unwrap(), hash("flower.jpg"));
        assert_eq!(doc.len(), 2, "{text}");
    }
    assert_eq!(b.complaints(), Vec::<String>::new());
}

#[test]
fn dragging_a_corner_keeps_the_shape_and_the_opposite_corner_and_stays_inside() {
    let Some((laid, b)) = ready() else { return };
    b.dress(1280, 900, "light");
    b.open(&laid.page("listing-mug"));
    let stage = start_moving(&b, 0);
    b.drag(
        on_screen(stage, 4300, 3000),
        on_screen(stage, 3500, 2400),
        false,
    );
    press(&b, 0, "save");
    let c = crop(&laid.saved().1, "listing");
    assert_eq!(c[..2], [700, 300]);
    assert_eq!(c[2] * 3, c[3] * 4, "exactly 4:3: {c:?}");
    assert!((c[2] - 2800).abs() < 60, "{c:?}");
    // far outside the picture
    let stage = start_moving(&b, 0);
    b.drag(
        on_screen(stage, 700 + c[2] as u32, 300 + c[3] as u32),
        (1279.0, 899.0),
        false,
    );
    press(&b, 0, "save");
    let c = crop(&laid.saved().1, "listing");
    assert_eq!(c[2] * 3, c[3] * 4);
    assert!(
        c[0] + c[2] <= 5120 && c[1] + c[3] <= 3416 && c[3] > 3100,
        "{c:?}"
    );
    // and back to what it was
    press(&b, 0, "back");
    press(&b, 0, "save");
    assert_eq!(crop(&laid.saved().1, "listing"), [700, 300, 3600, 2700]);
}

#[test]
fn the_crop_is_moved_and_resized_by_keys_alone() {
    let Some((laid, b)) = ready() else { return };
    b.open(&laid.page("listing-mug"));
    // Tab: skip link, back link, "Move the crop"; then Enter, and the crop has the focus.
    let (tab, enter, right, down) = ("\u{e004}", "\u{e007}", "\u{e014}", "\u{e015}");
    b.keys(&[tab, tab, tab]);
    assert_eq!(
        b.run("return document.activeElement.textContent", &[]),
        "Move the crop"
    );
    b.keys(&[enter]);
    let focus = b.run("const a = document.activeElement; return [a.getAttribute('role'), a.getAttribute('aria-label'), getComputedStyle(a).outlineStyle]", &[]);
    assert_eq!(focus[0], "application");
    assert!(focus[1].as_str().unwrap().contains("Arrow keys move it"));
    assert_eq!(focus[2], "solid", "the focus is seen");
    // from the crop to "Save this crop": Done, four arrows, smaller, larger
    let save = || {
        b.keys(&[tab; 8]);
        b.keys(&[enter]);
        let (_, text) = laid.saved();
        b.shifted(tab, 8);
        crop(&text, "listing")
    };
    b.keys(&[right, right, down]);
    assert_eq!(save(), [802, 351, 3600, 2700]);
    b.shifted(right, 1);
    assert_eq!(save(), [803, 351, 3600, 2700]);
    b.keys(&["-"]);
    let c = save();
    assert!(c[2] < 3600 && c[2] * 3 == c[3] * 4, "{c:?}");
    b.keys(&["\u{e00c}"]); // Escape
    assert_eq!(save(), [700, 300, 3600, 2700]);
    // nothing but the picture's own edges stops it
    b.keys(&[right; 40]);
    assert_eq!(save(), [1520, 300, 3600, 2700]);
    let said = b.run("return document.querySelector('.status').textContent", &[]);
    assert!(
        said.as_str()
            .unwrap()
            .starts_with("Saved as IMG_1.JPG.framing.toml"),
        "{said}"
    );
}

#[test]
fn one_correction_holds_every_changed_profile_and_what_was_told_before() {
    let Some((laid, b)) = ready() else { return };
    b.dress(1280, 900, "light");
    b.open(&laid.page("listing-bowl"));
    start_moving(&b, 0);
    press(&b, 0, "left");
    start_moving(&b, 1);
    press(&b, 1, "up");
    press(&b, 1, "save");
    let (_, text) = laid.saved();
    assert_eq!(crop(&text, "listing"), [649, 300, 3600, 2700]);
    assert_eq!(crop(&text, "square"), [1200, 349, 2600, 2600]);
    // the held photo: turned, its product told, and too small, which she accepts
    start_moving(&b, 2);
    press(&b, 2, "accept");
    press(&b, 2, "save");
    let (name, text) = laid.saved();
    assert_eq!(name, "IMG_7.JPG.framing.toml");
    let doc: toml::Table = text.parse().unwrap();
    assert_eq!(doc["turn"].as_integer(), Some(90));
    assert_eq!(doc["accept"].as_bool(), Some(true));
    assert_eq!(doc["subject"].as_array().unwrap().len(), 4);
    assert_eq!(doc["photo"].as_str().unwrap(), hash("flower.jpg"));
}

#[test]
fn a_crop_dragged_on_the_programs_own_page_is_taken_by_preview_and_by_the_inbox() {
    let downloads = laid::Downloads::new();
    let Some(b) = Browser::start(downloads.path()) else {
        return;
    };
    let w = workshop::Workshop::new();
    let bytes = workshop::photo("flower", "");
    w.put("Mug/a.jpg", &bytes);
    w.once();
    b.dress(1280, 900, "light");
    b.open(&w.path("state/proof/index.html"));
    b.run(
        "[...document.querySelectorAll('a[href^=listing]')][0].click()",
        &[],
    );
    let stage = start_moving(&b, 0);
    // A corner inwards, then the whole a little: the crop is another one for sure.
    press(&b, 0, "tighter");
    press(&b, 0, "tighter");
    let middle = (stage[0] + stage[2] / 2.0, stage[1] + stage[3] / 2.0);
    b.drag(middle, (middle.0 + 20.0, middle.1), false);
    press(&b, 0, "save");
    let (name, text) = downloads.saved();
    let dragged = crop(&text, "listing");
    let before = w.events("delivered")[0]["crop"].clone();
    assert_ne!(json!(dragged), before);
    // beside a copy anywhere: preview
    let copy = w.path("elsewhere.jpg");
    fs::write(&copy, &bytes).unwrap();
    fs::write(w.path(&name), &text).unwrap();
    let out = w.run(&["preview", "--json", copy.to_str().unwrap()]);
    let line: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    assert_eq!(line["crop"], json!(dragged), "{line}");
    // dropped in the inbox: made again
    w.put(&name, text.as_bytes());
    w.once();
    let delivered = w.events("delivered");
    assert_eq!(delivered[1]["crop"], json!(dragged));
    assert_eq!(delivered[1]["replaces"], "listing/mug/mug-01.jpg");
    assert_eq!(b.complaints(), Vec::<String>::new());
}

#[test]
fn every_control_is_large_enough_to_be_touched() {
    let Some((laid, b)) = ready() else { return };
    b.dress(390, 844, "light");
    b.open(&laid.page("listing-bowl"));
    start_moving(&b, 0);
    // WCAG 2.2, 2.5.8: at least 24 by 24 CSS px
    let small = b.run(
        "return [...document.querySelectorAll('button, nav a, input')].filter(e => e.offsetParent).map(e => [e.textContent, e.getBoundingClientRect()])
            .map(([t, r]) => [t, r.width, r.height]).filter(([t, w, h]) => (w < 24 || h < 24) && t !== '')",
        &[],
    );
    assert_eq!(small, json!([]));
}

/// The README's two pictures, taken of the demonstration: left in `target/proof-sheet/` as
/// `readme-*.png`, to be looked at and kept as JPEG in `packaging/pictures/`, 900 px wide, the second down to its buttons.
#[test]
fn the_demonstrations_page_is_drawn_for_the_readme() {
    let downloads = laid::Downloads::new();
    let Some(b) = Browser::start(downloads.path()) else {
        return;
    };
    let folder = tempfile::tempdir().unwrap();
    let demo = std::process::Command::new(workshop::BINARY)
        .args(["demo", "--folder"])
        .arg(folder.path().join("stallhand-demo"))
        .env("HOME", folder.path())
        .output()
        .unwrap();
    assert!(demo.status.success());
    let out = Path::new(HERE).join("target/proof-sheet");
    fs::create_dir_all(&out).unwrap();
    let pages = folder.path().join("stallhand-demo/state/proof");
    b.dress(1100, 1000, "light");
    b.open(&pages.join("index.html"));
    fs::write(out.join("readme-proof-sheet.png"), b.picture()).unwrap();
    b.run("document.querySelector('a[href^=listing]').click()", &[]);
    let stage = start_moving(&b, 0);
    let middle = (stage[0] + stage[2] / 2.0, stage[1] + stage[3] / 2.0);
    b.drag(middle, (middle.0 + 12.0, middle.1 - 6.0), false);
    fs::write(out.join("readme-moving-a-crop.png"), b.picture()).unwrap();
    assert_eq!(b.complaints(), Vec::<String>::new());
}

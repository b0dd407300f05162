//! The page's colours, measured by the formulas of WCAG 2.2: "relative luminance" and "contrast
//! ratio" as its glossary defines them.

use std::collections::BTreeMap;

use stallhand::proof::policy::STYLE;

fn luminance(rgb: [u8; 3]) -> f64 {
    let linear = |v: u8| {
        let c = f64::from(v) / 255.0;
        if c <= 0.04045 {
            c / 12.92
        } else {
            ((c + 0.055) / 1.055).powf(2.4)
        }
    };
    0.2126 * linear(rgb[0]) + 0.7152 * linear(rgb[1]) + 0.0722 * linear(rgb[2])
}

fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

fn colour(hex: &str) -> [u8; 3] {
    let n = u32::from_str_radix(hex.trim_start_matches('#'), 16).expect("a colour");
    [(n >> 16) as u8, (n >> 8) as u8, n as u8]
}

/// The named colours of the light and of the dark page, read from the style itself.
fn palettes() -> [BTreeMap<String, [u8; 3]>; 2] {
    let read = |block: &str| {
        block
            .lines()
            .filter_map(|l| {
                l.trim()
                    .strip_prefix("--")?
                    .strip_suffix(';')?
                    .split_once(": ")
            })
            .map(|(name, hex)| (name.to_owned(), colour(hex)))
            .collect()
    };
    let (light, dark) = STYLE
        .split_once("@media (prefers-color-scheme: dark)")
        .expect("two schemes");
    let dark = &dark[..dark.find("\n}").expect("an end")];
    [read(light), read(dark)]
}

#[test]
fn the_formula_gives_the_known_extremes() {
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9);
    assert!((contrast([9; 3], [9; 3]) - 1.0).abs() < 1e-9);
    // #767676 on white is the lightest grey that still passes 4.5 (a well-known value, from memory)
    assert!(contrast(colour("#767676"), [255; 3]) >= 4.5);
    assert!(contrast(colour("#777777"), [255; 3]) < 4.5);
}

#[test]
fn every_text_has_at_least_four_and_a_half_to_one_in_light_and_dark() {
    for (scheme, p) in ["light", "dark"].iter().zip(palettes()) {
        assert_eq!(p.len(), 9, "{scheme}");
        let mut pairs = Vec::new();
        for ground in ["paper", "card"] {
            for text in ["ink", "soft", "glaze", "ochre", "brick"] {
                pairs.push((text, ground));
            }
        }
        // buttons: the main one, the same under the pointer, the plain one under the pointer
        pairs.extend([("card", "glaze"), ("card", "ink"), ("ink", "line")]);
        for (text, ground) in pairs {
            let c = contrast(p[text], p[ground]);
            assert!(c >= 4.5, "{scheme}: {text} on {ground} is {c:.2}"); // WCAG 2.2, 1.4.3
        }
    }
}

#[test]
fn borders_of_buttons_and_the_focus_ring_have_at_least_three_to_one() {
    for (scheme, p) in ["light", "dark"].iter().zip(palettes()) {
        for ground in ["paper", "card"] {
            for edge in ["shade", "ink"] {
                let c = contrast(p[edge], p[ground]);
                assert!(c >= 3.0, "{scheme}: {edge} on {ground} is {c:.2}"); // WCAG 2.2, 1.4.11
            }
        }
    }
}

#[test]
fn the_corner_marks_stand_out_on_every_photo() {
    assert!(
        STYLE.contains(".stage .under { stroke: #14110e;")
            && STYLE.contains(".stage .over { stroke: #ffffff;")
    );
    // dark under white: on any ground one of the two has its three to one
    let least = (0..=255u8)
        .map(|v| contrast([v; 3], [255; 3]).max(contrast([v; 3], colour("#14110e"))))
        .fold(f64::MAX, f64::min);
    assert!(least >= 3.0, "{least:.2}");
    assert!(contrast([255; 3], colour("#14110e")) >= 3.0);
}

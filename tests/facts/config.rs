//! Facts about the configuration file: what it says is what is meant, and what is wrong with it
//! is said in words, with the place.

use std::path::{Path, PathBuf};
use std::time::Duration;

use stallhand::base::geometry::Shape;
use stallhand::config::profile::{Format, Set, Tight};
use stallhand::config::{After, Config, ConfigError, Places, load};

fn places() -> Places {
    Places::under(Path::new("/home/ada"))
}
fn parse(text: &str) -> Result<Config, ConfigError> {
    load::parse(text, Path::new("/home/ada/shop/stallhand.toml"), &places())
}
fn refused(text: &str) -> ConfigError {
    parse(text).expect_err(text)
}

#[test]
fn an_empty_file_means_the_defaults_of_the_contract() {
    let c = parse("").unwrap();
    let default = Config {
        file: c.file.clone(),
        ..Config::default_for(&places())
    };
    assert_eq!(c, default);
    let pictures = Path::new("/home/ada/Pictures/Stallhand");
    assert_eq!(c.folders.inbox, pictures.join("inbox"));
    assert_eq!(c.folders.ready, pictures.join("ready"));
    assert_eq!(c.folders.held, pictures.join("held"));
    assert_eq!(c.folders.originals, pictures.join("originals"));
    assert_eq!(c.watch.settle, Duration::from_secs(3));
    assert_eq!(c.watch.listing_settle, Duration::from_secs(60));
    assert_eq!(c.watch.rescan, Duration::from_secs(60));
    assert_eq!(c.watch.after, After::Archive);
    let [p] = c.profiles.as_slice() else {
        panic!("one profile")
    };
    assert_eq!((p.name.as_str(), p.shape), ("listing", Shape::Ratio(4, 3)));
    assert_eq!((p.short_side, p.short_side_min), (2000, 1500));
    assert_eq!(p.max_bytes, 1_000_000);
    assert_eq!((p.quality.floor, p.quality.ceiling), (70, 92));
    assert_eq!((p.fill, p.margin), (0.6, 0.06));
    assert_eq!(p.thumbnails, [Shape::Ratio(1, 1), Shape::Ratio(5, 4)]);
    assert_eq!(
        (p.tight, p.applies_to.as_slice()),
        (Tight::Hold, &["**".to_owned()][..])
    );
    assert!(!c.desktop && c.imprint == Default::default());
    assert_eq!(c.workers.memory, 1 << 30);
}

#[test]
fn every_setting_is_taken_up() {
    let c = parse(
        r##"
[folders]
inbox = "~/in"
ready = "/mnt/out"
held = "held"
originals = './o'
state = "~/s"
[watch]
settle = "500ms"
listing_settle = "2m"
rescan = "1h"
after = "keep"
[[profile]]
name = "square"
shape = "as-is"
short_side = 1200
short_side_min = 800
max_bytes = "1.5MB"
quality = { floor = 60, ceiling = 95, target = 80.5 }
fill = 0.7
margin = 0
thumbnails = ["16:9"]
tight = "extend"
for = ["Mugs", "**/*.png"]
sharpen = 1
set = "even"
format = "webp"
backdrop = "#0aF0fF"
strict = true
wish = 8
[[profile]]
name = "second"
max_bytes = 250_000
[output]
credit = "Ada"
copyright = "© Ada's workshop"
keep_time = true
[notify]
desktop = true
[limits]
workers = 3
memory = "512MiB"
photo_time = "20s"
photo_megapixels = 120
"##,
    )
    .unwrap();
    let f = &c.folders;
    let all = [&f.inbox, &f.ready, &f.held, &f.originals, &f.state];
    let want = [
        "/home/ada/in",
        "/mnt/out",
        "/home/ada/shop/held",
        "/home/ada/shop/o",
        "/home/ada/s",
    ];
    assert_eq!(all, want.map(PathBuf::from).each_ref());
    assert_eq!(c.watch.settle, Duration::from_millis(500));
    assert_eq!(c.watch.listing_settle, Duration::from_secs(120));
    assert_eq!(c.watch.rescan, Duration::from_secs(3600));
    assert_eq!(c.watch.after, After::Keep);
    let p = &c.profiles[0];
    assert_eq!((p.name.as_str(), p.shape), ("square", Shape::AsIs));
    assert_eq!(
        (p.short_side, p.short_side_min, p.max_bytes),
        (1200, 800, 1_500_000)
    );
    assert_eq!(
        (p.quality.floor, p.quality.ceiling, p.quality.target),
        (60, 95, 80.5)
    );
    assert_eq!((p.fill, p.margin, p.sharpen), (0.7, 0.0, 1.0));
    assert_eq!(p.thumbnails, [Shape::Ratio(16, 9)]);
    assert_eq!(
        (p.tight, p.set, p.format),
        (Tight::Extend, Set::Even, Format::Webp)
    );
    assert_eq!(p.applies_to, ["Mugs", "**/*.png"]);
    assert_eq!((p.backdrop, p.strict, p.wish), ([10, 240, 255], true, 8));
    assert_eq!(c.profiles[1].max_bytes, 250_000);
    assert_eq!(c.profiles.len(), 2);
    assert_eq!(c.imprint.credit, "Ada");
    assert_eq!(c.imprint.copyright, "© Ada's workshop");
    assert!(c.imprint.keep_time && c.desktop);
    assert_eq!((c.workers.count, c.workers.memory), (3, 512 << 20));
    assert_eq!(c.workers.photo_time, Duration::from_secs(20));
    assert_eq!(c.limits.pixels, 120_000_000);
}

#[test]
fn an_unknown_setting_is_named_with_its_place_and_the_nearest_that_exists() {
    let e = refused("[watch]\n\n  setle = \"3s\"\n");
    let p = &e.problems[0];
    assert_eq!((p.line, p.column, p.key.as_str()), (3, 3, "watch.setle"));
    let shown = e.to_string();
    assert!(shown.starts_with("/home/ada/shop/stallhand.toml, line 3, column 3: watch.setle: "));
    assert!(shown.ends_with("hint: did you mean settle?"), "{shown}");
    for (text, hint) in [
        ("[[profile]]\nshort-side = 1\n", "did you mean short_side?"),
        (
            "[[profile]]\nquality = { flor = 1 }\n",
            "did you mean floor?",
        ),
        (
            "[[profile]]\nfloor = 70\n",
            "write quality = { floor = ... } under [[profile]]",
        ),
        ("[watch]\ninbox = \"x\"\n", "inbox belongs under [folders]"),
        ("settle = \"3s\"\n", "settle belongs under [watch]"),
        ("[[profiles]]\nname = \"a\"\n", "did you mean [[profile]]?"),
        ("[folder]\n", "did you mean [folders]?"),
        ("[notify]\nzebra = 1\n", "here there are desktop"),
        (
            "[profile]\nname = \"a\"\n",
            "write [[profile]] above its settings",
        ),
        (
            "watch = 3\n",
            "write [watch] on a line of its own and its settings below",
        ),
    ] {
        assert_eq!(refused(text).problems[0].hint, hint, "{text}");
    }
}

#[test]
fn everything_that_is_wrong_is_reported_at_once_in_the_order_of_the_file() {
    let e = refused(
        "[watch]\nafter = \"kep\"\nsettle = 3\n[[profile]]\nfill = 60\nshape = \"4x3\"\nx = 1\n[folders]\ninbox = \"\"\n",
    );
    let keys: Vec<(usize, &str)> = e
        .problems
        .iter()
        .map(|p| (p.line, p.key.as_str()))
        .collect();
    assert_eq!(
        keys,
        [
            (2, "watch.after"),
            (3, "watch.settle"),
            (5, "profile.fill"),
            (6, "profile.shape"),
            (7, "profile.x"),
            (9, "folders.inbox"),
        ]
    );
    assert!(e.problems[0].hint.contains("did you mean \"keep\"?"));
    assert!(e.problems[1].hint.contains("settle = \"3s\""));
    assert!(e.problems[2].hint.contains("from 0 to 1"));
    assert_eq!(e.problems[3].hint, "write \"4:3\"");
}

#[test]
fn values_that_cannot_be_meant_are_refused_and_every_refusal_has_a_hint() {
    for line in [
        "name = \"a/b\"",
        "name = \"..\"",
        "name = \"\"",
        "name = \"CON\"",
        "name = \"lpt1\"",
        "name = \"photo\"",
        "name = \"Töpfe\"",
        "name = 3",
        "shape = \"0:3\"",
        "shape = 1.5",
        "short_side = 2000.5",
        "short_side = \"2000\"",
        "short_side = -1",
        "short_side = 0",
        "short_side = 99999999999999999999",
        "short_side = 1000\nshort_side_min = 1200",
        "max_bytes = \"1 megabyte\"",
        "max_bytes = \"0MB\"",
        "max_bytes = true",
        "quality = 80",
        "quality = { floor = 0 }",
        "quality = { floor = 101 }",
        "quality = { floor = 95 }",
        "quality = { target = nan }",
        "fill = nan",
        "fill = inf",
        "fill = -0.1",
        "margin = 0.5",
        "thumbnails = \"1:1\"",
        "thumbnails = [\"as-is\"]",
        "thumbnails = [1]",
        "tight = \"grow\"",
        "for = []",
        "for = [\"../x\"]",
        "for = [\"/home/ada\"]",
        "for = [\"[\"]",
        "sharpen = 2",
        "set = true",
        "format = \"gif\"",
        "backdrop = \"white\"",
        "backdrop = \"#fff\"",
        "backdrop = \"#fffff\u{e9}\"",
        "strict = \"yes\"",
        "wish = -1",
    ] {
        let text = format!("[[profile]]\n{line}\n");
        let e = refused(&text);
        assert_eq!(e.problems.len(), 1, "{line}: {e}");
        let p = &e.problems[0];
        assert!(
            p.line >= 2 && !p.hint.is_empty() && !p.key.is_empty(),
            "{line}: {e}"
        );
        assert!(!p.message.ends_with('.') && !p.hint.ends_with('.'), "{e}");
    }
    for text in [
        "[watch]\nsettle = \"3 parsecs\"",
        "[watch]\nrescan = \"0s\"",
        "[folders]\ninbox = \"~bob/in\"",
        "[folders]\ninbox = 3",
        "[output]\ncredit = \"a\\nb\"",
        "[limits]\nmemory = \"1MB\"",
    ] {
        assert!(!refused(text).problems[0].hint.is_empty());
    }
}

#[test]
fn two_profiles_of_one_name_are_refused_also_when_only_the_case_differs() {
    let e = refused("[[profile]]\nname = \"web\"\n[[profile]]\nname = \"Web\"\n");
    assert_eq!((e.problems[0].line, e.problems[0].column), (4, 8));
    let e = refused("[[profile]]\nfill = 0.5\n[[profile]]\nfill = 0.6\n");
    assert_eq!(e.problems[0].line, 3);
    assert!(e.problems[0].message.contains("has no name"));
}

#[test]
fn a_smaller_short_side_lowers_the_least_one_unless_it_was_given() {
    let c = parse("[[profile]]\nshort_side = 1000\n").unwrap();
    assert_eq!(c.profiles[0].short_side_min, 1000);
}

#[test]
fn a_slip_of_the_pen_is_placed_and_explained() {
    for (text, line, hint) in [
        ("[watch]\nsettle = 3s\n", 2, "name = \"text\""),
        ("[folders]\ninbox = \"C:\\Photos\"\n", 2, "instead of \\"),
        (
            "[watch]\nsettle = \u{201c}3s\u{201d}\n",
            2,
            "straight quotes",
        ),
        (
            "[watch]\nsettle = \"3s\"\nsettle = \"4s\"\n",
            3,
            "take one of the two out",
        ),
        ("[watch\n", 1, "a setting is written"),
        ("inbox my photos\n", 1, "a remark starts with #"),
    ] {
        let e = refused(text);
        assert_eq!(e.problems[0].line, line, "{e}");
        assert!(e.problems[0].hint.contains(hint), "{e}");
    }
}

#[test]
fn any_bytes_at_all_give_a_configuration_or_a_report_and_never_a_crash() {
    use proptest::prelude::*;
    let words = prop_oneof![
        "[a-z_]{0,12}",
        Just("[watch]".to_owned()),
        Just("[[profile]]".to_owned()),
        Just("quality = { floor = ".to_owned()),
        Just("short_side = ".to_owned()),
        Just("\"".to_owned()),
        Just("\n".to_owned()),
        "\\PC{0,6}",
        "[0-9.:eE+-]{0,8}",
    ];
    let texts = proptest::collection::vec(words, 0..30).prop_map(|v| v.concat());
    proptest!(ProptestConfig { cases: 400, failure_persistence: None, ..Default::default() }, |(text in texts)| {
        match parse(&text) {
            Ok(c) => prop_assert!(!c.profiles.is_empty()),
            Err(e) => {
                prop_assert!(!e.problems.is_empty());
                prop_assert!(!e.to_string().is_empty());
                for p in e.problems {
                    prop_assert!(p.line >= 1 && p.column >= 1 && !p.hint.is_empty());
                }
            }
        }
    });
}

#[test]
fn a_file_that_cannot_be_read_is_said_so_and_notepads_marks_are_understood() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("stallhand.toml");
    let read = || load::read(&file, &places());
    let e = read().unwrap_err().to_string();
    assert!(
        e.contains("no such configuration file") && e.contains("hint: "),
        "{e}"
    );
    let e = load::read(dir.path(), &places()).unwrap_err().to_string();
    assert!(e.contains("a folder, not a configuration file"), "{e}");
    std::fs::write(&file, b"\xef\xbb\xbf[notify]\r\ndesktop = true\r\n").unwrap();
    assert!(read().unwrap().desktop);
    std::fs::write(&file, b"\xff\xfe[\0").unwrap();
    assert!(read().unwrap_err().to_string().contains("UTF-16"));
    std::fs::write(&file, b"# caf\xe9\n").unwrap();
    let e = read().unwrap_err();
    assert_eq!((e.problems[0].line, e.problems[0].column), (1, 6));
    std::fs::write(&file, "[folders]\nheld = \"aside\"\n").unwrap();
    assert_eq!(read().unwrap().folders.held, dir.path().join("aside"));
}

/// `config/` at the top of the source tree.
fn shipped() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("config")
}

#[test]
fn the_shipped_default_is_the_one_the_program_writes() {
    let file = std::fs::read_to_string(shipped().join("stallhand.toml")).unwrap();
    assert!(
        file == stallhand::config::reference::text(),
        "config/stallhand.toml is out of date: write it anew with `stallhand config init`"
    );
}

#[test]
fn the_example_profiles_load_each_by_itself_and_all_together() {
    let names = ["listing", "square", "portrait", "tall", "banner", "web"];
    let mut all = String::new();
    for name in names {
        let file = shipped().join(format!("{name}.toml"));
        let c = load::read(&file, &places()).unwrap_or_else(|e| panic!("{e}"));
        assert_eq!(c.profiles.len(), 1);
        assert_eq!(c.profiles[0].name, name);
        all += &std::fs::read_to_string(&file).unwrap();
    }
    let c = parse(&all).unwrap();
    let got: Vec<&str> = c.profiles.iter().map(|p| p.name.as_str()).collect();
    assert_eq!(got, names);
    let shapes: Vec<String> = c.profiles.iter().map(|p| p.shape.to_string()).collect();
    assert_eq!(shapes, ["4:3", "1:1", "4:5", "9:16", "3:1", "4:3"]);
    assert_eq!(c.profiles[5].format, Format::Webp);
    let files = std::fs::read_dir(shipped()).unwrap().count();
    assert_eq!(files, names.len() + 1, "an example that no test loads");
}

#[test]
fn the_listing_example_is_the_default_profile() {
    let c = load::read(&shipped().join("listing.toml"), &places()).unwrap();
    assert_eq!(c.profiles, [stallhand::config::profile::Profile::default()]);
}

//! A proof sheet laid out for the browser, and the folder its downloads go to. Owns the sample
//! listings; refuses to know what is tried on them.

use std::fs;
use std::path::{Path, PathBuf};
use std::thread::sleep;
use std::time::{Duration, Instant};

use stallhand::base::geometry::{Rect, Shape, Size};
use stallhand::base::reason::{Reason, Verdict};
use stallhand::proof::{self, Card, Entry, Frame, Listing, Output, picture_path};

use crate::driver::Browser;
use crate::hostile;

/// The frame the two real photographs stand for, px (they are 640x427).
pub const FRAME: Size = Size::new(5120, 3416);
pub const HERE: &str = env!("CARGO_MANIFEST_DIR");

fn frame(profile: &str, shape: Shape, verdict: Verdict) -> Frame {
    let crop = match shape {
        Shape::Ratio(1, 1) => Rect::new(1200, 400, 2600, 2600),
        _ => Rect::new(700, 300, 3600, 2700),
    };
    Frame {
        profile: profile.into(),
        shape,
        least: 1500,
        crop,
        subject: Some(Rect::new(1500, 900, 2000, 1500)),
        extension: None,
        thumbnails: vec![(Shape::Ratio(1, 1), true), (Shape::Ratio(5, 4), true)],
        confidence: 0.93,
        verdict,
        reasons: match verdict {
            Verdict::Deliver => vec![],
            Verdict::Glance => vec![Reason::Unsure],
            Verdict::Hold => vec![Reason::TooFewPixels],
        },
        detail: None,
        given: false,
        file: (verdict != Verdict::Hold).then(|| Output {
            href: "../ready/listing/mug/mug-01.jpg".into(),
            name: "mug-01.jpg".into(),
            size: Size::new(2666, 2000),
            bytes: 812_000,
            quality: Some(84.5),
            score: Some(88.3),
        }),
    }
}

fn entry(source: &str, bytes: &[u8], number: u32, frames: Vec<Frame>) -> Entry {
    Entry {
        source: source.to_owned(),
        blake3: blake3::hash(bytes).to_hex().to_string(),
        number: Some(number),
        size: Some(FRAME),
        bytes: Some(8_400_000),
        picture: true,
        frames,
        ..Entry::default()
    }
}

pub struct Laid {
    pub folder: tempfile::TempDir,
    downloads: Downloads,
    pub files: Vec<String>,
}

impl Laid {
    pub fn page(&self, starts: &str) -> PathBuf {
        let name = self
            .files
            .iter()
            .find(|n| n.starts_with(starts))
            .expect("a page");
        self.folder.path().join(name)
    }
    pub fn saved(&self) -> (String, String) {
        self.downloads.saved()
    }
}

/// The folder that the browser saves into.
pub struct Downloads(tempfile::TempDir);

impl Downloads {
    pub fn new() -> Self {
        Self(tempfile::tempdir().unwrap())
    }
    pub fn path(&self) -> &Path {
        self.0.path()
    }
    /// Waits for the one saved file and takes it away.
    pub fn saved(&self) -> (String, String) {
        let patience = Instant::now();
        loop {
            let done = fs::read_dir(self.path())
                .unwrap()
                .flatten()
                .find(|f| f.file_name().to_string_lossy().ends_with(".toml"));
            if let Some(f) = done {
                let text = fs::read_to_string(f.path()).unwrap();
                fs::remove_file(f.path()).unwrap();
                return (f.file_name().to_string_lossy().into_owned(), text);
            }
            assert!(
                patience.elapsed() < Duration::from_secs(10),
                "nothing was saved"
            );
            sleep(Duration::from_millis(50));
        }
    }
}

/// Writes a proof sheet with three listings: a plain one, a mixed one, and one of hostile names.
fn lay() -> Laid {
    let photos = ["china.jpg", "flower.jpg"]
        .map(|n| fs::read(Path::new(HERE).join("tests/facts/real").join(n)).unwrap());
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("pictures")).unwrap();
    for bytes in &photos {
        fs::write(
            folder
                .path()
                .join(picture_path(&blake3::hash(bytes).to_hex())),
            bytes,
        )
        .unwrap();
    }
    let wide = |v| vec![frame("listing", Shape::Ratio(4, 3), v)];
    let mut both = wide(Verdict::Glance);
    both.push(frame("square", Shape::Ratio(1, 1), Verdict::Deliver));
    let mut turned = entry("Bowl/IMG_7.JPG", &photos[1], 2, wide(Verdict::Hold));
    turned.turn = 90;
    turned.told = Some(Rect::new(1500, 900, 2000, 1500));
    let unread = Entry {
        source: "Bowl/IMG_8.JPG".into(),
        blake3: "00".repeat(32),
        refusal: Some((
            Reason::Undecodable,
            "the picture ends after 61 of 100 rows".into(),
        )),
        note: Some("/home/maker/held/Bowl/IMG_8.JPG.txt".into()),
        ..Entry::default()
    };
    let listing = |name: &str, photos| Listing {
        name: Some(name.to_owned()),
        changed: "2026-11-25T10:00:00Z".into(),
        remarks: vec![],
        photos,
    };
    let hostile = hostile::NAMES.iter().enumerate();
    let listings = [
        listing(
            "Mug",
            vec![entry(
                "Mug/IMG_1.JPG",
                &photos[1],
                1,
                wide(Verdict::Deliver),
            )],
        ),
        listing(
            "Bowl",
            vec![entry("Bowl/IMG_6.JPG", &photos[0], 1, both), turned, unread],
        ),
        listing(
            "Zoo <b>\"'",
            hostile
                .map(|(i, n)| {
                    entry(
                        &format!("Zoo/{n}"),
                        &photos[i % 2],
                        i as u32 + 1,
                        wide(Verdict::Glance),
                    )
                })
                .collect(),
        ),
    ];
    let cards = listings.each_ref().map(Card::of);
    let mut pages = proof::front("25 November 2026 at 14:02", cards.iter());
    pages.extend(
        listings
            .iter()
            .flat_map(|l| proof::listing(l, "/home/maker/inbox")),
    );
    let mut files = Vec::new();
    for (name, bytes) in pages {
        fs::write(folder.path().join(&name), bytes).unwrap();
        files.push(name);
    }
    Laid {
        folder,
        downloads: Downloads::new(),
        files,
    }
}

pub fn ready() -> Option<(Laid, Browser)> {
    let laid = lay();
    let browser = Browser::start(laid.downloads.path());
    if browser.is_none() {
        eprintln!("skipped: chromium and chromedriver are not installed");
    }
    Some((laid, browser?))
}

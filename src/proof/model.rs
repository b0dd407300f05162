//! What the proof sheet shows, as plain data handed in by the caller. Owns the vocabulary of the
//! page; refuses to know where the facts came from and how they are drawn.

use crate::base::geometry::{Rect, Shape, Size};
use crate::base::reason::{Reason, Verdict};
use crate::framing::Extension;

/// The photos of one thing for sale, or those of no listing.
#[derive(Clone, Debug, Default)]
pub struct Listing {
    /// Inbox-relative folder, e.g. `Spring/Mug`; `None` for photos of no listing.
    pub name: Option<String>,
    /// RFC 3339 in UTC, so that it sorts as text: the last change of this listing.
    pub changed: String,
    /// Remarks about the listing as a whole.
    pub remarks: Vec<Reason>,
    /// In listing order, the cover first.
    pub photos: Vec<Entry>,
}

/// One photo with what became of it under each profile.
#[derive(Clone, Debug, Default)]
pub struct Entry {
    /// Inbox-relative path, lossy where the name is not UTF-8.
    pub source: String,
    /// Lower-case hexadecimal hash of the photo's bytes.
    pub blake3: String,
    /// Its reserved number in the listing.
    pub number: Option<u32>,
    /// Upright size in px; `None` when the photo could not be read.
    pub size: Option<Size>,
    /// Weight of the source in bytes.
    pub bytes: Option<u64>,
    /// Whether `picture_path` of its hash exists.
    pub picture: bool,
    /// Clockwise turn from the correction in force: 0, 90, 180 or 270.
    pub turn: u32,
    /// The correction in force accepts small or tight outputs.
    pub accept: bool,
    /// The product's box from the correction in force.
    pub told: Option<Rect>,
    /// File name of the better of two near twins, when this is the other.
    pub better: Option<String>,
    /// One for each profile that applies, in the order of the configuration.
    pub frames: Vec<Frame>,
    /// Why the photo as a whole could not go on, with one sentence of facts.
    pub refusal: Option<(Reason, String)>,
    /// The note in the held folder, as shown to her.
    pub note: Option<String>,
}

/// The decision for one photo and profile.
#[derive(Clone, Debug)]
pub struct Frame {
    pub profile: String,
    pub shape: Shape,
    /// px; the profile's least short side.
    pub least: u32,
    /// Box in px of the upright source.
    pub crop: Rect,
    pub subject: Option<Rect>,
    /// Canvas grown around the crop.
    pub extension: Option<Extension>,
    /// Each thumbnail shape, and whether it still holds the product.
    pub thumbnails: Vec<(Shape, bool)>,
    /// Probability, 0 to 1.
    pub confidence: f64,
    pub verdict: Verdict,
    pub reasons: Vec<Reason>,
    /// Further facts in one sentence, lowercase, no full stop.
    pub detail: Option<String>,
    /// The crop came from her correction.
    pub given: bool,
    /// `None` when nothing was delivered.
    pub file: Option<Output>,
}

/// A delivered file.
#[derive(Clone, Debug)]
pub struct Output {
    /// Link from the proof sheet's folder, already percent-encoded (see `link::relative`).
    pub href: String,
    /// File name alone.
    pub name: String,
    pub size: Size,
    pub bytes: u64,
    /// JPEG quality, fractional; `None` for formats without one.
    pub quality: Option<f64>,
    /// SSIMULACRA2 against the unencoded picture.
    pub score: Option<f64>,
}

/// How many photos are in each state; a photo counts once, by its worst profile.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Tally {
    pub ready: usize,
    pub glance: usize,
    pub held: usize,
}

impl Tally {
    pub fn add(&mut self, verdict: Verdict) {
        match verdict {
            Verdict::Deliver => self.ready += 1,
            Verdict::Glance => self.glance += 1,
            Verdict::Hold => self.held += 1,
        }
    }
    pub fn total(self) -> usize {
        self.ready + self.glance + self.held
    }
    pub fn join(&mut self, other: Self) {
        self.ready += other.ready;
        self.glance += other.glance;
        self.held += other.held;
    }
}

impl Entry {
    /// The worst verdict among its profiles; a photo that could not go on is held.
    pub fn verdict(&self) -> Verdict {
        let worst = self.frames.iter().map(|f| f.verdict).max();
        if self.refusal.is_some() {
            Verdict::Hold
        } else {
            worst.unwrap_or(Verdict::Hold)
        }
    }
    /// File name without folders.
    pub fn leaf(&self) -> &str {
        self.source.rsplit('/').next().unwrap_or(&self.source)
    }
    /// A stable anchor on its page.
    pub fn anchor(&self) -> String {
        format!("p-{}", short_hash(&self.blake3))
    }
}

impl Listing {
    pub fn title(&self) -> String {
        self.name.as_deref().map_or_else(
            || "Photos of no listing".to_owned(),
            |n| n.replace('/', " / "),
        )
    }
    pub fn tally(&self) -> Tally {
        let mut tally = Tally::default();
        self.photos.iter().for_each(|p| tally.add(p.verdict()));
        tally
    }
    /// File name of its page; `page` counts from 1.
    pub fn page_name(&self, page: usize) -> String {
        let name = self.name.as_deref().unwrap_or("");
        let mut slug = String::new();
        for c in name.chars().take(60) {
            if c.is_ascii_alphanumeric() {
                slug.push(c.to_ascii_lowercase());
            } else if !slug.is_empty() && !slug.ends_with('-') {
                slug.push('-');
            }
        }
        // The hash keeps names apart that differ only in what the slug leaves out.
        let hash = blake3::hash(format!("{}{name}", self.name.is_some()).as_bytes()).to_hex();
        let more = if page > 1 {
            format!("-page-{page}")
        } else {
            String::new()
        };
        let slug = slug.trim_end_matches('-');
        let stem = if slug.is_empty() { "photos" } else { slug };
        format!("listing-{stem}-{}{more}.html", &hash[..8])
    }
}

/// Where a photo's small picture lies, relative to the proof sheet's folder.
pub fn picture_path(blake3: &str) -> String {
    format!("pictures/{}.jpg", short_hash(blake3))
}

fn short_hash(blake3: &str) -> String {
    let hex = blake3.chars().filter(char::is_ascii_hexdigit);
    hex.take(16).collect()
}

//! Facts about the proof sheet, the story of a photo and the text beside a listing.

mod contrast;
mod pages;
mod telling;

use stallhand::base::geometry::{Rect, Shape, Size};
use stallhand::base::reason::{Reason, Verdict};
use stallhand::proof::{self, Card, Entry, Frame, Listing, Output, Page};

/// A 5120x3416 photo with one delivered 4:3 output.
fn entry(source: &str, number: u32) -> Entry {
    Entry {
        source: source.to_owned(),
        blake3: blake3::hash(source.as_bytes()).to_hex().to_string(),
        number: Some(number),
        size: Some(Size::new(5120, 3416)),
        bytes: Some(8_400_000),
        picture: true,
        frames: vec![frame(Verdict::Deliver, vec![], number)],
        ..Entry::default()
    }
}

fn frame(verdict: Verdict, reasons: Vec<Reason>, number: u32) -> Frame {
    Frame {
        profile: "listing".into(),
        shape: Shape::Ratio(4, 3),
        least: 1500,
        crop: Rect::new(600, 300, 3600, 2700),
        subject: Some(Rect::new(1500, 900, 1600, 1500)),
        extension: None,
        thumbnails: vec![(Shape::Ratio(1, 1), true), (Shape::Ratio(5, 4), true)],
        confidence: 0.93,
        verdict,
        reasons,
        detail: None,
        given: false,
        file: (verdict != Verdict::Hold).then(|| Output {
            href: format!("../ready/listing/mug/mug-{number:02}.jpg"),
            name: format!("mug-{number:02}.jpg"),
            size: Size::new(2666, 2000),
            bytes: 812_000,
            quality: Some(84.5),
            score: Some(88.3),
        }),
    }
}

fn listing(name: &str, changed: &str, photos: Vec<Entry>) -> Listing {
    Listing {
        name: Some(name.to_owned()),
        changed: changed.to_owned(),
        remarks: vec![],
        photos,
    }
}

struct Sheet {
    made: String,
    inbox: String,
    listings: Vec<Listing>,
}

/// All pages, `index.html` first.
fn files(sheet: &Sheet) -> Vec<Page> {
    let cards: Vec<Card> = sheet.listings.iter().map(Card::of).collect();
    let mut files = proof::front(&sheet.made, cards.iter());
    let listings = sheet.listings.iter();
    files.extend(listings.flat_map(|l| proof::listing(l, &sheet.inbox)));
    files
}

fn sheet(listings: Vec<Listing>) -> Sheet {
    Sheet {
        made: "25 November 2026, 14:02".into(),
        inbox: "/home/maker/inbox".into(),
        listings,
    }
}

fn page(sheet: &Sheet, name: impl Fn(&str) -> bool) -> String {
    let mut files = files(sheet).into_iter();
    let (_, bytes) = files.find(|(n, _)| name(n)).expect("the page is there");
    String::from_utf8(bytes).expect("pages are UTF-8")
}

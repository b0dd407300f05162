//! The pages: the front page with what to look at first, the whole list of it, and one run of pages
//! for each listing. Owns their order and their links; refuses to know how one photo is drawn.

use std::fmt::Write as _;
use std::io::{Read, Write as _};

use flate2::Compression;
use flate2::read::DeflateDecoder;
use flate2::write::DeflateEncoder;

use super::card::{article, counted, state};
use super::escape::html;
use super::frame::{self, Canvas};
use super::model::{Entry, Listing, Tally};
use super::policy;
use super::words;
use crate::base::reason::Verdict;

/// Photos on one page of a listing.
pub const PHOTOS_A_PAGE: usize = 30;
/// Small cards on one page.
pub const CARDS_A_PAGE: usize = 96;
/// Cards of what to look at first on the front page; the rest has its own pages.
pub const FIRST: usize = 12;

/// A page: file name relative to the proof sheet's folder, and its HTML.
pub type Page = (String, String);

/// What the front pages show of one listing, drawn once, so that they can be made anew without
/// reading a listing that did not change.
#[derive(Clone, Debug)]
pub struct Card {
    name: Option<String>,
    changed: String,
    tally: Tally,
    html: String,
    /// Its photos to look at, drawn, one after another and packed: a daemon that runs for months keeps
    /// thousands of them, which are much alike.
    look: Vec<u8>,
    /// Verdict of each and its length, bytes.
    each: Vec<(Verdict, usize)>,
}

impl Card {
    pub fn of(l: &Listing) -> Self {
        let photos = l.photos.iter().enumerate();
        let look = photos
            .map(|(i, p)| (p.verdict(), i))
            .filter(|(v, _)| *v != Verdict::Deliver);
        let (mut drawn, mut each) = (String::new(), Vec::new());
        for (verdict, i) in look {
            let card = look_card(l, i);
            drawn.push_str(&card);
            each.push((verdict, card.len()));
        }
        each.shrink_to_fit();
        Self {
            name: l.name.clone(),
            changed: l.changed.clone(),
            tally: l.tally(),
            html: listing_card(l),
            look: packed(&drawn),
            each,
        }
    }

    /// Its photos to look at, drawn.
    fn look(&self) -> Vec<(Verdict, String)> {
        let mut drawn = String::new();
        let all = DeflateDecoder::new(&self.look[..]).read_to_string(&mut drawn);
        let mut rest = all.map_or("", |_| drawn.as_str());
        let cut = |(verdict, len): &(Verdict, usize)| {
            let (card, left) = rest.split_at_checked(*len).unwrap_or(("", ""));
            rest = left;
            (*verdict, card.to_owned())
        };
        self.each.iter().map(cut).collect()
    }
}

/// Packed (DEFLATE, RFC 1951); nothing where there is nothing.
fn packed(drawn: &str) -> Vec<u8> {
    let mut packer = DeflateEncoder::new(Vec::new(), Compression::fast());
    let done = packer
        .write_all(drawn.as_bytes())
        .and_then(|()| packer.finish());
    let mut bytes = done.unwrap_or_default();
    bytes.shrink_to_fit();
    bytes
}

/// The front pages, `index.html` first, and those of what to look at.
pub fn front<'a>(made: &str, listings: impl Iterator<Item = &'a Card>) -> Vec<Page> {
    let mut order: Vec<&Card> = listings.filter(|l| l.tally.total() > 0).collect();
    order.sort_by(|a, b| b.changed.cmp(&a.changed).then_with(|| a.name.cmp(&b.name)));
    let mut sum = Tally::default();
    order.iter().for_each(|l| sum.join(l.tally));
    let drawn: Vec<Vec<(Verdict, String)>> = order.iter().map(|l| l.look()).collect();
    let mut look: Vec<&str> = Vec::new();
    for verdict in [Verdict::Hold, Verdict::Glance] {
        let all = drawn.iter().flatten();
        look.extend(all.filter(|(v, _)| *v == verdict).map(|(_, h)| h.as_str()));
    }
    let mut out = Vec::new();
    let listings: Vec<&[&Card]> = order.chunks(CARDS_A_PAGE).collect();
    for n in 1..=listings.len().max(1) {
        let mut body = String::new();
        if n == 1 {
            body.push_str(&first(&look));
        }
        body.push_str(r#"<section class="part" aria-labelledby="all"><h2 id="all">Listings, newest first</h2>"#);
        match listings.get(n - 1) {
            Some(chunk) => {
                body.push_str(r#"<ul class="cards">"#);
                chunk.iter().for_each(|l| body.push_str(&l.html));
                body.push_str("</ul>");
            }
            None => body.push_str(
                "<p>No photo has come yet. Put some into the inbox and open this page again.</p>",
            ),
        }
        body.push_str(&pager(n, listings.len(), front_name));
        body.push_str("</section>");
        let head = format!(
            r#"{SIGN}<h1>Proof sheet</h1><p class="sum">{}</p>"#,
            words::tally(sum)
        );
        let made = format!("Made {}.", html(made));
        out.push((
            front_name(n),
            shell("Proof sheet", &head, &body, Some(&made)),
        ));
    }
    let rest: Vec<&[&str]> = look.chunks(CARDS_A_PAGE).collect();
    if look.len() > FIRST {
        for (i, chunk) in rest.iter().enumerate() {
            let mut body = String::from(r#"<ul class="cards">"#);
            chunk.iter().for_each(|card| body.push_str(card));
            body.push_str("</ul>");
            body.push_str(&pager(i + 1, rest.len(), look_name));
            let head = format!(
                "{BACK}<h1>To look at</h1><p class=\"sum\">{}</p>",
                words::count(look.len(), "photo", "photos")
            );
            out.push((look_name(i + 1), shell("To look at", &head, &body, None)));
        }
    }
    out
}

fn first(look: &[&str]) -> String {
    let mut out = String::from(
        r#"<section class="part" aria-labelledby="first"><h2 id="first">Look at these first</h2>"#,
    );
    if look.is_empty() {
        out.push_str("<p>Nothing needs you.</p></section>");
        return out;
    }
    out.push_str(r#"<ul class="cards">"#);
    look.iter().take(FIRST).for_each(|card| out.push_str(card));
    out.push_str("</ul>");
    if look.len() > FIRST {
        let _ = write!(
            out,
            r#"<p class="pager"><a href="{}">See all {}</a></p>"#,
            look_name(1),
            look.len()
        );
    }
    out.push_str("</section>");
    out
}

/// The pages of one listing; `inbox` is where she puts a saved correction.
pub fn listing(listing: &Listing, inbox: &str) -> Vec<Page> {
    let title = listing.title();
    let chunks: Vec<&[Entry]> = listing.photos.chunks(PHOTOS_A_PAGE).collect();
    let mut out = Vec::new();
    for (i, chunk) in chunks.iter().enumerate() {
        let mut body = String::new();
        if i == 0 && !listing.remarks.is_empty() {
            body.push_str(r#"<ul class="reasons">"#);
            for r in &listing.remarks {
                let what = words::remedy(*r).unwrap_or_default();
                let _ = write!(
                    body,
                    r#"<li>{}<span class="do">{}</span></li>"#,
                    html(&words::sentence(r.meaning())),
                    html(&what)
                );
            }
            body.push_str("</ul>");
        }
        chunk.iter().for_each(|p| body.push_str(&article(p, inbox)));
        body.push_str(&pager(i + 1, chunks.len(), |n| listing.page_name(n)));
        let head = format!(
            "{BACK}<h1><bdi>{}</bdi></h1><p class=\"sum\">{}</p>",
            html(&title),
            words::tally(listing.tally())
        );
        out.push((listing.page_name(i + 1), shell(&title, &head, &body, None)));
    }
    out
}

fn listing_card(l: &Listing) -> String {
    let t = l.tally();
    let counts = [
        (t.ready, Verdict::Deliver),
        (t.glance, Verdict::Glance),
        (t.held, Verdict::Hold),
    ];
    let counts = counts.into_iter().filter(|(n, _)| *n > 0);
    let counts: Vec<String> = counts.map(|(n, v)| counted(n, v)).collect();
    // The cover: the first photo that was delivered, else the first of all.
    let cover = l
        .photos
        .iter()
        .find(|p| p.frames.iter().any(|f| f.file.is_some()));
    format!(
        r#"<li><a href="{}"><span class="print">{}</span><span class="name"><bdi>{}</bdi></span><span class="counts">{}</span></a></li>"#,
        l.page_name(1),
        cover.or(l.photos.first()).map_or_else(String::new, print),
        html(&l.title()),
        counts.concat()
    )
}

fn look_card(l: &Listing, index: usize) -> String {
    let p = &l.photos[index];
    let verdict = p.verdict();
    let framed = p.frames.iter().filter(|f| f.verdict == verdict);
    let reason = p
        .refusal
        .as_ref()
        .map(|(r, _)| *r)
        .or_else(|| framed.flat_map(|f| &f.reasons).next().copied());
    let mut why = String::new();
    if let Some(r) = reason {
        let _ = write!(why, "<p>{}</p>", html(&words::reason(p, r)));
        if let (Verdict::Hold, Some(what)) = (verdict, words::remedy(r)) {
            let _ = write!(why, r#"<p class="quiet">{}</p>"#, html(&what));
        }
    }
    format!(
        r#"<li><a href="{}#{}"><span class="print">{}</span><span class="name"><bdi>{}</bdi></span><span class="from"><bdi>{}</bdi></span></a><p>{}</p>{why}</li>"#,
        l.page_name(index / PHOTOS_A_PAGE + 1),
        p.anchor(),
        print(p),
        html(p.leaf()),
        html(&l.title()),
        state(verdict)
    )
}

/// A photo as a small print: cut where there is a crop, whole otherwise.
fn print(p: &Entry) -> String {
    match (p.size.filter(|_| p.picture), p.frames.first()) {
        (Some(size), Some(f)) => frame::cut(p, size, Canvas::of(f), None),
        (Some(size), None) => {
            let all = Canvas {
                x: 0,
                y: 0,
                w: size.w,
                h: size.h,
            };
            frame::cut(p, size, all, None)
        }
        (None, _) => r#"<span class="none">No picture could be read</span>"#.to_owned(),
    }
}

/// Our own sign: a pot between four corner marks.
const SIGN: &str = r#"<svg class="sign" viewBox="0 0 40 30" aria-hidden="true"><path class="clay" d="M14 10h12v7a6 6 0 0 1-12 0z"/><path d="M2 8V2h6M32 2h6v6M38 22v6h-6M8 28H2v-6"/></svg>"#;

const BACK: &str = r#"<nav aria-label="Proof sheet"><a href="index.html">← All listings</a></nav>"#;

fn front_name(n: usize) -> String {
    if n == 1 {
        "index.html".to_owned()
    } else {
        format!("older-{n}.html")
    }
}

fn look_name(n: usize) -> String {
    format!("look-{n}.html")
}

fn pager(now: usize, of: usize, name: impl Fn(usize) -> String) -> String {
    if of < 2 {
        return String::new();
    }
    let mut out = String::from(r#"<nav class="pager" aria-label="Pages">"#);
    if now > 1 {
        let _ = write!(
            out,
            r#"<a href="{}" rel="prev">← Before</a>"#,
            name(now - 1)
        );
    }
    let _ = write!(out, "<span>Page {now} of {of}</span>");
    if now < of {
        let _ = write!(out, r#"<a href="{}" rel="next">Next →</a>"#, name(now + 1));
    }
    out.push_str("</nav>");
    out
}

/// `made` is told on the front pages alone: a listing's page changes only when the listing does.
fn shell(title: &str, head: &str, body: &str, made: Option<&str>) -> String {
    let script = if body.contains("<article") {
        format!("<script>{}</script>", policy::SCRIPT)
    } else {
        String::new()
    };
    format!(
        r##"<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta http-equiv="Content-Security-Policy" content="{policy}">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta name="color-scheme" content="light dark">
<meta name="referrer" content="no-referrer">
<title>{title}</title>
<style>{style}</style>
</head>
<body>
<a class="skip" href="#main">To the photos</a>
<header>{head}</header>
<main id="main">{body}</main>
<footer>{made} The proof sheet is made anew after each batch.</footer>
{script}
</body>
</html>
"##,
        policy = policy::content(),
        title = html(title),
        style = policy::STYLE,
        made = made.unwrap_or_default()
    )
}

//! One photo on its listing's page: the picture with its crop, what is cut from it, the reasons and
//! the figures. Owns a photo's place on the page; refuses to know the pages around it.

use std::fmt::Write as _;

use super::escape::{file_name, html};
use super::frame::{self, Canvas};
use super::model::{Entry, Frame};
use super::words;
use crate::base::geometry::{Rect, Size};
use crate::base::reason::{Reason, Verdict};

/// The article of one photo. `inbox` is where she puts a saved correction.
pub fn article(entry: &Entry, inbox: &str) -> String {
    let mut out = String::with_capacity(4096);
    let _ = write!(out, r#"<article class="photo" id="{}""#, entry.anchor());
    if let (Some(size), true) = (entry.size, entry.picture) {
        let hash: String = entry
            .blake3
            .chars()
            .filter(char::is_ascii_hexdigit)
            .collect();
        let _ = write!(
            out,
            r#" data-photo="{hash}" data-size="{} {}" data-turn="{}" data-accept="{}" data-save="{}.framing.toml""#,
            size.w,
            size.h,
            entry.turn,
            yes(entry.accept),
            html(&file_name(entry.leaf()))
        );
        if let Some(told) = entry.told {
            let _ = write!(out, r#" data-told="{}""#, spaced(told));
        }
    }
    out.push_str("><h2>");
    if let Some(n) = entry.number {
        let _ = write!(out, r#"<span class="no">{n}</span> "#);
    }
    let _ = write!(
        out,
        "<bdi>{}</bdi>{}</h2>",
        html(entry.leaf()),
        state(entry.verdict())
    );
    if let Some((reason, detail)) = &entry.refusal {
        out.push_str(&refused(entry, *reason, detail));
    }
    let several = entry.frames.len() > 1;
    for f in &entry.frames {
        out.push_str(&output(entry, f, several, inbox));
    }
    if let (Verdict::Hold, Some(note)) = (entry.verdict(), &entry.note) {
        let _ = write!(
            out,
            r#"<p class="small quiet">Its note: <code>{}</code></p>"#,
            html(note)
        );
    }
    out.push_str("</article>");
    out
}

/// A verdict as a mark with its word: the mark's form and the word carry it, colour only helps.
pub fn state(verdict: Verdict) -> String {
    marked(verdict, words::verdict(verdict))
}

/// How many photos have a verdict, with its mark: `3 held`.
pub fn counted(n: usize, verdict: Verdict) -> String {
    let word = words::verdict(verdict).to_lowercase();
    marked(verdict, &format!("{n} {word}"))
}

fn marked(verdict: Verdict, words: &str) -> String {
    let mark = match verdict {
        Verdict::Deliver => r#"<path d="M2 8.5l4 4L14 3.5"/>"#,
        Verdict::Glance => {
            r#"<circle cx="8" cy="8" r="6"/><path class="full" d="M8 2a6 6 0 0 0 0 12z"/>"#
        }
        Verdict::Hold => r#"<rect x="2" y="2" width="12" height="12"/><path d="M5 8h6"/>"#,
    };
    format!(
        r#"<span class="state {}"><svg viewBox="0 0 16 16" aria-hidden="true">{mark}</svg>{words}</span>"#,
        verdict.code()
    )
}

fn refused(entry: &Entry, reason: Reason, detail: &str) -> String {
    let mut out = String::from(r#"<div class="output">"#);
    if let (Some(size), true, true) = (entry.size, entry.picture, entry.frames.is_empty()) {
        let _ = write!(
            out,
            r#"<div class="source">{}</div>"#,
            frame::whole(entry, size)
        );
    }
    let _ = write!(
        out,
        r#"<div class="facts">{}</div></div>"#,
        reasons(entry, &[reason], Some(detail))
    );
    out
}

fn output(entry: &Entry, f: &Frame, several: bool, inbox: &str) -> String {
    let shown = entry.size.filter(|_| entry.picture);
    let mut out = format!(
        r#"<section class="output" aria-label="{}" data-profile="{0}""#,
        html(&f.profile)
    );
    if shown.is_some() {
        let _ = write!(
            out,
            r#" data-crop="{}" data-shape="{}" data-least="{}" data-given="{}""#,
            spaced(f.crop),
            f.shape,
            f.least,
            yes(f.given)
        );
        if let Some(s) = f.subject {
            let _ = write!(out, r#" data-subject="{}""#, spaced(s));
        }
    }
    out.push('>');
    if several {
        let _ = write!(out, "<h3>{} {}</h3>", html(&f.profile), state(f.verdict));
    }
    if let Some(size) = shown {
        let _ = write!(
            out,
            r#"<div class="source">{}{}</div>"#,
            frame::stage(entry, f, size),
            edit(entry, f, inbox)
        );
    }
    out.push_str(r#"<div class="facts">"#);
    if let Some(size) = shown {
        out.push_str(&cuts(entry, f, size));
    }
    out.push_str(&reasons(entry, &f.reasons, f.detail.as_deref()));
    out.push_str(&figures(entry, f));
    out.push_str("</div></section>");
    out
}

/// The output as cut, and each thumbnail as the shop will cut it.
fn cuts(entry: &Entry, f: &Frame, size: Size) -> String {
    let canvas = Canvas::of(f);
    let mut out = String::from(r#"<div class="cuts">"#);
    let _ = write!(
        out,
        r#"<figure class="cut">{}<figcaption>{}</figcaption></figure>"#,
        frame::cut(entry, size, canvas, Some("The picture as it is cut")),
        f.shape
    );
    for (shape, whole) in &f.thumbnails {
        // Without a product nothing can be said about a thumbnail.
        let fit = match (f.subject, whole) {
            (None, _) => "",
            (Some(_), true) => r#" <span class="fit">whole</span>"#,
            (Some(_), false) => r#" <span class="fit bad">cuts the product</span>"#,
        };
        let _ = write!(
            out,
            r#"<figure class="cut" data-shape="{shape}">{}<figcaption>{shape}{fit}</figcaption></figure>"#,
            frame::cut(
                entry,
                size,
                canvas.middle(*shape),
                Some(&format!("Shop thumbnail {shape}"))
            )
        );
    }
    out.push_str("</div>");
    out
}

fn reasons(entry: &Entry, list: &[Reason], detail: Option<&str>) -> String {
    if list.is_empty() && detail.is_none() {
        return String::new();
    }
    let mut out = String::from(r#"<ul class="reasons">"#);
    for (i, r) in list.iter().enumerate() {
        let _ = write!(out, "<li>{}", html(&words::reason(entry, *r)));
        if let (0, Some(detail)) = (i, detail) {
            let _ = write!(out, " {}", html(&words::sentence(detail)));
        }
        if let Some(what) = words::remedy(*r) {
            let _ = write!(out, r#"<span class="do">{}</span>"#, html(&what));
        }
        out.push_str("</li>");
    }
    if let (true, Some(detail)) = (list.is_empty(), detail) {
        let _ = write!(out, "<li>{}</li>", html(&words::sentence(detail)));
    }
    out.push_str("</ul>");
    out
}

fn figures(entry: &Entry, f: &Frame) -> String {
    let mut out = String::from("<dl>");
    let mut row = |name: &str, value: &str| {
        let _ = write!(out, "<dt>{name}</dt><dd>{value}</dd>");
    };
    if let Some(file) = &f.file {
        row(
            "File",
            &format!(
                r#"<a href="{}"><bdi>{}</bdi></a>"#,
                html(&file.href),
                html(&file.name)
            ),
        );
        row("Pixels", &format!("{} × {}", file.size.w, file.size.h));
        row("Weight", &words::weight(file.bytes));
        let jpeg = file.quality.map_or_else(String::new, |q| {
            format!(", JPEG {}", (q * 10.0).round() / 10.0)
        });
        row(
            "Quality",
            &format!("{}{jpeg}", words::quality(file.score, file.quality)),
        );
    }
    row("Crop", &words::sureness(f.confidence));
    if let Some(size) = entry.size {
        let weight = entry
            .bytes
            .map_or_else(String::new, |b| format!(", {}", words::weight(b)));
        row("Photo", &format!("{} × {}{weight}", size.w, size.h));
    }
    out.push_str("</dl>");
    out
}

/// The tools for moving a crop; they stay hidden where no script runs.
fn edit(entry: &Entry, f: &Frame, inbox: &str) -> String {
    let mut out = String::from(
        r#"<div class="edit" hidden><button type="button" class="open" aria-expanded="false">Move the crop</button><div class="tools" hidden><p class="live"></p><div class="row" role="group" aria-label="Move the crop">"#,
    );
    for (what, sign, label) in [
        ("left", "←", "Left"),
        ("up", "↑", "Up"),
        ("down", "↓", "Down"),
        ("right", "→", "Right"),
        ("tighter", "−", "Smaller crop"),
        ("wider", "+", "Larger crop"),
    ] {
        let _ = write!(
            out,
            r#"<button type="button" class="key" data-do="{what}" aria-label="{label}">{sign}</button>"#
        );
    }
    out.push_str("</div>");
    let lenient = [Reason::TooFewPixels, Reason::DoesNotFit];
    if entry.accept || f.reasons.iter().any(|r| lenient.contains(r)) {
        let _ = write!(
            out,
            r#"<label><input type="checkbox" class="accept"{}>Deliver it although it is small or tight</label>"#,
            if entry.accept { " checked" } else { "" }
        );
    }
    let _ = write!(
        out,
        r#"<div class="row"><button type="button" class="main" data-do="save">Save this crop</button><button type="button" data-do="back">As it was</button></div><p class="small">Saving gives you a small file. Put it into your inbox, <code>{}</code>, and the picture is made again.</p><p class="status small quiet" role="status"></p></div></div>"#,
        html(inbox)
    );
    out
}

fn spaced(r: Rect) -> String {
    format!("{} {} {} {}", r.x, r.y, r.w, r.h)
}

fn yes(is: bool) -> &'static str {
    if is { "yes" } else { "no" }
}

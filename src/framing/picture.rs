//! Draws a decision onto a copy of the photo: product, usable part, crop and thumbnails, each with a line
//! of its own dashes and a label, so that nothing hangs on colour. Owns the drawing; refuses to decide.

use fast_image_resize as fr;
use font8x8::legacy::{BASIC_LEGACY, LATIN_LEGACY, NOTHING_TO_DISPLAY};

use super::Framing;
use crate::base::geometry::{Rect, Shape, Size};
use crate::config::profile::Profile;
use crate::photo::raster::Raster;

/// Long side of the drawn photo, px.
const LONG: u32 = 1200;
/// Side of a letter, px.
const LETTER: u32 = 16;
const PAD: u32 = 6;

const INK: [u8; 3] = [255, 255, 255];
const PAPER: [u8; 3] = [16, 16, 16];

/// One kind of line: lengths of dashes and gaps in px, and a colour.
struct Line {
    dashes: &'static [u32],
    colour: [u8; 3],
}
const CROP: Line = Line {
    dashes: &[1],
    colour: [255, 255, 255],
};
const PRODUCT: Line = Line {
    dashes: &[18, 8],
    colour: [255, 196, 0],
};
const USABLE: Line = Line {
    dashes: &[4, 8],
    colour: [90, 220, 255],
};
const THUMBNAIL: Line = Line {
    dashes: &[18, 6, 4, 6],
    colour: [255, 150, 230],
};

/// The photo at 1200 px with everything drawn on it, and a strip of words below. sRGB when the photo is.
pub fn picture(photo: &Raster, profile: &Profile, framing: &Framing) -> Raster {
    let size = photo.size();
    let scale = f64::from(LONG) / f64::from(size.long().max(1));
    let to = |v: u32| (f64::from(v) * scale).round() as u32;
    let small = Size::new(to(size.w).max(1), to(size.h).max(1));
    let place = |r: Rect| {
        Rect::new(
            to(r.x),
            to(r.y),
            to(r.right()) - to(r.x),
            to(r.bottom()) - to(r.y),
        )
    };
    let words = words(profile, framing, small.w);
    let strip = words.len() as u32 * (LETTER + PAD) + PAD;
    let mut sheet = Sheet {
        raster: laid_on_strip(&shrunk(photo, small), strip),
        drawn: small,
        taken: Vec::new(),
        labels: Vec::new(),
    };
    sheet.veil(place(framing.crop));
    if let Some(usable) = framing.usable {
        sheet.boxed(place(usable), &USABLE, "usable", Corner::BottomLeft);
    }
    for (shape, safe) in &framing.thumbnails {
        let label = format!("thumbnail {shape} {}", if *safe { "holds" } else { "cuts" });
        if let Some(part) = thumbnail(*shape, framing, size) {
            sheet.boxed(place(part), &THUMBNAIL, &label, Corner::BottomRight);
        }
    }
    sheet.boxed(
        place(framing.crop),
        &CROP,
        &format!("crop {}", profile.shape),
        Corner::TopLeft,
    );
    if let Some(subject) = framing.subject {
        sheet.boxed(place(subject), &PRODUCT, "product", Corner::TopLeft);
    }
    sheet.label_all();
    for (i, line) in words.iter().enumerate() {
        sheet.text(PAD, small.h + PAD + i as u32 * (LETTER + PAD), line);
    }
    sheet.raster
}

/// The part of the photo that a centred thumbnail of the output shows; `None` where it shows grown canvas alone.
fn thumbnail(shape: Shape, framing: &Framing, photo: Size) -> Option<Rect> {
    let t = shape.centred_in(framing.canvas().frame());
    let grown = framing.extension.unwrap_or_default();
    let side = |start: u32, len: u32, crop: u32, before: u32, limit: u32| {
        let from = i64::from(crop) + i64::from(start) - i64::from(before);
        let on = |v: i64| v.clamp(0, i64::from(limit)) as u32;
        let (a, b) = (on(from), on(from + i64::from(len)));
        (b > a).then_some((a, b - a))
    };
    let (x, w) = side(t.x, t.w, framing.crop.x, grown.left, photo.w)?;
    let (y, h) = side(t.y, t.h, framing.crop.y, grown.top, photo.h)?;
    Some(Rect::new(x, y, w, h))
}

/// What the strip says, broken to the width.
fn words(profile: &Profile, framing: &Framing, width: u32) -> Vec<String> {
    let Rect { x, y, w, h } = framing.crop;
    let mut all = vec![format!(
        "{}: {}, confidence {:.2}, crop {w} x {h} px at {x}, {y}",
        profile.name,
        framing.verdict.code(),
        framing.confidence
    )];
    if let Some(e) = framing.extension {
        all.push(format!(
            "canvas grown by {} left, {} top, {} right, {} bottom",
            e.left, e.top, e.right, e.bottom
        ));
    }
    all.extend(
        framing
            .reasons
            .iter()
            .map(|r| format!("{r}: {}", r.meaning())),
    );
    let most = ((width.saturating_sub(2 * PAD)) / LETTER).max(8) as usize;
    let mut lines = Vec::new();
    for sentence in all {
        let mut line = String::new();
        for word in sentence.split(' ') {
            if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > most {
                lines.push(std::mem::take(&mut line));
                line.push_str("  ");
            } else if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(word);
        }
        lines.push(line);
    }
    lines
}

fn shrunk(photo: &Raster, to: Size) -> Raster {
    let size = photo.size();
    let from = fr::images::ImageRef::new(size.w, size.h, photo.pixels(), fr::PixelType::U8x3)
        .expect("a raster is three bytes a pixel");
    let mut out = fr::images::Image::new(to.w, to.h, fr::PixelType::U8x3);
    let options =
        fr::ResizeOptions::new().resize_alg(fr::ResizeAlg::Convolution(fr::FilterType::Bilinear));
    fr::Resizer::new()
        .resize(&from, &mut out, &options)
        .expect("both are three bytes a pixel");
    Raster::new(to, out.into_vec())
}

fn laid_on_strip(photo: &Raster, strip: u32) -> Raster {
    let size = photo.size();
    let mut pixels = photo.pixels().to_vec();
    pixels.extend(PAPER.repeat((size.w * strip) as usize));
    Raster::new(Size::new(size.w, size.h + strip), pixels)
}

#[derive(Clone, Copy)]
enum Corner {
    TopLeft,
    BottomLeft,
    BottomRight,
}

struct Sheet {
    raster: Raster,
    /// Size of the photo on the sheet, above the strip.
    drawn: Size,
    /// Labels so far; none lies on another.
    taken: Vec<Rect>,
    /// Labels still to be drawn, over all lines: left, top, last column, last row; colour, words, corner.
    labels: Vec<(Rect, [u8; 3], String, Corner)>,
}

impl Sheet {
    fn dot(&mut self, x: u32, y: u32, colour: [u8; 3]) {
        let size = self.raster.size();
        if x < size.w && y < size.h {
            let i = (y as usize * size.w as usize + x as usize) * 3;
            self.raster.pixels_mut()[i..i + 3].copy_from_slice(&colour);
        }
    }

    fn fill(&mut self, r: Rect, colour: [u8; 3]) {
        for y in r.y..r.bottom() {
            for x in r.x..r.right() {
                self.dot(x, y, colour);
            }
        }
    }

    /// Darkens what the crop leaves out.
    fn veil(&mut self, crop: Rect) {
        let Size { w, h } = self.drawn;
        for y in 0..h {
            for x in 0..w {
                let inside =
                    (crop.x..crop.right()).contains(&x) && (crop.y..crop.bottom()).contains(&y);
                if !inside {
                    let px = self.raster.at(x, y).map(|v| v / 2);
                    self.dot(x, y, px);
                }
            }
        }
    }

    /// A box with its label at one of its corners, or below where another label lies.
    fn boxed(&mut self, r: Rect, line: &Line, label: &str, corner: Corner) {
        let Size { w, h } = self.drawn;
        let (x1, y1) = (
            r.right().min(w).saturating_sub(1),
            r.bottom().min(h).saturating_sub(1),
        );
        let period: u32 = line.dashes.iter().sum();
        let on = |t: u32| {
            let mut t = t % period;
            for (i, d) in line.dashes.iter().enumerate() {
                if t < *d {
                    return i % 2 == 0;
                }
                t -= d;
            }
            false
        };
        // A dark line on both sides keeps the dashes visible on any ground.
        for k in 0..5u32 {
            let dark = k == 0 || k == 4;
            let inset = k;
            let (ax, ay) = (r.x + inset, r.y + inset);
            let (bx, by) = (x1.saturating_sub(inset), y1.saturating_sub(inset));
            for x in ax..=bx {
                if dark || on(x) {
                    let c = if dark { PAPER } else { line.colour };
                    self.dot(x, ay, c);
                    self.dot(x, by, c);
                }
            }
            for y in ay..=by {
                if dark || on(y) {
                    let c = if dark { PAPER } else { line.colour };
                    self.dot(ax, y, c);
                    self.dot(bx, y, c);
                }
            }
        }
        self.labels.push((
            Rect::new(r.x, r.y, x1, y1),
            line.colour,
            label.to_owned(),
            corner,
        ));
    }

    /// Draws the labels, first come on top of its corner.
    fn label_all(&mut self) {
        for (r, colour, label, corner) in std::mem::take(&mut self.labels) {
            self.label(r, colour, &label, corner);
        }
    }

    /// `r` holds left, top, last column and last row.
    fn label(&mut self, r: Rect, colour: [u8; 3], label: &str, corner: Corner) {
        let (x1, y1) = (r.w, r.h);
        let (w, h) = (
            label.chars().count() as u32 * LETTER + 2 * PAD,
            LETTER + 2 * PAD,
        );
        let (mut x, mut y, down) = match corner {
            Corner::TopLeft => (r.x + 8, r.y + 8, true),
            Corner::BottomLeft => (r.x + 8, y1.saturating_sub(8 + h), false),
            Corner::BottomRight => (x1.saturating_sub(8 + w), y1.saturating_sub(8 + h), false),
        };
        x = x.min(self.drawn.w.saturating_sub(w));
        y = y.min(self.drawn.h.saturating_sub(h));
        let mut spot = Rect::new(x, y, w, h);
        for _ in 0..self.taken.len() {
            if !self.taken.iter().any(|t| t.intersection(spot).is_some()) {
                break;
            }
            spot.y = if down {
                spot.y + h + 2
            } else {
                spot.y.saturating_sub(h + 2)
            };
            spot.y = spot.y.min(self.drawn.h.saturating_sub(h));
        }
        self.taken.push(spot);
        self.fill(spot, PAPER);
        let sample = Rect::new(spot.x, spot.bottom() - 3, spot.w, 3);
        self.fill(sample, colour);
        self.text(spot.x + PAD, spot.y + PAD - 1, label);
    }

    /// Text from the left top, each letter doubled from the 8 x 8 font.
    fn text(&mut self, x: u32, y: u32, text: &str) {
        for (i, c) in text.chars().enumerate() {
            let glyph = match c as usize {
                n @ 0..128 => BASIC_LEGACY[n],
                n @ 160..256 => LATIN_LEGACY[n - 160],
                _ => NOTHING_TO_DISPLAY,
            };
            for (row, bits) in glyph.iter().enumerate() {
                for column in (0..8u32).filter(|c| bits >> c & 1 == 1) {
                    let (px, py) = (x + i as u32 * LETTER + column * 2, y + row as u32 * 2);
                    self.fill(Rect::new(px, py, 2, 2), INK);
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::reason::{Reason, Verdict};
    use crate::framing::Extension;

    fn framing() -> Framing {
        Framing {
            subject: Some(Rect::new(1000, 800, 900, 1000)),
            usable: Some(Rect::new(0, 0, 4000, 2600)),
            crop: Rect::new(400, 300, 2667, 2000),
            extension: None,
            thumbnails: vec![(Shape::Ratio(1, 1), true), (Shape::Ratio(5, 4), false)],
            confidence: 0.93,
            weighed: None,
            span: None,
            verdict: Verdict::Deliver,
            reasons: vec![Reason::ThumbnailCuts],
        }
    }

    #[test]
    fn the_picture_is_1200_px_wide_and_darkens_what_is_left_out() {
        let photo = Raster::filled(Size::new(4000, 3000), [200, 180, 160]);
        let p = picture(&photo, &Profile::default(), &framing());
        assert_eq!(p.size().w, 1200);
        assert!(p.size().h > 900, "a strip of words lies below");
        assert_eq!(p.at(20, 20), [100, 90, 80]);
        assert_eq!(p.at(700, 560), [200, 180, 160]);
    }

    #[test]
    fn a_thumbnail_is_drawn_where_it_lies_on_the_grown_canvas() {
        let mut f = framing();
        let photo = Size::new(4000, 3000);
        f.crop = Rect::new(0, 500, 4000, 2000);
        assert_eq!(
            thumbnail(Shape::Ratio(1, 1), &f, photo),
            Some(Rect::new(1000, 500, 2000, 2000))
        );
        f.extension = Some(Extension {
            left: 1600,
            ..Extension::default()
        });
        assert_eq!(
            thumbnail(Shape::Ratio(1, 1), &f, photo),
            Some(Rect::new(200, 500, 2000, 2000))
        );
        f.extension = Some(Extension {
            left: 4000,
            ..Extension::default()
        });
        assert_eq!(
            thumbnail(Shape::Ratio(1, 1), &f, photo),
            Some(Rect::new(0, 500, 1000, 2000))
        );
    }

    #[test]
    fn each_line_has_dashes_of_its_own() {
        let photo = Raster::filled(Size::new(1200, 900), [90, 90, 90]);
        let mut all = std::collections::BTreeSet::new();
        for line in [&CROP, &PRODUCT, &USABLE, &THUMBNAIL] {
            let mut sheet = Sheet {
                raster: photo.clone(),
                drawn: photo.size(),
                taken: Vec::new(),
                labels: Vec::new(),
            };
            sheet.boxed(Rect::new(100, 100, 800, 600), line, "", Corner::BottomRight);
            let pattern: Vec<bool> = (150..400)
                .map(|x| sheet.raster.at(x, 102) == line.colour)
                .collect();
            assert!(all.insert(pattern));
        }
    }

    #[test]
    fn any_box_and_any_name_can_be_drawn() {
        let profile = Profile {
            name: "ä\u{1F600}\n".repeat(90),
            ..Profile::default()
        };
        for (w, h) in [(1, 1), (1, 5000), (5000, 1), (37, 41)] {
            let photo = Raster::filled(Size::new(w, h), [0, 0, 0]);
            let mut f = framing();
            f.crop = photo.size().frame();
            f.subject = Some(photo.size().frame());
            f.usable = None;
            picture(&photo, &profile, &f);
        }
    }
}

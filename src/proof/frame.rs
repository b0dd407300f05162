//! Draws a crop on its photo, and what is cut from it, as SVG with attributes alone. Owns the
//! drawing; refuses to know verdicts and words about them.

use std::fmt::Write as _;

use super::escape::html;
use super::model::{Entry, Frame, picture_path};
use crate::base::geometry::{Rect, Shape, Size};

/// A box that may reach outside the photo where the backdrop was grown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Canvas {
    pub x: i64,
    pub y: i64,
    pub w: u32,
    pub h: u32,
}

impl Canvas {
    /// What the output shows: the crop with its extension.
    pub fn of(frame: &Frame) -> Self {
        let e = frame.extension.unwrap_or_default();
        let c = frame.crop;
        Self {
            x: i64::from(c.x) - i64::from(e.left),
            y: i64::from(c.y) - i64::from(e.top),
            w: c.w.saturating_add(e.left).saturating_add(e.right),
            h: c.h.saturating_add(e.top).saturating_add(e.bottom),
        }
    }
    /// The largest centred part of a shape.
    pub fn middle(self, shape: Shape) -> Self {
        let part = shape.centred_in(Rect::new(0, 0, self.w, self.h));
        Self {
            x: self.x + i64::from(part.x),
            y: self.y + i64::from(part.y),
            w: part.w,
            h: part.h,
        }
    }
    fn view(self) -> String {
        format!("{} {} {} {}", self.x, self.y, self.w, self.h)
    }
}

/// Four plain corner marks, as path data in px of the source.
pub fn corners(c: Rect) -> String {
    let n = (u64::from(c.size().short()) * 11 / 100).max(1);
    let (x, y) = (u64::from(c.x), u64::from(c.y));
    let (r, b) = (u64::from(c.right()), u64::from(c.bottom()));
    format!(
        "M{x} {}V{y}H{}M{} {y}H{r}V{}M{r} {}V{b}H{}M{} {b}H{x}V{}",
        y + n,
        x + n,
        r.saturating_sub(n),
        y + n,
        b.saturating_sub(n),
        r.saturating_sub(n),
        x + n,
        b.saturating_sub(n)
    )
}

/// Everything of the photo outside the crop, as path data for the even-odd rule.
fn around(c: Rect, frame: Size) -> String {
    format!(
        "M0 0H{}V{}H0ZM{} {}V{}H{}V{}Z",
        frame.w,
        frame.h,
        c.x,
        c.y,
        c.bottom(),
        c.right(),
        c.y
    )
}

fn picture(entry: &Entry, size: Size) -> String {
    format!(
        r#"<image href="{}" width="{}" height="{}" preserveAspectRatio="none"/>"#,
        picture_path(&entry.blake3),
        size.w,
        size.h
    )
}

/// The whole photo with the crop's corner marks; needs a picture and a size.
pub fn stage(entry: &Entry, frame: &Frame, size: Size) -> String {
    let c = frame.crop;
    let mut out = format!(
        r#"<svg class="stage" width="{w}" height="{h}" viewBox="0 0 {w} {h}" role="img" aria-label="The photo {name}. Its crop is {cw} by {ch} pixels, {x} from the left and {y} from the top.">"#,
        w = size.w,
        h = size.h,
        name = html(entry.leaf()),
        cw = c.w,
        ch = c.h,
        x = c.x,
        y = c.y
    );
    out.push_str(&picture(entry, size));
    let _ = write!(out, r#"<path class="veil" d="{}"/>"#, around(c, size));
    if let Some(s) = frame.subject {
        let _ = write!(
            out,
            r#"<rect class="product" x="{}" y="{}" width="{}" height="{}"/>"#,
            s.x, s.y, s.w, s.h
        );
    }
    let d = corners(c);
    let _ = write!(
        out,
        r#"<path class="mark under" d="{d}"/><path class="mark over" d="{d}"/></svg>"#
    );
    out
}

/// The photo as it is, where no crop was decided.
pub fn whole(entry: &Entry, size: Size) -> String {
    format!(
        r#"<svg class="stage" width="{w}" height="{h}" viewBox="0 0 {w} {h}" role="img" aria-label="The photo {}.">{}</svg>"#,
        html(entry.leaf()),
        picture(entry, size),
        w = size.w,
        h = size.h,
    )
}

/// One part of the photo alone. `label` is read out; without one the drawing is decoration.
pub fn cut(entry: &Entry, size: Size, part: Canvas, label: Option<&str>) -> String {
    let role = label.map_or_else(
        || r#"aria-hidden="true""#.to_owned(),
        |l| format!(r#"role="img" aria-label="{}""#, html(l)),
    );
    format!(
        r#"<svg width="{}" height="{}" viewBox="{}" {role}>{}</svg>"#,
        part.w,
        part.h,
        part.view(),
        picture(entry, size)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::base::reason::Verdict;
    use crate::framing::Extension;

    #[test]
    fn corner_marks_touch_the_crop_and_are_a_ninth_of_its_short_side() {
        assert_eq!(
            corners(Rect::new(10, 20, 200, 100)),
            "M10 31V20H21M199 20H210V31M210 109V120H199M21 120H10V109"
        );
    }

    #[test]
    fn a_thumbnail_is_cut_from_the_middle_of_the_grown_canvas() {
        let frame = Frame {
            profile: "listing".into(),
            shape: Shape::Ratio(4, 3),
            least: 1500,
            crop: Rect::new(0, 0, 300, 300),
            subject: None,
            extension: Some(Extension {
                left: 50,
                right: 50,
                ..Default::default()
            }),
            thumbnails: vec![],
            confidence: 0.5,
            verdict: Verdict::Glance,
            reasons: vec![],
            detail: None,
            given: false,
            file: None,
        };
        let canvas = Canvas::of(&frame);
        assert_eq!((canvas.x, canvas.w, canvas.h), (-50, 400, 300));
        let square = canvas.middle(Shape::Ratio(1, 1));
        assert_eq!((square.x, square.y, square.w, square.h), (0, 0, 300, 300));
    }
}

//! Judges one crop against the truth, demand by demand, exactly as the set's own `score.py` does; each
//! demand is made only where some crop can meet it. Owns the judgement; refuses to know who made the crop.

use super::truth::{Integral, Scene};

/// A crop to be judged; boxes `[x, y, w, h]` in px.
#[derive(Clone, Debug)]
pub struct Answer {
    pub aspect: &'static str,
    pub crop: [f64; 4],
    pub subject: Option<[f64; 4]>,
    pub confidence: f64,
}

#[derive(Clone, Debug)]
pub struct Judgement {
    pub iou: f64,
    pub whole_f: Option<bool>,
    pub edge_free: Option<bool>,
    pub centre: f64,
    pub margin: f64,
    pub fill: f64,
    pub kept: f64,
    pub bad: f64,
    pub thumb_f: Option<bool>,
    /// `None` where no crop of the shape holds the product.
    pub ready: Option<bool>,
    pub confidence: f64,
}

pub fn ratio(aspect: &str) -> f64 {
    let (a, b) = aspect.split_once(':').expect("an aspect is a:b");
    a.parse::<f64>().unwrap() / b.parse::<f64>().unwrap()
}

pub fn iou(a: [f64; 4], b: [f64; 4]) -> f64 {
    let ix = (a[0] + a[2]).min(b[0] + b[2]) - a[0].max(b[0]);
    let iy = (a[1] + a[3]).min(b[1] + b[3]) - a[1].max(b[1]);
    let i = ix.max(0.0) * iy.max(0.0);
    i / (a[2] * a[3] + b[2] * b[3] - i + 1e-9)
}

pub fn judge(
    scene: &Scene,
    answer: &Answer,
    product: &Integral,
    beyond: Option<&Integral>,
) -> Judgement {
    let (fw, fh) = (scene.width, scene.height);
    let [x, y, w, h] = answer.crop;
    let [bx, by, bw, bh] = scene.subject;
    let k = ratio(answer.aspect);
    let aspect_ok = (w / h / k - 1.0).abs() < 0.015;
    let in_frame = x > -1.0 && y > -1.0 && x + w < fw + 1.0 && y + h < fh + 1.0;
    let (kx, ky) = (product.w as f64 / fw, product.h as f64 / fh);
    let kept = product.over(x * kx, y * ky, (x + w) * kx, (y + h) * ky) / product.total();
    let whole = kept >= 0.99;
    let s = w.min(h);
    let (tx, ty) = (x + (w - s) / 2.0, y + (h - s) / 2.0);
    let thumb =
        product.over(tx * kx, ty * ky, (tx + s) * kx, (ty + s) * ky) / product.total() >= 0.98;
    let centre = ((bx + bw / 2.0 - x - w / 2.0) / w).hypot((by + bh / 2.0 - y - h / 2.0) / h);
    let margin = ((bx - x) / w)
        .min((by - y) / h)
        .min((x + w - bx - bw) / w)
        .min((y + h - by - bh) / h);
    let f = scene.feasible.get(answer.aspect);
    let feasible = f.is_some_and(|f| f.feasible_by_mask);
    let short = {
        let w = fw.min(fh * k);
        w.min(w / k)
    };
    let (mut edge_free, mut bad) = (None, 0.0);
    if scene.usable.is_some()
        && feasible
        && let Some(b) = beyond
    {
        let (kx, ky) = (b.w as f64 / fw, b.h as f64 / fh);
        bad = b.over(x * kx, y * ky, (x + w) * kx, (y + h) * ky) / (w * h * kx * ky);
        edge_free = Some(bad <= 0.003);
    }
    let can_centre = f.is_some_and(|f| f.largest_centred.is_some());
    let ready = whole
        && in_frame
        && aspect_ok
        && (!feasible || margin >= 0.02)
        && edge_free != Some(false)
        && (!can_centre || centre <= 0.10);
    let mw = fw.min(fh * k);
    let holds = bw <= mw + 1.0 && bh <= mw / k + 1.0;
    Judgement {
        iou: answer.subject.map_or(0.0, |s| iou(s, scene.subject)),
        whole_f: feasible.then_some(whole),
        edge_free,
        centre,
        margin,
        fill: (bw / w).max(bh / h),
        kept,
        bad,
        thumb_f: (feasible && bw.max(bh) <= 0.98 * short).then_some(thumb),
        ready: holds.then_some(ready),
        confidence: answer.confidence,
    }
}

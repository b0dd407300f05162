//! Prints what was measured. Owns columns and counts; refuses to measure.

use std::path::Path;

use crate::Row;

const WIDTH: usize = 26;

pub fn head() {
    println!(
        "{:WIDTH$} {:>4} {:>7} {:>7} {:>9} {:>7} {:>6} {:>5} {:>6}",
        "", "n", "iou>=.7", "whole_f", "edge_free", "thumb_f", "centre", "fill", "ready"
    );
}

fn share(values: impl Iterator<Item = bool>) -> Option<(f64, usize)> {
    let (mut n, mut yes) = (0, 0);
    for v in values {
        n += 1;
        yes += usize::from(v);
    }
    (n > 0).then(|| (yes as f64 / n as f64, n))
}

fn percent(s: Option<(f64, usize)>) -> String {
    s.map_or("-".into(), |(v, _)| format!("{:.1}%", v * 100.0))
}

fn median(mut v: Vec<f64>) -> f64 {
    v.sort_by(f64::total_cmp);
    v.get(v.len() / 2).copied().unwrap_or(0.0)
}

pub fn line(name: &str, rows: &[Row]) {
    line_of(name, rows.iter());
}

pub fn line_of<'a>(name: &str, rows: impl Iterator<Item = &'a Row>) {
    let j: Vec<_> = rows.map(|r| &r.judgement).collect();
    println!(
        "{name:WIDTH$} {:>4} {:>7} {:>7} {:>9} {:>7} {:>6.3} {:>5.2} {:>6}",
        j.len(),
        percent(share(j.iter().map(|j| j.iou >= 0.7))),
        percent(share(j.iter().filter_map(|j| j.whole_f))),
        percent(share(j.iter().filter_map(|j| j.edge_free))),
        percent(share(j.iter().filter_map(|j| j.thumb_f))),
        median(j.iter().map(|j| j.centre).collect()),
        median(j.iter().map(|j| j.fill).collect()),
        percent(share(j.iter().filter_map(|j| j.ready))),
    );
}

/// How many crops were given at least a confidence, and how many of those are ready.
pub fn sureness(rows: &[Row]) {
    let judged: Vec<_> = rows
        .iter()
        .filter(|r| r.judgement.ready.is_some())
        .collect();
    for bound in [0.5, 0.8, 0.9, 0.95] {
        let sure = judged.iter().filter(|r| r.judgement.confidence >= bound);
        let ready = share(sure.filter_map(|r| r.judgement.ready));
        let n = ready.map_or(0, |r| r.1);
        println!(
            "confidence >= {bound:<4}: {:>5.1}% of crops, {} of them ready",
            100.0 * n as f64 / judged.len().max(1) as f64,
            percent(ready)
        );
    }
    let brier: f64 = judged
        .iter()
        .map(|r| {
            (r.judgement.confidence - f64::from(u8::from(r.judgement.ready == Some(true)))).powi(2)
        })
        .sum::<f64>()
        / judged.len().max(1) as f64;
    println!("Brier score of the confidence: {brier:.3}");
}

pub fn worst(rows: &[Row], n: usize) {
    let mut rows: Vec<_> = rows
        .iter()
        .filter(|r| r.judgement.ready == Some(false))
        .collect();
    rows.sort_by(|a, b| a.judgement.iou.total_cmp(&b.judgement.iou));
    for r in rows.iter().take(n) {
        let j = &r.judgement;
        println!(
            "{} {} {} iou={:.2} kept={:.3} bad={:.4} centre={:.3} margin={:.3} fill={:.2} conf={:.2} {}",
            r.image,
            r.aspect,
            r.verdict,
            j.iou,
            j.kept,
            j.bad,
            j.centre,
            j.margin,
            j.fill,
            j.confidence,
            r.tags
        );
    }
}

/// One JSON line a crop that was weighed: its signals and whether it is ready (`final`: what was taken).
pub fn signals(path: &Path, rows: &[Row]) -> Result<(), String> {
    let mut out = String::new();
    for r in rows {
        if let Some((signals, ready)) = &r.weighed {
            let j = &r.judgement;
            let line = serde_json::json!({
                "image": r.image, "aspect": r.aspect, "signals": signals, "ready": ready, "verdict": r.verdict,
                "final": j.ready, "whole": j.whole_f, "edge_free": j.edge_free, "iou": j.iou, "confidence": j.confidence,
            });
            out.push_str(&line.to_string());
            out.push('\n');
        }
    }
    std::fs::write(path, out).map_err(|e| format!("{}: {e}", path.display()))
}

/// CPU seconds of this process in user mode (Linux; 0 elsewhere), in steps of 10 ms.
pub fn user_cpu() -> f64 {
    let text = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let after = text.rsplit(')').next().unwrap_or_default();
    after
        .split_whitespace()
        .nth(11)
        .and_then(|t| t.parse::<f64>().ok())
        .unwrap_or(0.0)
        / 100.0
}

//! The text that lies beside a listing's outputs while she uploads them. Owns its layout; refuses to
//! know where it is written.

use std::fmt::Write as _;

use super::escape::plain;
use super::model::Listing;
use super::words;
use crate::base::reason::{Reason, Verdict};

/// `LISTING.txt` of one listing and profile: order, sizes and remarks, as plain text with lines
/// that end in LF. `None` when that profile has nothing in this listing.
pub fn listing_text(listing: &Listing, profile: &str) -> Option<String> {
    let mut out = format!("{}\n\n", plain(&listing.title()));
    let (mut pictures, mut bytes) = (0usize, 0u64);
    let mut missing = String::new();
    let files = listing
        .photos
        .iter()
        .flat_map(|p| &p.frames)
        .filter(|f| f.profile == profile);
    let width = files
        .filter_map(|f| f.file.as_ref())
        .map(|f| plain(&f.name).chars().count())
        .max()
        .unwrap_or(0);
    for p in &listing.photos {
        let frame = p.frames.iter().find(|f| f.profile == profile);
        if let Some((f, file)) = frame.and_then(|f| f.file.as_ref().map(|file| (f, file))) {
            pictures += 1;
            bytes += file.bytes;
            let line = format!(
                "{pictures:>3}  {:<width$}  {:>11}  {:>7}",
                plain(&file.name),
                format!("{} x {}", file.size.w, file.size.h),
                words::weight(file.bytes),
            );
            out.push_str(&line);
            out.push('\n');
            let mut lead = if f.verdict == Verdict::Glance {
                "For a glance: "
            } else {
                ""
            };
            let as_wished = |r: &&Reason| matches!(r, Reason::Corrected | Reason::EvenAir);
            for r in f.reasons.iter().filter(|r| !as_wished(r)) {
                let _ = writeln!(out, "     {lead}{}", plain(&words::reason(p, *r)));
                lead = "";
            }
        } else {
            let whole = p
                .refusal
                .as_ref()
                .map(|(r, detail)| (Some(*r), Some(detail.as_str())));
            let held = frame.filter(|f| f.verdict == Verdict::Hold);
            let part = held.map(|f| (f.reasons.first().copied(), f.detail.as_deref()));
            let Some((reason, detail)) = whole.or(part) else {
                continue;
            };
            let said = detail
                .or(reason.map(Reason::meaning))
                .unwrap_or("it needs you");
            let _ = writeln!(
                missing,
                "  {}: {}",
                plain(p.leaf()),
                plain(&words::sentence(said))
            );
            if let Some(what) = reason.and_then(words::remedy) {
                let _ = writeln!(missing, "     {what}");
            }
        }
    }
    if pictures == 0 && missing.is_empty() {
        return None;
    }
    let _ = writeln!(
        out,
        "\nTogether {}, {}.",
        words::count(pictures, "picture", "pictures"),
        words::weight(bytes)
    );
    if !listing.remarks.is_empty() {
        out.push('\n');
        for r in &listing.remarks {
            let _ = writeln!(out, "{}", words::sentence(r.meaning()));
        }
    }
    if !missing.is_empty() {
        let _ = write!(out, "\nHeld, so not here:\n{missing}");
    }
    Some(out)
}

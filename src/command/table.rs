//! The table that `once` and `demo` print. Owns widths and words; refuses to count.

use super::say;
use crate::base::reason::{Reason, Verdict};
use crate::base::record::Record;
use crate::daemon::summary::{Line, Outcome, Summary};
use crate::proof::escape::plain;

/// Prints every outcome, one row each.
pub fn print(summary: &Summary) {
    let rows: Vec<[String; 6]> = summary.lines.iter().filter_map(row).collect();
    if rows.is_empty() {
        return;
    }
    let head = [
        "photo",
        "file in ready",
        "size",
        "quality",
        "weight",
        "verdict",
    ]
    .map(str::to_owned);
    let mut widths = [0; 6];
    for r in std::iter::once(&head).chain(&rows) {
        for (w, cell) in widths.iter_mut().zip(r) {
            *w = (*w).max(cell.chars().count());
        }
    }
    for r in std::iter::once(&head).chain(&rows) {
        let mut line = String::new();
        for (i, (cell, width)) in r.iter().zip(widths).enumerate() {
            let pad = " ".repeat(width - cell.chars().count());
            // Figures stand right, words left.
            if (2..=4).contains(&i) {
                line.push_str(&pad);
                line.push_str(cell);
            } else {
                line.push_str(cell);
                line.push_str(&pad);
            }
            line.push_str("  ");
        }
        say(line.trim_end());
    }
}

/// Prints what the journal tells of an earlier run.
pub fn print_journal(lines: &[Record]) {
    let mut summary = Summary::default();
    for r in lines {
        let reasons = r.reasons.clone().unwrap_or_default();
        let outcome = match (r.event.as_str(), &r.delivery) {
            ("delivered", Some(d)) => Outcome::Delivered {
                output: d.output.clone(),
                width: d.width,
                height: d.height,
                bytes: d.bytes,
                quality: d.quality,
                verdict: Verdict::from_code(&d.verdict).unwrap_or(Verdict::Glance),
                reasons,
            },
            ("held", _) => Outcome::Held {
                reasons,
                detail: r.detail.clone().unwrap_or_default(),
            },
            ("ignored", _) => Outcome::Ignored {
                reason: reasons.first().cloned().unwrap_or_default(),
            },
            _ => continue,
        };
        summary.lines.push(Line {
            source: r.source.clone().unwrap_or_default(),
            listing: r.listing.clone().unwrap_or_default(),
            profile: r.profile.clone().unwrap_or_default(),
            outcome,
        });
    }
    print(&summary);
}

fn row(line: &Line) -> Option<[String; 6]> {
    let source = plain(&line.source);
    let none = String::new;
    Some(match &line.outcome {
        Outcome::Delivered {
            output,
            width,
            height,
            bytes,
            quality,
            verdict,
            ..
        } => [
            source,
            output.clone(),
            format!("{width}x{height}"),
            format!("{quality:.0}"),
            format!("{} kB", bytes.div_ceil(1000)),
            match verdict {
                Verdict::Glance => "ready, have a glance".into(),
                _ => "ready".into(),
            },
        ],
        Outcome::Held { reasons, .. } => [
            source,
            none(),
            none(),
            none(),
            none(),
            format!("held: {}", reasons.first().map_or("", String::as_str)),
        ],
        Outcome::Failed { detail } => [
            source,
            none(),
            none(),
            none(),
            none(),
            format!("later: {detail}"),
        ],
        Outcome::Ignored { reason } => [
            source,
            none(),
            none(),
            none(),
            none(),
            format!("passed over: {reason}"),
        ],
        Outcome::Left { output, edited } => [
            source,
            output.clone(),
            none(),
            none(),
            none(),
            if *edited {
                "left: you edited it"
            } else {
                "left: you deleted it"
            }
            .into(),
        ],
    })
}

/// Prints what she should look at, in her words.
pub fn print_attention(summary: &Summary) {
    for l in &summary.lines {
        if let Outcome::Delivered {
            output,
            verdict: Verdict::Glance,
            reasons,
            ..
        } = &l.outcome
        {
            say(&format!(
                "have a glance at ready/{output}: {}",
                meaning(reasons)
            ));
        }
    }
    for l in &summary.lines {
        if let Outcome::Held { reasons, detail } = &l.outcome {
            say(&format!("held {}: {detail}", plain(&l.source)));
            if let Some(r) = reasons.iter().find_map(|c| Reason::from_code(c)) {
                say(&format!("  what you can do: {}", r.remedy()));
            }
        }
    }
    print_left(summary);
}

/// Says what was not made again because it is hers.
fn print_left(summary: &Summary) {
    for l in &summary.lines {
        if let Outcome::Left { output, edited } = &l.outcome {
            let stem = std::path::Path::new(output).file_stem().unwrap_or_default();
            let name = crate::base::disk::text(std::path::Path::new(stem));
            say(&if *edited {
                format!(
                    "ready/{output}: you edited it, so it stays as it is; `stallhand redo {name}` makes a new one beside it"
                )
            } else {
                format!(
                    "ready/{output}: you deleted it, so it is not made again; `stallhand redo {name}` makes it again"
                )
            });
        }
    }
}

fn meaning(reasons: &[String]) -> String {
    let words: Vec<&str> = reasons
        .iter()
        .filter_map(|c| Reason::from_code(c))
        .map(Reason::meaning)
        .collect();
    if words.is_empty() {
        "it is not sure".into()
    } else {
        words.join("; ")
    }
}

/// One sentence of totals.
pub fn totals(summary: &Summary) -> String {
    format!(
        "{} ready, {} of them for a glance; {} held",
        summary.delivered(),
        summary.glances(),
        summary.held()
    )
}

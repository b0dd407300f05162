//! The table that `once` and `demo` print. Owns widths and words; refuses to count.

use super::say;
use crate::base::reason::{Reason, Verdict};
use crate::base::record::Record;
use crate::daemon::summary::{Line, Outcome, Summary};
use crate::proof::escape::plain;
use crate::proof::{Tally, words};

/// One photo and profile: what became of it, and the file or why there is none.
struct Row {
    photo: String,
    verdict: &'static str,
    rest: Rest,
}

enum Rest {
    /// Size, quality, weight, ready-relative path.
    Made([String; 4]),
    Why(String),
}

/// Prints every outcome, one row each. The longest words stand last, so that a narrow terminal breaks
/// nothing but them.
pub fn print(summary: &Summary) {
    let rows: Vec<Row> = summary.lines.iter().map(row).collect();
    if rows.is_empty() {
        return;
    }
    let head = ["size", "quality", "weight", "file in ready"].map(str::to_owned);
    let head = Row {
        photo: "photo".into(),
        verdict: "verdict",
        rest: Rest::Made(head),
    };
    let all = || std::iter::once(&head).chain(&rows);
    let widest = |of: &dyn Fn(&Row) -> usize| all().map(of).max().unwrap_or(0);
    let photo = widest(&|r| r.photo.chars().count());
    let verdict = widest(&|r| r.verdict.len());
    let figure = |i: usize| {
        widest(&|r| match &r.rest {
            Rest::Made(cells) => cells[i].chars().count(),
            Rest::Why(_) => 0,
        })
    };
    let (size, quality, weight) = (figure(0), figure(1), figure(2));
    for r in all() {
        let rest = match &r.rest {
            Rest::Made([s, q, w, file]) => {
                format!("{s:>size$}  {q:>quality$}  {w:>weight$}  {file}")
            }
            Rest::Why(why) => why.clone(),
        };
        say(&format!(
            "{:<photo$}  {:<verdict$}  {rest}",
            r.photo, r.verdict
        ));
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

fn row(line: &Line) -> Row {
    let (verdict, rest) = match &line.outcome {
        Outcome::Delivered {
            output,
            width,
            height,
            bytes,
            quality,
            verdict,
            ..
        } => (
            match verdict {
                Verdict::Glance => "for a glance",
                _ => "ready",
            },
            Rest::Made([
                format!("{width}x{height}"),
                format!("{quality:.0}"),
                words::weight(*bytes),
                output.clone(),
            ]),
        ),
        Outcome::Held { reasons, .. } => {
            let first = reasons.first().cloned().unwrap_or_default();
            ("held", Rest::Why(first))
        }
        Outcome::Failed { detail } => ("later", Rest::Why(detail.clone())),
        Outcome::Ignored { reason } => ("passed over", Rest::Why(reason.clone())),
        Outcome::Left { output, edited } => {
            let who = if *edited { "edited" } else { "deleted" };
            ("left", Rest::Why(format!("you {who} {output}")))
        }
    };
    Row {
        photo: plain(&line.source),
        verdict,
        rest,
    }
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
    let tally = Tally {
        ready: summary.delivered() - summary.glances(),
        glance: summary.glances(),
        held: summary.held(),
    };
    if tally.total() == 0 {
        return "nothing new".into();
    }
    words::tally(tally)
}

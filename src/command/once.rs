//! `once`: everything in the inbox, then an end. Owns what it prints.

use std::path::Path;

use serde_json::json;

use super::progress::Progress;
use super::{GLANCE, complain, say, start, table};
use crate::daemon::house::Manner;
use crate::daemon::run::{self, Ended, Until};
use crate::daemon::summary::{Outcome, Summary};

/// Runs once; returns the exit code.
pub fn run(file: Option<&Path>, as_json: bool) -> i32 {
    let manner = Manner { once: true };
    let opened = start::configuration(file).and_then(|c| start::open(c, manner, "once"));
    let mut o = match opened {
        Ok(o) => o,
        Err(code) => return code,
    };
    let mut progress = Progress::start();
    let ended = run::run(&mut o.house, &o.clock, Until::Settled, |h| progress.show(h));
    progress.end();
    let summary = &o.house.summary;
    if as_json {
        say(&json_of(summary).to_string());
    } else {
        table::print(summary);
        table::print_attention(summary);
        say(&table::totals(summary));
        let page = o.house.config.folders.state.join("proof/index.html");
        if page.exists() {
            say(&format!("proof sheet: {}", crate::base::disk::text(&page)));
        }
    }
    match ended {
        Ok(Ended::Settled | Ended::Signal) => summary.exit_code(),
        Ok(Ended::Stuck) => {
            let offline = format!(
                "{}: the inbox is not there\nhint: connect its disk, or name another in the configuration",
                crate::base::disk::text(&o.house.config.folders.inbox)
            );
            complain(o.house.paused().unwrap_or(&offline));
            GLANCE
        }
        Err(e) => {
            complain(&format!(
                "the work cannot be done: {e}\nhint: start it again"
            ));
            GLANCE
        }
    }
}

fn json_of(summary: &Summary) -> serde_json::Value {
    let lines: Vec<_> = summary
        .lines
        .iter()
        .map(|l| {
            let mut v = json!({"source": l.source, "listing": l.listing});
            if !l.profile.is_empty() {
                v["profile"] = json!(l.profile);
            }
            match &l.outcome {
                Outcome::Delivered {
                    output,
                    width,
                    height,
                    bytes,
                    quality,
                    verdict,
                    reasons,
                } => {
                    v["event"] = json!("delivered");
                    v["output"] = json!(output);
                    v["width"] = json!(width);
                    v["height"] = json!(height);
                    v["bytes"] = json!(bytes);
                    v["quality"] = json!(quality);
                    v["verdict"] = json!(verdict.code());
                    v["reasons"] = json!(reasons);
                }
                Outcome::Held { reasons, detail } => {
                    v["event"] = json!("held");
                    v["reasons"] = json!(reasons);
                    v["detail"] = json!(detail);
                }
                Outcome::Failed { detail } => {
                    v["event"] = json!("failed");
                    v["detail"] = json!(detail);
                }
                Outcome::Ignored { reason } => {
                    v["event"] = json!("ignored");
                    v["reasons"] = json!([reason]);
                }
            }
            v
        })
        .collect();
    json!({
        "schema": 1,
        "delivered": summary.delivered(),
        "glance": summary.glances(),
        "held": summary.held(),
        "failed": summary.failed(),
        "photos": lines,
    })
}

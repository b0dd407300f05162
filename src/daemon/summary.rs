//! What one run did, for the terminal and the exit code. Refuses to decide anything.

use serde_json::{Value, json};

use crate::base::reason::Verdict;

/// One line of the table that `once` and `demo` print.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    pub source: String,
    pub listing: String,
    pub profile: String,
    pub outcome: Outcome,
}

#[derive(Clone, Debug, PartialEq)]
pub enum Outcome {
    Delivered {
        output: String,
        width: u32,
        height: u32,
        bytes: u64,
        quality: f64,
        verdict: Verdict,
        reasons: Vec<String>,
    },
    Held {
        reasons: Vec<String>,
        detail: String,
    },
    /// Will be tried again.
    Failed {
        detail: String,
    },
    Ignored {
        reason: String,
    },
    /// Not made again: she edited or deleted it.
    Left {
        output: String,
        edited: bool,
    },
}

/// Everything of one run, in the order in which it was decided.
#[derive(Clone, Debug, Default)]
pub struct Summary {
    pub lines: Vec<Line>,
}

impl Summary {
    pub fn count(&self, f: impl Fn(&Outcome) -> bool) -> usize {
        self.lines.iter().filter(|l| f(&l.outcome)).count()
    }
    pub fn delivered(&self) -> usize {
        self.count(|o| matches!(o, Outcome::Delivered { .. }))
    }
    pub fn glances(&self) -> usize {
        self.count(|o| {
            matches!(
                o,
                Outcome::Delivered {
                    verdict: Verdict::Glance,
                    ..
                }
            )
        })
    }
    pub fn held(&self) -> usize {
        self.count(|o| matches!(o, Outcome::Held { .. }))
    }
    pub fn failed(&self) -> usize {
        self.count(|o| matches!(o, Outcome::Failed { .. }))
    }
    /// 0 all well; 1 something was newly held, failed, or delivered for a glance.
    pub fn exit_code(&self) -> i32 {
        i32::from(self.held() + self.failed() + self.glances() > 0)
    }
}

impl Summary {
    /// The summary as one JSON object.
    pub fn to_json(&self) -> Value {
        let lines: Vec<Value> = self.lines.iter().map(Line::to_json).collect();
        json!({
            "schema": 1,
            "delivered": self.delivered(),
            "glance": self.glances(),
            "held": self.held(),
            "failed": self.failed(),
            "photos": lines,
        })
    }
    /// Reads `to_json` back.
    pub fn from_json(v: &Value) -> Self {
        let lines = v["photos"]
            .as_array()
            .map(Vec::as_slice)
            .unwrap_or_default();
        Self {
            lines: lines.iter().filter_map(Line::from_json).collect(),
        }
    }
    /// The part of it from a line on.
    pub fn since(&self, line: usize) -> Self {
        Self {
            lines: self.lines[line.min(self.lines.len())..].to_vec(),
        }
    }
}

impl Line {
    fn to_json(&self) -> Value {
        let mut v = json!({"source": self.source, "listing": self.listing});
        if !self.profile.is_empty() {
            v["profile"] = json!(self.profile);
        }
        let more = match &self.outcome {
            Outcome::Delivered {
                output,
                width,
                height,
                bytes,
                quality,
                verdict,
                reasons,
            } => json!({"event": "delivered", "output": output, "width": width,
                "height": height, "bytes": bytes, "quality": quality,
                "verdict": verdict.code(), "reasons": reasons}),
            Outcome::Held { reasons, detail } => {
                json!({"event": "held", "reasons": reasons, "detail": detail})
            }
            Outcome::Failed { detail } => json!({"event": "failed", "detail": detail}),
            Outcome::Ignored { reason } => json!({"event": "ignored", "reasons": [reason]}),
            Outcome::Left { output, edited } => {
                json!({"event": "left", "output": output, "edited": edited})
            }
        };
        if let (Some(v), Value::Object(more)) = (v.as_object_mut(), more) {
            v.extend(more);
        }
        v
    }
    fn from_json(v: &Value) -> Option<Self> {
        let words = |k: &str| v[k].as_str().unwrap_or_default().to_owned();
        let number = |k: &str| v[k].as_u64().unwrap_or(0);
        let reasons: Vec<String> = v["reasons"]
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|r| r.as_str().map(str::to_owned))
            .collect();
        let outcome = match v["event"].as_str()? {
            "delivered" => Outcome::Delivered {
                output: words("output"),
                width: number("width") as u32,
                height: number("height") as u32,
                bytes: number("bytes"),
                quality: v["quality"].as_f64().unwrap_or(0.0),
                verdict: Verdict::from_code(v["verdict"].as_str()?)?,
                reasons,
            },
            "held" => Outcome::Held {
                reasons,
                detail: words("detail"),
            },
            "failed" => Outcome::Failed {
                detail: words("detail"),
            },
            "left" => Outcome::Left {
                output: words("output"),
                edited: v["edited"].as_bool().unwrap_or(false),
            },
            _ => Outcome::Ignored {
                reason: reasons.into_iter().next()?,
            },
        };
        Some(Self {
            source: words("source"),
            listing: words("listing"),
            profile: words("profile"),
            outcome,
        })
    }
}

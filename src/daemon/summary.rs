//! What one run did, for the terminal and the exit code. Refuses to decide anything.

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

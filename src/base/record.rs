//! One journal line, version 1. Owns field names and their order; refuses to know files.

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::geometry::Rect;

/// The journal's version; a change of meaning raises it.
pub const SCHEMA: u32 = 1;

/// What a line tells. Unset fields are left out, except the ones that a delivery always has.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Record {
    pub schema: u32,
    /// Gapless, from the ledger.
    pub seq: u64,
    /// RFC 3339, UTC.
    pub at: String,
    pub event: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub source: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub listing: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub blake3: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub profile: Option<String>,
    #[serde(flatten)]
    pub delivery: Option<Delivery>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub reasons: Option<Vec<String>>,
    /// One sentence, lowercase.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub took_ms: Option<u64>,
}

/// What a `delivered` line adds.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Delivery {
    /// Ready-relative path.
    pub output: String,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub replaces: Option<String>,
    pub width: u32,
    pub height: u32,
    pub bytes: u64,
    pub quality: f64,
    pub subsampling: String,
    pub ssimulacra2: Option<f64>,
    /// `[x, y, w, h]` px of the upright source.
    pub crop: Rect,
    pub subject: Option<Rect>,
    pub confidence: f64,
    pub verdict: String,
    pub thumbnails: BTreeMap<String, bool>,
    /// Source colour space.
    pub colour: String,
    pub orientation: u8,
}

impl Record {
    /// A line of one event; `seq` and `at` are filled in by the ledger.
    pub fn of(event: &str) -> Self {
        Self {
            schema: SCHEMA,
            event: event.to_owned(),
            ..Self::default()
        }
    }
    /// The line without its line break.
    pub fn line(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }
    pub fn parse(line: &str) -> Option<Self> {
        serde_json::from_str(line).ok()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_reads_back_as_it_was_written() {
        let mut r = Record::of("delivered");
        r.seq = 7;
        r.source = Some("Mug/a\n\"b\".jpg".into());
        r.delivery = Some(Delivery {
            output: "listing/mug/mug-01.jpg".into(),
            crop: Rect::new(0, 0, 4, 3),
            ..Delivery::default()
        });
        let line = r.line();
        assert!(!line.contains('\n'));
        assert!(line.contains("\"ssimulacra2\":null") && line.contains("\"subject\":null"));
        assert_eq!(Record::parse(&line), Some(r));
        let s = Record::of("started");
        assert_eq!(Record::parse(&s.line()), Some(s));
    }
}

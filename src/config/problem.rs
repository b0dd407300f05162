//! What is wrong with a configuration, in words she can act on: where, which key, what, and a hint.
//! Owns the wording of a report; refuses to know the rules.

use std::fmt;
use std::ops::Range;
use std::path::{Path, PathBuf};

/// One thing that is wrong, found at a byte range of the text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    pub at: Range<usize>,
    /// Dotted path such as `profile.short_side`; empty where none is known.
    pub key: String,
    /// Lowercase, no full stop.
    pub message: String,
    /// What she can do; may be empty.
    pub hint: String,
}

/// One finding in its place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Problem {
    /// From 1; 0 where the whole file is meant.
    pub line: usize,
    /// In characters, from 1; 0 where the whole file is meant.
    pub column: usize,
    pub key: String,
    pub message: String,
    pub hint: String,
    /// The line as it stands, and how many characters are meant.
    excerpt: Option<(String, usize)>,
}

/// Why a configuration cannot be used: at least one problem, in the order of the file.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ConfigError {
    pub file: PathBuf,
    pub problems: Vec<Problem>,
}

impl ConfigError {
    /// A problem with the file as a whole.
    pub fn whole(file: &Path, message: impl Into<String>, hint: impl Into<String>) -> Self {
        Self {
            file: file.to_owned(),
            problems: vec![Problem {
                line: 0,
                column: 0,
                key: String::new(),
                message: message.into(),
                hint: hint.into(),
                excerpt: None,
            }],
        }
    }

    /// Puts findings in their places, in the order of the text.
    pub fn located(file: &Path, text: &str, mut findings: Vec<Finding>) -> Self {
        findings.sort_by_key(|f| f.at.start);
        let problems = findings
            .into_iter()
            .map(|f| {
                let start = floor(text, f.at.start);
                let end = floor(text, f.at.end).max(start);
                let head = &text[..start];
                let line_start = head.rfind('\n').map_or(0, |i| i + 1);
                let rest = &text[line_start..];
                let shown = rest.lines().next().unwrap_or("");
                let column = text[line_start..start].chars().count() + 1;
                let width = text[start..end]
                    .lines()
                    .next()
                    .map_or(0, |l| l.chars().count());
                Problem {
                    line: head.matches('\n').count() + 1,
                    column,
                    key: plain(&f.key),
                    message: f.message,
                    hint: f.hint,
                    excerpt: Some((shown.to_owned(), width.max(1))),
                }
            })
            .collect();
        Self {
            file: file.to_owned(),
            problems,
        }
    }
}

impl fmt::Display for ConfigError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let file = plain(&self.file.to_string_lossy());
        for (i, p) in self.problems.iter().enumerate() {
            if i > 0 {
                f.write_str("\n")?;
            }
            f.write_str(&file)?;
            if p.line > 0 {
                write!(f, ", line {}, column {}", p.line, p.column)?;
            }
            f.write_str(": ")?;
            if !p.key.is_empty() {
                write!(f, "{}: ", p.key)?;
            }
            f.write_str(&p.message)?;
            if let Some((line, width)) = &p.excerpt {
                excerpt(f, p.line, p.column, line, *width)?;
            }
            if !p.hint.is_empty() {
                write!(f, "\nhint: {}", p.hint)?;
            }
        }
        Ok(())
    }
}
impl std::error::Error for ConfigError {}

/// The line with marks under what is meant; left out where it is too long to help.
fn excerpt(
    f: &mut fmt::Formatter<'_>,
    number: usize,
    column: usize,
    line: &str,
    width: usize,
) -> fmt::Result {
    let length = line.chars().count();
    if length > 120 || line.trim().is_empty() {
        return Ok(());
    }
    let line: String = line
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    let marks = "^".repeat(width.min((length + 1).saturating_sub(column)).max(1));
    let gutter = number.to_string();
    let blank = " ".repeat(gutter.len());
    let indent = " ".repeat(column - 1);
    write!(f, "\n  {gutter} | {line}\n  {blank} | {indent}{marks}")
}

/// Text from outside made harmless for a terminal, and short.
pub fn plain(text: &str) -> String {
    let mut out: String = text
        .chars()
        .take(200)
        .flat_map(|c| {
            let odd = c.is_control() || ('\u{202a}'..='\u{202e}').contains(&c);
            let (escaped, same) = if odd {
                (Some(c.escape_unicode()), None)
            } else {
                (None, Some(c))
            };
            escaped.into_iter().flatten().chain(same)
        })
        .collect();
    if text.chars().nth(200).is_some() {
        out.push_str("...");
    }
    out
}

fn floor(text: &str, at: usize) -> usize {
    let mut at = at.min(text.len());
    while !text.is_char_boundary(at) {
        at -= 1;
    }
    at
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_problem_is_shown_with_file_line_column_key_and_hint() {
        let text = "[watch]\nseddle = \"3s\"\n";
        let e = ConfigError::located(
            Path::new("stallhand.toml"),
            text,
            vec![Finding {
                at: 8..14,
                key: "watch.seddle".into(),
                message: "no such setting".into(),
                hint: "did you mean settle?".into(),
            }],
        );
        assert_eq!(
            e.to_string(),
            "stallhand.toml, line 2, column 1: watch.seddle: no such setting\n  \
             2 | seddle = \"3s\"\n    | ^^^^^^\nhint: did you mean settle?"
        );
    }

    #[test]
    fn columns_count_characters_and_escapes_never_reach_the_terminal() {
        let text = "ä\u{1b}[31m = 1";
        let e = ConfigError::located(
            Path::new("a\u{1b}b"),
            text,
            vec![Finding {
                at: 2..3,
                key: "\u{1b}x\u{202e}".into(),
                message: "m".into(),
                hint: String::new(),
            }],
        );
        assert_eq!(e.problems[0].column, 2);
        let shown = e.to_string();
        assert!(
            !shown.contains('\u{1b}') && !shown.contains('\u{202e}'),
            "{shown}"
        );
    }
}

//! One value of the file against its kind: the right type, within bounds, in words when not.
//! Owns the rules of each kind; refuses to know what a setting is for.

use std::collections::BTreeMap;
use std::ops::Range;
use std::path::{Path, PathBuf};
use std::time::Duration;

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::keys::{Key, Kind, NAME_MOST, SECTIONS};
use super::places::Places;
use super::problem::{Finding, plain};
use crate::base::geometry::Shape;
use crate::base::units::{parse_bytes, parse_duration, show_bytes, show_duration};

/// A value that passed its kind's rules.
#[derive(Clone, Debug, PartialEq)]
pub enum Value {
    Path(PathBuf),
    Span(Duration),
    Bytes(u64),
    Whole(u64),
    Number(f64),
    Switch(bool),
    Text(String),
    Shape(Shape),
    Shapes(Vec<Shape>),
    Texts(Vec<String>),
    Colour([u8; 3]),
    Table(Values),
}

/// The checked values of one table, and where each stands.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Values {
    given: BTreeMap<&'static str, (Value, Range<usize>)>,
}

impl Values {
    /// Takes a value out.
    pub fn take(&mut self, name: &str) -> Option<Value> {
        self.given.remove(name).map(|(v, _)| v)
    }
    /// Where a given value stands.
    pub fn at(&self, name: &str) -> Option<Range<usize>> {
        self.given.get(name).map(|(_, at)| at.clone())
    }
    /// Names of what is left.
    pub fn left(&self) -> Vec<&'static str> {
        self.given.keys().copied().collect()
    }
}

/// What reading needs to know beside the value, and where findings go.
pub struct Reader<'a> {
    pub places: &'a Places,
    /// Relative folders start here.
    pub base: &'a Path,
    pub findings: Vec<Finding>,
}

type Wrong = (Range<usize>, String, String);

impl Reader<'_> {
    /// Notes a finding.
    pub fn note(&mut self, at: Range<usize>, key: &str, message: String, hint: String) {
        self.findings.push(Finding {
            at,
            key: key.to_owned(),
            message,
            hint,
        });
    }

    /// Checks every key of a table; unknown ones are noted with the nearest that exists.
    pub fn table(&mut self, keys: &'static [Key], table: &DeTable<'_>, path: &str) -> Values {
        let mut values = Values::default();
        for (name, value) in table {
            let dotted = format!("{path}.{}", name.get_ref());
            let Some(key) = keys.iter().find(|k| k.name == name.get_ref().as_ref()) else {
                let hint = suggest_key(name.get_ref(), keys, path);
                self.note(
                    name.span(),
                    &dotted,
                    "there is no such setting".into(),
                    hint,
                );
                continue;
            };
            if let Some(v) = self.value(key, value, &dotted) {
                values.given.insert(key.name, (v, value.span()));
            }
        }
        values
    }

    fn value(&mut self, key: &Key, value: &Spanned<DeValue<'_>>, dotted: &str) -> Option<Value> {
        if let Kind::Table(keys) = key.kind {
            let Some(table) = value.get_ref().as_table() else {
                let hint = format!("write {} = {}", key.name, key.default);
                let message = format!("needs a table in braces, not {}", found(value.get_ref()));
                self.note(value.span(), dotted, message, hint);
                return None;
            };
            return Some(Value::Table(self.table(keys, table, dotted)));
        }
        match self.single(key, value) {
            Ok(v) => Some(v),
            Err((at, message, hint)) => {
                self.note(at, dotted, message, hint);
                None
            }
        }
    }

    fn single(&self, key: &Key, value: &Spanned<DeValue<'_>>) -> Result<Value, Wrong> {
        let v = value.get_ref();
        let wrong = |message: String, hint: String| (value.span(), message, hint);
        let example = || {
            if key.default.is_empty() {
                "write a folder in quotes".to_owned()
            } else {
                format!("write for example {} = {}", key.name, key.default)
            }
        };
        let needs = |what: &str| wrong(format!("needs {what}, not {}", found(v)), example());
        let outside = |shown: &str, least: String, most: String| {
            wrong(
                format!("{shown} is outside what is possible"),
                format!("write something from {least} to {most}"),
            )
        };
        match key.kind {
            Kind::Path => {
                let text = v.as_str().ok_or_else(|| needs("a folder in quotes"))?;
                self.places
                    .resolve(text, self.base)
                    .map(Value::Path)
                    .map_err(|(m, h)| wrong(m, h))
            }
            Kind::Span { least, most } => {
                let text = v
                    .as_str()
                    .ok_or_else(|| needs("a time with its unit in quotes"))?;
                let span = parse_duration(text).ok_or_else(|| {
                    let m = format!("\"{}\" is no span of time", plain(text));
                    wrong(m, format!("{}; units are ms, s, m and h", example()))
                })?;
                let (least, most) = (Duration::from_millis(least), Duration::from_millis(most));
                if span < least || span > most {
                    return Err(outside(text, show_duration(least), show_duration(most)));
                }
                Ok(Value::Span(span))
            }
            Kind::Bytes { least, most } => {
                let bytes = match v {
                    DeValue::Integer(_) => whole(v),
                    _ => v.as_str().and_then(parse_bytes),
                };
                let bytes = bytes.ok_or_else(|| match v.as_str() {
                    Some(text) => {
                        let m = format!("\"{}\" is no size", plain(text));
                        wrong(m, format!("{}; units are KB, MB and GB", example()))
                    }
                    None => needs("a size with its unit in quotes"),
                })?;
                if bytes < least || bytes > most {
                    return Err(outside(
                        &show_bytes(bytes),
                        show_bytes(least),
                        show_bytes(most),
                    ));
                }
                Ok(Value::Bytes(bytes))
            }
            Kind::Whole { least, most } => {
                let number = whole(v).ok_or_else(|| needs("a whole number without quotes"))?;
                if number < least || number > most {
                    return Err(outside(
                        &number.to_string(),
                        least.to_string(),
                        most.to_string(),
                    ));
                }
                Ok(Value::Whole(number))
            }
            Kind::Number { least, most } => {
                let number = number(v).ok_or_else(|| needs("a number without quotes"))?;
                if !(number >= least && number <= most) {
                    return Err(outside(
                        &number.to_string(),
                        least.to_string(),
                        most.to_string(),
                    ));
                }
                Ok(Value::Number(number))
            }
            Kind::Switch => v
                .as_bool()
                .map(Value::Switch)
                .ok_or_else(|| needs("true or false, without quotes")),
            Kind::Line { most } => {
                let text = v.as_str().ok_or_else(|| needs("text in quotes"))?;
                if text.chars().any(char::is_control) {
                    return Err(wrong(
                        "needs one line of plain text".into(),
                        "take out line breaks and other control characters".into(),
                    ));
                }
                if text.chars().count() > most {
                    return Err(wrong(
                        format!("is longer than {most} characters"),
                        "shorten it".into(),
                    ));
                }
                Ok(Value::Text(text.to_owned()))
            }
            Kind::Name => {
                let text = v.as_str().ok_or_else(|| needs("a name in quotes"))?;
                check_name(text).map_err(|(m, h)| wrong(m, h))?;
                Ok(Value::Text(text.to_owned()))
            }
            Kind::Shape => {
                let text = v.as_str().ok_or_else(|| needs("a shape in quotes"))?;
                shape(text).map(Value::Shape).map_err(|(m, h)| wrong(m, h))
            }
            Kind::Ratios => {
                let ratio = |text: &str| match shape(text)? {
                    Shape::AsIs => Err((
                        "a thumbnail needs a shape of its own".into(),
                        "write width:height such as \"1:1\"".into(),
                    )),
                    s => Ok(s),
                };
                let what = "a list such as [\"1:1\", \"5:4\"]";
                each(value, ratio, || needs(what)).map(Value::Shapes)
            }
            Kind::Globs => {
                let globs = each(value, glob, || needs("a list such as [\"**\"]"))?;
                if globs.is_empty() {
                    return Err(wrong(
                        "the list is empty, so the profile applies to no photo".into(),
                        "write [\"**\"] for every photo".into(),
                    ));
                }
                Ok(Value::Texts(globs))
            }
            Kind::Choice(words) => {
                let all: Vec<&str> = words.iter().map(|(w, _)| *w).collect();
                let list = all
                    .iter()
                    .map(|w| format!("\"{w}\""))
                    .collect::<Vec<_>>()
                    .join(" or ");
                let text = v.as_str().ok_or_else(|| needs(&list))?;
                if all.contains(&text) {
                    return Ok(Value::Text(text.to_owned()));
                }
                let hint = match nearest(text, all.iter().copied()) {
                    Some(word) => format!("did you mean \"{word}\"? It can be {list}"),
                    None => format!("it can be {list}"),
                };
                Err(wrong(
                    format!("\"{}\" is none of the choices", plain(text)),
                    hint,
                ))
            }
            Kind::Colour => {
                let text = v.as_str().ok_or_else(|| needs("a colour in quotes"))?;
                colour(text).map(Value::Colour).ok_or_else(|| {
                    wrong(
                        format!("\"{}\" is no colour", plain(text)),
                        "write # and six digits of red, green and blue, such as \"#ffffff\" for white"
                            .into(),
                    )
                })
            }
            Kind::Table(_) => Err(needs("a single value")),
        }
    }
}

/// Checks each text of a list, a finding at the element that is wrong.
fn each<T>(
    value: &Spanned<DeValue<'_>>,
    read: impl Fn(&str) -> Result<T, (String, String)>,
    needs: impl Fn() -> Wrong,
) -> Result<Vec<T>, Wrong> {
    let list = value.get_ref().as_array().ok_or_else(&needs)?;
    list.iter()
        .map(|item| {
            let text = item.get_ref().as_str().ok_or_else(&needs)?;
            read(text).map_err(|(m, h)| (item.span(), m, h))
        })
        .collect()
}

fn whole(v: &DeValue<'_>) -> Option<u64> {
    let i = v.as_integer()?;
    u64::from_str_radix(i.as_str(), i.radix()).ok()
}

fn number(v: &DeValue<'_>) -> Option<f64> {
    match v {
        DeValue::Float(f) => f.as_str().parse().ok().filter(|n: &f64| n.is_finite()),
        _ => {
            let i = v.as_integer()?;
            i64::from_str_radix(i.as_str(), i.radix())
                .ok()
                .map(|n| n as f64)
        }
    }
}

fn shape(text: &str) -> Result<Shape, (String, String)> {
    Shape::parse(text).ok_or_else(|| {
        let retry = text.replace(['x', 'X', '/', '×', ' '], ":");
        let hint = match Shape::parse(&retry) {
            Some(s) => format!("write \"{s}\""),
            None => "write width:height in whole numbers up to 100, such as \"4:3\", or \"as-is\""
                .to_owned(),
        };
        (format!("\"{}\" is no shape", plain(text)), hint)
    })
}

fn glob(text: &str) -> Result<String, (String, String)> {
    super::globs::compile(text).map_err(|why| {
        (
            format!("\"{}\" is no pattern: {why}", plain(text)),
            "\"**\" is every photo, \"Mugs/**\" everything in the folder Mugs, \"**/*.png\" every PNG"
                .into(),
        )
    })?;
    Ok(text.to_owned())
}

fn colour(text: &str) -> Option<[u8; 3]> {
    let hex = text.strip_prefix('#')?;
    if hex.len() != 6 || !hex.bytes().all(|b| b.is_ascii_hexdigit()) {
        return None;
    }
    let part = |i: usize| u8::from_str_radix(&hex[i..i + 2], 16).ok();
    Some([part(0)?, part(2)?, part(4)?])
}

/// A profile's name becomes a folder and a table of a correction, on every system.
fn check_name(text: &str) -> Result<(), (String, String)> {
    let safe: String = text
        .chars()
        .map(|c| if c.is_ascii_alphanumeric() { c } else { '-' })
        .collect();
    let safe = safe.trim_matches('-');
    let hint = if safe.is_empty() || safe.len() > NAME_MOST {
        "write a short word such as \"square\"".to_owned()
    } else {
        format!("write \"{safe}\"")
    };
    let fine = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    if text.is_empty()
        || text.len() > NAME_MOST
        || !text.chars().all(fine)
        || !text.starts_with(|c: char| c.is_ascii_alphanumeric())
    {
        return Err((
            format!(
                "\"{}\" cannot name a folder everywhere: 1 to {NAME_MOST} letters, digits, - and _ can",
                plain(text)
            ),
            hint,
        ));
    }
    // Device names of Windows, in any case (Win32 documentation, "Naming Files, Paths, and
    // Namespaces"); the four others are keys of a correction file.
    let lower = text.to_ascii_lowercase();
    let device = ["con", "prn", "aux", "nul"].contains(&lower.as_str())
        || (lower.len() == 4
            && (lower.starts_with("com") || lower.starts_with("lpt"))
            && lower.ends_with(|c: char| c.is_ascii_digit()));
    let taken = ["photo", "turn", "subject", "accept"].contains(&lower.as_str());
    if device || taken {
        return Err((
            format!("\"{text}\" has a meaning of its own"),
            format!("write for example \"{text}-1\""),
        ));
    }
    Ok(())
}

/// What was found, in her words.
pub(super) fn found(v: &DeValue<'_>) -> String {
    match v {
        DeValue::String(s) => format!("the text \"{}\"", plain(s)),
        DeValue::Integer(i) => format!("the number {}", plain(i.as_str())),
        DeValue::Float(f) => format!("the number {}", plain(f.as_str())),
        DeValue::Boolean(b) => b.to_string(),
        DeValue::Datetime(_) => "a date".into(),
        DeValue::Array(_) => "a list".into(),
        DeValue::Table(_) => "a table".into(),
    }
}

/// A hint for an unknown key: a likely slip of the pen, the section where it belongs, or what there is.
fn suggest_key(name: &str, keys: &[Key], path: &str) -> String {
    if let Some(near) = nearest(name, keys.iter().map(|k| k.name)) {
        return format!("did you mean {near}?");
    }
    let within = |k: &Key| match k.kind {
        Kind::Table(inner) if inner.iter().any(|i| i.name == name) => {
            Some(format!("{} = {{ {name} = ... }}", k.name))
        }
        _ => None,
    };
    for s in SECTIONS {
        if s.name != path && s.keys.iter().any(|k| k.name == name) {
            return format!("{name} belongs under {}", s.heading());
        }
        if let Some(form) = s.keys.iter().find_map(within) {
            return format!("write {form} under {}", s.heading());
        }
    }
    let all: Vec<&str> = keys.iter().map(|k| k.name).collect();
    format!("here there are {}", all.join(", "))
}

/// The nearest of some words, by edit distance with transpositions; `None` where none is near.
pub fn nearest<'a>(word: &str, all: impl Iterator<Item = &'a str>) -> Option<&'a str> {
    let word = word.to_lowercase().replace('-', "_");
    if word.chars().count() > 60 {
        return None;
    }
    all.map(|w| (strsim::damerau_levenshtein(&word, w), w))
        .filter(|(d, w)| *d <= (w.len() / 3).max(1))
        .min_by_key(|(d, _)| *d)
        .map(|(_, w)| w)
}

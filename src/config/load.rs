//! Reads a configuration file: finds it, parses it, checks it whole and reports everything that is
//! wrong at once. Owns the way from text to `Config`; the rules of a value are in `value`.

use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

use super::keys::{SECTIONS, Section, section};
use super::places::Places;
use super::problem::{ConfigError, Finding, plain};
use super::profile::{Format, Imprint, Profile, Set, Tight};
use super::value::{Reader, Value, Values, nearest};
use super::{After, Config};

/// Largest configuration file read, bytes.
const FILE_MOST: u64 = 1 << 20;

/// Loads the configuration from `path`, or from the platform's default file when there is one, or
/// else the defaults.
///
/// # Errors
/// Everything that is wrong with the file, or why it cannot be read. A file named by `path` must
/// exist.
pub fn load(path: Option<&Path>) -> Result<Config, ConfigError> {
    let shown = path.unwrap_or(Path::new(super::places::FILE_NAME));
    let places = Places::of_this_system().ok_or_else(|| {
        ConfigError::whole(
            shown,
            "this account has no home folder",
            "set the variable HOME to the folder that holds your files",
        )
    })?;
    match path {
        Some(file) => read(file, &places),
        None if places.file().exists() => read(&places.file(), &places),
        None => Ok(Config::default_for(&places)),
    }
}

/// Reads and checks one file.
///
/// # Errors
/// As `load`.
pub fn read(file: &Path, places: &Places) -> Result<Config, ConfigError> {
    let cannot = |e: &std::io::Error| {
        let (message, hint) = match e.kind() {
            ErrorKind::NotFound => (
                "there is no such configuration file".to_owned(),
                "check the name, or write one with `stallhand config init`",
            ),
            ErrorKind::PermissionDenied => (
                "this configuration file may not be read by you".to_owned(),
                "change its permissions, or run Stallhand as the person who owns it",
            ),
            ErrorKind::IsADirectory => (
                "this is a folder, not a configuration file".to_owned(),
                "name the file in it",
            ),
            _ => (
                format!("the configuration file cannot be read ({e})"),
                "check the disk that it is on",
            ),
        };
        ConfigError::whole(file, message, hint)
    };
    let meta = std::fs::metadata(file).map_err(|e| cannot(&e))?;
    if meta.is_dir() {
        return Err(cannot(&ErrorKind::IsADirectory.into()));
    }
    if meta.len() > FILE_MOST {
        return Err(ConfigError::whole(
            file,
            "the file is larger than 1 MB, so it is no configuration",
            "name the right file after --config",
        ));
    }
    let bytes = std::fs::read(file).map_err(|e| cannot(&e))?;
    if bytes.starts_with(&[0xff, 0xfe]) || bytes.starts_with(&[0xfe, 0xff]) {
        return Err(ConfigError::whole(
            file,
            "the file is saved as UTF-16",
            "save it as UTF-8 in your editor",
        ));
    }
    let bytes = bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(&bytes);
    let text = match std::str::from_utf8(bytes) {
        Ok(text) => text,
        Err(e) => {
            let good = String::from_utf8_lossy(&bytes[..e.valid_up_to()]).into_owned();
            let at = good.len()..good.len();
            let finding = Finding {
                at,
                key: String::new(),
                message: "this character is not UTF-8".into(),
                hint: "save the file as UTF-8 in your editor".into(),
            };
            return Err(ConfigError::located(file, &good, vec![finding]));
        }
    };
    parse(text, file, places)
}

/// Checks the text of a configuration. `file` names it in reports, and its folder is where
/// relative folders start.
///
/// # Errors
/// Everything that is wrong, in the order of the text.
pub fn parse(text: &str, file: &Path, places: &Places) -> Result<Config, ConfigError> {
    let (root, broken) = DeTable::parse_recoverable(text);
    if !broken.is_empty() {
        let findings = broken.iter().map(|e| syntax(e, text)).collect();
        return Err(ConfigError::located(file, text, findings));
    }
    let absolute = std::path::absolute(file).unwrap_or_else(|_| file.to_owned());
    let mut reader = Reader {
        places,
        base: absolute.parent().unwrap_or(Path::new("/")),
        findings: Vec::new(),
    };
    let mut config = Config::default_for(places);
    config.file = Some(absolute.clone());
    for (name, value) in root.get_ref() {
        let Some(section) = section(name.get_ref()) else {
            unknown_section(&mut reader, name, value);
            continue;
        };
        if section.many {
            profiles(&mut reader, section, name, value, &mut config);
            continue;
        }
        match value.get_ref() {
            DeValue::Table(table) => {
                let values = reader.table(section.keys, table, section.name);
                single(&mut config, section.name, values);
            }
            _ => reader.note(
                name.span(),
                section.name,
                "this is a group of settings, not one setting".into(),
                format!(
                    "write {} on a line of its own and its settings below",
                    section.heading()
                ),
            ),
        }
    }
    if reader.findings.is_empty() {
        Ok(config)
    } else {
        Err(ConfigError::located(file, text, reader.findings))
    }
}

fn unknown_section(
    reader: &mut Reader<'_>,
    name: &Spanned<std::borrow::Cow<'_, str>>,
    value: &Spanned<DeValue<'_>>,
) {
    let word = name.get_ref().as_ref();
    let group = value.get_ref().is_table() || value.get_ref().is_array();
    let owner = SECTIONS
        .iter()
        .find(|s| s.keys.iter().any(|k| k.name == word));
    let hint = match (owner, nearest(word, SECTIONS.iter().map(|s| s.name))) {
        (Some(s), _) => format!("{word} belongs under {}", s.heading()),
        (None, Some(near)) => {
            let heading = section(near).map_or_else(String::new, Section::heading);
            format!("did you mean {heading}?")
        }
        (None, None) => {
            let near_key = SECTIONS.iter().find_map(|s| {
                nearest(word, s.keys.iter().map(|k| k.name)).map(|k| (k, s.heading()))
            });
            match near_key {
                Some((key, heading)) if !group => format!("did you mean {key} under {heading}?"),
                _ => {
                    let all: Vec<String> = SECTIONS.iter().map(Section::heading).collect();
                    format!("there are {}", all.join(", "))
                }
            }
        }
    };
    let message = if group {
        "there is no such group of settings"
    } else {
        "there is no such setting"
    };
    reader.note(name.span(), word, message.into(), hint);
}

fn profiles(
    reader: &mut Reader<'_>,
    section: &'static Section,
    name: &Spanned<std::borrow::Cow<'_, str>>,
    value: &Spanned<DeValue<'_>>,
    config: &mut Config,
) {
    let tables = value.get_ref().as_array().filter(|a| !a.is_empty());
    let Some(tables) = tables.filter(|a| a.iter().all(|t| t.get_ref().is_table())) else {
        reader.note(
            name.span(),
            section.name,
            "profiles are written with two brackets".into(),
            format!("write {} above its settings", section.heading()),
        );
        return;
    };
    config.profiles.clear();
    for item in tables.iter() {
        let Some(table) = item.get_ref().as_table() else {
            continue;
        };
        let values = reader.table(section.keys, table, section.name);
        let named_at = values.at("name");
        let profile = profile(reader, item.span(), values);
        let twin = config
            .profiles
            .iter()
            .any(|p| p.name.eq_ignore_ascii_case(&profile.name));
        if twin {
            let (message, hint) = if named_at.is_some() {
                (
                    format!("two profiles are named \"{}\"", profile.name),
                    "give each profile a name of its own; upper and lower case are alike",
                )
            } else {
                (
                    format!(
                        "this profile has no name, and \"{}\" is taken",
                        profile.name
                    ),
                    "write name = \"...\" under each [[profile]]",
                )
            };
            let at = named_at.unwrap_or_else(|| item.span());
            reader.note(at, "profile.name", message, hint.into());
        }
        config.profiles.push(profile);
    }
}

/// Fills one profile and checks what its keys must keep to each other.
fn profile(reader: &mut Reader<'_>, whole: std::ops::Range<usize>, mut v: Values) -> Profile {
    let mut p = Profile::default();
    let smallest_at = v.at("short_side_min");
    let quality_at = v.at("quality");
    put(&mut v, "name", &mut p.name);
    put(&mut v, "shape", &mut p.shape);
    put(&mut v, "short_side", &mut p.short_side);
    put(&mut v, "short_side_min", &mut p.short_side_min);
    put(&mut v, "max_bytes", &mut p.max_bytes);
    put(&mut v, "fill", &mut p.fill);
    put(&mut v, "margin", &mut p.margin);
    put(&mut v, "thumbnails", &mut p.thumbnails);
    put(&mut v, "for", &mut p.applies_to);
    put(&mut v, "sharpen", &mut p.sharpen);
    put(&mut v, "backdrop", &mut p.backdrop);
    put(&mut v, "strict", &mut p.strict);
    put(&mut v, "wish", &mut p.wish);
    choose(&mut v, "tight", &mut p.tight, |w| match w {
        "extend" => Tight::Extend,
        _ => Tight::Hold,
    });
    choose(&mut v, "set", &mut p.set, |w| match w {
        "even" => Set::Even,
        _ => Set::Free,
    });
    choose(&mut v, "format", &mut p.format, |w| match w {
        "webp" => Format::Webp,
        "png" => Format::Png,
        _ => Format::Jpeg,
    });
    let mut floor_given = false;
    let mut ceiling_given = false;
    if let Some(Value::Table(mut q)) = v.take("quality") {
        floor_given = q.at("floor").is_some();
        ceiling_given = q.at("ceiling").is_some();
        put(&mut q, "floor", &mut p.quality.floor);
        put(&mut q, "ceiling", &mut p.quality.ceiling);
        put(&mut q, "target", &mut p.quality.target);
        debug_assert!(q.left().is_empty(), "{:?} not used", q.left());
    }
    debug_assert!(v.left().is_empty(), "{:?} not used", v.left());
    if p.short_side_min > p.short_side {
        match smallest_at {
            None => p.short_side_min = p.short_side,
            Some(at) => reader.note(
                at,
                "profile.short_side_min",
                format!(
                    "{} is more than short_side, which is {}",
                    p.short_side_min, p.short_side
                ),
                "make short_side_min the smaller one, or take it out".into(),
            ),
        }
    }
    if p.quality.floor > p.quality.ceiling {
        let own = |given: bool| if given { "" } else { " (its default)" };
        reader.note(
            quality_at.unwrap_or(whole),
            "profile.quality",
            format!(
                "floor {}{} is above ceiling {}{}",
                p.quality.floor,
                own(floor_given),
                p.quality.ceiling,
                own(ceiling_given)
            ),
            "write both, the floor not above the ceiling".into(),
        );
    }
    p
}

fn single(config: &mut Config, section: &str, mut v: Values) {
    match section {
        "folders" => {
            let f = &mut config.folders;
            put(&mut v, "inbox", &mut f.inbox);
            put(&mut v, "ready", &mut f.ready);
            put(&mut v, "held", &mut f.held);
            put(&mut v, "originals", &mut f.originals);
            put(&mut v, "state", &mut f.state);
        }
        "watch" => {
            let w = &mut config.watch;
            put(&mut v, "settle", &mut w.settle);
            put(&mut v, "listing_settle", &mut w.listing_settle);
            put(&mut v, "rescan", &mut w.rescan);
            choose(&mut v, "after", &mut w.after, |word| match word {
                "keep" => After::Keep,
                _ => After::Archive,
            });
        }
        "output" => {
            let Imprint {
                credit,
                copyright,
                keep_time,
            } = &mut config.imprint;
            put(&mut v, "credit", credit);
            put(&mut v, "copyright", copyright);
            put(&mut v, "keep_time", keep_time);
        }
        "notify" => put(&mut v, "desktop", &mut config.desktop),
        "limits" => {
            let w = &mut config.workers;
            put(&mut v, "workers", &mut w.count);
            put(&mut v, "memory", &mut w.memory);
            put(&mut v, "photo_time", &mut w.photo_time);
            if let Some(Value::Whole(n)) = v.take("photo_megapixels") {
                config.limits.pixels = n * 1_000_000;
            }
        }
        _ => {}
    }
    debug_assert!(v.left().is_empty(), "{:?} not used", v.left());
}

/// Moves a value of the right type into its place; a key that was not given leaves the default.
fn put<T: Typed>(values: &mut Values, name: &str, place: &mut T) {
    if let Some(value) = values.take(name) {
        let typed = T::of(value);
        debug_assert!(typed.is_some(), "{name} is of another kind");
        if let Some(typed) = typed {
            *place = typed;
        }
    }
}

fn choose<T>(values: &mut Values, name: &str, place: &mut T, word: impl Fn(&str) -> T) {
    if let Some(Value::Text(text)) = values.take(name) {
        *place = word(&text);
    }
}

trait Typed: Sized {
    fn of(value: Value) -> Option<Self>;
}
macro_rules! typed {
    ($($type:ty: $($pattern:pat => $value:expr),+;)*) => {$(
        impl Typed for $type {
            fn of(value: Value) -> Option<Self> {
                match value { $($pattern => $value,)+ _ => None }
            }
        }
    )*};
}
typed! {
    PathBuf: Value::Path(p) => Some(p);
    std::time::Duration: Value::Span(s) => Some(s);
    u8: Value::Whole(n) => u8::try_from(n).ok();
    u32: Value::Whole(n) => u32::try_from(n).ok();
    usize: Value::Whole(n) => usize::try_from(n).ok();
    u64: Value::Bytes(n) => Some(n), Value::Whole(n) => Some(n);
    f64: Value::Number(n) => Some(n);
    bool: Value::Switch(b) => Some(b);
    String: Value::Text(t) => Some(t);
    crate::base::geometry::Shape: Value::Shape(s) => Some(s);
    Vec<crate::base::geometry::Shape>: Value::Shapes(s) => Some(s);
    Vec<String>: Value::Texts(t) => Some(t);
    [u8; 3]: Value::Colour(c) => Some(c);
}

/// The parser's words, with a hint for the slips that people make.
pub(super) fn syntax(e: &toml::de::Error, text: &str) -> Finding {
    let at = e.span().unwrap_or(text.len()..text.len());
    let at = at.start.min(text.len())..at.end.min(text.len());
    let line_start = text[..at.start].rfind('\n').map_or(0, |i| i + 1);
    let line = text[line_start..].lines().next().unwrap_or("");
    let message = plain(e.message());
    let hint = if message.contains("escape") {
        "write folders with / instead of \\, or in single quotes"
    } else if message.contains("duplicate") {
        "each setting may be written once; take one of the two out"
    } else if line.contains(['\u{201c}', '\u{201d}', '\u{2018}', '\u{2019}']) {
        "use straight quotes \" instead of curly ones"
    } else if line.contains('=') || line.trim_start().starts_with('[') {
        "a setting is written name = \"text\", or name = 12 for a number, each on its own line"
    } else {
        "a setting is written name = value; a remark starts with #"
    };
    Finding {
        at,
        key: String::new(),
        message: format!("this is not understood ({message})"),
        hint: hint.into(),
    }
}

//! `status`: how things stand, also beside a running daemon. Needs no lock and changes nothing.

use std::path::{Path, PathBuf};

use serde_json::{Value, json};

use super::{OK, USAGE, complain, say, start};
use crate::base::disk::{Disk, Kind, Root, text};
use crate::base::reason::Reason;
use crate::config::Config;
use crate::daemon::{lock::Lock, now, sheet};
use crate::deliver::ledger::{Ledger, Place, State};
use crate::inbox::{names, place, scan};
use crate::journal::append;
use crate::proof::escape::plain;

/// Failures told at most.
const FAILURES: usize = 5;

/// How things stand.
#[derive(Default)]
struct Status {
    holder: Option<String>,
    /// What keeps the running daemon from going on.
    paused: Option<String>,
    offline: bool,
    waiting: Vec<String>,
    /// Files that keep changing, of those that wait.
    changing: Vec<String>,
    /// Files whose content is not on this computer.
    elsewhere: Vec<String>,
    /// Ready-relative paths with their reasons.
    glance: Vec<(String, Vec<String>)>,
    held: Vec<String>,
    failures: Vec<(String, String)>,
    /// Outputs of profiles that are gone.
    left: usize,
    free: Vec<(&'static str, Option<u64>)>,
}

/// Tells it; returns the exit code.
pub fn run(file: Option<&Path>, as_json: bool) -> i32 {
    let config = match start::configuration(file) {
        Ok(c) => c,
        Err(code) => return code,
    };
    match gather(&config) {
        Ok(s) if as_json => say(&json_of(&s, &config).to_string()),
        Ok(s) => tell(&s, &config),
        Err(words) => {
            complain(&words);
            return USAGE;
        }
    }
    OK
}

fn gather(config: &Config) -> Result<Status, String> {
    let disk = Disk::default();
    let f = &config.folders;
    let file = f.state.join("ledger.db");
    let ledger = Ledger::look(&file).map_err(|e| format!("{}: {e}", text(&file)))?;
    let holder = Lock::holder(&f.state);
    let mut s = Status {
        paused: holder.as_ref().and_then(|h| h.paused.clone()),
        holder: holder.map(|h| h.who),
        free: f
            .named()
            .map(|(name, path)| {
                (
                    name,
                    disk.root(path).and_then(|r| r.free()).ok().map(|f| f.0),
                )
            })
            .to_vec(),
        ..Status::default()
    };
    if s.holder.is_some() {
        s.changing = now::look(&f.state).changing;
    }
    match place::inbox(&disk, &f.inbox, &f.state) {
        Some(inbox) => (s.waiting, s.elsewhere) = waiting(&inbox, ledger.as_ref()),
        None => s.offline = ledger.is_some(),
    }
    if let Some(ledger) = &ledger {
        let words = |e: crate::deliver::ledger::LedgerError| e.to_string();
        let ready = disk.root(&f.ready).ok();
        for o in ledger.outputs().map_err(words)? {
            if config.profile(&o.profile).is_none() {
                s.left += 1;
            }
            let glance = o.delivery.as_ref().is_some_and(|d| d.verdict == "glance");
            let there = ready
                .as_ref()
                .is_some_and(|r| r.stat(Path::new(&o.path)).is_ok_and(|s| s.is_some()));
            if glance && there {
                s.glance.push((o.path, o.reasons));
            }
        }
        for p in ledger.photos().map_err(words)? {
            if p.state == State::Held && p.place != Place::Originals {
                s.held.push(text(&p.source));
            }
        }
    }
    let lines = disk
        .root(&f.state)
        .and_then(|state| append::lines(&state))
        .unwrap_or_default();
    s.failures = lines
        .iter()
        .rev()
        .filter(|l| l.event == "failed")
        .take(FAILURES)
        .map(|l| {
            (
                l.source.clone().unwrap_or_default(),
                l.detail.clone().unwrap_or_default(),
            )
        })
        .collect();
    Ok(s)
}

/// Photos in the inbox that are not concluded: those that are here, and those whose content is not.
fn waiting(inbox: &Root, ledger: Option<&Ledger>) -> (Vec<String>, Vec<String>) {
    let Ok((found, _)) = scan::scan(inbox, Path::new("")) else {
        return (Vec::new(), Vec::new());
    };
    let (elsewhere, here): (Vec<_>, Vec<_>) = found
        .into_iter()
        .filter(|f| f.stat.kind == Kind::File)
        .filter(|f| !names::is_companion(&f.rel) && names::passed_over(&f.rel).is_none())
        .filter(|f| {
            let seen = ledger.and_then(|l| l.seen(&f.rel).ok().flatten());
            seen.is_none_or(|s| s.stamp != f.stat.stamp || s.why == Reason::CloudOnly.code())
        })
        .map(|f| f.rel)
        .partition(|rel| inbox.is_elsewhere(rel));
    let texts = |all: Vec<PathBuf>| all.iter().map(|p| text(p)).collect();
    (texts(here), texts(elsewhere))
}

fn json_of(s: &Status, config: &Config) -> Value {
    let folders: serde_json::Map<String, Value> = config
        .folders
        .named()
        .iter()
        .map(|(n, p)| ((*n).to_owned(), json!(text(p))))
        .collect();
    let free: serde_json::Map<String, Value> = s
        .free
        .iter()
        .map(|(n, b)| ((*n).to_owned(), json!(b)))
        .collect();
    let glance: Vec<Value> = s
        .glance
        .iter()
        .map(|(output, reasons)| json!({"output": output, "reasons": reasons}))
        .collect();
    let failures: Vec<Value> = s
        .failures
        .iter()
        .map(|(source, detail)| json!({"source": source, "detail": detail}))
        .collect();
    json!({
        "schema": 1,
        "running": s.holder.is_some(),
        "by": s.holder,
        "offline": s.offline,
        "waiting": s.waiting,
        "changing": s.changing,
        "cloud_only": s.elsewhere,
        "paused": s.paused,
        "glance": glance,
        "held": s.held,
        "failures": failures,
        "left_from_old_profiles": s.left,
        "folders": folders,
        "free_bytes": free,
        "proof": text(&config.folders.state.join(sheet::FOLDER).join("index.html")),
        "slow_build": super::slow_build().is_some(),
    })
}

fn tell(s: &Status, config: &Config) {
    match &s.holder {
        Some(who) => say(&format!("running: {who}")),
        None => say("not running"),
    }
    if s.offline {
        say("offline: the inbox is not there; nothing is lost, and work goes on when it is back");
    }
    if let Some(words) = &s.paused {
        say(&format!("paused, and tried again by itself: {words}"));
    }
    list("waiting in the inbox", &s.waiting, |n| plain(n));
    list("still being written", &s.changing, |n| {
        format!(
            "{}: it keeps changing, and is taken when it has been left alone",
            plain(n)
        )
    });
    list("cloud-only", &s.elsewhere, |n| {
        let (why, what) = (Reason::CloudOnly.meaning(), Reason::CloudOnly.remedy());
        format!("{}: {why}; {what}", plain(n))
    });
    list("for a glance", &s.glance, |(path, reasons)| {
        let words: Vec<&str> = reasons
            .iter()
            .filter_map(|c| Reason::from_code(c))
            .map(Reason::meaning)
            .collect();
        format!("ready/{path}: {}", words.join("; "))
    });
    list("held", &s.held, |n| plain(n));
    list("last failures", &s.failures, |(n, why)| {
        format!("{}: {why}", plain(n))
    });
    if s.left > 0 {
        say(&format!(
            "{} finished files are left from profiles that are gone",
            s.left
        ));
    }
    for ((name, path), (_, free)) in config.folders.named().iter().zip(&s.free) {
        let free = free.map_or("not there yet".to_owned(), |b| {
            format!("{:.1} GB free", b as f64 / 1e9)
        });
        say(&format!("{name:<11} {} ({free})", text(path)));
    }
    let page = config.folders.state.join(sheet::FOLDER).join("index.html");
    if page.exists() {
        say(&format!("proof sheet {}", text(&page)));
    }
    if let Some(words) = super::slow_build() {
        say(words);
    }
}

/// A heading with its number, and the first ten of the list.
fn list<T>(heading: &str, all: &[T], line: impl Fn(&T) -> String) {
    if all.is_empty() {
        return;
    }
    say(&format!("{heading}: {}", all.len()));
    for item in all.iter().take(10) {
        say(&format!("  {}", line(item)));
    }
    if all.len() > 10 {
        say(&format!("  and {} more", all.len() - 10));
    }
}

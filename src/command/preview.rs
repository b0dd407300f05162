//! `preview`: what would be decided for a photo anywhere, told or drawn, with nothing delivered; her
//! correction counts as it would in the inbox.

use std::path::{Path, PathBuf};

use serde_json::json;

use super::together::{self, Airs};
use super::{GLANCE, OK, USAGE, complain, corrected, say, start};
use crate::base::disk::{Disk, text};
use crate::base::reason::{Reason, Verdict};
use crate::config::Config;
use crate::config::profile::Profile;
use crate::worker::fence;
use crate::worker::host::{Given, Host, Lost};
use crate::worker::protocol::{Answer, Ask, ProfileResult, Task, WireCorrection, Work};

/// Decides for every photo; returns the exit code: 1 when something would be held or glanced at.
pub fn run(
    file: Option<&Path>,
    photos: &[PathBuf],
    profile: Option<&str>,
    as_json: bool,
    picture: Option<&Path>,
) -> i32 {
    let config = match start::configuration(file) {
        Ok(c) => c,
        Err(code) => return code,
    };
    if let Some(name) = profile
        && config.profile(name).is_none()
    {
        let names: Vec<&str> = config.profiles.iter().map(|p| p.name.as_str()).collect();
        complain(&format!(
            "there is no profile \"{name}\"\nhint: the profiles are {}",
            names.join(", ")
        ));
        return USAGE;
    }
    if picture.is_some() && photos.len() > 1 {
        complain("--picture draws one photo\nhint: name a single photo with it");
        return USAGE;
    }
    let mut host = Host::new(fence::MEMORY);
    let airs = together::airs(&mut host, &config, photos, profile);
    let mut code = OK;
    for photo in photos {
        let profiles = applying(&config, photo, profile);
        match decide(
            &mut host,
            &config,
            photo,
            &profiles,
            &airs,
            picture.is_some(),
        ) {
            Err(words) => {
                complain(&words);
                code = code.max(USAGE);
            }
            Ok((Answer::Prepared(work), blobs, _)) => {
                for (p, r) in profiles.iter().zip(&work.results) {
                    if r.verdict() != Verdict::Deliver {
                        code = code.max(GLANCE);
                    }
                    if as_json {
                        say(&json_of(photo, &work, p, r).to_string());
                    } else {
                        tell(photo, &work, p, r);
                    }
                }
                if let Some(out) = picture {
                    code = code.max(save(out, work.picture.and_then(|i| blobs.get(i))));
                }
            }
            Ok((Answer::Refused(why), ..)) => {
                code = code.max(GLANCE);
                if as_json {
                    say(
                        &json!({"schema": 1, "source": text(photo), "verdict": "hold",
                        "reasons": [why.reason], "detail": why.detail})
                        .to_string(),
                    );
                } else {
                    say(&format!("{}: would be held: {}", text(photo), why.detail));
                    say(&format!("  what you can do: {}", why.reason().remedy()));
                }
            }
            Ok((other, ..)) => {
                complain(&format!(
                    "{}: the worker cannot work: {other:?}\nhint: install Stallhand again",
                    text(photo)
                ));
                code = code.max(GLANCE);
            }
        }
    }
    code
}

/// The profiles that apply: by the globs for a photo in the inbox, all of them elsewhere.
pub(super) fn applying(config: &Config, photo: &Path, only: Option<&str>) -> Vec<Profile> {
    if let Some(p) = only.and_then(|n| config.profile(n)) {
        return vec![p.clone()];
    }
    let found: Vec<Profile> = match inside(config, photo) {
        Some(rel) => config.profiles_for(&rel).into_iter().cloned().collect(),
        None => config.profiles.clone(),
    };
    if found.is_empty() {
        config.profiles.clone()
    } else {
        found
    }
}

/// Where a photo lies in the inbox; `None` for one that lies elsewhere.
pub(super) fn inside(config: &Config, photo: &Path) -> Option<PathBuf> {
    let inbox = std::fs::canonicalize(&config.folders.inbox).ok()?;
    let photo = std::fs::canonicalize(photo).ok()?;
    photo.strip_prefix(inbox).map(Path::to_owned).ok()
}

/// Lets a worker decide, with the air that was found for its listing.
pub(super) fn decide(
    host: &mut Host,
    config: &Config,
    photo: &Path,
    profiles: &[Profile],
    airs: &Airs,
    picture: bool,
) -> Result<Given, String> {
    let shown = text(photo);
    let folder = match photo.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let name = Path::new(photo.file_name().unwrap_or_default());
    let (mut file, stat) = Disk::default()
        .root(folder)
        .and_then(|root| root.open(name))
        .map_err(|e| {
            format!(
                "{shown}: cannot be read: {}\nhint: check the name",
                crate::deliver::plain(&e)
            )
        })?;
    let word = corrected::word(config, photo, &mut file);
    let ask = Ask::Prepare {
        profiles: profiles
            .iter()
            .map(|p| {
                let air = airs.get(&(photo.to_owned(), p.name.clone())).copied();
                let said = WireCorrection::of(word.as_ref(), p).with_air(air);
                (p.clone(), said)
            })
            .collect(),
        imprint: config.imprint.clone(),
        turn: word.as_ref().map_or(0, |w| w.turn),
        decide_only: true,
        picture,
    };
    let task = Task::new(text(name), &config.limits, ask);
    host.run(&task, &mut file, stat.stamp.size, config.workers.photo_time)
        .map_err(|lost| match lost {
            Lost::Died { too_long: true } => {
                format!("{shown}: reading it took too long\nhint: export it again as a JPEG")
            }
            Lost::Died { .. } => format!(
                "{shown}: reading it ended the worker process\nhint: export it again as a JPEG"
            ),
            Lost::Source(e) => format!(
                "{shown}: cannot be read: {}\nhint: copy it again",
                crate::deliver::plain(&e)
            ),
            Lost::NoWorker(e) => {
                format!("no worker process could be started: {e}\nhint: install Stallhand again")
            }
        })
}

fn json_of(photo: &Path, work: &Work, profile: &Profile, r: &ProfileResult) -> serde_json::Value {
    let thumbnails: serde_json::Map<String, serde_json::Value> = r
        .thumbnails
        .iter()
        .map(|(s, ok)| (s.to_string(), json!(ok)))
        .collect();
    json!({
        "schema": 1,
        "source": text(photo),
        "size": work.size,
        "profile": profile.name,
        "subject": r.subject.map(|b| json!({"box": b})),
        "usable": r.usable,
        "crop": r.crop,
        "thumbnails": thumbnails,
        "confidence": (r.confidence * 1000.0).round() / 1000.0,
        "verdict": r.verdict().code(),
        "reasons": r.reasons,
    })
}

fn tell(photo: &Path, work: &Work, profile: &Profile, r: &ProfileResult) {
    let verdict = match r.verdict() {
        Verdict::Deliver => "would be delivered",
        Verdict::Glance => "would be delivered, for a glance",
        Verdict::Hold => "would be held",
    };
    say(&format!(
        "{} ({}, {}): {verdict}",
        text(photo),
        work.size,
        profile.name
    ));
    say(&format!(
        "  crop {}x{} at {},{}; sure to {:.0} %",
        r.crop.w,
        r.crop.h,
        r.crop.x,
        r.crop.y,
        r.confidence * 100.0
    ));
    for reason in r.reasons.iter().filter_map(|c| Reason::from_code(c)) {
        say(&format!(
            "  {}: {} ({})",
            reason.code(),
            reason.meaning(),
            reason.remedy()
        ));
    }
}

fn save(out: &Path, png: Option<&Vec<u8>>) -> i32 {
    let Some(png) = png else {
        complain("the decision could not be drawn\nhint: try without --picture");
        return GLANCE;
    };
    let folder = match out.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    };
    let name = Path::new(out.file_name().unwrap_or_default());
    let saved = Disk::default()
        .root(folder)
        .and_then(|root| root.write_new(name, png));
    match saved {
        Ok(()) => OK,
        Err(e) => {
            complain(&format!(
                "{}: cannot be written: {}\nhint: name a file that does not exist yet",
                text(out),
                crate::deliver::plain(&e)
            ));
            USAGE
        }
    }
}

//! A damaged or missing ledger: set aside, and made again from the journal and the folders.
//! Owns what is believed of what is found; deletes nothing, and never takes a file of hers for ours.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use crate::base::clock::Clock;
use crate::base::disk::{Kind, Root, Stamp, text};
use crate::base::record::{Delivery, Record};
use crate::config::{After, Config, correction};
use crate::deliver::ledger::{
    Findings, Known, KnownOutput, Ledger, LedgerError, Photo, Place, Plan, Seen, State, number_in,
};
use crate::deliver::{archive, naming};
use crate::inbox::{names, scan};
use crate::journal::append::{self, Journal};

use super::house::Fault;
use super::words::{self, Word};

/// The ledger's file in the state folder.
pub const LEDGER: &str = "ledger.db";
/// The new ledger until it is whole.
const NEW: &str = "ledger-new.db";
/// A damaged ledger's name.
const ASIDE: &str = "ledger-damaged.db";
/// What SQLite keeps beside a database.
const PARTS: [&str; 3] = ["", "-wal", "-shm"];
/// A file changed this long after its line was decided is not as we left it, ns.
const SLACK: i64 = 2_000_000_000;

/// The folders as far as they can be opened.
pub(super) struct Places<'a> {
    pub inbox: Option<&'a Root>,
    pub ready: &'a Root,
    pub held: &'a Root,
    pub originals: &'a Root,
    pub state: &'a Root,
}

/// Opens the ledger; a damaged or missing one is made again when the journal knows of photos.
pub(super) fn open(
    config: &Config,
    clock: &Clock,
    places: &Places<'_>,
    journal: &mut Journal,
) -> Result<Ledger, Fault> {
    let file = config.folders.state.join(LEDGER);
    let fault = |e| Fault::Ledger(file.clone(), e);
    let stat = places.state.stat(Path::new(LEDGER));
    // SQLite takes an empty file for a new database.
    let there = !matches!(stat, Ok(s) if s.is_none_or(|s| s.stamp.size == 0));
    if !there && journal.last() == 0 {
        return Ledger::open(&file, clock.clone()).map_err(fault);
    }
    let why = if there {
        match Ledger::open(&file, clock.clone()) {
            Err(LedgerError::Damaged(why)) => format!("was damaged ({why})"),
            other => return other.map_err(fault),
        }
    } else {
        "was missing".to_owned()
    };
    tracing::error!("{}: the ledger {why}; it is made again", text(&file));
    let io = |e| Fault::Folder(config.folders.state.clone(), e);
    keep_unwritten(&file, journal).map_err(io)?;
    let mut found = find(config, places, journal).map_err(io)?;
    let aside = free_aside(places.state).map_err(io)?;
    let mut line = Record::of("restored");
    line.detail = Some(format!(
        "the ledger {why}; {} photos are known again from the journal{}",
        found.photos.len(),
        if there {
            format!(", and the old file lies as {}", text(&aside))
        } else {
            String::new()
        }
    ));
    found.lines.push(line);
    // The old one leaves its place only when the new one is whole.
    for part in PARTS {
        let _ = places.state.remove(&suffixed(Path::new(NEW), part));
    }
    let new = config.folders.state.join(NEW);
    let mut ledger = Ledger::open(&new, clock.clone()).map_err(fault)?;
    ledger.restore(found).map_err(fault)?;
    drop(ledger);
    for part in PARTS {
        let (from, to) = (suffixed(Path::new(LEDGER), part), suffixed(&aside, part));
        if places.state.stat(&from).map_err(io)?.is_some() {
            places.state.rename(&from, places.state, &to).map_err(io)?;
        }
    }
    places
        .state
        .rename(Path::new(NEW), places.state, Path::new(LEDGER))
        .map_err(io)?;
    places.state.sync_folder(Path::new("")).map_err(io)?;
    Ledger::open(&file, clock.clone()).map_err(fault)
}

fn suffixed(path: &Path, part: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(part);
    name.into()
}

fn free_aside(state: &Root) -> std::io::Result<PathBuf> {
    for n in 1.. {
        let name = archive::free(Path::new(ASIDE), n);
        let mut free = true;
        for part in PARTS {
            free &= state.stat(&suffixed(&name, part))?.is_none();
        }
        if free {
            return Ok(name);
        }
    }
    unreachable!("some number is free")
}

/// Lines that were decided and not yet in the journal's file, as far as they can still be read.
fn keep_unwritten(file: &Path, journal: &mut Journal) -> std::io::Result<()> {
    let mut next = journal.last() + 1;
    let mut batch = Ledger::salvage(file);
    batch.retain(|(seq, line)| {
        let fits = *seq == next && Record::parse(line).is_some_and(|r| r.seq == next);
        next += u64::from(fits);
        fits
    });
    if batch.is_empty() {
        return Ok(());
    }
    journal.append(&batch)
}

/// What the journal tells of one photo, the last word of each profile.
#[derive(Default)]
struct Story {
    source: PathBuf,
    delivered: BTreeMap<String, Record>,
    /// By profile; under the empty name when it was held as a whole.
    held: BTreeMap<String, Record>,
}

fn stories(lines: &[Record]) -> BTreeMap<(String, String), Story> {
    let mut all: BTreeMap<(String, String), Story> = BTreeMap::new();
    for line in lines {
        let (Some(hash), Some(source)) = (&line.blake3, &line.source) else {
            continue;
        };
        let listing = line.listing.clone().unwrap_or_default();
        let profile = line.profile.clone().unwrap_or_default();
        let key = (listing, hash.clone());
        match line.event.as_str() {
            "delivered" if line.delivery.is_some() => {
                let s = all.entry(key).or_default();
                s.source = source.into();
                s.held.remove("");
                s.held.remove(&profile);
                s.delivered.insert(profile, line.clone());
            }
            "held" => {
                let s = all.entry(key).or_default();
                s.source = source.into();
                if profile.is_empty() {
                    s.held.clear();
                }
                s.held.remove("");
                s.held.insert(profile, line.clone());
            }
            _ => {}
        }
    }
    all
}

/// Every photo below a folder by its hash.
fn hashed(root: &Root) -> BTreeMap<String, Vec<(PathBuf, Stamp)>> {
    let mut all: BTreeMap<String, Vec<(PathBuf, Stamp)>> = BTreeMap::new();
    let files = scan::scan(root, Path::new("")).map_or_else(|_| Vec::new(), |f| f.0);
    for f in files {
        if f.stat.kind == Kind::File
            && !names::is_companion(&f.rel)
            && let Ok(Some(hash)) = root.hash(&f.rel)
        {
            let hex = hash.to_hex().to_string();
            all.entry(hex).or_default().push((f.rel, f.stat.stamp));
        }
    }
    all
}

fn find(config: &Config, places: &Places<'_>, journal: &Journal) -> std::io::Result<Findings> {
    let lines = append::lines(places.state)?;
    let mut found = Findings {
        last: journal.last(),
        ..Findings::default()
    };
    let here: Vec<(Place, BTreeMap<_, _>)> = [
        (Place::Inbox, places.inbox),
        (Place::Held, Some(places.held)),
        (Place::Originals, Some(places.originals)),
    ]
    .into_iter()
    .filter_map(|(place, root)| root.map(|r| (place, hashed(r))))
    .collect();
    for ((listing, hex), story) in stories(&lines) {
        let Ok(hash) = blake3::Hash::from_hex(&hex) else {
            continue;
        };
        let lies = here.iter().find_map(|(place, files)| {
            let files = files.get(&hex)?;
            let (path, stamp) = if *place == Place::Inbox {
                // Elsewhere in the inbox the same bytes are a new arrival.
                files.iter().find(|(p, _)| *p == story.source)?
            } else {
                let own = files.iter().find(|(p, _)| names::listing(p) == listing);
                own.or(files.first())?
            };
            Some((*place, path.clone(), *stamp))
        });
        found
            .photos
            .push(photo(config, places, listing, hash, &story, lies));
    }
    found.photos.sort_by(|a, b| b.newest().cmp(a.newest()));
    for k in &found.photos {
        for o in &k.outputs {
            reserve(&mut found.listings, &k.photo.listing, &o.delivery);
        }
        if let Some(plan) = &k.plan
            && config.watch.after == After::Keep
        {
            let why = if plan.place == Place::Held {
                "held"
            } else {
                "kept"
            };
            found.seen.push((
                plan.source.clone(),
                Seen {
                    stamp: plan.stamp,
                    why: why.into(),
                },
            ));
        }
    }
    if config.watch.after == After::Keep {
        found.photos.iter_mut().for_each(|k| k.plan = None);
    }
    // What stands in ready keeps its number, also when no line tells of it.
    let standing = scan::scan(places.ready, Path::new("")).map_or_else(|_| Vec::new(), |f| f.0);
    for (slug, most) in found.listings.values_mut() {
        for f in &standing {
            let folder = f.rel.parent().and_then(Path::file_name);
            if folder.is_some_and(|n| n == slug.as_str()) {
                let n = number_in(
                    slug,
                    &text(Path::new(f.rel.file_stem().unwrap_or_default())),
                );
                *most = (*most).max(n.unwrap_or(0));
            }
        }
    }
    ignored(&lines, places, &mut found);
    Ok(found)
}

impl Known {
    fn newest(&self) -> &str {
        self.outputs
            .iter()
            .map(|o| o.at.as_str())
            .max()
            .unwrap_or("")
    }
}

fn reserve(listings: &mut BTreeMap<String, (String, u32)>, listing: &str, d: &Delivery) {
    let path = Path::new(&d.output);
    let folder = path.parent().and_then(Path::file_name);
    let (Some(folder), false) = (folder, listing.is_empty()) else {
        return;
    };
    let stem = text(Path::new(path.file_stem().unwrap_or_default()));
    let entry = listings
        .entry(listing.to_owned())
        .or_insert_with(|| (text(Path::new(folder)), 0));
    entry.1 = entry.1.max(number_in(&entry.0, &stem).unwrap_or(0));
}

fn photo(
    config: &Config,
    places: &Places<'_>,
    listing: String,
    hash: blake3::Hash,
    story: &Story,
    lies: Option<(Place, PathBuf, Stamp)>,
) -> Known {
    let source = story.source.clone();
    let is_held = !story.held.is_empty();
    // One that she took away is known where it went.
    let away = if is_held {
        Place::Held
    } else {
        Place::Originals
    };
    let nothing = Stamp {
        dev: 0,
        ino: 0,
        size: 0,
        mtime: 0,
        ctime: 0,
    };
    let (place, path, stamp) = lies.unwrap_or((away, source.clone(), nothing));
    let outputs: Vec<KnownOutput> = story
        .delivered
        .iter()
        .filter_map(|(profile, line)| output(places.ready, profile, line))
        .collect();
    let stems = outputs.iter().map(|o| Path::new(&o.delivery.output));
    let stem = |p: &Path| text(Path::new(p.file_stem().unwrap_or_default()));
    let slug = naming::slug(&stem(&source));
    let number = stems.clone().find_map(|p| {
        let folder = p.parent().and_then(Path::file_name)?;
        number_in(&text(Path::new(folder)), &stem(p))
    });
    let words = note(story, &source, config.watch.after == After::Keep);
    let beside = archive::with_suffix(&path, ".txt");
    let ours = blake3::hash(words.as_bytes());
    let stands = places.held.hash(&beside).is_ok_and(|h| h == Some(ours));
    let corrected = story
        .delivered
        .values()
        .chain(story.held.values())
        .any(|l| l.reasons.iter().flatten().any(|r| r == "corrected"));
    Known {
        numbered: story.held.keys().any(|p| !p.is_empty()),
        plan: (place == Place::Inbox).then(|| Plan {
            own: true,
            origin: Place::Inbox,
            source: path.clone(),
            stamp,
            place: away,
            note: is_held.then(|| words.clone()),
        }),
        photo: Photo {
            id: 0,
            hash,
            number: number.filter(|_| !listing.is_empty()),
            stem: stems
                .clone()
                .next()
                .filter(|_| listing.is_empty())
                .map_or(slug, stem),
            captured: None,
            state: if is_held {
                State::Held
            } else {
                State::Delivered
            },
            note: (is_held && stands).then_some((beside, ours)),
            facts: "{}".into(),
            correction: corrected
                .then(|| word(config, places, place, &path))
                .flatten(),
            listing,
            source,
            place,
            path,
            stamp,
        },
        outputs,
    }
}

/// What the note beside a held photo says.
fn note(story: &Story, source: &Path, kept: bool) -> String {
    let none = Vec::new();
    let mut told: Vec<Word<'_>> = story
        .held
        .iter()
        .map(|(profile, line)| Word {
            profile: (!profile.is_empty()).then_some(profile.as_str()),
            held: Some((
                line.reasons.as_ref().unwrap_or(&none),
                line.detail.as_deref().unwrap_or_default(),
            )),
            output: None,
        })
        .collect();
    told.extend(story.delivered.iter().filter_map(|(profile, line)| {
        Some(Word {
            profile: Some(profile),
            held: None,
            output: Some(&line.delivery.as_ref()?.output),
        })
    }));
    let name = text(Path::new(source.file_name().unwrap_or_default()));
    words::note(&name, &told, kept)
}

/// The correction beside a photo that was made by one: it is not applied a second time.
fn word(config: &Config, places: &Places<'_>, place: Place, path: &Path) -> Option<String> {
    let root = match place {
        Place::Inbox => places.inbox?,
        Place::Held => places.held,
        Place::Originals => places.originals,
    };
    let rel = archive::with_suffix(path, archive::CORRECTION);
    let bytes = root.read(&rel, correction::MOST_BYTES as u64).ok()?;
    let profiles: Vec<&str> = config.profiles.iter().map(|p| p.name.as_str()).collect();
    let read = correction::parse(&bytes, &rel, &profiles).ok()?;
    Some(read.correction.to_toml())
}

/// What stands in ready is ours when its size is the delivered one and it was not written since;
/// the journal knows no more of it. In doubt it is hers.
fn output(ready: &Root, profile: &str, line: &Record) -> Option<KnownOutput> {
    let delivery = line.delivery.clone()?;
    let path = Path::new(&delivery.output);
    let decided = Clock::nanoseconds(&line.at).unwrap_or(0);
    let ours = match ready.stat(path) {
        Ok(Some(s)) => s.stamp.size == delivery.bytes && s.stamp.mtime <= decided + SLACK,
        _ => false,
    };
    let hash = ours.then(|| ready.hash(path).ok().flatten()).flatten();
    Some(KnownOutput {
        profile: profile.to_owned(),
        hash: hash.unwrap_or_else(|| blake3::hash(line.line().as_bytes())),
        delivery,
        reasons: line.reasons.clone().unwrap_or_default(),
        at: line.at.clone(),
    })
}

/// Files in the inbox that were passed over and were not touched since stay passed over.
fn ignored(lines: &[Record], places: &Places<'_>, found: &mut Findings) {
    let Some(inbox) = places.inbox else { return };
    for line in lines.iter().filter(|l| l.event == "ignored") {
        let (Some(source), Some(reasons)) = (&line.source, &line.reasons) else {
            continue;
        };
        let decided = Clock::nanoseconds(&line.at).unwrap_or(0);
        if let (Ok(Some(s)), Some(why)) = (inbox.stat(Path::new(source)), reasons.first())
            && !names::is_companion(Path::new(source))
            && s.stamp.ctime.max(s.stamp.mtime) <= decided + SLACK
        {
            let seen = Seen {
                stamp: s.stamp,
                why: why.clone(),
            };
            found.seen.push((source.into(), seen));
        }
    }
}

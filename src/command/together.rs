//! The air that photos of one listing would have in common, for photos that `preview` is given together.
//! Refuses to look at what was delivered before.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

use super::preview;
use crate::config::Config;
use crate::config::profile::{Profile, Set};
use crate::framing::{Air, Span, even};
use crate::inbox::names;
use crate::worker::host::Host;
use crate::worker::protocol::Answer;

/// By photo and profile.
pub(super) type Airs = BTreeMap<(PathBuf, String), Air>;

/// Looks at photos that have companions of their listing among `photos`, where a profile wants the same air
/// through it. What cannot be read has no air here and is told of when it is decided.
pub(super) fn airs(
    host: &mut Host,
    config: &Config,
    photos: &[PathBuf],
    only: Option<&str>,
) -> Airs {
    let mut spans: BTreeMap<(PathBuf, String), Vec<(PathBuf, Span)>> = BTreeMap::new();
    let listings: Vec<Option<PathBuf>> = photos.iter().map(|p| listing(config, p)).collect();
    for (photo, listing) in photos.iter().zip(&listings) {
        let together = listings.iter().filter(|l| *l == listing).count() > 1;
        let (true, Some(listing)) = (together, listing) else {
            continue;
        };
        let mut profiles = preview::applying(config, photo, only);
        profiles.retain(|p| p.set == Set::Even);
        if profiles.is_empty() {
            continue;
        }
        let decided = preview::decide(host, config, photo, &profiles, &Airs::new(), false);
        let Ok((Answer::Prepared(work), ..)) = decided else {
            continue;
        };
        for (p, r) in profiles.iter().zip(&work.results) {
            if let Some(span) = r.span {
                let group = spans.entry((listing.clone(), p.name.clone())).or_default();
                group.push((photo.clone(), span.into()));
            }
        }
    }
    let mut out = Airs::new();
    for ((_, name), group) in spans {
        let all: Vec<Span> = group.iter().map(|(_, s)| *s).collect();
        let aimed = config.profile(&name).map_or(1.0, |p: &Profile| p.fill);
        let airs = even(&all, &[], aimed);
        let named = group.into_iter().zip(airs);
        out.extend(named.map(|((photo, _), air)| ((photo, name.clone()), air)));
    }
    out
}

/// Stands for the listing: its name in the inbox, the folder elsewhere; `None` for a photo of no listing.
fn listing(config: &Config, photo: &Path) -> Option<PathBuf> {
    let real = std::fs::canonicalize(photo).ok()?;
    match preview::inside(config, photo) {
        Some(rel) => Some(PathBuf::from(names::listing(&rel))).filter(|l| *l != Path::new("")),
        None => real.parent().map(Path::to_owned),
    }
}

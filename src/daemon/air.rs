//! The same air through a listing: photos of profiles that ask for it are looked at first, and prepared when
//! it is decided which fill they can all have. Owns who waits for whom; refuses to know the arithmetic.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use crate::base::clock::Moment;
use crate::config::correction::Correction;
use crate::config::profile::{Profile, Set};
use crate::deliver::ledger::{Aired, LedgerError};
use crate::framing::{Air, Span, even};
use crate::worker::protocol::{Ask, WireCorrection, Work};

use super::house::{House, Named, Stage};

/// What was found possible for photos that wait for the others of their listing, by profile; nothing for a
/// profile under which no product was surely found.
pub(super) type Glimpses = BTreeMap<i64, Vec<(String, Option<Span>)>>;

/// What is to be done next with a photo that is in the ledger.
pub(super) enum Turn {
    Prepare(Ask),
    /// It is looked at first, nothing made of it.
    Look(Ask),
    /// Others of its listing are to be looked at before.
    Wait,
}

fn evens(p: &Profile) -> bool {
    p.set == Set::Even
}

impl House {
    /// What is to be done with a photo under these profiles. `anew`: its air is to be decided again.
    ///
    /// # Errors
    /// The ledger's error.
    pub(super) fn turn_of(
        &self,
        id: i64,
        listing: &str,
        profiles: &[&Profile],
        word: Option<&Correction>,
        anew: bool,
    ) -> Result<Turn, LedgerError> {
        let ask = |profiles: &[&Profile], airs: &[Aired], decide_only| Ask::Prepare {
            profiles: profiles
                .iter()
                .map(|p| {
                    let air = airs.iter().find(|a| a.profile == p.name && evens(p));
                    let said = WireCorrection::of(word, p);
                    ((*p).clone(), said.with_air(air.and_then(air_of)))
                })
                .collect(),
            imprint: self.config.imprint.clone(),
            turn: word.map_or(0, |w| w.turn),
            decide_only,
            picture: false,
        };
        let wanted: Vec<&Profile> = profiles.iter().copied().filter(|p| evens(p)).collect();
        if listing.is_empty() || wanted.is_empty() {
            return Ok(Turn::Prepare(ask(profiles, &[], false)));
        }
        if self.glimpses.contains_key(&id) {
            return Ok(Turn::Wait);
        }
        let airs = self.ledger.airs_of(id)?;
        let decided = |p: &&Profile| airs.iter().any(|a| a.profile == p.name);
        Ok(match !anew && wanted.iter().all(decided) {
            true => Turn::Prepare(ask(profiles, &airs, false)),
            false => Turn::Look(ask(&wanted, &[], true)),
        })
    }

    /// A photo was looked at.
    pub(super) fn looked_at(&mut self, id: i64, source: &Path, work: &Work) {
        let profiles = self.config.profiles_for(source);
        let wanted = profiles.into_iter().filter(|p| evens(p));
        let seen = wanted.zip(&work.results);
        let glimpse = seen.map(|(p, r)| (p.name.clone(), r.span.map(Span::from)));
        self.glimpses.insert(id, glimpse.collect());
    }

    /// Decides the air of listings all of whose photos on their way have been looked at, and writes it down
    /// before anything is made by it: whatever happens then, it stands.
    pub(super) fn even_out(&mut self, now: Moment) {
        if self.glimpses.is_empty() {
            return;
        }
        if let Err(e) = self.try_even_out() {
            self.trouble(&e.into(), now);
        }
    }

    fn try_even_out(&mut self) -> Result<(), LedgerError> {
        let mut blocked: BTreeSet<String> = BTreeSet::new();
        let mut members: BTreeMap<String, Vec<i64>> = BTreeMap::new();
        // Photos that are made again have an air from before, which does not count.
        let mut again: BTreeSet<i64> = BTreeSet::new();
        for j in self.jobs.values().filter(|j| j.look) {
            let Some(n) = j.photo else { continue };
            blocked.insert(self.ledger.photo_by_id(n.id)?.listing);
            if j.again.is_some() {
                again.insert(n.id);
            }
        }
        let moving = self.moving()?;
        for (id, r) in &self.remakes {
            if r.aired {
                continue;
            }
            again.insert(*id);
            let photo = self.ledger.photo_by_id(*id)?;
            if self.glimpses.contains_key(id) {
                members.entry(photo.listing).or_default().push(*id);
            } else if !moving.contains(id) {
                blocked.insert(photo.listing);
            }
        }
        for (rel, a) in &self.arrivals {
            let Stage::Ready(Named { id, .. }) = a.stage else {
                continue;
            };
            if self.glimpses.contains_key(&id) {
                members.entry(a.listing.clone()).or_default().push(id);
            } else if !blocked.contains(&a.listing) {
                let profiles = self.config.profiles_for(rel);
                let turn = self.turn_of(id, &a.listing, &profiles, None, false)?;
                if matches!(turn, Turn::Look(_)) {
                    blocked.insert(a.listing.clone());
                }
            }
        }
        let here: BTreeSet<i64> = members.values().flatten().copied().collect();
        self.glimpses.retain(|id, _| here.contains(id));
        members.retain(|listing, _| !blocked.contains(listing));
        for (listing, ids) in members {
            let mut before = self.ledger.airs_in(&listing)?;
            before.retain(|a| !again.contains(&a.photo) && !ids.contains(&a.photo));
            let airs = self.air_of_listing(&ids, &before);
            self.ledger.give_airs(&airs)?;
            for id in ids {
                self.glimpses.remove(&id);
                if let Some(r) = self.remakes.get_mut(&id) {
                    r.aired = true;
                }
            }
        }
        Ok(())
    }

    fn air_of_listing(&self, ids: &[i64], before: &[Aired]) -> Vec<Aired> {
        let mut out = Vec::new();
        for profile in self.config.profiles.iter().filter(|p| evens(p)) {
            let seen = |id: &i64| {
                let of_photo = self.glimpses.get(id)?;
                let of_profile = of_photo.iter().find(|(name, _)| *name == profile.name)?;
                Some((*id, of_profile.1))
            };
            let seen: Vec<(i64, Option<Span>)> = ids.iter().filter_map(seen).collect();
            let row = |photo| Aired {
                photo,
                profile: profile.name.clone(),
                given: None,
                kind: String::new(),
            };
            let lost = seen.iter().filter(|(_, span)| span.is_none());
            out.extend(lost.map(|(id, _)| row(*id)));
            let found: Vec<(i64, Span)> = seen
                .into_iter()
                .filter_map(|(id, span)| Some((id, span?)))
                .collect();
            let spans: Vec<Span> = found.iter().map(|(_, s)| *s).collect();
            let mine = before.iter().filter(|a| a.profile == profile.name);
            let had: Vec<(f64, Air)> = mine
                .filter_map(|a| Some((a.given?.0, air_of(a)?)))
                .collect();
            let airs = even(&spans, &had, profile.fill);
            out.extend(found.iter().zip(airs).map(|((id, span), air)| Aired {
                given: Some((span.scale, air.fill())),
                kind: kind_of(air).into(),
                ..row(*id)
            }));
        }
        out
    }
}

fn kind_of(air: Air) -> &'static str {
    match air {
        Air::Common(_) => "common",
        Air::First(_) => "first",
        Air::Own(_) => "own",
    }
}

/// The air as it was written down; `None` where nothing is to be evened.
fn air_of(a: &Aired) -> Option<Air> {
    let (_, fill) = a.given?;
    Some(match a.kind.as_str() {
        "common" => Air::Common(fill),
        "first" => Air::First(fill),
        _ => Air::Own(fill),
    })
}

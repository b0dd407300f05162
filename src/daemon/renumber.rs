//! A listing's numbers anew: her own order first, then capture order, around what she edited. Owns who
//! gets which number; the files are brought to their names by `deliver`.

use std::collections::BTreeSet;
use std::path::{Path, PathBuf};

use crate::base::disk::text;
use crate::base::record::Record;
use crate::deliver::ledger::{Output, Photo, Renaming, Renumbering, State};
use crate::deliver::{Trouble, naming, rename};
use crate::inbox::names;

use super::house::House;
use super::twins::facts_of;

/// A photo's rank in her order and in time; photos without a capture time come last, by name.
pub(super) type Rank = (usize, bool, Option<String>, PathBuf);

/// One photo of the listing with what stands of it.
struct Member {
    photo: Photo,
    /// Outputs of profiles that still are, and whether our file stands.
    outputs: Vec<(Output, bool)>,
    /// She edited one of its files, or one is being written.
    fixed: bool,
    /// She deleted every file of it.
    unwanted: bool,
}

impl House {
    /// Numbers a listing anew and renames its outputs.
    ///
    /// # Errors
    /// Trouble with disk or ledger; what was decided is carried out later.
    pub(super) fn renumber(&mut self, listing: &str) -> Result<(), Trouble> {
        self.finish_renaming()?;
        let members = self.members(listing)?;
        let slug = self.ledger.slug(listing)?;
        let shut = self.shut_numbers(&slug, &members)?;
        let order = self.her_order(listing);
        self.name_strangers(listing, &order, &members);
        let mut free: Vec<&Member> = members
            .iter()
            .filter(|m| !m.fixed && m.photo.number.is_some())
            .collect();
        free.sort_by_cached_key(|m| {
            let captured = m.photo.captured.clone().or(facts_of(&m.photo).captured);
            (m.unwanted, rank(&order, captured, &m.photo.source))
        });
        let kept = members.iter().filter(|m| m.fixed);
        let mut numbers: Vec<(i64, u32)> = kept
            .filter_map(|m| Some((m.photo.id, m.photo.number?)))
            .collect();
        let mut renamings = Vec::new();
        let mut next = (1..).filter(|n| !shut.contains(n));
        for m in free {
            let Some(n) = next.next() else { break };
            numbers.push((m.photo.id, n));
            for (o, stands) in &m.outputs {
                let extension = text(Path::new(
                    Path::new(&o.path).extension().unwrap_or_default(),
                ));
                let to = text(&naming::output(
                    &o.profile,
                    Some((&slug, n)),
                    "",
                    &extension,
                ));
                if to != o.path {
                    renamings.push(Renaming {
                        photo: o.photo,
                        profile: o.profile.clone(),
                        from: o.path.clone(),
                        to,
                        hash: o
                            .hash
                            .filter(|_| *stands)
                            .unwrap_or_else(|| blake3::hash(o.path.as_bytes())),
                    });
                }
            }
        }
        self.ledger.renumber(&Renumbering {
            listing: listing.to_owned(),
            numbers,
            renamings,
        })?;
        self.finish_renaming()
    }

    fn members(&self, listing: &str) -> Result<Vec<Member>, Trouble> {
        let outputs = self.ledger.outputs()?;
        let mut members = Vec::new();
        for photo in self.ledger.photos_where(listing, |_| true)? {
            let mut m = Member {
                outputs: Vec::new(),
                fixed: false,
                unwanted: photo.state == State::Delivered,
                photo,
            };
            let own = outputs.iter().filter(|o| o.photo == m.photo.id);
            for o in own.filter(|o| self.config.profile(&o.profile).is_some()) {
                let at = Path::new(&o.path);
                let (Some(ours), None) = (o.hash, o.next_hash) else {
                    m.fixed = true;
                    continue;
                };
                let stands = self.ready.stat(at).map_err(Trouble::at(&self.ready, at))?;
                let is_ours = self.ready.hash(at).is_ok_and(|h| h == Some(ours));
                m.fixed |= stands.is_some() && !is_ours;
                m.unwanted &= stands.is_none();
                m.outputs.push((o.clone(), is_ours));
            }
            m.unwanted &= !m.outputs.is_empty();
            members.push(m);
        }
        Ok(members)
    }

    /// Numbers that are not given anew: of photos that keep theirs, and of files that are hers.
    fn shut_numbers(&self, slug: &str, members: &[Member]) -> Result<BTreeSet<u32>, Trouble> {
        let kept = members.iter().filter(|m| m.fixed);
        let mut shut: BTreeSet<u32> = kept.filter_map(|m| m.photo.number).collect();
        let moving: BTreeSet<&str> = members
            .iter()
            .filter(|m| !m.fixed)
            .flat_map(|m| &m.outputs)
            .filter(|(_, stands)| *stands)
            .map(|(o, _)| o.path.as_str())
            .collect();
        for profile in &self.config.profiles {
            let folder = Path::new(&profile.name).join(slug);
            if self
                .ready
                .stat(&folder)
                .map_err(Trouble::at(&self.ready, &folder))?
                .is_none()
            {
                continue;
            }
            let here = self
                .ready
                .list(&folder)
                .map_err(Trouble::at(&self.ready, &folder))?;
            for (rel, _) in here {
                if moving.contains(text(&rel).as_str()) {
                    continue;
                }
                let stem = text(Path::new(rel.file_stem().unwrap_or_default()));
                let number = crate::deliver::ledger::number_in(slug, &stem);
                shut.extend(number.filter(|n| naming::numbered(slug, *n) == stem));
            }
        }
        Ok(shut)
    }

    /// Says which names of her order fit no photo.
    fn name_strangers(&self, listing: &str, order: &[String], members: &[Member]) {
        let name = |m: &Member| text(Path::new(m.photo.source.file_name().unwrap_or_default()));
        for stranger in order
            .iter()
            .filter(|n| !members.iter().any(|m| name(m) == **n))
        {
            tracing::warn!(
                "{listing}/{}: {stranger} is the name of no photo of this listing\nhint: write the photos' own names, as they were in the inbox",
                names::ORDER
            );
        }
    }

    /// Carries out renamings that are decided and still open.
    ///
    /// # Errors
    /// Trouble with disk or ledger; it can be repeated.
    pub(super) fn finish_renaming(&mut self) -> Result<(), Trouble> {
        let all = self.ledger.renamings()?;
        if all.is_empty() {
            return Ok(());
        }
        let at = rename::carry_out(&self.ready, &all)?;
        let mut used: BTreeSet<String> = at.iter().flatten().cloned().collect();
        let mut now = Vec::new();
        let mut lines = Vec::new();
        for (r, at) in all.iter().zip(at) {
            if let Some(path) = at {
                if path != r.from {
                    lines.extend(self.renamed_line(r, &path)?);
                }
                now.push((r.photo, r.profile.clone(), path));
                continue;
            }
            // No file of ours stands: the name goes along, unless she edited the file just now.
            let from = Path::new(&r.from);
            let hers = self.ready.stat(from).is_ok_and(|s| s.is_some());
            let names = if hers {
                [&r.from, &r.to]
            } else {
                [&r.to, &r.from]
            };
            let others = all.iter().flat_map(|r| [&r.to, &r.from]);
            if let Some(path) = names.into_iter().chain(others).find(|p| !used.contains(*p)) {
                used.insert(path.clone());
                now.push((r.photo, r.profile.clone(), path.clone()));
            }
        }
        let renamed = lines.iter().filter_map(|l| l.listing.as_deref());
        renamed.for_each(|l| self.due.add(l));
        self.ledger.renamed(&now, lines)?;
        Ok(())
    }

    /// The journal line of an output that stands under another name now.
    fn renamed_line(&self, r: &Renaming, path: &str) -> Result<Option<Record>, Trouble> {
        let Some(output) = self.ledger.output(r.photo, &r.profile)? else {
            return Ok(None);
        };
        let photo = self.ledger.photo_by_id(r.photo)?;
        let mut line = Record::of("delivered");
        line.source = Some(text(&photo.source));
        line.listing = Some(photo.listing);
        line.blake3 = Some(photo.hash.to_hex().to_string());
        line.profile = Some(r.profile.clone());
        line.delivery = output.delivery.map(|mut d| {
            path.clone_into(&mut d.output);
            d.replaces = Some(r.from.clone());
            d
        });
        line.reasons = Some(output.reasons);
        Ok(line.delivery.is_some().then_some(line))
    }

    /// Her own order of a listing, if she wrote one: `order = ["IMG_2.JPG", ...]`.
    pub(super) fn her_order(&self, listing: &str) -> Vec<String> {
        #[derive(serde::Deserialize)]
        struct Listing {
            #[serde(default)]
            order: Vec<String>,
        }
        let rel = Path::new(listing).join(names::ORDER);
        let places = [self.inbox.as_ref(), Some(&self.originals)];
        for root in places.into_iter().flatten() {
            let Ok(bytes) = root.read(&rel, 64 << 10) else {
                continue;
            };
            match toml::from_str::<Listing>(&String::from_utf8_lossy(&bytes)) {
                Ok(l) => return l.order,
                Err(e) => tracing::warn!(
                    "{}: {}\nhint: write it as order = [\"IMG_2.JPG\", \"IMG_1.JPG\"]; until then the order is that of the camera",
                    text(&root.path().join(&rel)),
                    e.message()
                ),
            }
        }
        Vec::new()
    }
}

/// What a photo is sorted by within its listing.
pub(super) fn rank(order: &[String], captured: Option<String>, source: &Path) -> Rank {
    let name = text(Path::new(source.file_name().unwrap_or_default()));
    let place = order.iter().position(|n| *n == name);
    (
        place.unwrap_or(order.len()),
        captured.is_none(),
        captured,
        source.to_owned(),
    )
}

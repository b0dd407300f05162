//! The text beside each listing's outputs, after a batch: which listings and profiles have one, and when
//! it is written. Its words are made by `proof`, its file is put by `deliver`.

use std::collections::BTreeSet;
use std::path::Path;

use crate::base::disk::text as shown;
use crate::deliver::Trouble;
use crate::deliver::text;
use crate::proof::Sheet;
use crate::proof::listing_text::listing_text;

use super::house::House;

/// Listings whose text is to be looked at.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Due {
    All,
    Some(BTreeSet<String>),
}

impl Due {
    pub fn add(&mut self, listing: &str) {
        if let Self::Some(names) = self
            && !listing.is_empty()
        {
            names.insert(listing.to_owned());
        }
    }
    pub fn is_any(&self) -> bool {
        *self != Self::none()
    }
    pub fn take(&mut self) -> Self {
        std::mem::replace(self, Self::none())
    }
    pub fn none() -> Self {
        Self::Some(BTreeSet::new())
    }
    pub fn join(&mut self, other: Self) {
        match other {
            Self::All => *self = Self::All,
            Self::Some(names) => names.iter().for_each(|n| self.add(n)),
        }
    }
    fn has(&self, listing: &str) -> bool {
        match self {
            Self::All => true,
            Self::Some(names) => names.contains(listing),
        }
    }
}

impl House {
    /// Writes the texts that are due; what cannot be written now is tried at the next rescan.
    pub(super) fn write_texts(&mut self, sheet: &Sheet) {
        let due = self.texts.take();
        if let Err(t) = self.put_texts(sheet, &due) {
            tracing::warn!("the text beside a listing cannot be written now: {t}");
            self.texts_later = due;
        }
    }

    fn put_texts(&mut self, sheet: &Sheet, due: &Due) -> Result<(), Trouble> {
        let slugs = self.ledger.slugs()?;
        for listing in &sheet.listings {
            let Some(name) = listing.name.as_deref().filter(|n| due.has(n)) else {
                continue;
            };
            let Some(slug) = slugs.get(name) else {
                continue;
            };
            for profile in &self.config.profiles {
                let folder = Path::new(&profile.name).join(slug);
                let there = self.ready.stat(&folder);
                if there.map_err(Trouble::at(&self.ready, &folder))?.is_none() {
                    continue;
                }
                if let Some(words) = listing_text(listing, &profile.name) {
                    let path = shown(&folder.join(text::NAME));
                    text::put(&self.ready, &mut self.ledger, &path, words.as_bytes())?;
                }
            }
        }
        Ok(())
    }

    /// She names the listing: a text that she deleted is put there anew.
    pub(super) fn ask_for_texts(&mut self, listing: &str) -> Result<(), Trouble> {
        let slug = self.ledger.slug(listing)?;
        for profile in &self.config.profiles {
            let at = Path::new(&profile.name).join(&slug).join(text::NAME);
            if self
                .ready
                .stat(&at)
                .map_err(Trouble::at(&self.ready, &at))?
                .is_none()
            {
                self.ledger.forget_text(&shown(&at))?;
            }
        }
        self.texts.add(listing);
        Ok(())
    }
}

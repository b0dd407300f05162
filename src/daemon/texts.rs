//! The text beside each listing's outputs, after a batch: which profiles have one. Its words are made by
//! `proof`, its file is put by `deliver`.

use std::path::Path;

use crate::base::disk::text as shown;
use crate::deliver::Trouble;
use crate::deliver::text;
use crate::proof::Listing;
use crate::proof::listing_text::listing_text;

use super::house::House;

impl House {
    /// Brings the text of each profile up to date.
    pub(super) fn put_texts(&mut self, name: &str, listing: &Listing) -> Result<(), Trouble> {
        let Some(slug) = self.ledger.known_slug(name)? else {
            return Ok(());
        };
        for profile in &self.config.profiles {
            let folder = Path::new(&profile.name).join(&slug);
            let there = self.ready.stat(&folder);
            if there.map_err(Trouble::at(&self.ready, &folder))?.is_none() {
                continue;
            }
            if let Some(words) = listing_text(listing, &profile.name) {
                let path = shown(&folder.join(text::NAME));
                text::put(&self.ready, &mut self.ledger, &path, words.as_bytes())?;
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
        self.due.add(listing);
        Ok(())
    }
}

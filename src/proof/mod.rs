//! The proof sheet: a few static pages that show what was decided, opened from the disk. Owns what
//! she sees of each decision; refuses to know where the facts are kept and to write anything itself.

mod card;
pub mod escape;
mod frame;
pub mod link;
pub mod listing_text;
pub mod model;
pub mod notice;
mod page;
pub mod policy;
pub mod story;
pub mod words;

pub use model::{Entry, Frame, Listing, Output, Sheet, Tally, picture_path};

/// A page as a file: its name in the proof sheet's folder, and its bytes.
pub type Page = (String, Vec<u8>);

/// All pages, `index.html` first. The small pictures they show are not among them: see
/// [`Sheet::pictures`].
pub fn files(sheet: &Sheet) -> Vec<Page> {
    pages(sheet).collect()
}

/// The same, made one listing after another, so that an archive's pages are never in memory at once.
pub fn pages(sheet: &Sheet) -> impl Iterator<Item = Page> {
    let listings = sheet.listings.iter();
    front(sheet)
        .into_iter()
        .chain(listings.flat_map(|l| listing(l, &sheet.inbox)))
}

/// The front pages alone, `index.html` first: they change with every batch.
pub fn front(sheet: &Sheet) -> Vec<Page> {
    bytes(page::front(sheet))
}

/// The pages of one listing alone, equal bytes as long as the listing is equal. `inbox` is where
/// she puts a saved correction.
pub fn listing(listing: &Listing, inbox: &str) -> Vec<Page> {
    bytes(page::listing(listing, inbox))
}

fn bytes(pages: Vec<page::Page>) -> Vec<Page> {
    pages
        .into_iter()
        .map(|(name, html)| (name, html.into_bytes()))
        .collect()
}

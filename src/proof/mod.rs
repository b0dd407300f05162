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

pub use model::{Entry, Frame, Listing, Output, Tally, picture_path};
pub use page::Card;

/// A page as a file: its name in the proof sheet's folder, and its bytes.
pub type Page = (String, Vec<u8>);

/// The front pages, `index.html` first: they change with every batch. `made` tells when, in words for
/// her eye; the listings come in any order.
pub fn front<'a>(made: &str, listings: impl Iterator<Item = &'a Card>) -> Vec<Page> {
    bytes(page::front(made, listings))
}

/// The pages of one listing, equal bytes as long as the listing is equal. `inbox` is where she puts a
/// saved correction. The small pictures they show lie at [`picture_path`].
pub fn listing(listing: &Listing, inbox: &str) -> Vec<Page> {
    bytes(page::listing(listing, inbox))
}

fn bytes(pages: Vec<page::Page>) -> Vec<Page> {
    pages
        .into_iter()
        .map(|(name, html)| (name, html.into_bytes()))
        .collect()
}

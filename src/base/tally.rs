//! Counts work that is to be done once, for tests. Owns one count of each name and thread; refuses to
//! be there in the program.

use std::cell::RefCell;
use std::collections::BTreeMap;

thread_local! {
    static COUNTS: RefCell<BTreeMap<&'static str, u64>> = const { RefCell::new(BTreeMap::new()) };
}

/// Adds to the count of `what` on this thread.
pub fn add(what: &'static str, n: u64) {
    COUNTS.with_borrow_mut(|c| *c.entry(what).or_default() += n);
}

/// What was counted on this thread since it was last asked.
pub fn take() -> BTreeMap<&'static str, u64> {
    COUNTS.take()
}

//! Bounds on what a header may claim, checked before anything of that size is set aside.
//! Owns the words of the refusal; refuses to know formats.

use crate::base::geometry::Size;
use crate::base::reason::{Reason, Refusal};
use crate::config::profile::Limits;

/// Longest side of a photo, px.
pub const LONGEST_SIDE: u32 = 65_535;

/// Refuses an empty size and one over the limits.
pub fn check(size: Size, limits: &Limits) -> Result<(), Refusal> {
    if size.area() == 0 {
        return Err(Refusal::new(
            Reason::Undecodable,
            "the file says that its picture is empty",
        ));
    }
    if size.area() > limits.pixels || size.long() > LONGEST_SIDE {
        return Err(Refusal::new(
            Reason::TooLarge,
            format!(
                "the photo is {size}, {} million pixels, more than the limit of {} million",
                size.area() / 1_000_000,
                limits.pixels / 1_000_000
            ),
        ));
    }
    Ok(())
}

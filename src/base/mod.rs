//! The ground floor: units and small truths that every room shares. It knows no photo,
//! no configuration and no protocol.

pub mod clock;
pub mod disk;
pub mod geometry;
pub mod manager;
pub mod memory;
pub mod reason;
pub mod record;
#[cfg(test)]
pub mod tally;
pub mod units;

//! The daemon: one loop, one state, a few workers. Owns concurrency and order; refuses to touch
//! pixels. Everything that happens is an event to the house, and the house answers with jobs.

mod air;
mod arrive;
mod corrections;
mod finish;
pub mod house;
pub mod lock;
mod looking;
pub mod now;
mod pausing;
mod refuse;
mod remake;
mod renumber;
pub mod requests;
pub mod rescue;
pub mod run;
mod settings;
pub mod sheet;
pub mod summary;
mod texts;
mod twins;
mod words;

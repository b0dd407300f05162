//! Stallhand turns a maker's product photos into files that can be listed as they lie.
//!
//! The map, in reading order; imports only go down the list of floors in DEVELOPERS.md:
//! a photo walks `inbox -> photo -> framing -> render -> deliver -> journal` and never turns round.

pub mod base;
pub mod config;

pub mod photo;

pub mod framing;

pub mod checks;

pub mod render;

pub mod proof;

pub mod pipeline;

pub mod journal;

pub mod deliver;

pub mod inbox;

pub mod worker;

pub mod daemon;

pub mod command;

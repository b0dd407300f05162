//! One file a verb. Owns what is said on the terminal; refuses to decide anything about a photo.

pub mod demo;
pub mod service;

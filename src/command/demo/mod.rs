//! The demonstration: a small pottery-and-candle workshop laid out in a folder of its own.

mod exif;
pub mod ground;
pub mod photos;

//! The front door: hints from the system, scans of the folder, quiet times. Owns what has arrived;
//! refuses to open a photo.

pub mod names;
pub mod place;
pub mod scan;
pub mod settle;
pub mod watch;

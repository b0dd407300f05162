//! The journal: one JSON line for each decision and failure. Owns the lines' form and their way
//! into the file; refuses to know why something was decided.

pub mod append;

//! The configuration: what she may set, checked before anything starts. Owns keys, defaults and
//! their explanations; refuses to know how they are carried out.

pub mod profile;

//! Facts about the product, told through its public face and its real processes.

mod config;
mod demo;
mod hostile;
mod house;
mod licences;
mod photo;
mod proof;

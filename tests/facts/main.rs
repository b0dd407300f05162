//! Facts about the product, told through its public face and its real processes.

mod arrivals;
mod cards;
mod config;
mod correcting;
mod demo;
mod dying;
mod endurance;
mod even;
mod fence;
mod framing;
mod full;
mod hostile;
mod house;
mod kills;
mod licences;
mod listing;
mod load;
mod main_job;
mod manager;
mod model;
mod photo;
mod poison;
mod private;
mod proof;
mod readme;
mod render;
mod rescue;
mod sheet;

/// Counts what each thread holds, for the facts about memory.
#[global_allocator]
static COUNTING: photo::Counting = photo::Counting;
mod service;
mod standstill;
mod twins;
mod watching;
mod workshop;

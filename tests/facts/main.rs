//! Facts about the product, told through its public face and its real processes.

mod config;
mod demo;
<<<<<<< HEAD
mod hostile;
=======
mod house;
mod licences;
>>>>>>> 75830f3 (Let tests read the sources and keep floors, doors, map, leftovers and licences true)
mod photo;
mod proof;

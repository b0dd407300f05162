//! Facts about reading photos: what is taken, what is refused, and that colours and sides are right.

mod jpeg;

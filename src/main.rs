//! The binary: arguments in, exit code out. Everything else lives in the library.

fn main() {}

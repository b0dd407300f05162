//! The fence round a worker: how much memory it may take, and that it may touch nothing.
//! Owns the limits; refuses to know what runs inside.

use rustix::process::{Resource, Rlimit, setrlimit};

/// Address space a worker may take, bytes, when the daemon says nothing else.
pub const MEMORY: u64 = 4 << 30;

/// Puts the limits on this process for good; what a system does not know is left out.
pub fn raise(memory: u64) {
    let limit = |what: Resource, n: u64| {
        let _ = setrlimit(
            what,
            Rlimit {
                current: Some(n),
                maximum: Some(n),
            },
        );
    };
    limit(Resource::As, memory);
    limit(Resource::Core, 0);
    limit(Resource::Fsize, 0);
}

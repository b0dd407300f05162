//! Memory that was needed for a moment goes back to the system. Owns the calls for it; refuses to
//! know what it was needed for.

/// Lets all threads share one heap (mallopt(3)): each with its own, as the GNU C library has it, keeps pages
/// that are nearly empty, more of them with every batch. To be called before there are threads.
pub fn share() {
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    #[allow(unsafe_code)] // the C library's own call, with no pointer in or out
    // SAFETY: mallopt takes two numbers; no other thread runs yet that could be inside the allocator.
    unsafe {
        libc::mallopt(libc::M_ARENA_MAX, 1);
    }
}

/// Gives freed memory back: an allocator keeps what a large piece of work took, and a daemon that runs
/// for months would keep the most that it ever needed (malloc_trim(3)).
pub fn give_back() {
    #[cfg(all(target_os = "linux", target_env = "gnu"))]
    #[allow(unsafe_code)] // the C library's own call, with no pointer in or out
    // SAFETY: malloc_trim may be called at any time and from any thread (malloc_trim(3): MT-Safe).
    unsafe {
        libc::malloc_trim(0);
    }
}

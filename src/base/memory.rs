//! Memory that was needed for a moment goes back to the system. Owns the one call for it; refuses to
//! know what it was needed for.

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

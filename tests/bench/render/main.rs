//! The bench of rendering: one command prints what a photo costs and what comes out, side by side
//! with the floor and with the scripts a person would write. Owns the measuring; refuses to be a
//! test: nothing here passes or fails.
//!
//! `cargo bench --bench render` prints all, `-- --quick` a part in under a minute, `-- --encoder`
//! the encoder's tables, `-- --load` what the real program needs: memory of its workers, a batch on
//! two of them, the wait from a complete file to ready. Every figure of CPU time and memory is that
//! of a process of its own: user seconds and peak resident size.

mod contest;
mod encoder;
mod load;
mod photos;
mod report;
mod sources;

use std::path::Path;

fn main() {
    let args: Vec<String> = std::env::args()
        .skip(1)
        .filter(|a| a != "--bench")
        .collect();
    match args.first().map(String::as_str) {
        Some("child") => contest::child(&args[1..]),
        Some("--encoder") => encoder::print(&sources::photos(false), &sources::faded()),
        Some("--load") => load::print(&sources::photos(true)),
        Some("--quick") => contest::print(&sources::photos(true), &[1_000_000]),
        None => {
            let photos = sources::photos(false);
            contest::print(&photos, &[1_000_000, 400_000]);
            encoder::print(&photos, &sources::faded());
            load::print(&photos);
        }
        Some(odd) => {
            eprintln!("no such option: {odd}\nhint: --quick, --encoder, --load or nothing");
            std::process::exit(2);
        }
    }
}

/// Folder for what the bench makes, inside cargo's own.
fn scratch() -> &'static Path {
    Path::new(env!("CARGO_TARGET_TMPDIR"))
}

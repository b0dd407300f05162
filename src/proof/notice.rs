//! The sentence she may be told on her desktop after a batch. Owns its wording and how it is handed
//! to the desktop; refuses to know when a batch is over and whether she wants to be told.

use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

use super::escape::plain;
use super::model::Tally;
use super::words;

/// Longest wait for the desktop's answer.
const PATIENCE: Duration = Duration::from_secs(5);

/// One sentence for a batch, e.g. `Mug, speckled: 8 ready, 1 for a glance`; `None` when nothing
/// became of anything. Each item is a listing's title with what was new in it.
pub fn sentence(batch: &[(String, Tally)]) -> Option<String> {
    let mut with: Vec<&(String, Tally)> = batch.iter().filter(|(_, t)| t.total() > 0).collect();
    with.dedup_by(|a, b| a.0 == b.0 && a.1 == b.1);
    match with.as_slice() {
        [] => None,
        [(title, tally)] => Some(format!("{}: {}", plain(title), words::tally(*tally))),
        many => {
            let mut sum = Tally::default();
            many.iter().for_each(|(_, t)| sum.join(*t));
            Some(format!("{} listings: {}", many.len(), words::tally(sum)))
        }
    }
}

/// The program and its arguments that show `text` on this desktop; never through a shell, so a name
/// can only ever be text. `None` on a system for which there is none.
pub fn program(system: &str, text: &str) -> Option<(&'static str, Vec<String>)> {
    let text = plain(text);
    match system {
        "linux" | "freebsd" | "openbsd" | "netbsd" => {
            // Desktop Notifications Specification: the body may carry markup, so it is escaped.
            // notify-send also undoes C escapes in it (g_strcompress), so backslashes are doubled.
            let body = text
                .replace('&', "&amp;")
                .replace('<', "&lt;")
                .replace('>', "&gt;")
                .replace('\\', "\\\\");
            let args = ["--app-name=Stallhand", "--", "Stallhand", &body];
            Some(("notify-send", args.map(str::to_owned).to_vec()))
        }
        "macos" => {
            let script = [
                "-e",
                "on run argv",
                "-e",
                "display notification (item 1 of argv) with title \"Stallhand\"",
                "-e",
                "end run",
                "--",
                &text,
            ];
            Some(("osascript", script.map(str::to_owned).to_vec()))
        }
        _ => None,
    }
}

/// Shows `text` on the desktop; returns after at most five seconds.
///
/// # Errors
/// One sentence with a hint when this system has no way to show it, or the way fails.
pub fn send(text: &str) -> Result<(), String> {
    let (name, args) = program(std::env::consts::OS, text).ok_or_else(|| {
        "desktop notifications are not known on this system; hint: set desktop = false".to_owned()
    })?;
    let mut child = Command::new(name)
        .args(&args)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|e| {
            format!("{name} could not be started: {e}; hint: install {name} or set desktop = false")
        })?;
    let start = Instant::now();
    loop {
        match child.try_wait() {
            Ok(Some(status)) if status.success() => return Ok(()),
            Ok(Some(status)) => {
                return Err(format!(
                    "{name} ended with {status}; hint: is a desktop running? if not, set desktop = false"
                ));
            }
            Ok(None) if start.elapsed() < PATIENCE => std::thread::sleep(Duration::from_millis(20)),
            Ok(None) | Err(_) => {
                let _ = child.kill();
                let _ = child.wait();
                return Err(format!(
                    "{name} gave no answer; hint: is a desktop running? if not, set desktop = false"
                ));
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tally(ready: usize, glance: usize, held: usize) -> Tally {
        Tally {
            ready,
            glance,
            held,
        }
    }

    #[test]
    fn one_listing_is_named_and_several_are_counted() {
        let mug = ("Mug, speckled".to_owned(), tally(8, 1, 0));
        let bowl = ("Bowl".to_owned(), tally(3, 0, 2));
        assert_eq!(
            sentence(std::slice::from_ref(&mug)).unwrap(),
            "Mug, speckled: 8 ready, 1 for a glance"
        );
        assert_eq!(
            sentence(&[mug, bowl]).unwrap(),
            "2 listings: 11 ready, 1 for a glance, 2 held"
        );
        assert_eq!(sentence(&[("Mug".to_owned(), Tally::default())]), None);
        assert_eq!(sentence(&[]), None);
    }

    #[test]
    fn a_name_with_markup_options_or_escapes_arrives_as_text() {
        let (name, args) = program("linux", "--help <b>\\n\n&").unwrap();
        assert_eq!(name, "notify-send");
        assert_eq!(args[1], "--");
        assert_eq!(args[3], "--help &lt;b&gt;\\\\n\u{240a}&amp;");
        let (_, args) = program("macos", "\" & do shell script \"x").unwrap();
        assert_eq!(args.last().unwrap(), "\" & do shell script \"x");
        assert_eq!(args[args.len() - 2], "--");
        assert!(program("windows", "x").is_none());
    }
}

//! The other process: a photo's bytes come in on stdin, decisions and pictures go out on stdout.
//! Owns the worker's life, limits and fence; refuses to know folders. It opens no file at all.

#[cfg(target_os = "linux")]
mod calls;
pub mod doors;
pub mod fence;
pub mod host;
pub mod pool;
pub mod protocol;
mod wire;

use std::io::{self, BufReader, BufWriter};

use crate::base::reason::{Reason, Refusal};
use crate::framing::Eye;
use crate::photo::sniff::Kind;
use crate::pipeline::{self, Order};
use crate::{framing, photo};
use protocol::{Answer, Ask, Facts, Task};

/// The hidden command that makes the binary a worker.
pub const COMMAND: &str = "worker-process";

/// Names a photo by the first digits of its BLAKE3 hash: preparing it ends the worker, with `survey:`
/// before them reading its header does, and with `hang:` the worker is held until the daemon is gone.
/// For tests.
const POISON: &str = "STALLHAND_WORKER_POISON";

/// A worker's whole life: fence up, then one answer a task until stdin ends. Returns the exit code.
pub fn live() -> i32 {
    let memory = std::env::var("STALLHAND_WORKER_MEMORY")
        .ok()
        .and_then(|t| t.parse().ok())
        .unwrap_or(fence::MEMORY);
    let parts = std::env::var("STALLHAND_WORKER_FENCE")
        .map_or(fence::Parts::ALL, |words| fence::Parts::named(&words));
    let level = fence::raise(memory, parts);
    let mut input = BufReader::new(io::stdin());
    let mut output = BufWriter::new(io::stdout());
    let mut eye = None;
    loop {
        let (task, bytes) = match protocol::receive_task(&mut input) {
            Ok(Some(t)) => t,
            Ok(None) => return 0,
            Err(_) => return 1,
        };
        let (answer, blobs) = work(&task, &bytes, level, &mut eye);
        drop(bytes);
        if protocol::send(&mut output, &answer, &blobs).is_err() {
            return 0;
        }
    }
}

fn work(
    task: &Task,
    bytes: &[u8],
    level: fence::Level,
    eye: &mut Option<Eye>,
) -> (Answer, Vec<Vec<u8>>) {
    let limits = task.limits();
    match &task.ask {
        Ask::Fence { doors } => {
            let doors = doors.iter().map(doors::attempt).collect();
            (Answer::Fenced { level, doors }, Vec::new())
        }
        Ask::Survey => {
            swallow("survey:", bytes);
            let passed =
                |reason: Reason| Answer::Refused(Refusal::new(reason, reason.meaning()).into());
            let kind = photo::sniff::kind(&task.name, bytes);
            let answer = match kind {
                Kind::Video => passed(Reason::Video),
                Kind::Sidecar => passed(Reason::Sidecar),
                _ => match photo::survey(bytes, &limits) {
                    Ok(h) => Answer::Surveyed(Box::new(Facts {
                        raw: kind == Kind::Raw,
                        ..h.into()
                    })),
                    // Its twin may come yet, or be there.
                    Err(r) if kind == Kind::Raw => Answer::Surveyed(Box::new(Facts {
                        raw: true,
                        refused: Some(r.into()),
                        ..Facts::default()
                    })),
                    Err(r) => Answer::Refused(r.into()),
                },
            };
            (answer, Vec::new())
        }
        Ask::Prepare {
            profiles,
            imprint,
            turn,
            decide_only,
            picture,
        } => {
            swallow("", bytes);
            if eye.is_none() {
                match Eye::load() {
                    Ok(e) => *eye = Some(e),
                    Err(why) => return (Answer::Broken(why), Vec::new()),
                }
            }
            let Some(eye) = eye.as_ref() else {
                return (Answer::Broken("the eye is missing".into()), Vec::new());
            };
            let profiles: Vec<_> = profiles
                .iter()
                .map(|(p, c)| (p.clone(), framing::Correction::from(c)))
                .collect();
            let order = Order {
                profiles: &profiles,
                imprint,
                limits: &limits,
                turn: *turn,
                name: &task.name,
                decide_only: *decide_only,
                picture: *picture,
            };
            match pipeline::prepare(bytes, &order, eye) {
                Ok(p) => {
                    let raw = photo::sniff::kind(&task.name, bytes) == Kind::Raw;
                    protocol::answer_of(p, raw)
                }
                Err(r) => (Answer::Refused(r.into()), Vec::new()),
            }
        }
    }
}

/// Stands in for a photo that talks a decoder into the worst while `at` is done.
fn swallow(at: &str, bytes: &[u8]) {
    let Ok(poison) = std::env::var(POISON) else {
        return;
    };
    let (hang, rest) = match poison.strip_prefix("hang:") {
        Some(rest) => (true, rest),
        None => (false, poison.as_str()),
    };
    let hash = blake3::hash(bytes).to_hex();
    match rest.strip_prefix(at) {
        Some(name) if hash.starts_with(name) && hang => {
            let _ = io::copy(&mut io::stdin(), &mut io::sink());
            std::process::exit(1)
        }
        Some(name) if hash.starts_with(name) => std::process::abort(),
        _ => {}
    }
}

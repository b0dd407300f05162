//! The other process: a photo's bytes come in on stdin, decisions and pictures go out on stdout.
//! Owns the worker's life, limits and fence; refuses to know folders. It opens no file at all.

#[cfg(target_os = "linux")]
mod calls;
pub mod doors;
pub mod fence;
pub mod host;
pub mod pool;
pub mod protocol;

use std::io::{self, BufReader, BufWriter};

use crate::base::reason::{Reason, Refusal};
use crate::framing::Eye;
use crate::photo::sniff::Kind;
use crate::pipeline::{self, Order};
use crate::{framing, photo};
use protocol::{Answer, Ask, Task};

/// The hidden command that makes the binary a worker.
pub const COMMAND: &str = "worker-process";

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
            let answer = match passed_over(&task.name, bytes) {
                Some(reason) => Answer::Refused(Refusal::new(reason, reason.meaning()).into()),
                None => match photo::survey(bytes, &limits) {
                    Ok(h) => Answer::Surveyed(h.into()),
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
                Ok(p) => protocol::answer_of(p),
                Err(r) => (Answer::Refused(r.into()), Vec::new()),
            }
        }
    }
}

/// What cameras and phones put beside photos is told by name and content.
fn passed_over(name: &str, bytes: &[u8]) -> Option<Reason> {
    match photo::sniff::kind(name, &bytes[..bytes.len().min(4096)]) {
        Kind::Video => Some(Reason::Video),
        Kind::Sidecar => Some(Reason::Sidecar),
        _ => None,
    }
}

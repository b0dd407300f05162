//! Facts about the fence: a worker reaches no file, no socket and no other program, each part of
//! the fence holds alone, the photo comes out the same, and a worker that takes too much is lost.

use std::os::unix::process::ExitStatusExt;
use std::path::Path;
use std::process::{Command, ExitStatus, Stdio};
use std::time::Duration;

use stallhand::config::profile::{Imprint, Limits, Profile};
use stallhand::worker::COMMAND;
use stallhand::worker::doors::Door;
use stallhand::worker::fence::{Level, MEMORY};
use stallhand::worker::host::{Host, Lost};
use stallhand::worker::protocol::{self, Answer, Ask, Task, WireCorrection};

use super::workshop::{BINARY, photo};

type Answered = Option<(Answer, Vec<Vec<u8>>)>;

/// A worker of the real program, given one task; `parts` leaves parts of the fence away.
pub fn worker(parts: Option<&str>, memory: u64, ask: Ask, bytes: &[u8]) -> (Answered, ExitStatus) {
    let mut command = Command::new(BINARY);
    command
        .arg(COMMAND)
        .env_clear()
        .env("STALLHAND_WORKER_MEMORY", memory.to_string())
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null());
    if let Some(parts) = parts {
        command.env("STALLHAND_WORKER_FENCE", parts);
    }
    let mut child = command.spawn().unwrap();
    let task = Task::new("a.jpg".into(), &Limits::default(), ask);
    let mut stdin = child.stdin.take().unwrap();
    let _ = protocol::send_task(&mut stdin, &task, &mut &bytes[..], bytes.len() as u64);
    drop(stdin);
    let answer = protocol::receive::<Answer>(&mut child.stdout.take().unwrap());
    (answer.ok().flatten(), child.wait().unwrap())
}

const DOORS: [&str; 6] = ["read", "make", "tcp", "udp", "program", "thread"];

/// The level, and for each door in order whether it opened; `folder` is one to make a file in.
fn tried(parts: Option<&str>, folder: &Path) -> (Level, Vec<(&'static str, Option<String>)>) {
    let made = folder.join("made");
    let doors = vec![
        Door::Read("/etc/passwd".into()),
        Door::Make(made.clone()),
        Door::Tcp,
        Door::Udp,
        Door::Program("/bin/true".into()),
        Door::Thread,
    ];
    let (answer, status) = worker(parts, MEMORY, Ask::Fence { doors }, b"");
    assert!(status.success(), "{status}");
    let Some((Answer::Fenced { level, doors }, _)) = answer else {
        panic!("no answer about the fence: {answer:?}");
    };
    assert_eq!(made.exists(), doors[1].is_none(), "what it says is so");
    let _ = std::fs::remove_file(made);
    (level, DOORS.into_iter().zip(doors).collect())
}

fn open(doors: &[(&'static str, Option<String>)]) -> Vec<&'static str> {
    let open = doors.iter().filter(|(_, why)| why.is_none());
    open.map(|(name, _)| *name).collect()
}

#[test]
fn without_its_fence_a_worker_reaches_files_sockets_and_programs() {
    let dir = tempfile::tempdir().unwrap();
    let (level, doors) = tried(Some(""), dir.path());
    assert_eq!(level, Level::Limits);
    assert_eq!(open(&doors), DOORS, "{doors:?}");
}

#[test]
fn a_worker_cannot_open_a_file_or_a_socket_or_start_a_program() {
    let dir = tempfile::tempdir().unwrap();
    let (level, doors) = tried(None, dir.path());
    assert_eq!(open(&doors), ["thread"], "{level}: {doors:?}");
}

/// With no limit on descriptors beside it, so that this part alone is seen.
#[cfg(target_os = "linux")]
#[test]
fn refused_calls_alone_shut_every_door_with_a_plain_no() {
    let dir = tempfile::tempdir().unwrap();
    let (level, doors) = tried(Some("calls"), dir.path());
    if level == Level::Limits {
        eprintln!("skipped: this system has no seccomp");
        return;
    }
    assert_eq!(open(&doors), ["thread"], "{doors:?}");
    for (door, why) in doors.iter().filter(|(name, _)| *name != "thread") {
        let why = why.as_deref().unwrap_or("");
        assert!(why.contains("os error 1)"), "{door}: {why}");
    }
}

/// UDP is not landlock's to refuse, and TCP only from Linux 6.7 on.
#[cfg(target_os = "linux")]
#[test]
fn landlock_alone_keeps_every_file_out_of_reach() {
    let dir = tempfile::tempdir().unwrap();
    let (level, doors) = tried(Some("files"), dir.path());
    if level == Level::Limits {
        eprintln!("skipped: this system has no landlock");
        return;
    }
    let open = open(&doors);
    for door in ["read", "make", "program"] {
        assert!(!open.contains(&door), "{doors:?}");
    }
}

#[test]
fn the_limit_of_descriptors_alone_keeps_every_file_out_of_reach() {
    let dir = tempfile::tempdir().unwrap();
    let (level, doors) = tried(Some("descriptors"), dir.path());
    assert_eq!(level, Level::Limits);
    let open = open(&doors);
    for door in ["read", "make", "tcp", "udp"] {
        assert!(!open.contains(&door), "{doors:?}");
    }
}

fn prepare() -> Ask {
    let small = Profile {
        short_side: 300,
        short_side_min: 200,
        ..Profile::default()
    };
    Ask::Prepare {
        profiles: vec![(small, WireCorrection::default())],
        imprint: Imprint::default(),
        turn: 0,
        decide_only: false,
        picture: true,
    }
}

#[test]
fn the_fence_changes_nothing_in_what_is_made() {
    let bytes = photo("flower", "");
    let (fenced, _) = worker(None, MEMORY, prepare(), &bytes);
    let (free, _) = worker(Some(""), MEMORY, prepare(), &bytes);
    let ((fenced, files), (free, same)) = (fenced.unwrap(), free.unwrap());
    assert!(
        matches!(fenced, Answer::Prepared(_)) && !files.is_empty(),
        "{fenced:?}"
    );
    assert_eq!(format!("{fenced:?}"), format!("{free:?}"));
    assert!(files == same, "the files differ");
}

/// Aborted (signal 6), which also shows that the fence lets a process end itself.
#[cfg(target_os = "linux")]
#[test]
fn a_worker_that_needs_more_memory_than_it_may_have_ends_itself() {
    let (answer, status) = worker(None, 32 << 20, prepare(), &photo("flower", ""));
    assert!(answer.is_none(), "{answer:?}");
    assert_eq!(status.signal(), Some(6), "{status}");
}

#[cfg(target_os = "linux")]
#[test]
fn a_worker_lost_by_memory_or_time_is_told_apart_and_replaced() {
    let bytes = photo("flower", "");
    let task = Task::new("a.jpg".into(), &Limits::default(), prepare());
    let run = |host: &mut Host, limit| host.run(&task, &mut &bytes[..], bytes.len() as u64, limit);
    let minute = Duration::from_secs(60);
    let starved = run(&mut Host::of(BINARY.into(), 32 << 20), minute);
    assert!(
        matches!(starved, Err(Lost::Died { too_long: false })),
        "{starved:?}"
    );
    let mut host = Host::of(BINARY.into(), MEMORY);
    let late = run(&mut host, Duration::from_millis(1));
    assert!(
        matches!(late, Err(Lost::Died { too_long: true })),
        "{late:?}"
    );
    let again = run(&mut host, minute);
    assert!(matches!(again, Ok((Answer::Prepared(_), ..))), "{again:?}");
}

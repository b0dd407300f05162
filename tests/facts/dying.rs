//! The daemon dies while others rely on it: one that is started after it, `once` that waits for its answer.

use std::process::{Child, Stdio};

use rustix::process::Signal;

use crate::workshop::{Workshop, photo, signal, small};

fn kill(child: &mut Child) {
    child.kill().unwrap();
    child.wait().unwrap();
}

fn stop(mut child: Child) {
    signal(&child, Signal::TERM);
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

/// What a worker has of the lock between fork and exec: the daemon's open file itself (pidfd_getfd(2)).
#[cfg(target_os = "linux")]
fn inherited(w: &Workshop, daemon: &Child) -> Option<std::os::fd::OwnedFd> {
    use rustix::process::{Pid, PidfdFlags, PidfdGetfdFlags, pidfd_getfd, pidfd_open};
    let folder = format!("/proc/{}/fd", daemon.id());
    let lock = w.path("state/lock").canonicalize().unwrap();
    let mut open = std::fs::read_dir(folder).unwrap().flatten();
    let fd = open.find(|e| std::fs::read_link(e.path()).is_ok_and(|to| to == lock));
    let fd = fd.unwrap().file_name().to_string_lossy().parse().unwrap();
    let pid = Pid::from_raw(daemon.id() as i32).unwrap();
    let daemon = pidfd_open(pid, PidfdFlags::empty()).unwrap();
    match pidfd_getfd(daemon, fd, PidfdGetfdFlags::empty()) {
        Ok(file) => Some(file),
        Err(why) => {
            println!("passed over: a descriptor cannot be had here ({why})");
            None
        }
    }
}

#[cfg(target_os = "linux")]
#[test]
fn a_daemon_killed_while_it_starts_a_worker_is_not_taken_for_living() {
    let w = Workshop::quick(&[]);
    let mut daemon = w.begin(&[]);
    assert_eq!(w.run(&["watch"]).status.code(), Some(3));
    assert_eq!(w.status()["running"], true);
    let Some(_worker) = inherited(&w, &daemon) else {
        return kill(&mut daemon);
    };
    kill(&mut daemon);
    assert_eq!(w.status()["running"], false);
    w.put("a.jpg", &small(0, "a"));
    assert_ne!(w.once(), 3);
    assert_eq!(w.events("delivered").len(), 1);
    let daemon = w.begin(&[]);
    assert_eq!(w.status()["running"], true);
    stop(daemon);
}

/// A daemon whose worker never answers for the photo, and `once` that waits for it.
fn asked_in_vain(w: &Workshop) -> (Child, Child) {
    let bytes = photo("china", "");
    let hang = format!("hang:{}", &blake3::hash(&bytes).to_hex()[..16]);
    let daemon = w.begin(&[("STALLHAND_WORKER_POISON", &hang)]);
    w.put("Mug/a.jpg", &bytes);
    let once = w
        .command(&["once", "--json"])
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    let asked = format!("{}.taken", once.id());
    w.wait(|w| w.files("state/requests") == [asked.as_str()]);
    (daemon, once)
}

fn delivered(once: Child) -> u64 {
    let out = once.wait_with_output().unwrap();
    assert!(matches!(out.status.code(), Some(0 | 1)), "{out:?}");
    let said: serde_json::Value = serde_json::from_slice(&out.stdout).unwrap();
    said["delivered"].as_u64().unwrap()
}

#[test]
fn once_does_itself_what_a_daemon_died_over() {
    let w = Workshop::new();
    let (mut daemon, once) = asked_in_vain(&w);
    kill(&mut daemon);
    assert_eq!(delivered(once), 1);
    assert_eq!(w.files("state/requests"), [""; 0]);
}

#[test]
fn once_is_answered_by_the_daemon_that_is_started_after_one_that_died() {
    let w = Workshop::new();
    let (mut daemon, once) = asked_in_vain(&w);
    signal(&once, Signal::STOP);
    kill(&mut daemon);
    let daemon = w.begin(&[]);
    signal(&once, Signal::CONT);
    assert_eq!(delivered(once), 1);
    assert_eq!(w.files("state/requests"), [""; 0]);
    stop(daemon);
}

#[test]
fn what_redo_asked_of_a_daemon_that_died_is_made_once_by_the_next() {
    let w = Workshop::new();
    let (mut daemon, mut once) = asked_in_vain(&w);
    kill(&mut once);
    kill(&mut daemon);
    w.once();
    assert_eq!(w.events("delivered").len(), 1);
    let file = w.path("stallhand.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    std::fs::write(&file, text.replace("short_side = 300", "short_side = 280")).unwrap();
    let hash = blake3::hash(&photo("china", "")).to_hex();
    let hang = format!("hang:{}", &hash[..16]);
    let mut daemon = w.begin(&[("STALLHAND_WORKER_POISON", &hang)]);
    let redo = w.command(&["redo", "Mug"]).stdout(Stdio::null()).spawn();
    let mut redo = redo.unwrap();
    let asked = format!("{}.taken", redo.id());
    w.wait(|w| w.files("state/requests").contains(&asked));
    signal(&redo, Signal::STOP);
    kill(&mut daemon);
    let daemon = w.begin(&[]);
    signal(&redo, Signal::CONT);
    assert!(matches!(redo.wait().unwrap().code(), Some(0 | 1)));
    assert_eq!(w.events("delivered").len(), 2);
    assert_eq!(w.events("delivered")[1]["height"], 280);
    stop(daemon);
}

#[test]
fn a_start_clears_answers_of_askers_that_are_no_more_and_half_written_small_pictures_and_nothing_else()
 {
    let w = Workshop::new();
    w.put("a.jpg", &photo("china", ""));
    w.once();
    let pictures = w.files("state/proof/pictures");
    assert_eq!(pictures.len(), 1);
    let mut gone = std::process::Command::new(env!("CARGO_BIN_EXE_stallhand"))
        .arg("--version")
        .stdout(Stdio::null())
        .spawn()
        .unwrap();
    gone.wait().unwrap();
    let (gone, mine) = (gone.id(), std::process::id());
    let answer = |n: u32| format!("{n}.answer");
    for name in [answer(gone), format!("{gone}.draft"), answer(mine)] {
        std::fs::write(w.path("state/requests").join(name), "{}").unwrap();
    }
    let half = w.path("state/proof/pictures/0123456789abcdef.jpg.new");
    std::fs::write(&half, "half").unwrap();
    w.once();
    assert_eq!(w.files("state/requests"), [answer(mine)]);
    assert_eq!(w.files("state/proof/pictures"), pictures);
}

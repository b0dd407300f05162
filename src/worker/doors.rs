//! Trying the fence from inside: a worker opens what it is told to and says what came of it.
//! Owns the tries; refuses to know what should come of them.

use std::io;
use std::net::{TcpListener, UdpSocket};
use std::path::PathBuf;
use std::process::Command;

use serde::{Deserialize, Serialize};

use crate::base::disk::Disk;

/// One way out of a process.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub enum Door {
    /// Open a file for reading.
    Read(PathBuf),
    /// Make a file, which must not exist.
    Make(PathBuf),
    /// A TCP socket on the machine's own address.
    Tcp,
    /// A UDP socket on the machine's own address.
    Udp,
    /// Start a program, which must print nothing.
    Program(PathBuf),
    /// Start a thread: no way out, and must stay possible.
    Thread,
}

/// Opens a door; `None` when it opened, else why it did not.
pub fn attempt(door: &Door) -> Option<String> {
    let tried: io::Result<()> = match door {
        Door::Read(path) => std::fs::File::open(path).map(drop),
        Door::Make(path) => Disk::default().lock_file(path).map(drop),
        Door::Tcp => TcpListener::bind("127.0.0.1:0").map(drop),
        Door::Udp => UdpSocket::bind("127.0.0.1:0").map(drop),
        Door::Program(path) => Command::new(path).status().map(drop),
        Door::Thread => std::thread::Builder::new().spawn(|| ()).and_then(|t| {
            t.join()
                .map_err(|_| io::Error::other("the thread did not end well"))
        }),
    };
    tried.err().map(|e| e.to_string())
}

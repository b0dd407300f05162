//! The daemon's end of one worker: starts it, gives it a photo, waits no longer than allowed, and
//! buries it. Refuses to decide what a death means.

use std::io::{self, BufReader, Read};
use std::path::PathBuf;
use std::process::{Child, ChildStdin, ChildStdout, Command, Stdio};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;
use std::sync::{Arc, Mutex};
use std::time::Duration;

use super::protocol::{self, Answer, Ask, Task};
use crate::config::profile::Limits;

/// Whether this process has said how far its workers' fence reaches.
static TOLD: AtomicBool = AtomicBool::new(false);

/// How a task ended without an answer.
#[derive(Debug)]
pub enum Lost {
    /// The worker died or was ended for taking too long.
    Died { too_long: bool },
    /// The photo could not be read, or changed while it was read.
    Source(io::Error),
    /// No worker could be started.
    NoWorker(io::Error),
}

/// An answer with its blobs and the hash of the bytes it is about.
pub type Given = (Answer, Vec<Vec<u8>>, blake3::Hash);

/// One worker, started when first needed.
pub struct Host {
    /// What is started; the running binary when `None`.
    program: Option<PathBuf>,
    memory: u64,
    live: Option<Live>,
}

struct Live {
    child: Arc<Mutex<Child>>,
    stdin: ChildStdin,
    stdout: BufReader<ChildStdout>,
}

impl Host {
    /// `memory`: address space the worker may take, bytes.
    pub fn new(memory: u64) -> Self {
        Self {
            program: None,
            memory,
            live: None,
        }
    }
    /// The same with workers of another binary than the running one.
    pub fn of(program: PathBuf, memory: u64) -> Self {
        Self {
            program: Some(program),
            memory,
            live: None,
        }
    }
    fn live(&mut self) -> io::Result<&mut Live> {
        if self.live.is_none() {
            let program = self.program.clone().map_or_else(own_binary, Ok)?;
            let mut command = Command::new(program);
            command
                .arg(super::COMMAND)
                .env_clear()
                .env("STALLHAND_WORKER_MEMORY", self.memory.to_string())
                // glibc keeps freed pictures for later, the more the larger they were; given back
                // at once, a worker needs 20 MiB less at its peak. Other systems pass it over.
                .env("MALLOC_MMAP_THRESHOLD_", "1048576")
                .env("MALLOC_TRIM_THRESHOLD_", "1048576");
            if let Some(poison) = std::env::var_os(super::POISON) {
                command.env(super::POISON, poison);
            }
            let mut child = command
                .stdin(Stdio::piped())
                .stdout(Stdio::piped())
                .stderr(Stdio::null())
                .current_dir("/")
                .spawn()?;
            let (stdin, stdout) = (child.stdin.take(), child.stdout.take());
            let (Some(stdin), Some(stdout)) = (stdin, stdout) else {
                return Err(io::Error::other("no pipes"));
            };
            self.live = Some(Live {
                child: Arc::new(Mutex::new(child)),
                stdin,
                stdout: BufReader::new(stdout),
            });
        }
        self.live
            .as_mut()
            .ok_or_else(|| io::Error::other("no worker"))
    }
    /// Gives a photo of `length` bytes to the worker and waits for its answer.
    ///
    /// # Errors
    /// Why there is none; the worker is replaced at the next call then.
    pub fn run(
        &mut self,
        task: &Task,
        source: &mut impl Read,
        length: u64,
        limit: Duration,
    ) -> Result<Given, Lost> {
        let live = self.live().map_err(Lost::NoWorker)?;
        // The guard ends the worker when the time is up, and itself when the answer came first.
        let (done, expired) = mpsc::channel::<()>();
        let child = live.child.clone();
        let guard = std::thread::spawn(move || {
            let late = expired.recv_timeout(limit) == Err(mpsc::RecvTimeoutError::Timeout);
            if late && let Ok(mut c) = child.lock() {
                let _ = c.kill();
            }
            late
        });
        let mut read_error = None;
        let mut watched = Watched {
            inner: source,
            error: &mut read_error,
        };
        let sent = tell_fence(live)
            .and_then(|()| protocol::send_task(&mut live.stdin, task, &mut watched, length));
        let answer = sent.and_then(|hash| {
            let (answer, blobs) = protocol::receive::<Answer>(&mut live.stdout)?
                .ok_or_else(|| io::Error::from(io::ErrorKind::UnexpectedEof))?;
            Ok((answer, blobs, hash))
        });
        drop(done);
        let too_long = guard.join().unwrap_or(false);
        match answer {
            Ok(given) => Ok(given),
            Err(_) => {
                self.bury();
                Err(match read_error {
                    Some(e) => Lost::Source(e),
                    None => Lost::Died { too_long },
                })
            }
        }
    }
    fn bury(&mut self) {
        if let Some(live) = self.live.take() {
            drop(live.stdin);
            if let Ok(mut c) = live.child.lock() {
                let _ = c.kill();
                let _ = c.wait();
            }
        }
    }
}

impl Drop for Host {
    fn drop(&mut self) {
        self.bury();
    }
}

/// Logs the fence's level once, in the words of the first worker.
fn tell_fence(live: &mut Live) -> io::Result<()> {
    if TOLD.swap(true, Ordering::Relaxed) {
        return Ok(());
    }
    let ask = Ask::Fence { doors: Vec::new() };
    let task = Task::new(String::new(), &Limits::default(), ask);
    protocol::send_task(&mut live.stdin, &task, &mut io::empty(), 0)?;
    if let Some((Answer::Fenced { level, .. }, _)) = protocol::receive(&mut live.stdout)? {
        tracing::debug!("worker processes are fenced: {level}");
    }
    Ok(())
}

/// The running binary, also after an upgrade has replaced its file.
fn own_binary() -> io::Result<PathBuf> {
    if cfg!(target_os = "linux") {
        return Ok("/proc/self/exe".into());
    }
    std::env::current_exe()
}

/// Tells a source's own errors, a short read included, from the pipe's.
struct Watched<'a, R> {
    inner: &'a mut R,
    error: &'a mut Option<io::Error>,
}

impl<R: Read> Read for Watched<'_, R> {
    fn read(&mut self, buffer: &mut [u8]) -> io::Result<usize> {
        match self.inner.read(buffer) {
            Ok(0) if !buffer.is_empty() => {
                *self.error = Some(io::ErrorKind::UnexpectedEof.into());
                Ok(0)
            }
            Err(e) if e.kind() != io::ErrorKind::Interrupted => {
                *self.error = Some(e.kind().into());
                Err(e)
            }
            other => other,
        }
    }
}

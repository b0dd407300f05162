//! A few workers side by side: one thread each, started when there is work and gone soon after.
//! Owns their number and their idle time; refuses to choose what runs next.

use std::io;
use std::sync::mpsc::{self, Receiver, Sender};
use std::sync::{Arc, Mutex};
use std::time::Duration;

use super::host::{Given, Host, Lost};
use super::protocol::Task;
use crate::base::disk::{Root, Stamp};

/// A worker with nothing to do goes after this time, and its memory with it.
const IDLE: Duration = Duration::from_secs(2);

/// One photo to be read through a worker.
pub struct Job {
    pub id: u64,
    pub task: Task,
    pub root: Root,
    pub path: std::path::PathBuf,
    pub limit: Duration,
}

/// What came of a job.
pub struct Done {
    pub id: u64,
    /// The file as it was before and after reading; `None` when it could not be opened or changed.
    pub stamp: Option<Stamp>,
    pub given: Result<Given, Lost>,
}

type Queue = Arc<Mutex<Receiver<Job>>>;

/// The pool. Dropping it ends all workers.
pub struct Pool {
    jobs: Sender<Job>,
    queue: Queue,
    most: usize,
    memory: u64,
    running: Arc<Mutex<usize>>,
    tell: Arc<dyn Fn(Done) + Send + Sync>,
}

impl Pool {
    /// `most` workers at once, each with `memory` bytes of address space; results go to `tell`.
    pub fn new(most: usize, memory: u64, tell: impl Fn(Done) + Send + Sync + 'static) -> Self {
        let (jobs, queue) = mpsc::channel();
        Self {
            jobs,
            queue: Arc::new(Mutex::new(queue)),
            most: most.max(1),
            memory,
            running: Arc::new(Mutex::new(0)),
            tell: Arc::new(tell),
        }
    }
    /// Hands a job to the next free worker.
    pub fn submit(&self, job: Job) {
        let _ = self.jobs.send(job);
        let mut running = self.running.lock().unwrap_or_else(|e| e.into_inner());
        if *running < self.most {
            *running += 1;
            let (queue, running) = (self.queue.clone(), self.running.clone());
            let (tell, memory) = (self.tell.clone(), self.memory);
            std::thread::spawn(move || {
                serve(&queue, &running, memory, &*tell);
            });
        }
    }
}

fn serve(queue: &Queue, running: &Mutex<usize>, memory: u64, tell: &dyn Fn(Done)) {
    let mut host = Host::new(memory);
    loop {
        let next = {
            let queue = queue.lock().unwrap_or_else(|e| e.into_inner());
            queue.recv_timeout(IDLE).or_else(|_| {
                // Counted off under both locks: a job sent meanwhile is seen here, a later one
                // finds the lower count and starts a thread of its own.
                let mut running = running.lock().unwrap_or_else(|e| e.into_inner());
                queue.try_recv().inspect_err(|_| *running -= 1)
            })
        };
        let Ok(job) = next else { return };
        tell(one(&mut host, &job));
    }
}

fn one(host: &mut Host, job: &Job) -> Done {
    let lost = |e: io::Error| Done {
        id: job.id,
        stamp: None,
        given: Err(Lost::Source(e)),
    };
    let (mut file, before) = match job.root.open(&job.path) {
        Ok(f) => f,
        Err(e) => return lost(e),
    };
    let given = host.run(&job.task, &mut file, before.stamp.size, job.limit);
    let after = match job.root.stat(&job.path) {
        Ok(Some(s)) => s,
        Ok(None) => return lost(io::ErrorKind::NotFound.into()),
        Err(e) => return lost(e),
    };
    Done {
        id: job.id,
        stamp: (after.stamp == before.stamp).then_some(before.stamp),
        given,
    }
}

//! The loop: hints, answers, time and signals become events of the house. Owns the runtime and
//! nothing else; every wait ends by an event or at the house's next tick.

use std::time::Duration;

use tokio::runtime::Runtime;
use tokio::signal::unix::{Signal, SignalKind, signal};
use tokio::sync::mpsc;

use crate::base::clock::{Clock, Moment};
use crate::base::manager::Manager;
use crate::inbox::watch::{Hint, Watch};
use crate::worker::pool::{Done, Pool};

use super::house::House;
use super::requests;
use super::words;

/// When the loop ends by itself.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Until {
    /// At a stop signal only.
    Stopped,
    /// When nothing is left to do, or nothing can go on.
    Settled,
}

/// How the loop ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ended {
    Settled,
    /// Nothing more can be done now: a disk is full, or the inbox is offline.
    Stuck,
    Signal,
}

/// After a stop signal the photos in hand may take this long to finish.
const GRACE: Duration = Duration::from_secs(3);

/// When the loop wakes this much later than it meant to, or by `settle` if that is longer, the machine
/// or the process stood still.
const OVERSLEPT: Duration = Duration::from_secs(1);

/// The stop signals, caught from the moment this is made, and the runtime that catches them.
pub struct Stop {
    runtime: Runtime,
    terminate: Signal,
    interrupt: Signal,
}

impl Stop {
    /// # Errors
    /// The runtime or the signal handlers cannot be had.
    pub fn listen() -> std::io::Result<Self> {
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()?;
        let inside = runtime.enter();
        let terminate = signal(SignalKind::terminate())?;
        let interrupt = signal(SignalKind::interrupt())?;
        drop(inside);
        Ok(Self {
            runtime,
            terminate,
            interrupt,
        })
    }
    /// Waits; true at once when a stop signal comes or came before.
    pub fn asked_within(&mut self, wait: Duration) -> bool {
        let (terminate, interrupt) = (&mut self.terminate, &mut self.interrupt);
        self.runtime.block_on(async {
            tokio::select! {
                biased;
                _ = terminate.recv() => true,
                _ = interrupt.recv() => true,
                () = tokio::time::sleep(wait) => false,
            }
        })
    }
}

enum Event {
    Hint(Hint),
    Done(Done),
    Time,
    Stop,
}

/// Runs the house until told otherwise; `progress` is called after every event.
pub fn run(
    house: &mut House,
    clock: &Clock,
    until: Until,
    stop: Stop,
    mut progress: impl FnMut(&House),
) -> Ended {
    let Stop {
        runtime,
        mut terminate,
        mut interrupt,
    } = stop;
    runtime.block_on(async {
        let (hints, mut hinted) = mpsc::unbounded_channel();
        let (answers, mut answered) = mpsc::unbounded_channel();
        let pool = Pool::new(
            house.config.workers.most(),
            crate::worker::fence::MEMORY,
            move |done| {
                let _ = answers.send(done);
            },
        );
        let mut watch = arm(house, &hints);
        house.scan_all(clock.now());
        let mut report = Report::of(until, clock.now());
        let mut deadline = None;
        let ended = loop {
            let now = clock.now();
            for job in house.tick(now) {
                pool.submit(job);
            }
            progress(house);
            report.tell(house, now);
            if let Some(end) = deadline
                && (house.in_hand() == 0 || now >= end)
            {
                break Ended::Signal;
            }
            if until == Until::Settled && deadline.is_none() {
                // A missing inbox is not an empty one.
                if (house.is_halted() || house.is_offline()) && house.in_hand() == 0 {
                    break Ended::Stuck;
                }
                if house.is_idle() && house.paused().is_some() {
                    break Ended::Stuck;
                }
                if house.is_idle() {
                    break Ended::Settled;
                }
            }
            let mut next = house.next_tick();
            if let Some(end) = deadline {
                next = next.min(end);
            }
            next = next.min(report.next.unwrap_or(next));
            let wait = next.saturating_sub(now).max(Duration::from_millis(1));
            let event = tokio::select! {
                biased;
                _ = terminate.recv() => Event::Stop,
                _ = interrupt.recv() => Event::Stop,
                Some(done) = answered.recv() => Event::Done(done),
                Some(hint) = hinted.recv() => Event::Hint(hint),
                () = tokio::time::sleep(wait) => Event::Time,
            };
            let (meant, now) = (now + wait, clock.now());
            if now > meant + OVERSLEPT.max(house.config.watch.settle) {
                house.woke(now);
            }
            let mut ended = false;
            match event {
                Event::Hint(hint) => {
                    house.hint(&hint, now);
                    ended |= hint == Hint::Ended;
                    // Take what else is there before doing anything costly.
                    while let Ok(more) = hinted.try_recv() {
                        house.hint(&more, now);
                        ended |= more == Hint::Ended;
                    }
                }
                Event::Done(done) => house.done(done, now),
                Event::Time => {}
                Event::Stop => {
                    report.manager.stopping();
                    house.stop();
                    deadline = Some(now + GRACE);
                }
            }
            if ended {
                watch = None;
            }
            if watch
                .as_ref()
                .is_none_or(|(id, _)| Some(*id) != house.inbox_id())
            {
                watch = arm(house, &hints);
                if watch.is_some() {
                    house.scan_all(clock.now());
                }
            }
        };
        if ended != Ended::Signal {
            report.manager.stopping();
        }
        house.close();
        ended
    })
}

/// What the service manager is told, when one started us.
struct Report {
    manager: Manager,
    every: Option<Duration>,
    /// When a sign of life is due.
    next: Option<Moment>,
    status: String,
}

impl Report {
    /// Tells at once that we are ready.
    fn of(until: Until, now: Moment) -> Self {
        let manager = match until {
            Until::Stopped => Manager::from_environment(),
            Until::Settled => Manager::default(),
        };
        manager.ready();
        let every = manager.alive_every().filter(|_| manager.listens());
        Self {
            manager,
            every,
            next: every.map(|e| now + e),
            status: String::new(),
        }
    }
    /// A sign of life when it is due, or nearly so: a wake for something else saves one of its
    /// own. The status line when it changed.
    fn tell(&mut self, house: &House, now: Moment) {
        if !self.manager.listens() {
            return;
        }
        if let (Some(every), Some(next)) = (self.every, self.next)
            && now + every / 2 >= next
        {
            self.manager.alive();
            self.next = Some(now + every);
        }
        let line = words::status(house);
        if line != self.status {
            self.manager.status(&line);
            self.status = line;
        }
    }
}

type Armed = ((u64, u64), Option<Watch>);

/// Watches the inbox as it is now; without a watch the rescan alone finds everything.
fn arm(house: &House, hints: &mpsc::UnboundedSender<Hint>) -> Option<Armed> {
    let id = house.inbox_id()?;
    if std::env::var_os("STALLHAND_NO_EVENTS").is_some() {
        return Some((id, None));
    }
    let hints = hints.clone();
    let started = Watch::start(&house.config.folders.inbox, move |hint| {
        let _ = hints.send(hint);
    });
    match started {
        Ok(mut w) => {
            if let Err(why) = w.also(&house.config.folders.state.join(requests::FOLDER)) {
                tracing::warn!("{why}");
            }
            let settings = house.config.file.as_ref().and_then(|f| f.parent());
            if let Some(folder) = settings
                && let Err(why) = w.also(folder)
            {
                tracing::warn!("{why}");
            }
            Some((id, Some(w)))
        }
        Err(why) => {
            tracing::warn!("{why}");
            Some((id, None))
        }
    }
}

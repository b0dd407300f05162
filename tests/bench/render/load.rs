//! What the real program needs: peak memory of its workers, a batch on two of them against two runs
//! of one each, and the wait from a complete file to a finished one. Owns the workshops it makes;
//! refuses to know how photos are prepared.

use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

use stallhand::config::profile::{Format, Imprint, Limits, Profile};
use stallhand::worker::fence;
use stallhand::worker::host::Host;
use stallhand::worker::protocol::{Answer, Ask, Task, WireCorrection};

use crate::report::{median, worst};
use crate::{photos, scratch, sources};

const BINARY: &str = env!("CARGO_BIN_EXE_stallhand");
/// Photos of the batch for each worker, and repetitions.
const EACH: usize = 6;
const TIMES: usize = 3;
const SETTLE_MS: f64 = 500.0;
const LATENCIES: usize = 12;

pub fn print(all: &[PathBuf]) {
    memory();
    batch(all);
    latency(&all[0]);
}

/// 48 MP through a real worker: all its memory at its peak, against the decoded picture's.
fn memory() {
    println!("\npeak memory of a worker that prepares 8000x6000 px (decoded RGB: 137.3 MiB)");
    let top = Path::new(env!("CARGO_MANIFEST_DIR"));
    let small = sources::read(&top.join("tests/facts/real/china.jpg"));
    let three = [
        Profile::default(),
        Profile {
            name: "square".into(),
            short_side: 1600,
            ..Profile::default()
        },
        Profile {
            name: "site".into(),
            format: Format::Webp,
            short_side: 1200,
            ..Profile::default()
        },
    ];
    for progressive in [false, true] {
        let bytes = photos::plain(&small, 8000, 6000, progressive);
        for profiles in [&three[..1], &three[..]] {
            let ask = Ask::Prepare {
                profiles: profiles
                    .iter()
                    .map(|p| (p.clone(), WireCorrection::default()))
                    .collect(),
                imprint: Imprint::default(),
                turn: 0,
                decide_only: false,
                picture: false,
            };
            let task = Task::new("a.jpg".into(), &Limits::default(), ask);
            let mut host = Host::of(BINARY.into(), fence::MEMORY);
            let started = Instant::now();
            let given = host.run(
                &task,
                &mut &bytes[..],
                bytes.len() as u64,
                Duration::from_secs(300),
            );
            let (answer, _, _) = given.expect("an answer");
            assert!(matches!(answer, Answer::Prepared(_)), "it was refused");
            println!(
                "{} {:4.1} MB, {} profile(s): {:5.1} MiB more than the decoded RGB, {:.1} s",
                if progressive {
                    "progressive"
                } else {
                    "baseline   "
                },
                bytes.len() as f64 / 1e6,
                profiles.len(),
                peak_of_child() - 8000.0 * 6000.0 * 3.0 / f64::from(1 << 20),
                started.elapsed().as_secs_f64()
            );
        }
    }
}

/// Peak resident MiB of this process's only child (Linux).
fn peak_of_child() -> f64 {
    let me = std::process::id();
    let children = std::fs::read_to_string(format!("/proc/self/task/{me}/children"));
    let pid = children.unwrap_or_default();
    let status = std::fs::read_to_string(format!("/proc/{}/status", pid.trim()));
    let status = status.unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:"));
    let kib = line.and_then(|l| l.trim().strip_suffix(" kB")?.parse::<f64>().ok());
    kib.unwrap_or(f64::NAN) / 1024.0
}

/// A workshop of its own below the scratch folder.
struct Shop(PathBuf);

impl Shop {
    fn new(name: &str, workers: u32, settle: f64) -> Self {
        let folder = scratch().join("bench-shops").join(name);
        let _ = std::fs::remove_dir_all(&folder);
        std::fs::create_dir_all(folder.join("inbox")).expect("a folder");
        let folders: String = ["inbox", "ready", "held", "originals", "state"]
            .map(|n| format!("{n} = {:?}\n", folder.join(n)))
            .concat();
        let text = format!(
            "[folders]\n{folders}[watch]\nsettle = \"{settle}ms\"\n[limits]\nworkers = {workers}\n"
        );
        std::fs::write(folder.join("stallhand.toml"), text).expect("settings");
        Self(folder)
    }
    fn fill(&self, photos: &[PathBuf], from: usize, count: usize) {
        for i in from..from + count {
            // Bytes after the end of a picture make it another file, and harm no decoder.
            let mut bytes = std::fs::read(&photos[i % photos.len()]).expect("a photo");
            bytes.extend(i.to_le_bytes());
            std::fs::write(self.0.join(format!("inbox/piece {i}.jpg")), bytes).expect("room");
        }
    }
    fn start(&self, verb: &str) -> Child {
        Command::new(BINARY)
            .arg("--config")
            .arg(self.0.join("stallhand.toml"))
            .arg(verb)
            .env("HOME", &self.0)
            .stdin(Stdio::null())
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program")
    }
    fn journal(&self) -> Vec<serde_json::Value> {
        let files = std::fs::read_dir(self.0.join("state/journal"));
        let files = files.into_iter().flatten().flatten();
        let texts = files.filter_map(|f| std::fs::read_to_string(f.path()).ok());
        let lines = texts.flat_map(|t| t.lines().map(str::to_owned).collect::<Vec<_>>());
        lines
            .filter_map(|l| serde_json::from_str(&l).ok())
            .collect()
    }
}

fn batch(photos: &[PathBuf]) {
    println!(
        "\na batch of {} photos of 21 MP: two workers of one program against two programs of one",
        2 * EACH
    );
    let mut ratios = Vec::new();
    for _ in 0..TIMES {
        let together = Shop::new("together", 2, 50.0);
        together.fill(photos, 0, 2 * EACH);
        let apart = [Shop::new("apart-1", 1, 50.0), Shop::new("apart-2", 1, 50.0)];
        for (i, shop) in apart.iter().enumerate() {
            shop.fill(photos, i * EACH, EACH);
        }
        let timed = |shops: &[&Shop]| {
            let started = Instant::now();
            let running: Vec<Child> = shops.iter().map(|s| s.start("once")).collect();
            for mut child in running {
                let _ = child.wait();
            }
            started.elapsed().as_secs_f64()
        };
        let one = timed(&[&together]);
        let two = timed(&[&apart[0], &apart[1]]);
        println!("{one:6.2} s, {two:6.2} s: throughput {:.2}", two / one);
        ratios.push(two / one);
    }
    println!("throughput of the batch, median: {:.2}", median(ratios));
}

/// One photo at a time into a running daemon's inbox, each renamed there when it is complete.
fn latency(photo: &Path) {
    let shop = Shop::new("waiting", 1, SETTLE_MS);
    let mut child = shop.start("watch");
    std::thread::sleep(Duration::from_secs(3));
    let bytes = std::fs::read(photo).expect("a photo");
    let mut over = Vec::new();
    for i in 0..LATENCIES {
        let mut own = bytes.clone();
        own.extend(i.to_le_bytes());
        let part = shop.0.join("arriving");
        std::fs::write(&part, own).expect("room");
        let to = shop.0.join(format!("ready/listing/piece-{i}.jpg"));
        let complete = Instant::now();
        std::fs::rename(&part, shop.0.join(format!("inbox/piece {i}.jpg"))).expect("a rename");
        while !to.exists() && complete.elapsed() < Duration::from_secs(60) {
            std::thread::sleep(Duration::from_millis(2));
        }
        let wall = complete.elapsed().as_secs_f64() * 1000.0;
        std::thread::sleep(Duration::from_millis(500));
        let took = shop
            .journal()
            .iter()
            .rfind(|l| l["event"] == "delivered")
            .and_then(|l| l["took_ms"].as_f64());
        over.push(wall - SETTLE_MS - took.unwrap_or(f64::NAN));
    }
    let _ = child.kill();
    let _ = child.wait();
    println!(
        "\nfrom complete to ready, beyond the quiet time and the preparing: median {:.0} ms, worst {:.0} ms of {LATENCIES}",
        median(over.clone()),
        worst(over)
    );
}

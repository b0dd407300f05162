//! Long measurements, no part of a test run: a thousand photos of 12 megapixels at once, and a soak
//! with compressed time. They print what goes into DEVELOPERS.md and fail on what must never be.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::Child;
use std::time::{Duration, Instant};

use rustix::process::Signal;
use stallhand::config::profile::{Imprint, Profile};
use stallhand::worker::fence::MEMORY;
use stallhand::worker::protocol::{Answer, Ask, WireCorrection};

use crate::fence::worker;
use crate::workshop::{Workshop, photo, signal, small};

/// A process of Linux as it is now (proc(5)).
#[derive(Clone, Copy, Default)]
pub struct Sample {
    /// KiB
    pub resident: u64,
    /// user and system time, ms
    pub cpu: u64,
}

pub fn sample(pid: u32) -> Option<Sample> {
    let status = std::fs::read_to_string(format!("/proc/{pid}/status")).ok()?;
    let line = status.lines().find(|l| l.starts_with("VmRSS:"))?;
    let resident = line.split_whitespace().nth(1)?.parse().ok()?;
    let stat = std::fs::read_to_string(format!("/proc/{pid}/stat")).ok()?;
    let fields: Vec<&str> = stat.rsplit(") ").next()?.split(' ').collect();
    let ticks = |i: usize| fields.get(i)?.parse::<u64>().ok();
    Some(Sample {
        resident,
        // At the usual hundred ticks a second.
        cpu: (ticks(11)? + ticks(12)?) * 10,
    })
}

fn workers(daemon: &Child) -> Vec<u32> {
    let tasks = std::fs::read_dir(format!("/proc/{}/task", daemon.id()));
    let lists = tasks
        .into_iter()
        .flatten()
        .flatten()
        .map(|t| std::fs::read_to_string(t.path().join("children")).unwrap_or_default());
    lists
        .flat_map(|l| {
            l.split_whitespace()
                .filter_map(|p| p.parse().ok())
                .collect::<Vec<_>>()
        })
        .collect()
}

/// Open descriptors, and folders watched through inotify (proc_pid_fdinfo(5)).
fn held_by(daemon: &Child) -> (usize, usize) {
    let folder = format!("/proc/{}/fdinfo", daemon.id());
    let texts: Vec<String> = (std::fs::read_dir(folder).unwrap().flatten())
        .filter_map(|e| std::fs::read_to_string(e.path()).ok())
        .collect();
    let watches = texts.iter().flat_map(|t| t.lines());
    let watches = watches.filter(|l| l.starts_with("inotify ")).count();
    (texts.len(), watches)
}

/// A photograph at 4000 x 3000, with grain, as a camera's JPEG would be.
fn twelve_megapixels(small: &[u8], seed: u32) -> Vec<u8> {
    const W: usize = 4000;
    const H: usize = 3000;
    let mut decoder = jpeg_decoder::Decoder::new(small);
    let pixels = decoder.decode().unwrap();
    let info = decoder.info().unwrap();
    let (w, h) = (usize::from(info.width), usize::from(info.height));
    let mut grain = seed | 1;
    let mut rgb = Vec::with_capacity(W * H * 3);
    let across: Vec<(usize, u32)> = (0..W)
        .map(|x| x * (w - 1) * 256 / W)
        .map(|at| (at / 256, (at % 256) as u32))
        .collect();
    for y in 0..H {
        let at = y * (h - 1) * 256 / H;
        let (j, v) = (at / 256, (at % 256) as u32);
        for (i, u) in &across {
            grain = grain.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
            let noise = (grain >> 29) as i32 - 4;
            for c in 0..3 {
                let p = |i: usize, j: usize| u32::from(pixels[(j * w + i) * 3 + c]);
                let top = p(*i, j) * (256 - u) + p(i + 1, j) * u;
                let low = p(*i, j + 1) * (256 - u) + p(i + 1, j + 1) * u;
                let value = ((top * (256 - v) + low * v) >> 16) as i32 + noise;
                rgb.push(value.clamp(0, 255) as u8);
            }
        }
    }
    let mut c = mozjpeg::Compress::new(mozjpeg::ColorSpace::JCS_RGB);
    c.set_size(W, H);
    c.set_fastest_defaults();
    c.set_quality(92.0);
    let mut c = c.start_compress(Vec::new()).unwrap();
    c.write_scanlines(&rgb).unwrap();
    c.finish().unwrap()
}

fn number(name: &str, otherwise: usize) -> usize {
    std::env::var(name)
        .ok()
        .and_then(|t| t.parse().ok())
        .unwrap_or(otherwise)
}

/// User and system time of all children that ended, ms (proc(5)).
fn children() -> u64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap();
    let fields: Vec<&str> = stat.rsplit(") ").next().unwrap().split(' ').collect();
    let ticks = |i: usize| fields[i].parse::<u64>().unwrap();
    (ticks(13) + ticks(14)) * 10
}

#[test]
#[ignore = "takes two minutes: cargo test --release --test facts -- --ignored --nocapture the_fence_costs"]
fn the_fence_costs_less_than_a_twentieth() {
    const ROUNDS: u64 = 20;
    let bytes = twelve_megapixels(&photo("flower", ""), 1);
    let ask = || Ask::Prepare {
        profiles: vec![(Profile::default(), WireCorrection::default())],
        imprint: Imprint::default(),
        turn: 0,
        decide_only: false,
        picture: true,
    };
    // A new worker for each photo: the fence is raised each time, which a batch does once.
    let mut used = [0; 2];
    for round in 0..2 * ROUNDS {
        let free = round % 2 == 1;
        let before = children();
        let (answer, status) = worker(free.then_some(""), MEMORY, ask(), &bytes);
        assert!(matches!(answer, Some((Answer::Prepared(_), _))), "{status}");
        used[usize::from(free)] += children() - before;
    }
    let [fenced, free] = used.map(|ms| ms as f64 / ROUNDS as f64);
    println!(
        "fenced {fenced:.0} ms of CPU a photo of 12 megapixels, without {free:.0} ms: {:.4}",
        fenced / free
    );
    assert!(fenced < free * 1.05);
}

#[test]
#[ignore = "takes half an hour: cargo test --release --test facts -- --ignored --nocapture a_thousand_photos (fewer with STALLHAND_LOAD_PHOTOS)"]
fn a_thousand_photos_of_twelve_megapixels_at_once_take_flat_memory_and_keep_their_order() {
    const LISTINGS: usize = 20;
    let photos = number("STALLHAND_LOAD_PHOTOS", 1000);
    let w = Workshop::with("", "");
    let file = w.path("stallhand.toml");
    let text = std::fs::read_to_string(&file).unwrap();
    let text = text
        .replace("short_side = 300", "short_side = 2000")
        .replace("short_side_min = 200", "short_side_min = 1000")
        .replace("quality = { floor = 40, ceiling = 80 }", "");
    std::fs::write(&file, text).unwrap();
    let scene = |n: &str| {
        let top = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/facts/scenes");
        std::fs::read(top.join(format!("{n}.jpg"))).unwrap()
    };
    let four = [
        photo("china", ""),
        photo("flower", ""),
        scene("mug"),
        scene("soap"),
    ];
    let four: Vec<Vec<u8>> = (four.iter().zip(1..))
        .map(|(p, n)| twelve_megapixels(p, n))
        .collect();
    let aside = w.path("aside");
    for i in 0..photos {
        let folder = aside.join(format!("Piece {:02}", i % LISTINGS));
        std::fs::create_dir_all(&folder).unwrap();
        let mut bytes = four[(i / LISTINGS) % 4].clone();
        bytes.extend(format!("{i}").bytes());
        std::fs::write(folder.join(format!("{i:04}.jpg")), bytes).unwrap();
    }
    let bytes: usize = four.iter().map(Vec::len).sum();
    println!(
        "{photos} photos of {:.1} MB in {LISTINGS} listings",
        bytes as f64 / 4e6
    );
    let mut daemon = w.begin(&[]);
    for e in std::fs::read_dir(&aside).unwrap().flatten() {
        std::fs::rename(e.path(), w.path("inbox").join(e.file_name())).unwrap();
    }
    let begun = Instant::now();
    let mut cpu: BTreeMap<u32, u64> = BTreeMap::new();
    let (mut daemon_peak, mut worker_peak, mut all_peak, mut most) = (0, 0, 0, 0);
    let mut next = 0;
    println!("| s | delivered | daemon, MiB | workers | largest worker, MiB | CPU, s |");
    let mib = |kib: u64| kib as f64 / 1024.0;
    loop {
        std::thread::sleep(Duration::from_millis(500));
        let own = sample(daemon.id()).unwrap();
        let all: Vec<(u32, Sample)> = (workers(&daemon).into_iter())
            .filter_map(|p| Some((p, sample(p)?)))
            .collect();
        for (pid, s) in &all {
            cpu.insert(*pid, s.cpu);
        }
        cpu.insert(daemon.id(), own.cpu);
        let largest = all.iter().map(|(_, s)| s.resident).max().unwrap_or(0);
        let sum: u64 = all.iter().map(|(_, s)| s.resident).sum();
        daemon_peak = daemon_peak.max(own.resident);
        worker_peak = worker_peak.max(largest);
        all_peak = all_peak.max(sum + own.resident);
        most = most.max(all.len());
        let done = w.count("delivered") + w.count("held");
        if done >= next || done >= photos {
            println!(
                "| {:.0} | {done} | {:.1} | {} | {:.0} | {:.0} |",
                begun.elapsed().as_secs_f64(),
                mib(own.resident),
                all.len(),
                mib(largest),
                cpu.values().sum::<u64>() as f64 / 1e3
            );
            next = done + photos / 10;
        }
        if done >= photos && w.files("inbox").is_empty() {
            break;
        }
        assert!(
            begun.elapsed() < Duration::from_secs(3 * 3600),
            "it never ends"
        );
    }
    let wall = begun.elapsed().as_secs_f64();
    let cpu = cpu.values().sum::<u64>() as f64 / 1e3;
    println!(
        "{wall:.0} s, {cpu:.0} s of CPU, {:.2} cores busy, {most} workers; at most {:.1} MiB daemon, {:.0} MiB one worker, {:.0} MiB all",
        cpu / wall,
        mib(daemon_peak),
        mib(worker_peak),
        mib(all_peak)
    );
    signal(&daemon, Signal::TERM);
    assert_eq!(daemon.wait().unwrap().code(), Some(0));
    assert_eq!(w.events("held").len(), 0);
    // Within each listing the numbers follow the names.
    let mut by_listing: BTreeMap<String, Vec<(String, String)>> = BTreeMap::new();
    for l in w.events("delivered") {
        let text = |k: &str| l[k].as_str().unwrap().to_owned();
        by_listing
            .entry(text("listing"))
            .or_default()
            .push((text("output"), text("source")));
    }
    assert_eq!(by_listing.len(), LISTINGS.min(photos));
    for (listing, mut all) in by_listing {
        all.sort_by_key(|(o, _)| {
            let digits = o.rsplit(['-', '.']).nth(1).unwrap_or_default();
            digits.parse::<u32>().unwrap_or(0)
        });
        assert!(
            all.is_sorted_by_key(|(_, source)| source.clone()),
            "{listing}: {all:?}"
        );
    }
    assert!(
        daemon_peak < 100 << 10,
        "the daemon grew to {daemon_peak} KiB"
    );
}

#[test]
#[ignore = "takes some minutes: cargo test --release --test facts -- --ignored --nocapture a_soak (other lengths with STALLHAND_SOAK_PHOTOS)"]
fn a_soak_of_thousands_of_photos_and_many_renamed_inboxes_leaves_nothing_growing() {
    const BATCH: usize = 50;
    let photos = number("STALLHAND_SOAK_PHOTOS", 3000);
    let short = [
        ("settle", "5ms"),
        ("listing_settle", "20ms"),
        ("rescan", "200ms"),
    ];
    let w = Workshop::quick(&short);
    let mut daemon = w.begin(&[]);
    let mut seen: Vec<(usize, u64, usize, usize)> = Vec::new();
    println!("| photos | daemon, MiB | descriptors | watches | renamed inboxes |");
    let mut renamed = 0;
    let empty = |path: &PathBuf| std::fs::remove_dir(path).is_ok();
    for done in (0..photos).step_by(BATCH) {
        let listing = format!("Batch {done}");
        for i in 0..BATCH {
            w.put(
                &format!("{listing}/{i}.jpg"),
                &small(i, &format!("{done}-{i}")),
            );
        }
        w.wait(|w| w.count("delivered") == done + BATCH && w.files("inbox").is_empty());
        w.wait(|w| empty(&w.path("inbox").join(&listing)));
        // Away and back, and now and then another folder in its place.
        for n in 0..4 {
            std::fs::rename(w.path("inbox"), w.path("away")).unwrap();
            std::thread::sleep(Duration::from_millis(50));
            if n == 3 {
                std::fs::create_dir(w.path("inbox")).unwrap();
                std::fs::remove_dir(w.path("away")).unwrap();
            } else {
                std::fs::rename(w.path("away"), w.path("inbox")).unwrap();
            }
            renamed += 1;
            std::thread::sleep(Duration::from_millis(250));
        }
        if (done / BATCH).is_multiple_of((photos / BATCH / 10).max(1)) {
            // Workers go when they have been idle, and their pipes with them.
            std::thread::sleep(Duration::from_secs(3));
            let (descriptors, watches) = held_by(&daemon);
            let resident = sample(daemon.id()).unwrap().resident;
            let upto = done + BATCH;
            println!(
                "| {upto} | {:.1} | {descriptors} | {watches} | {renamed} |",
                resident as f64 / 1024.0
            );
            seen.push((upto, resident, descriptors, watches));
        }
    }
    signal(&daemon, Signal::TERM);
    assert_eq!(daemon.wait().unwrap().code(), Some(0));
    assert_eq!(w.events("delivered").len(), photos.div_ceil(BATCH) * BATCH);
    // The first tenth warms up.
    let (first, last) = (seen[1], seen[seen.len() - 1]);
    assert_eq!((first.2, first.3), (last.2, last.3), "descriptors, watches");
    assert!(last.1 < first.1 + (4 << 10), "memory grew: {seen:?}");
}

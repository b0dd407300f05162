//! Killed at random, over and over: by a disk operation that ends the process, and from outside;
//! stopped at random; and all the while a reader looks at every file that appears in `ready`.

use std::collections::BTreeSet;
use std::io::Read;
use std::os::unix::fs::MetadataExt;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use rustix::process::Signal;

use crate::workshop::{Workshop, decodes, signal, small};

/// A small generator of our own, so that a run can be repeated (Marsaglia's xorshift, 64 bit).
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, n: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % n
    }
}

/// Somebody who opens each file in `ready` the moment it appears: an uploader, a file manager.
/// Hidden names are no business of theirs.
pub struct Reader {
    stop: Arc<AtomicBool>,
    thread: JoinHandle<(usize, Vec<PathBuf>)>,
}

impl Reader {
    pub fn of(ready: PathBuf) -> Self {
        let stop = Arc::new(AtomicBool::new(false));
        let ended = stop.clone();
        let thread = std::thread::spawn(move || {
            let (mut seen, mut bad) = (BTreeSet::new(), Vec::new());
            loop {
                let last = ended.load(Ordering::SeqCst);
                look(&ready, &mut seen, &mut bad);
                if last {
                    return (seen.len(), bad);
                }
                std::thread::sleep(Duration::from_millis(3));
            }
        });
        Self { stop, thread }
    }
    /// How many files it decoded, and those that it could not.
    pub fn end(self) -> (usize, Vec<PathBuf>) {
        self.stop.store(true, Ordering::SeqCst);
        self.thread.join().unwrap()
    }
}

fn look(folder: &Path, seen: &mut BTreeSet<(u64, i64, i64)>, bad: &mut Vec<PathBuf>) {
    for e in std::fs::read_dir(folder).into_iter().flatten().flatten() {
        let path = e.path();
        let name = e.file_name();
        if name.to_string_lossy().starts_with('.') || name == "LISTING.txt" {
            continue;
        }
        if e.file_type().is_ok_and(|t| t.is_dir()) {
            look(&path, seen, bad);
            continue;
        }
        // The open file is judged, whatever happens to its name meanwhile.
        let Ok(mut file) = std::fs::File::open(&path) else {
            continue;
        };
        let meta = file.metadata().unwrap();
        if seen.insert((meta.ino(), meta.ctime(), meta.ctime_nsec())) {
            let mut bytes = Vec::new();
            file.read_to_end(&mut bytes).unwrap();
            if !decodes(&bytes) {
                bad.push(path);
            }
        }
    }
}

#[derive(Default, Debug)]
struct Tally {
    points: u32,
    photos: usize,
    batches: u32,
    /// Files that the reader decoded, over all batches.
    read: usize,
    undecodable: usize,
    lost: usize,
    twice: usize,
    left_behind: usize,
}

const BATCH: usize = 20;

/// Fills the inbox of a new workshop; returns the hashes.
fn batch(w: &Workshop, seed: u64) -> BTreeSet<String> {
    (0..BATCH)
        .map(|i| {
            let bytes = small(i, &format!("{seed}-{i}"));
            let folder = ["", "Mug/", "Bowl/"][i % 3];
            w.put(&format!("{folder}{i}.jpg"), &bytes);
            blake3::hash(&bytes).to_hex().to_string()
        })
        .collect()
}

/// Each original once among originals, each output once, each decision one line, all numbered.
fn count(w: &Workshop, wanted: &BTreeSet<String>, t: &mut Tally) {
    let mut originals = BTreeSet::new();
    for f in w.files("originals") {
        let bytes = std::fs::read(w.path("originals").join(f)).unwrap();
        if !originals.insert(blake3::hash(&bytes).to_hex().to_string()) {
            t.twice += 1;
        }
    }
    t.lost += wanted.difference(&originals).count();
    let lines = w.events("delivered");
    let told: BTreeSet<String> = lines.iter().map(|l| l["blake3"].to_string()).collect();
    t.twice += lines.len() - told.len();
    let ready = w.files("ready");
    t.lost += wanted.len().saturating_sub(ready.len());
    t.twice += ready.len().saturating_sub(wanted.len());
    t.left_behind += temporary(w).len();
    w.is_gapless();
    let sums = (t.lost, t.twice, t.undecodable, t.left_behind);
    assert_eq!(sums, (0, 0, 0, 0), "{t:?}, left: {:?}", w.files("held"));
}

/// Files that are no photo, note or output in the four folders.
fn temporary(w: &Workshop) -> Vec<String> {
    let all = ["inbox", "ready", "held", "originals"].map(|f| w.files(f));
    let name = |p: &String| {
        let leaf = p.rsplit('/').next().unwrap_or_default().to_owned();
        leaf.starts_with('.') || !(leaf.ends_with(".jpg") || leaf.ends_with(".txt"))
    };
    all.concat().into_iter().filter(name).collect()
}

/// Two inboxes side by side, so that two cores are busy.
fn in_two(work: impl Fn(u64) -> Tally + Sync) -> Tally {
    let all: Vec<Tally> = std::thread::scope(|s| {
        let threads = [1, 2].map(|i| {
            s.spawn({
                let work = &work;
                move || work(i)
            })
        });
        threads.into_iter().map(|t| t.join().unwrap()).collect()
    });
    let mut sum = Tally::default();
    for t in all {
        sum.points += t.points;
        sum.photos += t.photos;
        sum.batches += t.batches;
        sum.read += t.read;
    }
    println!("{sum:?}");
    sum
}

/// Batch after batch, until `points` kills have struck over at least `photos` photos. Every other
/// batch, as the seed begins, has its originals on another file system, where that is permitted.
fn killed(points: u32, photos: usize, seed: u64) -> Tally {
    println!("seed {seed:#x}");
    let mut dice = Dice(seed);
    let mut t = Tally::default();
    while t.points < points || t.photos < photos {
        let w = Workshop::quick(&[]);
        let _apart =
            ((seed + u64::from(t.batches)) % 2 == 1).then(|| w.mount("originals", "size=64m"));
        let wanted = batch(&w, dice.below(1 << 40));
        let reader = Reader::of(w.path("ready"));
        while t.points < points && !w.files("inbox").is_empty() {
            if dice.below(3) == 0 {
                let mut child = w.start(&[]);
                std::thread::sleep(Duration::from_millis(dice.below(900)));
                child.kill().unwrap();
                child.wait().unwrap();
                t.points += 1;
            } else {
                let n = 1 + dice.below(12);
                // Some file systems know neither a rename that replaces nothing nor an exchange.
                let bare = ["", "bare,"][dice.below(2) as usize];
                t.points += u32::from(w.once_in_trouble(&format!("{bare}kill:{n}")).is_none());
            }
        }
        finish(&w, wanted, reader, &mut t);
    }
    t
}

/// Stopped by signal at random, over and over.
fn stopped(points: u32, seed: u64) -> Tally {
    println!("seed {seed:#x}");
    let mut dice = Dice(seed);
    let mut t = Tally::default();
    while t.points < points {
        let w = Workshop::quick(&[]);
        let wanted = batch(&w, dice.below(1 << 40));
        let reader = Reader::of(w.path("ready"));
        while t.points < points && !w.files("inbox").is_empty() {
            let mut child = w.begin(&[]);
            std::thread::sleep(Duration::from_millis(dice.below(400)));
            let which = [Signal::TERM, Signal::INT][dice.below(4) as usize / 3];
            signal(&child, which);
            let asked = Instant::now();
            let code = child.wait().unwrap().code();
            let took = asked.elapsed();
            assert_eq!(code, Some(0), "{which:?} after {} stops", t.points);
            assert!(took < Duration::from_secs(5), "{which:?}: {took:?}");
            assert_eq!(temporary(&w), [""; 0]);
            t.points += 1;
        }
        finish(&w, wanted, reader, &mut t);
    }
    t
}

fn finish(w: &Workshop, wanted: BTreeSet<String>, reader: Reader, t: &mut Tally) {
    let code = w.once();
    assert!(
        matches!(code, 0 | 1),
        "{code}: the dead one was taken for living"
    );
    t.photos += wanted.len();
    t.batches += 1;
    let (read, bad) = reader.end();
    t.read += read;
    t.undecodable += bad.len();
    count(w, &wanted, t);
}

#[test]
fn killed_at_random_points_nothing_is_lost_or_made_twice_or_seen_half() {
    let t = in_two(|i| killed(50, 20, 0x5EED + i));
    assert!(t.points >= 100 && t.photos >= 40, "{t:?}");
    assert!(t.read >= t.photos, "{t:?}");
}

#[test]
fn stopped_at_random_points_it_ends_well_in_time_and_leaves_nothing_behind() {
    let t = in_two(|i| stopped(50, 0x57A7 + i));
    assert!(t.points >= 100 && t.read >= t.photos, "{t:?}");
}

#[test]
fn what_looks_like_a_temporary_file_of_ours_and_is_not_is_left_alone() {
    let w = Workshop::quick(&[]);
    let foreign = [
        "ready/listing/.stallhand-1-0011223344556677.part",
        "ready/listing/.stallhand-1-0011223344556677.swap",
        "ready/.stallhand-7.part",
        "originals/.stallhand-001122334455667788990011.part",
        "held/.a.jpg.tmp",
        "inbox/.stallhand-2-0011223344556677.part",
    ];
    for f in foreign {
        std::fs::create_dir_all(w.path(f).parent().unwrap()).unwrap();
        std::fs::write(w.path(f), "somebody's").unwrap();
    }
    w.put("a.jpg", &small(0, "a"));
    // Killed with an output and then with an original on the way, and started again.
    for n in [5, 9] {
        w.once_in_trouble(&format!("kill:{n}"));
    }
    w.once();
    assert_eq!(w.files("originals").len(), 2);
    for f in foreign {
        let text = std::fs::read_to_string(w.path(f));
        assert_eq!(text.unwrap(), "somebody's", "{f}");
    }
}

#[test]
#[ignore = "takes long: cargo test --release --test facts -- --ignored --nocapture a_thousand_kills"]
fn a_thousand_kills_over_two_hundred_photos_lose_nothing() {
    let t = in_two(|i| killed(500, 100, 0xD1CE + i));
    assert!(t.points >= 1000 && t.photos >= 200, "{t:?}");
    assert!(t.read >= t.photos, "{t:?}");
}

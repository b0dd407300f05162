//! Twelve ways in which a file comes to be, each several times with random timing, all at once into
//! the inbox of one running daemon: nothing is ever taken half, everything whole arrives once.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{Seek, SeekFrom, Write};
use std::path::PathBuf;
use std::time::{Duration, SystemTime};

use rustix::process::Signal;

use crate::kills::{Dice, Reader};
use crate::workshop::{Workshop, signal, small};

const TIMES: u64 = 4;

/// Pauses within one file are shorter than this, but for stalls; it is the daemon's quiet time.
const SETTLE: u64 = 500;

struct Writer {
    dice: Dice,
    /// Where the file is to be.
    path: PathBuf,
    /// A folder on the same file system that nobody watches.
    aside: PathBuf,
    /// The photo in the end.
    last: &'static [u8],
    /// What stands there first, where something does.
    first: &'static [u8],
}

impl Writer {
    fn pause(&mut self) {
        let ms = self.dice.below(SETTLE / 5);
        std::thread::sleep(Duration::from_millis(ms));
    }
    /// Longer than the quiet time.
    fn stall(&mut self) {
        let ms = SETTLE + 200 + self.dice.below(700);
        std::thread::sleep(Duration::from_millis(ms));
    }
    /// Writes in a random number of parts, with pauses between.
    fn slowly(&mut self, file: &mut File, bytes: &[u8]) {
        let part = bytes.len() / (2 + self.dice.below(8) as usize) + 1;
        for chunk in bytes.chunks(part) {
            file.write_all(chunk).unwrap();
            self.pause();
        }
    }
    fn slow_growth(&mut self) {
        let mut file = File::create(&self.path).unwrap();
        self.slowly(&mut file, self.last);
    }
    fn long_stall(&mut self) {
        let mut file = File::create(&self.path).unwrap();
        let at = 1 + self.dice.below(self.last.len() as u64 - 1) as usize;
        self.slowly(&mut file, &self.last[..at]);
        self.stall();
        self.slowly(&mut file, &self.last[at..]);
    }
    fn preallocated(&mut self) {
        use rustix::fs::{FallocateFlags, fallocate};
        let mut file = File::create(&self.path).unwrap();
        let whole = self.last.len() as u64;
        fallocate(&file, FallocateFlags::empty(), 0, whole).unwrap();
        self.stall();
        self.slowly(&mut file, self.last);
    }
    fn sparse(&mut self) {
        let mut file = File::create(&self.path).unwrap();
        file.set_len(self.last.len() as u64).unwrap();
        let part = self.last.len() / 6 + 1;
        let mut parts: Vec<(usize, &[u8])> = self.last.chunks(part).enumerate().collect();
        while !parts.is_empty() {
            let (n, bytes) = parts.swap_remove(self.dice.below(parts.len() as u64) as usize);
            file.seek(SeekFrom::Start((n * part) as u64)).unwrap();
            file.write_all(bytes).unwrap();
            self.pause();
        }
    }
    #[cfg(target_os = "linux")]
    #[allow(unsafe_code)]
    fn mapped(&mut self) {
        let file = File::options()
            .read(true)
            .write(true)
            .create_new(true)
            .open(&self.path)
            .unwrap();
        file.set_len(self.last.len() as u64).unwrap();
        let (len, fd) = (self.last.len(), std::os::fd::AsRawFd::as_raw_fd(&file));
        let how = libc::PROT_READ | libc::PROT_WRITE;
        // SAFETY: a fresh mapping of `len` bytes of a file of that length, which only this function
        // writes to and which it unmaps at its end.
        let map = unsafe { libc::mmap(std::ptr::null_mut(), len, how, libc::MAP_SHARED, fd, 0) };
        assert_ne!(map, libc::MAP_FAILED);
        let part = len / 5 + 1;
        for (n, chunk) in self.last.chunks(part).enumerate() {
            // SAFETY: the chunks lie one after the other within the mapping's `len` bytes.
            unsafe {
                let at = map.cast::<u8>().add(n * part);
                std::ptr::copy_nonoverlapping(chunk.as_ptr(), at, chunk.len());
            }
            if n == 2 {
                self.stall();
            }
            self.pause();
        }
        // SAFETY: the mapping made above, whole, and not used after this.
        unsafe { libc::munmap(map, len) };
    }
    #[cfg(not(target_os = "linux"))]
    fn mapped(&mut self) {
        self.slow_growth();
    }
    fn renamed(&mut self) {
        let mut name = self.path.clone().into_os_string();
        name.push(".part");
        let mut file = File::create(&name).unwrap();
        self.slowly(&mut file, self.last);
        if self.dice.below(2) == 0 {
            self.stall();
        }
        std::fs::rename(name, &self.path).unwrap();
    }
    fn time_set_back(&mut self) {
        let mut file = File::create(&self.path).unwrap();
        self.slowly(&mut file, self.last);
        let year = Duration::from_secs(365 * 86_400);
        file.set_modified(SystemTime::now() - year).unwrap();
    }
    fn hard_link(&mut self) {
        let mut file = File::create(&self.aside).unwrap();
        // Linked before it is whole, and written on under its other name.
        let at = self.dice.below(self.last.len() as u64) as usize;
        self.slowly(&mut file, &self.last[..at]);
        std::fs::hard_link(&self.aside, &self.path).unwrap();
        self.slowly(&mut file, &self.last[at..]);
    }
    fn rewritten_in_place(&mut self) {
        std::fs::write(&self.path, self.first).unwrap();
        if self.dice.below(2) == 0 {
            self.stall();
        }
        // If the first one was taken already, a new file begins.
        let opened = File::options().write(true).open(&self.path);
        let mut file = opened.or_else(|_| File::create(&self.path)).unwrap();
        self.slowly(&mut file, self.last);
        file.set_len(self.last.len() as u64).unwrap();
    }
    fn truncated_and_rewritten(&mut self) {
        std::fs::write(&self.path, self.first).unwrap();
        self.pause();
        let mut file = File::create(&self.path).unwrap();
        if self.dice.below(2) == 0 {
            self.stall();
        }
        self.slowly(&mut file, self.last);
    }
    fn removed_midway(&mut self) {
        let mut file = File::create(&self.path).unwrap();
        let at = self.dice.below(self.last.len() as u64 * 2 / 3) as usize;
        self.slowly(&mut file, &self.last[..at]);
        if self.dice.below(2) == 0 {
            self.stall();
        }
        std::fs::remove_file(&self.path).unwrap();
    }
    fn of_another_time(&mut self) {
        let mut file = File::create(&self.path).unwrap();
        let far = [0, 4_070_908_800][self.dice.below(2) as usize];
        let time = SystemTime::UNIX_EPOCH + Duration::from_secs(far);
        let at = self.last.len() / 2;
        self.slowly(&mut file, &self.last[..at]);
        file.set_modified(time).unwrap();
        self.pause();
        self.slowly(&mut file, &self.last[at..]);
        file.set_modified(time).unwrap();
    }
}

type Way = fn(&mut Writer);

const KINDS: [(&str, Way); 12] = [
    ("slow growth", Writer::slow_growth),
    ("long stall", Writer::long_stall),
    ("preallocated", Writer::preallocated),
    ("sparse", Writer::sparse),
    ("mapped", Writer::mapped),
    ("renamed", Writer::renamed),
    ("time set back", Writer::time_set_back),
    ("hard link", Writer::hard_link),
    ("rewritten in place", Writer::rewritten_in_place),
    ("truncated and rewritten", Writer::truncated_and_rewritten),
    ("removed midway", Writer::removed_midway),
    ("of another time", Writer::of_another_time),
];

fn hash(bytes: &[u8]) -> String {
    blake3::hash(bytes).to_hex().to_string()
}

/// What becomes of the two photographs when they are whole.
fn outputs_of_whole_photos() -> Vec<Vec<u8>> {
    let w = Workshop::quick(&[]);
    w.put("0.jpg", &small(0, ""));
    w.put("1.jpg", &small(1, ""));
    w.once();
    let read = |f: String| std::fs::read(w.path("ready").join(f)).unwrap();
    let all: Vec<_> = w.files("ready").into_iter().map(read).collect();
    assert_eq!(all.len(), 2);
    all
}

#[test]
fn however_a_file_comes_to_be_it_is_never_taken_half_and_arrives_once() {
    let seed = 0xA881_u64;
    println!("seed {seed:#x}");
    let whole = outputs_of_whole_photos();
    let settle = format!("{SETTLE}ms");
    let w = Workshop::quick(&[("settle", settle.as_str()), ("rescan", "1s")]);
    std::fs::create_dir(w.path("aside")).unwrap();
    let child = w.begin(&[]);
    let reader = Reader::of(w.path("ready"));
    let jobs: Vec<(usize, u64, &'static [u8], &'static [u8])> = (0..KINDS.len() * TIMES as usize)
        .map(|n| {
            let (kind, time) = (n % KINDS.len(), (n / KINDS.len()) as u64);
            (
                kind,
                time,
                &*small(n, &format!("last {n}")).leak(),
                &*small(n + 1, &format!("first {n}")).leak(),
            )
        })
        .collect();
    std::thread::scope(|s| {
        for (n, (kind, time, last, first)) in jobs.iter().enumerate() {
            let w = &w;
            s.spawn(move || {
                let mut dice = Dice(seed ^ (n as u64 + 1) << 20);
                std::thread::sleep(Duration::from_millis(time * 400 + dice.below(400)));
                let name = format!("{}-{time}.jpg", KINDS[*kind].0.replace(' ', "-"));
                KINDS[*kind].1(&mut Writer {
                    dice,
                    path: w.path("inbox").join(&name),
                    aside: w.path("aside").join(&name),
                    last,
                    first,
                });
            });
        }
    });
    let stays = |kind: usize| KINDS[kind].0 != "removed midway";
    let wanted: Vec<(&str, u64, String)> = (jobs.iter())
        .filter(|j| stays(j.0))
        .map(|j| (KINDS[j.0].0, j.1, hash(j.2)))
        .collect();
    let delivered = |w: &Workshop| {
        let mut times: BTreeMap<String, usize> = BTreeMap::new();
        for l in w.events("delivered") {
            *times
                .entry(l["blake3"].as_str().unwrap().into())
                .or_default() += 1;
        }
        times
    };
    w.wait(|w| {
        let done = delivered(w);
        wanted.iter().all(|j| done.contains_key(&j.2))
    });
    w.wait(|w| w.files("inbox").is_empty());
    let (read, bad) = reader.end();
    signal(&child, Signal::TERM);
    let mut child = child;
    assert_eq!(child.wait().unwrap().code(), Some(0));
    let done = delivered(&w);
    let mut firsts = 0;
    for (hash_of, times) in &done {
        let known = jobs.iter().find(|j| hash(j.2) == *hash_of);
        let first = jobs.iter().find(|j| hash(j.3) == *hash_of);
        assert!(
            known.is_some() || first.is_some(),
            "something half was taken: {hash_of}"
        );
        assert_eq!(*times, 1, "{:?}", known.or(first).map(|j| KINDS[j.0].0));
        firsts += usize::from(known.is_none());
    }
    println!(
        "{} delivered, {firsts} of them replaced later; {read} read",
        done.len()
    );
    assert!(bad.is_empty(), "{bad:?}");
    let ready = w.files("ready");
    assert_eq!(ready.len(), done.len());
    for f in ready {
        let bytes = std::fs::read(w.path("ready").join(&f)).unwrap();
        assert!(
            whole.contains(&bytes),
            "{f} is not what the whole photo gives"
        );
    }
    let held = w.events("held");
    assert!(held.is_empty(), "{held:?}");
    let kept: Vec<String> = (w.files("originals").into_iter())
        .map(|f| hash(&std::fs::read(w.path("originals").join(f)).unwrap()))
        .collect();
    for (kind, _, hash) in &wanted {
        assert_eq!(kept.iter().filter(|k| *k == hash).count(), 1, "{kind}");
    }
}

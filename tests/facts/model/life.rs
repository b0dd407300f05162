//! One life of the house on a temporary folder, in memory where there is such a disk: its steps, its
//! rest, and what must hold then.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Duration;

use stallhand::base::clock::Clock;
use stallhand::base::disk::Disk;
use stallhand::config::{self, Config};
use stallhand::daemon::house::{House, Manner};
use stallhand::inbox::watch::Hint;
use stallhand::worker::host::Lost;
use stallhand::worker::pool::{Done, Job};

use super::cast::{Nature, PROFILES, Photo, SECOND, Step, judge};

pub struct Life {
    pub dir: tempfile::TempDir,
    pub config: Config,
    pub clock: Clock,
    pub house: Option<House>,
    pub photos: Vec<Photo>,
    pub put: Vec<bool>,
    pub corrected: Vec<bool>,
    /// A photo of which half is there, and until when the rest follows.
    pub half: Option<(usize, Duration)>,
    pub jobs: Vec<(Job, Option<Done>)>,
    /// Its disk failed once.
    pub failed: bool,
}

impl Life {
    pub fn begin(photos: Vec<Photo>) -> Self {
        let memory = Path::new("/dev/shm");
        let dir = if memory.is_dir() {
            tempfile::tempdir_in(memory).unwrap()
        } else {
            tempfile::tempdir().unwrap()
        };
        let mut text = "[folders]\n".to_owned();
        for f in ["inbox", "ready", "held", "originals", "state"] {
            std::fs::create_dir(dir.path().join(f)).unwrap();
            text.push_str(&format!("{f} = {:?}\n", dir.path().join(f)));
        }
        text.push_str("[watch]\nlisting_settle = \"10s\"\n[limits]\nworkers = 2\n");
        for p in PROFILES {
            text.push_str(&format!("[[profile]]\nname = \"{p}\"\n"));
        }
        // In half of the lives the last profile's photos wait for each other.
        if photos.len().is_multiple_of(2) {
            text.push_str("set = \"even\"\n");
        }
        let file = dir.path().join("stallhand.toml");
        std::fs::write(&file, text).unwrap();
        let config = config::load(Some(&file)).unwrap();
        let n = photos.len();
        let mut life = Self {
            dir,
            config,
            clock: Clock::by_hand(),
            house: None,
            photos,
            put: vec![false; n],
            corrected: vec![false; n],
            half: None,
            jobs: Vec::new(),
            failed: false,
        };
        life.open(Disk::default());
        life
    }
    pub fn open(&mut self, disk: Disk) {
        self.house = None;
        self.jobs.clear();
        let open = |disk| {
            House::open(
                self.config.clone(),
                self.clock.clone(),
                disk,
                Manner::default(),
            )
        };
        let house = open(disk).or_else(|_| open(Disk::default()));
        self.house = Some(house.unwrap_or_else(|e| panic!("{e}")));
    }
    pub fn house(&mut self) -> &mut House {
        self.house.as_mut().unwrap()
    }
    pub fn inbox(&self) -> PathBuf {
        self.dir.path().join("inbox")
    }
    pub fn write(&self, i: usize, bytes: &str) {
        let path = self.inbox().join(self.photos[i].rel());
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    pub fn finish_half(&mut self) {
        if let Some((i, _)) = self.half.take() {
            self.write(i, &self.photos[i].content.clone());
        }
    }
    pub fn wait(&mut self, by: Duration) {
        let now = self.clock.now();
        if self.half.is_some_and(|(_, until)| now + by >= until) {
            self.finish_half();
        }
        self.clock.advance(by);
    }
    pub fn put(&mut self, i: usize) {
        if !std::mem::replace(&mut self.put[i], true) {
            self.write(i, &self.photos[i].content.clone());
        }
    }
    pub fn correct(&mut self, i: usize) {
        let p = &self.photos[i];
        let Some((crop, by_hash)) = p.word else {
            return;
        };
        if std::mem::replace(&mut self.corrected[i], true) {
            return;
        }
        let mut text = String::new();
        if by_hash {
            let hash = blake3::hash(p.content.as_bytes()).to_hex();
            text = format!("photo = \"{hash}\"\n");
        }
        for profile in PROFILES {
            text.push_str(&format!("[{profile}]\ncrop = [0, 0, {crop}, 75]\n"));
        }
        let at = self
            .inbox()
            .join(p.rel())
            .with_added_extension("framing.toml");
        std::fs::create_dir_all(at.parent().unwrap()).unwrap();
        std::fs::write(at, text).unwrap();
    }
    pub fn tick(&mut self) {
        let now = self.clock.now();
        for job in self.house().tick(now) {
            // Some workers read the photo at once and answer late.
            let early = (job.id % 2 == 0).then(|| self.work(&job));
            self.jobs.push((job, early));
        }
    }
    pub fn answer(&mut self, k: usize) {
        if self.jobs.is_empty() {
            return;
        }
        let (job, early) = self.jobs.remove(k % self.jobs.len());
        let done = early.unwrap_or_else(|| self.work(&job));
        let now = self.clock.now();
        self.house().done(done, now);
    }
    /// Stands in for a worker.
    pub fn work(&self, job: &Job) -> Done {
        let read = job.root.open(&job.path).and_then(|(mut f, stat)| {
            let mut bytes = Vec::new();
            std::io::Read::read_to_end(&mut f, &mut bytes)?;
            Ok((String::from_utf8_lossy(&bytes).into_owned(), stat.stamp))
        });
        let (text, stamp) = match read {
            Ok(r) => r,
            Err(e) => {
                return Done {
                    id: job.id,
                    stamp: None,
                    given: Err(Lost::Source(e)),
                };
            }
        };
        let given = judge(&text, &job.task.ask)
            .map(|(answer, blobs)| (answer, blobs, blake3::hash(text.as_bytes())))
            .ok_or(Lost::Died { too_long: false });
        Done {
            id: job.id,
            stamp: Some(stamp),
            given,
        }
    }
    pub fn step(&mut self, step: &Step) {
        let n = self.photos.len();
        match *step {
            Step::Put(i) => self.put(i % n),
            Step::PutHalf(i) if self.half.is_none() && !self.put[i % n] => {
                let text = &self.photos[i % n].content;
                self.write(i % n, &text[..text.len() / 2]);
                self.put[i % n] = true;
                self.half = Some((i % n, self.clock.now() + 30 * SECOND));
            }
            Step::PutHalf(_) => self.finish_half(),
            Step::Correct(i) => self.correct(i % n),
            Step::Hint(i) => {
                let at = self.inbox().join(self.photos[i % n].rel());
                let word = at.with_added_extension("framing.toml");
                let now = self.clock.now();
                self.house().hint(&Hint::Look(vec![at, word]), now);
            }
            Step::Scan => {
                let now = self.clock.now();
                self.house().hint(&Hint::Everywhere, now);
            }
            Step::Wait(ms) => self.wait(Duration::from_millis(ms)),
            Step::Tick => self.tick(),
            Step::Answer(k) => self.answer(k),
            Step::Die => self.open(Disk::default()),
            Step::Stop => {
                self.house().stop();
                self.house().close();
                self.open(Disk::default());
            }
            Step::Fail(n, m) => {
                self.failed = true;
                self.open(Disk::failing(5, n, n + m));
            }
        }
    }
    /// Until nothing is left to do.
    pub fn settle(&mut self) {
        for _ in 0..2 {
            let now = self.clock.now();
            self.house().hint(&Hint::Everywhere, now);
            let mut rounds = 0;
            loop {
                self.tick();
                let had = !self.jobs.is_empty();
                while !self.jobs.is_empty() {
                    self.answer(0);
                }
                let now = self.clock.now();
                let paused = self.house().paused().is_some();
                if !had && self.house().is_idle() && !paused {
                    break;
                }
                if !had {
                    let next = self.house().next_tick().saturating_sub(now);
                    self.wait(next.max(Duration::from_millis(1)));
                }
                rounds += 1;
                assert!(rounds < 500, "it never comes to rest");
            }
            // A journal that could not be written is tried again after some seconds, a text at the rescan.
            let times = if self.failed { 60 } else { 1 };
            for _ in 0..times {
                self.wait(6 * SECOND);
                self.tick();
            }
        }
    }
    pub fn files(&self, folder: &str) -> BTreeMap<String, String> {
        let root = self.dir.path().join(folder);
        let mut found = BTreeMap::new();
        let mut open = vec![root.clone()];
        while let Some(dir) = open.pop() {
            for e in std::fs::read_dir(&dir).unwrap() {
                let path = e.unwrap().path();
                if path.is_dir() {
                    open.push(path);
                    continue;
                }
                let rel = path
                    .strip_prefix(&root)
                    .unwrap()
                    .to_str()
                    .unwrap()
                    .to_owned();
                let bytes = std::fs::read(&path).unwrap();
                found.insert(rel, String::from_utf8_lossy(&bytes).into_owned());
            }
        }
        found
    }
    /// The pictures of the photos that are delivered, each once.
    pub fn delivered(&self) -> Vec<&Photo> {
        let mut all: Vec<&Photo> = self.photos.iter().filter(|p| !p.is_held()).collect();
        all.sort_by_key(|p| (p.listing, &p.content));
        all.dedup_by_key(|p| (p.listing, &p.content));
        all
    }
    pub fn check(&mut self) {
        // Every copy she dropped still exists, unchanged, in one place.
        assert!(self.files("inbox").is_empty(), "{:?}", self.files("inbox"));
        for (folder, held) in [("originals", false), ("held", true)] {
            let mut there: Vec<String> = self
                .files(folder)
                .into_iter()
                .filter(|(n, _)| n.ends_with(".jpg"))
                .map(|f| f.1)
                .collect();
            there.sort();
            let here = self.photos.iter().filter(|p| p.is_held() == held);
            let mut wanted: Vec<String> = here.map(|p| p.content.clone()).collect();
            wanted.sort();
            assert_eq!(there, wanted, "{folder}");
        }
        // Each photo and profile exactly one output, and nothing beside it but the listing's text.
        let ready = self.files("ready");
        let mut there: Vec<&String> = ready
            .iter()
            .filter(|(n, _)| !n.ends_with("/LISTING.txt"))
            .map(|f| f.1)
            .collect();
        there.sort();
        let delivered = self.delivered();
        let mut wanted: Vec<String> = delivered
            .iter()
            .flat_map(|p| PROFILES.map(|profile| p.output(profile)))
            .collect();
        wanted.sort();
        assert_eq!(there, wanted.iter().collect::<Vec<_>>());
        let folders = delivered.iter().filter(|p| !p.listing.is_empty());
        let mut folders: Vec<&str> = folders.map(|p| p.listing).collect();
        folders.dedup();
        let texts = ready.keys().filter(|n| n.ends_with("/LISTING.txt"));
        assert_eq!(texts.count(), 2 * folders.len());
        // A note beside each held photo.
        let held = self.files("held");
        for name in held.keys().filter(|n| n.ends_with(".jpg")) {
            assert!(held.contains_key(&format!("{name}.txt")), "{held:?}");
        }
        let notes = held.keys().filter(|n| n.ends_with(".txt")).count();
        let photos = held.keys().filter(|n| n.ends_with(".jpg")).count();
        assert_eq!(notes, photos, "{held:?}");
        self.check_journal();
    }
    /// What is said to be delivered stands in its place, whole.
    pub fn check_truth(&mut self) {
        let ready = self.files("ready");
        for l in self.house().journal_lines() {
            if let Some(d) = l.delivery.filter(|_| l.event == "delivered") {
                assert!(ready[&d.output].ends_with(char::is_numeric), "{}", d.output);
            }
        }
    }
    pub fn check_journal(&mut self) {
        let lines = self.house().journal_lines();
        for (i, l) in lines.iter().enumerate() {
            assert_eq!(l.seq, i as u64 + 1);
        }
        for p in &self.photos {
            let hex = blake3::hash(p.content.as_bytes()).to_hex().to_string();
            let own = lines.iter().filter(|l| {
                l.blake3.as_deref() == Some(hex.as_str()) && l.listing.as_deref() == Some(p.listing)
            });
            let own: Vec<_> = own.collect();
            for profile in PROFILES {
                let first = own.iter().filter(|l| {
                    l.profile.as_deref() == Some(profile)
                        && l.delivery.as_ref().is_some_and(|d| d.replaces.is_none())
                });
                assert_eq!(first.count(), usize::from(!p.is_held()), "{p:?} {own:#?}");
            }
            let decided = own
                .iter()
                .rev()
                .find(|l| ["delivered", "held"].contains(&&*l.event));
            let event = if p.is_held() { "held" } else { "delivered" };
            assert_eq!(decided.map(|l| l.event.as_str()), Some(event), "{p:?}");
        }
    }
    /// Numbered anew, the names too depend on the photos alone.
    pub fn check_names(&mut self) {
        let mut wanted = BTreeMap::new();
        for listing in ["Mug", "Spring/Bowl"] {
            let slug = listing.to_lowercase().replace('/', "-");
            // A held photo that could be read keeps a number.
            let mut all: Vec<&Photo> = self
                .photos
                .iter()
                .filter(|p| p.listing == listing)
                .filter(|p| !matches!(p.nature, Nature::Bad | Nature::EarlyPoison))
                .collect();
            all.sort_by_key(|p| (p.captured.is_none(), &p.captured, &p.leaf));
            all.dedup_by_key(|p| &p.content);
            for (i, p) in all.iter().enumerate().filter(|(_, p)| !p.is_held()) {
                for profile in PROFILES {
                    let name = format!("{profile}/{slug}/{slug}-{:02}.jpg", i + 1);
                    wanted.insert(name, p.output(profile));
                }
            }
            if !all.is_empty() || self.photos.iter().any(|p| p.listing == listing) {
                self.house().redo(&[listing.to_owned()], false).unwrap();
            }
        }
        for p in self
            .photos
            .iter()
            .filter(|p| p.listing.is_empty() && !p.is_held())
        {
            for profile in PROFILES {
                wanted.insert(format!("{profile}/{}", p.leaf), p.output(profile));
            }
        }
        self.settle();
        let mut ready = self.files("ready");
        ready.retain(|n, _| !n.ends_with("/LISTING.txt"));
        assert_eq!(ready, wanted);
    }
}

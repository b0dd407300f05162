//! The house driven by hand through thousands of random lives: photos and corrections arrive in any
//! order, hints come or not, answers come late, the process dies, the disk fails. What stands at the
//! end depends on the photos and the corrections alone.
//!
//! Copies of one picture are whole photos here: of two copies of a held one only the later is released by
//! a correction, so they are left out. `PROPTEST_CASES=100000 cargo test --release --test facts model::` lives longer.

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::time::Duration;

use proptest::prelude::*;
use proptest::test_runner::{Config as Runs, TestRunner};

use stallhand::base::clock::Clock;
use stallhand::base::disk::Disk;
use stallhand::base::geometry::{Rect, Size};
use stallhand::base::reason::Reason;
use stallhand::config::{self, Config};
use stallhand::daemon::house::{House, Manner};
use stallhand::inbox::watch::Hint;
use stallhand::worker::host::Lost;
use stallhand::worker::pool::{Done, Job};
use stallhand::worker::protocol::{Answer, Ask, Facts, FileFacts, ProfileResult, Refused, Work};

const PROFILES: [&str; 2] = ["listing", "square"];
const SECOND: Duration = Duration::from_secs(1);

/// What becomes of a photo.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Nature {
    Good,
    /// Held unless a correction gives the crop.
    Tight,
    /// Never readable.
    Bad,
    /// Ends its worker while it is prepared, or while its header is read.
    Poison,
    EarlyPoison,
}

#[derive(Clone, Debug)]
struct Photo {
    listing: &'static str,
    leaf: String,
    content: String,
    nature: Nature,
    captured: Option<String>,
    /// The crop's width in her correction, and whether it names the photo's hash.
    word: Option<(u32, bool)>,
}

impl Photo {
    fn rel(&self) -> PathBuf {
        Path::new(self.listing).join(&self.leaf)
    }
    fn is_held(&self) -> bool {
        match self.nature {
            Nature::Good => false,
            Nature::Tight => self.word.is_none(),
            _ => true,
        }
    }
    fn output(&self, profile: &str) -> String {
        let crop = self.word.map_or(100, |w| w.0);
        format!("{profile} of {} at {crop}", self.content)
    }
}

/// One step of a life; numbers are taken modulo what there is.
#[derive(Clone, Debug)]
enum Step {
    Put(usize),
    /// The first half only; the rest follows within seconds.
    PutHalf(usize),
    Correct(usize),
    Hint(usize),
    Scan,
    Wait(u64),
    Tick,
    Answer(usize),
    /// The process dies.
    Die,
    /// It stops as it is told to.
    Stop,
    /// It dies, and the next one's disk fails from an operation on for a few operations.
    Fail(u64, u64),
}

fn steps() -> impl Strategy<Value = Vec<Step>> {
    let step = prop_oneof![
        6 => any::<usize>().prop_map(Step::Put),
        2 => any::<usize>().prop_map(Step::PutHalf),
        3 => any::<usize>().prop_map(Step::Correct),
        3 => any::<usize>().prop_map(Step::Hint),
        2 => Just(Step::Scan),
        4 => (100u64..15_000).prop_map(Step::Wait),
        1 => Just(Step::Wait(61_000)),
        8 => Just(Step::Tick),
        8 => any::<usize>().prop_map(Step::Answer),
        2 => Just(Step::Die),
        1 => Just(Step::Stop),
        2 => (1u64..40, 1u64..10).prop_map(|(n, m)| Step::Fail(n, m)),
    ];
    prop::collection::vec(step, 5..45)
}

/// One to five photos, some of them the same picture twice, in one listing or in two.
fn photos() -> impl Strategy<Value = Vec<Photo>> {
    let nature = prop_oneof![
        6 => Just(Nature::Good),
        2 => Just(Nature::Tight),
        1 => Just(Nature::Bad),
        1 => Just(Nature::Poison),
        1 => Just(Nature::EarlyPoison),
    ];
    let one = (
        0usize..3,
        nature,
        prop::option::of((101u32..110, any::<bool>())),
        any::<bool>(),
        0usize..4,
    );
    prop::collection::vec(one, 1..6).prop_map(|all| {
        let mut photos: Vec<Photo> = Vec::new();
        for (i, (listing, nature, word, timed, twice)) in all.into_iter().enumerate() {
            // Against the order of the names, so that it shows which of both counts.
            let captured = timed.then(|| format!("2026-03-01T09:30:{:02}", 50 - i));
            let mut p = Photo {
                listing: ["", "Mug", "Spring/Bowl"][listing],
                leaf: format!("img-{i}.jpg"),
                content: format!("{nature:?} picture {i} {captured:?} END"),
                nature,
                captured,
                word: word.filter(|_| matches!(nature, Nature::Good | Nature::Tight)),
            };
            let again = twice == 0 && nature == Nature::Good && p.captured.is_some();
            if again && !p.listing.is_empty() {
                // Two names for one picture: her word must say which picture it means.
                p.word = p.word.map(|w| (w.0, true));
                let mut same = p.clone();
                same.leaf = format!("copy-{i}.jpg");
                photos.push(same.clone());
                same.listing = if p.listing == "Mug" {
                    "Spring/Bowl"
                } else {
                    "Mug"
                };
                photos.push(same);
            }
            photos.push(p);
        }
        photos
    })
}

struct Life {
    dir: tempfile::TempDir,
    config: Config,
    clock: Clock,
    house: Option<House>,
    photos: Vec<Photo>,
    put: Vec<bool>,
    corrected: Vec<bool>,
    /// A photo of which half is there, and until when the rest follows.
    half: Option<(usize, Duration)>,
    jobs: Vec<(Job, Option<Done>)>,
    /// Its disk failed once.
    failed: bool,
}

impl Life {
    fn begin(photos: Vec<Photo>) -> Self {
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
    fn open(&mut self, disk: Disk) {
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
    fn house(&mut self) -> &mut House {
        self.house.as_mut().unwrap()
    }
    fn inbox(&self) -> PathBuf {
        self.dir.path().join("inbox")
    }
    fn write(&self, i: usize, bytes: &str) {
        let path = self.inbox().join(self.photos[i].rel());
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    fn finish_half(&mut self) {
        if let Some((i, _)) = self.half.take() {
            self.write(i, &self.photos[i].content.clone());
        }
    }
    fn wait(&mut self, by: Duration) {
        let now = self.clock.now();
        if self.half.is_some_and(|(_, until)| now + by >= until) {
            self.finish_half();
        }
        self.clock.advance(by);
    }
    fn put(&mut self, i: usize) {
        if !std::mem::replace(&mut self.put[i], true) {
            self.write(i, &self.photos[i].content.clone());
        }
    }
    fn correct(&mut self, i: usize) {
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
    fn tick(&mut self) {
        let now = self.clock.now();
        for job in self.house().tick(now) {
            // Some workers read the photo at once and answer late.
            let early = (job.id % 2 == 0).then(|| self.work(&job));
            self.jobs.push((job, early));
        }
    }
    fn answer(&mut self, k: usize) {
        if self.jobs.is_empty() {
            return;
        }
        let (job, early) = self.jobs.remove(k % self.jobs.len());
        let done = early.unwrap_or_else(|| self.work(&job));
        let now = self.clock.now();
        self.house().done(done, now);
    }
    /// Stands in for a worker.
    fn work(&self, job: &Job) -> Done {
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
    fn step(&mut self, step: &Step) {
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
    fn settle(&mut self) {
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
    fn files(&self, folder: &str) -> BTreeMap<String, String> {
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
    fn delivered(&self) -> Vec<&Photo> {
        let mut all: Vec<&Photo> = self.photos.iter().filter(|p| !p.is_held()).collect();
        all.sort_by_key(|p| (p.listing, &p.content));
        all.dedup_by_key(|p| (p.listing, &p.content));
        all
    }
    fn check(&mut self) {
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
    fn check_journal(&mut self) {
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
    fn check_names(&mut self) {
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

/// What a worker says of such a file; `None` when it dies over it.
fn judge(text: &str, ask: &Ask) -> Option<(Answer, Vec<Vec<u8>>)> {
    let is = |nature: Nature| text.starts_with(&format!("{nature:?} "));
    if is(Nature::Bad) || !text.ends_with("END") {
        let why = Refused {
            reason: Reason::Undecodable.code().into(),
            detail: "the picture is incomplete".into(),
        };
        return Some((Answer::Refused(why), Vec::new()));
    }
    let captured = text.split('"').nth(1).map(str::to_owned);
    let facts = Facts {
        format: "JPEG".into(),
        size: Size::new(400, 300),
        orientation: 1,
        captured,
        decoded_bytes: 1000,
        ..Facts::default()
    };
    let Ask::Prepare { profiles, .. } = ask else {
        return (!is(Nature::EarlyPoison)).then(|| (Answer::Surveyed(Box::new(facts)), Vec::new()));
    };
    if is(Nature::Poison) || is(Nature::EarlyPoison) {
        return None;
    }
    let mut blobs = Vec::new();
    let results = profiles.iter().map(|(profile, word)| {
        let crop = word.crop.unwrap_or(Rect::new(0, 0, 100, 75));
        let holds = is(Nature::Tight) && word.crop.is_none();
        blobs.push(format!("{} of {text} at {}", profile.name, crop.w).into_bytes());
        ProfileResult {
            subject: None,
            usable: None,
            crop,
            thumbnails: Vec::new(),
            confidence: 1.0,
            verdict: if holds { "hold" } else { "deliver" }.into(),
            reasons: if holds {
                vec![Reason::DoesNotFit.code().into()]
            } else {
                Vec::new()
            },
            refused: None,
            file: (!holds).then(|| FileFacts {
                blob: blobs.len() - 1,
                size: crop.size(),
                quality: 90.0,
                subsampling: "4:2:0".into(),
                ssimulacra2: None,
            }),
        }
    });
    let results = results.collect();
    let work = Work {
        facts,
        size: Size::new(400, 300),
        colour: "sRGB".into(),
        remarks: Vec::new(),
        results,
        measures: None,
        proof: None,
        picture: None,
    };
    Some((Answer::Prepared(Box::new(work)), blobs))
}

#[test]
fn whatever_happens_on_the_way_the_end_depends_on_the_photos_and_corrections_alone() {
    let cases = std::env::var("PROPTEST_CASES").ok();
    let cases = cases.and_then(|c| c.parse().ok()).unwrap_or(2000);
    let mut runner = TestRunner::new(Runs {
        cases,
        failure_persistence: None,
        max_shrink_iters: 2000,
        ..Runs::default()
    });
    let lived = runner.run(&(photos(), steps()), |(photos, steps)| {
        let mut life = Life::begin(photos);
        for step in &steps {
            life.step(step);
        }
        life.finish_half();
        for i in 0..life.photos.len() {
            life.put(i);
            life.correct(i);
        }
        life.settle();
        life.check();
        life.check_names();
        Ok(())
    });
    if let Err(why) = lived {
        panic!("{why}");
    }
}

#[test]
fn a_file_that_keeps_changing_is_told_after_a_minute_and_no_sooner() {
    let photo = Photo {
        listing: "Mug",
        leaf: "a.jpg".into(),
        content: "Good picture END".into(),
        nature: Nature::Good,
        captured: None,
        word: None,
    };
    let mut life = Life::begin(vec![photo]);
    let told = |life: &Life| life.files("state").get("now.json").cloned();
    let now = |life: &Life| life.clock.now();
    for n in 0..75 {
        life.write(0, &"x".repeat(n));
        let t = now(&life);
        if n % 3 > 0 {
            life.step(&Step::Hint(0));
        }
        life.tick();
        // Read in a pause it cannot be decoded: that is waiting too.
        life.answer(0);
        let said = told(&life).is_some_and(|t| t.contains("\"changing\":[\"Mug/a.jpg\"]"));
        assert_eq!(said, t >= 61 * SECOND, "{t:?}");
        life.wait(SECOND);
    }
    life.write(0, "Good picture END");
    life.settle();
    assert_eq!(told(&life), None);
    life.put[0] = true;
    life.check();
}

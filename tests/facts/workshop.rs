//! A temporary workshop: inbox, ready, held, originals and state in one folder, and the real
//! program run on it. On a failed fact it prints the whole tree and the journal.

use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::{Duration, Instant};

use serde_json::Value;

pub const BINARY: &str = env!("CARGO_BIN_EXE_stallhand");

/// Small enough for the sample photos, quick enough for a test.
const SETTINGS: &str = r#"
[watch]
settle = "100ms"
listing_settle = "300ms"
rescan = "1s"
AFTER
[[profile]]
name = "listing"
short_side = 300
short_side_min = 200
quality = { floor = 40, ceiling = 80 }
"#;

/// One of the two real photographs, made unique by bytes after its end that no decoder minds.
pub fn photo(which: &str, tail: &str) -> Vec<u8> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/facts/real");
    let mut bytes = std::fs::read(folder.join(format!("{which}.jpg"))).unwrap();
    bytes.extend_from_slice(tail.as_bytes());
    bytes
}

/// The same photograph at a quarter of its size, for facts that need many photos and not their
/// pixels; `tail` makes it unique.
pub fn small(which: usize, tail: &str) -> Vec<u8> {
    static SMALL: std::sync::OnceLock<[Vec<u8>; 2]> = std::sync::OnceLock::new();
    let made = SMALL.get_or_init(|| ["china", "flower"].map(quarter));
    let mut bytes = made[which % 2].clone();
    bytes.extend_from_slice(tail.as_bytes());
    bytes
}

fn quarter(which: &str) -> Vec<u8> {
    let whole = photo(which, "");
    let mut decoder = jpeg_decoder::Decoder::new(&whole[..]);
    let pixels = decoder.decode().unwrap();
    let info = decoder.info().unwrap();
    let (w, h) = (usize::from(info.width), usize::from(info.height));
    let mut rgb = Vec::new();
    for y in 0..h / 4 {
        for x in 0..w / 4 {
            for c in 0..3 {
                let at =
                    |i: usize, j: usize| u32::from(pixels[((y * 4 + j) * w + x * 4 + i) * 3 + c]);
                let sum: u32 = (0..16).map(|k| at(k % 4, k / 4)).sum();
                rgb.push((sum / 16) as u8);
            }
        }
    }
    let mut c = mozjpeg::Compress::new(mozjpeg::ColorSpace::JCS_RGB);
    c.set_size(w / 4, h / 4);
    c.set_fastest_defaults();
    c.set_quality(90.0);
    let mut c = c.start_compress(Vec::new()).unwrap();
    c.write_scanlines(&rgb).unwrap();
    c.finish().unwrap()
}

/// Whether a file is a whole JPEG, in the eyes of an independent decoder.
pub fn decodes(bytes: &[u8]) -> bool {
    jpeg_decoder::Decoder::new(bytes).decode().is_ok()
}

pub struct Workshop {
    dir: tempfile::TempDir,
}

impl Workshop {
    pub fn new() -> Self {
        Self::with("", "")
    }
    /// `watch` goes into the `[watch]` group, `more` to the end.
    pub fn with(watch: &str, more: &str) -> Self {
        let w = Self {
            dir: tempfile::tempdir().unwrap(),
        };
        let folders: String = ["inbox", "ready", "held", "originals", "state"]
            .map(|n| format!("{n} = {:?}\n", w.path(n)))
            .concat();
        let settings = SETTINGS.replace("AFTER", watch);
        std::fs::write(
            w.path("stallhand.toml"),
            format!("[folders]\n{folders}{settings}{more}"),
        )
        .unwrap();
        std::fs::create_dir(w.path("inbox")).unwrap();
        w
    }
    /// With a profile for photos made by `small`; `watch` replaces lines of the `[watch]` group.
    pub fn quick(watch: &[(&str, &str)]) -> Self {
        let w = Self::with("", "");
        let file = w.path("stallhand.toml");
        let mut text = std::fs::read_to_string(&file).unwrap();
        text = text
            .replace("short_side = 300", "short_side = 100")
            .replace("short_side_min = 200", "short_side_min = 50");
        for (key, value) in watch {
            let line = |l: &str| l.split(" = ").next() == Some(key);
            assert!(text.lines().any(line), "{key}");
            let new = format!("{key} = {value:?}");
            let lines = text.lines().map(|l| if line(l) { &new } else { l });
            text = lines.collect::<Vec<_>>().join("\n");
        }
        std::fs::write(file, text).unwrap();
        w
    }
    pub fn path(&self, rel: &str) -> PathBuf {
        self.dir.path().join(rel)
    }
    /// Drops a file into the inbox.
    pub fn put(&self, rel: &str, bytes: &[u8]) {
        let path = self.path("inbox").join(rel);
        std::fs::create_dir_all(path.parent().unwrap()).unwrap();
        std::fs::write(path, bytes).unwrap();
    }
    pub fn command(&self, args: &[&str]) -> Command {
        let mut c = Command::new(BINARY);
        c.arg("--config")
            .arg(self.path("stallhand.toml"))
            .args(args);
        c.env("HOME", self.dir.path()).stdin(Stdio::null());
        c
    }
    pub fn run(&self, args: &[&str]) -> Output {
        self.command(args).output().unwrap()
    }
    /// Runs the program with environment variables.
    pub fn run_with(&self, args: &[&str], env: &[(&str, &str)]) -> Output {
        self.command(args)
            .envs(env.iter().copied())
            .output()
            .unwrap()
    }
    /// Another workshop in the same state.
    pub fn copy(&self) -> Self {
        let w = Self {
            dir: tempfile::tempdir().unwrap(),
        };
        for folder in ["inbox", "ready", "held", "originals", "state"] {
            std::fs::create_dir_all(w.path(folder)).unwrap();
            for f in self.files(folder) {
                let to = w.path(folder).join(&f);
                std::fs::create_dir_all(to.parent().unwrap()).unwrap();
                std::fs::copy(self.path(folder).join(f), to).unwrap();
            }
        }
        let (here, there) = (self.dir.path(), w.dir.path());
        let text = std::fs::read_to_string(self.path("stallhand.toml")).unwrap();
        let text = text.replace(here.to_str().unwrap(), there.to_str().unwrap());
        std::fs::write(w.path("stallhand.toml"), text).unwrap();
        w
    }
    /// Runs `once` and returns its exit code.
    pub fn once(&self) -> i32 {
        self.run(&["once"]).status.code().unwrap_or(-1)
    }
    /// Runs `once` with arranged disk trouble; `None` when it was killed.
    pub fn once_in_trouble(&self, trouble: &str) -> Option<i32> {
        self.once_with(&[("STALLHAND_DISK_TROUBLE", trouble)])
    }
    /// Runs `once` with environment variables.
    pub fn once_with(&self, env: &[(&str, &str)]) -> Option<i32> {
        self.run_with(&["once"], env).status.code()
    }
    /// Starts `watch` and waits until it holds the lock: from then on it minds stop signals.
    pub fn begin(&self, env: &[(&str, &str)]) -> Child {
        let child = self.start(env);
        let mine = format!("process {}\n", child.id());
        let lock = self.path("state/lock");
        self.wait(|_| std::fs::read_to_string(&lock).is_ok_and(|t| t.contains(&mine)));
        child
    }
    pub fn start(&self, env: &[(&str, &str)]) -> Child {
        let mut c = self.command(&["watch"]);
        c.envs(env.iter().copied());
        c.stdout(Stdio::null())
            .stderr(Stdio::null())
            .spawn()
            .unwrap()
    }
    /// Every file below a folder, relative to it, sorted; the texts beside outputs are none of them.
    pub fn files(&self, folder: &str) -> Vec<String> {
        let root = self.path(folder);
        let mut found = Vec::new();
        let mut open = vec![root.clone()];
        while let Some(dir) = open.pop() {
            for e in std::fs::read_dir(&dir).into_iter().flatten().flatten() {
                if e.file_type().unwrap().is_dir() {
                    open.push(e.path());
                } else if !(folder.starts_with("ready") && e.file_name() == "LISTING.txt") {
                    found.push(
                        e.path()
                            .strip_prefix(&root)
                            .unwrap()
                            .to_string_lossy()
                            .into_owned(),
                    );
                }
            }
        }
        found.sort();
        found
    }
    pub fn journal(&self) -> Vec<Value> {
        let mut lines = Vec::new();
        for f in self.files("state/journal") {
            let text = std::fs::read_to_string(self.path("state/journal").join(f)).unwrap();
            lines.extend(
                text.lines()
                    .map(|l| serde_json::from_str::<Value>(l).unwrap()),
            );
        }
        lines
    }
    /// Journal lines of one event.
    pub fn events(&self, event: &str) -> Vec<Value> {
        self.journal()
            .into_iter()
            .filter(|l| l["event"] == event)
            .collect()
    }
    /// How many journal lines of one event there are, without reading them one by one.
    pub fn count(&self, event: &str) -> usize {
        let wanted = format!("\"event\":\"{event}\"");
        let folder = self.path("state/journal");
        let read = |f: String| std::fs::read_to_string(folder.join(f)).unwrap();
        let texts = self.files("state/journal").into_iter().map(read);
        texts.map(|t| t.matches(&wanted).count()).sum()
    }
    /// The journal's numbers leave none out.
    pub fn is_gapless(&self) {
        let lines = self.journal();
        let seqs: Vec<u64> = lines.iter().map(|l| l["seq"].as_u64().unwrap()).collect();
        assert_eq!(seqs, (1..=seqs.len() as u64).collect::<Vec<_>>());
    }
    /// Each of `left` (name, bytes, reason) lies where it was put and has its one line, and nothing
    /// else was passed over.
    pub fn was_passed_over(&self, left: &[(&str, &[u8], &str)]) {
        let ignored = self.events("ignored");
        assert_eq!(ignored.len(), left.len());
        for (name, _, why) in left {
            let line = ignored.iter().find(|l| l["source"] == *name).unwrap();
            assert_eq!(line["reasons"], serde_json::json!([why]), "{name}");
            assert!(self.path("inbox").join(name).exists(), "{name}");
        }
    }
    /// Waits until `enough` holds, at most 40 seconds.
    pub fn wait(&self, enough: impl Fn(&Self) -> bool) {
        let end = Instant::now() + Duration::from_secs(40);
        while !enough(self) {
            assert!(Instant::now() < end, "it never came");
            std::thread::sleep(Duration::from_millis(30));
        }
    }
    /// What `status --json` says.
    pub fn status(&self) -> Value {
        serde_json::from_slice(&self.run(&["status", "--json"]).stdout).unwrap()
    }
    /// Mounts a small file system of its own over one of the folders; `None`, with a message, where
    /// that is not permitted.
    pub fn mount(&self, folder: &str, options: &str) -> Option<Mounted> {
        let point = self.path(folder);
        std::fs::create_dir_all(&point).unwrap();
        let done = Command::new("mount")
            .args(["-t", "tmpfs", "-o", options, "stallhand-test"])
            .arg(&point)
            .output();
        match done {
            Ok(o) if o.status.success() => Some(Mounted(point)),
            why => {
                println!("passed over: a file system cannot be mounted here ({why:?})");
                None
            }
        }
    }
}

/// A mounted file system, unmounted when dropped.
pub struct Mounted(PathBuf);

impl Mounted {
    /// Unmounts it now; false when something keeps it busy.
    pub fn unmount(&self) -> bool {
        let done = Command::new("umount").arg(&self.0).output();
        done.is_ok_and(|o| o.status.success())
    }
}

impl Drop for Mounted {
    fn drop(&mut self) {
        if !self.unmount() {
            let _ = Command::new("umount").arg("-l").arg(&self.0).output();
        }
    }
}

pub fn signal(child: &Child, s: rustix::process::Signal) {
    let pid = rustix::process::Pid::from_raw(child.id() as i32).unwrap();
    rustix::process::kill_process(pid, s).unwrap();
}

impl Drop for Workshop {
    fn drop(&mut self) {
        if std::thread::panicking() {
            for folder in ["inbox", "ready", "held", "originals", "state"] {
                eprintln!("{folder}: {:#?}", self.files(folder));
            }
            for line in self.journal() {
                eprintln!("{line}");
            }
        }
    }
}

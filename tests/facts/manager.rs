//! Facts about the login service under a real systemd user manager, started here for a user of no
//! rights in a mount namespace of its own. Where that cannot be done (not root, no systemd, no control
//! groups that may be written) the test says so and ends.
#![cfg(target_os = "linux")]

use std::os::unix::fs::chown;
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const SYSTEMD: &str = "/lib/systemd/systemd";
/// A user number that nobody has. (Not 65534: systemd cannot give that one a namespace of users.)
const SHE: u32 = 61_111;

/// What the shell does before it becomes the manager: a `/run` of its own that says systemd is there
/// and holds the user's folder, where the manager keeps what it lays over forbidden paths; and a
/// control group owned by the user. systemd lays an empty `/run` over one that is no mount.
const BEGIN: &str = r#"
set -e
mount --make-rprivate /
mount --rbind /run /run
mkdir -p /run/systemd
mount -t tmpfs tmpfs /run/systemd
mkdir /run/systemd/system
mkdir -p /run/user
mount -t tmpfs tmpfs /run/user
mkdir -m 700 "$XDG_RUNTIME_DIR"
chown 61111 "$XDG_RUNTIME_DIR"
for c in /sys/fs/cgroup /sys/fs/cgroup/systemd /sys/fs/cgroup/unified; do
    if test -e $c/cgroup.procs; then
        mkdir -p $c/$GROUP
        chown -R 61111 $c/$GROUP
        echo $$ > $c/$GROUP/cgroup.procs
    fi
done
exec setpriv --reuid 61111 --regid 61111 --clear-groups "$SYSTEMD" --user --log-target=console
"#;

struct Manager {
    home: tempfile::TempDir,
    group: String,
    child: Child,
}

impl Manager {
    fn start() -> Result<Self, String> {
        if !rustix::process::geteuid().is_root() || !Path::new(SYSTEMD).exists() {
            return Err("not root, or no systemd".into());
        }
        // Not below /tmp, which the service does not see.
        let home = tempfile::Builder::new()
            .prefix("candle & clay ")
            .tempdir_in("/home")
            .map_err(|e| e.to_string())?;
        for folder in ["bin", "Pictures"] {
            std::fs::create_dir(home.path().join(folder)).unwrap();
            chown(home.path().join(folder), Some(SHE), Some(SHE)).unwrap();
        }
        chown(home.path(), Some(SHE), Some(SHE)).unwrap();
        let program = home.path().join("bin/stallhand");
        std::fs::copy(env!("CARGO_BIN_EXE_stallhand"), program).unwrap();
        let group = format!("stallhand-test-{}", std::process::id());
        let mut c = Command::new("unshare");
        c.args(["-m", "sh", "-c", BEGIN]);
        surroundings(&mut c, home.path());
        c.env("GROUP", &group).env("SYSTEMD", SYSTEMD);
        c.stdout(Stdio::null()).stderr(Stdio::piped());
        let child = c.process_group(0).spawn().map_err(|e| e.to_string())?;
        let mut it = Self { home, group, child };
        let begun = Instant::now();
        while !it
            .ctl(&["is-active", "default.target"])
            .contains("active\n")
        {
            if let Ok(Some(_)) = it.child.try_wait() {
                let mut words = String::new();
                use std::io::Read;
                let _ = it.child.stderr.take().unwrap().read_to_string(&mut words);
                return Err(words);
            }
            if begun.elapsed() > Duration::from_secs(15) {
                return Err("the manager does not come up".into());
            }
            std::thread::sleep(Duration::from_millis(100));
        }
        Ok(it)
    }
    fn path(&self, rel: &str) -> PathBuf {
        self.home.path().join(rel)
    }
    /// Runs a program as the user, beside the manager.
    fn run(&self, program: &str, args: &[&str]) -> (Option<i32>, String) {
        let mut c = Command::new("nsenter");
        c.args(["-t", &self.child.id().to_string(), "-m", "setpriv"]);
        c.args(["--reuid", "61111", "--regid", "61111", "--clear-groups"]);
        c.arg(program).args(args);
        surroundings(&mut c, self.home.path());
        let out = c.output().unwrap();
        let words = String::from_utf8_lossy(&out.stdout).into_owned()
            + &String::from_utf8_lossy(&out.stderr);
        (out.status.code(), words)
    }
    fn ctl(&self, args: &[&str]) -> String {
        self.run("systemctl", &[&["--user"], args].concat()).1
    }
    fn stallhand(&self, args: &[&str]) -> (Option<i32>, String) {
        self.run(self.path("bin/stallhand").to_str().unwrap(), args)
    }
    /// Whether a process in the service's own namespaces, of the service's own user, can write a file.
    fn writes(&self, pid: &str, path: &Path) -> bool {
        let mut c = Command::new("nsenter");
        c.args(["-t", pid, "-m", "-U", "-S", "61111", "-G", "61111"]);
        c.args(["sh", "-c", r#"echo x > "$0" && rm "$0""#])
            .arg(path);
        c.stderr(Stdio::null()).status().unwrap().success()
    }
}

fn surroundings(c: &mut Command, home: &Path) {
    c.env_clear()
        .env("PATH", "/usr/bin:/bin:/usr/sbin:/sbin")
        .env("HOME", home)
        .env("XDG_RUNTIME_DIR", format!("/run/user/{SHE}"));
}

impl Drop for Manager {
    fn drop(&mut self) {
        self.ctl(&["stop", "stallhand"]);
        self.ctl(&["exit"]);
        let begun = Instant::now();
        while matches!(self.child.try_wait(), Ok(None)) && begun.elapsed().as_secs() < 5 {
            std::thread::sleep(Duration::from_millis(50));
        }
        let _ = self.child.kill();
        let _ = self.child.wait();
        for c in ["", "systemd/", "unified/"] {
            let group = format!("/sys/fs/cgroup/{c}{}", self.group);
            let mut find = Command::new("find");
            find.args([&group, "-depth", "-type", "d", "-exec", "rmdir", "{}", ";"]);
            let _ = find.stderr(Stdio::null()).status();
        }
    }
}

#[test]
fn under_a_real_manager_it_gets_ready_works_and_can_write_nowhere_but_in_its_five_folders() {
    let m = match Manager::start() {
        Ok(m) => m,
        Err(why) => return println!("no user manager can be started here, so skipped: {why}"),
    };
    let settings = m.path(".config/stallhand");
    std::fs::create_dir_all(&settings).unwrap();
    let quick = "[watch]\nsettle = \"100ms\"\nlisting_settle = \"200ms\"\n";
    std::fs::write(settings.join("stallhand.toml"), quick).unwrap();
    for made in [m.path(".config"), settings] {
        chown(made, Some(SHE), Some(SHE)).unwrap();
    }
    let (code, said) = m.stallhand(&["service", "install"]);
    assert_eq!(code, Some(0), "{said}");
    assert!(said.contains("at work now"), "{said}");
    let show = |what: &str| {
        let said = m.ctl(&["show", "stallhand", "-p", what, "--value"]);
        said.trim().to_owned()
    };
    assert_eq!(show("ActiveState"), "active");
    let (code, said) = m.stallhand(&["service", "install"]);
    assert_eq!(code, Some(0), "a second time: {said}");
    let (_, said) = m.stallhand(&["service", "status"]);
    assert!(said.contains("running    yes"), "{said}");

    let pictures = m.path("Pictures/Stallhand");
    let photo = pictures.join("inbox/Mug, speckled");
    std::fs::create_dir(&photo).unwrap();
    std::fs::write(photo.join("1.jpg"), super::workshop::photo("flower", "")).unwrap();
    chown(&photo, Some(SHE), Some(SHE)).unwrap();
    chown(photo.join("1.jpg"), Some(SHE), Some(SHE)).unwrap();
    let begun = Instant::now();
    // Too few pixels for a listing: taken up, decided and put aside is what can be seen here.
    while !pictures.join("held/Mug, speckled/1.jpg").exists() {
        assert!(
            begun.elapsed() < Duration::from_secs(60),
            "{}",
            show("StatusText")
        );
        std::thread::sleep(Duration::from_millis(200));
    }

    let pid = show("MainPID");
    for inside in ["inbox", "ready", "held", "originals"] {
        assert!(
            m.writes(&pid, &pictures.join(inside).join("word")),
            "{inside}"
        );
    }
    assert!(m.writes(&pid, &m.path(".local/state/stallhand/word")));
    for outside in [
        m.path("word"),
        pictures.join("word"),
        m.path(".config/word"),
    ] {
        assert!(!m.writes(&pid, &outside), "{outside:?}");
    }
    for outside in ["/dev/shm/word", "/var/word", "/etc/word"] {
        assert!(!m.writes(&pid, Path::new(outside)), "{outside}");
    }

    let (code, said) = m.stallhand(&["service", "remove"]);
    assert_eq!(code, Some(0), "{said}");
    assert_eq!(show("ActiveState"), "inactive");
    assert!(!m.path(".config/systemd/user/stallhand.service").exists());
    assert!(pictures.join("held/Mug, speckled/1.jpg").exists());
}

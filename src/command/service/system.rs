//! The service manager of the running system: where its descriptions lie, and the commands that
//! start, stop and ask. Owns those commands; refuses to write or remove a file.

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

use super::{Service, launchd, systemd};
use crate::config::Places;

/// What a command answered.
pub struct Answer {
    pub ok: bool,
    pub stdout: String,
    /// The first line of its complaint.
    pub why: String,
}

/// Runs a command to its end; `None` when there is no such command.
pub type Run<'a> = &'a dyn Fn(&str, &[&str]) -> Option<Answer>;

/// Runs it for real.
pub fn run(name: &str, args: &[&str]) -> Option<Answer> {
    let out = Command::new(name)
        .args(args)
        .stdin(Stdio::null())
        .output()
        .ok()?;
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).trim().to_owned();
    Some(Answer {
        ok: out.status.success(),
        stdout: text(&out.stdout),
        why: crate::config::problem::plain(text(&out.stderr).lines().next().unwrap_or_default()),
    })
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    Systemd,
    Launchd,
}

/// What the manager says about the service.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct State {
    pub running: String,
    pub at_login: String,
}

pub struct System<'a> {
    pub kind: Kind,
    /// The description's place.
    pub file: PathBuf,
    uid: u32,
    run: Run<'a>,
}

impl<'a> System<'a> {
    /// `None` on a system whose services are not placed by this program.
    pub fn here(places: &Places, uid: u32, run: Run<'a>) -> Option<Self> {
        let kind = match std::env::consts::OS {
            "linux" => Kind::Systemd,
            "macos" => Kind::Launchd,
            _ => return None,
        };
        Some(Self::of(kind, places, uid, run))
    }

    pub fn of(kind: Kind, places: &Places, uid: u32, run: Run<'a>) -> Self {
        let file = match kind {
            // Beside our own settings, so that XDG_CONFIG_HOME counts for both.
            Kind::Systemd => places
                .config
                .parent()
                .unwrap_or(&places.home)
                .join("systemd/user")
                .join(systemd::NAME),
            Kind::Launchd => places
                .home
                .join("Library/LaunchAgents")
                .join(format!("{}.plist", launchd::LABEL)),
        };
        Self {
            kind,
            file,
            uid,
            run,
        }
    }

    /// The description as text.
    ///
    /// # Errors
    /// Words with a hint.
    pub fn text(&self, service: &Service) -> Result<String, String> {
        match self.kind {
            Kind::Systemd => systemd::text(service),
            Kind::Launchd => launchd::text(service),
        }
    }

    fn systemctl(&self, args: &[&str]) -> Option<Answer> {
        (self.run)("systemctl", &[&["--user"], args].concat())
    }

    fn launchctl(&self, args: &[&str]) -> Option<Answer> {
        (self.run)("launchctl", args)
    }

    fn domain(&self) -> String {
        format!("gui/{}", self.uid)
    }

    fn target(&self) -> String {
        format!("gui/{}/{}", self.uid, launchd::LABEL)
    }

    /// Whether the person's service manager is there to be asked.
    pub fn answers(&self) -> bool {
        let answer = match self.kind {
            Kind::Systemd => self.systemctl(&["show", "--property=Version"]),
            Kind::Launchd => self.launchctl(&["print", &self.domain()]),
        };
        answer.is_some_and(|a| a.ok)
    }

    /// Starts it now and at every login; `changed`: also when it runs already, by the old text.
    ///
    /// # Errors
    /// The manager's complaint.
    pub fn start(&self, changed: bool) -> Result<(), String> {
        match self.kind {
            Kind::Systemd => {
                done(self.systemctl(&["daemon-reload"]))?;
                if changed {
                    done(self.systemctl(&["enable", systemd::NAME]))?;
                    return done(self.systemctl(&["restart", systemd::NAME]));
                }
                done(self.systemctl(&["enable", "--now", systemd::NAME]))
            }
            Kind::Launchd => {
                let loaded = self
                    .launchctl(&["print", &self.target()])
                    .is_some_and(|a| a.ok);
                if loaded && !changed {
                    return Ok(());
                }
                if loaded {
                    done(self.launchctl(&["bootout", &self.target()]))?;
                }
                let file = self.file.to_string_lossy();
                done(self.launchctl(&["bootstrap", &self.domain(), &file]))
            }
        }
    }

    /// Stops it now and starts it at no login any more.
    ///
    /// # Errors
    /// The manager's complaint.
    pub fn stop(&self) -> Result<(), String> {
        match self.kind {
            Kind::Systemd => done(self.systemctl(&["disable", "--now", systemd::NAME])),
            Kind::Launchd => match self.launchctl(&["print", &self.target()]) {
                Some(a) if a.ok => done(self.launchctl(&["bootout", &self.target()])),
                _ => Ok(()),
            },
        }
    }

    /// The description is gone.
    pub fn forget(&self) {
        if self.kind == Kind::Systemd {
            let _ = self.systemctl(&["daemon-reload"]);
            let _ = self.systemctl(&["reset-failed", systemd::NAME]);
        }
    }

    /// How it stands, in words.
    pub fn state(&self) -> State {
        match self.kind {
            Kind::Systemd => {
                let ask = |verb| {
                    self.systemctl(&[verb, systemd::NAME])
                        .map_or_else(String::new, |a| a.stdout)
                };
                let running = match ask("is-active").as_str() {
                    "active" | "reloading" => "yes",
                    "activating" => "it is starting",
                    "deactivating" => "it is stopping",
                    "failed" => "no, it failed; `journalctl --user --unit stallhand` tells why",
                    _ => "no",
                };
                let at_login = match ask("is-enabled").as_str() {
                    "enabled" | "enabled-runtime" => "it starts by itself",
                    _ => "it does not start",
                };
                State {
                    running: running.into(),
                    at_login: at_login.into(),
                }
            }
            Kind::Launchd => {
                let answer = self.launchctl(&["print", &self.target()]);
                let loaded = answer.as_ref().is_some_and(|a| a.ok);
                let at_work = answer.is_some_and(|a| a.stdout.contains("state = running"));
                State {
                    running: if at_work { "yes" } else { "no" }.into(),
                    at_login: match loaded {
                        true => "it starts by itself",
                        false => "it does not start",
                    }
                    .into(),
                }
            }
        }
    }

    /// The link by which systemd starts it at login; it stays behind when no manager answered.
    pub fn login_link(&self) -> Option<PathBuf> {
        let wants = Path::new("default.target.wants").join(systemd::NAME);
        (self.kind == Kind::Systemd).then_some(wants)
    }

    /// What she can do when no manager answers.
    pub fn nobody(&self) -> &'static str {
        match self.kind {
            Kind::Systemd => {
                "no service manager answered, so nothing was started\nhint: log in to this computer as yourself and do it again there; where the system has no systemd, let your desktop start `stallhand watch` at login"
            }
            Kind::Launchd => {
                "no service manager answered, so nothing was started\nhint: log in to this computer's desktop as yourself; it starts there"
            }
        }
    }
}

fn done(answer: Option<Answer>) -> Result<(), String> {
    match answer {
        Some(a) if a.ok => Ok(()),
        Some(a) if a.why.is_empty() => Err("the service manager refused without a word".into()),
        Some(a) => Err(a.why),
        None => Err("the service manager's command is missing".into()),
    }
}

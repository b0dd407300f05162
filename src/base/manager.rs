//! Talks to the service manager that started us (sd_notify(3)): ready, status, watchdog, stopping.
//! Owns that protocol's few words; refuses to know what the daemon does.

use std::ffi::{OsStr, OsString};
use std::time::Duration;

/// The service manager, or nobody when we were started by hand.
#[derive(Clone, Debug, Default)]
pub struct Manager {
    socket: Option<OsString>,
    watchdog: Option<Duration>,
}

impl Manager {
    /// As the environment says. Worker processes must not inherit `NOTIFY_SOCKET`.
    pub fn from_environment() -> Self {
        let number = |name| std::env::var(name).ok()?.parse::<u64>().ok();
        // A watchdog meant for another process is not ours (sd_watchdog_enabled(3)).
        let ours = number("WATCHDOG_PID").is_none_or(|pid| pid == u64::from(std::process::id()));
        Self {
            socket: std::env::var_os("NOTIFY_SOCKET").filter(|s| !s.is_empty()),
            watchdog: number("WATCHDOG_USEC")
                .filter(|us| ours && *us > 0)
                .map(Duration::from_micros),
        }
    }

    /// A manager listening at a socket; for tests.
    pub fn at(socket: &OsStr) -> Self {
        Self {
            socket: Some(socket.to_owned()),
            watchdog: None,
        }
    }

    /// Whether anybody listens.
    pub fn listens(&self) -> bool {
        self.socket.is_some()
    }
    /// How often `alive` is wanted: half the time after which we are taken for hung.
    pub fn alive_every(&self) -> Option<Duration> {
        self.watchdog.map(|w| w / 2)
    }

    /// The daemon watches and takes work.
    pub fn ready(&self) {
        self.send("READY=1");
    }
    /// Still at work.
    pub fn alive(&self) {
        self.send("WATCHDOG=1");
    }
    /// On the way out.
    pub fn stopping(&self) {
        self.send("STOPPING=1");
    }
    /// One line for people, such as `3 photos waiting`.
    pub fn status(&self, line: &str) {
        let line: String = line
            .chars()
            .map(|c| if c.is_control() { ' ' } else { c })
            .collect();
        self.send(&format!("STATUS={line}"));
    }

    /// Sends without waiting; trouble is nobody's business, since the work matters more.
    #[cfg(unix)]
    fn send(&self, words: &str) {
        use std::os::unix::net::UnixDatagram;
        let (Some(to), Ok(socket)) = (&self.socket, UnixDatagram::unbound()) else {
            return;
        };
        let _ = socket.set_nonblocking(true);
        #[cfg(target_os = "linux")]
        {
            use std::os::linux::net::SocketAddrExt;
            use std::os::unix::ffi::OsStrExt;
            use std::os::unix::net::SocketAddr;
            if let Some(name) = to.as_bytes().strip_prefix(b"@") {
                if let Ok(address) = SocketAddr::from_abstract_name(name) {
                    let _ = socket.send_to_addr(words.as_bytes(), &address);
                }
                return;
            }
        }
        let _ = socket.send_to(words.as_bytes(), to);
    }
    #[cfg(not(unix))]
    fn send(&self, _words: &str) {}
}

#[cfg(all(test, unix))]
mod tests {
    use std::os::unix::net::UnixDatagram;

    use super::*;

    #[test]
    fn the_service_manager_hears_each_word_as_one_datagram() {
        let dir = tempfile::tempdir().unwrap();
        let name = dir.path().join("notify");
        let heard = UnixDatagram::bind(&name).unwrap();
        let manager = Manager::at(name.as_os_str());
        manager.ready();
        manager.status("2 waiting\nREADY=0");
        manager.alive();
        manager.stopping();
        let mut buffer = [0; 200];
        let mut next = || {
            let n = heard.recv(&mut buffer).unwrap();
            String::from_utf8_lossy(&buffer[..n]).into_owned()
        };
        assert_eq!(next(), "READY=1");
        assert_eq!(next(), "STATUS=2 waiting READY=0");
        assert_eq!(next(), "WATCHDOG=1");
        assert_eq!(next(), "STOPPING=1");
        drop(dir);
        manager.ready();
        Manager::default().ready();
    }
}

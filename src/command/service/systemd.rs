//! The systemd user unit (systemd.service(5), systemd.exec(5)). Owns its fence: the whole disk is
//! read-only but the five folders, and there is no network.

use super::{MARK, Service, words};

/// The unit's name.
pub const NAME: &str = "stallhand.service";

/// The unit as text.
///
/// # Errors
/// Words with a hint when a path cannot be written in a unit.
pub fn text(service: &Service) -> Result<String, String> {
    let mut start = argument(words(&service.program)?);
    if let Some(config) = &service.config {
        start += &format!(" --config {}", argument(words(config)?));
    }
    let mut folders = Vec::new();
    for folder in &service.folders {
        folders.push(listed(words(folder)?));
    }
    let head = format!(
        "# {MARK}. Changes of your own belong in a drop-in: systemctl --user edit stallhand\n"
    );
    Ok(unit(&head, &start, &folders))
}

/// The unit as a package brings it: for everyone, with the folders in their default places below
/// each person's home (`%h`, systemd.unit(5)).
pub fn packaged() -> String {
    let head = "# The unit for the default folders. `stallhand service install` makes them first, and places\n\
                # a unit of your own that knows your folders; run it as yourself.\n";
    let folders = ["inbox", "ready", "held", "originals"]
        .map(|name| format!("\"-%h/Pictures/Stallhand/{name}\""))
        .into_iter()
        .chain(["\"-%h/.local/state/stallhand\"".to_owned()]);
    unit(head, "\"/usr/bin/stallhand\"", &folders.collect::<Vec<_>>())
}

fn unit(head: &str, start: &str, folders: &[String]) -> String {
    let folders: String = folders
        .iter()
        .map(|f| format!("ReadWritePaths={f}\n"))
        .collect();
    format!("{head}{HEAD}ExecStart={start} watch\n{RUN}{folders}{FENCE}")
}

/// A word of a command line: quoted, with backslash, quote, specifier and variable signs escaped.
fn argument(path: &str) -> String {
    let text = path
        .replace('\\', "\\\\")
        .replace('"', "\\\"")
        .replace('%', "%%")
        .replace('$', "$$");
    format!("\"{text}\"")
}

/// A path of a list: quoted; variables are not replaced there. `-` passes over a folder that is
/// missing when the service starts.
fn listed(path: &str) -> String {
    let text = path
        .replace('\\', "\\\\")
        .replace('"', "\\\"")
        .replace('%', "%%");
    format!("\"-{text}\"")
}

const HEAD: &str = "[Unit]
Description=Stallhand makes product photos ready to list
Documentation=man:stallhand(1)
StartLimitIntervalSec=300
StartLimitBurst=5

[Service]
Type=notify
NotifyAccess=main
";

const RUN: &str = "Restart=on-failure
RestartSec=10
# A wrong configuration or a second instance is not mended by starting again.
RestartPreventExitStatus=2 3
WatchdogSec=120
TimeoutStartSec=60
TimeoutStopSec=15
Nice=5
UMask=0022

# The whole disk is read-only but these folders.
ProtectSystem=strict
ProtectHome=read-only
";

// User managers of systemd 252 honour each of these (tried); no group of system calls that came
// later is named.
const FENCE: &str = "PrivateTmp=yes
PrivateDevices=yes
TemporaryFileSystem=/dev/shm:ro
PrivateUsers=yes
PrivateNetwork=yes
PrivateIPC=yes
RestrictAddressFamilies=AF_UNIX
CapabilityBoundingSet=
AmbientCapabilities=
NoNewPrivileges=yes
ProtectClock=yes
ProtectHostname=yes
ProtectKernelLogs=yes
ProtectKernelModules=yes
ProtectKernelTunables=yes
ProtectControlGroups=yes
ProtectProc=invisible
RestrictNamespaces=yes
RestrictRealtime=yes
RestrictSUIDSGID=yes
LockPersonality=yes
MemoryDenyWriteExecute=yes
KeyringMode=private
SystemCallArchitectures=native
SystemCallErrorNumber=EPERM
SystemCallFilter=@system-service landlock_create_ruleset landlock_add_rule landlock_restrict_self seccomp
SystemCallFilter=~@privileged @resources
SystemCallFilter=setrlimit setpriority

[Install]
WantedBy=default.target
";

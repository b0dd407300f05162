//! `service install`, `service remove`, `service status`. Owns their order and words; never works
//! for the administrator, and never touches a file that is not ours.

use std::io;
use std::path::{Path, PathBuf};

use clap::Subcommand;

use super::super::{GLANCE, OK, USAGE, complain, say, start};
use super::system::{self, System};
use super::{MARK, Service};
use crate::base::disk::{Disk, Kind, Root, text};
use crate::config::{self, Config, Places};

#[derive(Clone, Copy, Debug, PartialEq, Eq, Subcommand)]
pub enum ServiceVerb {
    /// Start Stallhand now and at every login
    Install,
    /// Stop it and start it no more; photos and settings stay
    Remove,
    /// Tell whether it is installed, runs, and starts at login
    Status,
}

/// Runs the verb for the running system; returns the exit code.
pub fn run(verb: ServiceVerb, file: Option<&Path>) -> i32 {
    let uid = rustix::process::geteuid();
    let result = allowed(uid.is_root()).and_then(|()| {
        let places = Places::of_this_system().ok_or(
            "this account has no home folder\nhint: set the variable HOME to the folder that holds your files",
        )?;
        let system = System::here(&places, uid.as_raw(), &system::run).ok_or(
            "this program places no login service on this kind of system\nhint: let the system start `stallhand watch` at login",
        )?;
        match verb {
            ServiceVerb::Install => {
                let config = match start::configuration(file) {
                    Ok(c) => c,
                    Err(code) => return Ok(code),
                };
                if let Err(code) = start::folders(&config, &Disk::from_environment()) {
                    return Ok(code);
                }
                install(&system, &described(&config, file)?)
            }
            ServiceVerb::Remove => remove(&system),
            ServiceVerb::Status => {
                // What would be written now; when the settings are broken, nothing to compare with.
                let service = config::load(file).ok().and_then(|c| described(&c, file).ok());
                status(&system, service.as_ref())
            }
        }
    });
    result.unwrap_or_else(|words| {
        complain(&words);
        USAGE
    })
}

/// A login service is one person's; the administrator has no photos.
fn allowed(root: bool) -> Result<(), String> {
    if root {
        return Err(
            "the login service belongs to one person, not to the administrator\nhint: do it as yourself, without sudo"
                .into(),
        );
    }
    Ok(())
}

fn described(config: &Config, file: Option<&Path>) -> Result<Service, String> {
    let program = std::env::current_exe().map_err(|e| {
        format!("the program's own place is not known: {e}\nhint: start it by its whole path")
    })?;
    let file = file.map(std::path::absolute).transpose().map_err(|e| {
        format!("the configuration file's place is not known: {e}\nhint: name it by its whole path")
    })?;
    Ok(Service {
        program,
        config: file,
        folders: config
            .folders
            .named()
            .map(|(_, path)| path.to_owned())
            .to_vec(),
    })
}

/// What lies in the description's place.
#[derive(Debug, PartialEq, Eq)]
enum There {
    Nothing,
    Ours(String),
    Another,
}

/// Descriptions of ours are far smaller, bytes.
const MOST: u64 = 64 * 1024;

fn place(file: &Path) -> (&Path, PathBuf) {
    let folder = file.parent().unwrap_or(Path::new("/"));
    (folder, file.file_name().unwrap_or_default().into())
}

fn look(root: &Root, name: &Path) -> io::Result<There> {
    let Some(stat) = root.stat(name)? else {
        return Ok(There::Nothing);
    };
    if stat.kind != Kind::File || stat.stamp.size > MOST {
        return Ok(There::Another);
    }
    let bytes = root.read(name, MOST)?;
    Ok(match String::from_utf8(bytes) {
        Ok(text) if text.lines().take(3).any(|l| l.contains(MARK)) => There::Ours(text),
        _ => There::Another,
    })
}

fn trouble(file: &Path, what: &str) -> impl Fn(io::Error) -> String {
    let start = format!("{}: {what}", text(file));
    move |e| {
        format!(
            "{start}: {}\nhint: check the permissions of that folder",
            crate::deliver::plain(&e)
        )
    }
}

fn another(file: &Path) -> String {
    format!(
        "{}: this file was not written by Stallhand, and it is left as it is\nhint: move it away, then do this again",
        text(file)
    )
}

fn install(system: &System<'_>, service: &Service) -> Result<i32, String> {
    let (folder, name) = place(&system.file);
    let wanted = system.text(service)?;
    let shown = text(&system.file);
    let disk = Disk::from_environment();
    let cannot = trouble(&system.file, "cannot be written");
    disk.make_folder(folder, false).map_err(&cannot)?;
    let root = disk.root(folder).map_err(&cannot)?;
    let mut changed = false;
    match look(&root, &name).map_err(&cannot)? {
        There::Another => return Err(another(&system.file)),
        There::Ours(text) if text == wanted => say(&format!("{shown}: there already")),
        There::Ours(_) => {
            root.replace_own(&name, wanted.as_bytes())
                .map_err(&cannot)?;
            changed = true;
            say(&format!("{shown}: brought up to date"));
        }
        There::Nothing => {
            root.write_new(&name, wanted.as_bytes()).map_err(&cannot)?;
            say(&format!("{shown}: written"));
        }
    }
    if !system.answers() {
        complain(system.nobody());
        return Ok(GLANCE);
    }
    if let Err(why) = system.start(changed) {
        complain(&format!(
            "the service is installed, but it does not start: {why}\nhint: stop a Stallhand that you started by hand, then do this again; `stallhand watch` shows what else keeps it from starting"
        ));
        return Ok(GLANCE);
    }
    say("Stallhand is at work now, and starts whenever you log in.");
    if let Some(inbox) = service.folders.first() {
        say(&format!("Drop photos into {}", text(inbox)));
    }
    Ok(OK)
}

fn remove(system: &System<'_>) -> Result<i32, String> {
    let (folder, name) = place(&system.file);
    let disk = Disk::from_environment();
    let cannot = trouble(&system.file, "cannot be removed");
    let root = match disk.root(folder) {
        Ok(root) => root,
        Err(e) if e.kind() == io::ErrorKind::NotFound => {
            say("no login service is installed");
            return Ok(OK);
        }
        Err(e) => return Err(cannot(e)),
    };
    match look(&root, &name).map_err(&cannot)? {
        There::Another => return Err(another(&system.file)),
        There::Nothing => {
            say("no login service is installed");
            return Ok(OK);
        }
        There::Ours(_) => {}
    }
    let answers = system.answers();
    if answers && let Err(why) = system.stop() {
        complain(&format!(
            "the service cannot be stopped, so it stays installed: {why}\nhint: try again after the next login"
        ));
        return Ok(GLANCE);
    }
    // Without a manager its link stays behind, and would start another unit of this name.
    if let Some(link) = system.login_link()
        && root
            .stat(&link)
            .is_ok_and(|s| s.is_some_and(|s| s.kind == Kind::Link))
        && std::fs::read_link(folder.join(&link))
            .is_ok_and(|to| folder.join("default.target.wants").join(to) == system.file)
    {
        root.remove(&link).map_err(&cannot)?;
    }
    root.remove(&name).map_err(&cannot)?;
    if answers {
        system.forget();
    }
    say(&format!("{}: removed", text(&system.file)));
    say("Your photos and settings stay where they are.");
    if !answers {
        complain(
            "no service manager answered; a Stallhand that still runs goes on until you log out\nhint: log out once, or restart the computer",
        );
        return Ok(GLANCE);
    }
    Ok(OK)
}

fn status(system: &System<'_>, service: Option<&Service>) -> Result<i32, String> {
    let (folder, name) = place(&system.file);
    let shown = text(&system.file);
    let there = match Disk::default().root(folder) {
        Ok(root) => look(&root, &name).map_err(trouble(&system.file, "cannot be read"))?,
        Err(_) => There::Nothing,
    };
    let wanted = service.and_then(|s| system.text(s).ok());
    say(&match there {
        There::Nothing => "installed  no; `stallhand service install` does it".into(),
        There::Another => format!("installed  no; {shown} is not Stallhand's own"),
        There::Ours(text) if wanted.as_ref().is_some_and(|w| *w != text) => format!(
            "installed  yes, but program or folders changed since: run `stallhand service install` again ({shown})"
        ),
        There::Ours(_) => format!("installed  yes ({shown})"),
    });
    if system.answers() {
        let state = system.state();
        say(&format!("running    {}", state.running));
        say(&format!("at login   {}", state.at_login));
    } else {
        say("running    not known: no service manager answers");
        say("at login   not known");
    }
    Ok(OK)
}

#[cfg(test)]
mod tests {
    use std::cell::RefCell;

    use super::super::system::{Answer, Kind as Manager};
    use super::*;

    #[test]
    fn the_administrator_is_sent_away_with_a_hint() {
        assert!(allowed(true).unwrap_err().contains("hint: "));
        assert_eq!(allowed(false), Ok(()));
    }

    // The same steps with the commands of macOS recorded, on whatever system this runs.
    #[test]
    fn an_agent_is_loaded_once_reloaded_when_it_changed_and_unloaded() {
        let dir = tempfile::tempdir().unwrap();
        let (asked, loaded) = (RefCell::new(Vec::new()), RefCell::new(false));
        let run = |name: &str, args: &[&str]| {
            asked.borrow_mut().push(format!("{name} {}", args[0]));
            let mut loaded = loaded.borrow_mut();
            match args[0] {
                "bootstrap" => *loaded = true,
                "bootout" => *loaded = false,
                _ => {}
            }
            let ok = args[0] != "print" || args[1] == "gui/501" || *loaded;
            Some(Answer {
                ok,
                stdout: if *loaded { "state = running" } else { "" }.into(),
                why: String::new(),
            })
        };
        let system = System::of(Manager::Launchd, &Places::under(dir.path()), 501, &run);
        let mut service = Service {
            program: "/usr/bin/stallhand".into(),
            config: None,
            folders: Vec::new(),
        };
        let told = |what: &str| {
            let all = asked.take();
            all.iter().filter(|a| a.ends_with(what)).count()
        };
        assert_eq!(install(&system, &service), Ok(OK));
        assert!(
            system
                .file
                .ends_with("Library/LaunchAgents/stallhand.plist")
        );
        assert_eq!(told("bootstrap"), 1);
        assert_eq!(install(&system, &service), Ok(OK));
        assert_eq!(told("bootstrap"), 0);
        service.config = Some("/shop.toml".into());
        assert_eq!(install(&system, &service), Ok(OK));
        assert_eq!(told("bootout"), 1);
        assert_eq!(system.state().running, "yes");
        assert_eq!(status(&system, Some(&service)), Ok(OK));
        assert_eq!(remove(&system), Ok(OK));
        assert_eq!(told("bootout"), 1);
        assert!(!system.file.exists());
        assert_eq!(remove(&system), Ok(OK));
    }
}

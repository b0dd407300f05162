//! `manual DIR`: manual pages and completions, made from the commands themselves, for a package.
//! Owns which files there are; replaces none.

use std::io;
use std::path::Path;

use clap::{Command, CommandFactory};
use clap_complete::Shell;
use clap_mangen::Man;

use super::{Cli, OK, USAGE, complain, say};
use crate::base::disk::{Disk, text};

/// Writes them into a folder, which is made when it is missing.
pub fn run(folder: &Path) -> i32 {
    let written = files().and_then(|files| {
        let disk = Disk::default();
        disk.make_folder(folder, false)?;
        let root = disk.root(folder)?;
        for (name, bytes) in &files {
            let name = Path::new(name);
            match root.write_new(name, bytes) {
                Err(e)
                    if e.kind() == io::ErrorKind::AlreadyExists
                        && root.read(name, bytes.len() as u64).ok().as_ref() == Some(bytes) => {}
                done => done?,
            }
        }
        Ok(files.len())
    });
    match written {
        Ok(n) => {
            say(&format!("{}: {n} files", text(folder)));
            OK
        }
        Err(e) => {
            complain(&format!(
                "{}: the manual cannot be written there: {}\nhint: name an empty folder",
                text(folder),
                crate::deliver::plain(&e)
            ));
            USAGE
        }
    }
}

/// Each file's name and content.
fn files() -> io::Result<Vec<(String, Vec<u8>)>> {
    let mut command = shown(Cli::command());
    command.build();
    let mut files = Vec::new();
    pages(&command, &mut files)?;
    for (shell, name) in [
        (Shell::Bash, "stallhand.bash"),
        (Shell::Zsh, "_stallhand"),
        (Shell::Fish, "stallhand.fish"),
    ] {
        let mut bytes = Vec::new();
        let mut command = shown(Cli::command());
        clap_complete::generate(shell, &mut command, "stallhand", &mut bytes);
        files.push((name.to_owned(), bytes));
    }
    Ok(files)
}

/// The commands without the hidden ones, which completions would offer.
fn shown(command: Command) -> Command {
    let verbs: Vec<Command> = command
        .get_subcommands()
        .filter(|c| !c.is_hide_set())
        .cloned()
        .collect();
    Command::new("stallhand")
        .version(env!("CARGO_PKG_VERSION"))
        .about(command.get_about().cloned().unwrap_or_default())
        .long_about(command.get_long_about().cloned().unwrap_or_default())
        .disable_help_subcommand(true)
        .subcommand_required(true)
        .args(command.get_arguments().cloned())
        .subcommands(verbs)
}

fn pages(command: &Command, files: &mut Vec<(String, Vec<u8>)>) -> io::Result<()> {
    let man = Man::new(command.clone())
        .source(format!("Stallhand {}", env!("CARGO_PKG_VERSION")))
        .manual("Stallhand");
    let mut bytes = Vec::new();
    man.render(&mut bytes)?;
    files.push((man.get_filename(), bytes));
    for verb in command.get_subcommands() {
        pages(verb, files)?;
    }
    Ok(())
}

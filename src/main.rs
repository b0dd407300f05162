//! The binary: arguments in, exit code out. Everything else lives in the library.

use std::process::ExitCode;

fn main() -> ExitCode {
    if std::env::args_os()
        .nth(1)
        .is_some_and(|a| a == stallhand::worker::COMMAND)
    {
        return ExitCode::from(stallhand::worker::live() as u8);
    }
    ExitCode::from(stallhand::command::main() as u8)
}

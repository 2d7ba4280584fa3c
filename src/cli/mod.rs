//! The command line: alone touches files, clock, environment, terminal and exit status.

mod arguments;
mod begin;
mod evidence;
mod files;
mod kinds;
mod manual;
mod reference;
mod schema;
mod stamp;
mod trace;
mod wanting;
mod way;
mod work;

use std::ffi::OsString;
use std::io::{IsTerminal, Write};
use std::process::ExitCode;

use arguments::{Arguments, Command};
use clap::Parser;
use kinds::Form;

use crate::findings::Ink;

/// How a command ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ended {
    Done,
    /// The journal has errors or, with `check`, failed requirements or stale results.
    Wanting,
    WrongUsage,
    /// A file could not be read or written.
    FileTrouble,
}

/// Runs the program with its arguments, the first of which is its own name.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(error) => {
            let ended = if error.use_stderr() { Ended::WrongUsage } else { Ended::Done };
            let _ = error.print();
            return code(ended);
        }
    };
    code(match arguments.command {
        Command::Begin { folder } => begin::begin(&folder),
        Command::Work(options) => work::work(&options),
        Command::Check(options) => work::check(&options),
        Command::Dossier(options) => work::dossier(&options),
        Command::Trace(options) => trace::trace(&options),
        Command::Kinds { kind, markdown, json } => {
            let form = match (markdown, json) {
                (true, _) => Form::Markdown,
                (_, true) => Form::JsonSchema,
                _ => Form::Text,
            };
            kinds::kinds(kind.as_deref(), form)
        }
        Command::Completions { shell } => manual::completions(shell),
        Command::Manual => manual::manual(),
    })
}

fn code(ended: Ended) -> ExitCode {
    ExitCode::from(match ended {
        Ended::Done => 0,
        Ended::Wanting => 1,
        Ended::WrongUsage => 2,
        Ended::FileTrouble => 3,
    })
}

/// Text for standard output. A reader that has gone away (`| head`) is no trouble.
fn say(text: &str) {
    let _ = std::io::stdout().write_all(text.as_bytes());
}

/// Text for standard error.
fn complain(text: &str) {
    let _ = std::io::stderr().write_all(text.as_bytes());
}

/// Colour only on a terminal, and not where `NO_COLOR` is set.
fn ink() -> Ink {
    let wanted = std::env::var_os("NO_COLOR").is_none_or(|value| value.is_empty());
    if wanted && std::io::stderr().is_terminal() { Ink::Colour } else { Ink::Plain }
}

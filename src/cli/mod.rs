//! The command line: alone touches files, clock, environment, terminal and exit status.

mod arguments;
mod begin;
mod dossier;
mod evidence;
mod files;
#[cfg(test)]
mod folder_test;
mod frozen;
mod hand_over;
mod issue;
mod journal;
mod kinds;
mod lock;
mod manual;
mod moved;
mod moved_since;
mod note;
mod progress;
mod reference;
mod rule_packs;
mod schema;
mod settled;
mod stamp;
mod subject;
mod trace;
mod verify;
mod wanting;
mod watch;
mod way;
mod what_if;
mod width;
mod work;
mod writer;

use std::ffi::OsString;
use std::fmt::Display;
use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;
use std::sync::OnceLock;

use arguments::{Arguments, Command};
use clap::Parser;

use crate::findings::{Ink, visible};

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

impl Ended {
    /// Tells why it ended so.
    fn because(self, why: impl Display) -> Ended {
        complain(&format!("{why}\n"));
        self
    }
}

/// Runs the program with its arguments, the first of which is its own name.
pub fn run(arguments: impl IntoIterator<Item = OsString>) -> ExitCode {
    let ended = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => carry_out(arguments.command).unwrap_or_else(|ended| ended),
        Err(error) if error.use_stderr() => {
            complain(&error.render().to_string());
            Ended::WrongUsage
        }
        Err(error) => {
            say(&error.render().to_string());
            Ended::Done
        }
    };
    code(match UNSAID.get() {
        Some(error) => Ended::FileTrouble.because(format!("standard output can't be written: {error}")),
        None => ended,
    })
}

/// What could not be done has been told, and is told again by how the command ended.
fn carry_out(command: Command) -> Result<Ended, Ended> {
    Ok(match command {
        Command::Begin(options) => begin::begin(&options)?,
        Command::Work(options) => work::work(&options)?,
        Command::Check(options) => work::check(&options)?,
        Command::Dossier(options) => dossier::dossier(&options)?,
        Command::Trace(options) => trace::trace(&options)?,
        Command::Watch(options) => watch::watch(&options)?,
        Command::Moved(options) => moved_since::moved(&options)?,
        Command::WhatIf(options) => what_if::what_if(&options)?,
        Command::Issue(options) => issue::issue(&options)?,
        Command::HandOver(options) => hand_over::hand_over(&options)?,
        Command::Note(options) => note::note(&options)?,
        Command::Kinds(options) => kinds::kinds(&options),
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

/// Why standard output could not be written.
static UNSAID: OnceLock<io::Error> = OnceLock::new();

/// Text for standard output. A reader that has gone away (`| head`) is no trouble.
fn say(text: &str) {
    say_bytes(visible(text, LINES).as_bytes());
}

/// A file as it is, for standard output.
fn say_bytes(bytes: &[u8]) {
    let mut out = io::stdout();
    let said = out.write_all(bytes).and_then(|()| out.flush());
    if let Err(error) = said
        && error.kind() != io::ErrorKind::BrokenPipe
    {
        let _ = UNSAID.set(error);
    }
}

/// Text for standard error.
fn complain(text: &str) {
    show(&visible(text, LINES));
}

/// What was laid out for the terminal, for standard error.
fn show(text: &str) {
    let _ = io::stderr().write_all(text.as_bytes());
}

/// What lays out a text, and is no part of a message.
const LINES: &[char] = &['\n', '\t'];

/// Colour only on a terminal that knows it, and not where `NO_COLOR` is set.
fn ink() -> Ink {
    let dumb = std::env::var_os("TERM").is_some_and(|term| term == "dumb");
    let refused = std::env::var_os("NO_COLOR").is_some_and(|value| !value.is_empty());
    if !dumb && !refused && io::stderr().is_terminal() { Ink::Colour } else { Ink::Plain }
}

//! `watch`: works the journal anew whenever one of its files is saved, and shows the dossier's page on the loopback
//! address.

mod board;
mod disk;
mod request;
mod rounds;
mod saves;
mod server;

use std::process::exit;
use std::sync::{Arc, Mutex, PoisonError};

use super::arguments::WatchOptions;
use super::journal::{is_standard_input, journal};
use super::{Ended, complain, say};
use board::Board;
use rounds::Rounds;
use saves::Saves;
use server::serve;

/// Until Ctrl-C. The error has been told.
pub(super) fn watch(options: &WatchOptions) -> Result<Ended, Ended> {
    let journal = journal(options.journal.as_deref());
    if is_standard_input(&journal) {
        return Err(Ended::WrongUsage.because("standard input can't be watched: name a folder or a file"));
    }
    if !journal.exists() {
        return Err(Ended::FileTrouble.because(format!("{} is not there", journal.display())));
    }
    let board = Arc::new(Board::default());
    let writing = end_on_ctrl_c();
    let address = serve(options.port, &board).map_err(|error| {
        complain(&format!(
            "no page can be served from port {} on: {error}; name another with `--port`\n",
            options.port
        ));
        Ended::FileTrouble
    })?;
    let mut rounds = Rounds::new(&journal, options.saying, board, writing);
    let mut saves = Saves::new().map_err(|error| {
        Ended::FileTrouble.because(format!("{} can't be watched: {error}", journal.display()))
    })?;
    // What is saved while the first round goes on is seen too.
    saves.follow(rounds.folders());
    rounds.round()?;
    say(&format!("watching {}: http://{address}/, until Ctrl-C\n", journal.display()));
    loop {
        // Of what was saved into a new folder before that was followed nobody tells.
        while saves.follow(rounds.folders()) {
            rounds.round_if_changed();
        }
        saves.wait();
        rounds.round_if_changed();
    }
}

/// Held while files are written: whoever ends the program waits for it.
type Writing = Arc<Mutex<()>>;

fn end_on_ctrl_c() -> Writing {
    let writing = Writing::default();
    let held = Arc::clone(&writing);
    let ended = ctrlc::set_handler(move || {
        let _held = held.lock().unwrap_or_else(PoisonError::into_inner);
        say("\nno longer watching\n");
        exit(0);
    });
    if let Err(error) = ended {
        complain(&format!("Ctrl-C ends this at once: {error}\n"));
    }
    writing
}

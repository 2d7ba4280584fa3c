//! One working of a journal at a time: a lock on its folder that dies with its holder and leaves no file.

use std::fs::{File, TryLockError};
use std::io::IsTerminal;
use std::path::Path;
use std::thread::sleep;
use std::time::Duration;

use super::files::parent;
use super::journal::is_standard_input;
use super::{Ended, complain};

const PAUSE: Duration = Duration::from_millis(20);
/// So many pauses are half a minute.
const PAUSES: usize = 1500;

/// Held as long as it lives; nothing where the system can't lock a folder.
pub(super) struct Lock(#[expect(dead_code, reason = "it is held, not looked at")] Option<File>);

/// Waits for the journal's folder to be free. The error has been told.
pub(super) fn lock(journal: &Path) -> Result<Lock, Ended> {
    if is_standard_input(journal) {
        return Ok(Lock(None));
    }
    let folder = if journal.is_dir() { journal.to_owned() } else { parent(journal) };
    // Whether the journal is there is found when it is read.
    let Ok(file) = File::open(&folder) else { return Ok(Lock(None)) };
    for pause in 0..PAUSES {
        match file.try_lock() {
            Ok(()) => return Ok(Lock(Some(file))),
            Err(TryLockError::Error(_)) => return Ok(Lock(None)),
            Err(TryLockError::WouldBlock) => {}
        }
        if pause == 0 && std::io::stderr().is_terminal() {
            complain("another run works this journal; waiting for it\n");
        }
        sleep(PAUSE);
    }
    complain(&format!(
        "{} is still being worked by another run after 30 s: end that run, or run this again later\n",
        folder.display()
    ));
    Err(Ended::FileTrouble)
}

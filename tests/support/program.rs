//! The built program, run in throw-away folders.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::atomic::{AtomicUsize, Ordering};

/// What one run of the program left behind.
#[derive(Debug)]
pub(crate) struct Run {
    pub status: i32,
    pub out: String,
    pub err: String,
}

impl Run {
    /// Fails the test if the program panicked or was killed: no input may do that.
    #[track_caller]
    pub(crate) fn of(output: Output) -> Run {
        let out = String::from_utf8(output.stdout).expect("standard output is text");
        let err = String::from_utf8(output.stderr).expect("standard error is text");
        assert!(!err.contains("panicked"), "the program panicked:\n{err}");
        let Some(status) = output.status.code() else {
            panic!("the program was killed: {}\n{err}", output.status)
        };
        Run { status, out, err }
    }
}

/// The program with these words, nothing of the caller's environment that would change what it prints.
pub(crate) fn program(words: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_voltwright"));
    command.args(words).env_remove("SOURCE_DATE_EPOCH").env("NO_COLOR", "1");
    command
}

/// A folder that is gone when the test ends.
pub(crate) struct Folder {
    pub path: PathBuf,
}

impl Folder {
    pub(crate) fn new() -> Folder {
        static NEXT: AtomicUsize = AtomicUsize::new(0);
        let number = NEXT.fetch_add(1, Ordering::Relaxed);
        let name = format!("{}-{}-{number}", env!("CARGO_CRATE_NAME"), std::process::id());
        let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
        fs::create_dir_all(&path).expect("a folder for the test");
        Folder { path }
    }

    pub(crate) fn write(&self, name: &str, content: impl AsRef<[u8]>) {
        let path = self.path.join(name);
        fs::create_dir_all(path.parent().expect("a parent")).expect("a folder");
        fs::write(path, content).expect("a file of the test is written");
    }

    /// Runs `voltwright WORDS… FOLDER`.
    #[track_caller]
    pub(crate) fn run(&self, words: &[&str]) -> Run {
        Run::of(program(words).arg(&self.path).output().expect("the program starts"))
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // What is left behind lies in the build folder; a test does not fail for it.
        let _ = fs::remove_dir_all(&self.path);
    }
}

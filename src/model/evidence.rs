//! How files that a journal names, and the day, are reached: the command line reads them, nobody else.

use std::collections::BTreeSet;
use std::io::{Cursor, Read};
use std::sync::Arc;

use sha2::{Digest, Sha256};

use crate::words::{Words, words};

/// Why a named file can't be had.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum EvidenceFault {
    Missing,
    /// The path leads out of the journal folder.
    Outside,
    /// What the operating system said, or what stands there in place of a file.
    Unreadable(String),
}

/// What a journal stands on beside its own text: files of its folder by their path relative to it, with `/`, and the day.
pub(crate) trait Evidence: Sync {
    /// The day on which the journal is worked, `2026-11-25`; `None` where nobody knows it.
    fn today(&self) -> Option<&str> {
        None
    }

    /// `block.name` of each requirement that the last revision could judge.
    fn judged_before(&self) -> BTreeSet<String> {
        BTreeSet::new()
    }

    /// The whole file, which is kept: for what values are read from.
    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault>;

    /// The file to be read piece by piece; nothing of it is kept.
    fn open(&self, path: &str) -> Result<Box<dyn Read>, EvidenceFault> {
        Ok(Box::new(Cursor::new(self.read(path)?)))
    }

    /// In hex.
    fn sha_256(&self, path: &str) -> Result<String, EvidenceFault> {
        sha_256(self.open(path)?).map_err(EvidenceFault::of)
    }
}

impl EvidenceFault {
    pub(crate) fn of(error: std::io::Error) -> EvidenceFault {
        EvidenceFault::Unreadable(error.to_string())
    }

    /// What is wrong with the file of this path.
    pub(crate) fn told(&self, path: &str) -> Words {
        match self {
            EvidenceFault::Missing => words!("no file `{}` in the journal folder", path),
            EvidenceFault::Outside => words!("`{}` is not in the journal folder", path),
            EvidenceFault::Unreadable(why) => words!("`{}` can't be read: {}", path, why),
        }
    }
}

/// That of an empty file (FIPS 180-4).
pub(crate) const EMPTY: &str = "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855";

/// Of all that is still to be read, a piece at a time, in hex.
pub(crate) fn sha_256(mut from: impl Read) -> std::io::Result<String> {
    let mut hash = Sha256::new();
    let mut piece = vec![0; 1 << 16];
    loop {
        match from.read(&mut piece) {
            Ok(0) => break,
            Ok(length) => hash.update(&piece[..length]),
            Err(error) if error.kind() == std::io::ErrorKind::Interrupted => {}
            Err(error) => return Err(error),
        }
    }
    Ok(hash.finalize().iter().map(|byte| format!("{byte:02x}")).collect())
}

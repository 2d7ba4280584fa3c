//! How files that a journal names are reached: the command line reads them, nobody else.

use std::sync::Arc;

/// Why a named file can't be had.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum EvidenceFault {
    Missing,
    /// The path leads out of the journal folder.
    Outside,
    /// What the operating system said.
    Unreadable(String),
}

/// Files of the journal folder by their path relative to it, with `/`.
pub(crate) trait Evidence {
    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault>;
}

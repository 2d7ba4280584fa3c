//! How files that a journal names are reached: the command line reads them, nobody else.

use std::sync::Arc;

use sha2::{Digest, Sha256};

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
pub(crate) trait Evidence: Sync {
    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault>;
}

/// In hex.
pub(super) fn sha_256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|byte| format!("{byte:02x}")).collect()
}

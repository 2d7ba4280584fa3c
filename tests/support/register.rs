//! The register that `--json` prints.

use serde_json::Value;

use crate::program::Folder;

/// What `check --json` prints of the journal in the folder.
#[track_caller]
pub(crate) fn register(folder: &Folder) -> Value {
    let run = folder.run(&["check", "--json"]);
    assert!(run.status <= 1, "exit status {}: {}", run.status, run.err);
    serde_json::from_str(&run.out)
        .unwrap_or_else(|fault| panic!("no register ({fault}):\n{}\n{}", run.out, run.err))
}

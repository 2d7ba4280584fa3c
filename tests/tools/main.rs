//! What needs more than Rust: a browser, PDF tools, the CommonMark specification, `taskset`, `unshare`, `time`.
//!
//! Plain `cargo test` leaves this target out (`test = false` in `Cargo.toml`); `bash tests/run` runs it after the others,
//! and with `--install` gets what is missing. Nothing here is skipped: a program that is not there fails its test.

#[path = "../support/chance.rs"]
mod chance;
#[path = "../support/copied.rs"]
mod copied;
#[path = "../support/mutation.rs"]
mod mutation;
#[path = "../support/printed.rs"]
mod printed;
#[path = "../support/program.rs"]
mod program;
#[path = "../support/regions.rs"]
mod regions;

mod browser;
mod commonmark;
mod cores;
mod large;
mod pdf;
mod programs;
mod sums;
mod watch;

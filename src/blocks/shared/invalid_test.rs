//! What a test that proves nothing is told as.

use crate::findings::{Code, Severity};

pub(in crate::blocks) static INVALID_TEST: Code = Code {
    name: "invalid-test",
    severity: Severity::Warning,
    about: "a test that was made in a way that proves nothing; its verdict stays open",
};

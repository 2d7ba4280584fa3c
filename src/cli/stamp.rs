//! The date of a run: the clock's, or the one that `SOURCE_DATE_EPOCH` gives for builds that can be repeated.

use std::time::{SystemTime, UNIX_EPOCH};

/// Seconds since 1970 UTC.
pub(crate) fn stamp() -> i64 {
    if let Some(seconds) = std::env::var("SOURCE_DATE_EPOCH").ok().and_then(|text| text.trim().parse().ok()) {
        return seconds;
    }
    SystemTime::now()
        .duration_since(UNIX_EPOCH)
        .map_or(0, |since| i64::try_from(since.as_secs()).unwrap_or(0))
}

//! The date of a run: the clock's, or the one that `SOURCE_DATE_EPOCH` gives for builds that can be repeated.

use std::time::{SystemTime, UNIX_EPOCH};

use super::{Ended, complain};

/// The last second of the year 9999.
const LAST: i64 = 253_402_300_799;

/// Seconds since 1970 UTC. The error has been told.
pub(super) fn stamp() -> Result<i64, Ended> {
    let Some(given) = std::env::var_os("SOURCE_DATE_EPOCH") else {
        let now = SystemTime::now().duration_since(UNIX_EPOCH);
        return Ok(now.map_or(0, |since| i64::try_from(since.as_secs()).unwrap_or(0)));
    };
    let given = given.to_string_lossy();
    match given.trim().parse() {
        Ok(seconds) if (0..=LAST).contains(&seconds) => Ok(seconds),
        _ => {
            complain(&format!(
                "SOURCE_DATE_EPOCH is `{given}`: set it to the seconds since 1970 UTC, a whole number from 0 to {LAST}, or unset it\n"
            ));
            Err(Ended::WrongUsage)
        }
    }
}

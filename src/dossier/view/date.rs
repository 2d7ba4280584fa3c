//! A stamp as a date.

/// `2026-11-25`, in UTC; days since 1970 turned into a date of the Gregorian calendar by counting 400-year cycles
/// from 1 March of year 0.
pub(crate) fn text(stamp: i64) -> String {
    let days = stamp.div_euclid(86_400) + 719_468;
    let cycle = days.div_euclid(146_097);
    let day = days.rem_euclid(146_097);
    let year_of_cycle = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let day_of_year = day - (365 * year_of_cycle + year_of_cycle / 4 - year_of_cycle / 100);
    let shifted = (5 * day_of_year + 2) / 153;
    let day_of_month = day_of_year - (153 * shifted + 2) / 5 + 1;
    let month = if shifted < 10 { shifted + 3 } else { shifted - 9 };
    let year = year_of_cycle + cycle * 400 + i64::from(month <= 2);
    format!("{year:04}-{month:02}-{day_of_month:02}")
}

#[cfg(test)]
mod tests {
    use super::text;

    #[test]
    fn stamps_become_dates() {
        assert_eq!(text(0), "1970-01-01");
        assert_eq!(text(951_782_400), "2000-02-29");
        assert_eq!(text(1_772_409_600), "2026-03-02");
        assert_eq!(text(-86_400), "1969-12-31");
    }
}

//! Days as they are typed: `2025-06-14`.

use crate::blocks::shared::invalid_test::INVALID_TEST;
use crate::findings::codes;
use crate::model::{Form, today};
use crate::words::words;

/// What is said of the day of a test.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub(in crate::blocks) enum TestDay {
    #[default]
    NotSaid,
    Said,
    /// After the journal's day: the test is still to come, and nothing may rest on it.
    ToCome,
}

/// Why nothing rests on a test that is still to come.
pub(in crate::blocks) const TO_COME: &str = "its date is still to come";

/// The day of a test under a key. A time may follow it: `2025-06-14, 09:40`. The finding is made where it is none of
/// the calendar's, and where it is after the journal's day.
pub(in crate::blocks) fn read_test_day(form: &mut Form<'_, '_>, key: &str) -> TestDay {
    read_test_date(form, key).0
}

/// The same with the day itself.
pub(in crate::blocks) fn read_test_date(form: &mut Form<'_, '_>, key: &str) -> (TestDay, Option<String>) {
    let Some((text, span)) = form.text(key) else { return (TestDay::NotSaid, None) };
    let (day, time) = text.split_at_checked(10).unwrap_or((&text, ""));
    if !is_day(day) || time.starts_with(char::is_alphanumeric) && !time.starts_with('T') {
        let message = words!("`{}` where a day is expected", text);
        form.report(&codes::BAD_VALUE, span, message, "type it as year-month-day: `2025-06-14`");
        return (TestDay::Said, None);
    }
    let said = Some(day.to_owned());
    // Days so written sort as text.
    let Some(today) = today(form).filter(|today| day > *today) else { return (TestDay::Said, said) };
    let message = words!("`{}`: the test is dated {}, after the day of this journal", key, day);
    let help =
        words!("type the day on which it was made, {} at the latest, or leave it out until then", today);
    form.report(&INVALID_TEST, span, message, help);
    (TestDay::ToCome, said)
}

/// The day on which something was done. The finding is made where it is none of the calendar's, or after the journal's.
pub(in crate::blocks) fn read_day(form: &mut Form<'_, '_>, key: &str) -> Option<String> {
    let (text, span) = form.text(key)?;
    if !is_day(&text) {
        let message = words!("`{}` where a day is expected", text);
        form.report(&codes::BAD_VALUE, span, message, "type it as year-month-day: `2025-06-14`");
    } else if today(form).is_some_and(|today| text.as_str() > today) {
        let message = words!("`{}` is after the day of this journal", text);
        form.report(&codes::BAD_VALUE, span, message, "type the day on which it was done");
    }
    Some(text)
}

pub(in crate::blocks) fn is_day(text: &str) -> bool {
    let digits = text.bytes().enumerate().all(|(at, byte)| match at {
        4 | 7 => byte == b'-',
        _ => byte.is_ascii_digit(),
    });
    if text.len() != 10 || !digits {
        return false;
    }
    let number = |range: std::ops::Range<usize>| text[range].parse::<u32>().unwrap_or(0);
    let (year, month, day) = (number(0..4), number(5..7), number(8..10));
    let leap = year % 4 == 0 && (year % 100 != 0 || year % 400 == 0);
    let days = match month {
        4 | 6 | 9 | 11 => 30,
        2 if leap => 29,
        2 => 28,
        1..=12 => 31,
        _ => 0,
    };
    year >= 1900 && (1..=days).contains(&day)
}

#[cfg(test)]
mod tests {
    use super::is_day;

    #[test]
    fn a_day_is_one_of_the_calendar() {
        let days = ["2025-06-14", "2024-02-29", "2000-02-29", "1999-12-31"];
        assert!(days.into_iter().all(is_day));
        let none = ["2025-02-29", "1900-02-29", "2025-04-31", "2025-13-01", "2025-00-10", "2025-06-00"];
        assert!(!none.into_iter().any(is_day));
        assert!(!["14.06.2025", "2025-6-14", "2025/06/14", "yes", "１９９９-12-31"].into_iter().any(is_day));
    }
}

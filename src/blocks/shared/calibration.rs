//! Until when an instrument's calibration holds, and whether it did on the day of use.

use crate::blocks::shared::date::is_day;
use crate::findings::{Code, Severity, codes};
use crate::model::{Calibration, Form, Page};
use crate::words::words;

pub(in crate::blocks) static CALIBRATION_ENDED: Code = Code {
    name: "calibration-ended",
    severity: Severity::Warning,
    about: "an instrument that was used after its calibration had ended, or that was never calibrated; an open item",
};

pub(in crate::blocks) const UNTIL: &str =
    "the last day of its calibration: `2026-11-30`; `never` where it has none";

/// No calibration holds longer, in years: instruments are calibrated every one to five (common practice, no source).
const LONGEST: i32 = 10;

/// Reads `calibrated_until`. `used` is the day of the test.
pub(in crate::blocks) fn read_calibration(
    form: &mut Form<'_, '_>,
    instrument: &str,
    used: Option<&str>,
) -> Option<Calibration> {
    let (text, at) = form.text("calibrated_until")?;
    let never = text.eq_ignore_ascii_case("never");
    if !never && !is_day(&text) {
        let message = words!("`{}` where a day is expected", text);
        form.report(&codes::BAD_VALUE, at, message, "type it as year-month-day: `2026-11-30`, or `never`");
        return None;
    }
    let year = |day: &str| day.get(..4).and_then(|year| year.parse::<i32>().ok());
    if let Some((until, used)) = year(&text).zip(used.and_then(year))
        && until - used > LONGEST
    {
        let message = words!("a calibration until {}, {} years after its use", text, until - used);
        let help = "hold it against the certificate: a year may be mistyped";
        form.report(&codes::BAD_VALUE, at, message, help);
        return None;
    }
    Some(Calibration {
        at,
        instrument: instrument.to_owned(),
        until: (!never).then_some(text),
        used: used.map(str::to_owned),
    })
}

/// Tells of one that did not hold.
pub(in crate::blocks) fn tell_calibration(calibration: &Calibration, page: &mut Page<'_>) {
    if calibration.held() {
        return;
    }
    let message = match &calibration.until {
        Some(until) => words!("the calibration of `{}` had ended on {}", calibration.instrument, until),
        None => words!("`{}` was never calibrated", calibration.instrument),
    };
    let help = "have it calibrated and measure again, or show that it still was within its limits";
    page.find_at(&CALIBRATION_ENDED, calibration.at, message, help);
}

/// Whether a calibration until that day, or `never`, held on another. Days so written sort as text.
pub(in crate::blocks) fn held(until: &str, used: &str) -> bool {
    is_day(until) && used.get(..10).is_none_or(|used| used <= until)
}

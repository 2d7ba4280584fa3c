//! A tyre as a diameter or as a size code.

use super::results::{DIAMETER_BY_SIZE, TYRE_DIAMETER};
use crate::findings::codes;
use crate::model::{Bench, Form, Outcomes, Slot};
use crate::quantities::looks_like_number;
use crate::quantities::si::{Length, Measure, Ratio};
use crate::words::words;

/// Where a tyre's diameter comes from.
pub(super) enum Size {
    Diameter(Slot<Length>),
    /// Rim + 2 × aspect × width.
    Metric {
        width: Slot<Length>,
        aspect: Slot<Ratio>,
        rim: Slot<Length>,
    },
}

pub(super) struct Tyre {
    /// Where it is not known, what does not rest on it is worked all the same.
    size: Option<Size>,
    diameter: Slot<Length>,
}

impl Tyre {
    pub(super) fn declare(out: &mut Outcomes<'_, '_, '_>, size: Option<Size>) -> Tyre {
        let diameter = match &size {
            Some(Size::Diameter(slot)) => out.result(TYRE_DIAMETER.with("TYRE", out.name_of(*slot))),
            Some(Size::Metric { width, aspect, rim }) => {
                let [width, rim] = [width, rim].map(|slot| out.name_of(*slot));
                let aspect = out.name_of(*aspect);
                out.result(DIAMETER_BY_SIZE.with("RIM", rim).with("ASPECT", aspect).with("WIDTH", width))
            }
            None => out.unknown(&TYRE_DIAMETER),
        };
        Tyre { size, diameter }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> Length {
        let diameter = match &self.size {
            Some(Size::Diameter(slot)) => bench.get(*slot),
            Some(Size::Metric { width, aspect, rim }) => {
                bench.get(*rim) + 2.0 * bench.get(*aspect) * bench.get(*width)
            }
            None => Length::from_si(f64::NAN),
        };
        bench.set(self.diameter, diameter);
        diameter
    }
}

/// What a size code says. Common practice, no source: a metric code is section width in mm, sidewall in % of it, rim in
/// inches; a flotation code is overall diameter and section width in inches.
#[derive(Debug, PartialEq)]
pub(super) enum SizeCode<'a> {
    Metric { width: &'a str, aspect: Option<&'a str>, rim: &'a str },
    Flotation { diameter: &'a str },
}

/// The sidewall's share of the width where a code prints none. Common practice, no source.
const ASPECT: &str = "80 %";

/// Reads the field `tyre`; `None` after a finding.
pub(super) fn read(form: &mut Form<'_, '_>) -> Option<Size> {
    let raw = form.raw("tyre");
    if let Some((text, span)) = &raw
        && let Some(at) = text.find('±').or_else(|| text.find("+/-"))
        && looks_like_code(text[..at].trim())
    {
        form.text("tyre");
        let help =
            "a size code is exact: take the tolerance away, or type a measured diameter, `634 mm ± 3 mm`";
        form.report(&codes::BAD_TOLERANCE, *span, "a size code with a tolerance", help);
        return None;
    }
    let Some((text, span)) = raw.filter(|(text, _)| looks_like_code(text)) else {
        return Some(Size::Diameter(form.required("tyre")));
    };
    form.text("tyre");
    match size_code(&text) {
        Some(SizeCode::Metric { width, aspect, rim }) => Some(Size::Metric {
            width: form.stated("tyre.width", &format!("{width} mm"), span),
            aspect: match aspect {
                Some(aspect) => form.stated("tyre.aspect", &format!("{aspect} %"), span),
                None => form.default("tyre.aspect", ASPECT, None),
            },
            rim: form.stated("tyre.rim", &format!("{rim} in"), span),
        }),
        Some(SizeCode::Flotation { diameter }) => {
            Some(Size::Diameter(form.stated("tyre.diameter", &format!("{diameter} in"), span)))
        }
        None => {
            let message = words!("`{}` is no tyre size that is known here", text);
            let help = "type a diameter, like `31 in`, or a code like `205/65R15`, `LT265/75R16`, `31x10.50R15LT` or `155R13`";
            form.report(&codes::BAD_VALUE, span, message, help);
            None
        }
    }
}

/// A code has an `R` or an `x` among its digits; a diameter is a number with a unit, or a reference.
fn looks_like_code(text: &str) -> bool {
    let solid =
        !text.contains(' ') && !text.contains('.') || text.contains(['x', 'X']) && !text.contains(' ');
    let lettered = text.chars().any(|c| matches!(c, 'R' | 'x' | 'X' | '/'));
    solid
        && lettered
        && text.chars().any(|c| c.is_ascii_digit())
        && !(looks_like_number(text) && text.contains(' '))
}

/// `205/65R15`, `P235/75R15`, `LT265/75R16`, `31x10.50R15LT`, `155R13`, with letters for speed and load allowed.
pub(super) fn size_code(text: &str) -> Option<SizeCode<'_>> {
    let body = text.strip_prefix("LT").or_else(|| text.strip_prefix('P')).unwrap_or(text);
    let body = body.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    let (front, rim) = body.rsplit_once('R')?;
    let front = front.trim_end_matches(|c: char| c.is_ascii_alphabetic() && c != 'x' && c != 'X');
    if !is_number(rim) {
        return None;
    }
    if let Some((diameter, width)) = front.split_once(['x', 'X']) {
        return (is_number(diameter) && is_number(width)).then_some(SizeCode::Flotation { diameter });
    }
    match front.split_once('/') {
        Some((width, aspect)) => (is_number(width) && is_number(aspect)).then_some(SizeCode::Metric {
            width,
            aspect: Some(aspect),
            rim,
        }),
        None => is_number(front).then_some(SizeCode::Metric { width: front, aspect: None, rim }),
    }
}

/// Digits with at most one point, and more than nothing.
fn is_number(text: &str) -> bool {
    !text.is_empty()
        && text.chars().all(|c| c.is_ascii_digit() || c == '.')
        && text.parse::<f64>().is_ok_and(|number| number > 0.0)
}

#[cfg(test)]
mod tests {
    use super::{SizeCode, size_code};

    #[test]
    fn the_usual_codes_are_read() {
        let metric = |width, aspect, rim| Some(SizeCode::Metric { width, aspect, rim });
        assert_eq!(size_code("205/65R15"), metric("205", Some("65"), "15"));
        assert_eq!(size_code("P235/75R15"), metric("235", Some("75"), "15"));
        assert_eq!(size_code("205/55ZR16"), metric("205", Some("55"), "16"));
        assert_eq!(size_code("155R13"), metric("155", None, "13"));
        assert_eq!(size_code("31x10.50R15LT"), Some(SizeCode::Flotation { diameter: "31" }));
        assert_eq!(size_code("205/65-15"), None);
        assert_eq!(size_code("0/65R15"), None);
    }
}

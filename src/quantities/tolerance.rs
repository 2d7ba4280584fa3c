//! A tolerance: half its width in SI, its shape, and the standard uncertainty that follows.

use super::fault::Fault;
use super::literal::Literal;
use super::number::{NO_BREAK, Number, read_number};
use super::unit::{Unit, read_unit};
use crate::findings::codes;
use crate::words::{Words, words};

/// How `±` is typed, with either minus.
pub(super) const SIGNS: [&str; 5] = ["±", "+/-", "+/−", "+-", "+−"];

/// What is known about where the true value lies within a tolerance.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Shape {
    /// Anywhere within ± the half-width, equally likely.
    Rectangular,
    /// Within ± the half-width, most likely at the middle.
    Triangular,
    /// The tolerance is `coverage` standard uncertainties.
    Normal { coverage: f64 },
}

#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Tolerance {
    /// Half of the width, in SI, not negative.
    pub half_width_si: f64,
    /// As a fraction of the value, where it was written in `%` of it.
    pub relative: Option<f64>,
    /// As it is printed after `±`.
    pub text: String,
    pub shape: Shape,
}

impl Tolerance {
    /// JCGM 100:2008, 4.3: a/√3 for a rectangle (4.3.7), a/√6 for a triangle (4.3.9), U/k (4.3.3).
    pub(crate) fn standard_uncertainty(&self) -> f64 {
        match self.shape {
            Shape::Rectangular => self.half_width_si / 3f64.sqrt(),
            Shape::Triangular => self.half_width_si / 6f64.sqrt(),
            Shape::Normal { coverage } => self.half_width_si / coverage,
        }
    }
}

impl Shape {
    /// Reads `rectangular`, `triangular` or `normal`; `coverage` is used for the last alone.
    pub(crate) fn read(word: &str, coverage: f64) -> Option<Shape> {
        match word {
            "rectangular" => Some(Shape::Rectangular),
            "triangular" => Some(Shape::Triangular),
            "normal" => Some(Shape::Normal { coverage }),
            _ => None,
        }
    }
}

/// Reads what stands after the key `tolerance`: `1 kg`, `5 %`, or a bare number in the value's own unit.
///
/// Errors: `bad-tolerance`, `unit-mismatch`, and those of numbers and units.
pub(crate) fn read_tolerance(text: &str, value: &Literal) -> Result<Tolerance, Fault> {
    let start = text.len() - text.trim_start().len();
    let bare =
        SIGNS.iter().find_map(|sign| text[start..].strip_prefix(sign)).unwrap_or(&text[start..]).trim_start();
    let start = text.len() - bare.len();
    after_sign(text, start, value)
}

/// Reads `NUMBER [UNIT or %]` from byte `start` to the end, as a tolerance of the value.
pub(super) fn after_sign(text: &str, start: usize, value: &Literal) -> Result<Tolerance, Fault> {
    let number = read_number(text, start)?;
    let unit_text = text[number.at.end..].trim();
    let fault = |message: Words, help: Words| {
        Err(Fault::new(&codes::BAD_TOLERANCE, start..text.trim_end().len(), message, help))
    };
    if number.value < 0.0 {
        return fault(
            "a negative tolerance".into(),
            "a tolerance is half of the width, without a sign".into(),
        );
    }
    let unit_at = number.at.end + text[number.at.end..].len() - text[number.at.end..].trim_start().len();
    if unit_text == "%" {
        if value.unit.symbol == "%" {
            return percent_of_percent(&number, value, start..text.trim_end().len());
        }
        if value.unit.is_point() {
            let unit = &value.unit.symbol;
            return fault(
                words!("a tolerance in % on a temperature in {}", unit),
                words!(
                    "type the tolerance as a difference, for example `{} {} ± 2 K`",
                    value.number_text,
                    unit
                ),
            );
        }
        let fraction = number.value / 100.0;
        return Ok(Tolerance {
            half_width_si: (value.quantity.si * fraction).abs(),
            relative: Some(fraction),
            text: format!("{}{NO_BREAK}%", number.text),
            shape: Shape::Rectangular,
        });
    }
    let given = if unit_text.is_empty() {
        None
    } else {
        Some(read_unit(unit_text).map_err(|fault| fault.shifted(unit_at))?)
    };
    if let Some(unit) = &given
        && !(unit.dimension.same(value.unit.dimension)
            && unit.dimension.has_angle() == value.unit.dimension.has_angle())
    {
        let message =
            format!("a tolerance of {} on {}", unit.dimension.words(), value.unit.dimension.words());
        let help =
            words!("give it in the unit of the value, for example `± {} {}`", number.text, value.unit.symbol);
        return Err(Fault::new(&codes::UNIT_MISMATCH, start..text.trim_end().len(), message, help));
    }
    Ok(of_width(&number, given.as_ref().unwrap_or(&value.unit), value))
}

/// A tolerance of so many of a unit; on a temperature it is a difference.
fn of_width(number: &Number, unit: &Unit, value: &Literal) -> Tolerance {
    // Points of a percentage carry no unit: `90 % ± 2`.
    let bare = unit.is_one() || (unit.symbol == "%" && value.unit.symbol == "%");
    let text =
        if bare { number.text.clone() } else { format!("{}{NO_BREAK}{}", number.text, unit.printed()) };
    Tolerance { half_width_si: number.value * unit.factor, relative: None, text, shape: Shape::Rectangular }
}

fn percent_of_percent(
    number: &Number,
    value: &Literal,
    at: std::ops::Range<usize>,
) -> Result<Tolerance, Fault> {
    let points = value.unit.value_of(value.quantity.si) * number.value / 100.0;
    let points = super::format::show_operand_number(points, 6);
    let share = &value.number_text;
    Err(Fault::new(
        &codes::BAD_TOLERANCE,
        at,
        "a tolerance in % on a value in % can mean points or a part of the value",
        words!(
            "type `{} % ± {}` for points, or `{} % ± {}` for {} % of it",
            share,
            number.text,
            share,
            points,
            number.text
        ),
    ))
}

#[cfg(test)]
mod tests {
    use super::{Shape, Tolerance, read_tolerance};
    use crate::findings::codes;
    use crate::quantities::literal::read_literal;

    #[track_caller]
    fn check(value: &str, tolerance: &str) -> Result<f64, &'static str> {
        let value = read_literal(value).expect(value);
        read_tolerance(tolerance, &value).map(|it| it.half_width_si).map_err(|fault| fault.code.name)
    }

    #[test]
    fn the_long_form_reads_as_the_short_one() {
        assert_eq!(check("64 kg", "1 kg"), Ok(1.0));
        assert_eq!(check("64 kg", "500 g"), Ok(0.5));
        assert_eq!(check("200 kg", "5 %"), Ok(10.0));
        assert_eq!(check("64 kg", "± 2"), Ok(2.0));
        assert_eq!(check("20 °C", "2 K"), Ok(2.0));
        assert_eq!(check("20 °C", "2 °C"), Ok(2.0));
        assert_eq!(check("90 %", "2"), Ok(0.02));
        assert_eq!(check("90 %", "2 %"), Err("bad-tolerance"));
        assert_eq!(check("20 °C", "5 %"), Err("bad-tolerance"));
        assert_eq!(check("64 kg", "-1 kg"), Err("bad-tolerance"));
        assert_eq!(check("64 kg", "1 m"), Err("unit-mismatch"));
    }

    #[test]
    fn both_readings_of_a_percentage_on_a_percentage_are_offered() {
        let value = read_literal("90 %").expect("a share");
        let fault = read_tolerance("2 %", &value).expect_err("two readings");
        assert_eq!(fault.code, &codes::BAD_TOLERANCE);
        assert!(fault.help.to_string().contains("`90 % ± 2` for points, or `90 % ± 1.8`"), "{}", fault.help);
    }

    #[test]
    fn standard_uncertainties_follow_jcgm_100() {
        let value = read_literal("64 kg ± 3 kg").expect("a mass").tolerance.expect("a tolerance");
        let of = |shape| Tolerance { shape, ..value.clone() }.standard_uncertainty();
        assert!((of(Shape::Rectangular) - 1.732_050_807_568_877_2).abs() < 1e-15);
        assert!((of(Shape::Triangular) - 1.224_744_871_391_589).abs() < 1e-15);
        assert!((of(Shape::Normal { coverage: 2.0 }) - 1.5).abs() < 1e-15);
    }
}

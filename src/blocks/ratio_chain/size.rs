//! Tyre sizes as they stand on sidewalls.

use crate::quantities::looks_like_number;

/// What a size code says, its values as the language reads them.
#[derive(Debug, PartialEq)]
pub(super) enum SizeCode {
    Section(Section),
    /// Overall diameter in inches.
    Flotation {
        diameter: String,
    },
}

/// `205/65R15`: section width, sidewall as a share of it, rim. The share is printed, or what is usual where the code
/// prints none.
#[derive(Debug, PartialEq)]
pub(super) struct Section {
    pub(super) width: String,
    pub(super) aspect: Result<String, &'static str>,
    pub(super) rim: String,
}

/// Of radial codes without an aspect, the "82 series": tabulated diameters imply 79 % to 82 % (UN R30 annex 5, from
/// memory).
const RADIAL: &str = "80 %";

/// Of cross-ply codes in inches: a 6.00-16 of 28.3 in implies 102 % (a tyre shop's listing, read), other tabulated ones
/// 95 % to 101 % (from memory).
const CROSS_PLY: &str = "100 %";

/// A rim of that many inches there is none: it is in millimetres (190/65R390).
const INCHES: f64 = 100.0;

/// A section width under this is in inches (5.50-12).
const MILLIMETRES: f64 = 30.0;

/// What stands behind the size: `94H`, `110/108R`.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Service {
    /// Of a tyre alone on its end of the axle.
    pub(super) load_index: Option<String>,
    /// Of one of two side by side.
    pub(super) twin_load_index: Option<String>,
    pub(super) speed_symbol: Option<String>,
}

/// Reads a code, with whatever stands around it on a sidewall: letters for the vehicle in front, `C`, `LT`, `XL`, load
/// index and speed symbol behind, spaces between.
pub(super) fn size_code(text: &str) -> Option<(SizeCode, Service)> {
    let mut rest = Reader(text.trim());
    let _vehicle = ["LT", "P"].into_iter().any(|letters| rest.take(letters));
    let front = rest.number()?;
    if rest.take("x") || rest.take("X") {
        let _width = rest.number()?;
        rest.construction()?;
        rest.number()?;
        let service = rest.service()?;
        return Some((SizeCode::Flotation { diameter: front.to_owned() }, service));
    }
    let printed = if rest.take("/") { Some(rest.number()?) } else { None };
    let cross_ply = rest.construction()? == Construction::CrossPly;
    let rim = rest.number()?;
    let service = rest.service()?;
    let unit = |number: &str, inches: bool| format!("{number} {}", if inches { "in" } else { "mm" });
    let small = |number: &str, bound: f64| number.parse::<f64>().is_ok_and(|number| number < bound);
    let in_inches = small(front, MILLIMETRES);
    // A radial code whose width is in inches, or a metric one without aspect and without `R`, is none that is known.
    if in_inches != (cross_ply && printed.is_none()) {
        return None;
    }
    let aspect = match printed {
        Some(printed) => Ok(format!("{printed} %")),
        None => Err(if cross_ply { CROSS_PLY } else { RADIAL }),
    };
    let rim = unit(rim, small(rim, INCHES));
    Some((SizeCode::Section(Section { width: unit(front, in_inches), aspect, rim }), service))
}

/// A code has an `R`, an `x` or a `/` among its digits; a diameter is a number with a unit, or a reference.
pub(super) fn looks_like_code(text: &str) -> bool {
    let solid =
        !text.contains(' ') && !text.contains('.') || text.contains(['x', 'X']) && !text.contains(' ');
    let lettered = text.chars().any(|c| matches!(c, 'R' | 'x' | 'X' | '/'));
    solid
        && lettered
        && text.chars().any(|c| c.is_ascii_digit())
        && !(looks_like_number(text) && text.contains(' '))
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Construction {
    Radial,
    CrossPly,
}

/// What is left of a code; spaces between its parts are passed over.
struct Reader<'t>(&'t str);

impl<'t> Reader<'t> {
    fn take(&mut self, what: &str) -> bool {
        let rest = self.0.trim_start().strip_prefix(what);
        self.0 = rest.unwrap_or(self.0);
        rest.is_some()
    }

    /// Digits with at most one point, and more than nothing.
    fn number(&mut self) -> Option<&'t str> {
        let text = self.0.trim_start();
        let end = text.find(|c: char| !c.is_ascii_digit() && c != '.').unwrap_or(text.len());
        let (number, rest) = text.split_at(end);
        self.0 = rest;
        number.parse::<f64>().is_ok_and(|number| number > 0.0).then_some(number)
    }

    fn construction(&mut self) -> Option<Construction> {
        let radial = ["ZR", "VR", "HR", "SR", "R"].into_iter().any(|letters| self.take(letters));
        if radial {
            return Some(Construction::Radial);
        }
        ["-", "B", "D"].into_iter().any(|letters| self.take(letters)).then_some(Construction::CrossPly)
    }

    /// What may stand behind a size, and nothing else: `C`, `LT`, `XL`, `94H`, `110/108R`.
    fn service(&mut self) -> Option<Service> {
        let mut service = Service::default();
        for written in self.0.split_whitespace() {
            let word = written.trim_matches(['(', ')']);
            // A pair in brackets behind another is what the tyre bears at another speed.
            if word.is_empty() || written.starts_with('(') && service.load_index.is_some() {
                continue;
            }
            let digits = word.trim_end_matches(|c: char| c.is_ascii_uppercase());
            let letters = &word[digits.len()..];
            let index = |text: &str| matches!(text.len(), 2 | 3) && text.bytes().all(|c| c.is_ascii_digit());
            if digits.is_empty() && letters.len() <= 2 {
                // A letter by itself is a speed symbol only behind its load index.
                let behind = service.load_index.is_some() && service.speed_symbol.is_none();
                service.speed_symbol = if behind { Some(letters.to_owned()) } else { service.speed_symbol };
            } else if letters.len() <= 1 && service.load_index.is_none() && digits.split('/').all(index) {
                let mut indices = digits.split('/').map(str::to_owned);
                (service.load_index, service.twin_load_index) = (indices.next(), indices.next());
                if indices.next().is_some() {
                    return None;
                }
                service.speed_symbol = (!letters.is_empty()).then(|| letters.to_owned());
            } else {
                return None;
            }
        }
        Some(service)
    }
}

#[cfg(test)]
mod tests {
    use super::{CROSS_PLY, RADIAL, Section, SizeCode, size_code};

    #[track_caller]
    fn section(text: &str, width: &str, aspect: Result<&str, &'static str>, rim: &str) {
        let section =
            Section { width: width.to_owned(), aspect: aspect.map(str::to_owned), rim: rim.to_owned() };
        assert_eq!(size_code(text).map(|code| code.0), Some(SizeCode::Section(section)), "{text}");
    }

    #[test]
    fn codes_are_read_as_they_stand_on_sidewalls() {
        for text in
            ["205/65R15", "205/65R15 94H", "205/65 R15", "205/65-15", "P205/65R15", "205/65ZR15 XL 94 H"]
        {
            let read = size_code(text).map(|code| code.0);
            assert!(
                matches!(&read, Some(SizeCode::Section(section)) if section.width == "205 mm"
                && section.aspect == Ok("65 %".to_owned()) && section.rim == "15 in"),
                "{text}: {read:?}"
            );
        }
        section("P235/75R15", "235 mm", Ok("75 %"), "15 in");
        section("205/75R16C 110/108R", "205 mm", Ok("75 %"), "16 in");
        section("155R13", "155 mm", Err(RADIAL), "13 in");
        section("145 R 12 C", "145 mm", Err(RADIAL), "12 in");
        section("145R12C 80/78N", "145 mm", Err(RADIAL), "12 in");
        section("5.50-12", "5.50 in", Err(CROSS_PLY), "12 in");
        section("6.00-16", "6.00 in", Err(CROSS_PLY), "16 in");
    }

    #[test]
    fn rims_of_hundreds_are_in_millimetres() {
        section("165R400", "165 mm", Err(RADIAL), "400 mm");
        section("190/65R390", "190 mm", Ok("65 %"), "390 mm");
    }

    #[test]
    fn a_flotation_code_states_its_diameter() {
        for text in ["31x10.50R15LT", "31X10.50 R15 LT", "31x10.50R15LT 109Q"] {
            assert_eq!(
                size_code(text).map(|code| code.0),
                Some(SizeCode::Flotation { diameter: "31".to_owned() }),
                "{text}"
            );
        }
    }

    #[test]
    fn what_is_no_code_is_none() {
        for text in
            ["0/65R15", "205/65", "205-15", "6.00R16", "31 in", "from edu.tyre", "205/65R15 abc", "R15", ""]
        {
            assert_eq!(size_code(text), None, "{text}");
        }
    }

    #[test]
    fn a_second_load_index_is_that_of_twins() {
        for (text, twin) in [
            ("205/75R16C 121/119R", Some("119")),
            ("205/75R16C (110/108) R", Some("108")),
            ("205/65R15 94H", None),
        ] {
            assert_eq!(size_code(text).expect(text).1.twin_load_index.as_deref(), twin, "{text}");
        }
        for text in ["205/75R16C 110/108/106R", "205/75R16C 110R 108R"] {
            assert_eq!(size_code(text), None, "{text}");
        }
    }

    #[test]
    fn load_index_and_speed_symbol_stand_behind() {
        for (text, index, symbol) in [
            ("205/65R15 94H", Some("94"), Some("H")),
            ("205/65R15 XL 94 H", Some("94"), Some("H")),
            ("205/75R16C 110/108R", Some("110"), Some("R")),
            ("205/75R16C 110/108R (107T)", Some("110"), Some("R")),
            ("145 R 12 C", None, None),
            ("31x10.50R15LT", None, None),
        ] {
            let service = size_code(text).expect(text).1;
            assert_eq!(
                (service.load_index.as_deref(), service.speed_symbol.as_deref()),
                (index, symbol),
                "{text}"
            );
        }
    }
}

//! A wheel as it is known: a tyre's diameter or size code, or how far it rolls at a turn.

use super::UNUSUAL_WHEEL;
use super::results::{BY_TURNS, DIAMETER_BY_SIZE, ROLLING_CIRCUMFERENCE, TYRE_DIAMETER};
use super::size::{Section, Service, SizeCode, looks_like_code, size_code};
use crate::findings::codes;
use crate::model::{Bench, Form, Leaf, Outcomes, Page, Slot};
use crate::quantities::si::{Length, Measure, Ratio};
use crate::source::Span;
use crate::words::{Words, words};

/// As the author gave it.
pub(super) enum Given {
    Tyre {
        size: Option<Size>,
        rolling_factor: Slot<Ratio>,
        loaded: Loaded,
    },
    /// Measured.
    Circumference(Slot<Length>),
    Rolled {
        turns: Slot<f64>,
        distance: Slot<Length>,
    },
    /// The finding has been made.
    Nothing,
}

/// Whether somebody said how a tyre rolls under load.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Loaded {
    Said,
    Assumed,
}

/// Where a tyre's diameter comes from.
pub(super) enum Size {
    Diameter(Slot<Length>),
    /// Rim + 2 × aspect × width.
    Section {
        width: Slot<Length>,
        aspect: Slot<Ratio>,
        rim: Slot<Length>,
    },
}

pub(super) struct Wheel {
    pub(super) given: Given,
    diameter: Slot<Length>,
    pub(super) circumference: Slot<Length>,
}

/// Diameters outside these are no tyre of a road vehicle.
const USUAL: [f64; 2] = [0.25, 1.5];

/// Rolling factors outside these are no tyre's: makers' turns per mile give 0.95 to 0.98.
const FACTORS: [f64; 2] = [0.85, 1.05];

impl Given {
    pub(super) fn read(form: &mut Form<'_, '_>) -> (Given, Service) {
        let mut service = Service::default();
        let measured = |form: &mut Form<'_, '_>| {
            if form.has("rolling_factor") {
                let at = form.place_of("rolling_factor");
                let message = "`rolling_factor` beside a circumference that was measured";
                form.report(&codes::BAD_VALUE, at, message, "take it away: what was measured has it within");
                form.optional::<Ratio>("rolling_factor");
            }
        };
        let given = match form.one_of(&["tyre", "rolling_circumference", "rolled"]) {
            Some("rolling_circumference") => {
                measured(form);
                Given::Circumference(form.required("rolling_circumference"))
            }
            Some("rolled") => {
                measured(form);
                let rolled = form.group("rolled", |form| Given::Rolled {
                    turns: form.required("turns"),
                    distance: form.required("distance"),
                });
                rolled.unwrap_or(Given::Nothing)
            }
            Some(_) => {
                let loaded = if form.has("rolling_factor") { Loaded::Said } else { Loaded::Assumed };
                let size = read_size(form, &mut service);
                Given::Tyre { size, rolling_factor: form.assumed("rolling_factor"), loaded }
            }
            None => Given::Nothing,
        };
        (given, service)
    }
}

impl Wheel {
    pub(super) fn declare(out: &mut Outcomes<'_, '_, '_>, given: Given) -> Wheel {
        let size = match &given {
            Given::Tyre { size, .. } => size.as_ref(),
            _ => None,
        };
        let diameter = match size {
            Some(Size::Diameter(slot)) => out.result(TYRE_DIAMETER.with("TYRE", out.names_of([*slot]))),
            Some(Size::Section { width, aspect, rim }) => {
                let [width, rim] = [width, rim].map(|slot| out.names_of([*slot]));
                let aspect = out.names_of([*aspect]);
                out.result(DIAMETER_BY_SIZE.with("RIM", rim).with("ASPECT", aspect).with("WIDTH", width))
            }
            None => out.unknown(&TYRE_DIAMETER),
        };
        let circumference = match given {
            Given::Tyre { .. } => out.result(&ROLLING_CIRCUMFERENCE),
            Given::Circumference(slot) => slot,
            Given::Rolled { .. } => out.result(&BY_TURNS),
            Given::Nothing => out.unknown(&ROLLING_CIRCUMFERENCE),
        };
        Wheel { given, diameter, circumference }
    }

    pub(super) fn evaluate(&self, bench: &mut Bench<'_>) -> Length {
        let circumference = match &self.given {
            Given::Tyre { size, rolling_factor, .. } => {
                let diameter = match size {
                    Some(Size::Diameter(slot)) => bench.get(*slot),
                    Some(Size::Section { width, aspect, rim }) => {
                        bench.get(*rim) + 2.0 * bench.get(*aspect) * bench.get(*width)
                    }
                    None => Length::from_si(f64::NAN),
                };
                bench.set(self.diameter, diameter);
                std::f64::consts::PI * bench.get(*rolling_factor) * diameter
            }
            Given::Circumference(slot) => return bench.get(*slot),
            Given::Rolled { turns, distance } => bench.get(*distance) / bench.get(*turns),
            Given::Nothing => Length::from_si(f64::NAN),
        };
        bench.set(self.circumference, circumference);
        circumference
    }

    /// What is no wheel of a road vehicle makes every speed behind it wrong.
    pub(super) fn question(&self, page: &mut Page<'_>) {
        let around = page.get(self.circumference).map(|way| way.si() / std::f64::consts::PI);
        let across = page.get(self.diameter).map(Measure::si).or(around);
        if let Some(across) = across.filter(|across| !(USUAL[0]..=USUAL[1]).contains(across)) {
            let at = match &self.given {
                Given::Tyre { size: Some(Size::Diameter(slot)), .. } | Given::Circumference(slot) => {
                    slot.index()
                }
                Given::Tyre { size: Some(Size::Section { rim, .. }), .. } => rim.index(),
                Given::Rolled { distance, .. } => distance.index(),
                _ => self.circumference.index(),
            };
            let across = page.value_as(self.diameter_or(), across);
            let message = words!("a wheel of {} across, where 0.25 m to 1.5 m are usual", across);
            let help = "look at the unit and the digits: a diameter is like `634 mm` or `31 in`, a circumference about 2 m";
            page.find(&UNUSUAL_WHEEL, at, message, help);
            page.question(self.circumference);
        }
        if let Given::Tyre { rolling_factor, .. } = self.given
            && page
                .get(rolling_factor)
                .is_some_and(|factor| !(FACTORS[0]..=FACTORS[1]).contains(&factor.value))
        {
            let message = words!("a rolling factor of {}", page.value(rolling_factor));
            let share = page.get(rolling_factor).map_or(f64::NAN, |factor| factor.value / 100.0);
            let help: Words = match (FACTORS[0]..=FACTORS[1]).contains(&share) {
                true => words!("type `{} %`, if that is meant", 100.0 * share),
                false => {
                    "a loaded tyre rolls 0.95 to 0.98 of π times its diameter: measure it, or leave it out"
                        .into()
                }
            };
            page.find(&UNUSUAL_WHEEL, rolling_factor.index(), message, help);
            page.question(self.circumference);
        }
    }

    /// A length to show others as.
    fn diameter_or(&self) -> Slot<Length> {
        match self.given {
            Given::Tyre { .. } => self.diameter,
            _ => self.circumference,
        }
    }
}

/// Reads the field `tyre`, and what stands behind its size; `None` after a finding.
fn read_size(form: &mut Form<'_, '_>, service: &mut Service) -> Option<Size> {
    let raw = form.take("tyre").and_then(|value| Some((value.text()?.trim().to_owned(), value.span)));
    if let Some((text, span)) = &raw
        && let Some(at) = text.find('±').or_else(|| text.find("+/-"))
        && (looks_like_code(text[..at].trim()) || size_code(text[..at].trim()).is_some())
    {
        form.text("tyre");
        let help =
            "a size code is exact: take the tolerance away, or type a measured diameter, `634 mm ± 3 mm`";
        form.report(&codes::BAD_TOLERANCE, *span, "a size code with a tolerance", help);
        return None;
    }
    let Some((text, span)) = raw else { return Some(Size::Diameter(form.required("tyre"))) };
    match size_code(&text) {
        Some((code, behind)) => {
            form.text("tyre");
            *service = behind;
            Some(of_code(form, &code, span))
        }
        None if looks_like_code(&text) => {
            form.text("tyre");
            let message = words!("`{}` is no tyre size that is known here", text);
            let help = "type a diameter, like `31 in`, or a code like `205/65R15 94H`, `LT265/75R16`, `31x10.50R15LT`, `155R13`, `5.50-12` or `190/65R390`";
            form.report(&codes::BAD_VALUE, span, message, help);
            None
        }
        None => Some(Size::Diameter(form.required("tyre"))),
    }
}

fn of_code(form: &mut Form<'_, '_>, code: &SizeCode, span: Span) -> Size {
    match code {
        SizeCode::Flotation { diameter } => {
            Size::Diameter(form.put("tyre.diameter", span, Leaf::stated(&format!("{diameter} in"))))
        }
        SizeCode::Section(Section { width, aspect, rim }) => Size::Section {
            width: form.put("tyre.width", span, Leaf::stated(width)),
            aspect: match aspect {
                Ok(printed) => form.put("tyre.aspect", span, Leaf::stated(printed)),
                Err(usual) => form.put("tyre.aspect", form.place, Leaf::assumed(usual)),
            },
            rim: form.put("tyre.rim", span, Leaf::stated(rim)),
        },
    }
}

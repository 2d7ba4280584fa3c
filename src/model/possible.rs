//! What a value may be at all: within its field's range, and of a size that its quantity can have; and what is usual.

use super::field::Range;
use super::form::Form;
use super::kind::Kind;
use super::node::{NodeDecl, Origin, Role};
use crate::findings::codes;
use crate::quantities::{Curve, Sort, Unit, sort};
use crate::rules::possible::{Sizes, is_positive, sizes, usual};
use crate::source::Span;
use crate::words::{Words, words};

/// What one value may be.
#[derive(Clone, Copy)]
pub(crate) struct Possible {
    range: Range,
    sizes: Option<&'static Sizes>,
    point: bool,
}

impl Possible {
    pub(crate) fn new(range: Range, sort: Option<&Sort>) -> Possible {
        let sizes = sort.and_then(|sort| sizes(sort.name));
        Possible { range, sizes, point: sort.is_some_and(|sort| sort.point) }
    }

    /// A value in SI.
    pub(crate) fn holds(self, si: f64) -> bool {
        self.range.holds(si) && self.sizes.is_none_or(|sizes| sizes.hold(si, self.point))
    }

    /// The same of what comes out of a calculation, and of an end of a tolerance: it may come as near to 0 as it likes.
    pub(crate) fn reaches(self, si: f64) -> bool {
        self.range.holds(si) && self.sizes.is_none_or(|sizes| si.abs() <= sizes.most)
    }

    /// What a value that it does not hold must be.
    pub(crate) fn words(self, si: f64) -> Words {
        match self.sizes {
            Some(sizes) if self.range.holds(si) && si.abs() > sizes.most => {
                words!("at most `{}`", sizes.texts[1])
            }
            Some(sizes) if self.range.holds(si) => words!("at least `{}`", sizes.texts[0]),
            _ => self.range.words().into(),
        }
    }
}

impl Form<'_, '_> {
    /// The value, and both ends of its tolerance, must be possible.
    pub(super) fn in_range(&mut self, index: usize, span: Span, range: Range) {
        let possible = Possible::new(range, self.draft.nodes[index].sort);
        self.must_be(index, span, possible);
    }

    /// Whether each value of a table's column is possible, NaN and infinities aside; the finding is made where one is not.
    pub(super) fn column_in_range(&mut self, values: &[f64], unit: &Unit, span: Span) -> bool {
        let sort = sort::of_unit(unit);
        let possible = Possible::new(Range::Any, sort);
        let wrong = values.iter().find(|si| si.is_finite() && !possible.reaches(**si));
        if let (Some(wrong), Some(sort)) = (wrong, sort) {
            let message =
                words!("a value of a table, {}, which must be {}", sort.words(), possible.words(*wrong));
            self.report(&codes::OUT_OF_RANGE, span, message, "look at the numbers and their units");
        }
        wrong.is_none()
    }

    /// The points of a curve must be possible.
    pub(super) fn points_in_range(&mut self, index: usize, span: Span, range: Range) {
        let Role::Field(Origin::Curve { curve, .. }) = &self.draft.nodes[index].role else { return };
        if let Some(message) = impossible_point(curve, range) {
            self.fail(index, &codes::OUT_OF_RANGE, span, message, "look at the numbers and their units");
        }
    }

    /// A value of a part, under a name of its author's: kinds read it by that name.
    pub(super) fn rated(&mut self, index: usize) {
        let node = &self.draft.nodes[index];
        let range = if is_positive(&node.name) { Range::Positive } else { Range::Any };
        let span = node.span;
        let unit: Option<&Unit> = node.leaf().map(|leaf| &leaf.literal.unit);
        let possible = Possible::new(range, unit.and_then(sort::of_unit));
        self.must_be(index, span, possible);
    }

    /// A value that was read as one of any dimension must be of that sort, wherever it comes from.
    pub(super) fn must_fit(&mut self, index: usize, sort: &'static Sort) {
        let node = &mut self.draft.nodes[index];
        let (span, curve) = (node.span, matches!(node.role, Role::Field(Origin::Curve { .. })));
        let fault = node.leaf().and_then(|leaf| leaf.literal.expect(sort).err());
        if let Some(fault) = fault.filter(|_| !curve) {
            self.fail(index, fault.code, span, fault.message, fault.help);
        } else if let Role::Field(Origin::Reference(_)) = &node.role {
            node.sort = Some(sort);
        }
    }

    fn must_be(&mut self, index: usize, span: Span, possible: Possible) {
        let node = &self.draft.nodes[index];
        if let Some((span, message, help)) = impossible(node, span, possible) {
            self.fail(index, &codes::OUT_OF_RANGE, span, message, help);
        } else if let Some((message, help)) = question(self.draft.kind, node, possible) {
            self.report(&codes::UNUSUAL_VALUE, span, message, help);
        }
    }
}

/// Between what a value usually is, where the one that was written is not.
pub(crate) fn unusual(kind: &Kind, node: &NodeDecl) -> Option<&'static Sizes> {
    let leaf = node.leaf().filter(|leaf| !leaf.default)?;
    // A value of a list has the list's name before its own.
    let usual = match node.doc {
        Some(doc) => usual(kind.name, doc.name),
        None => usual(kind.name, &node.name).or_else(|| usual(kind.name, node.name.rsplit_once('.')?.0)),
    }?;
    let quantity = leaf.literal.quantity;
    (usual.dimension.same(quantity.dimension) && !usual.hold(quantity.si, false)).then_some(usual)
}

/// What is said of a value that is hardly ever meant, and what to do.
fn question(kind: &Kind, node: &NodeDecl, possible: Possible) -> Option<(Words, Words)> {
    let usual = unusual(kind, node)?;
    let literal = &node.leaf()?.literal;
    let written = literal.written().replace('\u{a0}', " ");
    let [least, most] = &usual.texts;
    let message = words!("{} of `{}`, where `{}` to `{}` is usual", node.label(), written, least, most);
    let help = match literal.meant(|si| usual.hold(si, false) && possible.holds(si)) {
        Some(meant) => words!("type `{}`, if that is meant", meant),
        None => "look at the number and its unit".into(),
    };
    Some((message, help))
}

/// What is wrong with a value that was written: where, in what words, and what to do.
fn impossible(node: &NodeDecl, span: Span, possible: Possible) -> Option<(Span, Words, Words)> {
    let leaf = node.leaf()?;
    let name = node.label();
    if let Some(readings) = &leaf.readings
        && let Some(reading) = readings.values.iter().find(|value| !possible.holds(**value))
    {
        let message = words!("a reading of {} where each must be {}", name, possible.words(*reading));
        return Some((readings.span, message, "look at the numbers and their units".into()));
    }
    let si = leaf.literal.quantity.si;
    let written = leaf.literal.written().replace('\u{a0}', " ");
    if !possible.holds(si) {
        let message = words!("{} of `{}`, where it must be {}", name, written, possible.words(si));
        let help = match leaf.literal.meant(|si| possible.holds(si) && possible.range.is_likely(si)) {
            Some(meant) => words!("type `{}`, if that is meant", meant),
            None => "look at the number and its unit".into(),
        };
        return Some((span, message, help));
    }
    let half = leaf.literal.tolerance.as_ref().map_or(0.0, |tolerance| tolerance.half_width_si);
    // The whole width counts as possible at its very ends: a share of 95 % ± 5 % reaches 100 %.
    let slack = 1e-9 * (si.abs() + half);
    let bearable = |value: f64| [0.0, slack, -slack].iter().any(|slack| possible.reaches(value + slack));
    let end = [si - half, si + half].into_iter().find(|end| !bearable(*end))?;
    let must = possible.words(end);
    let message = words!("{} of `{}` may be a value that is impossible: it must be {}", name, written, must);
    Some((span, message, "make the tolerance smaller, or look at the number".into()))
}

/// What is said of a curve with a point that can't be.
fn impossible_point(curve: &Curve, range: Range) -> Option<Words> {
    [&curve.x, &curve.y].into_iter().enumerate().find_map(|(axis, unit)| {
        let possible = Possible::new(range, sort::of_unit(unit));
        let along = |point: &(f64, f64)| if axis == 0 { point.0 } else { point.1 };
        let wrong = curve.points().iter().map(along).find(|si| !possible.holds(*si))?;
        let quantity = sort::of_unit(unit).map_or("value", |sort| sort.name);
        Some(words!("a point of a curve whose {} must be {}", quantity, possible.words(wrong)))
    })
}

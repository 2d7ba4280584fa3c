//! Reads one value of a block: a quantity, the long form, readings, or a reference to another value.

use super::block::Slot;
use super::form::Form;
use super::kind::Range;
use super::leaf::{Leaf, Readings};
use super::node::{Origin, Resolved, Role, Wanted};
use crate::findings::{codes, suggest};
use crate::journal::{Node, NodeValue};
use crate::quantities::{
    Basis, Literal, Shape, Sort, Unit, looks_like_number, read_expression, read_literal, read_note,
    read_tolerance, show_number,
};
use crate::source::Span;

/// A leaf from a literal, its note taken over.
pub(super) fn leaf(literal: Literal, span: Span) -> Leaf {
    let mut leaf = Leaf::new(literal);
    if let Some(note) = leaf.literal.note.clone() {
        leaf.basis = Some(note.basis);
        leaf.source = note.source.map(|(id, at)| (id, span.part(at.start, at.len())));
        leaf.remark = note.remark;
    }
    leaf
}

impl Form<'_, '_> {
    /// Reads a value into a field, with all its findings; the slot stays unknown where it can't be read.
    pub(super) fn quantity<T>(
        &mut self,
        key: &str,
        value: &Node,
        sort: Option<&'static Sort>,
        range: Range,
    ) -> Slot<T> {
        let default_unit = || sort.map_or_else(Unit::one, Sort::display_unit);
        match &value.value {
            NodeValue::Scalar { text, .. } => {
                let (unit, origin) = self.scalar(key, text, value.span, sort);
                let slot = self.declare(
                    key,
                    value.span,
                    sort,
                    unit.unwrap_or_else(default_unit),
                    Role::Field(origin),
                );
                self.in_range(slot.index(), value.span, range);
                slot
            }
            NodeValue::Mapping(entries) => {
                let leaf = self.long_form(key, entries, value.span, sort);
                let unit = leaf.as_ref().map_or_else(default_unit, |leaf| leaf.literal.unit.clone());
                let origin = leaf.map_or(Origin::Failed, |leaf| Origin::Leaf(Box::new(leaf)));
                let slot = self.declare(key, value.span, sort, unit, Role::Field(origin));
                self.in_range(slot.index(), value.span, range);
                slot
            }
            NodeValue::Sequence(_) | NodeValue::Empty => {
                self.wrong_shape(key, value, "a value with its unit");
                self.declare(key, value.span, sort, default_unit(), Role::Field(Origin::Failed))
            }
        }
    }

    fn scalar(
        &mut self,
        key: &str,
        text: &str,
        span: Span,
        sort: Option<&'static Sort>,
    ) -> (Option<Unit>, Origin) {
        let trimmed = text.trim();
        if let Some(rest) = trimmed.strip_prefix("from ") {
            let lead = text.len() - text.trim_start().len() + "from ".len();
            return (None, self.reference(rest, span, lead));
        }
        if looks_like_number(trimmed) {
            return match self.literal(trimmed, span, sort) {
                Some(leaf) => (Some(leaf.literal.unit.clone()), Origin::Leaf(Box::new(leaf))),
                None => (None, Origin::Failed),
            };
        }
        if trimmed.contains('.') && read_expression(trimmed).is_ok_and(|read| read.as_name().is_some()) {
            return (None, self.reference(trimmed, span, 0));
        }
        let expected = sort.map_or_else(|| "a value with its unit".to_owned(), Sort::words);
        let example = sort.map_or_else(|| "`64 kg`".to_owned(), |sort| format!("`{}`", sort.example));
        if !self.value_was_cut(trimmed, span) {
            self.report(
                &codes::BAD_VALUE,
                span,
                format!("`{}` where {expected} is expected for `{key}`", shorten(trimmed)),
                format!("type a number with its unit, like {example}, or `from block.result`"),
            );
        }
        (None, Origin::Failed)
    }

    fn value_was_cut(&mut self, text: &str, span: Span) -> bool {
        let cut = text.matches('(').count() > text.matches(')').count();
        if cut {
            self.report(
                &codes::YAML_CUT_VALUE,
                span,
                format!("`{}` is cut off: YAML ends a value at a comma, ` #` or `: `", shorten(text)),
                "put the whole value in quotes",
            );
        }
        cut
    }

    fn reference(&mut self, text: &str, span: Span, lead: usize) -> Origin {
        let lead = lead + text.len() - text.trim_start().len();
        match read_expression(text.trim()) {
            Ok(expression) => {
                let text = Some(span.part(lead, span.range().len()));
                Origin::Reference(Resolved { expression, text, wanted: Wanted::Author, whole_curve: false })
            }
            Err(fault) => {
                self.fault(fault, span, lead);
                Origin::Failed
            }
        }
    }

    /// A literal of the expected dimension, with the block's basis where it has none of its own.
    pub(super) fn literal(&mut self, text: &str, span: Span, sort: Option<&'static Sort>) -> Option<Leaf> {
        let literal = match read_literal(text) {
            Ok(literal) => literal,
            Err(fault) => {
                self.fault(fault, span, 0);
                return None;
            }
        };
        if let Some(sort) = sort
            && let Err(fault) = literal.expect(sort)
        {
            self.fault(fault, span, 0);
            return None;
        }
        let mut leaf = leaf(literal, span);
        self.with_block_basis(&mut leaf);
        Some(leaf)
    }

    fn with_block_basis(&self, leaf: &mut Leaf) {
        if leaf.basis.is_none()
            && let Some((basis, source)) = &self.draft.basis
        {
            leaf.basis = Some(*basis);
            leaf.source.clone_from(source);
        }
    }

    /// `{value, tolerance, shape, coverage, basis, source, remark}` or `{readings, together, basis, source, remark}`.
    pub(super) fn long_form(
        &mut self,
        key: &str,
        entries: &[(Node, Node)],
        span: Span,
        sort: Option<&'static Sort>,
    ) -> Option<Leaf> {
        const KEYS: [&str; 9] =
            ["value", "tolerance", "shape", "coverage", "basis", "source", "remark", "readings", "together"];
        let mut sound = true;
        for (name, _) in entries {
            if let NodeValue::Scalar { text, .. } = &name.value
                && !KEYS.contains(&text.as_str())
            {
                let help = match suggest(text, KEYS) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "the keys of a value are `value`, `tolerance`, `shape`, `coverage`, `basis`, `source`, `remark`, or `readings` and `together`".to_owned(),
                };
                self.report(&codes::UNKNOWN_KEY, name.span, format!("a value has no key `{text}`"), help);
                sound = false;
            }
        }
        let find = |name: &str| entries.iter().find(|(key, _)| key.is_text(name)).map(|(_, value)| value);
        let mut leaf = match (find("value"), find("readings")) {
            (Some(value), None) => {
                let text = self.text_of("value", value)?;
                self.literal(&text, value.span, sort)?
            }
            (None, Some(readings)) => self.readings(readings, find("together"), sort)?,
            (Some(_), Some(readings)) => {
                let message = format!("`{key}` has both `value` and `readings`");
                self.report(&codes::BAD_VALUE, readings.span, message, "keep one of them");
                return None;
            }
            (None, None) => {
                let message = format!("`{key}` has no `value`");
                self.report(&codes::MISSING_FIELD, span, message, "type `value: …`, or `readings: [ … ]`");
                return None;
            }
        };
        if let Some(node) = find("tolerance") {
            let text = self.text_of("tolerance", node)?;
            match read_tolerance(&text, &leaf.literal) {
                Ok(tolerance) => leaf.literal.tolerance = Some(tolerance),
                Err(fault) => {
                    self.fault(fault, node.span, 0);
                    return None;
                }
            }
        }
        sound &= self.shape(&mut leaf, find("shape"), find("coverage")).is_some();
        if let Some(node) = find("basis") {
            let text = self.text_of("basis", node)?;
            match Basis::read(text.trim()) {
                Some(basis) => leaf.basis = Some(basis),
                None => {
                    let help = match suggest(&text, Basis::ALL.map(Basis::word)) {
                        Some(near) => format!("did you mean `{near}`?"),
                        None => format!("a basis is one of {}", Basis::ALL.map(Basis::word).join(", ")),
                    };
                    self.report(&codes::BAD_VALUE, node.span, format!("`{text}` is no basis"), help);
                    sound = false;
                }
            }
        }
        if let Some(node) = find("source") {
            leaf.source = Some((self.text_of("source", node)?.trim().to_owned(), node.span));
        }
        if let Some(node) = find("remark") {
            leaf.remark = Some(self.text_of("remark", node)?);
        }
        self.with_block_basis(&mut leaf);
        sound.then_some(leaf)
    }

    fn shape(&mut self, leaf: &mut Leaf, shape: Option<&Node>, coverage: Option<&Node>) -> Option<()> {
        let factor = match coverage {
            Some(node) => {
                let text = self.text_of("coverage", node)?;
                match text.trim().parse::<f64>() {
                    Ok(factor) if factor > 0.0 && factor.is_finite() => factor,
                    _ => {
                        self.report(
                            &codes::BAD_VALUE,
                            node.span,
                            format!("`{text}` as a coverage factor"),
                            "type a number above 0, usually 2",
                        );
                        return None;
                    }
                }
            }
            None => 2.0,
        };
        let Some(node) = shape else { return Some(()) };
        let text = self.text_of("shape", node)?;
        let shape = match text.trim() {
            "rectangular" => Shape::Rectangular,
            "triangular" => Shape::Triangular,
            "normal" => Shape::Normal { coverage: factor },
            other => {
                let words = ["rectangular", "triangular", "normal"];
                let help = match suggest(other, words) {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "a shape is `rectangular`, `triangular` or `normal`".to_owned(),
                };
                self.report(
                    &codes::BAD_VALUE,
                    node.span,
                    format!("`{other}` is no shape of a tolerance"),
                    help,
                );
                return None;
            }
        };
        match &mut leaf.literal.tolerance {
            Some(tolerance) => {
                tolerance.shape = shape;
                Some(())
            }
            None => {
                self.report(
                    &codes::BAD_TOLERANCE,
                    node.span,
                    "a shape without a tolerance",
                    "type `tolerance: …` too",
                );
                None
            }
        }
    }

    fn readings(
        &mut self,
        list: &Node,
        together: Option<&Node>,
        sort: Option<&'static Sort>,
    ) -> Option<Leaf> {
        let NodeValue::Sequence(items) = &list.value else {
            self.wrong_shape("readings", list, "a list of values");
            return None;
        };
        if items.len() < 2 {
            self.report(
                &codes::BAD_VALUE,
                list.span,
                format!(
                    "{} reading{} where two or more are needed",
                    items.len(),
                    if items.len() == 1 { "" } else { "s" }
                ),
                "one reading says nothing of its spread: type it as a value with a tolerance",
            );
            return None;
        }
        let mut leaves = Vec::new();
        for item in items {
            let text = self.text_of("readings", item)?;
            let leaf = self.literal(&text, item.span, sort)?;
            if leaf.literal.tolerance.is_some() || leaf.literal.note.is_some() {
                self.report(
                    &codes::BAD_TOLERANCE,
                    item.span,
                    "a reading with a tolerance or a note",
                    "type the number and its unit alone; `basis` and `source` stand beside `readings`",
                );
                return None;
            }
            leaves.push(leaf);
        }
        let first = leaves[0].literal.clone();
        if let Some(at) =
            leaves.iter().position(|leaf| !leaf.literal.quantity.dimension.same(first.quantity.dimension))
        {
            self.report(
                &codes::UNIT_MISMATCH,
                items[at].span,
                "readings of unlike dimensions",
                "give all readings the same unit",
            );
            return None;
        }
        let values: Vec<f64> = leaves.iter().map(|leaf| leaf.literal.quantity.si).collect();
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        let significant = leaves.iter().map(|leaf| leaf.literal.significant).max().unwrap_or(4) + 1;
        let shown = show_number(first.unit.value_of(mean), significant as usize);
        let literal = Literal { number_text: shown, significant, ..first }.at_si(mean);
        let together = match together {
            Some(node) => Some(self.text_of("together", node)?.trim().to_owned()),
            None => None,
        };
        let mut leaf = Leaf::new(literal);
        leaf.basis = Some(Basis::Measured);
        leaf.readings = Some(Readings { values, together });
        Some(leaf)
    }

    pub(super) fn text_of(&mut self, key: &str, node: &Node) -> Option<String> {
        match &node.value {
            NodeValue::Scalar { text, .. } => Some(text.clone()),
            _ => {
                self.wrong_shape(key, node, "a single value");
                None
            }
        }
    }

    /// The block's own `basis: measured WB-1`.
    pub(super) fn block_basis(&mut self, node: &Node) {
        let Some(text) = self.text_of("basis", node) else { return };
        match read_note(text.trim()) {
            Ok(note) => {
                let source = note.source.map(|(id, at)| (id, node.span.part(at.start, at.len())));
                self.draft.basis = Some((note.basis, source));
            }
            Err(fault) => self.fault(fault, node.span, 0),
        }
    }

    /// The value, and both ends of its tolerance, must be possible.
    fn in_range(&mut self, index: usize, span: Span, range: Range) {
        let node = &self.draft.nodes[index];
        let Some(leaf) = node.leaf() else { return };
        let si = leaf.literal.quantity.si;
        let written = leaf.literal.written().replace('\u{a0}', " ");
        let half = leaf.literal.tolerance.as_ref().map_or(0.0, |tolerance| tolerance.half_width_si);
        // The whole width counts as possible at its very ends: a share of 95 % ± 5 % reaches 100 %.
        let slack = 1e-9 * (si.abs() + half);
        let bearable =
            |value: f64| range.holds(value) || range.holds(value + slack) || range.holds(value - slack);
        let name = node.label();
        if !range.holds(si) {
            let message = format!("{name} of `{written}`, where it must be {}", range.words());
            self.fail(index, &codes::OUT_OF_RANGE, span, message, "look at the number and its unit");
        } else if !bearable(si - half) || !bearable(si + half) {
            let message = format!(
                "{name} of `{written}` may be a value that is impossible: it must be {}",
                range.words()
            );
            self.fail(
                index,
                &codes::OUT_OF_RANGE,
                span,
                message,
                "make the tolerance smaller, or look at the number",
            );
        }
    }
}

fn shorten(text: &str) -> String {
    match text.char_indices().nth(60) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text.to_owned(),
    }
}

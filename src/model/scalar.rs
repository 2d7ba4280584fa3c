//! Reads one value of a block: a quantity, or a reference to another value.

use super::field::Range;
use super::form::Form;
use super::leaf::{Leaf, SPREAD};
use super::node::{Origin, Resolved, Role, Wanted};
use super::slot::Slot;
use super::spelling::names_a_file;
use crate::findings::codes;
use crate::journal::{Node, NodeValue};
use crate::quantities::{
    Sort, Unit, instead_of, looks_like_number, read_expression, read_formula, read_literal, read_note, sort,
};
use crate::source::Span;
use crate::words::words;

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
                self.not_grouped(slot.index(), value.span);
                self.spread_behind(key, slot.index());
                slot
            }
            NodeValue::Mapping(entries) => {
                let leaf = self.long_form(key, entries, value.span, sort);
                let unit = leaf.as_ref().map_or_else(default_unit, |leaf| leaf.literal.unit.clone());
                let origin = leaf.map_or(Origin::Failed, |leaf| Origin::Leaf(Box::new(leaf)));
                let slot = self.declare(key, value.span, sort, unit, Role::Field(origin));
                self.in_range(slot.index(), value.span, range);
                if let Some(spread) = self.draft.nodes[slot.index()].leaf().and_then(Leaf::spread_of_pieces) {
                    let (unit, origin) = (spread.literal.unit.clone(), Origin::Leaf(Box::new(spread)));
                    let name = format!("{key}{SPREAD}");
                    self.declare::<f64>(&name, value.span, None, unit, Role::Field(origin));
                }
                slot
            }
            NodeValue::Sequence(_) | NodeValue::Empty => {
                self.wrong_shape(key, value, "a value with its unit");
                self.declare(key, value.span, sort, default_unit(), Role::Field(Origin::Failed))
            }
        }
    }

    /// What is taken whole from readings that are `of: pieces` brings along how much the pieces differ, where the author
    /// does not say that here.
    fn spread_behind(&mut self, key: &str, index: usize) {
        let node = &self.draft.nodes[index];
        let (Role::Field(Origin::Reference(taken)), span) = (&node.role, node.span) else { return };
        let Some(name) = taken.expression.as_name().map(|name| name.text()) else { return };
        let spread = format!("{key}{SPREAD}");
        if self.has(&spread) || !self.lookup().leads_to_pieces(&name) {
            return;
        }
        let expression = read_formula(&format!("{name}{SPREAD}")).expect("a name is an expression");
        let behind = Resolved {
            expression,
            text: None,
            wanted: Wanted::Kind,
            whole_curve: false,
            otherwise: None,
            through: None,
        };
        let role = Role::Field(Origin::Reference(behind));
        self.declare::<f64>(&spread, span, None, Unit::one(), role);
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
        if names_a_file(trimmed) {
            self.wrong_shape(key, &Node::scalar(trimmed, span), "a value, or a curve");
            return (None, Origin::Failed);
        }
        if trimmed.contains('.') && read_expression(trimmed).is_ok_and(|read| read.as_name().is_some()) {
            return (None, self.reference(trimmed, span, 0));
        }
        let expected = sort.map_or_else(|| "a value with its unit".to_owned(), Sort::words);
        let example = sort.map_or_else(|| "`64 kg`".into(), |sort| words!("`{}`", sort.example));
        if !self.value_was_cut(trimmed, span) {
            self.report(
                &codes::BAD_VALUE,
                span,
                words!("`{}` where {} is expected for `{}`", shorten(trimmed), expected, key),
                instead_of(trimmed).unwrap_or_else(|| {
                    words!("type a number with its unit, like {}, or `from block.result`", example)
                }),
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
                words!("`{}` is cut off: YAML ends a value at a comma, ` #` or `: `", shorten(text)),
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
                Origin::Reference(Resolved {
                    expression,
                    text,
                    wanted: Wanted::Author,
                    whole_curve: false,
                    otherwise: None,
                    through: None,
                })
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
        let mut leaf = Leaf::read(literal, span);
        self.with_block_basis(&mut leaf);
        Some(leaf)
    }

    pub(super) fn with_block_basis(&self, leaf: &mut Leaf) {
        if leaf.basis.is_none()
            && let Some((basis, source)) = &self.draft.basis
        {
            leaf.basis = Some(*basis);
            leaf.source.clone_from(source);
        }
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
                self.draft.cited.extend(source.clone());
                self.draft.basis = Some((note.basis, source));
            }
            Err(fault) => self.fault(fault, node.span, 0),
        }
    }

    /// A point that groups digits would make a thousandth of what is meant.
    fn not_grouped(&mut self, index: usize, span: Span) {
        let node = &self.draft.nodes[index];
        let Some(leaf) = node.leaf() else { return };
        let field = node.doc.and_then(|doc| doc.usual);
        let usual = field.or_else(|| sort::usual(leaf.literal.unit.dimension));
        let Some(grouped) = usual.and_then(|usual| leaf.literal.grouped(usual)) else { return };
        let written = leaf.literal.written().replace('\u{a0}', " ");
        let message = words!("{} of `{}`, which is unusually little", node.label(), written);
        let help = words!("type `{}`, if the point groups digits; else leave a zero at its end out", grouped);
        self.fail(index, &codes::BAD_VALUE, span, message, help);
    }
}

fn shorten(text: &str) -> String {
    match text.char_indices().nth(60) {
        Some((at, _)) => format!("{}…", &text[..at]),
        None => text.to_owned(),
    }
}

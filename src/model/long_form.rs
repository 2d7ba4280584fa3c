//! Reads the long form of a value, with its tolerance, shape, basis and source apart, and repeated readings.

use super::form::Form;
use super::leaf::{Leaf, Readings};
use crate::findings::{Code, codes, suggest};
use crate::journal::{Node, NodeValue};
use crate::quantities::{Basis, Literal, Shape, Sort, read_tolerance, show_number};
use crate::source::Span;
use crate::words::words;

impl Form<'_, '_> {
    /// `{value, tolerance, shape, coverage, basis, source, remark}`, or `readings` in place of `value`, then also with
    /// `together`, `resolution` and `of`.
    pub(super) fn long_form(
        &mut self,
        key: &str,
        entries: &[(Node, Node)],
        span: Span,
        sort: Option<&'static Sort>,
    ) -> Option<Leaf> {
        const KEYS: [&str; 11] = [
            "value",
            "tolerance",
            "shape",
            "coverage",
            "basis",
            "source",
            "remark",
            "readings",
            "together",
            "resolution",
            "of",
        ];
        let find = |name: &str| entries.iter().find(|(key, _)| key.is_text(name)).map(|(_, value)| value);
        let meant =
            |text: &str| suggest(text, KEYS).is_some_and(|near| near == "value" || near == "readings");
        let valued = find("value").is_some() || find("readings").is_some();
        let strange = entries.iter().map(|(name, _)| name);
        let strange = strange.filter(|name| name.text().is_some_and(|text| !KEYS.contains(&text)));
        let mut sound = valued;
        // Without a value the other keys are no mistakes of their own, but for the one that may be meant.
        for name in strange.filter(|name| valued || name.text().is_some_and(meant)) {
            let text = name.text().unwrap_or_default();
            let help = match suggest(text, KEYS) {
                Some(near) => words!("did you mean `{}`?", near),
                None => "the keys of a value are `value`, `tolerance`, `shape`, `coverage`, `basis`, `source`, `remark`, or `readings`, `together`, `resolution` and `of`".into(),
            };
            self.report(&codes::UNKNOWN_KEY, name.span, words!("a value has no key `{}`", text), help);
            sound = false;
            if !valued {
                return None;
            }
        }
        let mut leaf = match (find("value"), find("readings")) {
            (Some(value), None) => {
                let text = self.text_of("value", value)?;
                self.literal(&text, value.span, sort)?
            }
            (None, Some(readings)) => {
                let mut leaf = self.readings(readings, find("together"), sort)?;
                self.instrument(&mut leaf, (find("resolution"), find("of")))?;
                leaf
            }
            (Some(_), Some(readings)) => {
                let message = words!("`{}` has both `value` and `readings`", key);
                self.report(&codes::BAD_VALUE, readings.span, message, "keep one of them");
                return None;
            }
            (None, None) => {
                let message = words!("`{}` has no `value`", key);
                self.report(&codes::MISSING_FIELD, span, message, "type `value: …`, or `readings: [ … ]`");
                return None;
            }
        };
        sound &= self.fits(entries, &leaf);
        if let Some(node) = find("tolerance").filter(|_| sound) {
            let text = self.text_of("tolerance", node)?;
            match read_tolerance(&text, &leaf.literal) {
                Ok(tolerance) => leaf.literal.tolerance = Some(tolerance),
                Err(fault) => {
                    self.fault(fault, node.span, 0);
                    return None;
                }
            }
        }
        sound = sound && self.shape(&mut leaf, find("shape"), find("coverage")).is_some();
        if let Some(node) = find("basis") {
            let text = self.text_of("basis", node)?;
            match Basis::read(text.trim()) {
                Some(basis) => leaf.basis = Some(basis),
                None => {
                    let help = match suggest(&text, Basis::ALL.map(Basis::word)) {
                        Some(near) => words!("did you mean `{}`?", near),
                        None => words!("a basis is one of {}", Basis::ALL.map(Basis::word).join(", ")),
                    };
                    self.report(&codes::BAD_VALUE, node.span, words!("`{}` is no basis", text), help);
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

    /// Keys that would be passed over beside the others are told: whoever wrote them meant something.
    fn fits(&mut self, entries: &[(Node, Node)], leaf: &Leaf) -> bool {
        let find = |name: &str| entries.iter().find(|(key, _)| key.is_text(name)).map(|(_, value)| value);
        let normal =
            find("shape").is_some_and(|node| node.text().is_some_and(|text| text.trim() == "normal"));
        let (read, noted) = (leaf.readings.is_some(), leaf.literal.note.is_some());
        let rules: [(&str, bool, &'static Code, &str, &str); 7] = [
            (
                "tolerance",
                leaf.literal.tolerance.is_some(),
                &codes::BAD_TOLERANCE,
                "a second tolerance beside the value's own",
                "keep one of them",
            ),
            (
                "coverage",
                !normal,
                &codes::BAD_TOLERANCE,
                "a coverage factor without `shape: normal`",
                "type `shape: normal` too, or take `coverage` away",
            ),
            ("together", !read, &codes::BAD_VALUE, "`together` without readings", "type `readings: [ … ]`"),
            (
                "resolution",
                !read,
                &codes::BAD_VALUE,
                "`resolution` without readings",
                "type `readings: [ … ]`",
            ),
            ("of", !read, &codes::BAD_VALUE, "`of` without readings", "type `readings: [ … ]`"),
            ("basis", noted, &codes::BAD_VALUE, "a second basis beside the value's own", "keep one of them"),
            (
                "source",
                noted,
                &codes::BAD_VALUE,
                "a source beside the value's own note",
                "put both in one place",
            ),
        ];
        for (key, wrong, code, message, help) in rules {
            if let Some(node) = find(key).filter(|_| wrong) {
                self.report(code, node.span, message, help);
                return false;
            }
        }
        true
    }

    /// The step of the instrument, and whether each reading is of another piece.
    fn instrument(&mut self, leaf: &mut Leaf, (step, of): (Option<&Node>, Option<&Node>)) -> Option<()> {
        let mut resolution = None;
        if let Some(node) = step {
            let text = self.text_of("resolution", node)?;
            match read_tolerance(&text, &leaf.literal) {
                Ok(step) => resolution = Some(step.half_width_si),
                Err(fault) => {
                    self.fault(fault, node.span, 0);
                    return None;
                }
            }
        }
        let pieces = match of {
            Some(node) => self.text_of("of", node)?.trim() == "pieces",
            None => false,
        };
        if let Some(node) = of.filter(|_| !pieces) {
            self.report(
                &codes::BAD_VALUE,
                node.span,
                "readings of something else than pieces",
                "type `of: pieces` where each reading is of another piece, or take it away",
            );
            return None;
        }
        if let Some(readings) = &mut leaf.readings {
            (readings.resolution, readings.pieces) = (resolution, pieces);
        }
        Some(())
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
                            words!("`{}` as a coverage factor", text),
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
        let Some(shape) = Shape::read(text.trim(), factor) else {
            let help = match suggest(text.trim(), ["rectangular", "triangular", "normal"]) {
                Some(near) => words!("did you mean `{}`?", near),
                None => "a shape is `rectangular`, `triangular` or `normal`".into(),
            };
            let message = words!("`{}` is no shape of a tolerance", text.trim());
            self.report(&codes::BAD_VALUE, node.span, message, help);
            return None;
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
        let digit_si = leaves.iter().filter_map(|leaf| leaf.literal.digit_si).reduce(f64::min);
        let literal = Literal { number_text: shown, significant, digit_si, ..first }.at_si(mean);
        let together = match together {
            Some(node) => Some((self.text_of("together", node)?.trim().to_owned(), node.span)),
            None => None,
        };
        let mut leaf = Leaf::new(literal);
        leaf.basis = Some(Basis::Measured);
        leaf.readings = Some(Readings { values, span: list.span, resolution: None, pieces: false, together });
        Some(leaf)
    }
}

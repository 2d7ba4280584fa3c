//! Curves: lists of points, CSV files, or the names of other blocks' curves.

use super::block::Slot;
use super::form::Form;
use super::leaf::Leaf;
use super::node::{Origin, Resolved, Role, Wanted};
use crate::findings::{codes, suggest};
use crate::journal::{Node, NodeValue};
use crate::quantities::{Curve, Sort, Unit, read_expression, read_unit};
use crate::source::Span;
use crate::words::words;

impl Form<'_, '_> {
    /// A curve: a list of points, a CSV file, or the name of another block's curve.
    pub(crate) fn curve_field(&mut self, key: &str, value: &Node) -> Slot<Curve> {
        let slot = match &value.value {
            NodeValue::Sequence(points) => {
                let curve = self.points(points, value.span);
                curve.zip(self.curve_leaf(&[], value.span)).map(|known| self.curve(key, value.span, known))
            }
            NodeValue::Mapping(entries) => {
                let curve = match value.get("points").map(|node| &node.value) {
                    Some(NodeValue::Sequence(points)) => self.points(points, value.span),
                    _ => self.columns(entries, value.span),
                };
                curve
                    .zip(self.curve_leaf(entries, value.span))
                    .map(|known| self.curve(key, value.span, known))
            }
            NodeValue::Scalar { text, .. } => {
                let name = text.trim();
                let name = name.strip_prefix("from ").map_or(name, str::trim);
                match read_expression(name) {
                    Ok(expression) if expression.as_name().is_some() => {
                        let text = Some(value.span);
                        let resolved = Resolved {
                            expression,
                            text,
                            wanted: Wanted::Author,
                            whole_curve: true,
                            otherwise: None,
                        };
                        Some(self.declare(
                            key,
                            value.span,
                            None,
                            Unit::one(),
                            Role::Field(Origin::Reference(resolved)),
                        ))
                    }
                    _ => {
                        self.wrong_shape(key, value, "a list of points");
                        None
                    }
                }
            }
            NodeValue::Empty => None,
        };
        let index = match slot {
            Some(slot) => slot.index(),
            None => {
                self.declare::<f64>(key, value.span, None, Unit::one(), Role::Field(Origin::Failed)).index()
            }
        };
        Slot::new(index)
    }

    /// A curve of these dimensions that may be left out, with a slot in any case.
    pub(crate) fn curve_if_given(
        &mut self,
        key: &str,
        (x, y): (&'static Sort, &'static Sort),
    ) -> Slot<Curve> {
        let Some(value) = self.take(key) else { return Slot::new(self.absent::<f64>(key).index()) };
        let slot = self.curve_field(key, &value);
        if let Role::Field(Origin::Curve { curve, .. }) = &self.draft.nodes[slot.index()].role
            && !(curve.x.dimension.same(x.dimension) && curve.y.dimension.same(y.dimension))
        {
            let message = words!("a curve of {} over {}", curve.y.dimension, curve.x.dimension);
            let help = words!("type its points as `[{}, {}]`", x.example, y.example);
            self.fail(slot.index(), &codes::UNIT_MISMATCH, value.span, message, help);
        }
        slot
    }

    /// The leaf of a curve: a scale of 1, with the tolerance, basis and source that stand beside `file` or `points`.
    fn curve_leaf(&mut self, entries: &[(Node, Node)], span: Span) -> Option<Leaf> {
        const KEYS: [&str; 9] =
            ["file", "columns", "points", "tolerance", "shape", "coverage", "basis", "source", "remark"];
        let mut long = Vec::new();
        for (name, value) in entries {
            match name.text() {
                Some("file" | "columns" | "points") => {}
                Some(key) if KEYS.contains(&key) => long.push((name.clone(), value.clone())),
                Some(key) => {
                    let help = match suggest(key, KEYS) {
                        Some(near) => words!("did you mean `{}`?", near),
                        None => words!("the keys of a curve are `{}`", KEYS.join("`, `")),
                    };
                    self.report(&codes::UNKNOWN_KEY, name.span, words!("a curve has no key `{}`", key), help);
                    return None;
                }
                None => {}
            }
        }
        long.push((Node::scalar("value", span), Node::scalar("1", span)));
        self.long_form("curve", &long, span, None)
    }

    pub(super) fn points(&mut self, points: &[Node], span: Span) -> Option<Curve> {
        let mut read = Vec::new();
        let mut units: Option<(Unit, Unit)> = None;
        for point in points {
            let NodeValue::Sequence(pair) = &point.value else {
                self.wrong_shape("a point of a curve", point, "a pair `[x, y]`");
                return None;
            };
            let [x, y] = pair.as_slice() else {
                let message = format!("a point with {} values", pair.len());
                self.report(
                    &codes::BAD_CURVE,
                    point.span,
                    message,
                    "a point is `[x, y]`: `[4 500 rpm, 310 N m]`",
                );
                return None;
            };
            let mut value = |node: &Node| {
                let text = self.text_of("a point of a curve", node)?;
                self.literal(text.trim(), node.span, None)
            };
            let (x, y) = (value(x)?, value(y)?);
            let (x_unit, y_unit) =
                units.get_or_insert_with(|| (x.literal.unit.clone(), y.literal.unit.clone()));
            if !x.literal.quantity.dimension.same(x_unit.dimension)
                || !y.literal.quantity.dimension.same(y_unit.dimension)
            {
                let message = "points of unlike dimensions";
                self.report(
                    &codes::UNIT_MISMATCH,
                    point.span,
                    message,
                    "give all points of a curve the same units",
                );
                return None;
            }
            read.push((x.literal.quantity.si, y.literal.quantity.si));
        }
        let Some((x, y)) = units else {
            self.report(
                &codes::BAD_CURVE,
                span,
                "a curve without points",
                "type at least two points `[x, y]`",
            );
            return None;
        };
        self.new_curve(read, (x, y), span)
    }

    fn new_curve(&mut self, points: Vec<(f64, f64)>, (x, y): (Unit, Unit), span: Span) -> Option<Curve> {
        match Curve::new(points, x, y) {
            Ok(curve) => Some(curve),
            Err(fault) => {
                self.report(fault.code, span, fault.message, fault.help);
                None
            }
        }
    }

    /// `{file: …, columns: [speed (rpm), torque (N m)]}`: by header text, or by order where there is no header.
    fn columns(&mut self, entries: &[(Node, Node)], span: Span) -> Option<Curve> {
        let file = self.named_file(entries, span)?;
        let columns = entries.iter().find(|(name, _)| name.is_text("columns")).map(|(_, value)| value);
        let titles: Vec<String> = match columns.map(|node| &node.value) {
            Some(NodeValue::Sequence(nodes)) => {
                nodes.iter().filter_map(|node| self.text_of("columns", node)).collect()
            }
            _ => Vec::new(),
        };
        let [x_title, y_title] = titles.as_slice() else {
            let message = "a curve from a file needs `columns` with two titles";
            self.report(&codes::MISSING_FIELD, span, message, "type `columns: [speed (rpm), torque (N m)]`");
            return None;
        };
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .trim(csv::Trim::All)
            .from_reader(&*file.bytes);
        let mut rows = Vec::new();
        for (at, record) in reader.records().enumerate() {
            match record {
                Ok(record) => rows.push(record),
                Err(_) => {
                    self.bad_csv(&file, format!("row {} can't be read", at + 1));
                    return None;
                }
            }
        }
        let find = |title: &str| rows.first().and_then(|row| row.iter().position(|cell| cell == title));
        let (headed, x_at, y_at) = match (find(x_title), find(y_title)) {
            (Some(x), Some(y)) => (true, x, y),
            _ if rows
                .first()
                .is_some_and(|row| row.iter().take(2).all(|cell| cell.parse::<f64>().is_ok())) =>
            {
                (false, 0, 1)
            }
            _ => {
                let header =
                    rows.first().map(|row| row.iter().collect::<Vec<_>>().join("`, `")).unwrap_or_default();
                self.bad_csv(
                    &file,
                    words!("its header has no `{}` and `{}` but `{}`", x_title, y_title, header),
                );
                return None;
            }
        };
        let x_unit = self.title_unit(x_title, span)?;
        let y_unit = self.title_unit(y_title, span)?;
        let mut points = Vec::new();
        for (at, row) in rows.iter().enumerate().skip(usize::from(headed)) {
            let cell = |column: usize| {
                row.get(column).and_then(|cell| cell.parse::<f64>().ok()).filter(|x| x.is_finite())
            };
            match (cell(x_at), cell(y_at)) {
                (Some(x), Some(y)) => points.push((x_unit.to_si(x), y_unit.to_si(y))),
                _ => {
                    self.bad_csv(&file, format!("row {} has no two numbers", at + 1));
                    return None;
                }
            }
        }
        self.new_curve(points, (x_unit, y_unit), span)
    }

    /// The unit in the last parenthesis of a column's title.
    fn title_unit(&mut self, title: &str, span: Span) -> Option<Unit> {
        let unit = title.rfind('(').and_then(|at| title[at + 1..].strip_suffix(')')).map(read_unit);
        match unit {
            Some(Ok(unit)) => Some(unit),
            Some(Err(fault)) => {
                self.report(fault.code, span, fault.message, fault.help);
                None
            }
            None => {
                let message = words!("the column `{}` names no unit", title);
                self.report(&codes::BAD_CSV, span, message, "write the unit in brackets: `speed (rpm)`");
                None
            }
        }
    }
}

/// Whether a value is written as a curve: a list of lists, or a mapping with `columns`.
pub(super) fn looks_like_curve(node: &Node) -> bool {
    match &node.value {
        NodeValue::Sequence(points) => {
            points.iter().all(|point| matches!(point.value, NodeValue::Sequence(_)))
        }
        NodeValue::Mapping(_) => ["columns", "file", "points"].iter().any(|key| node.get(key).is_some()),
        _ => false,
    }
}

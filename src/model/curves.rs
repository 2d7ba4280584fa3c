//! Curves: lists of points, CSV files, or the names of other blocks' curves.

use std::ops::RangeInclusive;

use super::field::Range;
use super::form::Form;
use super::form_tables::{Table, column};
use super::leaf::Leaf;
use super::node::{Origin, Resolved, Wanted};
use super::slot::Slot;
use super::spelling::names_a_file;
use crate::findings::{codes, suggest};
use crate::journal::{Node, NodeValue};
use crate::quantities::{Curve, Unit, read_expression, read_formula};
use crate::source::Span;
use crate::words::words;

impl Form<'_, '_> {
    /// A curve: a list of points, a CSV file, or the name of another block's curve.
    pub(super) fn curve_field(&mut self, key: &str, value: &Node) -> Slot<Curve> {
        let origin = self.curve_origin(key, value).unwrap_or(Origin::Failed);
        let slot: Slot<Curve> = self.put(key, value.span, origin);
        self.points_in_range(slot.index(), value.span, Range::Any);
        slot
    }

    /// A curve of this block over one of its numbers, as a value of its own.
    pub(crate) fn shared_out(&mut self, name: &str, (curve, over): (Slot<Curve>, Slot<f64>)) -> Slot<Curve> {
        let own = |index: usize| format!("{}.{}", self.draft.name, self.draft.nodes[index].name);
        let expression = read_formula(&format!("{} / {}", own(curve.index()), own(over.index())))
            .expect("two names are an expression");
        let span = self.draft.nodes[curve.index()].span;
        let (text, wanted) = (None, Wanted::KindIfThere);
        let resolved =
            Resolved { expression, text, wanted, whole_curve: true, otherwise: None, through: None };
        self.put(name, span, Origin::Reference(resolved))
    }

    fn curve_origin(&mut self, key: &str, value: &Node) -> Option<Origin> {
        let (curve, entries) = match &value.value {
            NodeValue::Sequence(points) => (self.points(points, value.span), [].as_slice()),
            NodeValue::Mapping(entries) => {
                let curve = match value.get("points").map(|node| &node.value) {
                    Some(NodeValue::Sequence(points)) => self.points(points, value.span),
                    _ => self.columns(entries, value.span),
                };
                (curve, entries.as_slice())
            }
            NodeValue::Scalar { text, .. } => {
                let name = text.trim();
                let name = name.strip_prefix("from ").map_or(name, str::trim);
                let expression = read_expression(name).ok();
                let named = expression.filter(|read| read.as_name().is_some() && !names_a_file(name));
                let Some(expression) = named else {
                    self.wrong_shape(key, value, "a list of points");
                    return None;
                };
                let (text, wanted) = (Some(value.span), Wanted::Author);
                let resolved =
                    Resolved { expression, text, wanted, whole_curve: true, otherwise: None, through: None };
                return Some(Origin::Reference(resolved));
            }
            NodeValue::Empty => return None,
        };
        let curve = curve?;
        Some((curve, self.curve_leaf(entries, value.span)?).into())
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
        let help = "a point is `[x, y]`: `[4 500 rpm, 310 N m]`";
        let (units, rows) = self.rows_of_points((points, span), 2..=2, help)?;
        let [x, y] = units.try_into().ok()?;
        self.new_curve(rows.iter().map(|row| (row[0], row[1])).collect(), (x, y), span)
    }

    /// Lists of so many values each, in SI; the units are those of the first one.
    pub(super) fn rows_of_points(
        &mut self,
        (points, span): (&[Node], Span),
        width: RangeInclusive<usize>,
        help: &'static str,
    ) -> Option<(Vec<Unit>, Vec<Vec<f64>>)> {
        let mut rows: Vec<Vec<f64>> = Vec::new();
        let mut units: Vec<Unit> = Vec::new();
        for point in points {
            let NodeValue::Sequence(values) = &point.value else {
                self.wrong_shape("a point of a curve", point, "a pair `[x, y]`");
                return None;
            };
            let like_others = rows.first().is_none_or(|first| first.len() == values.len());
            if !(width.contains(&values.len()) && like_others) {
                let message = format!("a point with {} values", values.len());
                self.report(&codes::BAD_CURVE, point.span, message, help);
                return None;
            }
            let leaves: Option<Vec<Leaf>> = values.iter().map(|value| self.value_of_point(value)).collect();
            let leaves = leaves?;
            if units.is_empty() {
                units = leaves.iter().map(|leaf| leaf.literal.unit.clone()).collect();
            }
            let alike = |(leaf, unit): (&Leaf, &Unit)| leaf.literal.quantity.dimension.same(unit.dimension);
            if !leaves.iter().zip(&units).all(alike) {
                let message = "points of unlike dimensions";
                let help = "give all points of a curve the same units";
                self.report(&codes::UNIT_MISMATCH, point.span, message, help);
                return None;
            }
            rows.push(leaves.iter().map(|leaf| leaf.literal.quantity.si).collect());
        }
        if rows.is_empty() {
            let help = "type at least two points `[x, y]`";
            self.report(&codes::BAD_CURVE, span, "a curve without points", help);
            return None;
        }
        Some((units, rows))
    }

    fn value_of_point(&mut self, node: &Node) -> Option<Leaf> {
        let text = self.text_of("a point of a curve", node)?;
        let leaf = self.literal(text.trim(), node.span, None)?;
        if leaf.literal.tolerance.is_none() && leaf.literal.note.is_none() {
            return Some(leaf);
        }
        self.report(
            &codes::BAD_TOLERANCE,
            node.span,
            "a point of a curve with a tolerance or a note of its own",
            "a curve has one of each, as a whole: `{points: [ … ], tolerance: 5 %, basis: measured}`",
        );
        None
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

    /// `{file: …, columns: [speed (rpm), torque (N m)]}`: by header text, or by order where there is no header. Without
    /// `columns` the first two are taken.
    fn columns(&mut self, entries: &[(Node, Node)], span: Span) -> Option<Curve> {
        let file = self.named_file(entries, span)?;
        let columns = entries.iter().find(|(name, _)| name.is_text("columns")).map(|(_, value)| value);
        let titles: Vec<String> = match columns.map(|node| &node.value) {
            Some(NodeValue::Sequence(nodes)) => {
                nodes.iter().filter_map(|node| self.text_of("columns", node)).collect()
            }
            _ => Vec::new(),
        };
        if columns.is_some() && titles.len() != 2 {
            let message = "a curve from a file has `columns` with two titles";
            self.report(&codes::MISSING_FIELD, span, message, "type `columns: [speed (rpm), torque (N m)]`");
            return None;
        }
        let table = self.read_table(&file)?;
        let (x_at, x) = self.curve_column(&table, (0, titles.first()))?;
        let (y_at, y) = self.curve_column(&table, (1, titles.get(1)))?;
        let values = table.column(self, x_at, &x)?.into_iter().zip(table.column(self, y_at, &y)?);
        let points: Vec<(f64, f64)> = values.collect();
        if let Some(at) = points.iter().position(|(x, y)| !(x.is_finite() && y.is_finite())) {
            let what = format!("line {} has no two numbers", table.line(at));
            self.bad_csv(&file, what);
            return None;
        }
        self.new_curve(points, (x, y), span)
    }

    /// Where a column of a curve stands, and its unit: of the title that the journal gives, else of the header's.
    fn curve_column(
        &mut self,
        table: &Table,
        (number, title): (usize, Option<&String>),
    ) -> Option<(usize, Unit)> {
        let headed = !table.columns.is_empty();
        let at = match title.filter(|_| headed) {
            None => number,
            Some(title) => match table.find(title) {
                Some(at) => at,
                None => {
                    let what = words!("its header has no `{}` but {}", title, table.titles());
                    table.refuse(self, what, "type the titles as they stand in the file");
                    return None;
                }
            },
        };
        let typed = title.map(|title| column(title));
        let unit = typed.and_then(|typed| typed.unit).or_else(|| table.columns.get(at)?.unit.clone());
        match unit {
            Some(Ok(unit)) => Some((at, unit)),
            Some(Err(fault)) => {
                self.report(fault.code, table.span, fault.message, fault.help);
                None
            }
            None => {
                let of = table.columns.get(at).map_or(title.map_or("", String::as_str), |of| &of.title);
                let message = words!("the column `{}` names no unit", of);
                self.report(
                    &codes::BAD_CSV,
                    table.span,
                    message,
                    "write the unit in brackets: `speed (rpm)`",
                );
                None
            }
        }
    }
}

//! Tables of numbers in files of the journal folder: columns with units in their titles, and speed traces.

use crate::words::{Words, words};
use std::sync::Arc;

use super::form::Form;
use super::leaf::Leaf;
use super::list::NamedFile;
use crate::findings::codes;
use crate::journal::{Node, NodeValue};
use crate::quantities::si::{Time, Velocity};
use crate::quantities::{Fault, Sort, Trace, Unit, read_unit, sort};
use crate::source::Span;

/// A file's columns and its rows of numbers.
pub(crate) struct Table {
    pub path: String,
    /// Where the journal names the file.
    pub span: Span,
    pub columns: Vec<Column>,
    rows: Vec<TableRow>,
}

pub(crate) struct Column {
    pub title: String,
    /// What stands in brackets at the title's end.
    pub unit: Option<Result<Unit, Fault>>,
}

struct TableRow {
    /// Counted from 1, as editors do.
    line: u64,
    cells: Vec<Option<f64>>,
}

impl Table {
    /// The columns of that dimension, in their order.
    pub(crate) fn of_sort(&self, sort: &'static Sort) -> impl Iterator<Item = usize> {
        let fits = |column: &Column| match &column.unit {
            Some(Ok(unit)) => unit.dimension == sort.dimension,
            _ => false,
        };
        (0..self.columns.len()).filter(move |at| fits(&self.columns[*at]))
    }

    pub(crate) fn len(&self) -> usize {
        self.rows.len()
    }

    /// The line of the file that a row stands in.
    pub(crate) fn line(&self, row: usize) -> u64 {
        self.rows.get(row).map_or(0, |row| row.line)
    }

    /// A column in SI. The finding is made where a cell holds no number; NaN and infinities pass.
    pub(crate) fn column(&self, form: &mut Form<'_, '_>, at: usize, unit: &Unit) -> Option<Vec<f64>> {
        let mut values = Vec::with_capacity(self.rows.len());
        for row in &self.rows {
            match row.cells.get(at).copied().flatten() {
                Some(value) => values.push(unit.to_si(value)),
                None => {
                    let title = self.columns.get(at).map_or("", |column| column.title.as_str());
                    self.refuse(
                        form,
                        words!("line {} has no number under `{}`", row.line, title),
                        "one header line, then one line each, a number in each cell",
                    );
                    return None;
                }
            }
        }
        Some(values)
    }

    /// Tells what can't be read in it.
    pub(crate) fn refuse(&self, form: &mut Form<'_, '_>, what: impl Into<Words>, help: impl Into<Words>) {
        let message = words!("`{}` can't be read: {}", self.path, what.into());
        form.report(&codes::BAD_CSV, self.span, message, help);
    }

    /// The column of a title, as it stands in the header or without its unit.
    pub(super) fn find(&self, title: &str) -> Option<usize> {
        let bare = |title: &str| title.split(['(', '[']).next().unwrap_or(title).trim().to_lowercase();
        let exact = self.columns.iter().position(|column| column.title == title);
        exact.or_else(|| self.columns.iter().position(|column| bare(&column.title) == bare(title)))
    }

    pub(super) fn titles(&self) -> Words {
        Words::names(self.columns.iter().map(|column| column.title.as_str()))
    }
}

impl Form<'_, '_> {
    /// A table that a field names: its path, or a mapping with `file`. The finding is made where it can't be read.
    pub(crate) fn table(&mut self, key: &str) -> Option<Table> {
        let value = self.take(key)?;
        let file = match &value.value {
            NodeValue::Mapping(entries) => self.named_file(entries, value.span)?,
            _ => {
                let path = self.text_of(key, &value)?.trim().to_owned();
                let bytes = self.file(&path, value.span)?;
                NamedFile { path, span: value.span, bytes }
            }
        };
        self.read_table(&file)
    }

    /// The speed trace of an item: `file: evidence/run.csv`, or `points: [[0 s, 0 km/h], …]`.
    pub(crate) fn trace(&mut self) -> Option<Arc<Trace>> {
        if let Some(points) = self.take("points") {
            return self.trace_of_points(&points).map(Arc::new);
        }
        if !self.has("file") {
            self.missing("file");
        }
        let (path, span) = self.text("file")?;
        let bytes = self.file(&path, span)?;
        let table = self.read_table(&NamedFile { path, span, bytes })?;
        self.trace_of_table(&table).map(Arc::new)
    }

    fn trace_of_points(&mut self, value: &Node) -> Option<Trace> {
        let NodeValue::Sequence(points) = &value.value else {
            self.wrong_shape("points", value, "a list of points");
            return None;
        };
        let curve = self.points(points, value.span)?;
        let axes = [(curve.x.dimension, &sort::TIME), (curve.y.dimension, &sort::SPEED)];
        if let Some((found, sort)) = axes.into_iter().find(|(found, sort)| *found != sort.dimension) {
            let message = format!("points in {found} where {} is expected", sort.words());
            let help = "a point of a speed trace is `[12 s, 50 km/h]`";
            self.report(&codes::UNIT_MISMATCH, value.span, message, help);
            return None;
        }
        match Trace::new(curve.points().to_vec()) {
            Ok(trace) => Some(trace),
            Err(fault) => {
                let message = format!("{} at point {}", fault.what, fault.at + 1);
                self.report(&codes::BAD_TRACE, value.span, message, "look at the points");
                None
            }
        }
    }

    fn trace_of_table(&mut self, table: &Table) -> Option<Trace> {
        let (time, speed) = self.trace_columns(table)?;
        let times = table.column(self, time.0, &time.1)?;
        let speeds = table.column(self, speed.0, &speed.1)?;
        let trace = match Trace::new(times.into_iter().zip(speeds).collect()) {
            Ok(trace) => trace,
            Err(fault) => {
                let at = match table.line(fault.at) {
                    0 => String::new(),
                    line => format!(" in line {line}"),
                };
                let message = words!("`{}`: {}{}", table.path, fault.what, at);
                let help = "a speed trace has one row for each sample: a later time than before, and a speed of 0 or more";
                self.report(&codes::BAD_TRACE, table.span, message, help);
                return None;
            }
        };
        self.tell_gaps(table, &trace);
        Some(trace)
    }

    fn tell_gaps(&mut self, table: &Table, trace: &Trace) {
        let gaps = trace.gaps();
        if gaps.is_empty() {
            return;
        }
        let named: Vec<String> = gaps
            .iter()
            .take(5)
            .map(|(from, to)| format!("from {} s to {} s", thousandths(*from), thousandths(*to)))
            .collect();
        let more = if gaps.len() > named.len() { ", and more" } else { "" };
        let message = words!("`{}` has no samples {}{}", table.path, named.join(", "), more);
        let help = "the speed is taken as a straight line across: fill the gap if the vehicle did otherwise";
        self.report(&codes::TRACE_GAP, table.span, message, help);
    }

    /// Where time and speed stand, and their units. Text in two columns without units is seconds and miles per hour,
    /// as the schedules of the US EPA are; that is an assumption.
    fn trace_columns(&mut self, table: &Table) -> Option<((usize, Unit), (usize, Unit))> {
        if let Some(fault) = table.columns.iter().find_map(|column| column.unit.as_ref()?.as_ref().err()) {
            let fault = fault.clone();
            self.report(fault.code, table.span, words!("`{}`: {}", table.path, fault.message), fault.help);
            return None;
        }
        let unit = |at: usize| match &table.columns[at].unit {
            Some(Ok(unit)) => unit.clone(),
            _ => Unit::one(),
        };
        let time = table.of_sort(&sort::TIME).next().map(|at| (at, unit(at)));
        let speed = table.of_sort(&sort::SPEED).next().map(|at| (at, unit(at)));
        if let (Some(time), Some(speed)) = (time, speed) {
            return Some((time, speed));
        }
        let bare = table.columns.iter().all(|column| column.unit.is_none());
        if bare && table.path.to_ascii_lowercase().ends_with(".txt") {
            self.put::<Time>("time_unit", self.place, Leaf::assumed("1 s"));
            self.put::<Velocity>("speed_unit", self.place, Leaf::assumed("1 mi/h"));
            let units = ["s", "mi/h"].map(|text| read_unit(text).unwrap_or_else(|_| Unit::one()));
            let [seconds, miles] = units;
            return Some(((0, seconds), (1, miles)));
        }
        let what = match table.titles() {
            titles if bare && titles.is_empty() => "it has no header".into(),
            titles if bare => format!("its header names no units: {titles}"),
            titles => format!("its header has no time and speed: {titles}"),
        };
        table.refuse(self, &what, "type its first line as `time (s),speed (km/h)`, the units as they are");
        None
    }

    /// Cells parted by tabs, semicolons or commas. The last line before the first one with two numbers is the header.
    pub(super) fn read_table(&mut self, file: &NamedFile) -> Option<Table> {
        let bytes = file.text();
        let delimiter = [b'\t', b';'].into_iter().find(|byte| bytes.contains(byte)).unwrap_or(b',');
        let mut reader = csv::ReaderBuilder::new()
            .has_headers(false)
            .flexible(true)
            .delimiter(delimiter)
            .trim(csv::Trim::All)
            .from_reader(bytes);
        let mut table =
            Table { path: file.path.clone(), span: file.span, columns: Vec::new(), rows: Vec::new() };
        for record in reader.records() {
            let Ok(record) = record else {
                self.bad_csv(file, "it is not UTF-8 text");
                return None;
            };
            let line = record.position().map_or(0, csv::Position::line);
            if let Some(cell) = record.iter().find(|cell| has_decimal_comma(cell)) {
                let what = words!("line {} has `{}`, with a decimal comma", line, cell);
                let help = "save the file with decimal points: `4.5`, not `4,5`";
                table.refuse(self, what, help);
                return None;
            }
            let cells: Vec<Option<f64>> = record.iter().map(|cell| cell.parse::<f64>().ok()).collect();
            let numbers = cells.iter().flatten().count() > 1;
            if numbers || !table.rows.is_empty() {
                table.rows.push(TableRow { line, cells });
            } else {
                table.columns = record.iter().map(column).collect();
            }
        }
        if table.rows.is_empty() {
            self.bad_csv(file, "it has no line of two numbers");
            return None;
        }
        Some(table)
    }
}

/// A number with one comma in it. Where commas part the cells there is none.
fn has_decimal_comma(cell: &str) -> bool {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    cell.trim_start_matches(['-', '+'])
        .split_once(',')
        .is_some_and(|(whole, rest)| digits(whole) && digits(rest))
}

/// A time in s as it stands in a file, to a millisecond.
fn thousandths(time: f64) -> f64 {
    (time * 1000.0).round() / 1000.0
}

pub(super) fn column(title: &str) -> Column {
    let unit = match (title.rfind(['(', '[']), title.strip_suffix([')', ']'])) {
        (Some(at), Some(open)) => open.get(at + 1..).map(read_unit),
        _ => None,
    };
    Column { title: title.to_owned(), unit }
}

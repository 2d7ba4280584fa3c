//! Tables of numbers in files of the journal folder, with units in the titles of their columns.

use super::form::Form;
use super::list::NamedFile;
use crate::findings::codes;
use crate::journal::NodeValue;
use crate::quantities::{Fault, Sort, Unit, read_unit};
use crate::source::Span;
use crate::words::{Words, words};

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
    fn of_points(key: &str, span: Span, (units, rows): (Vec<Unit>, Vec<Vec<f64>>)) -> Table {
        let columns = units
            .iter()
            .map(|unit| Column { title: String::new(), unit: Some(Ok(Unit::coherent(unit.dimension))) });
        let rows =
            rows.into_iter().map(|row| TableRow { line: 0, cells: row.into_iter().map(Some).collect() });
        Table { path: key.to_owned(), span, columns: columns.collect(), rows: rows.collect() }
    }

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

    /// The line of the file that a row stands in; 0 of points in the journal itself.
    pub(crate) fn line(&self, row: usize) -> u64 {
        self.rows.get(row).map_or(0, |row| row.line)
    }

    /// A column in SI. The finding is made where a cell holds no number, or none that can be; NaN and infinities pass.
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
        form.column_in_range(&values, unit, self.span).then_some(values)
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

    pub(crate) fn titles(&self) -> Words {
        Words::names(self.columns.iter().map(|column| column.title.as_str()))
    }
}

impl Form<'_, '_> {
    /// A table that a field names, by its path or as a mapping with `file`, or that stands there as a list of points. The
    /// finding is made where it can't be read.
    pub(crate) fn table(&mut self, key: &str) -> Option<Table> {
        let value = self.entry(key)?;
        let file = match &value.value {
            NodeValue::Sequence(points) => {
                let help = "a point of a speed trace is `[12 s, 50 km/h]`, or with the road's height `[12 s, 50 km/h, 310 m]`";
                let rows = self.rows_of_points((points, value.span), 2..=3, help)?;
                return Some(Table::of_points(key, value.span, rows));
            }
            NodeValue::Mapping(entries) => self.named_file(entries, value.span)?,
            _ => {
                let path = self.text_of(key, &value)?.trim().to_owned();
                let bytes = self.file(&path, value.span)?;
                NamedFile { path, span: value.span, bytes }
            }
        };
        self.read_table(&file)
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

pub(super) fn column(title: &str) -> Column {
    let unit = match (title.rfind(['(', '[']), title.strip_suffix([')', ']'])) {
        (Some(at), Some(open)) => open.get(at + 1..).map(read_unit),
        _ => None,
    };
    Column { title: title.to_owned(), unit }
}

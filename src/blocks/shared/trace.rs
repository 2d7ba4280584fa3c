//! The speed trace of an item: `file: evidence/run.csv`, or `points: [[0 s, 0 km/h], …]`.

use std::sync::Arc;

use crate::findings::codes;
use crate::model::{Form, Leaf, Table};
use crate::quantities::si::{Time, Velocity};
use crate::quantities::{Sort, Trace, TraceFault, Unit, read_unit, sort};
use crate::words::words;

pub(in crate::blocks) fn read_trace(form: &mut Form<'_, '_>) -> Option<Arc<Trace>> {
    if let Some(points) = form.take("points") {
        if points.items().is_none() {
            form.wrong_shape("points", &points, "a list of points");
            return None;
        }
        let table = form.table("points")?;
        let columns = point_columns(form, &table)?;
        return trace_of(form, &table, &columns).map(Arc::new);
    }
    if !form.has("file") {
        form.missing("file");
    }
    form.text("file")?;
    let table = form.table("file")?;
    let columns = trace_columns(form, &table)?;
    let trace = trace_of(form, &table, &columns)?;
    if columns.by_time() {
        tell_gaps(form, &table, &trace);
    }
    Some(Arc::new(trace))
}

/// By their order: time or distance, speed, and height where there are three.
fn point_columns(form: &mut Form<'_, '_>, table: &Table) -> Option<Columns> {
    let column = |at: usize| (at, unit(table, at));
    let height = (table.columns.len() > 2).then(|| column(2));
    let columns = Columns { along: column(0), speed: column(1), height };
    let along = if columns.along.1.dimension == sort::LENGTH.dimension { &sort::LENGTH } else { &sort::TIME };
    let expected = [along, &sort::SPEED, &sort::LENGTH];
    let found = [Some(&columns.along), Some(&columns.speed), columns.height.as_ref()];
    let places = ["first", "second", "third"];
    for (((_, unit), sort), place) in found.into_iter().flatten().zip(expected).zip(places) {
        if unit.dimension != sort.dimension {
            let found = unit.dimension.words();
            let message =
                words!("the {} value of each point is {}, where {} is expected", place, found, sort.words());
            let help = "a point of a speed trace is `[12 s, 50 km/h]`, or with the road's height `[12 s, 50 km/h, 310 m]`";
            form.report(&codes::UNIT_MISMATCH, table.span, message, help);
            return None;
        }
    }
    Some(columns)
}

fn trace_of(form: &mut Form<'_, '_>, table: &Table, columns: &Columns) -> Option<Trace> {
    let mut column = |(at, unit): &(usize, Unit)| table.column(form, *at, unit);
    let (along, speeds) = (column(&columns.along)?, column(&columns.speed)?);
    let heights = match &columns.height {
        Some(height) => Some(column(height)?),
        None => None,
    };
    let points: Vec<(f64, f64)> = along.into_iter().zip(speeds).collect();
    let trace = if columns.by_time() { Trace::new(points) } else { Trace::over_distance(&points) };
    let trace = sound(form, table, trace)?;
    match heights {
        Some(heights) => sound(form, table, trace.with_heights(heights)),
        None => Some(trace),
    }
}

/// The finding is made where it is none.
fn sound(form: &mut Form<'_, '_>, table: &Table, trace: Result<Trace, TraceFault>) -> Option<Trace> {
    trace
        .map_err(|fault| {
            let at = match table.line(fault.at) {
                _ if fault.at >= table.len() => String::new(),
                0 => format!(" at point {}", fault.at + 1),
                line => format!(" in line {line}"),
            };
            let message = words!("`{}`: {}{}", table.path, fault.what, at);
            form.report(&codes::BAD_TRACE, table.span, message, fault.help);
        })
        .ok()
}

fn tell_gaps(form: &mut Form<'_, '_>, table: &Table, trace: &Trace) {
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
    form.report(&codes::TRACE_GAP, table.span, message, help);
}

/// Where in a file the columns stand, and their units.
struct Columns {
    /// Time, or distance.
    along: (usize, Unit),
    speed: (usize, Unit),
    height: Option<(usize, Unit)>,
}

impl Columns {
    fn by_time(&self) -> bool {
        self.along.1.dimension == sort::TIME.dimension
    }
}

/// Where time or distance, speed and height stand, and their units. Text in two columns without units is seconds and miles per hour, as the
/// schedules of the US EPA are; that is an assumption.
fn trace_columns(form: &mut Form<'_, '_>, table: &Table) -> Option<Columns> {
    if let Some(fault) = table.columns.iter().find_map(|column| column.unit.as_ref()?.as_ref().err()) {
        let fault = fault.clone();
        form.report(fault.code, table.span, words!("`{}`: {}", table.path, fault.message), fault.help);
        return None;
    }
    let column = |sort: &'static Sort| table.of_sort(sort).next().map(|at| (at, unit(table, at)));
    let mut lengths = table.of_sort(&sort::LENGTH);
    let height = lengths.find(|at| is_height(&table.columns[*at].title)).map(|at| (at, unit(table, at)));
    let mut others = table.of_sort(&sort::LENGTH);
    let distance = others.find(|at| !is_height(&table.columns[*at].title)).map(|at| (at, unit(table, at)));
    if let Some((along, speed)) = column(&sort::TIME).or(distance).zip(column(&sort::SPEED)) {
        return Some(Columns { along, speed, height });
    }
    let bare = table.columns.iter().all(|column| column.unit.is_none());
    if bare && table.path.to_ascii_lowercase().ends_with(".txt") {
        form.put::<Time>("time_unit", form.place, Leaf::assumed("1 s"));
        form.put::<Velocity>("speed_unit", form.place, Leaf::assumed("1 mi/h"));
        let units = ["s", "mi/h"].map(|text| read_unit(text).unwrap_or_else(|_| Unit::one()));
        let [seconds, miles] = units;
        return Some(Columns { along: (0, seconds), speed: (1, miles), height: None });
    }
    let what = match table.titles() {
        titles if bare && titles.is_empty() => "it has no header".into(),
        titles if bare => format!("its header names no units: {titles}"),
        titles => format!("its header has no time and speed: {titles}"),
    };
    table.refuse(form, &what, "type its first line as `time (s),speed (km/h)`, the units as they are");
    None
}

fn is_height(title: &str) -> bool {
    let title = title.to_lowercase();
    ["height", "altitude", "elevation"].iter().any(|word| title.contains(word))
}

fn unit(table: &Table, at: usize) -> Unit {
    match &table.columns[at].unit {
        Some(Ok(unit)) => unit.clone(),
        _ => Unit::one(),
    }
}

/// A time in s as it stands in a file, to a millisecond.
fn thousandths(time: f64) -> f64 {
    (time * 1000.0).round() / 1000.0
}

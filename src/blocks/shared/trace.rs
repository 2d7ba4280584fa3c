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
        return trace_of_points(form, &table).map(Arc::new);
    }
    if !form.has("file") {
        form.missing("file");
    }
    form.text("file")?;
    let table = form.table("file")?;
    trace_of_table(form, &table).map(Arc::new)
}

fn trace_of_points(form: &mut Form<'_, '_>, table: &Table) -> Option<Trace> {
    let mut columns = Vec::new();
    for (at, sort) in [&sort::TIME, &sort::SPEED].into_iter().enumerate() {
        let unit = unit(table, at);
        if unit.dimension != sort.dimension {
            let message = format!("points in {} where {} is expected", unit.dimension, sort.words());
            let help = "a point of a speed trace is `[12 s, 50 km/h]`";
            form.report(&codes::UNIT_MISMATCH, table.span, message, help);
            return None;
        }
        columns.push(table.column(form, at, &unit)?);
    }
    let points = columns[0].iter().copied().zip(columns[1].iter().copied());
    Trace::new(points.collect())
        .map_err(|fault| {
            let message = format!("{} at point {}", fault.what, fault.at + 1);
            form.report(&codes::BAD_TRACE, table.span, message, fault.help);
        })
        .ok()
}

fn trace_of_table(form: &mut Form<'_, '_>, table: &Table) -> Option<Trace> {
    let found = trace_columns(form, table)?;
    let mut column = |(at, unit): &(usize, Unit)| table.column(form, *at, unit);
    let (along, speeds) = (column(&found.along)?, column(&found.speed)?);
    let heights = match &found.height {
        Some(height) => Some(column(height)?),
        None => None,
    };
    let points: Vec<(f64, f64)> = along.into_iter().zip(speeds).collect();
    let by_distance = found.along.1.dimension == sort::LENGTH.dimension;
    let trace = if by_distance { Trace::over_distance(&points) } else { Trace::new(points) };
    let trace = sound(form, table, trace)?;
    let trace = match heights {
        Some(heights) => sound(form, table, trace.with_heights(heights))?,
        None => trace,
    };
    if !by_distance {
        tell_gaps(form, table, &trace);
    }
    Some(trace)
}

/// The finding is made where it is none.
fn sound(form: &mut Form<'_, '_>, table: &Table, trace: Result<Trace, TraceFault>) -> Option<Trace> {
    trace
        .map_err(|fault| {
            let at = match table.line(fault.at) {
                0 => String::new(),
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

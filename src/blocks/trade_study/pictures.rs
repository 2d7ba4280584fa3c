//! Pictures of a trade study: the candidates that are beaten in both preferences by none, and what is asked for over the
//! one number that is varied.

use crate::model::{Axis, Chart, Condition, LinesChart, Page, PointsChart, Preferred, Series, Trade, Traded};
use crate::quantities::{Unit, read_literal};

/// No more are drawn.
const POINTS: usize = 200;
const PICTURES: usize = 6;

pub(super) fn present(page: &mut Page<'_>, study: (&Trade, &Traded)) {
    let mut charts = over_a_number(study).into_iter();
    page.said.chart = best_of_both(study).or_else(|| charts.next());
    page.said.more_charts = charts.take(PICTURES - 1).collect();
}

fn unit(traded: &Traded, index: usize) -> Option<&Unit> {
    traded.units.iter().find(|(of, _)| *of == index).map(|(_, unit)| unit)
}

fn axis(label: String, unit: &Unit) -> Axis {
    Axis { label, unit: unit.symbol.to_owned() }
}

/// The set that none is better than, where there are two preferences.
fn best_of_both((asked, traded): (&Trade, &Traded)) -> Option<Chart> {
    let [first, second] = asked.prefer.as_slice() else { return None };
    if traded.points.len() < 2 {
        return None;
    }
    let (x, y) = (unit(traded, first.from)?, unit(traded, second.from)?);
    let labels = |options: &[usize]| {
        let each = options.iter().zip(&asked.varied).map(|(at, varied)| varied.labels[*at].as_str());
        each.collect::<Vec<_>>().join(" / ")
    };
    let point = |(options, [one, other]): &(Vec<usize>, [f64; 2])| {
        (labels(options), (x.value_of(*one), y.value_of(*other)))
    };
    let points = traded.points.iter().take(POINTS).map(point).collect();
    let way = |way: Preferred| match way {
        Preferred::Lowest => "low",
        Preferred::Highest => "high",
    };
    let caption = format!(
        "Kept candidates that no other one is better than in both: {} {}, {} {}. A number is a row of the table.",
        way(first.way),
        first.text,
        way(second.way),
        second.text
    );
    let (x, y) = (axis(label(asked, first.from), x), axis(label(asked, second.from), y));
    Some(Chart::Points(PointsChart { caption, x, y, points }))
}

/// One picture for each value that is asked for, with the limits that the conditions set it.
fn over_a_number((asked, traded): (&Trade, &Traded)) -> Vec<Chart> {
    let [varied] = asked.varied.as_slice() else { return Vec::new() };
    let Some((numbers, of_number)) = varied.numbers.as_ref().filter(|(numbers, _)| numbers.len() > 1) else {
        return Vec::new();
    };
    let mut order: Vec<usize> = (0..numbers.len()).collect();
    order.sort_by(|a, b| numbers[*a].total_cmp(&numbers[*b]));
    let order: Vec<usize> = order.into_iter().step_by(numbers.len().div_ceil(POINTS)).collect();
    let mut wanted: Vec<usize> = Vec::new();
    let judged = asked.keep.iter().map(|condition| condition.actual);
    let shown = asked.shown.iter().map(|column| column.from);
    for index in judged.chain(asked.prefer.iter().map(|one| one.from)).chain(shown) {
        if !wanted.contains(&index) {
            wanted.push(index);
        }
    }
    let chart = |index: usize| {
        let of = unit(traded, index)?;
        let line = |index: usize| -> Option<Vec<(f64, f64)>> {
            let (_, values) = traded.over.iter().find(|(at, _)| *at == index)?;
            let point = |at: &usize| (of_number.value_of(numbers[*at]), of.value_of(values[*at]));
            Some(order.iter().map(point).collect())
        };
        let name = label(asked, index);
        let varied_name = varied.name.replace('_', " ");
        let mut chart = LinesChart {
            caption: format!("{} over {varied_name}.", crate::model::capital(&name)),
            x: axis(varied_name, of_number),
            y: axis(name.clone(), of),
            series: vec![Series { label: name, points: line(index)?, dashed: false }],
            ..LinesChart::default()
        };
        for (limit, word) in limits(asked, index) {
            let points = line(limit)?;
            let first = points.iter().map(|(_, y)| *y).find(|y| y.is_finite())?;
            // A limit that moves with the number is a line of its own.
            match points.iter().all(|(_, y)| !y.is_finite() || (y - first).abs() <= 1e-9 * first.abs()) {
                true => chart.limits.push((word.to_owned(), first)),
                false => chart.series.push(Series { label: word.to_owned(), points, dashed: true }),
            }
        }
        Some(Chart::Lines(chart))
    };
    wanted.into_iter().filter_map(chart).collect()
}

/// The limits that conditions set a value, with what each is called.
fn limits(asked: &Trade, index: usize) -> impl Iterator<Item = (usize, &'static str)> {
    let of = move |condition: &Condition| {
        let low = condition.low.map(|low| (low, "at least"));
        let high = condition.high.map(|high| (high, "at most"));
        [low, high].into_iter().flatten()
    };
    asked.keep.iter().filter(move |condition| condition.actual == index).flat_map(of)
}

/// What a value is called: by its column, or as it is typed.
fn label(asked: &Trade, index: usize) -> String {
    if let Some(column) = asked.shown.iter().find(|column| column.from == index) {
        return column.name.clone();
    }
    if let Some(one) = asked.prefer.iter().find(|one| one.from == index) {
        return one.text.clone();
    }
    let condition = asked.keep.iter().find(|condition| condition.actual == index);
    let sides = condition.map_or("", |condition| condition.text.as_str());
    let sides: Vec<&str> =
        sides.split(['<', '>', '=']).map(str::trim).filter(|side| !side.is_empty()).collect();
    let judged = match sides.as_slice() {
        [_, middle, _] => middle,
        [first, second, ..] if read_literal(first).is_ok() => second,
        [first, ..] => first,
        [] => "",
    };
    judged.to_owned()
}

//! What a picture tells, in a sentence for who can't see it.

use crate::model::{Axis, LinesChart, Series};

/// How each line begins and ends, where the first two cross, and which limits are passed.
pub(super) fn of_lines(chart: &LinesChart) -> String {
    let mut told = vec![chart.caption.trim_end_matches('.').to_owned()];
    for series in &chart.series {
        let mut ends = series.points.iter().filter(|(x, y)| x.is_finite() && y.is_finite());
        let Some((first, last)) = ends.next().map(|first| (first, ends.next_back().unwrap_or(first))) else {
            continue;
        };
        let at = |point: &(f64, f64)| format!("{} at {}", shown(point.1, &chart.y), shown(point.0, &chart.x));
        told.push(format!("{}: {}, {}", series.label, at(first), at(last)));
        for (text, limit) in &chart.limits {
            if let Some(point) = passes(series, *limit) {
                told.push(format!("{} passes {text} at {}", series.label, shown(point, &chart.x)));
            }
        }
    }
    if let [one, other, ..] = &chart.series[..]
        && !chart.stacked
        && let Some((higher, lower, x)) = crossing(one, other)
    {
        told.push(format!("{higher} exceeds {lower} up to {}", shown(x, &chart.x)));
    }
    format!("{}.", told.join("; "))
}

/// About three digits, for an ear.
fn shown(value: f64, axis: &Axis) -> String {
    let digits = if value == 0.0 { 0.0 } else { value.abs().log10().floor() };
    let places = (2.0 - digits).clamp(0.0, 6.0) as usize;
    let mut number = format!("{value:.places$}");
    if number.contains('.') {
        number.truncate(number.trim_end_matches('0').trim_end_matches('.').len());
    }
    format!("{} {}", number.replace('-', "−"), axis.unit).trim_end().to_owned()
}

/// Where a line first goes over or under a value that it does not begin at.
fn passes(series: &Series, limit: f64) -> Option<f64> {
    let first = series.points.first()?;
    let above = first.1 > limit;
    (first.1 != limit).then_some(())?;
    series.points.iter().find(|(_, y)| y.is_finite() && *y != limit && (*y > limit) != above).map(|(x, _)| *x)
}

/// The line that begins higher, the other, and where it ends to be, if it does once.
fn crossing<'a>(one: &'a Series, other: &'a Series) -> Option<(&'a str, &'a str, f64)> {
    let pairs: Vec<(f64, f64)> = one
        .points
        .iter()
        .zip(&other.points)
        .filter(|(a, b)| a.0 == b.0 && a.1 != b.1)
        .map(|(a, b)| (a.0, a.1 - b.1))
        .collect();
    let (_, begins) = pairs.first()?;
    let changes = pairs.windows(2).filter(|pair| (pair[0].1 > 0.0) != (pair[1].1 > 0.0)).count();
    let last = pairs.iter().rfind(|(_, gap)| (*gap > 0.0) == (*begins > 0.0))?;
    let (higher, lower) = if *begins > 0.0 { (one, other) } else { (other, one) };
    (changes == 1).then_some((&higher.label, &lower.label, last.0))
}

#[cfg(test)]
mod tests {
    use super::of_lines;
    use crate::model::{Axis, LinesChart, Series};

    #[test]
    fn a_picture_tells_where_its_lines_cross_and_pass_a_limit() {
        let series = |label: &str, ys: [f64; 3]| Series {
            label: label.to_owned(),
            points: [0.0, 50.0, 100.0].into_iter().zip(ys).collect(),
            ..Series::default()
        };
        let axis = |label: &str, unit: &str| Axis { label: label.to_owned(), unit: unit.to_owned() };
        let chart = LinesChart {
            caption: "Force and need.".to_owned(),
            x: axis("speed", "km/h"),
            y: axis("force", "N"),
            series: vec![series("force", [900.0, 900.0, 300.0]), series("need", [100.0, 250.5, 700.0])],
            limits: vec![("the limit".to_owned(), 500.0)],
            stacked: false,
        };
        assert_eq!(
            of_lines(&chart),
            "Force and need; force: 900 N at 0 km/h, 300 N at 100 km/h; force passes the limit at 100 km/h; \
             need: 100 N at 0 km/h, 700 N at 100 km/h; need passes the limit at 100 km/h; \
             force exceeds need up to 50 km/h."
        );
    }
}

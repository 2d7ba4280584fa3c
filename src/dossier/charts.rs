//! Draws the pictures that blocks ask for.

use super::drawing::{Anchor, Drawing, Ink, Stroke, TextSize, Weight};
use super::message;
use super::pictures::{coolant, driveline, pack, side};
use super::plot::{Plot, WIDE, area, label, line, scale, small, tick_text};
use super::points::scattered;
use crate::model::{Chart, LinesChart};

/// A picture and its caption.
pub(super) fn draw(chart: &Chart) -> (Drawing, String) {
    match chart {
        Chart::OutAndIn { out, r#in, totals } => {
            (out_and_in(out, r#in, totals), "Mass out and in.".to_owned())
        }
        Chart::Lines(lines) => (over_an_axis(lines), lines.caption.clone()),
        Chart::Pack(strings) => (pack(strings), "The pack from pole to pole.".to_owned()),
        Chart::Side(vehicle) => side(vehicle),
        Chart::Coolant(loops) => coolant(loops),
        Chart::Points(points) => (scattered(points), points.caption.clone()),
        Chart::Driveline(shafts) => {
            let caption = format!(
                "From the wheel to the motor at {}; a bar that ends at its stroke is at its limit.",
                shafts.at
            );
            (driveline(shafts), caption)
        }
    }
}

/// Label, shown value, value.
pub(super) type Bar = (String, String, f64);

/// A title with its bars.
pub(super) type Group = (String, Vec<Bar>);

/// Bars to the left of one axis for what goes out, to the right for what comes in, largest first.
fn out_and_in(out: &[Bar], come: &[Bar], totals: &[(String, String); 2]) -> Drawing {
    const ROW: f64 = 11.0;
    const TOP: f64 = 22.0;
    let axis = WIDE / 2.0;
    let room = axis - 112.0;
    let largest = out.iter().chain(come).map(|bar| bar.2).fold(0.0, f64::max).max(f64::MIN_POSITIVE);
    let rows = out.len().max(come.len());
    let height = TOP + ROW * rows as f64 + 12.0;
    let mut marks = Vec::new();
    for (side, bars, total) in [(-1.0, out, &totals[0]), (1.0, come, &totals[1])] {
        let mut bars: Vec<&Bar> = bars.iter().collect();
        bars.sort_by(|a, b| b.2.total_cmp(&a.2));
        let anchor = if side < 0.0 { Anchor::End } else { Anchor::Start };
        let head = format!("{}, {} in all", total.0, total.1);
        marks.push(label(axis + side * 6.0, 12.0, &head, anchor));
        for (at, bar) in bars.into_iter().enumerate() {
            let y = TOP + ROW * at as f64;
            let length = room * bar.2 / largest;
            let (from, to) = (axis, axis + side * length);
            let ink = if side < 0.0 { Ink::Quiet } else { Ink::Accent };
            marks.push(area(&[(from, y), (to, y), (to, y + 8.5), (from, y + 8.5)], ink));
            let text = format!("{} {}", shorten(&bar.0), bar.1);
            marks.push(small(to + side * 4.0, y + 7.0, &text, anchor));
        }
    }
    marks.push(line(&[(axis, TOP - 4.0), (axis, height - 6.0)], Weight::Thin, Ink::Black));
    let heaviest = |bars: &[Bar]| {
        let most = bars.iter().max_by(|a, b| a.2.total_cmp(&b.2));
        most.map(|bar| format!(", most of it {} {}", bar.0, bar.1)).unwrap_or_default()
    };
    let (gone, come) = (heaviest(out), heaviest(come));
    let alt = format!("{} go out{gone}; {} come in{come}.", totals[0].1, totals[1].1);
    Drawing { width: WIDE, height, alt, marks }
}

/// A label that fits beside its bar.
fn shorten(text: &str) -> String {
    const LONG: usize = 19;
    if text.chars().count() <= LONG {
        text.to_owned()
    } else {
        text.chars().take(LONG - 1).collect::<String>() + "…"
    }
}

const SERIES: [Ink; 5] = [Ink::Accent, Ink::Fails, Ink::Meets, Ink::Close, Ink::Quiet];

/// Lines over one axis, each labelled where it ends; limits as thick dashed strokes across.
fn over_an_axis(chart: &LinesChart) -> Drawing {
    const HIGH: f64 = 98.0;
    let all = || chart.series.iter().flat_map(|series| series.points.iter().copied());
    let finite =
        |values: Vec<f64>| values.into_iter().filter(|value| value.is_finite()).collect::<Vec<f64>>();
    let xs = finite(all().map(|point| point.0).collect());
    let limits = chart.limits.iter().map(|(_, value)| *value);
    let ys = finite(all().map(|point| point.1).chain(limits).collect());
    let (plot, mut marks) = Plot::of((&xs, &ys), (&chart.x, &chart.y), HIGH);
    let mut below: Option<Vec<(f64, f64)>> = None;
    for (number, series) in chart.series.iter().enumerate().filter(|_| chart.stacked) {
        let points: Vec<(f64, f64)> = series.points.iter().map(|point| plot.at(*point)).collect();
        let floor = below.unwrap_or_else(|| points.iter().map(|(px, _)| (*px, plot.bottom)).collect());
        let shape: Vec<(f64, f64)> = points.iter().copied().chain(floor.iter().rev().copied()).collect();
        marks.push(area(&shape, if number % 2 == 0 { Ink::Tint } else { Ink::Paper }));
        below = Some(points);
    }
    let mut labels: Vec<(f64, String, Ink)> = Vec::new();
    for (number, series) in chart.series.iter().enumerate() {
        let ink = SERIES[number % SERIES.len()];
        let points: Vec<(f64, f64)> = series
            .points
            .iter()
            .filter(|(px, py)| px.is_finite() && py.is_finite())
            .map(|point| plot.at(*point))
            .collect();
        let Some(last) = points.last().copied() else { continue };
        labels.push((last.1, series.label.clone(), ink));
        marks.push(Stroke::Line { points, weight: Weight::Thick, ink, dashed: series.dashed });
    }
    for (text, value) in &chart.limits {
        let (_, py) = plot.at((plot.x.0, *value));
        let points = vec![(plot.left, py), (plot.right, py)];
        marks.push(Stroke::Line { points, weight: Weight::Thin, ink: Ink::Black, dashed: true });
        labels.push((py, text.clone(), Ink::Black));
    }
    marks.extend(spread(labels, plot.right + 4.0, plot.bottom - 2.0));
    Drawing { width: WIDE, height: HIGH, alt: message::of_lines(chart), marks }
}

/// Labels at the right edge, moved apart where they would touch.
fn spread(mut labels: Vec<(f64, String, Ink)>, x: f64, bottom: f64) -> Vec<Stroke> {
    const APART: f64 = 9.0;
    labels.sort_by(|a, b| a.0.total_cmp(&b.0));
    // Down from the top, then up again from the axis, below which its own words stand.
    let mut lowest = f64::NEG_INFINITY;
    for label in &mut labels {
        label.0 = label.0.max(lowest + APART);
        lowest = label.0;
    }
    let mut highest = bottom + APART;
    for label in labels.iter_mut().rev() {
        label.0 = label.0.min(highest - APART);
        highest = label.0;
    }
    let set = |(y, text, ink): (f64, String, Ink)| {
        let (y, text, anchor) = (y + 2.5, shorten(&text), Anchor::Start);
        Stroke::Text { x, y, text, size: TextSize::Small, anchor, ink }
    };
    labels.into_iter().map(set).collect()
}

/// For each group a title and a bar for each share of it, its name at the bar's end; the groups in two columns.
pub(super) fn shares(groups: &[Group]) -> Drawing {
    const ROW: f64 = 10.0;
    const BETWEEN: f64 = 16.0;
    const LONGEST: f64 = 44.0;
    let column = (WIDE - BETWEEN) / 2.0;
    let height = |group: &Group| 20.0 + ROW * group.1.len() as f64;
    let all: f64 = groups.iter().map(height).sum();
    let mut marks = Vec::new();
    let (mut left, mut y, mut deepest) = (0.0, 4.0, 0.0_f64);
    for group in groups {
        let (title, bars) = group;
        // The group that the middle falls into still stands in the first column.
        if left == 0.0 && y >= all / 2.0 {
            (left, y) = (column + BETWEEN, 4.0);
        }
        marks.push(label(left, y + 8.0, title, Anchor::Start));
        y += 13.0;
        let top = y;
        for (name, shown, share) in bars {
            let end = left + LONGEST * share.clamp(0.0, 1.0);
            marks
                .push(area(&[(left, y + 1.5), (end, y + 1.5), (end, y + 9.0), (left, y + 9.0)], Ink::Accent));
            let said = format!("{shown} {}", fit(name));
            marks.push(small(end + 4.0, y + 8.0, &said, Anchor::Start));
            y += ROW;
        }
        marks.push(line(&[(left, top - 1.0), (left, y)], Weight::Thin, Ink::Black));
        y += 7.0;
        deepest = deepest.max(y);
    }
    let alt = told(groups);
    Drawing { width: WIDE, height: deepest + 2.0, alt, marks }
}

/// What moves each target most, in words.
fn told(groups: &[Group]) -> String {
    let first =
        |(title, bars): &Group| bars.first().map(|(name, shown, _)| format!("{title}: {name} {shown}"));
    let most: Vec<String> = groups.iter().filter_map(first).collect();
    format!("What moves each target most. {}.", most.join("; "))
}

/// A bar for each move to the left or right of one axis, in the order given.
pub(super) fn moves(bars: &[Bar]) -> Drawing {
    const ROW: f64 = 13.0;
    const LEFT: f64 = 150.0;
    let axis = LEFT + (WIDE - LEFT) / 2.0;
    let room = (WIDE - LEFT) / 2.0 - 44.0;
    // What was near nothing before would make all others too short to be seen.
    let largest = bars.iter().map(|bar| bar.2.abs()).fold(f64::MIN_POSITIVE, f64::max).min(100.0);
    let mut marks = Vec::new();
    for (at, (name, shown, by)) in bars.iter().enumerate() {
        let y = 3.0 + ROW * at as f64;
        let end = axis + room * (by / largest).clamp(-1.0, 1.0);
        marks.push(area(&[(axis, y), (end, y), (end, y + 8.0), (axis, y + 8.0)], Ink::Accent));
        marks.push(small(LEFT - 5.0, y + 7.0, &fit(name), Anchor::End));
        let (aside, anchor) = if *by < 0.0 { (-4.0, Anchor::End) } else { (4.0, Anchor::Start) };
        marks.push(small(end + aside, y + 7.0, shown, anchor));
    }
    let height = 6.0 + ROW * bars.len() as f64;
    marks.push(line(&[(axis, 0.0), (axis, height - 2.0)], Weight::Thin, Ink::Black));
    let alt = format!("Bars of {} moves, to the left what fell, to the right what rose.", bars.len());
    Drawing { width: WIDE, height, alt, marks }
}

/// A value at a revision, with its ±.
pub(super) struct Point {
    pub(super) label: String,
    pub(super) value: f64,
    pub(super) half: f64,
}

/// A line through the values of one result, each with its ± as a stroke.
pub(super) fn history(points: &[Point], alt: &str) -> Drawing {
    const HIGH: f64 = 90.0;
    let ends: Vec<f64> =
        points.iter().flat_map(|point| [point.value - point.half, point.value + point.half]).collect();
    let (y, ticks) = scale(&ends);
    let x = (-0.5, points.len() as f64 - 0.5);
    let plot = Plot { left: 46.0, right: WIDE - 10.0, top: 8.0, bottom: HIGH - 18.0, x, y };
    let axes = [(plot.left, plot.top), (plot.left, plot.bottom), (plot.right, plot.bottom)];
    let mut marks = vec![line(&axes, Weight::Thin, Ink::Black)];
    for tick in &ticks {
        let (_, py) = plot.at((x.0, *tick));
        marks.push(line(&[(plot.left - 3.0, py), (plot.left, py)], Weight::Thin, Ink::Black));
        marks.push(small(plot.left - 5.0, py + 2.5, &tick_text(*tick, &ticks), Anchor::End));
    }
    let at = |number: usize, value: f64| plot.at((number as f64, value));
    let way: Vec<(f64, f64)> =
        points.iter().enumerate().map(|(number, point)| at(number, point.value)).collect();
    marks.push(line(&way, Weight::Thin, Ink::Quiet));
    for (number, point) in points.iter().enumerate() {
        let (low, high) = (at(number, point.value - point.half), at(number, point.value + point.half));
        marks.push(line(&[low, high], Weight::Thick, Ink::Accent));
        let (px, py) = way[number];
        marks.push(line(&[(px - 4.0, py), (px + 4.0, py)], Weight::Thick, Ink::Accent));
        marks.push(small(px, plot.bottom + 11.0, &shorten(&point.label), Anchor::Middle));
    }
    Drawing { width: WIDE, height: HIGH, alt: alt.to_owned(), marks }
}

/// A full name that fits beside its bar: its end is what tells it apart.
fn fit(name: &str) -> String {
    const LONG: usize = 27;
    let count = name.chars().count();
    if count <= LONG {
        name.to_owned()
    } else {
        format!("…{}", name.chars().skip(count - LONG + 1).collect::<String>())
    }
}

//! Axes with round ticks, and the marks that all pictures are made of.

use super::drawing::{Anchor, Ink, Stroke, TextSize, Weight};
use crate::model::Axis;

/// Width of every picture, in points: that of the main column.
pub(super) const WIDE: f64 = 378.0;

/// Where values are drawn.
pub(super) struct Plot {
    pub(super) left: f64,
    pub(super) right: f64,
    pub(super) top: f64,
    pub(super) bottom: f64,
    pub(super) x: (f64, f64),
    pub(super) y: (f64, f64),
}

impl Plot {
    /// With room for all values, and the marks of its axes.
    pub(super) fn of(
        (xs, ys): (&[f64], &[f64]),
        (x_axis, y_axis): (&Axis, &Axis),
        high: f64,
    ) -> (Plot, Vec<Stroke>) {
        let (x, x_ticks) = scale(xs);
        let (y, y_ticks) = scale(ys);
        let plot = Plot { left: 46.0, right: WIDE - 78.0, top: 18.0, bottom: high - 29.0, x, y };
        let mut marks = vec![line(
            &[(plot.left, plot.top - 4.0), (plot.left, plot.bottom), (plot.right, plot.bottom)],
            Weight::Thin,
            Ink::Black,
        )];
        for tick in &x_ticks {
            let (px, _) = plot.at((*tick, y.0));
            marks.push(line(&[(px, plot.bottom), (px, plot.bottom + 3.0)], Weight::Thin, Ink::Black));
            marks.push(small(px, plot.bottom + 12.0, &tick_text(*tick, &x_ticks), Anchor::Middle));
        }
        for tick in &y_ticks {
            let (_, py) = plot.at((x.0, *tick));
            marks.push(line(&[(plot.left - 3.0, py), (plot.left, py)], Weight::Thin, Ink::Black));
            marks.push(small(plot.left - 5.0, py + 2.5, &tick_text(*tick, &y_ticks), Anchor::End));
        }
        let (x_text, y_text) = (axis_text(x_axis), axis_text(y_axis));
        marks.push(small(plot.right, plot.bottom + 22.0, &x_text, Anchor::End));
        marks.push(small(plot.left - 30.0, plot.top - 9.0, &y_text, Anchor::Start));
        (plot, marks)
    }

    pub(super) fn at(&self, (x, y): (f64, f64)) -> (f64, f64) {
        let share = |value: f64, (from, to): (f64, f64)| (value - from) / (to - from);
        (
            self.left + (self.right - self.left) * share(x, self.x),
            self.bottom - (self.bottom - self.top) * share(y, self.y),
        )
    }
}

fn axis_text(Axis { label, unit }: &Axis) -> String {
    if unit.is_empty() || unit == "1" { label.clone() } else { format!("{label} in {unit}") }
}

/// Round ends and ticks around the values; an axis that is near 0 starts there.
pub(super) fn scale(values: &[f64]) -> ((f64, f64), Vec<f64>) {
    let (mut low, mut high) = values
        .iter()
        .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), value| (low.min(*value), high.max(*value)));
    if !low.is_finite() || !high.is_finite() {
        (low, high) = (0.0, 1.0);
    }
    if low > 0.0 && low < 0.5 * high {
        low = 0.0;
    }
    if high <= low {
        high = low + low.abs().max(1.0);
    }
    let rough = (high - low) / 5.0;
    let power = 10f64.powf(rough.log10().floor());
    let step = [1.0, 2.0, 2.5, 5.0, 10.0]
        .into_iter()
        .map(|nice| nice * power)
        .find(|step| *step >= rough)
        .unwrap_or(rough);
    let (first, last) = ((low / step).floor(), (high / step).ceil());
    let ticks = (first as i64..=last as i64).map(|at| at as f64 * step).collect();
    ((first * step, last * step), ticks)
}

pub(super) fn tick_text(tick: f64, ticks: &[f64]) -> String {
    let step = if ticks.len() > 1 { (ticks[1] - ticks[0]).abs() } else { 1.0 };
    let places = (-(step.log10() + 1e-9).floor()).clamp(0.0, 6.0) as usize;
    let places = if (step * 10f64.powi(places as i32)).fract().abs() > 1e-6 { places + 1 } else { places };
    let text = format!("{:.places$}", if tick == 0.0 { 0.0 } else { tick });
    text.replace('-', "−")
}

pub(super) fn line(points: &[(f64, f64)], weight: Weight, ink: Ink) -> Stroke {
    Stroke::Line { points: points.to_vec(), weight, ink, dashed: false }
}

pub(super) fn area(points: &[(f64, f64)], ink: Ink) -> Stroke {
    Stroke::Area { points: points.to_vec(), ink }
}

pub(super) fn label(x: f64, y: f64, text: &str, anchor: Anchor) -> Stroke {
    Stroke::Text { x, y, text: text.to_owned(), size: TextSize::Label, anchor, ink: Ink::Black }
}

pub(super) fn small(x: f64, y: f64, text: &str, anchor: Anchor) -> Stroke {
    Stroke::Text { x, y, text: text.to_owned(), size: TextSize::Small, anchor, ink: Ink::Black }
}

//! Pictures of an energy-use block: a cycle's speed and power, its energy by cause, and range against speed.

use super::drive::{Drive, Load};
use super::{EnergyUse, OverCycle};
use crate::model::{Axis, Chart, LinesChart, Page, Series, Slot};
use crate::quantities::si::{Measure, Velocity};
use crate::quantities::{Unit, read_unit};

/// Points of a picture's line at most.
const POINTS: usize = 400;

/// The pictures of the first cycle, and of the range where there is any.
pub(super) fn charts(block: &EnergyUse, (load, drive): (&Load, &Drive<'_>), page: &mut Page<'_>) {
    let speed_unit = match block.speeds.first() {
        Some(at) => page.unit_of(at.speed),
        None => read_unit("km/h").unwrap_or_else(|_| Velocity::SORT.display_unit()),
    };
    let mut pictures = Vec::new();
    if let Some(cycle) = block.cycles.first()
        && page.get(cycle.consumption).is_some()
    {
        pictures.push(speed_over_time(cycle, &speed_unit));
        pictures.push(power_over_time(cycle, load, &page.unit_of(cycle.peak_power)));
        pictures.push(by_cause(cycle, (load, drive)));
    }
    pictures.extend(range_over_speed(block, (load, drive), &speed_unit, page));
    for picture in pictures {
        match page.said.chart {
            None => page.said.chart = Some(Chart::Lines(picture)),
            Some(_) => page.said.more_charts.push(Chart::Lines(picture)),
        }
    }
}

fn axis(label: &str, unit: &str) -> Axis {
    Axis { label: label.to_owned(), unit: unit.to_owned() }
}

fn line(label: &str, points: Vec<(f64, f64)>) -> Series {
    Series { label: label.to_owned(), points: thin(points), dashed: false }
}

/// The least and the largest of each stretch of points stay, in their order.
fn thin(points: Vec<(f64, f64)>) -> Vec<(f64, f64)> {
    let size = points.len().div_ceil(POINTS / 2);
    if size <= 2 {
        return points;
    }
    let mut kept = Vec::with_capacity(POINTS + 2);
    for part in points.chunks(size) {
        let least = (0..part.len()).min_by(|a, b| part[*a].1.total_cmp(&part[*b].1)).unwrap_or(0);
        let most = (0..part.len()).max_by(|a, b| part[*a].1.total_cmp(&part[*b].1)).unwrap_or(0);
        kept.push(part[least.min(most)]);
        if least != most {
            kept.push(part[least.max(most)]);
        }
    }
    kept
}

fn speed_over_time(cycle: &OverCycle, unit: &Unit) -> LinesChart {
    let points = cycle.trace.samples().iter().map(|(time, speed)| (*time, unit.value_of(*speed))).collect();
    LinesChart {
        caption: format!("Speed over the {}.", cycle.title),
        x: axis("time", "s"),
        y: axis("speed", unit.symbol),
        series: vec![line("speed", points)],
        ..LinesChart::default()
    }
}

fn power_over_time(cycle: &OverCycle, load: &Load, unit: &Unit) -> LinesChart {
    let moments = cycle.course.moments(load);
    let points = moments.map(|(time, speed, force)| (time, unit.value_of(force * speed))).collect();
    LinesChart {
        caption: format!("Power at the wheels over the {}; below 0 it brakes.", cycle.title),
        x: axis("time", "s"),
        y: axis("power at the wheels", unit.symbol),
        series: vec![line("power", points)],
        ..LinesChart::default()
    }
}

/// Energy from the battery so far, by what it was used for. What is in motion is left out: it comes back or goes to
/// the brakes.
fn by_cause(cycle: &OverCycle, (load, drive): (&Load, &Drive<'_>)) -> LinesChart {
    const CAUSES: [&str; 8] = [
        "rolling",
        "part with speed",
        "air",
        "drive losses",
        "brakes",
        "loss in the pack",
        "climbing",
        "auxiliaries",
    ];
    let kwh = 3.6e6;
    let mut so_far = [0.0; 8];
    let mut lines = vec![vec![(0.0, 0.0)]; CAUSES.len()];
    let mut mark = |time: f64, so_far: &[f64; 8]| {
        let mut stacked = 0.0;
        for (points, energy) in lines.iter_mut().zip(so_far) {
            stacked += energy;
            points.push((time, stacked / kwh));
        }
    };
    for step in cycle.course.causes(load, drive) {
        for (sum, more) in so_far.iter_mut().zip(step.energies) {
            *sum += more;
        }
        so_far[7] = drive.auxiliary * step.time;
        mark(step.time, &so_far);
    }
    so_far[7] = drive.auxiliary * cycle.course.duration;
    mark(cycle.course.duration, &so_far);
    // What was climbed may have come back to nothing.
    let hilly = cycle.course.heights.is_some();
    let there = |at: &usize| so_far[*at].abs() > 0.0 || hilly && CAUSES[*at] == "climbing";
    let series =
        (0..CAUSES.len()).filter(there).map(|at| line(CAUSES[at], std::mem::take(&mut lines[at]))).collect();
    LinesChart {
        caption: format!(
            "Energy from the battery over the {}, by cause, each on the one below. Rolling is the constant part of the road load, air its part with the square of speed; brakes are what they turn to heat, with the losses of recovery.",
            cycle.title
        ),
        x: axis("time", "s"),
        y: axis("energy", "kWh"),
        series,
        stacked: true,
        ..LinesChart::default()
    }
}

fn range_over_speed(
    block: &EnergyUse,
    (load, drive): (&Load, &Drive<'_>),
    unit: &Unit,
    page: &Page<'_>,
) -> Option<LinesChart> {
    const FROM: f64 = 20.0 / 3.6;
    const TO: f64 = 130.0 / 3.6;
    let usable = page.get(block.pack.usable_energy)?.si();
    let slot: Slot<_> =
        block.speeds.first().map(|at| at.ranges.usual).or(block.cycles.first().map(|it| it.ranges.usual))?;
    let distance = page.unit_of(slot);
    let factor = page.get(block.model_factor)?.value;
    let limits = block.limits(&|index| page.values[index], block.torque_on(page));
    let along = |load: Load, drive: &Drive<'_>, energy: f64| -> Vec<(f64, f64)> {
        (0..=44)
            .map(|step| FROM + (TO - FROM) * f64::from(step) / 44.0)
            .filter(|speed| limits.steady((&load, drive), *speed).is_none())
            .map(|speed| (speed, energy / (drive.steady(&load, speed) * factor)))
            .filter(|(_, range)| range.is_finite() && *range > 0.0)
            .map(|(speed, range)| (unit.value_of(speed), distance.value_of(range)))
            .collect()
    };
    let mut series = vec![line("usual", along(*load, drive, usable))];
    let values = page.values;
    if let Some(winter) = &block.winter {
        let (cold, drive) = block.in_winter(winter, (load, drive), &|index| values[index]);
        let share = winter.energy_share.map_or(1.0, |slot| values[slot.index()]);
        series.push(Series { dashed: true, ..line("winter", along(cold, &drive, usable * share)) });
    }
    if series.iter().any(|series| series.points.len() < 2) {
        return None;
    }
    Some(LinesChart {
        caption: "Range at a steady speed, level and without wind.".to_owned(),
        x: axis("speed", unit.symbol),
        y: axis("range", distance.symbol),
        series,
        ..LinesChart::default()
    })
}

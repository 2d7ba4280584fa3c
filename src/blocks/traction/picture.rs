//! The picture of a traction block: force over speed in each gear, and what the road takes on grades.

use super::Traction;
use super::gears::Drives;
use super::given::Model;
use super::travel::Road;
use crate::blocks::shared::gravity::GRAVITY;
use crate::model::{Axis, Chart, LinesChart, Page, Series};
use crate::quantities::si::Measure;

impl Traction {
    /// Tractive force, peak and continuous, with the road load on 0, 10, 20 and 30 %.
    pub(super) fn draw(&self, page: &mut Page<'_>, drives: &Drives) {
        let (Ok(drive), Some(mass), Some(f0)) =
            (&drives.fastest().held, page.get(self.given.road.mass), page.get(self.given.road.f0))
        else {
            return;
        };
        let units = (page.unit_of(self.top.speed), page.unit_of(self.start.force));
        let curve = |label: String, speeds: &[f64], force: &dyn Fn(f64) -> f64| Series {
            label,
            points: speeds
                .iter()
                .map(|speed| (units.0.value_of(*speed), units.1.value_of(force(*speed))))
                .filter(|(_, force)| force.is_finite())
                .collect(),
            dashed: false,
        };
        let mut series = Vec::new();
        for (gear, model) in self.given.chain.gears.iter().zip(&drives.each) {
            let Ok(drive) = &model.held else { continue };
            let speeds = speeds(model);
            let peak = if self.given.chain.is_geared() { gear.case.title.clone() } else { "peak".to_owned() };
            series.push(curve(peak, &speeds, &|speed| drive.force_at(speed)));
            if let (false, Some(Ok(rated))) = (self.given.chain.is_geared(), &model.continuous) {
                let force = |speed: f64| rated.force_at(speed).min(drive.force_at(speed));
                series.push(curve("continuous".to_owned(), &speeds, &force));
            }
        }
        let last = drive.last_speed();
        let over: Vec<f64> = (0..=POINTS).map(|at| last * at as f64 / POINTS as f64).collect();
        let speeds = if self.given.chain.is_geared() { over } else { speeds(drives.fastest()) };
        for percent in [0.0, 10.0, 20.0, 30.0] {
            let slope = f64::atan(percent / 100.0);
            let constant = f0.si() * slope.cos() + mass.si() * GRAVITY * slope.sin();
            let road = Road { constant, ..drives.fastest().road };
            let line = curve(format!("{percent} %"), &speeds, &|speed| road.force(speed));
            series.push(Series { dashed: true, ..line });
        }
        let caption = match self.given.chain.is_geared() {
            true => {
                "Force at the wheels in each gear, and what the road takes on grades of 0, 10, 20 and 30 %."
            }
            false => "Force at the wheels, and what the road takes on grades of 0, 10, 20 and 30 %.",
        };
        page.said.chart = Some(Chart::Lines(LinesChart {
            caption: caption.to_owned(),
            x: Axis { label: "speed".to_owned(), unit: units.0.symbol.to_owned() },
            y: Axis { label: "force".to_owned(), unit: units.1.symbol.to_owned() },
            series,
            limits: Vec::new(),
            stacked: false,
        }));
    }
}

const POINTS: usize = 120;

/// Up to the last speed of a gear; corners are drawn where they lie.
fn speeds(model: &Model) -> Vec<f64> {
    let Ok(drive) = &model.held else { return Vec::new() };
    let last = drive.last_speed();
    let mut speeds: Vec<f64> = (0..=POINTS).map(|at| last * at as f64 / POINTS as f64).collect();
    speeds.extend(drive.pieces.iter().map(|piece| drive.speed(piece, piece.to)));
    speeds.sort_by(f64::total_cmp);
    speeds
}

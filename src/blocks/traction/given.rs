//! What a traction block takes from the blocks that it names, and the drive that is made of it.

use super::drive::{Caps, Drive, Gear, Motor, Piece, Sag, Shape, Trouble};
use super::takes::{
    CHAIN_EFFICIENCY, CIRCUMFERENCE, COLLAPSE_POWER, CONTINUOUS_CURVE, CONTINUOUS_POWER, CONTINUOUS_TORQUE,
    CURVE_VOLTAGE, EFFECTIVE_MASS, EFFICIENCY, F0, F1, F2, GEARED_TOP_SPEED, HEADWIND, MAX_SPEED,
    NOMINAL_VOLTAGE, OVERALL_RATIO, PACK_RESISTANCE, PEAK_POWER, PEAK_TIME, PEAK_TORQUE, RATED_POWER,
    ROAD_MASS, SLOPE, TORQUE_CURVE,
};
use super::travel::{Road, Stop, Why, stop};
use crate::blocks::shared::gravity::GRAVITY;
use crate::model::{Bench, BlockName, Form, Range, Slot};
use crate::quantities::si::AngularVelocity;
use crate::quantities::si::{
    Angle, ElectricPotential, ElectricalResistance, Force, ForcePerSpeed, ForcePerSpeedSquared, Length, Mass,
    Measure, Power, Ratio, Time, Torque, Velocity,
};
use crate::quantities::{Curve, Fault, Quantity, Sort, sort};

pub(super) struct Given {
    pub(super) road: RoadOf,
    pub(super) chain: ChainOf,
    pub(super) motor: MotorOf,
    pub(super) pack: Option<PackOf>,
    pub(super) battery_power: Option<Slot<Power>>,
}

pub(super) struct RoadOf {
    pub(super) mass: Slot<Mass>,
    pub(super) effective_mass: Slot<Mass>,
    pub(super) f0: Slot<Force>,
    pub(super) f1: Slot<ForcePerSpeed>,
    pub(super) f2: Slot<ForcePerSpeedSquared>,
    pub(super) slope: Slot<Angle>,
    pub(super) headwind: Slot<Velocity>,
}

pub(super) struct ChainOf {
    pub(super) overall_ratio: Slot<Ratio>,
    pub(super) efficiency: Slot<Ratio>,
    pub(super) circumference: Slot<Length>,
    pub(super) geared_top_speed: Slot<Velocity>,
}

pub(super) struct MotorOf {
    pub(super) shape: ShapeOf,
    pub(super) max_speed: Option<Slot<AngularVelocity>>,
    pub(super) efficiency: Slot<Ratio>,
    pub(super) efficiency_is_assumed: bool,
    pub(super) curve_voltage: Option<Slot<ElectricPotential>>,
    pub(super) continuous: Option<ContinuousOf>,
    pub(super) peak_time: Option<Slot<Time>>,
}

#[derive(Clone, Copy)]
pub(super) enum ShapeOf {
    Curve(Slot<Curve>),
    Peak { torque: Slot<Torque>, power: Slot<Power>, max_speed: Slot<AngularVelocity> },
}

#[derive(Clone, Copy)]
pub(super) enum ContinuousOf {
    Curve(Slot<Curve>),
    Ratings { torque: Option<Slot<Torque>>, power: Option<Slot<Power>> },
}

pub(super) struct PackOf {
    pub(super) nominal_voltage: Slot<ElectricPotential>,
    pub(super) resistance: Slot<ElectricalResistance>,
    pub(super) rated_power: Slot<Power>,
    pub(super) collapse_power: Slot<Power>,
}

/// The drive and the road as numbers.
pub(super) struct Model {
    pub(super) motor: Motor,
    pub(super) road: Road,
    pub(super) battery: f64,
    /// Without the limit of adhesion.
    pub(super) free: Result<Drive, Trouble>,
    /// Within it, on the road's grade.
    pub(super) held: Result<Drive, Trouble>,
    /// Within the continuous rating, without sag; never more than `free` where it is used.
    pub(super) continuous: Option<Result<Drive, Trouble>>,
}

impl Given {
    pub(super) fn read(form: &mut Form<'_, '_>) -> Given {
        let road = form.required_block("road");
        let road = road.as_ref();
        let mut lookup = form.lookup();
        let road = RoadOf {
            mass: lookup.taken(&ROAD_MASS, road),
            effective_mass: lookup.taken(&EFFECTIVE_MASS, road),
            f0: lookup.taken(&F0, road),
            f1: lookup.taken(&F1, road),
            f2: lookup.taken(&F2, road),
            slope: lookup.taken(&SLOPE, road),
            headwind: lookup.taken(&HEADWIND, road),
        };
        let chain = form.required_block("chain");
        let chain = chain.as_ref();
        let mut lookup = form.lookup();
        let chain = ChainOf {
            overall_ratio: lookup.taken(&OVERALL_RATIO, chain),
            efficiency: lookup.taken(&CHAIN_EFFICIENCY, chain),
            circumference: lookup.taken(&CIRCUMFERENCE, chain),
            geared_top_speed: lookup.taken(&GEARED_TOP_SPEED, chain),
        };
        let motor = form.required_block("motor");
        let motor = MotorOf::read(form, motor.as_ref());
        let pack = form.block_name("pack");
        let mut lookup = form.lookup();
        let pack = pack.as_ref().map(|pack| PackOf {
            nominal_voltage: lookup.taken(&NOMINAL_VOLTAGE, Some(pack)),
            resistance: lookup.taken(&PACK_RESISTANCE, Some(pack)),
            rated_power: lookup.taken(&RATED_POWER, Some(pack)),
            collapse_power: lookup.taken(&COLLAPSE_POWER, Some(pack)),
        });
        let battery_power = form.optional("battery_power");
        Given { road, chain, motor, pack, battery_power }
    }

    /// The values that every drive is made of.
    pub(super) fn uses(&self) -> Vec<usize> {
        let mut uses = vec![
            self.chain.overall_ratio.index(),
            self.chain.efficiency.index(),
            self.chain.circumference.index(),
            self.chain.geared_top_speed.index(),
            self.motor.efficiency.index(),
        ];
        match self.motor.shape {
            ShapeOf::Curve(curve) => uses.push(curve.index()),
            ShapeOf::Peak { torque, power, max_speed } => {
                uses.extend([torque.index(), power.index(), max_speed.index()]);
            }
        }
        uses.extend(self.motor.max_speed.map(Slot::index));
        uses.extend(self.battery_power.map(Slot::index));
        if let (Some(pack), Some(voltage)) = (&self.pack, self.motor.curve_voltage) {
            uses.extend([voltage.index(), pack.nominal_voltage.index(), pack.resistance.index()]);
        }
        uses
    }

    pub(super) fn continuous_uses(&self) -> Vec<usize> {
        match self.motor.continuous {
            Some(ContinuousOf::Curve(curve)) => vec![curve.index()],
            Some(ContinuousOf::Ratings { torque, power }) => {
                torque.map(Slot::index).into_iter().chain(power.map(Slot::index)).collect()
            }
            None => Vec::new(),
        }
    }

    /// `adhesion_force` is that on the level, N.
    pub(super) fn model(&self, bench: &Bench<'_>, adhesion_force: Force) -> Model {
        let slope = bench.get(self.road.slope).si();
        let weight = bench.get(self.road.mass).si() * GRAVITY;
        let road = Road {
            constant: bench.get(self.road.f0).si() * slope.cos() + weight * slope.sin(),
            f1: bench.get(self.road.f1).si(),
            f2: bench.get(self.road.f2).si(),
            wind: bench.get(self.road.headwind).si(),
        };
        let motor = self.motor(bench);
        let battery = self.battery_power.map_or(f64::INFINITY, |slot| bench.get(slot).si());
        let free = motor.drive(Caps { torque: f64::INFINITY, battery });
        let torque = adhesion_force.si() * slope.cos() / motor.gear.force;
        let mut held = motor.drive(Caps { torque, battery });
        let last = motor.pieces.last().map_or(f64::NAN, |piece| piece.to);
        let mut continuous = self.motor.continuous.map(|given| {
            let pieces = given.pieces(bench, last);
            let rated = Motor { pieces, sag: None, ..motor.clone() };
            rated.drive(Caps { torque: f64::INFINITY, battery: f64::INFINITY })
        });
        for drive in [Some(&mut held), continuous.as_mut()].into_iter().flatten().flatten() {
            road.corner(drive);
        }
        Model { motor, road, battery, free, held, continuous }
    }

    fn motor(&self, bench: &Bench<'_>) -> Motor {
        let ratio = bench.get(self.chain.overall_ratio).si();
        // A turn is 2π rad and covers the circumference.
        let arm = bench.get(self.chain.circumference).si() / std::f64::consts::TAU;
        let gear = Gear { force: ratio * bench.get(self.chain.efficiency).si() / arm, way: arm / ratio };
        let pieces = match self.motor.shape {
            ShapeOf::Curve(slot) => curve_pieces(bench, slot),
            ShapeOf::Peak { torque, power, max_speed } => {
                let (torque, power) = (bench.get(torque).si(), bench.get(power).si());
                rating_pieces(Some(torque), Some(power), bench.get(max_speed).si())
            }
        };
        let sag = self.pack.as_ref().zip(self.motor.curve_voltage).map(|(pack, voltage)| Sag {
            open_voltage: bench.get(pack.nominal_voltage).si(),
            resistance: bench.get(pack.resistance).si(),
            curve_voltage: bench.get(voltage).si(),
        });
        Motor {
            pieces,
            max_speed: self.motor.max_speed.map(|slot| bench.get(slot).si()),
            efficiency: bench.get(self.motor.efficiency).si(),
            sag,
            gear,
            chain_limit: bench.get(self.chain.geared_top_speed).si(),
        }
    }
}

impl RoadOf {
    pub(super) fn uses(&self) -> Vec<usize> {
        let forces = [self.f0.index(), self.f1.index(), self.f2.index()];
        [self.mass.index(), self.slope.index(), self.headwind.index()].into_iter().chain(forces).collect()
    }

    /// What grows with speed.
    pub(super) fn drag(&self, bench: &Bench<'_>, speed: Velocity) -> Force {
        let wind = speed + bench.get(self.headwind);
        bench.get(self.f1) * speed + bench.get(self.f2) * wind * wind.abs()
    }
}

impl MotorOf {
    /// At standstill.
    pub(super) fn launch_torque(&self, bench: &Bench<'_>) -> Torque {
        match self.shape {
            ShapeOf::Curve(curve) => match bench.curve(curve) {
                Some((points, _)) if curve_fault(points).is_none() => {
                    Torque::from_si(bench.read_curve(curve, 0.0))
                }
                _ => Torque::from_si(f64::NAN),
            },
            ShapeOf::Peak { torque, .. } => bench.get(torque),
        }
    }

    /// Its single values, each with what is possible.
    pub(super) fn ranges(&self) -> Vec<(usize, Range)> {
        let mut ranges = vec![(self.efficiency.index(), Range::Share)];
        let mut positive = |slot: usize| ranges.push((slot, Range::Positive));
        if let ShapeOf::Peak { torque, power, max_speed } = self.shape {
            [torque.index(), power.index(), max_speed.index()].into_iter().for_each(&mut positive);
        }
        if let Some(ContinuousOf::Ratings { torque, power }) = self.continuous {
            torque.map(Slot::index).into_iter().chain(power.map(Slot::index)).for_each(&mut positive);
        }
        let others = [
            self.max_speed.map(Slot::index),
            self.curve_voltage.map(Slot::index),
            self.peak_time.map(Slot::index),
        ];
        others.into_iter().flatten().for_each(&mut positive);
        ranges
    }

    fn read(form: &mut Form<'_, '_>, motor: Option<&BlockName>) -> MotorOf {
        let shape = if form.block_has(motor, "torque_curve") {
            ShapeOf::Curve(form.lookup().curve(&TORQUE_CURVE, motor))
        } else {
            let mut lookup = form.lookup();
            ShapeOf::Peak {
                torque: lookup.taken(&PEAK_TORQUE, motor),
                power: lookup.taken(&PEAK_POWER, motor),
                max_speed: lookup.taken(&MAX_SPEED, motor),
            }
        };
        let max_speed = match shape {
            ShapeOf::Curve(_) => form.lookup().if_there(&MAX_SPEED, motor),
            ShapeOf::Peak { max_speed, .. } => Some(max_speed),
        };
        let efficiency: Option<Slot<Ratio>> = form.lookup().if_there(&EFFICIENCY, motor);
        let efficiency_is_assumed = efficiency.is_none();
        let efficiency =
            efficiency.unwrap_or_else(|| form.default("motor.efficiency", "100 %", Some(&sort::RATIO)));
        let continuous = if form.block_has(motor, "continuous_torque_curve") {
            Some(ContinuousOf::Curve(form.lookup().curve(&CONTINUOUS_CURVE, motor)))
        } else {
            let torque = form.lookup().if_there(&CONTINUOUS_TORQUE, motor);
            let power = form.lookup().if_there(&CONTINUOUS_POWER, motor);
            (torque.is_some() || power.is_some()).then_some(ContinuousOf::Ratings { torque, power })
        };
        MotorOf {
            shape,
            max_speed,
            efficiency,
            efficiency_is_assumed,
            curve_voltage: form.lookup().if_there(&CURVE_VOLTAGE, motor),
            continuous,
            peak_time: form.lookup().if_there(&PEAK_TIME, motor),
        }
    }
}

impl ContinuousOf {
    fn pieces(self, bench: &Bench<'_>, last: f64) -> Vec<Piece> {
        match self {
            ContinuousOf::Curve(slot) => curve_pieces(bench, slot),
            ContinuousOf::Ratings { torque, power } => {
                let (torque, power) = (torque.map(|t| bench.get(t).si()), power.map(|p| bench.get(p).si()));
                rating_pieces(torque, power, last)
            }
        }
    }
}

/// Why a curve is no torque over motor speed.
pub(super) fn curve_fault(curve: &Curve) -> Option<Fault> {
    let wrong = |unit, sort: &'static Sort| Quantity::in_unit(1.0, unit).expect(sort).err();
    wrong(&curve.x, &sort::ANGULAR_SPEED).or_else(|| wrong(&curve.y, &sort::TORQUE))
}

/// The part of a curve from standstill on; empty for what is no torque over motor speed.
fn curve_pieces(bench: &Bench<'_>, slot: Slot<Curve>) -> Vec<Piece> {
    let Some((curve, scale)) = bench.curve(slot) else { return Vec::new() };
    if curve_fault(curve).is_some() || !scale.is_finite() {
        return Vec::new();
    }
    let lines = curve.points().windows(2).filter(|pair| pair[1].0 > 0.0).map(|pair| {
        let ((x0, y0), (x1, y1)) = (pair[0], pair[1]);
        let slope = scale * (y1 - y0) / (x1 - x0);
        let shape = Shape::Line { at_zero: scale * y0 - slope * x0, slope };
        Piece { shape, from: x0.max(0.0), to: x1, sags: false }
    });
    lines.collect()
}

/// Constant torque up to the corner, then constant power.
fn rating_pieces(torque: Option<f64>, power: Option<f64>, last: f64) -> Vec<Piece> {
    let piece = |shape, from, to| Piece { shape, from, to, sags: false };
    let flat = |torque| Shape::Line { at_zero: torque, slope: 0.0 };
    let sound = [torque, power, Some(last)].into_iter().flatten().all(|value| value > 0.0);
    match (torque, power) {
        _ if !sound => Vec::new(),
        (Some(torque), Some(power)) if power / torque < last => {
            let corner = power / torque;
            vec![piece(flat(torque), 0.0, corner), piece(Shape::Power(power), corner, last)]
        }
        (Some(torque), _) => vec![piece(flat(torque), 0.0, last)],
        (None, Some(power)) => vec![piece(Shape::Power(power), 0.0, last)],
        (None, None) => Vec::new(),
    }
}

impl Model {
    pub(super) fn top(&self) -> Option<Stop> {
        self.held.as_ref().ok().map(|drive| stop(drive, &self.road, 0.0))
    }

    /// Neither the motor's rating nor the drive at full power gives more.
    pub(super) fn continuous_top(&self) -> Option<Stop> {
        let rated = self.continuous.as_ref()?.as_ref().ok()?;
        let rated = stop(rated, &self.road, 0.0);
        let full = self.top()?;
        Some(if rated.speed < full.speed || rated.why == Why::NoStart { rated } else { full })
    }

    /// Where full drive from one speed ends.
    pub(super) fn stop_from(&self, from: f64) -> Option<Stop> {
        self.held.as_ref().ok().map(|drive| stop(drive, &self.road, from))
    }

    /// Whether full drive takes it from one speed to a higher one in a time that is not endless: a speed at which
    /// drive and road load balance is only ever come near to.
    pub(super) fn reaches(&self, from: f64, to: f64) -> bool {
        const NEAR: f64 = 1e-6;
        to > from
            && self.stop_from(from).is_some_and(|stop| match stop.why {
                Why::Balance => to <= stop.speed * (1.0 - NEAR),
                Why::LastSpeed => to <= stop.speed * (1.0 + 1e-9),
                Why::NoStart => false,
            })
    }

    /// Force at the wheels at a road speed, without the limit of adhesion; NaN beyond the last one.
    pub(super) fn force_at(&self, speed: f64) -> f64 {
        self.free.as_ref().map_or(f64::NAN, |drive| drive.force_at(speed))
    }

    pub(super) fn continuous_force_at(&self, speed: f64) -> f64 {
        match &self.continuous {
            Some(Ok(drive)) => {
                let (rated, full) = (drive.force_at(speed), self.force_at(speed));
                if rated.is_nan() || full.is_nan() { f64::NAN } else { rated.min(full) }
            }
            _ => f64::NAN,
        }
    }
}

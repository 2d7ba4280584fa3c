//! What a traction block takes from the blocks that it names, and the drive that is made of it.

use super::motor::MotorOf;
use super::stage::StageOf;
use super::takes::{
    CELL_CONTINUOUS, CHAIN_EFFICIENCY, CIRCUMFERENCE, COLLAPSE_POWER, EFFECTIVE_MASS, F0, F1, F2,
    GEARED_TOP_SPEED, HEADWIND, HIGHEST_SPEED, HIGHEST_SPEED_OF_GEAR, NOMINAL_VOLTAGE, OVERALL_RATIO,
    PACK_RESISTANCE, PARALLEL, RATED_POWER, RATIO_OF_GEAR, ROAD_MASS, SLOPE, TOP_SPEED_OF_GEAR, TYRE_SPEED,
    WORST_RESISTANCE, WORST_VOLTAGE,
};
use super::travel::Road;
use crate::blocks::shared::cell_of::cell_of;
use crate::blocks::shared::drive::{Caps, Drive, End, Gear, Motor, Sag, Trouble};
use crate::blocks::shared::gears::combinations_of;
use crate::blocks::shared::gravity::GRAVITY;
use crate::findings::codes;
use crate::model::{Bench, BlockName, Case, Form, Slot};
use crate::quantities::si::{
    Angle, ElectricCurrent, ElectricPotential, ElectricalResistance, Force, ForcePerSpeed,
    ForcePerSpeedSquared, Length, Mass, Measure, Power, Ratio, Velocity,
};
use crate::words::words;

/// Speeds that differ by less are one.
const ALIKE: f64 = 1e-9;

pub(super) struct Given {
    pub(super) road: RoadOf,
    pub(super) chain: ChainOf,
    pub(super) motor: MotorOf,
    pub(super) pack: Option<PackOf>,
    pub(super) pack_power_limit: Option<Slot<Power>>,
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
    /// In the chain's order; without a name where it has only one.
    pub(super) gears: Vec<GearOf>,
    /// From the wheel to the motor.
    pub(super) stages: Vec<StageOf>,
    /// Those that the chain names for the launch and the hill.
    pub(super) launch: Option<usize>,
    pub(super) hill: Option<usize>,
    pub(super) efficiency: Slot<Ratio>,
    pub(super) circumference: Slot<Length>,
}

pub(super) struct GearOf {
    pub(super) case: Case,
    /// Which ratio of each stage; none where each has only one.
    picks: Vec<usize>,
    pub(super) overall_ratio: Slot<Ratio>,
    /// Where the motor is at the limit that the chain states.
    geared_top_speed: Slot<Velocity>,
    /// Where that or a stage is at its limit.
    highest_speed: Slot<Velocity>,
}

pub(super) struct PackOf {
    pub(super) nominal_voltage: Slot<ElectricPotential>,
    pub(super) resistance: Slot<ElectricalResistance>,
    pub(super) rated_power: Slot<Power>,
    pub(super) collapse_power: Slot<Power>,
    /// Voltage and resistance, low and cold.
    pub(super) worst: Option<(Slot<ElectricPotential>, Slot<ElectricalResistance>)>,
    /// The current that its cells bear for long is theirs times the cells side by side.
    pub(super) cell_current: Option<Slot<ElectricCurrent>>,
    pub(super) parallel: Slot<f64>,
}

/// In which state the pack is looked at.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Charge {
    Nominal,
    /// Low and cold, as the pack says.
    Worst,
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
    /// Within the motor's continuous rating, without sag; never more than `free` where it is used.
    pub(super) rated: Option<Result<Drive, Trouble>>,
    /// The same within the pack's continuous power too.
    pub(super) continuous: Option<Result<Drive, Trouble>>,
    /// N at the wheels, the most at standstill; infinite where nobody knows.
    pub(super) stall: f64,
    /// kg on the road that the motor's rotor is like, in this gear.
    pub(super) rotor_mass: f64,
}

impl Given {
    pub(super) fn read(form: &mut Form<'_, '_>) -> Given {
        let road = form.lookup().block_name("road");
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
        let named = form.lookup().block_name("chain");
        let chain = ChainOf::read(form, named.as_ref());
        let motor = form.lookup().block_name("motor");
        one_motor(form, named.as_ref(), motor.as_ref());
        let motor = MotorOf::read(form, motor.as_ref());
        let pack = form.lookup().block_name("pack");
        let pack = pack.as_ref().map(|pack| PackOf::read(form, pack));
        let pack_power_limit = form.optional("pack_power_limit");
        Given { road, chain, motor, pack, pack_power_limit }
    }

    /// The values that every drive is made of.
    pub(super) fn uses(&self) -> Vec<usize> {
        let mut uses = vec![self.chain.efficiency.index(), self.chain.circumference.index()];
        for gear in &self.chain.gears {
            let speeds = [gear.geared_top_speed, gear.highest_speed];
            uses.extend([gear.overall_ratio.index()].into_iter().chain(speeds.map(Slot::index)));
        }
        uses.extend(self.motor.uses());
        uses.extend(self.pack_power_limit.map(Slot::index));
        if let (Some(pack), Some(voltage)) = (&self.pack, self.motor.curve_voltage) {
            uses.extend([voltage.index(), pack.nominal_voltage.index(), pack.resistance.index()]);
        }
        uses
    }

    /// Which ratio of a stage a gear takes.
    pub(super) fn picks(&self, gear: usize, stage: usize) -> usize {
        self.chain.gears[gear].picks.get(stage).copied().unwrap_or(0)
    }

    /// Whether the drive is another one with the pack at its worst.
    pub(super) fn has_worst(&self) -> bool {
        self.motor.curve_voltage.is_some() && self.pack.as_ref().is_some_and(|pack| pack.worst.is_some())
    }

    /// The same with the pack at its worst; `None` where that is no other drive.
    pub(super) fn worst_uses(&self) -> Option<Vec<usize>> {
        let (voltage, resistance) = self.pack.as_ref().filter(|_| self.has_worst())?.worst?;
        let mut uses = self.uses();
        uses.extend([voltage.index(), resistance.index()]);
        Some(uses)
    }

    /// Beyond those of every drive.
    pub(super) fn continuous_uses(&self) -> Vec<usize> {
        let mut uses = self.motor.continuous_uses();
        if let Some((pack, current)) = self.pack.as_ref().and_then(|pack| Some((pack, pack.cell_current?))) {
            uses.extend([current.index(), pack.parallel.index()]);
            uses.extend([pack.nominal_voltage.index(), pack.resistance.index()]);
        }
        uses
    }

    /// `adhesion_force` is that on the level, N.
    pub(super) fn model(
        &self,
        bench: &Bench<'_>,
        (adhesion_force, charge): (Force, Charge),
        gear: usize,
    ) -> Model {
        let slope = bench.get(self.road.slope).si();
        let weight = bench.get(self.road.mass).si() * GRAVITY;
        let road = Road {
            constant: bench.get(self.road.f0).si() * slope.cos() + weight * slope.sin(),
            f1: bench.get(self.road.f1).si(),
            f2: bench.get(self.road.f2).si(),
            wind: bench.get(self.road.headwind).si(),
        };
        let motor = self.motor(bench, charge, &self.chain.gears[gear]);
        let battery = self.pack_power_limit.map_or(f64::INFINITY, |slot| bench.get(slot).si());
        let free = motor.drive(Caps { torque: f64::INFINITY, battery });
        let torque = adhesion_force.si() * slope.cos() / motor.gear.force;
        let mut held = motor.drive(Caps { torque, battery });
        let last = motor.pieces.last().map_or(f64::NAN, |piece| piece.to);
        let rated = |battery| {
            let pieces = self.motor.continuous_pieces(bench, last)?;
            let rated = Motor { pieces, sag: None, ..motor.clone() };
            Some(rated.drive(Caps { torque: f64::INFINITY, battery }))
        };
        let of_pack = self.continuous_pack_power(bench).map(Measure::si);
        let mut continuous = rated(of_pack.unwrap_or(f64::INFINITY));
        let rated = if of_pack.is_some() { rated(f64::INFINITY) } else { continuous.clone() };
        for drive in [Some(&mut held), continuous.as_mut()].into_iter().flatten().flatten() {
            road.corner(drive);
        }
        let stall = self.motor.stall_torque.map_or(f64::INFINITY, |slot| bench.get(slot).si());
        let stall = stall * motor.gear.force;
        let inertia = self.motor.rotor_inertia.map_or(0.0, |slot| bench.get(slot).si());
        let rotor_mass = inertia / (motor.gear.way * motor.gear.way);
        Model { motor, road, battery, free, held, rated, continuous, stall, rotor_mass }
    }

    /// What the cells bear for long, at the pack's terminals.
    pub(super) fn continuous_pack_power(&self, bench: &Bench<'_>) -> Option<Power> {
        let pack = self.pack.as_ref()?;
        let current = pack.continuous_current(bench)?;
        Some((bench.get(pack.nominal_voltage) - bench.get(pack.resistance) * current) * current)
    }

    fn motor(&self, bench: &Bench<'_>, charge: Charge, in_gear: &GearOf) -> Motor {
        let ratio = bench.get(in_gear.overall_ratio).si();
        // A turn is 2π rad and covers the circumference.
        let arm = bench.get(self.chain.circumference).si() / std::f64::consts::TAU;
        let gear = Gear { force: ratio * bench.get(self.chain.efficiency).si() / arm, way: arm / ratio };
        let sag = self.pack.as_ref().zip(self.motor.curve_voltage).map(|(pack, voltage)| {
            let nominal = (pack.nominal_voltage, pack.resistance);
            let (open, resistance) = match charge {
                Charge::Nominal => nominal,
                Charge::Worst => pack.worst.unwrap_or(nominal),
            };
            Sag {
                open_voltage: bench.get(open).si(),
                resistance: bench.get(resistance).si(),
                curve_voltage: bench.get(voltage).si(),
            }
        });
        let highest = bench.get(in_gear.highest_speed).si();
        Motor {
            pieces: self.motor.pieces(bench),
            max_speed: self.motor.max_speed.map(|slot| bench.get(slot).si()),
            efficiency: bench.get(self.motor.efficiency).si(),
            sag,
            gear,
            chain_limit: highest,
            chain_end: match highest < (1.0 - ALIKE) * bench.get(in_gear.geared_top_speed).si() {
                true => End::Stage,
                false => End::Chain,
            },
        }
    }
}

impl ChainOf {
    fn read(form: &mut Form<'_, '_>, chain: Option<&BlockName>) -> ChainOf {
        let lookup = form.lookup();
        let written = chain.and_then(|chain| lookup.block(&chain.name, "stages")?.written("stages"));
        let stages = written.map_or_else(Vec::new, |written| StageOf::read(form, (chain, written)));
        let named = combinations_of(form, chain);
        let mut lookup = form.lookup();
        let used = chain.and_then(|chain| lookup.block(&chain.name, "use")?.written("use"));
        let named_for = |key: &str| {
            let text = used.and_then(|used| used.get(key)?.text())?.trim();
            named.iter().position(|one| one.case.title == text || one.case.slug == text)
        };
        let (launch, hill) = match named.len() > 1 {
            true => (named_for("launch"), named_for("hill")),
            false => (None, None),
        };
        let gears = match named.len() {
            0 | 1 => vec![GearOf {
                case: Case { slug: String::new(), title: String::new() },
                picks: Vec::new(),
                overall_ratio: lookup.taken(&OVERALL_RATIO, chain),
                geared_top_speed: lookup.taken(&GEARED_TOP_SPEED, chain),
                highest_speed: lookup.taken(&HIGHEST_SPEED, chain),
            }],
            _ => named
                .into_iter()
                .map(|one| GearOf {
                    overall_ratio: lookup.taken(RATIO_OF_GEAR.with("GEAR", &*one.case.slug), chain),
                    geared_top_speed: lookup.taken(TOP_SPEED_OF_GEAR.with("GEAR", &*one.case.slug), chain),
                    highest_speed: lookup.taken(HIGHEST_SPEED_OF_GEAR.with("GEAR", &*one.case.slug), chain),
                    case: one.case,
                    picks: one.picks,
                })
                .collect(),
        };
        // A requirement names it.
        lookup.if_given(&TYRE_SPEED, chain);
        ChainOf {
            gears,
            stages,
            launch,
            hill,
            efficiency: lookup.taken(&CHAIN_EFFICIENCY, chain),
            circumference: lookup.taken(&CIRCUMFERENCE, chain),
        }
    }

    pub(super) fn is_geared(&self) -> bool {
        self.gears.len() > 1
    }
}

impl PackOf {
    fn read(form: &mut Form<'_, '_>, pack: &BlockName) -> PackOf {
        let pack = Some(pack);
        let worst = form.lookup().has(pack, "worst");
        let cell = cell_of(form, pack);
        let mut lookup = form.lookup();
        // Requirements name them, where there is a worst state.
        let voltage = lookup.if_there(&WORST_VOLTAGE, pack);
        let resistance = lookup.if_there(&WORST_RESISTANCE, pack);
        PackOf {
            nominal_voltage: lookup.taken(&NOMINAL_VOLTAGE, pack),
            resistance: lookup.taken(&PACK_RESISTANCE, pack),
            rated_power: lookup.taken(&RATED_POWER, pack),
            collapse_power: lookup.taken(&COLLAPSE_POWER, pack),
            worst: voltage.zip(resistance).filter(|_| worst),
            cell_current: lookup.if_there(&CELL_CONTINUOUS, cell.as_ref()),
            parallel: lookup.taken(&PARALLEL, pack),
        }
    }

    pub(super) fn continuous_current(&self, bench: &Bench<'_>) -> Option<ElectricCurrent> {
        Some(bench.get(self.cell_current?) * bench.get(self.parallel))
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

impl Model {
    /// The most that the drive draws.
    pub(super) fn pack_power_limit(&self) -> Power {
        Power::from_si(self.free.as_ref().map_or(f64::NAN, |drive| drive.pack_power_limit()))
    }

    /// Force at the wheels at a road speed, without the limit of adhesion; NaN beyond the last one.
    pub(super) fn force_at(&self, speed: f64) -> f64 {
        let force = self.free.as_ref().map_or(f64::NAN, |drive| drive.force_at(speed));
        // NaN stays.
        if speed == 0.0 && force > self.stall { self.stall } else { force }
    }

    /// Within the motor's continuous rating.
    pub(super) fn rated_force_at(&self, speed: f64) -> f64 {
        self.least_at(self.rated.as_ref(), speed)
    }

    /// Within the pack's too.
    pub(super) fn continuous_force_at(&self, speed: f64) -> f64 {
        self.least_at(self.continuous.as_ref(), speed)
    }

    fn least_at(&self, rated: Option<&Result<Drive, Trouble>>, speed: f64) -> f64 {
        match rated {
            Some(Ok(drive)) => {
                let (rated, full) = (drive.force_at(speed), self.force_at(speed));
                if rated.is_nan() || full.is_nan() { f64::NAN } else { rated.min(full) }
            }
            _ => f64::NAN,
        }
    }
}

/// A chain is turned by one motor: its speed and torque would be judged by the limits of the other.
fn one_motor(form: &mut Form<'_, '_>, chain: Option<&BlockName>, motor: Option<&BlockName>) {
    let turning = form.lookup().block_of(chain, "motor").map_or_else(String::new, |motor| motor.name);
    let (Some(chain), Some(motor)) = (chain, motor) else { return };
    if !turning.is_empty() && !motor.name.is_empty() && turning != motor.name {
        let message = words!("`{}`, where `{}` turns the chain `{}`", motor.name, turning, chain.name);
        let help = words!("name one motor in both: `motor: {}`", turning);
        form.report(&codes::BAD_VALUE, motor.span, message, help);
    }
}

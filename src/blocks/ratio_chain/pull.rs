//! What each gear pulls at the wanted speed, where a traction block drives through this chain: by its motor, and by what
//! its pack leaves of that.

use super::torque::{MotorTorque, PEAK_POWER, TORQUE_CURVE};
use crate::blocks::shared::drive::{Caps, End, Gear, Motor, Sag};
use crate::blocks::shared::pieces::{Piece, capped, curve_pieces, rating_pieces};
use crate::model::{Bench, BlockName, Form, Looked, Slot, Taken};
use crate::quantities::Curve;
use crate::quantities::si::{
    AngularVelocity, ElectricPotential, ElectricalResistance, Length, Power, Ratio, Torque,
};

/// Beside a torque of the chain's own.
pub(super) static PULL: Taken<Torque> =
    Taken::new("motor", "peak_torque").about("for the gear in use, of a traction block's motor");
pub(super) static CURVE_VOLTAGE: Taken<ElectricPotential> = Taken::new("motor", "curve_voltage")
    .about("of the battery, for which the ratings hold: for the gear in use, with a traction block's pack");
pub(super) static MOTOR_EFFICIENCY: Taken<Ratio> =
    Taken::new("motor", "efficiency").about("for the gear in use, with a traction block's pack");
pub(super) static NOMINAL_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "nominal_voltage");
pub(super) static PACK_RESISTANCE: Taken<ElectricalResistance> = Taken::new("pack", "resistance");
pub(super) static PACK_LIMIT: Taken<Power> = Taken::new("traction", "pack_power_limit");

/// What all gears turn at.
#[derive(Clone, Copy)]
pub(super) struct At {
    pub(super) wheel_speed: AngularVelocity,
    pub(super) limit: AngularVelocity,
    pub(super) circumference: Length,
}

pub(super) struct PullOf {
    torque: Option<Slot<Torque>>,
    power: Option<Slot<Power>>,
    curve: Option<Slot<Curve>>,
    efficiency: Option<Slot<Ratio>>,
    sag: Option<SagOf>,
    battery: Option<Slot<Power>>,
}

struct SagOf {
    nominal_voltage: Slot<ElectricPotential>,
    resistance: Slot<ElectricalResistance>,
    curve_voltage: Slot<ElectricPotential>,
}

impl PullOf {
    /// `None` where there is no traction block, or nothing is known of its motor's torque.
    pub(super) fn read(
        form: &mut Form<'_, '_>,
        (own, torque): (Option<&BlockName>, &MotorTorque),
    ) -> Option<PullOf> {
        let traction = form.lookup().blocks(&["traction"], Looked::Naming("chain")).first()?.name.to_owned();
        let traction =
            BlockName { name: traction, span: form.place, field: "traction".to_owned(), within: "" };
        let its = form.lookup().block_of(Some(&traction), "motor")?;
        let same = own.is_some_and(|own| own.name == its.name);
        // Another motor than the chain's has names of its own here.
        let its = match own {
            Some(own) if same => own.clone(),
            _ => BlockName { field: "traction_motor".to_owned(), ..its },
        };
        let mut lookup = form.lookup();
        let there = ["torque_curve", "peak_torque", "peak_power"].map(|key| lookup.has(Some(&its), key));
        let [has_curve, has_torque, has_power] = there;
        let curve = match torque.curve {
            Some(curve) if same => Some(curve),
            _ if has_curve => Some(lookup.taken(&TORQUE_CURVE, Some(&its))),
            _ => None,
        };
        let peak = match torque.beside {
            Some(peak) if same => Some(peak),
            _ if curve.is_none() && has_torque => Some(lookup.taken(&PULL, Some(&its))),
            _ => None,
        };
        let power = match torque.power {
            Some(power) if same => Some(power),
            _ => has_power.then(|| lookup.taken(&PEAK_POWER, Some(&its))),
        };
        if curve.is_none() && peak.is_none() {
            return None;
        }
        let pack = lookup.block_of(Some(&traction), "pack").filter(|pack| !pack.name.is_empty());
        let voltage = pack.as_ref().and_then(|_| lookup.if_there(&CURVE_VOLTAGE, Some(&its)));
        let sag = voltage.map(|curve_voltage| SagOf {
            nominal_voltage: lookup.taken(&NOMINAL_VOLTAGE, pack.as_ref()),
            resistance: lookup.taken(&PACK_RESISTANCE, pack.as_ref()),
            curve_voltage,
        });
        let limited = lookup.has(Some(&traction), "pack_power_limit");
        let battery = limited.then(|| lookup.taken(&PACK_LIMIT, Some(&traction)));
        let efficiency = match sag.is_some() || battery.is_some() {
            true => lookup.if_there(&MOTOR_EFFICIENCY, Some(&its)),
            false => None,
        };
        Some(PullOf { torque: peak, power, curve, efficiency, sag, battery })
    }

    pub(super) fn uses(&self) -> impl Iterator<Item = usize> {
        let of_motor =
            [self.torque.map(Slot::index), self.power.map(Slot::index), self.curve.map(Slot::index)];
        let of_battery = [self.efficiency.map(Slot::index), self.battery.map(Slot::index)];
        let of_pack = self
            .sag
            .iter()
            .flat_map(|sag| [sag.nominal_voltage.index(), sag.resistance.index(), sag.curve_voltage.index()]);
        of_motor.into_iter().chain(of_battery).flatten().chain(of_pack)
    }

    /// Whether the pack's voltage has a say.
    pub(super) fn sags(&self) -> bool {
        self.sag.is_some()
    }

    /// Torque at the wheels with that overall ratio; none beyond the motor's curve, and where the pack collapses.
    pub(super) fn force(&self, bench: &Bench<'_>, overall: Ratio, at: At) -> f64 {
        let motor = Motor {
            pieces: self.pieces(bench, at.limit.value),
            max_speed: None,
            efficiency: self.efficiency.map_or(1.0, |slot| bench.get(slot).value),
            sag: self.sag.as_ref().map(|sag| Sag {
                open_voltage: bench.get(sag.nominal_voltage).value,
                resistance: bench.get(sag.resistance).value,
                curve_voltage: bench.get(sag.curve_voltage).value,
            }),
            // The road is measured in turns of the wheel.
            gear: Gear { force: overall.value, way: 1.0 / overall.value },
            chain_limit: f64::INFINITY,
            chain_end: End::Chain,
        };
        let battery = self.battery.map_or(f64::INFINITY, |slot| bench.get(slot).value);
        let drive = motor.drive(Caps { torque: f64::INFINITY, battery });
        let force = drive.map_or(0.0, |drive| drive.force_at(at.wheel_speed.value));
        if force.is_nan() { 0.0 } else { force }
    }

    fn pieces(&self, bench: &Bench<'_>, last: f64) -> Vec<Piece> {
        let power = self.power.map(|slot| bench.get(slot).value);
        match self.curve {
            Some(curve) => capped(&curve_pieces(bench, curve), f64::INFINITY, power.unwrap_or(f64::INFINITY)),
            None => rating_pieces(self.torque.map(|slot| bench.get(slot).value), power, last),
        }
    }
}

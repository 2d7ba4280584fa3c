//! Works an energy-use block: numbers only.

use super::drive::{Drive, Load, Regeneration};
use super::follow::{Chain, Gear, GearOf, Limits, Values};
use super::map::Efficiency;
use super::{AtSpeed, DriveEfficiency, EnergyUse, OverCycle, Ranges, Recovered, Steady, Winter};
use crate::blocks::shared::gravity::GRAVITY;
use crate::model::{Bench, Block, Page, Slot};
use crate::quantities::Curve;
use crate::quantities::si::{
    Consumption, ElectricCurrent, ElectricPotential, Energy, Force, Length, Measure, Power, Ratio,
    SpecificPower, Time,
};

impl EnergyUse {
    pub(super) fn load(&self, value: Values<'_>) -> Load {
        let road = &self.road;
        Load {
            f0: value(road.f0.index()),
            f1: value(road.f1.index()),
            f2: value(road.f2.index()),
            mass: value(road.mass.index()),
            weight: road.lifted.map_or(0.0, |mass| value(mass.index()) * GRAVITY),
        }
    }

    pub(super) fn drive(&self, value: Values<'_>) -> Drive<'_> {
        let or = |slot: Option<usize>, otherwise: f64| slot.map_or(otherwise, value);
        let efficiency = match &self.efficiency {
            DriveEfficiency::Constant(slot) => Efficiency::Constant(value(slot.index())),
            DriveEfficiency::Map(map, chain) => Efficiency::Map(map, chain.gearing(chain.ratio, value)),
            DriveEfficiency::Unknown => Efficiency::Constant(f64::NAN),
        };
        let regeneration = self.regeneration.as_ref().map(|back| Regeneration {
            share: value(back.share.index()),
            efficiency: value(back.efficiency.index()),
            power_limit: or(back.power_limit.map(Slot::index), f64::INFINITY),
            minimum_speed: or(back.minimum_speed.map(Slot::index), 0.0),
        });
        Drive {
            efficiency,
            regeneration,
            auxiliary: value(self.auxiliary.index()),
            voltage: value(self.pack.voltage.index()),
            resistance: value(self.pack.resistance.index()),
        }
    }

    /// The road load and the drive in winter: the heater beside the auxiliaries, and less recovered.
    pub(super) fn in_winter<'d>(
        &self,
        winter: &Winter,
        (load, drive): (&Load, &Drive<'d>),
        value: Values<'_>,
    ) -> (Load, Drive<'d>) {
        let or =
            |slot: Option<Slot<Ratio>>, otherwise: f64| slot.map_or(otherwise, |slot| value(slot.index()));
        let heater = winter.heater.map_or(0.0, |slot| value(slot.index()));
        // A cold pack takes nothing back where nobody says that it does.
        let kept = or(winter.regeneration_share, if winter.energy_share.is_some() { 0.0 } else { 1.0 });
        let regeneration = drive.regeneration.map(|back| Regeneration { share: back.share * kept, ..back });
        let cold = Drive { regeneration, auxiliary: drive.auxiliary + heater, ..*drive };
        (load.times(1.0 + or(winter.load_increase, 0.0)), cold)
    }

    /// The drive on a full pack.
    pub(super) fn on_full_pack<'d>(share: Slot<Ratio>, drive: &Drive<'d>, value: Values<'_>) -> Drive<'d> {
        let kept = value(share.index());
        let regeneration = drive.regeneration.map(|back| Regeneration { share: back.share * kept, ..back });
        Drive { regeneration, ..*drive }
    }

    /// What the named blocks can give. `torque` is the motor's curve and its scale.
    pub(super) fn limits<'c>(&self, value: Values<'_>, torque: Option<(&'c Curve, f64)>) -> Limits<'c> {
        let limits = &self.limits;
        // A value that is not there limits nothing.
        let or_none = |slot: Option<usize>| match slot.map(value) {
            Some(limit) if !limit.is_nan() => limit,
            _ => f64::INFINITY,
        };
        let through = limits.chain.map_or(1.0, |chain| value(chain.efficiency.index()));
        let gear = |chain: Chain, gear: &GearOf| Gear {
            gearing: chain.gearing(gear.ratio, value),
            top_speed: or_none(gear.top_speed.map(Slot::index)),
        };
        let gears =
            limits.chain.into_iter().flat_map(|chain| limits.gears.iter().map(move |it| gear(chain, it)));
        Limits {
            wheel_power: or_none(limits.motor_power.map(Slot::index)) * through,
            torque,
            gears: gears.collect(),
            pack_power: or_none(limits.pack_power.map(Slot::index)),
        }
    }

    pub(super) fn torque_on<'p>(&self, page: &Page<'p>) -> Option<(&'p Curve, f64)> {
        page.curve(self.limits.torque_curve?)
    }

    fn energy_in_winter(&self, winter: &Winter, bench: &Bench<'_>) -> Energy {
        let share = winter.energy_share.map_or(1.0, |share| bench.get(share).value);
        bench.get(self.pack.usable_energy) * share
    }

    fn over(&self, cycle: &OverCycle, bench: &mut Bench<'_>) {
        let value = |index: usize| bench.get(Slot::<f64>::new(index));
        let (load, drive) = (self.load(&value), self.drive(&value));
        let winter =
            self.winter.as_ref().map(|winter| (winter, self.in_winter(winter, (&load, &drive), &value)));
        let limits = self.limits(&value, self.limits.torque_curve.and_then(|slot| bench.curve(slot)));
        let course = &cycle.course;
        let driven = limits.follow(course, &load, &drive);
        let driven_in_winter =
            winter.as_ref().is_some_and(|(_, (load, drive))| limits.follow(course, load, drive));
        let full = self.full.map(|share| EnergyUse::on_full_pack(share, &drive, &value));
        let factor = bench.get(self.model_factor).value;
        let [usual, cold, on_full] = &cycle.memos;
        let (wheel, battery) = (usual.wheel(course, &load), usual.battery(course, &load, &drive));
        let each = |energy: f64| Consumption::from_si(energy / course.distance);
        bench.set(cycle.duration, Time::from_si(course.duration));
        bench.set(cycle.distance, Length::from_si(course.distance));
        bench.set(cycle.at_wheel, each(wheel.driving));
        bench.set(cycle.braking, each(wheel.braking));
        bench.set(cycle.peak_power, Power::from_si(wheel.peak));
        let pack_power = match &drive.efficiency {
            Efficiency::Constant(efficiency) => wheel.peak / efficiency + drive.auxiliary,
            Efficiency::Map(..) => course.most(&load, |speed, force| drive.at_terminals(speed, force)),
        };
        bench.set(cycle.pack_power, Power::from_si(pack_power));
        let drawn = match &drive.efficiency {
            Efficiency::Constant(efficiency) => wheel.driving / efficiency,
            Efficiency::Map(..) => battery.drawn,
        };
        bench.set(cycle.drawn, each(drawn));
        let recovered = match (cycle.recovered, &drive.regeneration) {
            (Some(Recovered::Plain(slot)), Some(back)) => {
                let recovered = wheel.braking * back.share * back.efficiency;
                bench.set(slot, each(recovered));
                recovered
            }
            (Some(Recovered::Limited(slot)), _) => {
                bench.set(slot, each(battery.recovered));
                battery.recovered
            }
            _ => 0.0,
        };
        let auxiliaries = drive.auxiliary * course.duration;
        bench.set(cycle.auxiliaries, each(auxiliaries));
        let at_terminals = drawn - recovered + auxiliaries;
        bench.set(cycle.at_terminals, each(at_terminals));
        let current = (battery.current_squared / course.duration).sqrt();
        bench.set(cycle.rms_current, ElectricCurrent::from_si(current));
        let pack_loss = drive.resistance * battery.current_squared;
        bench.set(cycle.pack_loss, each(pack_loss));
        self.set_range((cycle.consumption, &cycle.ranges), each((at_terminals + pack_loss) * factor), bench);
        if let Some(heights) = &course.heights {
            bench.set(cycle.climbed, Length::from_si(heights.up));
            bench.set(cycle.climbing, each(load.weight * heights.up));
        }
        if let Some(full) = &full {
            let used = on_full.battery(course, &load, full).cells_give(full, course.duration);
            bench.set(cycle.on_full_pack, each(used * factor));
        }
        if !driven {
            bench.not_there(cycle.drawn);
            bench.not_there(cycle.rms_current);
            if full.is_some() {
                bench.not_there(cycle.on_full_pack);
            }
        }
        let Some((winter, (load, drive))) = winter else { return };
        let used = cold.battery(course, &load, &drive).cells_give(&drive, course.duration);
        self.set_winter((cycle.in_winter, &cycle.ranges), (winter, each(used * factor)), bench);
        if !driven_in_winter {
            bench.not_there(cycle.in_winter);
        }
    }

    fn at(&self, at: &AtSpeed, bench: &mut Bench<'_>) {
        let value = |index: usize| bench.get(Slot::<f64>::new(index));
        let (load, drive) = (self.load(&value), self.drive(&value));
        let winter =
            self.winter.as_ref().map(|winter| (winter, self.in_winter(winter, (&load, &drive), &value)));
        let speed = value(at.speed.index());
        let limits = self.limits(&value, self.limits.torque_curve.and_then(|slot| bench.curve(slot)));
        let lasting = self.lasting.in_si(&value, |slot| bench.curve(slot));
        let driven = |load: &Load, drive: &Drive<'_>| {
            limits.steady((load, drive), speed).is_none()
                && lasting.behind(&limits, (load, drive), speed).is_none()
        };
        let usual_driven = driven(&load, &drive);
        let winter_driven = winter.as_ref().is_some_and(|(_, (load, drive))| driven(load, drive));
        let factor = bench.get(self.model_factor).value;
        let mut set = |steady: &Steady, (load, drive): (&Load, &Drive<'_>), driven: bool| {
            let force = load.force(speed);
            bench.set(steady.drag, Force::from_si(force));
            if let Some(slot) = steady.efficiency {
                bench.set(slot, Ratio::from_si(drive.efficiency.at(speed, force)));
            }
            let power = force * speed / drive.efficiency.at(speed, force) + drive.auxiliary;
            bench.set(steady.power, Power::from_si(power));
            let voltage = drive.voltage_under(power);
            let from_cells = power * drive.voltage / voltage;
            bench.set(steady.voltage, ElectricPotential::from_si(voltage));
            bench.set(steady.cell_power, Power::from_si(from_cells));
            if !driven {
                bench.not_there(steady.voltage);
            }
            Consumption::from_si(from_cells / speed * factor)
        };
        let usual = set(&at.usual, (&load, &drive), usual_driven);
        let colder = winter
            .map(|(winter, (load, drive))| (winter, set(&at.in_winter, (&load, &drive), winter_driven)));
        self.set_range((at.usual.consumption, &at.ranges), usual, bench);
        if let Some(colder) = colder {
            self.set_winter((at.in_winter.consumption, &at.ranges), colder, bench);
        }
    }

    fn set_range(
        &self,
        (slot, ranges): (Slot<Consumption>, &Ranges),
        consumption: Consumption,
        bench: &mut Bench<'_>,
    ) {
        bench.set(slot, consumption);
        let range = range_on(bench.get(self.pack.usable_energy), consumption);
        bench.set(ranges.usual, range);
        bench.set(ranges.aged, range * bench.get(self.life_share).value);
    }

    fn set_winter(
        &self,
        (slot, ranges): (Slot<Consumption>, &Ranges),
        (winter, consumption): (&Winter, Consumption),
        bench: &mut Bench<'_>,
    ) {
        bench.set(slot, consumption);
        let range = range_on(self.energy_in_winter(winter, bench), consumption);
        bench.set(ranges.winter, range);
        bench.set(ranges.winter_aged, range * bench.get(self.life_share).value);
    }
}

/// NaN where nothing is used: that range has no end.
fn range_on(energy: Energy, consumption: Consumption) -> Length {
    if consumption.si() <= 0.0 {
        return Length::from_si(f64::NAN);
    }
    consumption.distance_on(energy)
}

impl Block for EnergyUse {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let class = &self.class;
        if let (Some(power), Some(mass)) = (class.power, class.mass) {
            let through = class.efficiency.map_or(1.0, |slot| bench.get(slot).value);
            let power_to_mass: SpecificPower = bench.get(power) * through / bench.get(mass);
            bench.set(class.power_to_mass, power_to_mass);
        }
        if let Some(winter) = &self.winter {
            let heater = winter.heater.map_or(Power::from_si(0.0), |slot| bench.get(slot));
            bench.set(winter.power, bench.get(self.auxiliary) + heater);
            bench.set(winter.energy, self.energy_in_winter(winter, bench));
        }
        for cycle in &self.cycles {
            self.over(cycle, bench);
        }
        for steady in &self.speeds {
            self.at(steady, bench);
        }
        if let Some(climb) = &self.climb {
            self.climb(climb, bench);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        self.tell(page);
    }
}

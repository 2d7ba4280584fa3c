//! Works an energy-use block: numbers only.

use super::cycle::{Drive, Load, Regeneration};
use super::map::{Efficiency, Gearing};
use super::{AtSpeed, DriveEfficiency, EnergyUse, OverCycle, Recovered, Steady, Winter};
use crate::model::{Bench, Block, Page, Slot};
use crate::quantities::si::{
    Consumption, ElectricCurrent, Energy, Force, Length, Measure, Power, Ratio, SpecificPower, Time,
};

/// Numbers of the block by slot, in SI: of the nominal run or of a nudged one.
pub(super) type Values<'a> = &'a dyn Fn(usize) -> f64;

impl EnergyUse {
    pub(super) fn load(&self, value: Values<'_>) -> Load {
        let road = &self.road;
        Load {
            f0: value(road.f0.index()),
            f1: value(road.f1.index()),
            f2: value(road.f2.index()),
            mass: value(road.mass.index()),
        }
    }

    pub(super) fn drive(&self, value: Values<'_>) -> Drive<'_> {
        let or = |slot: Option<usize>, otherwise: f64| slot.map_or(otherwise, value);
        let efficiency = match &self.efficiency {
            DriveEfficiency::Constant(slot) => Efficiency::Constant(value(slot.index())),
            DriveEfficiency::Map { map, ratio, circumference, efficiency } => {
                let gearing = Gearing {
                    ratio: value(ratio.index()),
                    circumference: value(circumference.index()),
                    efficiency: value(efficiency.index()),
                };
                Efficiency::Map(map, gearing)
            }
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

    /// The road load and all that draws besides the drive, in winter.
    pub(super) fn in_winter(&self, winter: &Winter, load: &Load, value: Values<'_>) -> (Load, f64) {
        let increase = winter.load_increase.map_or(0.0, |slot| value(slot.index()));
        let heater = winter.heater.map_or(0.0, |slot| value(slot.index()));
        (load.times(1.0 + increase), value(self.auxiliary.index()) + heater)
    }

    /// J/m at a steady speed.
    pub(super) fn steady(drive: &Drive<'_>, load: &Load, others: f64, speed: f64) -> f64 {
        let force = load.force(speed);
        force / drive.efficiency.at(speed, force) + others / speed
    }

    fn energy_in_winter(&self, winter: &Winter, bench: &Bench<'_>) -> Energy {
        let share = winter.energy_share.map_or(1.0, |share| bench.get(share).value);
        bench.get(self.pack.usable_energy) * share
    }

    fn over(&self, cycle: &OverCycle, bench: &mut Bench<'_>) {
        let value = |index: usize| bench.get(Slot::<f64>::new(index));
        let (load, drive) = (self.load(&value), self.drive(&value));
        let winter = self.winter.as_ref().map(|winter| (winter, self.in_winter(winter, &load, &value)));
        let course = &cycle.course;
        let (wheel, battery) = (course.wheel(&load), course.battery(&load, &drive));
        let each = |energy: f64| Consumption::from_si(energy / course.distance);
        bench.set(cycle.duration, Time::from_si(course.duration));
        bench.set(cycle.distance, Length::from_si(course.distance));
        bench.set(cycle.at_wheel, each(wheel.driving));
        bench.set(cycle.braking, each(wheel.braking));
        bench.set(cycle.peak_power, Power::from_si(wheel.peak));
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
        let consumption = each(drawn - recovered + auxiliaries);
        bench.set(cycle.consumption, consumption);
        let current = (battery.current_squared / course.duration).sqrt();
        bench.set(cycle.rms_current, ElectricCurrent::from_si(current));
        self.set_ranges((cycle.ranges.usual, cycle.ranges.aged), consumption, bench);
        if let Some((winter, (load, others))) = winter {
            let battery = course.battery(&load, &drive);
            let consumption = each(battery.drawn - battery.recovered + others * course.duration);
            bench.set(cycle.in_winter, consumption);
            let energy = self.energy_in_winter(winter, bench);
            bench.set(cycle.ranges.winter, range_on(energy, consumption));
        }
    }

    fn at(&self, at: &AtSpeed, bench: &mut Bench<'_>) {
        let value = |index: usize| bench.get(Slot::<f64>::new(index));
        let (load, drive) = (self.load(&value), self.drive(&value));
        let speed = value(at.speed.index());
        let winter = self.winter.as_ref().map(|winter| (winter, self.in_winter(winter, &load, &value)));
        let mut set = |steady: &Steady, (load, others): (Load, f64)| {
            let force = load.force(speed);
            bench.set(steady.drag, Force::from_si(force));
            if let Some(slot) = steady.efficiency {
                bench.set(slot, Ratio::from_si(drive.efficiency.at(speed, force)));
            }
            let consumption = Consumption::from_si(Self::steady(&drive, &load, others, speed));
            bench.set(steady.consumption, consumption);
            consumption
        };
        let consumption = set(&at.usual, (load, drive.auxiliary));
        let colder = winter.map(|(winter, there)| (winter, set(&at.in_winter, there)));
        self.set_ranges((at.ranges.usual, at.ranges.aged), consumption, bench);
        if let Some((winter, consumption)) = colder {
            let energy = self.energy_in_winter(winter, bench);
            bench.set(at.ranges.winter, range_on(energy, consumption));
        }
    }

    fn set_ranges(
        &self,
        (usual, aged): (Slot<Length>, Slot<Length>),
        consumption: Consumption,
        bench: &mut Bench<'_>,
    ) {
        let range = range_on(bench.get(self.pack.usable_energy), consumption);
        bench.set(usual, range);
        bench.set(aged, range * bench.get(self.life_share).value);
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
    }

    fn present(&self, page: &mut Page<'_>) {
        self.tell(page);
    }
}

//! Works an energy-use block: numbers only.

use super::cycle::{Drive, Load, Regeneration};
use super::map::{Efficiency, Gearing};
use super::{AtSpeed, DriveEfficiency, EnergyUse, OverCycle, Ranges, Recovered, Winter};
use crate::model::{Bench, Block, Page, Slot};
use crate::quantities::si::{
    Consumption, ElectricCurrent, Energy, Length, Measure, Power, SpecificPower, Time,
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
            DriveEfficiency::Unknown(_) => Efficiency::Constant(f64::NAN),
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

    fn over(&self, cycle: &OverCycle, bench: &mut Bench<'_>) {
        let value = |index: usize| bench.get(Slot::<f64>::new(index));
        let (load, drive) = (self.load(&value), self.drive(&value));
        let winter = self.winter.as_ref().map(|winter| self.in_winter(winter, &load, &value));
        let course = &cycle.course;
        let (wheel, battery) = (course.wheel(&load), course.battery(&load, &drive));
        let each = |energy: f64| Consumption::from_si(energy / course.distance);
        bench.set(cycle.duration, Time::from_si(course.duration));
        bench.set(cycle.distance, Length::from_si(course.distance));
        bench.set(cycle.at_wheel, each(wheel.driving));
        bench.set(cycle.braking, each(wheel.braking));
        bench.set(cycle.peak_power, Power::from_si(wheel.peak));
        let drawn = match (cycle.drawn, &drive.efficiency) {
            (None, Efficiency::Constant(efficiency)) => wheel.driving / efficiency,
            _ => battery.drawn,
        };
        if let Some(slot) = cycle.drawn {
            bench.set(slot, each(drawn));
        }
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
        let auxiliary = drive.auxiliary * course.duration;
        let consumption = each(drawn - recovered + auxiliary);
        bench.set(cycle.consumption, consumption);
        let current = (battery.current_squared / course.duration).sqrt();
        bench.set(cycle.rms_current, ElectricCurrent::from_si(current));
        let winter = winter.map(|(load, others)| {
            let battery = course.battery(&load, &drive);
            each(battery.drawn - battery.recovered + others * course.duration)
        });
        self.set_ranges(&cycle.ranges, consumption, winter, bench);
    }

    fn at(&self, steady: &AtSpeed, bench: &mut Bench<'_>) {
        let value = |index: usize| bench.get(Slot::<f64>::new(index));
        let (load, drive) = (self.load(&value), self.drive(&value));
        let speed = value(steady.speed.index());
        let consumption = Consumption::from_si(Self::steady(&drive, &load, drive.auxiliary, speed));
        let winter = self.winter.as_ref().map(|winter| {
            let (load, others) = self.in_winter(winter, &load, &value);
            Consumption::from_si(Self::steady(&drive, &load, others, speed))
        });
        bench.set(steady.consumption, consumption);
        self.set_ranges(&steady.ranges, consumption, winter, bench);
    }

    fn set_ranges(
        &self,
        ranges: &Ranges,
        consumption: Consumption,
        winter: Option<Consumption>,
        bench: &mut Bench<'_>,
    ) {
        let usable = bench.get(self.pack.usable_energy);
        let range = range_on(usable, consumption);
        bench.set(ranges.usual, range);
        if let (Some((used, slot)), Some(consumption)) = (ranges.winter, winter) {
            bench.set(used, consumption);
            let share = self.winter.as_ref().and_then(|winter| winter.energy_share);
            let share = share.map_or(1.0, |share| bench.get(share).value);
            bench.set(slot, range_on(usable * share, consumption));
        }
        if let Some((life, slot)) = ranges.aged {
            let life = bench.get(life).value;
            bench.set(slot, range * life);
        }
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
        if let Some(class) = &self.class {
            let through = class.efficiency.map_or(1.0, |slot| bench.get(slot).value);
            let power_to_mass: SpecificPower = bench.get(class.power) * through / bench.get(class.mass);
            bench.set(class.power_to_mass, power_to_mass);
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

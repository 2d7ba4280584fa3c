//! What hangs on the 12 V side, the converter that has to feed it, and how long the battery holds without it.

mod fields;
mod rows;

use self::fields::FIELDS;
use crate::blocks::shared::high_voltage::{caution_dc, is_high_dc};
use crate::findings::codes;
use crate::model::{Bench, Block, Case, Entry, Example, Form, Kind, Outcomes, Page, Slot};
use crate::quantities::si::{ElectricCharge, ElectricCurrent, ElectricPotential, Power, Ratio, Time};
use crate::words::{Words, words};

pub(crate) static KIND: Kind = Kind {
    name: "converter-budget",
    summary: "what the 12 V loads draw, what converter they need, and how long the battery holds the essential ones",
    subsystem: "low voltage",
    fields: FIELDS,
    rows: &[
        &rows::PEAK_CURRENT.row,
        &rows::NEEDED_RATING.row,
        &rows::NEEDED_POWER.row,
        &rows::RESERVE.row,
        &rows::LOAD_SHARE.row,
        &rows::AVERAGE_CURRENT.row,
        &rows::AVERAGE_POWER.row,
        &rows::PACK_SIDE_POWER.row,
        &rows::PACK_SIDE_CURRENT.row,
        &rows::ESSENTIAL_CURRENT.row,
        &rows::NOTHING_ESSENTIAL.row,
        &rows::HOLD_UP_TIME.row,
        &rows::SURGE_CURRENT.row,
        &rows::CURRENT_OF.row,
        &rows::CURRENT_OF_POWER.row,
        &rows::AVERAGE_OF.row,
        &rows::AVERAGE_WITH_DUTY.row,
        &rows::SURGE_OF.row,
    ],
    takes: &[
        &rows::CURRENT_RATING.row,
        &rows::SURGE_RATING.row,
        &rows::EFFICIENCY.row,
        &rows::FULL_VOLTAGE.row,
        &rows::NOMINAL_VOLTAGE.row,
    ],
    requires: &[&rows::PEAK_AGAINST_RATING, &rows::LOADING, &rows::SURGE, &rows::HOLD_UP],
    example: Example {
        journal: "\
```yaml converter-budget aux
bus_voltage: 14 V
current_rating: 60 A
surge_rating: 120 A
loads:
  - {name: lights, power: 140 W, essential: yes}
  - {name: pumps and fans, current: 21 A, duty: 50 %}
  - {name: wipers, current: 6 A, duty: 20 %, surge: 24 A, essential: yes}
  - {name: heater fan, current: 9 A}
battery_capacity: 40 Ah
battery_usable_share: 50 %
hold_up: 30 min
efficiency: 90 %
```
",
        expected: &[
            ("aux.peak_current", "46 A"),
            ("aux.average_current", "30.7 A"),
            ("aux.needed_rating", "57.5 A"),
            ("aux.needed_power", "805 W"),
            ("aux.reserve", "2.5 A"),
            ("aux.hold_up_time", "1.25 h"),
            ("aux.surge_current", "64 A"),
        ],
    },
    sources: &[
        "sums of currents; that a converter is loaded to 80 % of its rating is common practice, no source",
    ],
    limits: &[
        "a surge is judged for one load at a time, with all others running; the drop in the wires to each load is not calculated",
        "a battery in the cold or of some age holds less than its capacity",
    ],
    codes: &[],
    read,
};

struct ConverterBudget {
    bus_voltage: Slot<ElectricPotential>,
    current_rating: Slot<ElectricCurrent>,
    loads: Vec<Load>,
    loading_limit: Slot<Ratio>,
    efficiency: Option<Slot<Ratio>>,
    pack: Option<Pack>,
    battery: Battery,
    results: Results,
}

/// A load as it is written.
struct Written {
    draws: Draws,
    surge: Option<Slot<ElectricCurrent>>,
    duty: Option<Slot<Ratio>>,
    essential: bool,
}

#[derive(Clone, Copy)]
enum Draws {
    Current(Slot<ElectricCurrent>),
    Power(Slot<Power>),
    /// Neither stands there: the finding has been made.
    Unknown,
}

struct Load {
    written: Written,
    current: Slot<ElectricCurrent>,
    average: Slot<ElectricCurrent>,
    /// All loads with this one as it starts, where it has a surge.
    starting: Option<Slot<ElectricCurrent>>,
}

struct Pack {
    full_voltage: Slot<ElectricPotential>,
    nominal_voltage: Slot<ElectricPotential>,
}

struct Battery {
    capacity: Option<Slot<ElectricCharge>>,
    usable_share: Option<Slot<Ratio>>,
}

struct Results {
    peak_current: Slot<ElectricCurrent>,
    average_current: Slot<ElectricCurrent>,
    average_power: Slot<Power>,
    pack_side_power: Slot<Power>,
    pack_side_current: Slot<ElectricCurrent>,
    load_share: Slot<Ratio>,
    needed_rating: Slot<ElectricCurrent>,
    needed_power: Slot<Power>,
    reserve: Slot<ElectricCurrent>,
    essential_current: Slot<ElectricCurrent>,
    hold_up_time: Slot<Time>,
    surge_current: Slot<ElectricCurrent>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let bus_voltage = form.required("bus_voltage");
    let converter = form.lookup().block_name("converter");
    let current_rating = form.own_or_parts(&rows::CURRENT_RATING, converter.as_ref());
    let surge_is_typed = form.has("surge_rating");
    form.own_or_parts_if_there(&rows::SURGE_RATING, converter.as_ref());
    let entries = form.list("loads", &["name"], |form, _| read_load(form));
    let loading_limit = form.assumed("loading_limit");
    let efficiency = form.own_or_parts_if_there(&rows::EFFICIENCY, converter.as_ref());
    let pack = form.lookup().block_name("pack").map(|name| {
        let mut lookup = form.lookup();
        Pack {
            full_voltage: lookup.taken(&rows::FULL_VOLTAGE, Some(&name)),
            nominal_voltage: lookup.taken(&rows::NOMINAL_VOLTAGE, Some(&name)),
        }
    });
    let battery = Battery {
        capacity: form.optional("battery_capacity"),
        usable_share: form.optional("battery_usable_share"),
    };
    form.optional::<Time>("hold_up");
    let mut out = form.outcomes();
    let cases: Vec<Case> = entries.iter().map(Entry::case).collect();
    let mut loads: Vec<Load> = entries.into_iter().map(|entry| declare_load(&mut out, entry)).collect();
    let results = declare(&mut out, (&mut loads, &cases));
    out.require(&rows::PEAK_AGAINST_RATING);
    out.require(&rows::LOADING);
    // A sheet states one for other loads too.
    if surge_is_typed || loads.iter().any(|load| load.written.surge.is_some()) {
        out.require(&rows::SURGE);
    }
    out.require(&rows::HOLD_UP);
    Box::new(ConverterBudget {
        bus_voltage,
        current_rating,
        loads,
        loading_limit,
        efficiency,
        pack,
        battery,
        results,
    })
}

fn read_load(form: &mut Form<'_, '_>) -> Written {
    form.text("name");
    let draws = match form.one_of(&["current", "power"]) {
        Some("current") => Draws::Current(form.required("current")),
        Some(_) => Draws::Power(form.required("power")),
        None => Draws::Unknown,
    };
    let surge = form.optional("surge");
    let duty = form.optional("duty");
    let essential = form.choice("essential", &["yes", "no"]) == Some("yes");
    Written { draws, surge, duty, essential }
}

fn declare_load(out: &mut Outcomes<'_, '_, '_>, entry: Entry<Written>) -> Load {
    let (case, written): (Case, Written) = (entry.case(), entry.read);
    let current = match written.draws {
        Draws::Current(_) => out.result(rows::CURRENT_OF.of(&case)),
        Draws::Power(_) => out.result(rows::CURRENT_OF_POWER.of(&case)),
        Draws::Unknown => out.unknown(rows::CURRENT_OF.of(&case)),
    };
    let average = match written.duty {
        Some(_) => out.result(rows::AVERAGE_WITH_DUTY.of(&case)),
        None => out.result(rows::AVERAGE_OF.of(&case)),
    };
    Load { written, current, average, starting: None }
}

fn declare(out: &mut Outcomes<'_, '_, '_>, (loads, cases): (&mut [Load], &[Case])) -> Results {
    let all = out.names_of(loads.iter().map(|load| load.current));
    let averages = out.names_of(loads.iter().map(|load| load.average));
    let essential: Vec<_> =
        loads.iter().filter(|load| load.written.essential).map(|load| load.current).collect();
    let essential = out.names_of(essential);
    let peak_current = out.result(rows::PEAK_CURRENT.with("EACH", all));
    for (load, case) in loads.iter_mut().zip(cases) {
        load.starting = load.written.surge.map(|_| out.result(rows::SURGE_OF.of(case)));
    }
    let starting = out.names_of(loads.iter().filter_map(|load| load.starting));
    Results {
        peak_current,
        surge_current: out.result(rows::SURGE_CURRENT.with("EACH", starting)),
        needed_rating: out.result(&rows::NEEDED_RATING),
        needed_power: out.result(&rows::NEEDED_POWER),
        reserve: out.result(&rows::RESERVE),
        load_share: out.result(&rows::LOAD_SHARE),
        average_current: out.result(rows::AVERAGE_CURRENT.with("EACH", averages)),
        average_power: out.result(&rows::AVERAGE_POWER),
        pack_side_power: out.result(&rows::PACK_SIDE_POWER),
        pack_side_current: out.result(&rows::PACK_SIDE_CURRENT),
        essential_current: match essential.as_str() {
            "" => out.result(&rows::NOTHING_ESSENTIAL),
            _ => out.result(rows::ESSENTIAL_CURRENT.with("EACH", essential)),
        },
        hold_up_time: out.result(&rows::HOLD_UP_TIME),
    }
}

impl Block for ConverterBudget {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let r = &self.results;
        let (bus, rated) = (bench.get(self.bus_voltage), bench.get(self.current_rating));
        let mut peak = ElectricCurrent::default();
        let mut average = ElectricCurrent::default();
        let mut essential = ElectricCurrent::default();
        for load in &self.loads {
            let current = match load.written.draws {
                Draws::Current(slot) => bench.get(slot),
                Draws::Power(slot) => bench.get(slot) / bus,
                Draws::Unknown => bench.get(load.current),
            };
            let mean = load.written.duty.map_or(current, |duty| current * bench.get(duty));
            bench.set(load.current, current);
            bench.set(load.average, mean);
            peak += current;
            average += mean;
            if load.written.essential {
                essential += current;
            }
        }
        bench.set(r.peak_current, peak);
        bench.set(r.average_current, average);
        bench.set(r.essential_current, essential);
        let power = average * bus;
        bench.set(r.average_power, power);
        if let Some(efficiency) = self.efficiency {
            let power = power / bench.get(efficiency);
            bench.set(r.pack_side_power, power);
            if let Some(pack) = &self.pack {
                bench.set(r.pack_side_current, power / bench.get(pack.nominal_voltage));
            }
        }
        let mut most = ElectricCurrent::default();
        for load in &self.loads {
            if let (Some(slot), Some(surge)) = (load.starting, load.written.surge) {
                let starting = peak - bench.get(load.current) + bench.get(surge);
                bench.set(slot, starting);
                // What is not known stays so: `max` would pass over it.
                most = if most.is_nan() || most >= starting { most } else { starting };
            }
        }
        bench.set(r.surge_current, most);
        let needed = peak / bench.get(self.loading_limit);
        bench.set(r.load_share, peak / rated);
        bench.set(r.needed_rating, needed);
        bench.set(r.needed_power, needed * bus);
        bench.set(r.reserve, rated - needed);
        match (self.battery.capacity, self.battery.usable_share) {
            _ if essential == ElectricCurrent::default() => bench.not_there(r.hold_up_time),
            (Some(capacity), Some(share)) => {
                bench.set(r.hold_up_time, bench.get(capacity) * bench.get(share) / essential);
            }
            _ => {}
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let r = &self.results;
        let rest = match page.get(r.hold_up_time) {
            Some(_) => words!("; without it the battery holds for {}.", page.value(r.hold_up_time)),
            None => Words::from("."),
        };
        page.sentence(
            words!("{} at once", page.value(r.peak_current)),
            words!(
                ", {} on average, from a converter for {}{}",
                page.value(r.average_current),
                page.value(self.current_rating),
                rest
            ),
        );
        if let Some(pack) = &self.pack {
            caution_dc(page, pack.full_voltage);
        }
        self.surge_below_current(page);
        if page.get(self.bus_voltage).is_some_and(is_high_dc) {
            let message = words!("a bus of {} is no low-voltage side", page.value(self.bus_voltage));
            let help = "type the voltage of the side that feeds lamps and wipers: `13.8 V`";
            page.find(&codes::OUT_OF_RANGE, self.bus_voltage.index(), message, help);
        }
        if page.get(r.essential_current) == Some(ElectricCurrent::default()) {
            page.not_there(r.hold_up_time, "no load is marked `essential: yes`");
            page.note("No load is marked `essential: yes`: lights, wipers, brakes and what keeps the contactors closed usually are.");
        }
    }
}

impl ConverterBudget {
    /// What a load draws as it starts is no less than what it draws then.
    fn surge_below_current(&self, page: &mut Page<'_>) {
        let below = |load: &&Load| {
            let surge = load.written.surge.and_then(|surge| page.get(surge));
            let current = page.get(load.current);
            surge.zip(current).is_some_and(|(surge, current)| surge < current * (1.0 - 1e-9))
        };
        let Some(load) = self.loads.iter().find(below) else { return };
        let Some(surge) = load.written.surge else { return };
        let message =
            words!("a surge of {} from a load that draws {}", page.value(surge), page.value(load.current));
        let help = "`surge` is all that it draws as it starts, its running current included";
        page.find(&codes::OUT_OF_RANGE, surge.index(), message, help);
    }
}

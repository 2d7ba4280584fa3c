//! A charge from the mains, or with direct current: current, power, energy and time.

mod fields;
mod held;
mod phases;
mod rows;
mod signals;
mod supply;

use self::fields::FIELDS;
use self::held::{Given, Held};
use self::supply::{CABLE_CODE, Charger, PHASE_VOLTAGE, PILOT_DUTY, Supply};
use crate::blocks::shared::charged_pack::{self, ChargedPack};
use crate::blocks::shared::high_voltage::caution_highest;
use crate::blocks::shared::switchgear;
use crate::findings::codes;
use crate::model::{Bench, Block, Example, Form, Kind, Page, Slot};
use crate::quantities::si::{
    Consumption, ElectricCurrent, ElectricPotential, Energy, Measure, Power, Ratio, ThermodynamicTemperature,
    Time, Velocity,
};
use crate::words::words;

pub(crate) static KIND: Kind = Kind {
    name: "charging",
    summary: "what a charge draws from the wall, what reaches the pack, and how long it takes",
    subsystem: "charging",
    fields: FIELDS,
    rows: &[
        &rows::TIME.row,
        &rows::TIME_BY_POWER.row,
        &rows::WALL_POWER.row,
        &rows::WALL_POWER_OF_CURRENT.row,
        &supply::PILOT_CURRENT.row,
        &supply::CABLE_CURRENT.row,
        &supply::AT_POWER_LIMIT.row,
        &supply::CURRENT.row,
        &rows::PACK_POWER.row,
        &rows::PACK_POWER_OF_CURRENT.row,
        &rows::PACK_POWER_AT_FULL.row,
        &rows::END_VOLTAGE.row,
        &rows::END_VOLTAGE_HELD.row,
        &rows::VOLTAGE_AT_START.row,
        &rows::CHARGING_VOLTAGE_AT_START.row,
        &rows::PACK_CURRENT.row,
        &rows::PACK_CURRENT_AT_EMPTY.row,
        &held::SWITCH_SHARE.row,
        &held::END_SHARE.row,
        &held::TIME_CONSTANT_CURRENT.row,
        &held::TIME_CONSTANT_VOLTAGE.row,
        &held::ENERGY_OF_CURRENT.row,
        &held::ENERGY_OF_POWER.row,
        &held::ENERGY_CONSTANT_VOLTAGE.row,
        &rows::CHARGE_ENERGY.row,
        &rows::CHARGE_ENERGY_BY_SHARE.row,
        &rows::WALL_ENERGY.row,
        &rows::RANGE_PER_HOUR.row,
    ],
    takes: &[
        &supply::EFFICIENCY.row,
        &supply::POWER_LIMIT.row,
        &supply::CURRENT_LIMIT.row,
        &supply::CHARGE_END_VOLTAGE.row,
        &switchgear::VOLTAGE_RATING.row,
        &charged_pack::SERIES.row,
        &charged_pack::PARALLEL.row,
        &charged_pack::NOMINAL_VOLTAGE.row,
        &charged_pack::FULL_VOLTAGE.row,
        &charged_pack::EMPTY_VOLTAGE.row,
        &charged_pack::CAPACITY.row,
        &charged_pack::ENERGY.row,
        &charged_pack::RESISTANCE.row,
        &charged_pack::CONTINUOUS_CHARGE.row,
        &charged_pack::CHARGE_TEMPERATURE_LOW.row,
        &charged_pack::CHARGE_TEMPERATURE_HIGH.row,
        &charged_pack::OPEN_CIRCUIT_CURVE.row,
    ],
    requires: &[
        &supply::ON_THE_BREAKER,
        &supply::CONTINUOUSLY,
        &rows::CHARGER_POWER,
        &rows::INTO_THE_PACK,
        &charged_pack::CURRENT,
        &charged_pack::CELL_TEMPERATURE,
        &charged_pack::CELL_TEMPERATURE_WITHIN,
        &charged_pack::CELL_TEMPERATURE_HIGH,
        &rows::CHARGE_END,
        &rows::CHARGE_END_SWITCHED,
        &held::LIMIT,
    ],
    example: Example {
        journal: "\
```yaml part cell
role: cell
nominal_voltage: 3.75 V
full_voltage: 4.2 V
empty_voltage: 3.0 V
capacity: 80 Ah
resistance: 1 mΩ
mass: 1.2 kg
continuous_discharge: 80 A
peak_discharge: 240 A
continuous_charge: 40 A
charge_temperature_low: 0 °C
charge_temperature_high: 45 °C
```

```yaml pack-layout pack
cell: cell
series: 100
parallel: 1
housing_mass: 30 kg
```

```yaml part charger
role: charger
efficiency: 0.9
current_limit: 40 A
power_limit: 9 kW
charge_end_voltage: 410 V
```

```yaml charging night
supply: {phase_voltage: 240 V, phases: 1, current: 32 A}
breaker: 40 A
charger: charger
pack: pack
from_share: 20 %
to_share: 90 %
cell_temperature: 5 °C
cell_temperature_high: 40 °C
consumption: 160 Wh/km
```
",
        expected: &[
            ("night.wall_power", "7.68 kW"),
            ("night.pack_power", "6.912 kW"),
            ("night.time", "3.0381944444444444 h"),
            ("night.wall_energy", "23.333333333333333 kWh"),
            ("night.range_per_hour", "43.2 km/h"),
        ],
    },
    sources: &[
        "control pilot: IEC 61851-1, as reproduced in an instrument's manual (second-hand); resistors of cables: the same, type 2 (second-hand); a charge draws at most 80 % of its breaker: NEC, 625.41 and 625.42 (read in a copy)",
        "power, energy and time: arithmetic; at the limit voltage the current is (limit − voltage at rest)/resistance, summed over the cell's curve",
    ],
    limits: &[
        "power that the charger and the car draw for themselves, and balancing of the cells, are not calculated",
        "without `constant_voltage` the slower end of a charge is left out: the last tenth takes longer",
        "the lock of the plug, and that the vehicle can't drive away while it is in, are tests",
    ],
    codes: &[&PILOT_DUTY, &CABLE_CODE, &PHASE_VOLTAGE],
    read,
};

struct Charging {
    supply: Supply,
    charger: Charger,
    pack: ChargedPack,
    from: Slot<Ratio>,
    to: Slot<Ratio>,
    held: Option<Held>,
    consumption: Option<Slot<Consumption>>,
    wall_power: Slot<Power>,
    pack_power: Slot<Power>,
    voltage_at_start: Slot<ElectricPotential>,
    /// From the wall: the terminals' voltage at the start, and the most current.
    pack_current: Option<(Slot<ElectricPotential>, Slot<ElectricCurrent>)>,
    charge_energy: Slot<Energy>,
    wall_energy: Slot<Energy>,
    time: Slot<Time>,
    range: Slot<Velocity>,
    /// Of a direct current.
    power_at_full: Option<Slot<Power>>,
    /// The block's own, or that of the charger's part.
    charge_end: Option<Slot<ElectricPotential>>,
    end_voltage: Slot<ElectricPotential>,
    /// Of the coldest and the hottest cell.
    temperatures: [Option<Slot<ThermodynamicTemperature>>; 2],
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let charger = Charger::read(form);
    let supply = Supply::read(form, &charger);
    let pack = ChargedPack::read(form);
    let from = form.required("from_share");
    let to = form.required("to_share");
    let ends = held::read(form);
    let temperatures = ["cell_temperature", "cell_temperature_high"].map(|key| form.optional(key));
    let charge_end = charger.end_voltage(form);
    let switches = switchgear::of(form, pack.name.as_ref());
    let consumption = form.optional("consumption");
    let mains = matches!(supply, Supply::Mains(_));
    let mut out = form.outcomes();
    let mut power_at_full = None;
    let (wall_power, pack_power) = if mains {
        let wall_power = out.result(&rows::WALL_POWER);
        (wall_power, out.result(&rows::PACK_POWER))
    } else {
        let pack_power = out.result(&rows::PACK_POWER_OF_CURRENT);
        power_at_full = Some(out.result(&rows::PACK_POWER_AT_FULL));
        (out.result(&rows::WALL_POWER_OF_CURRENT), pack_power)
    };
    let voltage_at_start = out.result(&rows::VOLTAGE_AT_START);
    let pack_current = mains.then(|| {
        let voltage = out.result(&rows::CHARGING_VOLTAGE_AT_START);
        let curve = pack.open_circuit_curve.is_some();
        (voltage, out.result(if curve { &rows::PACK_CURRENT } else { &rows::PACK_CURRENT_AT_EMPTY }))
    });
    let given = Given { pack: &pack, supply: &supply, pack_power, from, to };
    let held = ends.map(|ends| Held::declare(form, ends, &given));
    let mut out = form.outcomes();
    let (charge_energy, time) = if held.is_some() {
        (out.result(&rows::CHARGE_ENERGY), out.result(&rows::TIME))
    } else {
        (out.result(&rows::CHARGE_ENERGY_BY_SHARE), out.result(&rows::TIME_BY_POWER))
    };
    let wall_energy = out.result(&rows::WALL_ENERGY);
    let range = out.result(&rows::RANGE_PER_HOUR);
    if mains {
        out.require(&rows::INTO_THE_PACK);
    } else {
        out.require(&rows::CHARGER_POWER);
        out.require(&charged_pack::CURRENT);
    }
    pack.require_temperatures(&mut out);
    let end_voltage = match (charge_end, &held) {
        (None, Some(_)) => out.result(&rows::END_VOLTAGE_HELD),
        _ => out.result(&rows::END_VOLTAGE),
    };
    out.require(&rows::CHARGE_END);
    switches.iter().for_each(|case| out.require(rows::CHARGE_END_SWITCHED.of(case)));
    out.require(&held::LIMIT);
    Box::new(Charging {
        supply,
        charger,
        pack,
        from,
        to,
        held,
        consumption,
        wall_power,
        pack_power,
        voltage_at_start,
        pack_current,
        charge_energy,
        wall_energy,
        time,
        range,
        power_at_full,
        charge_end,
        end_voltage,
        temperatures,
    })
}

impl Charging {
    fn given(&self) -> Given<'_> {
        Given {
            pack: &self.pack,
            supply: &self.supply,
            pack_power: self.pack_power,
            from: self.from,
            to: self.to,
        }
    }

    /// A charge that ends no fuller than it begins is told once, at its end.
    fn backwards(&self, page: &mut Page<'_>) {
        let (Some(from), Some(to)) = (page.get(self.from), page.get(self.to)) else { return };
        if to > from {
            return;
        }
        let message = words!("a charge to {} that begins at {}", page.value(self.to), page.value(self.from));
        page.find(&codes::OUT_OF_RANGE, self.to.index(), message, "let `to_share` be more than `from_share`");
    }
}

impl Block for Charging {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let nominal = bench.get(self.pack.nominal_voltage);
        let (wall, power) = self.supply.evaluate(&self.charger, nominal, bench);
        bench.set(self.wall_power, wall);
        bench.set(self.pack_power, power);
        if let Some(slot) = self.power_at_full {
            bench.set(slot, bench.get(self.supply.current()) * bench.get(self.pack.full_voltage));
        }
        if let Some(end) = self.charge_end.or(self.held.as_ref().map(Held::limit)) {
            bench.set(self.end_voltage, bench.get(end));
        }
        let (from, to) = (bench.get(self.from), bench.get(self.to));
        let start = self.pack.open_circuit_curve.map(|curve| {
            let cell = ElectricPotential::from_si(bench.read_curve(curve, from.value));
            bench.get(self.pack.series) * cell
        });
        if let Some(start) = start {
            bench.set(self.voltage_at_start, start);
        }
        if let Some((slot, current)) = self.pack_current {
            let resistance = bench.get(self.pack.resistance);
            let voltage = match start {
                Some(start) => charged_pack::voltage_under(power, start, resistance),
                None => bench.get(self.pack.empty_voltage),
            };
            bench.set(slot, voltage);
            bench.set(current, power / voltage);
        }
        let (time, energy) = match &self.held {
            Some(held) => {
                held.evaluate(&self.given(), power, bench);
                held.sums(bench)
            }
            None => {
                let energy = bench.get(self.pack.energy) * (to - from);
                (energy / power, energy)
            }
        };
        // Backwards there is no charge: `present` says so.
        let none = Energy::from_si(f64::NAN);
        let (time, energy) = if to > from { (time, energy) } else { (Time::from_si(f64::NAN), none) };
        bench.set(self.time, time);
        bench.set(self.charge_energy, energy);
        bench.set(self.wall_energy, energy / bench.get(self.charger.efficiency));
        if let Some(consumption) = self.consumption {
            bench.set(self.range, Velocity::from_si(power.si() / bench.get(consumption).si()));
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let end = self.held.as_ref().map_or(self.to, Held::end);
        page.sentence(
            words!("{} from {} to {}", page.value(self.time), page.value(self.from), page.value(end)),
            words!(
                " at {}: {} from the wall, {} in all.",
                page.value(self.supply.current()),
                page.value(self.wall_power),
                page.value(self.wall_energy)
            ),
        );
        caution_highest(page, [self.pack.full_voltage, self.end_voltage]);
        self.charger.present(page);
        self.supply.present(page);
        self.backwards(page);
        charged_pack::temperatures_agree(page, self.temperatures);
        self.pack.hold_cold(page, self.temperatures[0]);
        match &self.held {
            Some(held) => held.present(&self.given(), page),
            None => page.note("The time is energy over power: towards the end a charger slows down. Give `constant_voltage` for it."),
        }
    }
}

//! A charge from the mains, or with direct current: current, power, energy and time.

mod held;
mod phases;
mod signals;
mod supply;

use self::held::{Given, Held};
use self::supply::{CABLE_CODE, Charger, PILOT_DUTY, Supply};
use crate::blocks::shared::charged_pack::{self, ChargedPack, Rating};
use crate::blocks::shared::high_voltage::caution_dc;
use crate::findings::codes;
use crate::model::{
    Bench, Block, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, ResultDoc, Slot,
    Status, Takes,
};
use crate::quantities::si::{
    Consumption, ElectricCurrent, ElectricPotential, Energy, Measure, Power, Ratio, ThermodynamicTemperature,
    Time, Velocity,
};
use crate::quantities::sort;

pub(super) static KIND: Kind = Kind {
    name: "charging",
    summary: "what a charge draws from the wall, what reaches the pack, and how long it takes",
    subsystem: "charging",
    fields: &[
        FieldDoc::new("supply", Takes::Group, "alternating current from the wall; or `current`").either(),
        FieldDoc::new("supply.phase_voltage", Takes::Quantity(&sort::VOLTAGE), "between a phase and neutral")
            .range(Range::Positive),
        FieldDoc::new("supply.phases", Takes::Count, "that the charger uses: 1 or 3").range(Range::AtLeastOne),
        FieldDoc::new(
            "supply.duty",
            Takes::Quantity(&sort::SHARE),
            "of the control pilot, which tells the current; or a `current`",
        )
        .either()
        .range(Range::NotNegative),
        FieldDoc::new("supply.current", Takes::Quantity(&sort::CURRENT), "of each phase, instead of `duty`")
            .either()
            .range(Range::Positive),
        FieldDoc::new(
            "current",
            Takes::Quantity(&sort::CURRENT),
            "beside a `supply` that of each phase, instead of its `duty`; without one the direct current into the pack",
        )
        .either()
        .range(Range::Positive),
        FieldDoc::new(
            "cable_resistor",
            Takes::Quantity(&sort::INSULATION),
            "between proximity and earth in the cable's plug, which tells what it may carry",
        )
        .optional()
        .range(Range::NotNegative),
        FieldDoc::new("breaker", Takes::Quantity(&sort::CURRENT), "that the outlet hangs on")
            .optional()
            .range(Range::Positive),
        FieldDoc::new(
            "charger",
            Takes::BlockName,
            "a part with `efficiency`, and `power_limit` (at its output), `current_limit` (of each phase), or both",
        ),
        charged_pack::PACK,
        FieldDoc::new("from_share", Takes::Quantity(&sort::SHARE), "of the pack's charge at the start")
            .range(Range::NotNegative),
        FieldDoc::new("to_share", Takes::Quantity(&sort::SHARE), "of the pack's charge at the end")
            .range(Range::Share),
        FieldDoc::new(
            "constant_voltage",
            Takes::Group,
            "how the charge ends; the cell then needs its `open_circuit_curve`",
        )
        .optional(),
        FieldDoc::new(
            "constant_voltage.limit",
            Takes::Quantity(&sort::VOLTAGE),
            "of the pack's terminals, that the charger does not pass",
        )
        .range(Range::Positive),
        FieldDoc::new(
            "constant_voltage.cut_off_current",
            Takes::Quantity(&sort::CURRENT),
            "into the pack, under which charging ends",
        )
        .range(Range::Positive),
        FieldDoc::new("cell_temperature", Takes::Quantity(&sort::TEMPERATURE), "the lowest that is charged at")
            .optional(),
        FieldDoc::new("consumption", Takes::Quantity(&sort::CONSUMPTION), "on the road, from the pack")
            .optional()
            .range(Range::Positive),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "pilot_current", about: "that the station allows" },
        ResultDoc { name: "cable_current", about: "that the cable may carry" },
        ResultDoc { name: "current", about: "of each phase: the least of what station, cable and charger allow" },
        ResultDoc { name: "wall_power", about: "from the wall" },
        ResultDoc { name: "pack_power", about: "into the pack, until a limit voltage is reached" },
        ResultDoc { name: "voltage_at_start", about: "of the pack at rest; where the cell has its curve" },
        ResultDoc {
            name: "pack_current",
            about: "into the pack, the most: at the start with the cell's curve, else at the empty voltage",
        },
        ResultDoc { name: "switch_share", about: "where the limit voltage is reached; with `constant_voltage`" },
        ResultDoc { name: "end_share", about: "where the charge ends; with `constant_voltage`" },
        ResultDoc {
            name: "time_constant_current",
            about: "until the limit voltage is reached, at what the charger gives: from the wall a constant power",
        },
        ResultDoc { name: "time_constant_voltage", about: "at the limit voltage, with a falling current" },
        ResultDoc { name: "energy_constant_current", about: "into the pack until the limit voltage" },
        ResultDoc { name: "charge_energy", about: "into the pack" },
        ResultDoc { name: "wall_energy", about: "from the wall" },
        ResultDoc { name: "time", about: "of the whole charge" },
        ResultDoc { name: "range_per_hour", about: "that an hour of charging gives; with `consumption`" },
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
```

```yaml charging night
supply: {phase_voltage: 240 V, phases: 1, current: 32 A}
breaker: 40 A
charger: charger
pack: pack
from_share: 20 %
to_share: 90 %
cell_temperature: 5 °C
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
        "control pilot: IEC 61851-1, as reproduced (read); resistors of cables: the same, type 2 (second-hand); a continuous load at most 80 % of its breaker: NEC, article 625 (from memory)",
        "power, energy and time: arithmetic; at the limit voltage the current is (limit − voltage at rest)/resistance, summed over the cell's curve",
    ],
    inspector: &["current", "wall_power", "pack_current", "time", "cell_temperature"],
    limits: &[
        "power that the charger and the car draw for themselves, and balancing of the cells, are not calculated",
        "without `constant_voltage` the slower end of a charge is left out: the last tenth takes longer",
        "the lock of the plug, and that the vehicle can't drive away while it is in, are tests",
    ],
    codes: &[&PILOT_DUTY, &CABLE_CODE],
    read,
};

struct Charging {
    supply: Supply,
    charger: Charger,
    pack: ChargedPack,
    from: Slot<Ratio>,
    to: Slot<Ratio>,
    held: Option<Held>,
    temperature: Option<Slot<ThermodynamicTemperature>>,
    range: Option<(Slot<Consumption>, Slot<Velocity>)>,
    wall_power: Slot<Power>,
    pack_power: Slot<Power>,
    voltage_at_start: Option<Slot<ElectricPotential>>,
    pack_current: Option<Slot<ElectricCurrent>>,
    charge_energy: Slot<Energy>,
    wall_energy: Slot<Energy>,
    time: Slot<Time>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let supply = supply::read(form);
    let charger = Charger::read(form, &supply);
    let pack = ChargedPack::read(form, Rating::IfThere);
    let from = form.required("from_share");
    let to = form.required("to_share");
    let ends = held::read(form);
    let temperature = form.optional("cell_temperature");
    let consumption = form.optional("consumption");

    let supply = supply.declare(form, &charger);
    let (wall_power, pack_power) = match supply {
        Supply::Mains(_) => (
            form.step("wall_power", "kW", "current * supply.phases * supply.phase_voltage"),
            form.step("pack_power", "kW", "wall_power * charger.efficiency"),
        ),
        Supply::Direct(_) => {
            let pack_power = form.step("pack_power", "kW", "current * pack.nominal_voltage");
            (form.step("wall_power", "kW", "pack_power / charger.efficiency"), pack_power)
        }
    };
    let voltage_at_start = pack
        .open_circuit_curve
        .map(|_| form.step("voltage_at_start", "V", "pack.series * cell.open_circuit_curve(from_share)"));
    let pack_current = declare_pack_current(form, &supply, voltage_at_start.is_some());
    let given = Given { pack: &pack, supply: &supply, pack_power, from, to };
    let held = ends.map(|ends| Held::declare(form, ends, &given));
    let (charge_energy, time) = if held.is_some() {
        let at_limit = "constant_voltage.limit * pack.capacity * (end_share - switch_share)";
        (
            form.step("charge_energy", "kWh", &format!("energy_constant_current + {at_limit}")),
            form.step("time", "h", "time_constant_current + time_constant_voltage"),
        )
    } else {
        (
            form.step("charge_energy", "kWh", "pack.energy * (to_share - from_share)"),
            form.step("time", "h", "charge_energy / pack_power"),
        )
    };
    let wall_energy = form.step("wall_energy", "kWh", "charge_energy / charger.efficiency");
    let range = consumption
        .map(|consumption| (consumption, form.step("range_per_hour", "km/h", "pack_power / consumption")));
    require(form, &supply, &charger);
    let current = if pack_current.is_some() { "pack_current" } else { "current" };
    pack.require(form, current, temperature.map(|_| "cell_temperature"));
    Box::new(Charging {
        supply,
        charger,
        pack,
        from,
        to,
        held,
        temperature,
        range,
        wall_power,
        pack_power,
        voltage_at_start,
        pack_current,
        charge_energy,
        wall_energy,
        time,
    })
}

/// The most that goes into the pack; where direct current is stated that is it.
fn declare_pack_current(
    form: &mut Form<'_, '_>,
    supply: &Supply,
    curve: bool,
) -> Option<Slot<ElectricCurrent>> {
    let formula = match (supply, curve) {
        (Supply::Direct(_), _) => return None,
        (Supply::Mains(_), true) => {
            "2 * pack_power / (voltage_at_start + sqrt(voltage_at_start^2 + 4 * pack.resistance * pack_power))"
        }
        (Supply::Mains(_), false) => "pack_power / pack.empty_voltage",
    };
    Some(form.step("pack_current", "A", formula))
}

/// A direct current that is stated is held against the charger's rating; from the wall the rating sets the current.
fn require(form: &mut Form<'_, '_>, supply: &Supply, charger: &Charger) {
    if let (Supply::Direct(_), Some(_)) = (supply, charger.power_limit) {
        form.require(Limit {
            name: "pack_power",
            kind: RequirementKind::Safety,
            actual: "pack_power",
            low: None,
            high: Some("charger.power_limit"),
            source: "the charger's rating",
            status: Status::Stated,
            span: None,
        });
    }
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
        let message = format!("a charge to {} that begins at {}", page.shown(self.to), page.shown(self.from));
        page.find(&codes::OUT_OF_RANGE, self.to.index(), message, "let `to_share` be more than `from_share`");
    }
}

impl Block for Charging {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let nominal = bench.get(self.pack.nominal_voltage);
        let (wall, power) = self.supply.evaluate(&self.charger, nominal, bench);
        bench.set(self.wall_power, wall);
        bench.set(self.pack_power, power);
        let (from, to) = (bench.get(self.from), bench.get(self.to));
        if let (Some(slot), Some(curve)) = (self.voltage_at_start, self.pack.open_circuit_curve) {
            let cell = ElectricPotential::from_si(bench.read_curve(curve, from.value));
            bench.set(slot, bench.get(self.pack.series) * cell);
        }
        if let Some(slot) = self.pack_current {
            let current = match self.voltage_at_start {
                Some(start) => {
                    let start = bench.get(start);
                    let square = start * start + 4.0 * bench.get(self.pack.resistance) * power;
                    2.0 * power / (start + square.sqrt())
                }
                None => power / bench.get(self.pack.empty_voltage),
            };
            bench.set(slot, current);
        }
        let (time, energy) = match &self.held {
            Some(held) => {
                held.evaluate(&self.given(), power, bench);
                held.sums(&self.given(), bench)
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
        if let Some((consumption, range)) = self.range {
            bench.set(range, Velocity::from_si(power.si() / bench.get(consumption).si()));
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let end = self.held.as_ref().map_or(self.to, Held::end);
        page.sentence(
            format!("{} from {} to {}", page.shown(self.time), page.shown(self.from), page.shown(end)),
            format!(
                " at {}: {} from the wall, {} in all.",
                page.shown(self.supply.current()),
                page.shown(self.wall_power),
                page.shown(self.wall_energy)
            ),
        );
        page.headline(self.time);
        page.headline(self.wall_power);
        caution_dc(page, self.pack.full_voltage);
        self.supply.present(page);
        self.backwards(page);
        match &self.held {
            Some(held) => held.present(&self.given(), page),
            None => page.note("The time is energy over power: towards the end a charger slows down. Give `constant_voltage` for it."),
        }
        self.pack.note(page, self.temperature.is_some());
    }
}

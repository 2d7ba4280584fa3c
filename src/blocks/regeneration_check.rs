//! Braking into the pack: the current against the cell's charge rating, the voltage against a full pack.

use crate::blocks::shared::charged_pack::{self, ChargedPack};
use crate::blocks::shared::high_voltage::caution_dc;
use crate::blocks::shared::switchgear::of_pack;
use crate::findings::codes;
use crate::model::{
    Bench, Block, Case, Example, Family, FieldDoc, FieldSort, Form, Kind, Page, Range, RequirementRow, Row,
    Slot, Taken, Takes,
};
use crate::quantities::si::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Measure, Power, Ratio, ThermodynamicTemperature,
};
use crate::quantities::sort;
use crate::words::words;

pub(super) static KIND: Kind = Kind {
    name: "regeneration-check",
    summary: "whether the pack may be braked into with a power, at a state of charge and a temperature",
    subsystem: "battery",
    fields: &[
        charged_pack::PACK,
        FieldDoc::new(
            "power",
            Takes::Quantity(&sort::POWER),
            "that braking brings to the battery's terminals",
        )
        .sort(FieldSort::Condition)
        .label("braking power")
        .principal()
        .range(Range::Positive),
        FieldDoc::new(
            "state_of_charge",
            Takes::Quantity(&sort::SHARE),
            "the highest at which it is still braked into",
        )
        .sort(FieldSort::Condition)
        .label("state of charge")
        .principal()
        .range(Range::Share),
        FieldDoc::new(
            "cell_temperature",
            Takes::Quantity(&sort::TEMPERATURE),
            "the lowest at which it is still braked into",
        )
        .sort(FieldSort::Condition)
        .label("coldest cell")
        .principal(),
        charged_pack::HOTTEST_CELL,
    ],
    rows: &[
        &CURRENT.row,
        &VOLTAGE.row,
        &WORST_VOLTAGE.row,
        &OPEN_CIRCUIT_VOLTAGE.row,
        &ON_A_STRAIGHT_LINE.row,
    ],
    takes: &[
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
        &WORST_RESISTANCE.row,
        &POWER_LIMIT.row,
        &CURRENT_CUT.row,
        &VOLTAGE_CUT.row,
    ],
    requires: &[
        &charged_pack::CURRENT,
        &charged_pack::CELL_TEMPERATURE,
        &charged_pack::CELL_TEMPERATURE_WITHIN,
        &charged_pack::CELL_TEMPERATURE_HIGH,
        &FULL_VOLTAGE,
        &FULL_VOLTAGE_AT_WORST,
        &POWER_ELSEWHERE,
        &UNDER_CURRENT_CUT,
        &UNDER_VOLTAGE_CUT,
    ],
    example: Example {
        journal: "\
```yaml part cell
role: cell
nominal_voltage: 3.2 V
full_voltage: 3.65 V
empty_voltage: 2.5 V
capacity: 100 Ah
resistance: 1 mΩ
mass: 2 kg
continuous_discharge: 100 A
peak_discharge: 300 A
continuous_charge: 50 A
charge_temperature_low: 0 °C
charge_temperature_high: 45 °C
open_circuit_curve: [[0 %, 2.7 V], [20 %, 3.2 V], [80 %, 3.35 V], [100 %, 3.6 V]]
```

```yaml pack-layout pack
cell: cell
series: 100
parallel: 1
housing_mass: 40 kg
```

```yaml regeneration-check braking
pack: pack
power: 17.375 kW
state_of_charge: 90 %
cell_temperature: 5 °C
cell_temperature_high: 40 °C
```
",
        // The root taken the other way: (−347.5 V + √((347.5 V)² + 4 × 0.1 Ω × 17.375 kW)) / (2 × 0.1 Ω).
        expected: &[
            ("braking.open_circuit_voltage", "347.5 V"),
            ("braking.current", "49.300562457937076 A"),
            ("braking.voltage", "352.4300562457937 V"),
        ],
    },
    sources: &[
        "voltage at constant power into a source with resistance: U = E/2 + √(E²/4 + R P), closed form",
    ],
    limits: &[
        "the resistance is that of the cell's sheet, and where the pack has `worst` also that: a cold cell has more, and its voltage rises higher",
        "whether the inverter lessens its braking in time is not calculated: that is a test",
    ],
    codes: &[],
    read,
};

static WORST_RESISTANCE: Taken<ElectricalResistance> = Taken::new("pack", "worst_resistance");
/// In formulas `NAME.regeneration.power_limit`, with the name of the block that works with it.
static POWER_LIMIT: Taken<Power> = Taken::new("use", "regeneration.power_limit")
    .about("that a block on the energy used brakes that pack with");

/// In formulas `NAME.charge_current.cut`, with the name of the pack's battery limits.
static CURRENT_CUT: Taken<ElectricCurrent> = Taken::new("limits", "charge_current.cut")
    .about("where the management cuts: contactors that open while the motor brakes leave its current no way");
static VOLTAGE_CUT: Taken<ElectricPotential> = Taken::new("limits", "cell_voltage_high.cut");

static LIMITS: Family = Family { name: "limits", label: "Battery limits", case: "LIMITS" };

static USES: Family = Family { name: "uses", label: "Energy use", case: "USE" };

static CURRENT: Row<ElectricCurrent> =
    Row::formula("current", "current into the pack", "A", "power / voltage").principal();
static VOLTAGE: Row<ElectricPotential> = Row::formula(
    "voltage",
    "voltage while braking",
    "V",
    "open_circuit_voltage / 2 + sqrt(open_circuit_voltage^2 / 4 + pack.resistance * power)",
)
.about("at the pack's terminals")
.principal();
static WORST_VOLTAGE: Row<ElectricPotential> = Row::formula(
    "worst_voltage",
    "voltage while braking, with the pack in its worst state",
    "V",
    "open_circuit_voltage / 2 + sqrt(open_circuit_voltage^2 / 4 + pack.worst_resistance * power)",
)
.when("where the pack has `worst`");
static OPEN_CIRCUIT_VOLTAGE: Row<ElectricPotential> = Row::formula(
    "open_circuit_voltage",
    "voltage at rest",
    "V",
    "pack.series * cell.open_circuit_curve(state_of_charge)",
)
.about("of the pack at that state of charge");
static ON_A_STRAIGHT_LINE: Row<ElectricPotential> = OPEN_CIRCUIT_VOLTAGE
    .by("pack.empty_voltage + state_of_charge * (pack.full_voltage - pack.empty_voltage)");

static FULL_VOLTAGE: RequirementRow = RequirementRow::safety("voltage", "voltage")
    .at_most("pack.full_voltage")
    .source("the full voltage of the cell");

static FULL_VOLTAGE_AT_WORST: RequirementRow = RequirementRow::safety("worst_voltage", "worst_voltage")
    .at_most("pack.full_voltage")
    .source("the full voltage of the cell")
    .only_with(&["pack.worst_resistance"]);
static POWER_ELSEWHERE: RequirementRow = RequirementRow::safety("power_of_USE", "power")
    .label("braking power that is checked")
    .at_least("USE.regeneration.power_limit")
    .source("the braking power that the energy used is worked with")
    .family(&USES)
    .each(&[("USE", "use")]);

static UNDER_CURRENT_CUT: RequirementRow = RequirementRow::safety("current_by_LIMITS", "current")
    .label("current, where the management cuts")
    .at_most("LIMITS.charge_current.cut")
    .source("the charge current at which the battery's limits cut")
    .only_with(&["LIMITS.charge_current.cut"])
    .family(&LIMITS)
    .each(&[("LIMITS", "limits")]);
static UNDER_VOLTAGE_CUT: RequirementRow = RequirementRow::safety("voltage_by_LIMITS", "voltage")
    .label("voltage while braking, where the management cuts")
    .at_most("LIMITS.cell_voltage_high.cut * pack.series")
    .source("the cell voltage at which the battery's limits cut")
    .only_with(&["LIMITS.cell_voltage_high.cut"])
    .family(&LIMITS)
    .each(&[("LIMITS", "limits")]);

struct RegenerationCheck {
    pack: ChargedPack,
    power: Slot<Power>,
    state_of_charge: Slot<Ratio>,
    cell_temperature: Slot<ThermodynamicTemperature>,
    hottest_cell: Option<Slot<ThermodynamicTemperature>>,
    open_circuit_voltage: Slot<ElectricPotential>,
    current: Slot<ElectricCurrent>,
    voltage: Slot<ElectricPotential>,
    /// Of the pack in the worst state that it names, cold and nearly empty.
    worst_resistance: Option<Slot<ElectricalResistance>>,
    worst_voltage: Slot<ElectricPotential>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let pack = ChargedPack::read(form);
    let power = form.required("power");
    let state_of_charge = form.required("state_of_charge");
    let cell_temperature = form.required("cell_temperature");
    let hottest_cell = form.optional("cell_temperature_high");
    let worst_resistance = form
        .lookup()
        .has(pack.name.as_ref(), "worst")
        .then(|| form.lookup().taken(&WORST_RESISTANCE, pack.name.as_ref()));
    let uses = read_uses(form, &pack);
    let limits = read_limits(form, &pack);
    let mut out = form.outcomes();
    let open_circuit_voltage = match pack.open_circuit_curve {
        Some(_) => out.result(&OPEN_CIRCUIT_VOLTAGE),
        None => out.result(&ON_A_STRAIGHT_LINE),
    };
    let voltage = out.result(&VOLTAGE);
    let current = out.result(&CURRENT);
    let worst_voltage = out.result(&WORST_VOLTAGE);
    out.require(&charged_pack::CURRENT);
    pack.require_temperatures(&mut out);
    out.require(&FULL_VOLTAGE);
    out.require(&FULL_VOLTAGE_AT_WORST);
    uses.iter().for_each(|case| out.require(POWER_ELSEWHERE.of(case)));
    for case in &limits {
        out.require(UNDER_CURRENT_CUT.of(case));
        out.require(UNDER_VOLTAGE_CUT.of(case));
    }
    Box::new(RegenerationCheck {
        pack,
        power,
        state_of_charge,
        cell_temperature,
        hottest_cell,
        open_circuit_voltage,
        current,
        voltage,
        worst_resistance,
        worst_voltage,
    })
}

/// The blocks that brake this pack: with a power of their own, which must not be more than what is checked here, or without a
/// limit, which leaves it open.
fn read_uses(form: &mut Form<'_, '_>, pack: &ChargedPack) -> Vec<Case> {
    let mut uses = of_pack(form, pack.name.as_ref(), &["energy-use"]);
    uses.retain(|block| form.lookup().has(Some(block), "regeneration"));
    for block in &uses {
        if form.lookup().has(Some(block), "regeneration.power_limit") {
            form.lookup().taken(&POWER_LIMIT, Some(block));
        }
    }
    uses.into_iter().map(|block| Case { slug: block.name.clone(), title: block.name }).collect()
}

/// What cuts this pack off.
fn read_limits(form: &mut Form<'_, '_>, pack: &ChargedPack) -> Vec<Case> {
    let limits = of_pack(form, pack.name.as_ref(), &["battery-limits"]);
    for block in &limits {
        if form.lookup().has(Some(block), "charge_current.cut") {
            form.lookup().taken(&CURRENT_CUT, Some(block));
        }
        if form.lookup().has(Some(block), "cell_voltage_high.cut") {
            form.lookup().taken(&VOLTAGE_CUT, Some(block));
        }
    }
    limits.into_iter().map(|block| Case { slug: block.name.clone(), title: block.name }).collect()
}

impl Block for RegenerationCheck {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let (share, power) = (bench.get(self.state_of_charge), bench.get(self.power));
        let rest = match self.pack.open_circuit_curve {
            Some(curve) => {
                let cell = ElectricPotential::from_si(bench.read_curve(curve, share.value));
                bench.get(self.pack.series) * cell
            }
            None => {
                let empty = bench.get(self.pack.empty_voltage);
                empty + share * (bench.get(self.pack.full_voltage) - empty)
            }
        };
        let voltage = charged_pack::voltage_under(power, rest, bench.get(self.pack.resistance));
        bench.set(self.open_circuit_voltage, rest);
        bench.set(self.voltage, voltage);
        bench.set(self.current, power / voltage);
        if let Some(resistance) = self.worst_resistance {
            let voltage = charged_pack::voltage_under(power, rest, bench.get(resistance));
            bench.set(self.worst_voltage, voltage);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        page.sentence(
            words!("{} into the pack at {}", page.value(self.current), page.value(self.voltage)),
            words!(
                ", braking with {} at {} charge and {}.",
                page.value(self.power),
                page.value(self.state_of_charge),
                page.value(self.cell_temperature)
            ),
        );
        caution_dc(page, self.pack.full_voltage);
        charged_pack::temperatures_agree(page, [Some(self.cell_temperature), self.hottest_cell]);
        self.pack.hold_cold(page, Some(self.cell_temperature));
        self.outside(page);
    }
}

/// A full cell at rest has at least this share of the voltage that it is charged to: 3.35 V of 3.65 V are the least of the
/// trade. Common practice, no source.
const LEAST_OF_FULL: f64 = 0.9;

impl RegenerationCheck {
    /// A curve that ends far under the full voltage is of another cell than that is.
    fn hold_far_end(&self, page: &mut Page<'_>, ends: f64) {
        let (Some(full), Some(series)) = (page.get(self.pack.full_voltage), page.get(self.pack.series))
        else {
            return;
        };
        if ends * series < LEAST_OF_FULL * full.si() {
            let reason = words!(
                "the cell's `open_circuit_curve` ends at {} for the pack, far under its full {}: one of them is of another cell",
                page.value_as(self.pack.full_voltage, ends * series),
                page.value(self.pack.full_voltage)
            );
            let rows = [&FULL_VOLTAGE, &FULL_VOLTAGE_AT_WORST];
            rows.iter().for_each(|row| page.hold_close(row.name, reason.clone()));
        }
    }

    /// A state of charge that the cell's curve does not reach; without a curve the voltage is a guess.
    fn outside(&self, page: &mut Page<'_>) {
        let Some(slot) = self.pack.open_circuit_curve else {
            for row in [&FULL_VOLTAGE, &FULL_VOLTAGE_AT_WORST, &charged_pack::CURRENT] {
                page.hold_close(
                    row.name,
                    "the cell has no `open_circuit_curve`: its voltage is taken on a straight line from empty to full, which most cells don't follow",
                );
            }
            return;
        };
        let (Some(share), Some((curve, _))) = (page.get(self.state_of_charge), page.curve(slot)) else {
            return;
        };
        if curve.at(share.value).is_ok() {
            self.hold_far_end(page, curve.points().last().map_or(f64::NAN, |point| point.1));
            return;
        }
        let message = words!(
            "a state of charge of {} is outside the cell's `open_circuit_curve`",
            page.value(self.state_of_charge)
        );
        let help = "add points to the curve, best from 0 % to 100 %";
        page.find(&codes::OUTSIDE_CURVE, self.state_of_charge.index(), message, help);
    }
}

//! Cells in series and parallel: voltage, energy, mass, and what the pack can give before its voltage falls too far.

mod cells;
mod curve;
mod remarks;
mod results;
mod weakest;

use self::cells::{Cells, OfModules, read_cells, read_window};
use self::curve::OpenCircuit;
use self::results::{
    CAPACITY, CAPACITY_OF_MODULES, CAPACITY_OF_PIECES, CELL_CAPACITY, CELL_RESISTANCE, CONTINUOUS_CHARGE,
    CONTINUOUS_DISCHARGE, CONTINUOUS_RATING, EMPTY, EQUAL_MODULES, FULL, FULL_IN_WINDOW, Housing,
    MASS_OF_CELL, NOMINAL, PEAK_DISCHARGE, PEAK_IN_WINDOW, PEAK_RATING, REQUIRES, RESISTANCE_1KHZ, ROWS,
    Results, TAKES, WORST_CONTINUOUS_RATING, WORST_IN_WINDOW, WORST_POWER, WORST_RATING, declare,
};
use self::weakest::{CAPACITY_SPREAD, MODULE_SPREAD, Weakest};
use crate::findings::{Code, Severity};
use crate::model::{
    Bench, Block, BlockName, Example, FieldDoc, FieldSort, Form, Kind, Page, Range, Slot, Takes,
};
use crate::quantities::si::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Energy, Mass, Measure, Power,
    Ratio,
};
use crate::quantities::sort;
use crate::words::words;

#[rustfmt::skip] // One field a line: a table.
static FIELDS: &[FieldDoc] = &[
    FieldDoc::new("cell", Takes::BlockName, "a part with `nominal_voltage`, `full_voltage`, `empty_voltage`, `capacity`, `resistance`, `mass`, `continuous_discharge`, `peak_discharge`, and if known `open_circuit_curve` (voltage against state of charge, from 0 % to 100 %); or `module`").either(),
    FieldDoc::new("module", Takes::BlockName, "a part with `cells_in_series` and `cells_in_parallel` and the values of a cell for the whole module, instead of `cell`").instead_of("cell"),
    FieldDoc::new("modules_in_series", Takes::Count, "with `module`, instead of `series`").either().range(Range::AtLeastOne).sort(FieldSort::Choice),
    FieldDoc::new("modules_in_parallel", Takes::Count, "with `module`, instead of `parallel`").either().range(Range::AtLeastOne).sort(FieldSort::Choice),
    FieldDoc::new("series", Takes::Count, "cells, or groups of parallel cells, in series; with `cell`").label("cells in series").either().range(Range::AtLeastOne).sort(FieldSort::Choice),
    FieldDoc::new("parallel", Takes::Count, "cells in parallel; with `cell`").label("cells in parallel").either().range(Range::AtLeastOne).sort(FieldSort::Choice),
    FieldDoc::new("modules", Takes::Count, "into how many equal modules the cells are built").optional().range(Range::AtLeastOne).sort(FieldSort::Choice),
    FieldDoc::new("string_resistance", Takes::Quantity(&sort::RESISTANCE), "links, contactors and fuse, added to the cells'").assumed("0 Ω").range(Range::NotNegative),
    FieldDoc::new("usable_share", Takes::Quantity(&sort::RATIO), "of the energy").assumed("0.9").range(Range::Share),
    FieldDoc::new("housing_mass", Takes::Quantity(&sort::MASS), "boxes, links, sensors; or `housing_share`").either().range(Range::NotNegative),
    FieldDoc::new("housing_share", Takes::Quantity(&sort::RATIO), "of the cells' mass, instead of `housing_mass`").instead_of("housing_mass").range(Range::NotNegative),
    FieldDoc::new("shares", Takes::Quantities(&sort::SHARE), "states of charge at which `open_circuit_at_SHARE` is read off the cell's `open_circuit_curve`; 20 %, 50 % and 80 % if left out").optional().range(Range::NotNegative).sort(FieldSort::Condition),
    FieldDoc::new("window", Takes::Group, "the inverter's voltage window; or `inverter`").optional(),
    FieldDoc::new("inverter", Takes::BlockName, "a part with `voltage_low` and `voltage_high`, instead of `window`").optional(),
    FieldDoc::new("window.low", Takes::Quantity(&sort::VOLTAGE), "the lowest voltage it works at").label("lowest voltage of the window").range(Range::Positive).sort(FieldSort::Stated),
    FieldDoc::new("window.high", Takes::Quantity(&sort::VOLTAGE), "the highest voltage it bears").label("highest voltage of the window").range(Range::Positive).sort(FieldSort::Stated),
    FieldDoc::new("peak_power", Takes::Quantity(&sort::POWER), "at the battery's terminals").usual(1_000.0, 1e6).optional().range(Range::Positive).sort(FieldSort::Choice),
    FieldDoc::new("continuous_power", Takes::Quantity(&sort::POWER), "at the battery's terminals").usual(1_000.0, 1e6).optional().range(Range::Positive).sort(FieldSort::Choice),
    FieldDoc::new("worst", Takes::Group, "the lowest charge and temperature at which the peak is still asked").optional(),
    FieldDoc::new("worst.cell_voltage", Takes::Quantity(&sort::VOLTAGE), "open circuit, of a cell so far down").label("cell voltage at worst").range(Range::Positive).sort(FieldSort::Condition),
    FieldDoc::new("worst.resistance_factor", Takes::Quantity(&sort::RATIO), "of the cells' resistance, against the datasheet's").label("resistance at worst over that of the datasheet").range(Range::Positive),
];

static EMPTY_UNDER_WINDOW: Code = Code {
    name: "empty-under-window",
    severity: Severity::Warning,
    about: "the pack's empty voltage is under the inverter's window: the inverter stops before the pack is empty",
};

pub(crate) static KIND: Kind = Kind {
    name: "pack-layout",
    summary: "what a pack of cells in series and parallel holds, weighs and can give",
    subsystem: "battery",
    fields: FIELDS,
    rows: ROWS,
    takes: TAKES,
    requires: REQUIRES,
    example: Example {
        journal: "\
```yaml part cell
role: cell
nominal_voltage: 3.909 V
full_voltage: 4.2 V
empty_voltage: 2.5 V
capacity: 4.2 Ah
resistance: 2 mΩ
mass: 70 g
continuous_discharge: 8 A
peak_discharge: 150 A
```

```yaml pack-layout pack
cell: cell
series: 96
parallel: 2
string_resistance: 10 mΩ
housing_share: 25 %
peak_power: 80 kW
```

```yaml part module
role: module
cells_in_series: 6
cells_in_parallel: 2
nominal_voltage: 22.2 V
full_voltage: 25.2 V
empty_voltage: 18 V
capacity: 100 Ah
resistance: 3 mΩ
mass: 12 kg
continuous_discharge: 200 A
peak_discharge: 600 A
```

```yaml pack-layout of_modules
module: module
modules_in_series: 16
modules_in_parallel: 1
housing_mass: 40 kg
```
",
        // Of the modules by hand: 16 × 6 cells, 16 × 25.2 V, 16 × 3 mΩ, 16 × 12 kg + 40 kg.
        expected: &[
            ("of_modules.series", "96"),
            ("of_modules.full_voltage", "403.2 V"),
            ("of_modules.resistance", "48 mΩ"),
            ("of_modules.mass", "232 kg"),
            ("pack.resistance", "106 mΩ"),
            ("pack.peak_current", "227.847411 A"),
            ("pack.voltage_at_peak", "351.112174 V"),
            ("pack.collapse_power", "332.129881 kW"),
        ],
    },
    sources: &[
        "current at constant power from a source with resistance: I = (E − √(E² − 4 R P))/(2 R), written so that R may be 0; closed form",
        "the expected least of N normal values is minus the expected greatest, the integral of x N φ(x) Φ(x)^(N−1) (Johnson et al. 1994, p. 93, second-hand); worked by a numerical integral of another form, which the closed forms for 2 and 3 and scipy 1.17.1 confirm",
        "high voltage above 60 V DC: FMVSS 305 S3 (read); working voltage is the highest that can occur: UN R100 (read)",
    ],
    limits: &[
        "the sag of minutes at high power: it is worked with a constant resistance, a short-pulse model",
        "how cells share current, and how the pack ages",
    ],
    codes: &[&EMPTY_UNDER_WINDOW],
    read,
};

struct PackLayout {
    cell: Cell,
    of_modules: Option<OfModules>,
    series: Slot<f64>,
    parallel: Slot<f64>,
    modules: Slot<f64>,
    string_resistance: Slot<ElectricalResistance>,
    usable_share: Slot<Ratio>,
    housing: Housing,
    peak_power: Slot<Power>,
    continuous_power: Slot<Power>,
    window: Option<(Slot<ElectricPotential>, Slot<ElectricPotential>)>,
    worst: Option<WorstState>,
    open_circuit: Option<OpenCircuit>,
    weakest: Option<Weakest>,
    results: Results,
}

struct Cell {
    nominal_voltage: Slot<ElectricPotential>,
    full_voltage: Slot<ElectricPotential>,
    empty_voltage: Slot<ElectricPotential>,
    capacity: Slot<ElectricCharge>,
    resistance: Slot<ElectricalResistance>,
    mass: Slot<Mass>,
    continuous_discharge: Slot<ElectricCurrent>,
    peak_discharge: Slot<ElectricCurrent>,
    continuous_charge: Option<Slot<ElectricCurrent>>,
    resistance_1khz: Option<Slot<ElectricalResistance>>,
}

/// The lowest charge and temperature at which the peak is still asked.
struct WorstState {
    cell_voltage: Slot<ElectricPotential>,
    resistance_factor: Slot<Ratio>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let Cells { name, series, parallel, of_modules } = read_cells(form);
    let cell = read_cell(form, name.as_ref());
    let modules = form.if_given("modules");
    let string_resistance = form.assumed("string_resistance");
    let usable_share = form.assumed("usable_share");
    let housing = match form.one_of(&["housing_mass", "housing_share"]) {
        Some("housing_share") => Housing::Share(form.required("housing_share")),
        _ => Housing::Mass(form.if_given("housing_mass")),
    };
    let window = read_window(form);
    let peak_power = form.if_given("peak_power");
    let continuous_power = form.if_given("continuous_power");
    let worst = form.group("worst", |form| WorstState {
        cell_voltage: form.required("cell_voltage"),
        resistance_factor: form.required("resistance_factor"),
    });
    let open_circuit = OpenCircuit::read(form, name.as_ref(), series);
    let pieces = match &of_modules {
        Some(OfModules { name, modules, .. }) => (&MODULE_SPREAD, name.as_ref(), *modules),
        None => (&CAPACITY_SPREAD, name.as_ref(), [series, parallel]),
    };
    let weakest = Weakest::read(form, pieces);
    let capacity = match (&weakest, &of_modules) {
        (Some(_), Some(_)) => &CAPACITY_OF_MODULES,
        (Some(_), None) => &CAPACITY_OF_PIECES,
        (None, _) => &CAPACITY,
    };
    let results = declare(form, housing, (open_circuit.as_ref(), capacity));
    let out = &mut form.outcomes();
    out.require(&FULL_IN_WINDOW);
    out.require(if worst.is_some() { &WORST_IN_WINDOW } else { &PEAK_IN_WINDOW });
    out.require(if worst.is_some() { &WORST_RATING } else { &PEAK_RATING });
    out.require(&WORST_POWER);
    out.require(&CONTINUOUS_RATING);
    out.require(&WORST_CONTINUOUS_RATING);
    out.require(&EQUAL_MODULES);
    Box::new(PackLayout {
        cell,
        series,
        parallel,
        of_modules,
        modules,
        string_resistance,
        usable_share,
        housing,
        peak_power,
        continuous_power,
        window,
        worst,
        open_circuit,
        weakest,
        results,
    })
}

fn read_cell(form: &mut Form<'_, '_>, name: Option<&BlockName>) -> Cell {
    let mut lookup = form.lookup();
    Cell {
        nominal_voltage: lookup.taken(&NOMINAL, name),
        full_voltage: lookup.taken(&FULL, name),
        empty_voltage: lookup.taken(&EMPTY, name),
        capacity: lookup.taken(&CELL_CAPACITY, name),
        resistance: lookup.taken(&CELL_RESISTANCE, name),
        mass: lookup.taken(&MASS_OF_CELL, name),
        continuous_discharge: lookup.taken(&CONTINUOUS_DISCHARGE, name),
        peak_discharge: lookup.taken(&PEAK_DISCHARGE, name),
        continuous_charge: lookup.if_there(&CONTINUOUS_CHARGE, name),
        resistance_1khz: lookup.if_there(&RESISTANCE_1KHZ, name),
    }
}

/// I from P = (E − R I) I; NaN where the source can't give P.
fn current_at(power: Power, voltage: ElectricPotential, resistance: ElectricalResistance) -> ElectricCurrent {
    let root = (voltage * voltage - 4.0 * resistance * power).sqrt();
    2.0 * power / (voltage + root)
}

impl Block for PackLayout {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        if let Some(of) = &self.of_modules {
            for (at, slot) in [self.series, self.parallel].into_iter().enumerate() {
                bench.set(slot, bench.get(of.modules[at]) * bench.get(of.cells[at]));
            }
        }
        let (series, parallel) = (bench.get(self.series), bench.get(self.parallel));
        let cell = &self.cell;
        let r = &self.results;
        let nominal = series * bench.get(cell.nominal_voltage);
        let cells = series * parallel;
        bench.set(r.cell_count, cells);
        bench.set(r.nominal_voltage, nominal);
        bench.set(r.full_voltage, series * bench.get(cell.full_voltage));
        bench.set(r.empty_voltage, series * bench.get(cell.empty_voltage));
        let mean = parallel * bench.get(cell.capacity);
        let capacity = self.weakest.as_ref().map_or(mean, |weakest| mean - weakest.evaluate(bench));
        bench.set(r.capacity, capacity);
        let mean = self.open_circuit.as_ref().map_or(nominal, |open| series * open.evaluate(bench));
        let energy: Energy = mean * capacity;
        bench.set(r.energy, energy);
        bench.set(r.usable_energy, bench.get(self.usable_share) * energy);
        let cell_mass = cells * bench.get(cell.mass);
        bench.set(r.cell_mass, cell_mass);
        let mass = match self.housing {
            Housing::Mass(slot) => cell_mass + bench.get(slot),
            Housing::Share(slot) => cell_mass + cell_mass * bench.get(slot),
        };
        bench.set(r.mass, mass);
        bench.set(r.specific_energy, energy / mass);
        let modules = bench.get(self.modules);
        bench.set(r.cells_left_over, cells - modules * (cells / modules).round());

        let of_cells = bench.get(cell.resistance) * series / parallel;
        let string = bench.get(self.string_resistance);
        let resistance = of_cells + string;
        bench.set(r.resistance, resistance);
        let rated = parallel * bench.get(cell.peak_discharge);
        bench.set(r.rated_power, (nominal - rated * resistance) * rated);
        bench.set(r.collapse_power, nominal * nominal / (4.0 * resistance));

        let peak_power = bench.get(self.peak_power);
        let current = current_at(peak_power, nominal, resistance);
        let sag = current * resistance;
        bench.set(r.peak.current, current);
        bench.set(r.peak.sag, sag);
        bench.set(r.peak.voltage, nominal - sag);
        bench.set(r.peak.c_rate, current / capacity);
        bench.set(r.peak.heat, current * current * resistance);
        bench.set(r.continuous_current, current_at(bench.get(self.continuous_power), nominal, resistance));
        if let Some(worst) = &self.worst {
            let voltage = series * bench.get(worst.cell_voltage);
            let resistance = bench.get(worst.resistance_factor) * of_cells + string;
            let current = current_at(peak_power, voltage, resistance);
            let continuous = current_at(bench.get(self.continuous_power), voltage, resistance);
            bench.set(r.worst.voltage, voltage);
            bench.set(r.worst.resistance, resistance);
            bench.set(r.worst.collapse_power, voltage * voltage / (4.0 * resistance));
            bench.set(r.worst.voltage_at_peak, voltage - current * resistance);
            for (slot, current) in [(r.worst.current, current), (r.worst.continuous_current, continuous)] {
                // Its voltage collapses before it gives that power.
                if current.si().is_nan() {
                    bench.not_there(slot);
                } else {
                    bench.set(slot, current);
                }
            }
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let r = &self.results;
        page.sentence(
            words!(
                "{} at {} nominal, {} full",
                page.value(r.energy),
                page.value(r.nominal_voltage),
                page.value(r.full_voltage)
            ),
            words!(": {} cells, {} with housing.", page.value(r.cell_count), page.value(r.mass)),
        );
        if let Some(open) = &self.open_circuit {
            open.present(page, self.cell.full_voltage);
        }
        if let Some(weakest) = &self.weakest {
            weakest.present(page, r.capacity);
        }
        self.draw(page);
        self.class(page);
        self.contradictions(page);
        self.too_weak(page);
        if page.get(self.peak_power).is_some() {
            page.note("Sag is worked with a constant resistance, which is a short-pulse model: after minutes at high power the voltage is lower.");
            if self.worst.is_none() {
                page.note("Lowest charge and cold were not judged: give `worst` for them.");
            }
        }
    }
}

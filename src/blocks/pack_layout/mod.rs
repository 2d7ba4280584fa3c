//! Cells in series and parallel: voltage, energy, mass, and what the pack can give before its voltage falls too far.

mod curve;
mod remarks;
mod results;

use self::curve::OpenCircuit;
use self::results::{
    Housing, Peak, Totals, Worst, current_formula, declare_peak, declare_totals, declare_worst,
};
use crate::findings::codes;
use crate::model::{
    Bench, Block, BlockName, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, ResultDoc,
    Slot, Status, Takes,
};
use crate::quantities::si::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Energy, Mass, Power, Ratio,
};
use crate::quantities::sort;

#[rustfmt::skip] // One field a line: a table.
static FIELDS: &[FieldDoc] = &[
    FieldDoc::new("cell", Takes::BlockName, "a part with `nominal_voltage`, `full_voltage`, `empty_voltage`, `capacity`, `resistance`, `mass`, `continuous_discharge`, `peak_discharge`, and if known `open_circuit_curve` (voltage against state of charge, from 0 % to 100 %)"),
    FieldDoc::new("series", Takes::Count, "cells, or groups of parallel cells, in series").range(Range::AtLeastOne),
    FieldDoc::new("parallel", Takes::Count, "cells in parallel").range(Range::AtLeastOne),
    FieldDoc::new("modules", Takes::Count, "into how many equal modules the cells are built").optional().range(Range::AtLeastOne),
    FieldDoc::new("string_resistance", Takes::Quantity(&sort::RESISTANCE), "links, contactors and fuse, added to the cells'").assumed("0 Ω").range(Range::NotNegative),
    FieldDoc::new("usable_share", Takes::Quantity(&sort::RATIO), "of the energy").assumed("0.9").range(Range::Share),
    FieldDoc::new("housing_mass", Takes::Quantity(&sort::MASS), "boxes, links, sensors; or `housing_share`").either().range(Range::NotNegative),
    FieldDoc::new("housing_share", Takes::Quantity(&sort::RATIO), "of the cells' mass, instead of `housing_mass`").either().range(Range::NotNegative),
    FieldDoc::new("shares", Takes::List, "states of charge at which `open_circuit_at_SHARE` is read off the cell's `open_circuit_curve`; 20 %, 50 % and 80 % if left out").optional().range(Range::NotNegative),
    FieldDoc::new("window", Takes::Group, "the inverter's voltage window").optional(),
    FieldDoc::new("window.low", Takes::Quantity(&sort::VOLTAGE), "the lowest voltage it works at").range(Range::NotNegative),
    FieldDoc::new("window.high", Takes::Quantity(&sort::VOLTAGE), "the highest voltage it bears").range(Range::Positive),
    FieldDoc::new("peak_power", Takes::Quantity(&sort::POWER), "at the battery's terminals").optional().range(Range::NotNegative),
    FieldDoc::new("continuous_power", Takes::Quantity(&sort::POWER), "at the battery's terminals").optional().range(Range::NotNegative),
    FieldDoc::new("worst", Takes::Group, "the lowest charge and temperature at which the peak is still asked").optional(),
    FieldDoc::new("worst.cell_voltage", Takes::Quantity(&sort::VOLTAGE), "open circuit, of a cell so far down").range(Range::Positive),
    FieldDoc::new("worst.resistance_factor", Takes::Quantity(&sort::RATIO), "of the cells' resistance, against the datasheet's").range(Range::Positive),
];

pub(super) static KIND: Kind = Kind {
    name: "pack-layout",
    summary: "what a pack of cells in series and parallel holds, weighs and can give",
    subsystem: "battery",
    fields: FIELDS,
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "cell_count", about: "series × parallel" },
        ResultDoc { name: "nominal_voltage", about: "of the string" },
        ResultDoc { name: "full_voltage", about: "at the end of charge: the working voltage" },
        ResultDoc { name: "empty_voltage", about: "at the cells' lower limit" },
        ResultDoc { name: "capacity", about: "of the parallel cells" },
        ResultDoc {
            name: "energy",
            about: "nominal voltage × capacity, or with the cell's `open_circuit_curve` its integral over the charge",
        },
        ResultDoc {
            name: "mean_open_circuit",
            about: "of a cell over its whole charge; with its `open_circuit_curve`",
        },
        ResultDoc {
            name: "open_circuit_at_SHARE",
            about: "of the string at that state of charge; with the cell's `open_circuit_curve`",
        },
        ResultDoc { name: "usable_energy", about: "the share that is used" },
        ResultDoc { name: "cell_mass", about: "of all cells" },
        ResultDoc { name: "mass", about: "with its housing" },
        ResultDoc { name: "specific_energy", about: "energy over mass" },
        ResultDoc { name: "resistance", about: "of cells and string; a short-pulse value" },
        ResultDoc { name: "peak_current", about: "at peak power, from nominal voltage" },
        ResultDoc { name: "peak_sag", about: "voltage lost at peak power" },
        ResultDoc { name: "voltage_at_peak", about: "at the terminals at peak power" },
        ResultDoc { name: "peak_c_rate", about: "peak current over capacity" },
        ResultDoc { name: "heat_at_peak", about: "lost in the pack at peak power" },
        ResultDoc { name: "continuous_current", about: "at continuous power" },
        ResultDoc { name: "worst_peak_current", about: "at peak power, lowest charge and temperature" },
        ResultDoc { name: "worst_voltage_at_peak", about: "at peak power, lowest charge and temperature" },
        ResultDoc { name: "rated_power", about: "at the terminals at the cells' peak rating" },
        ResultDoc { name: "collapse_power", about: "V²/4R, where the voltage collapses: never to be used" },
        ResultDoc { name: "voltage_class", about: "of the full voltage" },
        ResultDoc { name: "cells_left_over", about: "that don't go into equal modules; must be 0" },
    ],
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
",
        expected: &[
            ("pack.resistance", "106 mΩ"),
            ("pack.peak_current", "227.847411 A"),
            ("pack.voltage_at_peak", "351.112174 V"),
            ("pack.collapse_power", "332.129881 kW"),
        ],
    },
    sources: &[
        "current at constant power from a source with resistance: I = (E − √(E² − 4 R P))/(2 R), written so that R may be 0; closed form",
        "high voltage above 60 V DC: FMVSS 305 S3 (read); working voltage is the highest that can occur: UN R100 (read)",
    ],
    inspector: &[
        "cell_count",
        "empty_voltage",
        "nominal_voltage",
        "full_voltage",
        "voltage_class",
        "energy",
        "usable_energy",
        "mass",
        "peak_current",
        "worst_peak_current",
    ],
    limits: &[
        "the sag of minutes at high power: it is worked with a constant resistance, a short-pulse model",
        "how cells share current, and how the pack ages",
    ],
    codes: &[],
    read,
};

pub(super) struct PackLayout {
    pub(super) cell: Cell,
    pub(super) series: Slot<f64>,
    pub(super) parallel: Slot<f64>,
    pub(super) modules: Option<(Slot<f64>, Slot<f64>)>,
    pub(super) string_resistance: Slot<ElectricalResistance>,
    pub(super) usable_share: Slot<Ratio>,
    pub(super) housing: Housing,
    pub(super) results: Totals,
    pub(super) open_circuit: Option<OpenCircuit>,
    pub(super) peak: Option<Peak>,
    pub(super) continuous: Option<(Slot<Power>, Slot<ElectricCurrent>)>,
    pub(super) worst: Option<Worst>,
    pub(super) rated_power: Slot<Power>,
    pub(super) collapse_power: Slot<Power>,
    pub(super) voltage_class: Slot<String>,
}

pub(super) struct Cell {
    pub(super) nominal_voltage: Slot<ElectricPotential>,
    pub(super) full_voltage: Slot<ElectricPotential>,
    pub(super) empty_voltage: Slot<ElectricPotential>,
    pub(super) capacity: Slot<ElectricCharge>,
    pub(super) resistance: Slot<ElectricalResistance>,
    pub(super) mass: Slot<Mass>,
    pub(super) peak_discharge: Slot<ElectricCurrent>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let name = form.required_block("cell");
    let cell = read_cell(form, name.as_ref());
    let series = form.required_count("series");
    let parallel = form.required_count("parallel");
    let modules = form.count("modules");
    let string_resistance = form.assumed("string_resistance");
    let usable_share = form.assumed("usable_share");
    let housing = read_housing(form);
    let window = form.group("window", |form| {
        form.required::<ElectricPotential>("low");
        form.required::<ElectricPotential>("high");
    });
    let peak_power = form.optional::<Power>("peak_power");
    let continuous_power = form.optional::<Power>("continuous_power");
    let worst =
        form.group("worst", |form| (form.required("cell_voltage"), form.required("resistance_factor")));

    let open_circuit = OpenCircuit::read(form, name.as_ref(), series);
    let voltage = open_circuit.as_ref().map_or("nominal_voltage", |_| "series * mean_open_circuit");
    let results = declare_totals(form, housing, voltage);
    let peak = peak_power.map(|power| declare_peak(form, power));
    let continuous = continuous_power.map(|power| {
        let formula = current_formula("continuous_power", "nominal_voltage", "resistance");
        (power, form.step("continuous_current", "A", &formula))
    });
    let worst = match (worst, peak_power) {
        (Some(given), Some(_)) => Some(declare_worst(form, given)),
        _ => None,
    };
    let rated_power = form.step(
        "rated_power",
        "kW",
        "(nominal_voltage - cell.peak_discharge * parallel * resistance) * cell.peak_discharge * parallel",
    );
    let collapse_power = form.step("collapse_power", "kW", "nominal_voltage^2 / (4 * resistance)");
    let voltage_class = form.text_step("voltage_class", &[results.full_voltage.index()]);
    let modules = modules.map(|modules| {
        let formula = "cell_count - modules * round(cell_count / modules)";
        (modules, form.step("cells_left_over", "1", formula))
    });
    let wanted = Wanted {
        window: window.is_some(),
        peak: peak.is_some(),
        worst: worst.is_some(),
        continuous: continuous.is_some(),
        modules: modules.is_some(),
    };
    require(form, &wanted);
    Box::new(PackLayout {
        cell,
        series,
        parallel,
        modules,
        string_resistance,
        usable_share,
        housing,
        results,
        open_circuit,
        peak,
        continuous,
        worst,
        rated_power,
        collapse_power,
        voltage_class,
    })
}

fn read_cell(form: &mut Form<'_, '_>, name: Option<&BlockName>) -> Cell {
    let cell = Cell {
        nominal_voltage: form.of_block(name, "nominal_voltage"),
        full_voltage: form.of_block(name, "full_voltage"),
        empty_voltage: form.of_block(name, "empty_voltage"),
        capacity: form.of_block(name, "capacity"),
        resistance: form.of_block(name, "resistance"),
        mass: form.of_block(name, "mass"),
        peak_discharge: form.of_block(name, "peak_discharge"),
    };
    form.of_block::<ElectricCurrent>(name, "continuous_discharge");
    cell
}

fn read_housing(form: &mut Form<'_, '_>) -> Housing {
    match (form.has("housing_mass"), form.has("housing_share")) {
        (true, true) => {
            let message = "both `housing_mass` and `housing_share`";
            form.report(&codes::BAD_VALUE, form.place(), message, "keep one of them");
            form.optional::<Ratio>("housing_share");
            Housing::Mass(form.required("housing_mass"))
        }
        (_, false) => Housing::Mass(form.required("housing_mass")),
        (false, true) => Housing::Share(form.required("housing_share")),
    }
}

/// Which of the optional things are there.
struct Wanted {
    window: bool,
    peak: bool,
    worst: bool,
    continuous: bool,
    modules: bool,
}

fn require(form: &mut Form<'_, '_>, there: &Wanted) {
    let limit = |name, actual| Limit {
        name,
        kind: RequirementKind::Safety,
        actual,
        low: None,
        high: None,
        source: "the cell's rating",
        status: Status::Stated,
        span: None,
    };
    let (at_peak, current) = if there.worst {
        ("worst_voltage_at_peak", "worst_peak_current")
    } else {
        ("voltage_at_peak", "peak_current")
    };
    if there.window {
        let source = "the inverter's voltage window";
        form.require(Limit {
            low: Some("window.low"),
            high: Some("window.high"),
            source,
            ..limit("full_voltage", "full_voltage")
        });
        if there.peak {
            form.require(Limit { low: Some("window.low"), source, ..limit(at_peak, at_peak) });
        }
    }
    if there.peak {
        form.require(Limit { high: Some("cell.peak_discharge * parallel"), ..limit(current, current) });
    }
    if there.continuous {
        let high = Some("cell.continuous_discharge * parallel");
        form.require(Limit { high, ..limit("continuous_current", "continuous_current") });
    }
    if there.modules {
        let (source, status) = ("equal modules", Status::Derived);
        form.require(Limit {
            low: Some("0"),
            high: Some("0"),
            source,
            status,
            ..limit("modules", "cells_left_over")
        });
    }
}

/// I from P = (E − R I) I; NaN where the source can't give P.
fn current_at(power: Power, voltage: ElectricPotential, resistance: ElectricalResistance) -> ElectricCurrent {
    let root = (voltage * voltage - 4.0 * resistance * power).sqrt();
    2.0 * power / (voltage + root)
}

impl Block for PackLayout {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let (series, parallel) = (bench.get(self.series), bench.get(self.parallel));
        let cell = &self.cell;
        let r = &self.results;
        let nominal = series * bench.get(cell.nominal_voltage);
        let cells = series * parallel;
        bench.set(r.cell_count, cells);
        bench.set(r.nominal_voltage, nominal);
        bench.set(r.full_voltage, series * bench.get(cell.full_voltage));
        bench.set(r.empty_voltage, series * bench.get(cell.empty_voltage));
        let capacity = parallel * bench.get(cell.capacity);
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
        let cells_resistance = bench.get(cell.resistance) * series / parallel;
        let string = bench.get(self.string_resistance);
        let resistance = cells_resistance + string;
        bench.set(r.resistance, resistance);

        if let Some(peak) = &self.peak {
            let current = current_at(bench.get(peak.power), nominal, resistance);
            let sag = current * resistance;
            bench.set(peak.current, current);
            bench.set(peak.sag, sag);
            bench.set(peak.voltage, nominal - sag);
            bench.set(peak.c_rate, current / capacity);
            bench.set(peak.heat, current * current * resistance);
        }
        if let Some((power, current)) = self.continuous {
            bench.set(current, current_at(bench.get(power), nominal, resistance));
        }
        if let (Some(worst), Some(peak)) = (&self.worst, &self.peak) {
            let voltage = series * bench.get(worst.cell_voltage);
            let resistance = bench.get(worst.resistance_factor) * cells_resistance + string;
            let current = current_at(bench.get(peak.power), voltage, resistance);
            bench.set(worst.voltage, voltage);
            bench.set(worst.resistance, resistance);
            bench.set(worst.peak_current, current);
            bench.set(worst.voltage_at_peak, voltage - current * resistance);
        }
        let rated = parallel * bench.get(cell.peak_discharge);
        bench.set(self.rated_power, (nominal - rated * resistance) * rated);
        bench.set(self.collapse_power, nominal * nominal / (4.0 * resistance));
        if let Some((modules, left_over)) = self.modules {
            let modules = bench.get(modules);
            bench.set(left_over, cells - modules * (cells / modules).round());
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let r = &self.results;
        let (energy, nominal) = (page.shown(r.energy), page.shown(r.nominal_voltage));
        page.sentence(
            format!("{energy} at {nominal} nominal, {} full", page.shown(r.full_voltage)),
            format!(": {} cells, {} with housing.", page.shown(r.cell_count), page.shown(r.mass)),
        );
        page.headline(r.energy);
        page.headline(r.full_voltage);
        if let Some(open) = &self.open_circuit {
            open.present(page);
        }
        self.class(page);
        self.too_weak(page);
        if self.peak.is_some() {
            page.note("Sag is worked with a constant resistance, which is a short-pulse model: after minutes at high power the voltage is lower.");
        }
        if self.peak.is_some() && self.worst.is_none() {
            page.note("Lowest charge and cold were not judged: give `worst` for them.");
        }
    }
}

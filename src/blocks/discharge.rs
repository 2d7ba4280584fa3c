//! Capacitors that are discharged when the vehicle is switched off, by a resistor or by an active circuit.

use crate::blocks::shared::bus_capacitance::{self, BusCapacitance};
use crate::blocks::shared::high_voltage::caution_dc;
use crate::blocks::shared::noted::has_document;
use crate::blocks::shared::working_voltage::{self, WorkingVoltage};
use crate::findings::codes;
use crate::model::{
    Axis, Bench, Block, Chart, Example, FieldDoc, FieldSort, Form, Kind, LinesChart, Page, Range,
    RequirementRow, Row, Series, Slot, Taken, Takes,
};
use crate::quantities::si::{
    Capacitance, ElectricPotential, ElectricalResistance, Energy, Measure, Power, Ratio, Time,
};
use crate::quantities::sort;
use crate::words::words;

pub(crate) static KIND: Kind = Kind {
    name: "discharge",
    summary: "how long the capacitors stay dangerous after switching off, and what resistor would be fast enough",
    subsystem: "high voltage",
    fields: &[
        working_voltage::PACK,
        working_voltage::VOLTAGE,
        bus_capacitance::INVERTER,
        bus_capacitance::CAPACITANCE,
        FieldDoc::new(
            "resistance",
            Takes::Quantity(&sort::INSULATION),
            "of the resistor that stays connected, or `power` instead",
        )
        .either()
        .range(Range::Positive),
        FieldDoc::new(
            "power",
            Takes::Quantity(&sort::POWER),
            "that an active discharge takes, the same at every voltage; instead of `resistance`",
        )
        .instead_of("resistance")
        .range(Range::Positive),
        FieldDoc::new("down_to", Takes::Quantity(&sort::VOLTAGE), "the voltage that counts as discharged").label("voltage that counts as discharged")
            .assumed("60 V")
            .range(Range::Positive)
            .sort(FieldSort::Choice)
            .principal(),
        FieldDoc::new(
            "within",
            Takes::Quantity(&sort::TIME),
            "the time that it may take, with the document that asks for it: `5 s (published RULES)`; there is no single rule",
        )
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Stated)
        .label("time that it may take")
        .principal(),
        FieldDoc::new(
            Y_BOTH,
            Takes::Quantity(&sort::CAPACITANCE),
            "of both poles to the chassis together, where no sheet parts them; no contactor parts it from what is behind it",
        )
        .optional()
        .range(Range::Positive)
        .label("capacitance to the chassis"),
        FieldDoc::new(Y_POSITIVE, Takes::Quantity(&sort::CAPACITANCE), "of the positive pole alone, with the other one")
            .optional()
            .range(Range::NotNegative)
            .label("capacitance of the positive pole to the chassis"),
        FieldDoc::new(Y_NEGATIVE, Takes::Quantity(&sort::CAPACITANCE), "of the negative pole alone, with the other one")
            .optional()
            .range(Range::NotNegative)
            .label("capacitance of the negative pole to the chassis"),
    ],
    rows: &[
        &TIME_BY_RESISTOR.row,
        &TIME_BY_POWER.row,
        &LARGEST_RESISTANCE.row,
        &STANDING_LOSS.row,
        &STORED_ENERGY.row,
        &RESIDUAL_ENERGY.row,
        &Y_ENERGY.row,
        &Y_ENERGY_BY_POLES.row,
        &Y_ENERGY_BALANCED.row,
    ],
    takes: &[&bus_capacitance::OF_INVERTER.row, &bus_capacitance::OF_PART.row, &working_voltage::FULL_VOLTAGE.row, &working_voltage::PACK_VOLTAGE.row, &Y_ENERGY_LIMIT.row],
    requires: &[&working_voltage::NOT_UNDER_PACK, &TIME_WITHIN, &Y_ENERGY_LOW],
    example: Example {
        journal: "\
```yaml discharge bleeder
voltage: 400 V
capacitance: 1 mF
resistance: 10 kΩ
down_to: 60 V
within: 60 s (published LETTER)
```

```yaml sources documents
LETTER: {title: Letter of the inspecting office}
```
",
        expected: &[
            ("bleeder.time", "18.9711998 s"),
            ("bleeder.largest_resistance", "31.6268873 kΩ"),
            ("bleeder.standing_loss", "16 W"),
            ("bleeder.residual_energy", "1.8 J"),
        ],
    },
    sources: &[
        "discharge of a capacitor: through a resistor t = R C ln(V/v), at constant power t = C (V² − v²)/(2 P); closed forms",
        "60 V DC: FMVSS 305 S3 (read); the time that is allowed differs between documents: 5 s in Formula SAE 2024 EV.8.4.2 (read), 60 s in UN R94, series 04 (second-hand)",
        "energy of the capacitors to the chassis after a crash under 0.2 J: ISO 6469-4:2015, 5.2.3 (read; that it is worked as C V²/2 is our own reading)",
    ],
    limits: &[
        "a resistor that has burnt open, or an active discharge that does not start, is not calculated: measure, and wait for no clock",
    ],
    codes: &[],
    read,
};

const Y_BOTH: &str = "y_capacitance";
const Y_POSITIVE: &str = "y_capacitance_positive";
const Y_NEGATIVE: &str = "y_capacitance_negative";

static Y_ENERGY_LIMIT: Taken<Energy> = Taken::new("", "y_energy_limit");

static TIME_BY_RESISTOR: Row<Time> =
    Row::formula("time", "time to discharge", "s", "resistance * capacitance * ln(voltage / down_to)")
        .about("from the full voltage down to the wanted one")
        .principal();
static TIME_BY_POWER: Row<Time> = TIME_BY_RESISTOR.by("capacitance * (voltage^2 - down_to^2) / (2 * power)");
static LARGEST_RESISTANCE: Row<ElectricalResistance> = Row::formula(
    "largest_resistance",
    "largest resistance that is fast enough",
    "kΩ",
    "within / (capacitance * ln(voltage / down_to))",
)
.when("with `within`");
static STANDING_LOSS: Row<Power> =
    Row::formula("standing_loss", "standing loss of the resistor", "W", "voltage^2 / resistance")
        .about("at the full voltage")
        .when("with `resistance`");
static STORED_ENERGY: Row<Energy> =
    Row::formula("stored_energy", "energy in the capacitors", "J", "capacitance * voltage^2 / 2")
        .about("at the full voltage");
static RESIDUAL_ENERGY: Row<Energy> =
    Row::formula("residual_energy", "energy left in the capacitors", "J", "capacitance * down_to^2 / 2")
        .about("at the wanted voltage")
        .principal();
static Y_ENERGY: Row<Energy> =
    Row::formula("y_energy", "energy in the capacitors to the chassis", "J", "y_capacitance * voltage^2 / 2")
        .about("with the whole voltage across it, as an insulation fault puts it there")
        .when("with a capacitance to the chassis");
static Y_ENERGY_BY_POLES: Row<Energy> =
    Y_ENERGY.by("max(y_capacitance_positive, y_capacitance_negative) * voltage^2 / 2");
static Y_ENERGY_BALANCED: Row<Energy> = Row::formula(
    "y_energy_balanced",
    "energy to the chassis without a fault",
    "J",
    "(y_capacitance_positive + y_capacitance_negative) * voltage^2 / 8",
)
.about("half of the voltage across each pole's")
.when("with the capacitance of each pole");

static TIME_WITHIN: RequirementRow =
    RequirementRow::safety("time", "time").at_most("within").only_with(&["within"]);
static Y_ENERGY_LOW: RequirementRow = RequirementRow::safety("y_energy", "y_energy")
    .at_most("y_energy_limit")
    .strictly()
    .only_with(&["y_energy_limit"]);

struct Discharge {
    working: WorkingVoltage,
    capacitance: BusCapacitance,
    /// `None` where it could not be read.
    way: Option<Way>,
    down_to: Slot<ElectricPotential>,
    within: Option<Slot<Time>>,
    /// Whether the time that is allowed names its document.
    documented: bool,
    low_voltage: Slot<ElectricPotential>,
    y: Y,
    time: Slot<Time>,
    largest_resistance: Slot<ElectricalResistance>,
    standing_loss: Slot<Power>,
    stored_energy: Slot<Energy>,
    residual_energy: Slot<Energy>,
    y_energy: Slot<Energy>,
    y_energy_balanced: Slot<Energy>,
}

/// The capacitors to the chassis.
#[derive(Clone, Copy)]
enum Y {
    Nothing,
    Together(Slot<Capacitance>),
    /// What is not given leaves the results out.
    Poles(Option<(Slot<Capacitance>, Slot<Capacitance>)>),
}

#[derive(Clone, Copy)]
enum Way {
    Resistor(Slot<ElectricalResistance>),
    Active(Slot<Power>),
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let working = WorkingVoltage::read(form, "voltage", &working_voltage::FULL_VOLTAGE);
    let capacitance = BusCapacitance::read(form);
    let way = form.one_of(&["resistance", "power"]).map(|key| match key {
        "power" => Way::Active(form.required(key)),
        _ => Way::Resistor(form.required(key)),
    });
    let down_to = form.assumed("down_to");
    let within = form.optional("within");
    let documented = within.is_some_and(|within| has_document(form, within));
    let low_voltage = form.limit("low_voltage", "high_voltage_dc");
    let y = read_y(form);
    let mut out = form.outcomes();
    let discharge = Discharge {
        working,
        capacitance,
        way,
        down_to,
        within,
        documented,
        low_voltage,
        y,
        time: match way {
            Some(Way::Active(_)) => out.result(&TIME_BY_POWER),
            _ => out.result(&TIME_BY_RESISTOR),
        },
        largest_resistance: out.result(&LARGEST_RESISTANCE),
        standing_loss: out.result(&STANDING_LOSS),
        stored_energy: out.result(&STORED_ENERGY),
        residual_energy: out.result(&RESIDUAL_ENERGY),
        y_energy: out.result(if matches!(y, Y::Poles(_)) { &Y_ENERGY_BY_POLES } else { &Y_ENERGY }),
        y_energy_balanced: out.result(&Y_ENERGY_BALANCED),
    };
    KIND.requires.iter().for_each(|row| out.require(*row));
    Box::new(discharge)
}

fn read_y(form: &mut Form<'_, '_>) -> Y {
    let poles = form.has(Y_POSITIVE) || form.has(Y_NEGATIVE);
    if form.has(Y_BOTH) && poles {
        let at = form.place_of(Y_BOTH);
        let message = "both the capacitance of each pole and of both together";
        form.report(&codes::BAD_VALUE, at, message, "keep that of each pole");
    }
    let together = form.optional(Y_BOTH);
    let of_poles = (form.optional(Y_POSITIVE), form.optional(Y_NEGATIVE));
    let y = match together {
        _ if poles => Y::Poles(of_poles.0.zip(of_poles.1)),
        Some(both) => Y::Together(both),
        None => return Y::Nothing,
    };
    form.limit::<Energy>("y_energy_limit", "post_crash_energy");
    y
}

impl Block for Discharge {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let (voltage, down_to) = (bench.get(self.working.slot), bench.get(self.down_to));
        let capacitance = bench.get(self.capacitance.slot);
        let fall: Ratio = (voltage / down_to).ln();
        let time: Time = match self.way {
            Some(Way::Resistor(slot)) => bench.get(slot) * capacitance * fall,
            Some(Way::Active(slot)) => {
                capacitance * (voltage * voltage - down_to * down_to) / (2.0 * bench.get(slot))
            }
            None => Time::from_si(f64::NAN),
        };
        // Nothing to discharge: `present` says so.
        let above = voltage > down_to;
        bench.set(self.time, if above { time } else { Time::from_si(f64::NAN) });
        if let Some(within) = self.within {
            let largest = bench.get(within) / (capacitance * fall);
            bench.set(
                self.largest_resistance,
                if above { largest } else { ElectricalResistance::from_si(f64::NAN) },
            );
        }
        if let Some(Way::Resistor(slot)) = self.way {
            bench.set(self.standing_loss, voltage * voltage / bench.get(slot));
        }
        bench.set(self.stored_energy, capacitance * voltage * voltage / 2.0);
        bench.set(self.residual_energy, capacitance * down_to * down_to / 2.0);
        match self.y {
            Y::Nothing | Y::Poles(None) => {}
            Y::Together(both) => bench.set(self.y_energy, bench.get(both) * voltage * voltage / 2.0),
            Y::Poles(Some((positive, negative))) => {
                let (positive, negative) = (bench.get(positive), bench.get(negative));
                let larger = if positive >= negative { positive } else { negative };
                bench.set(self.y_energy, larger * voltage * voltage / 2.0);
                bench.set(self.y_energy_balanced, (positive + negative) * voltage * voltage / 8.0);
            }
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        page.sentence(
            words!("{} to fall to {}", page.value(self.time), page.value(self.down_to)),
            words!(
                " from {}; {} are then left in the capacitors.",
                page.value(self.working.slot),
                page.value(self.residual_energy)
            ),
        );
        caution_dc(page, self.working.slot);
        self.nothing_to_do(page);
        if self.within.is_none() {
            page.note("The time was not judged: documents differ, so give the `within` of the one that holds for this vehicle, with its source.");
        } else if !self.documented {
            page.hold_close(
                TIME_WITHIN.name,
                "`within` names no document: 5 s and 60 s come from different rules, so say which one holds, as in `5 s (published RULES)`",
            );
        }
        if let (Some(down_to), Some(low)) = (page.get(self.down_to), page.get(self.low_voltage))
            && down_to > low * (1.0 + 1e-9)
        {
            let reason = words!(
                "{} is still high voltage, which begins above {}",
                page.value(self.down_to),
                page.value(self.low_voltage)
            );
            page.hold_close(TIME_WITHIN.name, reason);
        }
        self.working.hold(page, [TIME_WITHIN.name, Y_ENERGY_LOW.name]);
        self.capacitance.hold(page, [TIME_WITHIN.name]);
        page.note("A time proves nothing: measure before touching anything, also when the light says that it is safe.");
        self.draw(page);
    }
}

impl Discharge {
    fn nothing_to_do(&self, page: &mut Page<'_>) {
        let (Some(voltage), Some(down_to)) = (page.get(self.working.slot), page.get(self.down_to)) else {
            return;
        };
        if voltage > down_to {
            return;
        }
        let message = words!(
            "{} is not above {}: there is nothing to discharge",
            page.value(self.working.slot),
            page.value(self.down_to)
        );
        let help = "give a lower `down_to`, or take this block away";
        page.find(&codes::OUT_OF_RANGE, self.working.slot.index(), message, help);
    }

    /// The voltage until somewhat after it has come down.
    fn draw(&self, page: &mut Page<'_>) {
        const POINTS: u32 = 60;
        let (Some(voltage), Some(time)) = (page.get(self.working.slot), page.get(self.time)) else { return };
        let (Some(down_to), Some(capacitance)) = (page.get(self.down_to), page.get(self.capacitance.slot))
        else {
            return;
        };
        let at = |passed: Time| -> Option<ElectricPotential> {
            Some(match self.way? {
                Way::Resistor(slot) => voltage * (-passed / (page.get(slot)? * capacitance)).value.exp(),
                Way::Active(slot) => {
                    let square = voltage.si().powi(2) - (2.0 * page.get(slot)? * passed / capacitance).value;
                    ElectricPotential::from_si(square.max(0.0).sqrt())
                }
            })
        };
        let (factor, unit) = if time.si() < 1.0 { (1e3, "ms") } else { (1.0, "s") };
        let points = (0..=POINTS)
            .filter_map(|step| {
                let passed = time * 1.2 * f64::from(step) / f64::from(POINTS);
                Some((passed.si() * factor, at(passed)?.si()))
            })
            .collect();
        let label = "voltage".to_owned();
        page.said.chart = Some(Chart::Lines(LinesChart {
            caption: "Voltage of the capacitors after switching off".to_owned(),
            x: Axis { label: "time".to_owned(), unit: unit.to_owned() },
            y: Axis { label: label.clone(), unit: "V".to_owned() },
            series: vec![Series { label, points, dashed: false }],
            limits: vec![("discharged".to_owned(), down_to.si())],
            stacked: false,
        }));
    }
}

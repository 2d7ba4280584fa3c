//! Capacitors that are discharged when the vehicle is switched off, by a resistor or by an active circuit.

use crate::blocks::shared::high_voltage::caution_dc;
use crate::blocks::shared::working_voltage;
use crate::findings::codes;
use crate::model::{
    Axis, Bench, Block, Chart, Example, FieldDoc, Form, Kind, Limit, LinesChart, Page, Range,
    RequirementKind, ResultDoc, Series, Slot, Status, Takes,
};
use crate::quantities::si::{
    Capacitance, ElectricPotential, ElectricalResistance, Energy, Measure, Power, Ratio, Time,
};
use crate::quantities::sort;

pub(super) static KIND: Kind = Kind {
    name: "discharge",
    summary: "how long the capacitors stay dangerous after switching off, and what resistor would be fast enough",
    subsystem: "high voltage",
    fields: &[
        working_voltage::PACK,
        working_voltage::VOLTAGE,
        FieldDoc::new("capacitance", Takes::Quantity(&sort::CAPACITANCE), "of all that hangs on the bus")
            .range(Range::Positive),
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
        .either()
        .range(Range::Positive),
        FieldDoc::new("down_to", Takes::Quantity(&sort::VOLTAGE), "the voltage that counts as discharged")
            .assumed("60 V")
            .range(Range::Positive),
        FieldDoc::new(
            "within",
            Takes::Quantity(&sort::TIME),
            "the time that it may take, with the document that asks for it: `5 s (published RULES)`; there is no single rule",
        )
        .optional()
        .range(Range::Positive),
        FieldDoc::new(
            "y_capacitance",
            Takes::Quantity(&sort::CAPACITANCE),
            "of both poles to the chassis together, which no contactor parts from what is behind it",
        )
        .optional()
        .range(Range::Positive),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "time", about: "from the full voltage down to the wanted one" },
        ResultDoc { name: "largest_resistance", about: "a resistor that would still be fast enough; with `within`" },
        ResultDoc { name: "standing_loss", about: "in a resistor that stays connected, at the full voltage" },
        ResultDoc { name: "stored_energy", about: "in the capacitors, at the full voltage" },
        ResultDoc { name: "residual_energy", about: "that is left in the capacitors at the wanted voltage" },
        ResultDoc { name: "y_energy", about: "in the capacitors to the chassis, at the full voltage" },
    ],
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
        "60 V DC: FMVSS 305 S3 (read); the time that is allowed differs between documents: 5 s in Formula SAE 2024 EV.8.4.2 (read), 60 s elsewhere (from memory)",
        "energy of the capacitors to the chassis after a crash under 0.2 J: ISO 6469-4:2015, 5.2.3 (read; that it is worked as C V²/2 is our own reading)",
    ],
    inspector: &["voltage", "down_to", "time", "within", "residual_energy"],
    limits: &[
        "a resistor that has burnt open, or an active discharge that does not start, is not calculated: measure, and wait for no clock",
    ],
    codes: &[],
    read,
};

struct Discharge {
    voltage: Slot<ElectricPotential>,
    capacitance: Slot<Capacitance>,
    way: Way,
    down_to: Slot<ElectricPotential>,
    within: Option<Slot<Time>>,
    y: Option<(Slot<Capacitance>, Slot<Energy>)>,
    time: Slot<Time>,
    largest_resistance: Option<Slot<ElectricalResistance>>,
    standing_loss: Option<Slot<Power>>,
    stored_energy: Slot<Energy>,
    residual_energy: Slot<Energy>,
}

#[derive(Clone, Copy)]
enum Way {
    Resistor(Slot<ElectricalResistance>),
    Active(Slot<Power>),
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let voltage = working_voltage::read(form);
    let v = form.name_of(voltage);
    let capacitance = form.required("capacitance");
    let way = read_way(form);
    let down_to = form.assumed("down_to");
    let within = form.optional("within");
    let y_capacitance = form.optional("y_capacitance");

    let ratio = format!("{v} / down_to");
    let time = match way {
        Way::Resistor(_) => form.step("time", "s", &format!("resistance * capacitance * ln({ratio})")),
        Way::Active(_) => form.step("time", "s", &format!("capacitance * ({v}^2 - down_to^2) / (2 * power)")),
    };
    let largest_resistance = within
        .map(|_| form.step("largest_resistance", "kΩ", &format!("within / (capacitance * ln({ratio}))")));
    let standing_loss = match way {
        Way::Resistor(_) => Some(form.step("standing_loss", "W", &format!("{v}^2 / resistance"))),
        Way::Active(_) => None,
    };
    let stored_energy = form.step("stored_energy", "J", &format!("capacitance * {v}^2 / 2"));
    let residual_energy = form.step("residual_energy", "J", "capacitance * down_to^2 / 2");
    let y = y_capacitance
        .map(|capacitance| (capacitance, form.step("y_energy", "J", &format!("y_capacitance * {v}^2 / 2"))));
    require(form, within, y.is_some());
    Box::new(Discharge {
        voltage,
        capacitance,
        way,
        down_to,
        within,
        y,
        time,
        largest_resistance,
        standing_loss,
        stored_energy,
        residual_energy,
    })
}

fn read_way(form: &mut Form<'_, '_>) -> Way {
    match (form.has("resistance"), form.has("power")) {
        (true, true) => {
            let message = "both `resistance` and `power`";
            form.report(&codes::BAD_VALUE, form.place(), message, "keep one of them");
            form.optional::<Power>("power");
            Way::Resistor(form.required("resistance"))
        }
        (false, true) => Way::Active(form.required("power")),
        (_, false) => Way::Resistor(form.required("resistance")),
    }
}

fn require(form: &mut Form<'_, '_>, within: Option<Slot<Time>>, y: bool) {
    let limit = |name| Limit {
        name,
        kind: RequirementKind::Safety,
        actual: name,
        low: None,
        high: None,
        source: "",
        status: Status::Stated,
        span: None,
    };
    if let Some(within) = within {
        let source = form.leaf_of(within).and_then(|leaf| leaf.source.as_ref());
        let source = source.map_or("the journal".to_owned(), |(id, _)| id.clone());
        form.require(Limit { high: Some("within"), source: &source, ..limit("time") });
    }
    if y {
        let most = form.limit::<Energy>("y_energy_limit", "post_crash_energy");
        let (source, status) = form.grounds(most);
        form.require_strictly(Limit {
            high: Some("y_energy_limit"),
            source: &source,
            status,
            ..limit("y_energy")
        });
    }
}

impl Block for Discharge {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let (voltage, down_to) = (bench.get(self.voltage), bench.get(self.down_to));
        let capacitance = bench.get(self.capacitance);
        let fall: Ratio = (voltage / down_to).ln();
        let time: Time = match self.way {
            Way::Resistor(slot) => bench.get(slot) * capacitance * fall,
            Way::Active(slot) => {
                capacitance * (voltage * voltage - down_to * down_to) / (2.0 * bench.get(slot))
            }
        };
        // Nothing to discharge: `present` says so.
        bench.set(self.time, if time.si() > 0.0 { time } else { Time::from_si(f64::NAN) });
        if let (Some(within), Some(largest)) = (self.within, self.largest_resistance) {
            let largest_here = bench.get(within) / (capacitance * fall);
            let sound = largest_here.si() > 0.0;
            bench.set(largest, if sound { largest_here } else { ElectricalResistance::from_si(f64::NAN) });
        }
        if let (Some(loss), Way::Resistor(slot)) = (self.standing_loss, self.way) {
            bench.set(loss, voltage * voltage / bench.get(slot));
        }
        bench.set(self.stored_energy, capacitance * voltage * voltage / 2.0);
        bench.set(self.residual_energy, capacitance * down_to * down_to / 2.0);
        if let Some((capacitance, energy)) = self.y {
            bench.set(energy, bench.get(capacitance) * voltage * voltage / 2.0);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        page.sentence(
            format!("{} to fall to {}", page.shown(self.time), page.shown(self.down_to)),
            format!(
                " from {}; {} are then left in the capacitors.",
                page.shown(self.voltage),
                page.shown(self.residual_energy)
            ),
        );
        page.headline(self.time);
        page.headline(self.residual_energy);
        caution_dc(page, self.voltage);
        self.nothing_to_do(page);
        match self.within {
            None => page.note("The time was not judged: documents differ, so give the `within` of the one that holds for this vehicle, with its source."),
            Some(within) if page.nodes[within.index()].leaf().is_some_and(|leaf| leaf.source.is_none()) => {
                page.note("`within` names no document: 5 s and 60 s come from different rules, so say which one holds, as in `5 s (published RULES)`.");
            }
            Some(_) => {}
        }
        page.note("A time proves nothing: measure before touching anything, also when the light says that it is safe.");
        self.draw(page);
    }
}

impl Discharge {
    fn nothing_to_do(&self, page: &mut Page<'_>) {
        let (Some(voltage), Some(down_to)) = (page.get(self.voltage), page.get(self.down_to)) else { return };
        if voltage > down_to {
            return;
        }
        let message = format!(
            "{} is not above {}: there is nothing to discharge",
            page.shown(self.voltage),
            page.shown(self.down_to)
        );
        let help = "give a lower `down_to`, or take this block away";
        page.find(&codes::OUT_OF_RANGE, self.voltage.index(), message, help);
    }

    /// The voltage until somewhat after it has come down.
    fn draw(&self, page: &mut Page<'_>) {
        const POINTS: u32 = 60;
        let (Some(voltage), Some(time)) = (page.get(self.voltage), page.get(self.time)) else { return };
        let (Some(down_to), Some(capacitance)) = (page.get(self.down_to), page.get(self.capacitance)) else {
            return;
        };
        let at = |passed: Time| -> Option<ElectricPotential> {
            Some(match self.way {
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

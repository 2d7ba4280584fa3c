//! A capacitor charged through a resistor before the main contactor closes.

mod load;

use self::load::Load;
use crate::blocks::shared::high_voltage::caution_dc;
use crate::blocks::shared::working_voltage;
use crate::findings::{Code, Severity};
use crate::model::{
    Axis, Bench, Block, Chart, Example, FieldDoc, Form, Kind, Limit, LinesChart, Page, Range,
    RequirementKind, ResultDoc, Series, Slot, Status, Takes,
};
use crate::quantities::si::{
    Capacitance, ElectricCurrent, ElectricPotential, ElectricalResistance, Energy, Measure, Power, Ratio,
    Time, ratio,
};
use crate::quantities::sort;

static TARGET_NOT_REACHED: Code = Code {
    name: "target-not-reached",
    severity: Severity::Error,
    about: "a precharge whose voltage never comes to its target",
};

pub(super) static KIND: Kind = Kind {
    name: "precharge",
    summary: "how long the capacitors take to charge through the precharge resistor, and what that asks of it",
    subsystem: "high voltage",
    fields: &[
        working_voltage::PACK,
        working_voltage::VOLTAGE,
        FieldDoc::new("capacitance", Takes::Quantity(&sort::CAPACITANCE), "of all that hangs on the bus")
            .range(Range::Positive),
        FieldDoc::new("resistance", Takes::Quantity(&sort::RESISTANCE), "of the precharge resistor")
            .range(Range::Positive),
        FieldDoc::new(
            "target_share",
            Takes::Quantity(&sort::RATIO),
            "of the voltage, at which the main contactor may close",
        )
        .assumed("95 %")
        .range(Range::Share),
        FieldDoc::new("time_limit", Takes::Quantity(&sort::TIME), "after which the controller gives up")
            .optional()
            .range(Range::Positive),
        FieldDoc::new(
            "pulse_energy_rating",
            Takes::Quantity(&sort::ENERGY),
            "what the resistor bears in one pulse, by its sheet",
        )
        .optional()
        .range(Range::Positive),
        FieldDoc::new(
            "attempts",
            Takes::Count,
            "precharges one after the other, without time to cool; the rating is shared among them",
        )
        .optional()
        .range(Range::AtLeastOne),
        FieldDoc::new(
            "load",
            Takes::Special,
            "what draws behind the resistor meanwhile: a power (`12 W`) or a resistance (`40 kohm`); for a value from elsewhere `{power: from …}` or `{resistance: from …}`",
        )
        .optional()
        .range(Range::NotNegative),
        FieldDoc::new("load.power", Takes::Quantity(&sort::POWER), "drawn at any voltage above `load_from`")
            .optional()
            .range(Range::NotNegative),
        FieldDoc::new("load.resistance", Takes::Quantity(&sort::INSULATION), "across the capacitors")
            .optional()
            .range(Range::Positive),
        FieldDoc::new(
            "load_from",
            Takes::Quantity(&sort::RATIO),
            "the share of the voltage at which a load given as a power starts to draw; below it, it is off",
        )
        .assumed("50 %")
        .range(Range::Share),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "settles_at", about: "the voltage that the load lets it come to; with a load only" },
        ResultDoc { name: "time_constant", about: "resistance × capacitance; a load's resistance stands in parallel" },
        ResultDoc { name: "target_voltage", about: "target share × voltage; with a load only" },
        ResultDoc { name: "load_starts_at", about: "where a load given as a power starts to draw" },
        ResultDoc { name: "load_stalls_below", about: "under this a load given as a power draws more than the resistor brings" },
        ResultDoc { name: "time_until_load", about: "until a load given as a power starts to draw" },
        ResultDoc { name: "time_to_target", about: "from empty capacitors to the target" },
        ResultDoc { name: "remaining_gap", about: "the voltage across the main contactor when it closes at the target" },
        ResultDoc { name: "peak_current", about: "at the first moment" },
        ResultDoc { name: "peak_power", about: "in the resistor, at the first moment" },
        ResultDoc { name: "load_charge", about: "that the load draws until the target is reached; with a load only" },
        ResultDoc { name: "load_energy", about: "that the load takes until the target is reached; with a load only" },
        ResultDoc {
            name: "resistor_energy",
            about: "in the resistor, to full voltage; with a load its current until the target is counted too",
        },
        ResultDoc { name: "power_into_short", about: "in the resistor while the bus behind it is shorted, without end" },
    ],
    example: Example {
        journal: "\
```yaml precharge precharge
voltage: 400 V
capacitance: 1 mF
resistance: 50 Ω
target_share: 90 %
time_limit: 1 s
pulse_energy_rating: 200 J
attempts: 2
```
",
        expected: &[
            ("precharge.time_constant", "50 ms"),
            ("precharge.time_to_target", "115.129254649702 ms"),
            ("precharge.peak_current", "8 A"),
            ("precharge.peak_power", "3.2 kW"),
            ("precharge.resistor_energy", "80 J"),
        ],
    },
    sources: &[
        "charging of a capacitor through a resistor: v = V (1 − e^(−t/RC)); the resistor takes as much energy as the capacitor, C V²/2, whatever its resistance; closed forms",
        "behind a load of constant power the rise is integrated in closed form from the voltage at which the load starts",
    ],
    inspector: &["voltage", "capacitance", "resistance", "time_to_target", "resistor_energy", "time_limit"],
    limits: &[
        "the pack's own resistance, the cables' inductance and the main contactor's making current are not calculated",
        "how the resistor cools between precharges is not calculated",
    ],
    codes: &[&TARGET_NOT_REACHED],
    read,
};

struct Precharge {
    voltage: Slot<ElectricPotential>,
    capacitance: Slot<Capacitance>,
    resistance: Slot<ElectricalResistance>,
    target_share: Slot<Ratio>,
    rating: Option<Slot<Energy>>,
    time_limit: Option<Slot<Time>>,
    load: Load,
    time_constant: Slot<Time>,
    time_to_target: Slot<Time>,
    remaining_gap: Slot<ElectricPotential>,
    peak_current: Slot<ElectricCurrent>,
    peak_power: Slot<Power>,
    resistor_energy: Slot<Energy>,
    power_into_short: Slot<Power>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let voltage = working_voltage::read(form);
    let v = form.name_of(voltage);
    let capacitance = form.required("capacitance");
    let resistance = form.required("resistance");
    let target_share = form.assumed("target_share");
    let time_limit = form.optional("time_limit");
    let rating = form.optional("pulse_energy_rating");
    let attempts = form.count("attempts");
    let mut load = load::read(form);

    let time_constant = load.declare_rise(form, &v);
    let time_to_target = load.declare_time(form, &v);
    let remaining_gap = form.step("remaining_gap", "V", &format!("{v} * (1 - target_share)"));
    let peak_current = form.step("peak_current", "A", &format!("{v} / resistance"));
    let peak_power = form.step("peak_power", "kW", &format!("{v}^2 / resistance"));
    let resistor_energy = load.declare_energy(form, &v);
    let power_into_short = form.step("power_into_short", "kW", &format!("{v}^2 / resistance"));

    let limit = |name, high| Limit {
        name,
        kind: RequirementKind::Safety,
        actual: name,
        low: None,
        high: Some(high),
        source: "the controller's time limit",
        status: Status::Stated,
        span: None,
    };
    if time_limit.is_some() {
        form.require(limit("time_to_target", "time_limit"));
    }
    if rating.is_some() {
        let high = if attempts.is_some() { "pulse_energy_rating / attempts" } else { "pulse_energy_rating" };
        let source = "the resistor's pulse rating";
        form.require(Limit { source, ..limit("resistor_energy", high) });
    }
    Box::new(Precharge {
        voltage,
        capacitance,
        resistance,
        target_share,
        rating,
        time_limit,
        load,
        time_constant,
        time_to_target,
        remaining_gap,
        peak_current,
        peak_power,
        resistor_energy,
        power_into_short,
    })
}

impl Block for Precharge {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let (voltage, capacitance) = (bench.get(self.voltage), bench.get(self.capacitance));
        let resistance = bench.get(self.resistance);
        let share = bench.get(self.target_share);
        let peak = voltage * voltage / resistance;
        bench.set(self.remaining_gap, voltage * (ratio(1.0) - share));
        bench.set(self.peak_current, voltage / resistance);
        bench.set(self.peak_power, peak);
        bench.set(self.power_into_short, peak);

        let circuit = load::Circuit { voltage, capacitance, resistance };
        let rise = self.load.rise(&circuit, bench);
        bench.set(self.time_constant, rise.time_constant);
        bench.set(self.time_to_target, self.load.time_to_share(&rise, share));
        let stored: Energy = capacitance * voltage * voltage / 2.0;
        let extra = self.load.draw(&rise, voltage * share, bench);
        bench.set(self.resistor_energy, stored + extra);
    }

    fn present(&self, page: &mut Page<'_>) {
        let target = page.percent(page.get(self.target_share).map_or(f64::NAN, Measure::si));
        page.sentence(
            format!("{target} of {} in {}", page.shown(self.voltage), page.shown(self.time_to_target)),
            format!(
                ", with {} at first and {} in the resistor.",
                page.shown(self.peak_current),
                page.shown(self.resistor_energy)
            ),
        );
        page.headline(self.time_to_target);
        page.headline(self.resistor_energy);
        caution_dc(page, self.voltage);
        self.never(page);
        page.note(format!(
            "With a short behind the resistor {} goes into it until something opens: the controller has to stop a precharge whose voltage does not rise.",
            page.shown(self.power_into_short)
        ));
        if self.rating.is_none() {
            page.note("The resistor was not judged: give `pulse_energy_rating` from its sheet.");
        }
        if self.time_limit.is_none() {
            page.note("The time was not judged: give the controller's `time_limit`.");
        }
        self.draw(page);
    }
}

impl Precharge {
    fn circuit(&self, page: &Page<'_>) -> Option<load::Circuit> {
        Some(load::Circuit {
            voltage: page.get(self.voltage)?,
            capacitance: page.get(self.capacitance)?,
            resistance: page.get(self.resistance)?,
        })
    }

    /// A target that is never reached is told once, with what stands in its way.
    fn never(&self, page: &mut Page<'_>) {
        let (Some(circuit), Some(share)) = (self.circuit(page), page.get(self.target_share)) else { return };
        let Some(rise) = self.load.rise_shown(&circuit, page) else { return };
        if page.get(self.time_to_target).is_some() {
            return;
        }
        let target = page.shown_as(self.voltage, (circuit.voltage * share).si());
        let at = rise.held_at().map(|held| page.shown_as(self.voltage, held.si()));
        match (self.load.slot(), at) {
            (Some(load), Some(at)) => page.find(
                &TARGET_NOT_REACHED,
                load,
                format!("with this load the voltage stays at {at}, below its target of {target}"),
                "keep the load off until the main contactor has closed, or take a smaller resistor",
            ),
            (Some(load), None) => page.find(
                &TARGET_NOT_REACHED,
                load,
                format!(
                    "the load draws more than the resistor can bring: the voltage never comes to {target}"
                ),
                "keep the load off until the main contactor has closed, or take a smaller resistor",
            ),
            (None, _) => page.find(
                &TARGET_NOT_REACHED,
                self.target_share.index(),
                format!("a target of {target}, which a charging capacitor only comes near to"),
                "give a target under 100 %: `target_share: 95 %`",
            ),
        }
    }

    /// Voltage and current as shares of the most that they are, so that both stand on one axis.
    fn draw(&self, page: &mut Page<'_>) {
        let (Some(circuit), Some(share)) = (self.circuit(page), page.get(self.target_share)) else { return };
        let Some(rise) = self.load.rise_shown(&circuit, page) else { return };
        let Some(time) = page.get(self.time_to_target) else { return };
        let curve = rise.drawn(circuit.voltage * share);
        let (factor, unit) = if time.si() < 1.0 { (1e3, "ms") } else { (1.0, "s") };
        let points = |value: &dyn Fn(ElectricPotential) -> f64| {
            curve.iter().map(|(time, voltage)| (time.si() * factor, value(*voltage))).collect::<Vec<_>>()
        };
        let of_full = |voltage: ElectricPotential| 100.0 * (voltage / circuit.voltage).value;
        let series = vec![
            Series {
                label: format!("voltage, of {}", page.shown(self.voltage)),
                points: points(&of_full),
                dashed: false,
            },
            Series {
                label: format!("current, of {}", page.shown(self.peak_current)),
                points: points(&|voltage| 100.0 - of_full(voltage)),
                dashed: true,
            },
        ];
        page.said.chart = Some(Chart::Lines(LinesChart {
            caption: "Voltage of the capacitors and current in the resistor while they charge".to_owned(),
            x: Axis { label: "time".to_owned(), unit: unit.to_owned() },
            y: Axis { label: "share of its largest value".to_owned(), unit: "%".to_owned() },
            series,
            limits: vec![("target".to_owned(), 100.0 * share.value)],
            stacked: false,
        }));
    }
}

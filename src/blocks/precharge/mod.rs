//! A capacitor charged through a resistor before the main contactor closes.

mod load;
mod readings;
mod rows;

use self::load::Load;
use self::readings::Reading;
use crate::blocks::shared::bus_capacitance::{self, BusCapacitance};
use crate::blocks::shared::high_voltage::caution_dc;
use crate::blocks::shared::working_voltage::{self, NOT_UNDER_PACK, WorkingVoltage};
use crate::findings::{Code, Severity};
use crate::model::{
    Axis, Bench, Block, Chart, Entry, Example, FieldDoc, FieldSort, Form, Kind, LinesChart, Page, Range,
    RequirementRow, Series, Slot, Stage, Takes,
};
use crate::quantities::si::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Energy, Measure, Power, Ratio, Time, ratio,
};
use crate::quantities::sort;
use crate::words::words;

static TARGET_NOT_REACHED: Code = Code {
    name: "target-not-reached",
    severity: Severity::Warning,
    about: "a precharge whose voltage never comes to its target",
};

static TARGET_LOW: Code = Code {
    name: "target-low",
    severity: Severity::Warning,
    about: "a precharge that ends so early that the main contactor closes on much of the voltage",
};

pub(crate) static KIND: Kind = Kind {
    name: "precharge",
    summary: "how long the capacitors take to charge through the precharge resistor, and what that asks of it",
    subsystem: "high voltage",
    fields: &[
        working_voltage::PACK,
        working_voltage::VOLTAGE,
        bus_capacitance::INVERTER,
        bus_capacitance::CAPACITANCE.principal(),
        FieldDoc::new("resistance", Takes::Quantity(&sort::RESISTANCE), "of the precharge resistor")
            .range(Range::Positive)
            .principal(),
        FieldDoc::new(
            "target_share",
            Takes::Quantity(&sort::RATIO),
            "of the voltage, at which the main contactor may close",
        )
        .assumed("95 %")
        .range(Range::Share)
        .sort(FieldSort::Choice),
        FieldDoc::new("time_limit", Takes::Quantity(&sort::TIME), "after which the controller gives up")
            .optional()
            .range(Range::Positive)
            .sort(FieldSort::Setting)
            .due(Stage::Build)
            .principal(),
        FieldDoc::new(
            "no_rise_limit",
            Takes::Quantity(&sort::TIME),
            "after which the controller stops a precharge whose voltage does not rise; left out, it is `time_limit`",
        ).label("time limit without a rise")
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Setting)
        .due(Stage::Build),
        FieldDoc::accuracy("accuracy"),
        FieldDoc::new(
            "pulse_energy_rating",
            Takes::Quantity(&sort::ENERGY),
            "what the resistor bears in one pulse, by its sheet",
        )
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Stated),
        FieldDoc::new(
            "attempts",
            Takes::Count,
            "precharges one after the other, without time to cool; the rating is shared among them, and without it `open`",
        )
        .optional()
        .range(Range::AtLeastOne)
        .sort(FieldSort::Choice),
        FieldDoc::new(
            "load",
            Takes::Special,
            "what draws behind the resistor meanwhile: a power (`12 W`) or a resistance (`40 kohm`); for a value from elsewhere `{power: from …}` or `{resistance: from …}`",
        )
        .optional()
        .range(Range::NotNegative),
        FieldDoc::new("load.power", Takes::Quantity(&sort::POWER), "drawn at any voltage above `load_from`").label("power of the load")
            .optional()
            .range(Range::NotNegative),
        FieldDoc::new("load.resistance", Takes::Quantity(&sort::INSULATION), "across the capacitors").label("resistance of the load")
            .optional()
            .range(Range::Positive),
        FieldDoc::new(
            "load_from",
            Takes::Quantity(&sort::RATIO),
            "the share of the voltage at which a load given as a power starts to draw; below it, it is off",
        ).label("share of the voltage from which the load draws")
        .assumed("50 %")
        .range(Range::Share),
        readings::LIST, readings::NAME, readings::OF_RECORD, readings::TIME, readings::VOLTAGE, readings::PACK_VOLTAGE,
    ],
    rows: rows::ALL,
    takes: &[&bus_capacitance::OF_INVERTER.row, &bus_capacitance::OF_PART.row, &working_voltage::FULL_VOLTAGE.row, &working_voltage::PACK_VOLTAGE.row, &rows::LEAST_SHARE.row],
    requires: rows::REQUIRES,
    example: Example {
        journal: "\
```yaml precharge precharge
voltage: 400 V
capacitance: 1 mF
resistance: 50 Ω
target_share: 90 %
time_limit: 0.3 s
pulse_energy_rating: 2 kJ
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
    limits: &[
        "the pack's own resistance, the cables' inductance and the main contactor's making current are not calculated",
        "how the resistor cools between precharges is not calculated",
    ],
    codes: &[&TARGET_NOT_REACHED, &TARGET_LOW],
    read,
};

struct Precharge {
    working: WorkingVoltage,
    capacitance: BusCapacitance,
    resistance: Slot<ElectricalResistance>,
    target_share: Slot<Ratio>,
    rating: Option<Slot<Energy>>,
    time_limit: Option<Slot<Time>>,
    no_rise_limit: Option<Slot<Time>>,
    attempts_given: bool,
    least_share: Slot<Ratio>,
    load: Load,
    rise: load::Results,
    remaining_gap: Slot<ElectricPotential>,
    peak_current: Slot<ElectricCurrent>,
    peak_power: Slot<Power>,
    largest_resistance: Slot<ElectricalResistance>,
    largest_load: Option<Slot<Power>>,
    power_into_short: Slot<Power>,
    energy_into_short: Slot<Energy>,
    readings: Vec<Entry<Reading>>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let working = WorkingVoltage::read(form, "voltage", &working_voltage::FULL_VOLTAGE);
    let capacitance = BusCapacitance::read(form);
    let resistance = form.required("resistance");
    let target_share = form.assumed("target_share");
    let time_limit = form.optional("time_limit");
    let no_rise_limit = form.optional("no_rise_limit");
    let rating = form.optional("pulse_energy_rating");
    let attempts = form.optional::<f64>("attempts");
    let load = load::read(form);
    let rise = load::Results::declare(form, load);
    let least_share = form.limit("least_share", "precharge_share");
    let mut out = form.outcomes();
    let mut precharge = Precharge {
        working,
        capacitance,
        resistance,
        target_share,
        rating,
        time_limit,
        no_rise_limit,
        attempts_given: attempts.is_some(),
        load,
        rise,
        remaining_gap: out.result(&rows::REMAINING_GAP),
        peak_current: out.result(&rows::PEAK_CURRENT),
        peak_power: out.result(&rows::PEAK_POWER),
        largest_resistance: out.result(&rows::LARGEST_RESISTANCE),
        largest_load: matches!(load, Load::Power { .. }).then(|| out.result(&rows::LARGEST_LOAD)),
        power_into_short: out.result(&rows::POWER_INTO_SHORT),
        energy_into_short: match no_rise_limit {
            Some(_) => out.result(&rows::ENERGY_UNTIL_NO_RISE),
            None => out.result(&rows::ENERGY_INTO_SHORT),
        },
        least_share,
        readings: Vec::new(),
    };
    let judged: [&RequirementRow; 5] = match attempts {
        Some(_) => [&NOT_UNDER_PACK, &rows::REACHED, &rows::TIME, &rows::ENERGY_SHARED, &rows::SHORT_SHARED],
        None => [&NOT_UNDER_PACK, &rows::REACHED, &rows::TIME, &rows::ENERGY, &rows::SHORT],
    };
    judged.into_iter().for_each(|row| out.require(row));
    precharge.readings = readings::read(form);
    Box::new(precharge)
}

impl Block for Precharge {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let (voltage, capacitance) = (bench.get(self.working.slot), bench.get(self.capacitance.slot));
        let resistance = bench.get(self.resistance);
        let share = bench.get(self.target_share);
        let peak = voltage * voltage / resistance;
        bench.set(self.remaining_gap, voltage * (ratio(1.0) - share));
        bench.set(self.peak_current, voltage / resistance);
        bench.set(self.peak_power, peak);
        bench.set(self.power_into_short, peak);
        if let Some(largest) = self.largest_load {
            bench.set(largest, peak / 4.0);
        }
        if let Some(limit) = self.time_limit {
            let largest = -bench.get(limit) / (capacitance * (ratio(1.0) - share).ln());
            match share < ratio(1.0) {
                true => bench.set(self.largest_resistance, largest),
                false => bench.not_there(self.largest_resistance),
            }
        }
        if let Some(limit) = self.no_rise_limit.or(self.time_limit) {
            bench.set(self.energy_into_short, peak * bench.get(limit));
        }
        let circuit = load::Circuit { voltage, capacitance, resistance };
        self.rise.set(self.load, &circuit, share, bench);
        readings::evaluate(&self.readings, bench);
    }

    fn present(&self, page: &mut Page<'_>) {
        let target = page.percent(page.get(self.target_share).map_or(f64::NAN, Measure::si));
        let voltage = page.value(self.working.slot);
        match page.get(self.rise.time_to_target) {
            Some(_) => page.sentence(
                words!("{} of {} in {}", target, voltage, page.value(self.rise.time_to_target)),
                words!(
                    ", with {} at first and {} in the resistor.",
                    page.value(self.peak_current),
                    page.value(self.rise.resistor_energy)
                ),
            ),
            None => page.sentence(
                words!("{} of {} is never reached", target, voltage),
                words!(", with {} at first.", page.value(self.peak_current)),
            ),
        }
        caution_dc(page, self.working.slot);
        self.never(page);
        self.low_share(page);
        let judged = ["target_voltage", "time_to_target", "resistor_energy", "energy_into_short"];
        self.working.hold(page, judged);
        self.capacitance.hold(page, ["time_to_target", "resistor_energy"]);
        self.attempts(page);
        readings::present(&self.readings, self.target_share, page);
        page.note(words!(
            "With a short behind the resistor {} goes into it until something opens: the controller has to stop a precharge whose voltage does not rise.",
            page.value(self.power_into_short)
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
    /// What is left to the main contactor is then too much for it.
    fn low_share(&self, page: &mut Page<'_>) {
        let (Some(share), Some(least)) = (page.get(self.target_share), page.get(self.least_share)) else {
            return;
        };
        if share >= least * (1.0 - 1e-9) {
            return;
        }
        let reason = words!(
            "at {} of the voltage the main contactor still closes on {}",
            page.value(self.target_share),
            page.value(self.remaining_gap)
        );
        page.hold_open(rows::TIME.name, Stage::Plan, reason.clone());
        page.find(
            &TARGET_LOW,
            self.target_share.index(),
            reason,
            "precharge to at least 90 %: `target_share: 95 %`",
        );
    }

    /// What the resistor bears once it may not bear again at once; what it does not bear once it never does.
    fn attempts(&self, page: &mut Page<'_>) {
        let Some(rating) = self.rating.filter(|_| !self.attempts_given).and_then(|slot| page.get(slot))
        else {
            return;
        };
        let energies =
            [("resistor_energy", self.rise.resistor_energy), ("energy_into_short", self.energy_into_short)];
        for (name, energy) in energies {
            if page.get(energy).is_some_and(|energy| energy <= rating) {
                let reason = "`attempts` is not given; the resistor bears one";
                page.hold_open(name, Stage::Plan, reason);
            }
        }
    }

    /// A target that is never reached is told once, with what stands in its way.
    fn never(&self, page: &mut Page<'_>) {
        let (Some(voltage), Some(target)) = (page.get(self.working.slot), page.get(self.rise.target)) else {
            return;
        };
        let unknown = |slot: usize| !page.known[slot];
        if page.get(self.rise.time_to_target).is_some()
            || unknown(self.rise.time_constant.index())
            || matches!(self.load, Load::Unreadable)
            || self.load.slot().is_some_and(unknown)
        {
            return;
        }
        let target = page.value_as(self.working.slot, target.si());
        let held = self.rise.rise(self.load, voltage, page).and_then(|rise| rise.held_at()).map(Measure::si);
        let off = "keep the load off until the main contactor has closed, or take a smaller resistor";
        let (at, reason, help) = match (self.load.slot(), held) {
            (Some(load), Some(held)) => {
                let held = page.value_as(self.working.slot, held);
                let reason =
                    words!("with this load the voltage stays at {}, below its target of {}", held, target);
                (load, reason, off)
            }
            (Some(load), None) => {
                let reason = words!(
                    "the load draws more than the resistor can bring: the voltage never comes to {}",
                    target
                );
                (load, reason, off)
            }
            (None, _) => {
                let reason = words!("a target of {}, which a charging capacitor only comes near to", target);
                (self.target_share.index(), reason, "give a target under 100 %: `target_share: 95 %`")
            }
        };
        self.rise.out_of_reach(page, &reason);
        page.not_there(self.largest_resistance, &reason);
        page.find(&TARGET_NOT_REACHED, at, reason, help);
    }

    /// Voltage and current as shares of the most that they are, so that both stand on one axis.
    fn draw(&self, page: &mut Page<'_>) {
        let (Some(voltage), Some(share)) = (page.get(self.working.slot), page.get(self.target_share)) else {
            return;
        };
        let Some(rise) = self.rise.rise(self.load, voltage, page) else { return };
        let Some(time) = page.get(self.rise.time_to_target) else { return };
        let curve = rise.drawn(voltage * share);
        let (factor, unit) = if time.si() < 1.0 { (1e3, "ms") } else { (1.0, "s") };
        let points = |value: &dyn Fn(ElectricPotential) -> f64| {
            curve.iter().map(|(time, voltage)| (time.si() * factor, value(*voltage))).collect::<Vec<_>>()
        };
        let of_full = |at: ElectricPotential| 100.0 * (at / voltage).value;
        let series = vec![
            Series {
                label: words!("voltage, of {}", page.value(self.working.slot)).bare(),
                points: points(&of_full),
                dashed: false,
            },
            Series {
                label: words!("current, of {}", page.value(self.peak_current)).bare(),
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

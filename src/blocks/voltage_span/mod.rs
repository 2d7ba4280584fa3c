//! Whether every part on the high-voltage bus bears everything between the empty and the full pack.

mod back_emf;

use self::back_emf::BackEmf;
use crate::blocks::shared::high_voltage::{caution_dc, is_high_ac};
use crate::blocks::shared::known_parts::{KnownPart, known_as};
use crate::blocks::shared::switchgear;
use crate::findings::{Code, Severity};
use crate::model::{
    Bench, Block, Caution, Entry, Example, Family, FieldDoc, FieldSort, Form, Kind, Looked, Page, Purpose,
    Range, RequirementRow, Row, Slot, Stage, Taken, Takes,
};
use crate::quantities::si::{BackEmfConstant, ElectricPotential, Measure};
use crate::quantities::sort;
use crate::words::{Words, words};

pub(super) static KIND: Kind = Kind {
    name: "voltage-span",
    summary: "whether every part bears all voltages from the empty to the full pack, and what the motor makes by itself",
    subsystem: "high voltage",
    fields: &[
        FieldDoc::new("pack", Takes::BlockName, "the battery pack"),
        FieldDoc::new(
            "parts",
            Takes::List,
            "names of the parts on the bus, each with `voltage_low` and `voltage_high`",
        )
        .with_items("name the parts on the bus: `parts: [inverter, charger]`")
        .or_names(),
        FieldDoc::new("parts.part", Takes::BlockName, "a part on the bus"),
        FieldDoc::new(
            "charge_end_voltage",
            Takes::Quantity(&sort::VOLTAGE),
            "that the charger ends at; a listed charger's own `charge_end_voltage` counts too",
        )
        .optional()
        .sort(FieldSort::Setting)
        .due(Stage::Build)
        .label("voltage that the charger ends at")
        .range(Range::Positive),
        FieldDoc::accuracy("accuracy"),
        FieldDoc::new("back_emf", Takes::Group, "of a motor with permanent magnets").optional(),
        FieldDoc::new(
            "back_emf.constant",
            Takes::Quantity(&sort::VOLTAGE_PER_SPEED),
            "voltage for each of motor speed, of what `back_emf.constant_of` says",
        )
        .label("the motor's voltage for its speed")
        .range(Range::Positive),
        FieldDoc::new(
            "back_emf.constant_of",
            Takes::Text,
            "what the constant is of: `line-peak`, `line-rms` (between two phases), `phase-peak` or `phase-rms` (of one, against the star point). Left out it is read as `line-peak`, and a verdict is no better than `close` unless it would be met as `phase-rms` too",
        )
        .optional()
        .label("what the motor's voltage for its speed is of"),
        FieldDoc::new("back_emf.speed", Takes::Quantity(&sort::ANGULAR_SPEED), "the motor's highest speed")
            .sort(FieldSort::Condition)
            .label("the motor's highest speed")
            .range(Range::Positive),
        FieldDoc::new(
            "back_emf.motor_speed_towed",
            Takes::Quantity(&sort::ANGULAR_SPEED),
            "of the motor when the vehicle is towed on its driven wheels; 0 if it stands still then",
        )
        .sort(FieldSort::Condition)
        .label("the motor's speed when towed")
        .range(Range::NotNegative),
        FieldDoc::new(
            "back_emf.motor",
            Takes::BlockName,
            "the motor that the constant is held against: a part with `torque_curve`, or `peak_torque` and `peak_power`, and `max_speed`, and where it is known `torque_constant`, for each rms ampere of a phase; left out, the journal's only motor",
        )
        .optional(),
    ],
    rows: &[
        &HIGHEST_VOLTAGE.row,
        &HIGHEST_WITH_CHARGER.row,
        &LEAST_BORNE.row,
        &back_emf::OF_LINE_PEAK.row,
        &back_emf::OF_LINE_RMS.row,
        &back_emf::OF_PHASE_PEAK.row,
        &back_emf::OF_PHASE_RMS.row,
        &BACK_EMF_AT_LIMIT.row,
        &BACK_EMF_TOWED.row,
    ],
    takes: &[
        &FULL_VOLTAGE.row,
        &EMPTY_VOLTAGE.row,
        &NOMINAL_VOLTAGE.row,
        &VOLTAGE_LOW.row,
        &VOLTAGE_HIGH.row,
        &CHARGE_END_VOLTAGE.row,
        &switchgear::VOLTAGE_RATING.row,
        &back_emf::TORQUE_CURVE.row,
        &back_emf::PEAK_TORQUE.row,
        &back_emf::PEAK_POWER.row,
        &back_emf::MAX_SPEED.row,
        &back_emf::CURVE_VOLTAGE.row,
        &back_emf::TORQUE_CONSTANT.row,
    ],
    requires: &[
        &BORNE,
        &WORKS_AT_EMPTY,
        &SWITCHED,
        &CHARGER_ENDS,
        &PART_ENDS,
        &BACK_EMF_BORNE,
        &BACK_EMF_BORNE_TOWED,
    ],
    example: Example {
        journal: "\
```yaml part cell
role: cell
nominal_voltage: 3.65 V
full_voltage: 4.2 V
empty_voltage: 2.8 V
capacity: 60 Ah
resistance: 0.8 mΩ
mass: 0.9 kg
continuous_discharge: 120 A
peak_discharge: 300 A
```

```yaml pack-layout pack
cell: cell
series: 96
parallel: 1
housing_share: 25 %
```

```yaml part inverter
role: inverter
voltage_low: 240 V (datasheet)
voltage_high: 430 V (datasheet)
```

```yaml part motor
role: motor
peak_torque: 160 N m (datasheet)
peak_power: 70 kW (datasheet)
max_speed: 12 000 rpm (datasheet)
```

```yaml voltage-span span
pack: pack
parts: [inverter]
charge_end_voltage: 400 V
back_emf: {constant: 0.03 V/rpm, constant_of: line-peak, speed: 12 000 rpm, motor_speed_towed: 4 000 rpm}
```
",
        expected: &[
            ("span.highest_voltage", "403.2 V"),
            ("span.back_emf_at_limit", "360 V"),
            ("span.back_emf_towed", "120 V"),
        ],
    },
    sources: &[
        "the working voltage is the highest that can occur, so the full and not the nominal one: UN R100, definition (read)",
        "peak between two phases = √3 × that of one phase, peak = √2 × rms: a three-phase sine wave, closed form",
        "torque for each rms ampere of a phase = √(3/2) × the peak voltage between two phases for each of speed: 3 E I = T ω with E and I in phase and all torque from the magnets, closed form",
    ],
    limits: &[
        "voltage peaks of switching, of regeneration at a full pack and of contactors that open under load are not calculated",
        "what an inverter does that loses control at high speed is not calculated: the motor's own voltage is compared with what the parts bear",
    ],
    codes: &[&PART_LEFT_OUT],
    read,
};

static PART_LEFT_OUT: Code = Code {
    name: "part-left-out",
    severity: Severity::Warning,
    about: "a part that carries high voltage, and that no voltage span lists",
};

static FULL_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "full_voltage").purpose(Purpose::Dc);
static NOMINAL_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "nominal_voltage");
static EMPTY_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "empty_voltage");
static VOLTAGE_LOW: Taken<ElectricPotential> = Taken::new("part", "voltage_low").stands_for("voltage_low");
static VOLTAGE_HIGH: Taken<ElectricPotential> = Taken::new("part", "voltage_high").stands_for("voltage_high");

static CHARGE_END_VOLTAGE: Taken<ElectricPotential> =
    Taken::new("part", "charge_end_voltage").stands_for("charge_end_voltage").about("of a charger");

static PARTS: Family = Family { name: "parts", label: "Part", case: "PART" };

static HIGHEST_VOLTAGE: Row<ElectricPotential> =
    Row::formula("highest_voltage", "highest voltage", "V", "pack.full_voltage")
        .about("of the full pack, and of the charger's end where it is higher")
        .principal();
static HIGHEST_WITH_CHARGER: Row<ElectricPotential> =
    HIGHEST_VOLTAGE.by("max(pack.full_voltage, EACH)").each(&[("EACH", "charge_end_voltage")]);
static LEAST_BORNE: Row<ElectricPotential> =
    Row::formula("least_borne", "lowest of what the parts bear", "V", "min(EACH)")
        .each(&[("EACH", "parts.ITEM.voltage_high")])
        .principal();
static BACK_EMF_AT_LIMIT: Row<ElectricPotential> = Row::formula(
    "back_emf_at_limit",
    "the motor's own voltage at its highest speed",
    "V",
    "back_emf_constant * back_emf.speed",
)
.about("peak between two phases")
.when("with `back_emf`")
.principal();
static BACK_EMF_TOWED: Row<ElectricPotential> = Row::formula(
    "back_emf_towed",
    "the motor's own voltage when towed",
    "V",
    "back_emf_constant * back_emf.motor_speed_towed",
)
.about("peak between two phases")
.when("with `back_emf`")
.principal();

static BORNE: RequirementRow = RequirementRow::safety("PART", "highest_voltage")
    .at_most("parts.PART.voltage_high")
    .source("what the part bears")
    .family(&PARTS);
static WORKS_AT_EMPTY: RequirementRow = RequirementRow::safety("PART_at_empty", "pack.empty_voltage")
    .label("voltage of the empty pack")
    .at_least("parts.PART.voltage_low")
    .source("the lowest voltage that the part works at")
    .family(&PARTS);
static SWITCHED: RequirementRow = RequirementRow::safety("SWITCH", "highest_voltage")
    .at_most("SWITCH.voltage_rating")
    .source("what the fuse or the contactors are rated for")
    .family(&switchgear::SWITCHES)
    .each(switchgear::SAMPLE);
static CHARGER_ENDS: RequirementRow = RequirementRow::safety("charge_end_voltage", "charge_end_voltage")
    .at_least("pack.empty_voltage")
    .at_most("pack.full_voltage")
    .source("the pack, empty and full")
    .due(Stage::Build)
    .only_with(&["charge_end_voltage"]);
static PART_ENDS: RequirementRow = RequirementRow::safety("PART_charge_end", "parts.PART.charge_end_voltage")
    .label("voltage that it ends at")
    .at_least("pack.empty_voltage")
    .at_most("pack.full_voltage")
    .source("the pack, empty and full")
    .due(Stage::Build)
    .only_with(&["parts.PART.charge_end_voltage"])
    .family(&PARTS);
static BACK_EMF_BORNE_TOWED: RequirementRow = RequirementRow::safety("back_emf_towed", "back_emf_towed")
    .at_most("least_borne")
    .source("the lowest of what the parts bear")
    .only_with(&["back_emf.constant"]);
static BACK_EMF_BORNE: RequirementRow = RequirementRow::safety("back_emf_at_limit", "back_emf_at_limit")
    .at_most("least_borne")
    .source("the lowest of what the parts bear")
    .only_with(&["back_emf.constant"]);

struct VoltageSpan {
    nominal_voltage: Slot<ElectricPotential>,
    full_voltage: Slot<ElectricPotential>,
    empty_voltage: Slot<ElectricPotential>,
    /// What chargers end at.
    ends: Vec<Slot<ElectricPotential>>,
    highest: Slot<ElectricPotential>,
    parts: Vec<Entry<Borne>>,
    least_borne: Slot<ElectricPotential>,
    back_emf: Option<BackEmf>,
    /// Peak between two phases.
    back_emf_constant: Slot<BackEmfConstant>,
    back_emf_at_limit: Slot<ElectricPotential>,
    back_emf_towed: Slot<ElectricPotential>,
    /// Parts of the journal that no voltage span lists.
    left_out: Vec<String>,
}

/// What a part bears, and where it charges.
#[derive(Clone, Copy)]
struct Borne {
    high: Slot<ElectricPotential>,
    charge_end: Option<Slot<ElectricPotential>>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let pack = form.lookup().block_name("pack");
    let pack = pack.as_ref();
    let full_voltage = form.lookup().taken(&FULL_VOLTAGE, pack);
    let empty_voltage = form.lookup().taken(&EMPTY_VOLTAGE, pack);
    let nominal_voltage = form.lookup().taken(&NOMINAL_VOLTAGE, pack);
    let parts = read_parts(form);
    let charger_end: Option<Slot<ElectricPotential>> = form.optional("charge_end_voltage");
    let ends: Vec<_> =
        charger_end.into_iter().chain(parts.iter().filter_map(|part| part.read.charge_end)).collect();
    let switches = switchgear::of(form, pack);
    let back_emf = BackEmf::read(form);
    let left_out = left_out(form);
    let mut out = form.outcomes();
    let highest = match out.names_of(ends.iter().copied()) {
        none if none.is_empty() => out.result(&HIGHEST_VOLTAGE),
        each => out.result(HIGHEST_WITH_CHARGER.with("EACH", each)),
    };
    let each = out.names_of(parts.iter().map(|part| part.read.high));
    let least_borne = out.result(LEAST_BORNE.with("EACH", each));
    let back_emf_constant = out.result(back_emf.as_ref().map_or(&back_emf::OF_LINE_PEAK, BackEmf::row));
    let back_emf_at_limit = out.result(&BACK_EMF_AT_LIMIT);
    let back_emf_towed = out.result(&BACK_EMF_TOWED);
    for part in &parts {
        out.require(BORNE.of(&part.case()));
        out.require(WORKS_AT_EMPTY.of(&part.case()));
        out.require(PART_ENDS.of(&part.case()));
    }
    switches.iter().for_each(|case| out.require(SWITCHED.of(case)));
    out.require(&CHARGER_ENDS);
    out.require(&BACK_EMF_BORNE);
    out.require(&BACK_EMF_BORNE_TOWED);
    Box::new(VoltageSpan {
        nominal_voltage,
        full_voltage,
        empty_voltage,
        ends,
        highest,
        parts,
        least_borne,
        back_emf,
        back_emf_constant,
        back_emf_at_limit,
        back_emf_towed,
        left_out,
    })
}

/// The parts on the bus by their roles; a motor hangs behind its inverter.
fn left_out(form: &mut Form<'_, '_>) -> Vec<String> {
    let spans = form.lookup().blocks(&["voltage-span"], Looked::Whole);
    let listed: Vec<&str> = spans.iter().flat_map(|span| span.names("parts", &["part", "cable"])).collect();
    let listed: Vec<&str> = listed.into_iter().map(|name| known_as(form, name)).collect();
    let parts = KnownPart::all(form).into_iter();
    let on_bus = parts.filter(|part| part.carries_high_voltage() && part.role != "motor");
    on_bus.filter(|part| !listed.contains(&part.name.as_str())).map(|part| part.name).collect()
}

fn read_parts(form: &mut Form<'_, '_>) -> Vec<Entry<Borne>> {
    form.list("parts", &["part"], |form, _| {
        let part = form.lookup().block_name("part");
        let mut lookup = form.lookup();
        lookup.taken(&VOLTAGE_LOW, part.as_ref());
        Borne {
            high: lookup.taken(&VOLTAGE_HIGH, part.as_ref()),
            charge_end: lookup.if_there(&CHARGE_END_VOLTAGE, part.as_ref()),
        }
    })
}

impl Block for VoltageSpan {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let full = bench.get(self.full_voltage).si();
        let ends = self.ends.iter().map(|slot| bench.get(*slot).si());
        // What is not known stays so: `f64::max` would pass over it.
        let highest = ends.fold(full, |most, end| if most.is_nan() || most >= end { most } else { end });
        bench.set(self.highest, ElectricPotential::from_si(highest));
        let borne = self.parts.iter().map(|part| bench.get(part.read.high).si());
        let least = borne.fold(f64::INFINITY, |least, borne| if borne >= least { least } else { borne });
        bench.set(self.least_borne, ElectricPotential::from_si(least));
        if let Some(back_emf) = &self.back_emf {
            let constant = back_emf.line_peak(bench.get(back_emf.constant));
            bench.set(self.back_emf_constant, constant);
            bench.set(self.back_emf_at_limit, constant.at(bench.get(back_emf.speed)));
            bench.set(self.back_emf_towed, constant.at(bench.get(back_emf.towed)));
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        page.sentence(
            words!("The bus runs from {} to {}", page.value(self.empty_voltage), page.value(self.highest)),
            match self.parts.len() {
                1 => "; one part was held against that.".into(),
                count => words!("; {} parts were held against that.", count),
            },
        );
        caution_dc(page, self.highest);
        if !self.left_out.is_empty() {
            let names = Words::names(self.left_out.iter().map(String::as_str));
            let message = words!("not held against the bus: {}", names);
            page.find_here(&PART_LEFT_OUT, message, "name them in `parts` too, each with its `voltage_high`");
        }
        if let Some(back_emf) = &self.back_emf {
            let made = [self.back_emf_at_limit, self.back_emf_towed];
            back_emf.hold(page, self.back_emf_constant, [self.nominal_voltage, self.least_borne]);
            back_emf.hold_unsaid(page, made, self.least_borne);
        }
        let Some(peak) = page.get(self.back_emf_towed) else { return };
        page.note(words!(
            "Towed on its driven wheels the motor makes {} by itself.",
            page.value(self.back_emf_towed)
        ));
        // The peak of a sine wave is √2 of its rms value.
        if is_high_ac(peak / 2f64.sqrt()) {
            page.caution(Caution::Towing);
        }
    }
}

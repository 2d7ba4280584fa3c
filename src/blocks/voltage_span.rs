//! Whether every part on the high-voltage bus bears everything between the empty and the full pack.

use crate::blocks::shared::high_voltage::{caution_dc, is_high_ac};
use crate::model::{
    Bench, Block, Caution, Entry, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind,
    ResultDoc, Slot, Status, Takes,
};
use crate::quantities::si::{AngularVelocity, BackEmfConstant, ElectricPotential, Measure};
use crate::quantities::sort;

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
        .or_names(),
        FieldDoc::new("parts.part", Takes::BlockName, "a part on the bus"),
        FieldDoc::new("charger_end_voltage", Takes::Quantity(&sort::VOLTAGE), "that the charger ends at")
            .optional()
            .range(Range::Positive),
        FieldDoc::new("back_emf", Takes::Group, "of a motor with permanent magnets").optional(),
        FieldDoc::new(
            "back_emf.constant",
            Takes::Quantity(&sort::VOLTAGE_PER_SPEED),
            "peak voltage between two phases for each of motor speed",
        )
        .range(Range::Positive),
        FieldDoc::new("back_emf.speed", Takes::Quantity(&sort::ANGULAR_SPEED), "the motor's highest speed")
            .range(Range::Positive),
        FieldDoc::new(
            "back_emf.motor_speed_towed",
            Takes::Quantity(&sort::ANGULAR_SPEED),
            "of the motor when the vehicle is towed on its driven wheels; 0 if it stands still then",
        )
        .range(Range::NotNegative),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc {
            name: "highest_voltage",
            about: "of the full pack, and of the charger's end where it is higher",
        },
        ResultDoc { name: "least_borne", about: "the lowest of what the parts bear" },
        ResultDoc {
            name: "back_emf_at_limit",
            about: "peak between two phases at the motor's highest speed",
        },
        ResultDoc { name: "back_emf_towed", about: "peak between two phases when towed" },
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

```yaml voltage-span span
pack: pack
parts: [inverter]
charger_end_voltage: 400 V
back_emf: {constant: 0.03 V/rpm, speed: 12 000 rpm, motor_speed_towed: 4 000 rpm}
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
    ],
    inspector: &["highest_voltage", "least_borne", "back_emf_at_limit", "back_emf_towed"],
    limits: &[
        "voltage peaks of switching, of regeneration at a full pack and of contactors that open under load are not calculated",
        "what an inverter does that loses control at high speed is not calculated: the motor's own voltage is compared with what the parts bear",
    ],
    codes: &[],
    read,
};

struct VoltageSpan {
    full_voltage: Slot<ElectricPotential>,
    empty_voltage: Slot<ElectricPotential>,
    charger_end: Option<Slot<ElectricPotential>>,
    highest: Slot<ElectricPotential>,
    parts: Vec<Entry<Slot<ElectricPotential>>>,
    least_borne: Slot<ElectricPotential>,
    back_emf: Option<BackEmf>,
}

struct BackEmf {
    constant: Slot<BackEmfConstant>,
    speed: Slot<AngularVelocity>,
    towed: Slot<AngularVelocity>,
    at_limit: Slot<ElectricPotential>,
    when_towed: Slot<ElectricPotential>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let pack = form.required_block("pack");
    let full_voltage = form.of_block(pack.as_ref(), "full_voltage");
    let empty_voltage = form.of_block(pack.as_ref(), "empty_voltage");
    if !form.has("parts") {
        form.missing("parts");
    }
    let parts = form.list_or_names(("parts", "part"), &["part"], |form, _| {
        let part = form.block_name("part");
        form.of_block_named::<ElectricPotential>("voltage_low", part.as_ref(), "voltage_low");
        form.of_block_named("voltage_high", part.as_ref(), "voltage_high")
    });
    form.needs_items("parts", &parts, "name the parts on the bus: `parts: [inverter, charger]`");
    let charger_end = form.optional("charger_end_voltage");
    let highest = match charger_end {
        Some(_) => "max(pack.full_voltage, charger_end_voltage)",
        None => "pack.full_voltage",
    };
    let highest = form.step("highest_voltage", "V", highest);
    let names: Vec<String> = parts.iter().map(|part| form.name_of(part.read)).collect();
    let least_borne = match names.as_slice() {
        [] => form.unknown_step("least_borne"),
        names => form.step("least_borne", "V", &format!("min({})", names.join(", "))),
    };
    for part in &parts {
        require(form, &part.slug);
    }
    let given = form.group("back_emf", |form| {
        (form.required("constant"), form.required("speed"), form.required("motor_speed_towed"))
    });
    let back_emf = given.map(|(constant, speed, towed)| BackEmf {
        constant,
        speed,
        towed,
        at_limit: form.step("back_emf_at_limit", "V", "back_emf.constant * back_emf.speed"),
        when_towed: form.step("back_emf_towed", "V", "back_emf.constant * back_emf.motor_speed_towed"),
    });
    if back_emf.is_some() && !parts.is_empty() {
        form.require(Limit {
            name: "back_emf_at_limit",
            actual: "back_emf_at_limit",
            high: Some("least_borne"),
            source: "the lowest of what the parts bear",
            ..LIMIT
        });
    }
    Box::new(VoltageSpan { full_voltage, empty_voltage, charger_end, highest, parts, least_borne, back_emf })
}

const LIMIT: Limit<'static> = Limit {
    name: "",
    kind: RequirementKind::Safety,
    actual: "highest_voltage",
    low: None,
    high: None,
    source: "what the part bears",
    status: Status::Stated,
    span: None,
};

/// A part bears the highest voltage, and works at the lowest.
fn require(form: &mut Form<'_, '_>, slug: &str) {
    let high = format!("parts.{slug}.voltage_high");
    form.require(Limit { name: slug, high: Some(&high), ..LIMIT });
    let (name, low) = (format!("{slug}_at_empty"), format!("parts.{slug}.voltage_low"));
    let source = "the lowest voltage that the part works at";
    form.require(Limit { name: &name, actual: "pack.empty_voltage", low: Some(&low), source, ..LIMIT });
}

impl Block for VoltageSpan {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let full = bench.get(self.full_voltage).si();
        let end = self.charger_end.map_or(full, |slot| bench.get(slot).si());
        // What is not known stays so: `f64::max` would pass over it.
        let highest = if full.is_nan() || full >= end { full } else { end };
        bench.set(self.highest, ElectricPotential::from_si(highest));
        let borne = self.parts.iter().map(|part| bench.get(part.read).si());
        let least = borne.fold(f64::INFINITY, |least, borne| if borne >= least { least } else { borne });
        bench.set(self.least_borne, ElectricPotential::from_si(least));
        if let Some(back_emf) = &self.back_emf {
            let constant = bench.get(back_emf.constant);
            bench.set(back_emf.at_limit, constant.at(bench.get(back_emf.speed)));
            bench.set(back_emf.when_towed, constant.at(bench.get(back_emf.towed)));
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        page.sentence(
            format!("The bus runs from {} to {}", page.shown(self.empty_voltage), page.shown(self.highest)),
            match self.parts.len() {
                1 => "; one part was held against that.".to_owned(),
                count => format!("; {count} parts were held against that."),
            },
        );
        page.headline(self.highest);
        caution_dc(page, self.full_voltage);
        let Some(back_emf) = &self.back_emf else { return };
        if let Some(peak) = page.get(back_emf.when_towed) {
            let text = format!(
                "Towed on its driven wheels the motor makes {} by itself.",
                page.shown(back_emf.when_towed)
            );
            page.note(text);
            // The peak of a sine wave is √2 of its rms value.
            if is_high_ac(peak / 2f64.sqrt()) {
                page.caution(Caution::Towing);
            }
        }
    }
}

//! What the vehicle's papers and plates say: registration, seats, tow load, and the components with their numbers.

use crate::findings::codes;
use crate::model::{
    Bench, Block, Example, FieldDoc, FieldSort, Form, Kind, Page, Purpose, Range, Row, Slot, Stage, Takes,
};
use crate::quantities::si::{ElectricPotential, Mass, Power};
use crate::quantities::sort;
use crate::source::Span;
use crate::words::{Words, words};

pub(super) static KIND: Kind = Kind {
    name: "identity",
    summary: "what the vehicle's papers and plates say: registration, seats, tow load, components with their numbers",
    subsystem: "vehicle",
    fields: &[
        FieldDoc::new("registration", Takes::Text, "the number on the plates").optional(),
        FieldDoc::new("seats", Takes::Count, "with the driver's").optional().sort(FieldSort::Stated),
        FieldDoc::new("tow_limit", Takes::Quantity(&sort::MASS), "that the vehicle may pull after the change")
            .label("tow load")
            .optional()
            .range(Range::NotNegative)
            .sort(FieldSort::Stated),
        FieldDoc::new("tyres", Takes::Text, "as they are on the vehicle: `205/65R15 94H`").optional(),
        FieldDoc::new(
            "original_power",
            Takes::Quantity(&sort::POWER),
            "of the engine that was taken out, or of the largest that the model was sold with; some places hold the motor against it",
        )
        .label("power of the original engine")
        .optional()
        .range(Range::Positive)
        .sort(FieldSort::Stated),
        FieldDoc::new("components", Takes::List, "what was built in, each with its number")
            .with_items("type `{part: motor, serial: …}` or `{name: …, serial: …}` for each component"),
        FieldDoc::new("components.name", Takes::Text, "what it is, where it has no block").either(),
        FieldDoc::new("components.part", Takes::BlockName, "its block").instead_of("name"),
        FieldDoc::new("components.serial", Takes::Text, "its serial number, where its block says none")
            .label("serial number")
            .either()
            .due(Stage::Build),
        FieldDoc::new("components.approval", Takes::Text, "its approval mark or certificate").optional(),
        FieldDoc::new("motor_plate", Takes::Group, "what the motor's plate says").optional(),
        FieldDoc::new("motor_plate.power", Takes::Quantity(&sort::POWER), "continuous, as the plate says")
            .label("power on the motor's plate")
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("motor_plate.voltage", Takes::Quantity(&sort::VOLTAGE), "as the plate says")
            .label("voltage on the motor's plate")
            .purpose(Purpose::Dc)
            .range(Range::Positive)
            .sort(FieldSort::Stated),
    ],
    rows: &[&COMPONENTS.row],
    takes: &[],
    requires: &[],
    example: Example {
        journal: "\
```yaml identity van
registration: DEMO 104
seats: 2
tow_limit: 0 kg
tyres: 205/65R15 94H
original_power: 55 kW
components:
  - {name: drive motor, serial: FM-0117, approval: invented E0 0001}
  - {name: traction battery, serial: box 1 to 4}
motor_plate: {power: 40 kW, voltage: 320 V}
```
",
        expected: &[("van.components_listed", "2"), ("van.motor_plate.power", "40 kW")],
    },
    sources: &[],
    limits: &["whether numbers and plates are those of this vehicle is for whoever looks at it"],
    codes: &[],
    read,
};

static COMPONENTS: Row<f64> = Row::formula("components_listed", "components with a number", "1", "EACH")
    .each(&[("EACH", "1 + 1")])
    .count()
    .principal();

/// What its papers say of a vehicle, by the key of the field; the front matter's `vehicle` may say it too.
const PAPERS: [(&str, &str); 4] = [
    ("identity", "chassis number (identity under vehicle in the front matter)"),
    ("registration", "registration"),
    ("seats", "seats"),
    ("tow_limit", "tow load"),
];

struct Identity {
    count: Slot<f64>,
    lacks: Vec<(&'static str, &'static str)>,
    titles: Vec<String>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    for key in ["registration", "tyres"] {
        form.text(key);
    }
    form.optional::<f64>("seats");
    form.optional::<Mass>("tow_limit");
    form.optional::<Power>("original_power");
    let components = form.list("components", &["name", "part"], |form, _| {
        let part = form.has("part").then(|| form.lookup().block_name("part")).flatten();
        if !form.has("serial") && !form.lookup().has(part.as_ref(), "serial") {
            form.missing("serial");
        }
        for key in ["name", "approval"] {
            form.text(key);
        }
        // A dash is no number.
        let dash = |(text, _): &(String, Span)| !text.contains(char::is_alphanumeric);
        if let Some((text, at)) = form.text("serial").filter(dash) {
            let message = words!("`{}` where a serial number is expected", text);
            form.report(
                &codes::BAD_VALUE,
                at,
                message,
                "type it as the plate says, or in words where it has none",
            );
        }
    });
    form.group("motor_plate", |form| {
        form.required::<Power>("power");
        form.required::<ElectricPotential>("voltage");
    });
    let lacks = PAPERS.into_iter().filter(|(key, _)| !form.has(key)).collect();
    let titles: Vec<String> = components.into_iter().map(|entry| entry.title).collect();
    let ones = vec!["1"; titles.len()].join(" + ");
    let count = form.outcomes().result(COMPONENTS.with("EACH", ones));
    Box::new(Identity { count, lacks, titles })
}

impl Block for Identity {
    #[allow(clippy::cast_precision_loss)]
    fn evaluate(&self, bench: &mut Bench<'_>) {
        bench.set(self.count, self.titles.len() as f64);
    }

    fn present(&self, page: &mut Page<'_>) {
        let titles = Words::joined(self.titles.iter().map(|title| words!("{}", title)), ", ");
        page.sentence(words!("{} components with a number", page.value(self.count)), words!(": {}.", titles));
    }

    fn lacks(&self) -> &[(&'static str, &'static str)] {
        &self.lacks
    }
}

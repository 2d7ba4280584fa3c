//! The builder's own sums: named steps, worked by the quantity engine.

use crate::findings::codes;
use crate::model::{
    Bench, Block, Example, FieldDoc, Form, Kind, OwnStep, Page, Slot, Takes, Visibility, capital,
};
use crate::quantities::read_unit;
use crate::words::{Words, words};

pub(super) static KIND: Kind = Kind {
    name: "worksheet",
    summary: "sums of the builder's own, step by step, with every dimension checked",
    subsystem: "worksheets",
    fields: &[
        FieldDoc::new("given", Takes::Named, "names with their quantities or references").optional(),
        FieldDoc::new("steps", Takes::List, "the sums, in order"),
        FieldDoc::new("steps.name", Takes::Text, "what the step gives; a result of this block"),
        FieldDoc::new(
            "steps.is",
            Takes::Text,
            "an expression of givens, earlier steps and results of other blocks",
        ),
        FieldDoc::new("steps.unit", Takes::Text, "the unit that it is shown in; `1` for a plain number"),
        FieldDoc::new("steps.note", Takes::Text, "why").optional(),
        FieldDoc::new("checks", Takes::Named, "names with comparisons; each is a requirement of kind wish")
            .optional(),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    example: Example {
        journal: "\
```yaml worksheet precharge
given:
  voltage: 403 V
  capacitance: 1 mF ± 10 %
  resistance: 50 Ω
steps:
  - {name: time_constant, is: resistance * capacitance, unit: ms}
  - {name: stored, is: capacitance * voltage^2 / 2, unit: J}
checks:
  quick: time_constant <= 100 ms
```
",
        expected: &[("precharge.time_constant", "50 ms"), ("precharge.stored", "81.2045 J")],
    },
    sources: &["the author's own expressions; nothing is added to them"],
    limits: &["a worksheet's steps a second time: they stand on one route"],
    codes: &[],
    read,
};

struct Worksheet {
    steps: Vec<Slot<f64>>,
    notes: Vec<Words>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    for (name, value) in form.named("given") {
        form.quantity_or_curve(&name, &value);
    }
    if !form.has("steps") {
        form.missing("steps");
    }
    let mut steps = Vec::new();
    let mut notes = Vec::new();
    for step in form.mappings("steps") {
        let Some((name, name_span)) = form.part_of(&step, "name") else { continue };
        let Some((is, is_span)) = form.part_of(&step, "is") else { continue };
        let Some((unit, unit_span)) = form.part_of(&step, "unit") else { continue };
        if !name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
            || !name.contains(char::is_alphabetic)
        {
            let message = words!("`{}` is no name for a step", name);
            form.report(
                &codes::BAD_NAME,
                name_span,
                message,
                "type it in lower-case letters, digits and `_`",
            );
            continue;
        }
        let unit = match read_unit(&unit) {
            Ok(unit) => unit,
            Err(fault) => {
                form.report(fault.code, unit_span, fault.message, fault.help);
                continue;
            }
        };
        let Some(expression) = form.expression(&is, is_span) else { continue };
        let own = OwnStep { expression, unit, span: is_span, visibility: Visibility::Shown };
        steps.push(form.outcomes().own_step(&name, own));
        if let Some(note) = step.get("note").and_then(|note| note.text()) {
            notes.push(words!("{}: {}", name.replace('_', " "), note));
        }
    }
    for (name, comparison) in form.named("checks") {
        form.outcomes().wish(&name, &comparison);
    }
    Box::new(Worksheet { steps, notes })
}

impl Block for Worksheet {
    fn evaluate(&self, _bench: &mut Bench<'_>) {}

    fn present(&self, page: &mut Page<'_>) {
        if let Some(last) = self.steps.last() {
            let bold = words!("{} {}", capital(&page.nodes[last.index()].label()), page.value(*last));
            let rest = match self.steps.len() {
                1 => ".".into(),
                steps => words!(", worked in {} steps.", steps),
            };
            page.sentence(bold, rest);
            page.headline(*last);
        }
        self.notes.iter().for_each(|note| page.note(note));
    }
}

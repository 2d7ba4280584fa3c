//! The builder's own sums: named steps, worked by the quantity engine.

use crate::blocks::shared::lists::{named, plain_text};
use crate::findings::codes;
use crate::model::{Any, Bench, Block, Example, FieldDoc, Form, Kind, Page, Slot, Takes, capital};
use crate::quantities::{Unit, read_unit};
use crate::source::Span;
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
            "an expression of givens, earlier steps and results of other blocks; over a list `sum(kerb.removed.mass * kerb.removed.count)`, or `min`, `max`, `mean`, `count`",
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
    for (name, value) in named(form, "given") {
        form.value::<Any>((&name, &name), &value);
    }
    let mut steps = Vec::new();
    let mut notes = Vec::new();
    let written = form.list("steps", &["name"], |form, _| read_step(form));
    for (name, (text, span), unit, note) in written.into_iter().filter_map(|entry| entry.read) {
        steps.extend(form.outcomes().step(&name, (&text, span), Some(unit)));
        notes.extend(note.map(|(note, _)| words!("{}: {}", name.replace('_', " "), note)));
    }
    for (name, comparison) in named(form, "checks") {
        form.outcomes().wish(&name, &comparison);
    }
    Box::new(Worksheet { steps, notes })
}

/// The name of a step, its expression, its unit and its note.
type Step = (String, (String, Span), Unit, Option<(String, Span)>);

fn read_step(form: &mut Form<'_, '_>) -> Option<Step> {
    let (name, name_span) = plain_text(form, "name")?;
    let (is, (unit, unit_span)) = (plain_text(form, "is")?, plain_text(form, "unit")?);
    let plain = name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_');
    if !plain || !name.contains(char::is_alphabetic) {
        let message = words!("`{}` is no name for a step", name);
        form.report(&codes::BAD_NAME, name_span, message, "type it in lower-case letters, digits and `_`");
        return None;
    }
    match read_unit(&unit) {
        Ok(unit) => Some((name, is, unit, plain_text(form, "note"))),
        Err(fault) => {
            form.report(fault.code, unit_span, fault.message, fault.help);
            None
        }
    }
}

impl Block for Worksheet {
    fn evaluate(&self, _bench: &mut Bench<'_>) {}

    fn present(&self, page: &mut Page<'_>) {
        if let Some(last) = self.steps.last() {
            let bold = words!("{}: {}", capital(&page.nodes[last.index()].label()), page.value(*last));
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

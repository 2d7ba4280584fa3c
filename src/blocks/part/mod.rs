//! A component from a datasheet or a weighing.

mod module;

use self::module::Cells;
use crate::findings::codes;
use crate::model::{
    Bench, Block, Example, FieldDoc, FieldSort, Form, Kind, Node, Page, Purpose, Range, Slot, Takes, capital,
    own_value,
};
use crate::quantities::si::{ElectricPotential, Length, Mass, Time};
use crate::quantities::sort;
use crate::words::{Shown, Words, words};

pub(crate) static KIND: Kind = Kind {
    name: "part",
    summary: "a component from a datasheet or a weighing, whose values other blocks take by its name",
    subsystem: "parts",
    fields: &[
        FieldDoc::new("role", Takes::Text, "what it is for: `drive motor`").purpose(Purpose::PartRole),
        FieldDoc::new("title", Takes::Text, "its name on the plate").optional(),
        FieldDoc::new("supplier", Takes::Text, "who sells it").optional(),
        FieldDoc::new("reference", Takes::Text, "the supplier's number").optional(),
        FieldDoc::new("serial", Takes::Text, "its serial number").optional(),
        FieldDoc::new("approval", Takes::Text, "its approval mark or certificate").optional(),
        FieldDoc::new(
            "case",
            Takes::Text,
            "what can be touched of it: `aluminium`, `plastic`; of high-voltage parts metal is taken, which has to be bonded",
        )
        .optional(),
        FieldDoc::new("price", Takes::Quantity(&sort::MONEY), "what one costs").purpose(Purpose::NoRating)
            .optional()
            .sort(FieldSort::Stated)
            .range(Range::NotNegative),
        FieldDoc::new("lead_time", Takes::Quantity(&sort::TIME), "from order to delivery").purpose(Purpose::NoRating)
            .optional()
            .sort(FieldSort::Stated)
            .range(Range::NotNegative),
        FieldDoc::new("mass", Takes::Quantity(&sort::MASS), "of one").purpose(Purpose::NoRating).optional().range(Range::Positive),
        FieldDoc::new("size", Takes::List, "length, width and height").purpose(Purpose::NoRating).optional().range(Range::Positive),
        FieldDoc::new("voltage_low", Takes::Quantity(&sort::VOLTAGE), "the lowest voltage that it works at")
            .label("lowest working voltage")
            .optional()
            .sort(FieldSort::Stated)
            .range(Range::NotNegative),
        FieldDoc::new("voltage_high", Takes::Quantity(&sort::VOLTAGE), "the highest voltage that it bears").label("highest voltage that it bears")
            .optional()
            .sort(FieldSort::Stated)
            .range(Range::Positive),
        FieldDoc::accuracy("accuracy"),
        FieldDoc::new(
            "cells_in_series",
            Takes::Count,
            "of a module, a group of cells sold as one, whose values are those of the group: `full_voltage` is that of all its cells in series",
        )
        .optional()
        .range(Range::AtLeastOne)
        .sort(FieldSort::Stated),
        FieldDoc::new("cells_in_parallel", Takes::Count, "of a module: cells side by side")
            .optional()
            .range(Range::AtLeastOne)
            .sort(FieldSort::Stated),
        FieldDoc::new("NAME", Takes::Named, "any other quantity, a curve, or a text in quotes, under a name of your own; which names are read from which part stands below")
            .optional(),
    ],
    rows: module::ROWS,
    takes: module::TAKES,
    requires: &[],
    example: Example {
        journal: "\
```yaml part motor
role: drive motor
title: Fenmark 60
mass: 41.5 kg ± 0.2 kg (measured)
max_speed: 9 000 rpm
torque_curve: [[0 rpm, 160 N m], [3 500 rpm, 160 N m], [9 000 rpm, 62 N m]]
connector: \"orange, three pins\"
```

```yaml part module
role: module
cells_in_series: 6
cells_in_parallel: 2
full_voltage: 25.2 V
resistance: 3 mΩ
```
",
        // By hand: 25.2 V over 6 cells; two cells side by side have half of one's resistance.
        expected: &[
            ("motor.mass", "41.5 kg"),
            ("motor.max_speed", "9 000 rpm"),
            ("module.cell.full_voltage", "4.2 V"),
            ("module.cell.resistance", "1 mΩ"),
        ],
    },
    sources: &[],
    limits: &[],
    codes: &[],
    read,
};

struct Part {
    name: String,
    cells: Option<Cells>,
    about: Vec<usize>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let role = form.text("role");
    let title = form.text("title");
    let supplier = form.text("supplier");
    for key in ["reference", "serial", "approval", "case"] {
        form.text(key);
    }
    form.optional::<f64>("price");
    let mut cells = Cells::read(form);
    let mut about: Vec<usize> = Vec::new();
    form.optional::<Time>("lead_time");
    about.extend(form.optional::<Mass>("mass").map(Slot::index));
    read_size(form);
    form.optional::<ElectricPotential>("voltage_low");
    form.optional::<ElectricPotential>("voltage_high");
    let own = form.take("NAME");
    for (key, value) in own.iter().filter_map(Node::entries).flatten() {
        let Some(name) = key.text() else { continue };
        if !name.contains(char::is_alphabetic)
            || !name.chars().all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_')
        {
            let message = words!("`{}` is no name for a value", name);
            form.report(
                &codes::UNKNOWN_KEY,
                key.span,
                message,
                "type it in lower-case letters, digits and `_`",
            );
            continue;
        }
        let word = role.as_ref().map_or("", |(role, _)| role);
        if let Some(slot) = own_value(form, (name, key.span), (value, word, cells.is_some())) {
            about.push(slot.index());
        }
    }
    if let Some(cells) = &mut cells {
        cells.declare(form, &about);
    }
    let role = role.map_or_else(|| "part".to_owned(), |(role, _)| role);
    let name = match (title, supplier) {
        (Some((title, _)), Some((supplier, _))) => format!("{role}: {title} from {supplier}"),
        (Some((title, _)), None) => format!("{role}: {title}"),
        (None, _) => role,
    };
    Box::new(Part { name: capital(&name), cells, about })
}

/// Three lengths, each under a name of its own: `size.length`.
fn read_size(form: &mut Form<'_, '_>) {
    let Some(value) = form.take("size") else { return };
    match value.items() {
        Some(items) if items.len() == 3 => {
            for (name, item) in ["size.length", "size.width", "size.height"].into_iter().zip(items) {
                form.value::<Length>(("size", name), item);
            }
        }
        _ => form.wrong_shape("size", &value, "a list [length, width, height]"),
    }
}

impl Block for Part {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        if let Some(cells) = &self.cells {
            cells.evaluate(bench);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let shown = self.about.iter().take(4).filter_map(|index| {
            Some(words!("{} {}", page.nodes[*index].label(), Shown((page.show)(*index)?)))
        });
        let shown = Words::joined(shown, "; ");
        let rest = if shown.is_empty() { ".".into() } else { words!(": {}.", shown) };
        page.sentence(self.name.clone(), rest);
    }
}

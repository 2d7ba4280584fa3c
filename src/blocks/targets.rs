//! The builder's own wishes, each a comparison.

use crate::model::{Bench, Block, Example, FieldDoc, Form, Kind, Node, Page, Takes};
use crate::words::words;

pub(crate) static KIND: Kind = Kind {
    name: "targets",
    summary: "what the builder wants to reach: each target is a requirement of kind wish",
    subsystem: "targets",
    fields: &[FieldDoc::new(
        "NAME",
        Takes::Named,
        "a comparison of a result with a limit: `top_speed: drive.geared_top_speed >= 110 km/h`",
    )
    .optional()],
    rows: &[],
    takes: &[],
    requires: &[],
    example: Example {
        journal: "\
```yaml worksheet trip
given: {distance: 84 km, speed: 70 km/h}
steps:
  - {name: duration, is: distance / speed, unit: min}
```

```yaml targets goals
short_enough: trip.duration <= 80 min
```
",
        expected: &[("trip.duration", "72 min")],
    },
    sources: &[],
    limits: &[],
    codes: &[],
    read,
};

struct Targets {
    count: usize,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let own = form.take("NAME");
    let wishes = own.as_ref().and_then(Node::entries).unwrap_or_default();
    for (key, value) in wishes {
        if let Some(name) = key.text() {
            form.outcomes().wish(name, value);
        }
    }
    Box::new(Targets { count: wishes.len() })
}

impl Block for Targets {
    fn evaluate(&self, _bench: &mut Bench<'_>) {}

    fn lines_stand_alone(&self) -> bool {
        true
    }

    fn present(&self, page: &mut Page<'_>) {
        let plural = if self.count == 1 { "" } else { "s" };
        page.sentence(
            words!("{} target{}", self.count, plural),
            ", held against the results of other blocks.",
        );
    }
}

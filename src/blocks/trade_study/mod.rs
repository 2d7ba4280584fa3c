//! Which of many combinations of parts and numbers keeps the builder's conditions, and which of them is best.

mod chosen;
mod page;
mod pictures;
mod vary;

use std::sync::Arc;

use crate::blocks::shared::studies::{NO_VERDICT, shown};
use crate::findings::{Code, Severity, codes};
use crate::model::{
    Answer, Any, Bench, Block, Case, Column, Condition, Example, Family, FieldDoc, FieldSort, Form, Kind,
    Node, Page, Preference, Preferred, Row, Slot, Study, Takes, Trade, Traded,
};
use crate::words::words;

pub(crate) static KIND: Kind = Kind {
    name: "trade-study",
    summary: "which combination of parts and numbers keeps the conditions, and which of them is best",
    subsystem: "choosing",
    fields: &[
        FieldDoc::new("vary", Takes::List, "what is varied; every combination is a candidate")
            .with_items("type `vary: [{name: motor, set: drive.motor, to: [m1, m2]}]`"),
        FieldDoc::new("vary.name", Takes::Text, "what it is called; the result `best_NAME` tells the best one's")
            .label("name of what is varied"),
        FieldDoc::new(
            "vary.set",
            Takes::Special,
            "the input by its full name, or a list of inputs that are set together; one that takes a field of the part says which: `[drive.motor, {sums.weeks: lead_time}]`",
        ),
        FieldDoc::new(
            "vary.to",
            Takes::Special,
            "a list of parts, numbers or quantities, for several inputs a list of lists; or `{from: 80, to: 120, step: 4}`",
        ),
        FieldDoc::new("vary.to.from", Takes::Text, "the first number"),
        FieldDoc::new("vary.to.to", Takes::Text, "none is beyond it"),
        FieldDoc::new("vary.to.step", Takes::Text, "from each to the next"),
        FieldDoc::new(
            "show",
            Takes::Named,
            "names with expressions, which are shown of each candidate: `range: trip.range`",
        )
        .optional(),
        FieldDoc::new("keep", Takes::Special, "a list of comparisons; a candidate that misses one is dropped")
            .optional(),
        FieldDoc::new(
            "safety",
            Takes::Text,
            "`yes`: a candidate with which a requirement of safety or law fails, or can't be judged because of it, is dropped",
        )
        .label("safety first")
        .optional(),
        FieldDoc::new(
            "prefer",
            Takes::Special,
            "`{lowest: EXPRESSION}` or `{highest: EXPRESSION}`, or a list of two of them",
        ),
        FieldDoc::new("prefer.lowest", Takes::Text, "the less of it the better").optional(),
        FieldDoc::new("prefer.highest", Takes::Text, "the more of it the better").optional(),
        FieldDoc::new(
            "chosen",
            Takes::Special,
            "what was decided, an option for each name: `[motor: m2, box: 2.2]`; it is told where the journal has something else, and where it is no longer kept",
        )
        .optional(),
        FieldDoc::new("rows", Takes::Count, "how many of the best are shown: 10 where nothing is said")
            .sort(FieldSort::Choice)
            .label("rows shown")
            .optional(),
    ],
    rows: &[&CANDIDATES.row, &KEPT.row, &BEST.row, &BEST_NUMBER.row, &BEST_OPTION.row, &BEST_SHOWN.row],
    takes: &[],
    requires: &[],
    example: Example {
        journal: "\
```yaml part quick
role: drive motor
mass: 52 kg
max_speed: 12 000 rpm
price: 4 100 EUR
```

```yaml part strong
role: drive motor
mass: 74 kg
max_speed: 9 000 rpm
price: 3 300 EUR
```

```yaml mass-ledger kerb
donor: {mass: 1 100 kg}
removed: []
installed:
  - {item: motor, part: quick}
```

```yaml ratio-chain drive
wanted_speed: 110 km/h
tyre: 0.62 m
stages:
  - {name: box, ratio: 2}
  - {name: axle, ratio: 3.9}
motor: quick
```

```yaml trade-study which
vary:
  - {name: motor, set: drive.motor, to: [quick, strong]}
  - {name: box, set: drive.stages.box.ratio, to: {from: 1.6, to: 3, step: 0.2}}
show: {price: sum(part.price), mass: kerb.converted_mass, top_speed: drive.geared_top_speed}
keep: [drive.geared_top_speed >= 120 km/h, drive.overall_ratio >= 8]
prefer: {lowest: sum(part.price)}
rows: 2
```
",
        expected: &[
            ("which.candidates", "16"),
            ("which.kept", "5"),
            ("which.best_price", "3300 EUR"),
            ("which.best_box", "2.2"),
        ],
    },
    sources: &["the sum of all combinations; what no other one is better than in both of two aims (textbook knowledge)"],
    limits: &[
        "candidates are kept and sorted by nominal values; what is uncertain is drawn for the best few alone",
        "combinations that are not listed: nothing is searched between them",
    ],
    codes: &[&NOTHING_KEPT, &CANDIDATE_DROPPED, &NOT_AS_CHOSEN, &CHOICE_DROPPED, &OTHER_PART_INSTALLED],
    read,
};

static CANDIDATES: Row<f64> =
    Row::procedure("candidates", "candidates", "1", "all combinations of what is varied").count();
static KEPT: Row<f64> =
    Row::procedure("kept", "kept", "1", "the candidates that keep every condition, by nominal values")
        .count()
        .principal();
static BEST: Row<String> = Row::words("best", "best");
static VARIED: Family = Family { name: "best", label: "Varied", case: "NAME" };
static OF_BEST: Family = Family { name: "best_shown", label: "Shown", case: "NAME" };
static BEST_NUMBER: Row<Any> =
    Row::found("best_NAME", "of the best", "the number that the best candidate has").family(&VARIED);
static BEST_OPTION: Row<String> = Row::words("best_NAME", "of the best").family(&VARIED);
static BEST_SHOWN: Row<Any> =
    Row::found("best_NAME", "of the best", "worked in the journal with what the best candidate has")
        .family(&OF_BEST);

static NOTHING_KEPT: Code = Code {
    name: "nothing-kept",
    severity: Severity::Warning,
    about: "no candidate of a `trade-study` keeps all conditions",
};
static CANDIDATE_DROPPED: Code = Code {
    name: "candidate-dropped",
    severity: Severity::Warning,
    about: "candidates of a `trade-study` could not be worked: a part lacks what the journal needs of it",
};

static NOT_AS_CHOSEN: Code = Code {
    name: "not-as-chosen",
    severity: Severity::Warning,
    about: "the journal has another part or number than was chosen in a `trade-study`",
};
static CHOICE_DROPPED: Code = Code {
    name: "choice-dropped",
    severity: Severity::Warning,
    about: "what was chosen in a `trade-study` misses one of its conditions, or can't be worked",
};
static OTHER_PART_INSTALLED: Code = Code {
    name: "other-part-installed",
    severity: Severity::Warning,
    about: "a ledger installs another of the parts that a `trade-study` varies than the journal has",
};

/// How many of the best are shown where nothing is said.
const ROWS: f64 = 10.0;

/// The results, by slot.
#[derive(Clone)]
struct Slots {
    candidates: Slot<f64>,
    kept: Slot<f64>,
    best: Slot<String>,
}

struct TradeStudy {
    study: Option<Study>,
    slots: Slots,
    /// Those of the best: numbers that are varied or shown, and names.
    numbers: Vec<Slot<Any>>,
    names: Vec<Slot<String>>,
    traded: Option<Box<Traded>>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let varied_span = form.place_of("vary");
    let varied = form.list("vary", &["name"], |form, _| vary::read(form));
    let columns = shown(form);
    let keep = read_keep(form);
    let safety = form.has("safety") && form.choice("safety", &["yes", "no"]) == Some("yes");
    let prefer = read_prefer(form);
    let rows = form.optional::<f64>("rows").and_then(|slot| form.node(slot).si());
    let mut out = form.outcomes();
    let slots = Slots {
        candidates: out.procedure(&CANDIDATES, &[]),
        kept: out.procedure(&KEPT, &[]),
        best: out.procedure(&BEST, &[]),
    };
    let (mut numbers, mut names) = (Vec::new(), Vec::new());
    let mut all = Vec::new();
    let count = varied.len();
    for entry in varied {
        let Case { slug, title } = entry.case();
        let Some(read) = entry.read else { continue };
        let case = Case { slug: slug.clone(), title };
        let best = match read.numbers {
            Some(_) => {
                let slot: Slot<Any> = out.procedure(BEST_NUMBER.of(&case), &[]);
                numbers.push(slot);
                slot.index()
            }
            None => {
                let slot: Slot<String> = out.procedure(BEST_OPTION.of(&case), &[]);
                names.push(slot);
                slot.index()
            }
        };
        all.push(read.varied(slug, best));
    }
    let chosen = chosen::read(form, &all);
    let mut out = form.outcomes();
    let shown: Vec<Column> = columns
        .into_iter()
        .map(|(case, from)| {
            let slot: Slot<Any> = out.procedure(BEST_SHOWN.of(&case), &[]);
            numbers.push(slot);
            Column { name: case.title, from, best: slot.index() }
        })
        .collect();
    let whole = !all.is_empty() && all.len() == count && !prefer.is_empty();
    let rows = rows.unwrap_or(ROWS) as usize;
    let study = Study::Trade(Trade { varied: all, varied_span, shown, keep, prefer, rows, safety, chosen });
    Box::new(TradeStudy { study: whole.then_some(study), slots, numbers, names, traded: None })
}

fn read_keep(form: &mut Form<'_, '_>) -> Vec<Condition> {
    let Some(node) = form.take("keep") else { return Vec::new() };
    let one = [node.clone()];
    let items: &[Node] = node.items().unwrap_or(&one);
    if let Some(named) = items.iter().find(|item| item.text().is_none()) {
        let message = "`keep` is a list of comparisons, which have no names";
        let help = "type one in each line: `- drive.geared_top_speed >= 120 km/h`";
        form.report(&codes::WRONG_SHAPE, named.span, message, help);
        return Vec::new();
    }
    items
        .iter()
        .enumerate()
        .filter_map(|(at, item)| Condition::read(form, &format!("keep {}", at + 1), item))
        .collect()
}

fn read_prefer(form: &mut Form<'_, '_>) -> Vec<Preference> {
    let Some(node) = form.take("prefer") else { return Vec::new() };
    let one = [node.clone()];
    let items: &[Node] = node.items().unwrap_or(&one);
    let mut preferences = Vec::new();
    for (at, item) in items.iter().enumerate() {
        let found = match item.entries() {
            Some([(key, value)]) if key.is_text("lowest") => Some((Preferred::Lowest, value)),
            Some([(key, value)]) if key.is_text("highest") => Some((Preferred::Highest, value)),
            _ => None,
        };
        let Some((way, Some(text), value)) = found.map(|(way, value)| (way, value.text(), value)) else {
            let help = "type `prefer: {lowest: kerb.converted_mass}`, or a list of two";
            form.report(&codes::BAD_VALUE, item.span, "no preference", help);
            return Vec::new();
        };
        let from = form.outcomes().step(&format!("prefer {}", at + 1), (text, value.span), None);
        let text = text.trim().to_owned();
        preferences.extend(from.map(|from| Preference { way, from: from.index(), text }));
    }
    if preferences.len() > 2 {
        let message = words!("{} preferences where one or two are taken", preferences.len());
        form.report(&codes::BAD_VALUE, node.span, message, "keep two, and make conditions of the others");
    }
    preferences
}

impl TradeStudy {
    fn asked(&self) -> Option<(&Trade, &Traded)> {
        let Some(Study::Trade(asked)) = &self.study else { return None };
        Some((asked, self.traded.as_deref()?))
    }
}

impl Block for TradeStudy {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let Some((asked, traded)) = self.asked() else {
            bench.found(self.slots.candidates, None);
            bench.found(self.slots.kept, None);
            self.numbers.iter().for_each(|slot| bench.found(*slot, None));
            return;
        };
        bench.found(self.slots.candidates, Some(traded.candidates as f64));
        bench.found(self.slots.kept, Some(traded.kept as f64));
        for slot in &self.numbers {
            bench.found(*slot, page::of_best((asked, traded), slot.index()));
        }
    }

    fn study(&self) -> Option<&Study> {
        self.study.as_ref()
    }

    fn answered(&self, answer: Answer) -> Option<Arc<dyn Block>> {
        let Answer::Traded(traded) = answer else { return None };
        Some(Arc::new(TradeStudy {
            study: self.study.clone(),
            slots: self.slots.clone(),
            numbers: self.numbers.clone(),
            names: self.names.clone(),
            traded: Some(traded),
        }))
    }

    fn present(&self, page: &mut Page<'_>) {
        for slot in [self.slots.candidates, self.slots.kept] {
            page.unfit(slot, NO_VERDICT);
            page.checked(slot, 0.0, 1e-9);
            page.not_there(slot, "what it asks for could not be worked: see the findings");
        }
        for slot in &self.numbers {
            page.unfit(*slot, NO_VERDICT);
            page.not_there(*slot, "no candidate is kept, or it is not known of the best");
        }
        let Some((asked, traded)) = self.asked() else { return };
        for slot in &self.numbers {
            page.checked(*slot, traded.apart, 1e-9);
        }
        page::present(page, (asked, traded), self);
    }
}

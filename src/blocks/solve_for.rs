//! Which input makes a condition true: the journal asked backwards.

use std::sync::Arc;

use crate::blocks::shared::lists::{plain_items, plain_text};
use crate::blocks::shared::studies::{NO_VERDICT, shown};
use crate::findings::{Code, Severity, codes};
use crate::model::{
    Answer, Any, Bench, Block, Condition, Example, Family, FieldDoc, Form, Goal, Input, Kind, Page, Row,
    Slot, Solve, Solved, Study, Takes,
};
use crate::quantities::{Quantity, Unit, read_literal};
use crate::words::{Words, words};

pub(super) static KIND: Kind = Kind {
    name: "solve-for",
    summary: "which value of an input makes a condition true: the journal asked backwards",
    subsystem: "choosing",
    fields: &[
        FieldDoc::new("change", Takes::Text, "the input that is searched, by its full name: `pack.series`"),
        FieldDoc::new(
            "between",
            Takes::Special,
            "the range that is searched, from and to: `[80 kg, 300 kg]`; of a count every whole number is tried",
        ),
        FieldDoc::new(
            "until",
            Takes::Special,
            "what must be true: `a.x == b.y`, or `{largest: a.x <= b.y}`, or `smallest`",
        ),
        FieldDoc::new("until.largest", Takes::Text, "the largest input for which this comparison holds")
            .optional(),
        FieldDoc::new("until.smallest", Takes::Text, "the smallest input for which this comparison holds")
            .optional(),
        FieldDoc::new(
            "show",
            Takes::Named,
            "names with expressions, which are worked with the value that was found: `range: trip.range`",
        )
        .optional(),
    ],
    rows: &[&VALUE.row, &RESIDUAL.row, &THERE.row],
    takes: &[],
    requires: &[],
    example: Example {
        journal: "\
```yaml worksheet van
given:
  limit: 2 000 kg (datasheet; the plate)
  empty: 1650 kg ± 10 kg (measured)
  pack: 180 kg
steps:
  - {name: laden, is: empty + pack, unit: kg}
  - {name: energy, is: pack * 150 Wh/kg, unit: kWh}
```

```yaml solve-for room
change: van.pack
between: [50 kg, 900 kg]
until: van.laden == van.limit
show: {energy: van.energy}
```
",
        expected: &[("room.value", "350 kg"), ("room.residual", "0 kg"), ("room.energy_there", "52.5 kWh")],
    },
    sources: &["bisection: halving a range in which a difference changes its sign (textbook knowledge)"],
    limits: &[
        "two solutions between neighbours of the 65 inputs that are tried at first",
        "the uncertainty of what is found: type the value into the journal, which judges it",
    ],
    codes: &[&NO_SOLUTION, &SEVERAL_SOLUTIONS, &END_OF_RANGE],
    read,
};

static VALUE: Row<Any> = Row::found(
    "value",
    "value that solves it",
    "the range in 64 steps, then the step that holds the solution halved to the last digit; of a count every whole number",
)
.about("exact by itself; no verdict rests on it")
.principal();
static RESIDUAL: Row<Any> = Row::found(
    "residual",
    "what is left",
    "the left side less the right one at that value, or what is left to the limit",
);
static SHOWN: Family = Family { name: "shown", label: "With that value", case: "NAME" };
static THERE: Row<Any> =
    Row::found("NAME_there", "there", "worked in the journal with the value in the input's place")
        .family(&SHOWN)
        .principal();

static NO_SOLUTION: Code = Code {
    name: "no-solution",
    severity: Severity::Warning,
    about: "no value in the range of a `solve-for` makes its condition true",
};
static SEVERAL_SOLUTIONS: Code = Code {
    name: "several-solutions",
    severity: Severity::Warning,
    about: "more than one value in the range of a `solve-for` solves it, or its condition holds in parts of the range",
};
static END_OF_RANGE: Code = Code {
    name: "end-of-range",
    severity: Severity::Warning,
    about: "the condition of a `solve-for` holds up to the end of its range: what is found is that end",
};

struct SolveFor {
    study: Option<Study>,
    value: Slot<Any>,
    residual: Slot<Any>,
    there: Vec<Slot<Any>>,
    solved: Option<Solved>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let change = plain_text(form, "change");
    let between = read_between(form);
    let until = read_until(form);
    let columns = shown(form);
    let mut out = form.outcomes();
    let value: Slot<Any> = out.procedure(&VALUE, &[]);
    let residual: Slot<Any> = out.procedure(&RESIDUAL, &[]);
    let there: Vec<Slot<Any>> = columns.iter().map(|(case, _)| out.procedure(THERE.of(case), &[])).collect();
    let (Some((set, span)), Some((between, unit)), Some((goal, condition))) = (change, between, until) else {
        return Box::new(SolveFor { study: None, value, residual, there, solved: None });
    };
    let asked = Solve {
        input: Input { set, span },
        between,
        between_span: form.place_of("between"),
        unit,
        goal,
        condition,
        value: value.index(),
        residual: residual.index(),
        shown: columns.iter().zip(&there).map(|((_, from), to)| (*from, to.index())).collect(),
    };
    Box::new(SolveFor { study: Some(Study::Solve(asked)), value, residual, there, solved: None })
}

/// The ends of the range, and the unit of the first.
fn read_between(form: &mut Form<'_, '_>) -> Option<([Quantity; 2], Unit)> {
    let place = form.place_of("between");
    let items = plain_items(form, "between", "80 kg, 300 kg");
    let mut ends = Vec::new();
    for (text, node) in &items {
        match read_literal(text) {
            Ok(literal) => ends.push(literal),
            Err(fault) => form.report(fault.code, node.span, fault.message, fault.help),
        }
    }
    if ends.len() < items.len() || items.is_empty() {
        return None;
    }
    let [low, high] = ends.as_slice() else {
        let message = words!("{} values where a range has two", ends.len());
        form.report(&codes::BAD_VALUE, place, message, "type where it begins and where it ends: `[4, 40]`");
        return None;
    };
    if let Err(fault) = high.quantity.expect_unit(&low.unit) {
        form.report(fault.code, place, fault.message, fault.help);
        return None;
    }
    if low.quantity.si == high.quantity.si {
        let help = "type where it begins and where it ends: `[4, 40]`";
        form.report(&codes::BAD_VALUE, place, "a range without anything in it", help);
        return None;
    }
    Some(([low.quantity, high.quantity], low.unit.clone()))
}

fn read_until(form: &mut Form<'_, '_>) -> Option<(Goal, Condition)> {
    let node = form.take("until")?;
    let (goal, comparison) = match (node.entries(), node.get("largest"), node.get("smallest")) {
        (None, ..) => (Goal::Equal, &node),
        (Some([_]), Some(comparison), None) => (Goal::Largest, comparison),
        (Some([_]), None, Some(comparison)) => (Goal::Smallest, comparison),
        _ => {
            let help = "type `until: a.x == b.y`, or `until: {largest: a.x <= b.y}`";
            form.report(&codes::BAD_VALUE, node.span, "no condition to solve", help);
            return None;
        }
    };
    let condition = Condition::read(form, "until", comparison)?;
    if condition.is_equality() != (goal == Goal::Equal) {
        let (message, help) = match goal {
            Goal::Equal => {
                ("a limit where two sides have to be equal", "type `{largest: …}` or `{smallest: …}`")
            }
            _ => ("two sides that are equal have no largest input", "type it without `largest`"),
        };
        form.report(&codes::BAD_VALUE, comparison.span, message, help);
        return None;
    }
    Some((goal, condition))
}

impl SolveFor {
    fn asked(&self) -> Option<(&Solve, &Solved)> {
        let Some(Study::Solve(asked)) = &self.study else { return None };
        Some((asked, self.solved.as_ref()?))
    }

    fn results(&self) -> impl Iterator<Item = Slot<Any>> {
        [self.value, self.residual].into_iter().chain(self.there.iter().copied())
    }
}

impl Block for SolveFor {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let solved = self.solved.as_ref().filter(|solved| solved.value.is_some());
        let Some(solved) = solved else {
            self.results().for_each(|slot| bench.found(slot, None));
            return;
        };
        bench.found(self.value, solved.value);
        bench.found(self.residual, Some(solved.residual));
        self.there.iter().zip(&solved.shown).for_each(|(slot, found)| bench.found(*slot, *found));
    }

    fn study(&self) -> Option<&Study> {
        self.study.as_ref()
    }

    fn answered(&self, answer: Answer) -> Option<Arc<dyn Block>> {
        let Answer::Solved(solved) = answer else { return None };
        let (value, residual, there) = (self.value, self.residual, self.there.clone());
        Some(Arc::new(SolveFor { study: self.study.clone(), value, residual, there, solved: Some(solved) }))
    }

    fn present(&self, page: &mut Page<'_>) {
        for slot in self.results() {
            page.unfit(slot, NO_VERDICT);
        }
        let Some((asked, solved)) = self.asked() else {
            self.results().for_each(|slot| {
                page.not_there(slot, "what it asks for could not be worked: see the findings")
            });
            return;
        };
        let set = asked.input.set.as_str();
        if solved.value.is_none() {
            no_solution(page, (asked, solved), self.value);
            self.results().for_each(|slot| page.not_there(slot, "nothing in the range solves it"));
            return;
        }
        for slot in self.results() {
            page.checked(slot, solved.apart, 1e-9);
            page.not_there(slot, "it is not worked with that value");
        }
        let goal = match asked.goal {
            Goal::Equal => words!(" for `{}`: there `{}`.", set, asked.condition.text),
            Goal::Largest => words!(" is the largest `{}` with `{}`.", set, asked.condition.text),
            Goal::Smallest => words!(" is the smallest `{}` with `{}`.", set, asked.condition.text),
        };
        page.sentence(words!("{}", page.value(self.value)), goal);
        doubts(page, (asked, solved), self.value);
    }
}

/// What a reader must know of a solution.
fn doubts(page: &mut Page<'_>, (asked, solved): (&Solve, &Solved), value: Slot<Any>) {
    let set = asked.input.set.as_str();
    if !solved.others.is_empty() {
        let others = solved.others.iter().map(|si| words!("{}", page.value_as(value, *si)));
        let message = words!("`{}` solves it also at {}", set, Words::joined(others, ", "));
        page.find_at(
            &SEVERAL_SOLUTIONS,
            asked.between_span,
            message,
            "narrow the range to the one that is meant",
        );
    }
    if solved.parted {
        let message = words!("the condition holds in more than one part of the range of `{}`", set);
        page.find_at(
            &SEVERAL_SOLUTIONS,
            asked.between_span,
            message,
            "narrow the range to the part that is meant",
        );
    }
    if solved.at_end {
        let message = match solved.idle {
            true => words!("`{}` changes nothing in the condition, which holds in the whole range", set),
            false => words!("the condition holds up to the end of the range of `{}`", set),
        };
        let help = match solved.idle {
            true => "name an input that the condition depends on",
            false => "widen the range, if it may go on",
        };
        page.find_at(&END_OF_RANGE, asked.between_span, message, help);
    } else if asked.goal != Goal::Equal {
        page.note("It stands at the limit: with what is uncertain in the journal the limit may be missed, so leave room.");
    }
    if solved.unknown > 0 {
        page.note(words!(
            "With {} of {} values of the range the condition could not be worked.",
            solved.unknown,
            solved.tried
        ));
    }
}

fn no_solution(page: &mut Page<'_>, (asked, solved): (&Solve, &Solved), value: Slot<Any>) {
    let set = asked.input.set.as_str();
    let message = match solved.nearest {
        _ if solved.idle => words!("`{}` changes nothing in the condition", set),
        Some(nearest) => {
            words!("no `{}` in the range solves it; {} comes nearest", set, page.value_as(value, nearest))
        }
        None => words!("the condition could not be worked with any `{}` of the range", set),
    };
    let help = match (solved.idle, asked.goal) {
        (true, _) => "name an input that the condition depends on",
        (_, Goal::Equal) => {
            "widen the range, or ask with `{largest: …}` where a step or a whole number passes it by"
        }
        _ => "widen the range, or loosen the condition",
    };
    page.sentence("Not solved", words!(": {}.", message));
    page.find_at(&NO_SOLUTION, asked.between_span, message, help);
}

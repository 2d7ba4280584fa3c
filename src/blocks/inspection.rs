//! What was settled with the inspector: limits that somebody read where they are stated.

use crate::blocks::shared::date::read_day;
use crate::findings::{codes, suggest};
use crate::model::{
    Bench, Block, Confirmation, Example, FieldDoc, Form, Kind, Page, Row, Slot, Stage, Takes,
};
use crate::rules::rules;
use crate::words::{Words, words};

pub(super) static KIND: Kind = Kind {
    name: "inspection",
    summary: "which of the program's limits were read where they are stated, by whom, and in which document",
    subsystem: "inspection",
    fields: &[
        FieldDoc::new(
            "confirmed",
            Takes::List,
            "limits of the program whose words somebody read: each is then judged as one that was read",
        )
        .optional()
        .due(Stage::Show),
        FieldDoc::new(
            "confirmed.limit",
            Takes::Text,
            "its name in `voltwright kinds limits`: `isolation_dc`, or that of a table",
        )
        .due(Stage::Show),
        FieldDoc::new("confirmed.document", Takes::Text, "the id of a `sources` document with a `file`")
            .due(Stage::Show),
        FieldDoc::new("confirmed.clause", Takes::Text, "where in the document it is stated").due(Stage::Show),
        FieldDoc::new("confirmed.by", Takes::Text, "who read it").due(Stage::Show),
        FieldDoc::new("confirmed.date", Takes::Text, "on which day: `2025-06-14`").due(Stage::Show),
    ],
    rows: &[&CONFIRMED.row],
    takes: &[],
    requires: &[],
    example: Example {
        journal: "\
```yaml inspection own
confirmed: []
```
",
        expected: &[("own.confirmed_limits", "0")],
    },
    sources: &[],
    limits: &["whether the edition that was read is the one in force for this vehicle"],
    codes: &[],
    read,
};

static CONFIRMED: Row<f64> = Row::formula("confirmed_limits", "limits that were confirmed", "1", "EACH")
    .each(&[("EACH", "1 + 1")])
    .count()
    .principal();

struct Inspection {
    count: Slot<f64>,
    confirmed: Vec<Confirmation>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let entries = form.list("confirmed", &["limit"], |form, _| confirmation(form));
    let confirmed: Vec<Confirmation> = entries.into_iter().filter_map(|entry| entry.read).collect();
    let ones = match confirmed.len() {
        0 => "0".to_owned(),
        count => vec!["1"; count].join(" + "),
    };
    let count = form.outcomes().result(CONFIRMED.with("EACH", ones));
    Box::new(Inspection { count, confirmed })
}

/// `None` where something of it is missing or wrong, which has been told.
fn confirmation(form: &mut Form<'_, '_>) -> Option<Confirmation> {
    let limit = form.text("limit");
    let document = form.text("document");
    form.cite(document.clone());
    let [clause, by] = ["clause", "by"].map(|key| form.text(key).map(|(text, _)| text));
    let date = read_day(form, "date");
    let (limit, span) = limit?;
    let source = rules().source(&limit);
    if source.is_none() {
        let help = match suggest(&limit, rules().names()) {
            Some(near) => words!("did you mean `{}`?", near),
            None => "`voltwright kinds limits --markdown` lists them".into(),
        };
        form.report(&codes::UNKNOWN_REFERENCE, span, words!("no limit is named `{}`", limit), help);
    }
    Some(Confirmation { source: source?, document: document?, clause: clause?, by: by?, date: date? })
}

impl Block for Inspection {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        #[allow(clippy::cast_precision_loss)]
        bench.set(self.count, self.confirmed.len() as f64);
    }

    fn present(&self, page: &mut Page<'_>) {
        let plural = if self.confirmed.len() == 1 { "" } else { "s" };
        let each = self.confirmed.iter().map(|one| words!("{} ({})", one.source.words(), one.words()));
        let rest: Words = match self.confirmed.is_empty() {
            true => ".".into(),
            false => words!(": {}.", Words::joined(each, "; ")),
        };
        page.sentence(words!("{} limit{} confirmed", self.confirmed.len(), plural), rest);
    }

    fn confirmed(&self) -> &[Confirmation] {
        &self.confirmed
    }
}

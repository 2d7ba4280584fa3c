//! What was settled with the inspector: limits that somebody read where they are stated.

use crate::blocks::shared::date::read_day;
use crate::blocks::shared::lists::plain_items;
use crate::findings::{codes, suggest};
use crate::model::{
    Bench, Block, Confirmation, Example, FieldDoc, Form, Kind, Node, Page, Purpose, Regard, Reply, Row, Slot,
    Stage, Statement, Takes,
};
use crate::rules::rules;
use crate::source::Span;
use crate::words::{Words, words};

pub(super) static KIND: Kind = Kind {
    name: "inspection",
    summary: "what was answered to the items of the rule packs and to what every journal is asked about, and which limits were read where they are stated, by whom",
    subsystem: "inspection",
    fields: &[
        FieldDoc::new("answers", Takes::Group, "items of rule packs, and subjects, with what is answered to them")
            .optional()
            .due(Stage::Show),
        FieldDoc::new(
            "answers.ITEM",
            Takes::Group,
            "an item: `touch_protection`, or with the name of its pack `un-r100.touch_protection`",
        )
        .optional()
        .due(Stage::Show),
        FieldDoc::new("answers.ITEM.answer", Takes::Text, "`yes`, `no` or `not-applicable`").purpose(Purpose::Answer)
            .label("answer")
            .due(Stage::Show),
        FieldDoc::new("answers.ITEM.because", Takes::Text, "why; `not-applicable` needs it").purpose(Purpose::AnswerReason)
            .label("reason of the answer")
            .optional()
            .due(Stage::Show),
        FieldDoc::new(
            "answers.ITEM.evidence",
            Takes::Special,
            "ids of `sources` documents, names of `test-record` blocks: `PH-3`, or a list; `yes` needs one where something has to be shown",
        )
        .purpose(Purpose::Answer)
        .label("evidence of the answer")
        .optional()
        .due(Stage::Show),
        FieldDoc::new(
            "answers.ITEM.by",
            Takes::Text,
            "who answers, with the role where one is asked for: `S. Orr, certifier`",
        )
        .purpose(Purpose::Answer)
        .label("answered by")
        .due(Stage::Show),
        FieldDoc::new("answers.ITEM.date", Takes::Text, "on which day: `2025-06-14`").purpose(Purpose::Answer)
            .label("date of the answer")
            .due(Stage::Show),
        FieldDoc::new("packs", Takes::List, "rule packs, beside those under `rules` in the front matter").optional(),
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
    rows: &[&ANSWERED.row, &CONFIRMED.row],
    takes: &[],
    requires: &[],
    example: Example {
        journal: "\
```yaml inspection own
packs: [us-virginia]
answers:
  us-virginia.removed: {answer: yes, evidence: PH-1, by: builder K. Ames, date: 2026-03-02}
  towing: {answer: no, because: not settled yet, by: K. Ames, date: 2026-03-02}
  emc: {answer: not-applicable, because: the place asks for nothing, by: K. Ames, date: 2026-03-02}
```

```yaml sources papers
PH-1: {title: Photograph of the empty engine bay, kind: photograph}
```
",
        expected: &[("own.confirmed_limits", "0"), ("own.answered", "3")],
    },
    sources: &[],
    limits: &["whether the edition that was read is the one in force for this vehicle"],
    codes: &[],
    read,
};

static ANSWERED: Row<f64> = Row::formula("answered", "items that were answered", "1", "EACH")
    .each(&[("EACH", "1 + 1")])
    .count()
    .principal();
static CONFIRMED: Row<f64> = Row::formula("confirmed_limits", "limits that were confirmed", "1", "EACH")
    .each(&[("EACH", "1 + 1")])
    .count()
    .principal();

struct Inspection {
    answered: Slot<f64>,
    statements: Vec<Statement>,
    packs: Vec<(String, Span)>,
    count: Slot<f64>,
    confirmed: Vec<Confirmation>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let entries = form.list("confirmed", &["limit"], |form, _| confirmation(form));
    let confirmed: Vec<Confirmation> = entries.into_iter().filter_map(|entry| entry.read).collect();
    let mut statements = Vec::new();
    form.group("answers", |form| {
        let own = form.take("ITEM");
        for (key, value) in own.iter().filter_map(Node::entries).flatten() {
            let Some(item) = key.text() else { continue };
            // Answers that stand a level too deep are told once.
            let inner = value.entries().into_iter().flatten();
            if value.get("answer").is_none()
                && inner.into_iter().any(|(_, inner)| inner.get("answer").is_some())
            {
                let message = words!("`{}` is no answer, and answers stand in it", item);
                form.report(&codes::BAD_VALUE, key.span, message, "what stands in it belongs one level up");
                continue;
            }
            statements.extend(form.group(item, |form| statement(form, item, key.span)).flatten());
        }
    });
    let packs =
        plain_items(form, "packs", "un-r100").into_iter().map(|(name, node)| (name, node.span)).collect();
    let ones = |count| match count {
        0 => "0".to_owned(),
        count => vec!["1"; count].join(" + "),
    };
    let mut out = form.outcomes();
    let answered = out.result(ANSWERED.with("EACH", ones(statements.len())));
    let count = out.result(CONFIRMED.with("EACH", ones(confirmed.len())));
    Box::new(Inspection { answered, statements, packs, count, confirmed })
}

/// `None` where something of it is missing or wrong, which has been told.
fn statement(form: &mut Form<'_, '_>, item: &str, at: Span) -> Option<Statement> {
    let reply = match form.choice("answer", &["yes", "no", "not-applicable"]) {
        Some("yes") => Some(Reply::Yes),
        Some("no") => Some(Reply::No),
        Some(_) => Some(Reply::NotApplicable),
        None => None,
    };
    // A dash is no reason.
    let because =
        form.text("because").map(|(text, _)| text).filter(|text| text.contains(char::is_alphabetic));
    let mut evidence = Vec::new();
    if let Some(value) = form.take("evidence") {
        for one in value.items().unwrap_or(std::slice::from_ref(&value)) {
            match one.text().map(str::trim) {
                Some(id) if !id.is_empty() => evidence.push((id.to_owned(), one.span)),
                _ => form.wrong_shape("evidence", one, "the id of a document"),
            }
        }
    }
    for (id, span) in &evidence {
        // What is no block is a document.
        if form.lookup().block(id, "").is_none() {
            form.regard(Regard::ShownBy(id.clone(), *span));
        }
    }
    let by = form.text("by").map(|(text, _)| text);
    let date = read_day(form, "date");
    // A `no` stands, whoever gave it.
    let half = |text: &str| (reply == Some(Reply::No)).then(|| text.to_owned());
    let (by, date) = (by.or_else(|| half("somebody")), date.or_else(|| half("a day that is not told")));
    Some(Statement { item: item.to_owned(), at, reply: reply?, because, evidence, by: by?, date: date? })
}

/// `None` where something of it is missing or wrong, which has been told.
fn confirmation(form: &mut Form<'_, '_>) -> Option<Confirmation> {
    let limit = form.text("limit");
    let document = form.text("document");
    if let Some((id, at)) = &document {
        form.regard(Regard::ShownBy(id.clone(), *at));
    }
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
        {
            bench.set(self.answered, self.statements.len() as f64);
            bench.set(self.count, self.confirmed.len() as f64);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let plural = if self.confirmed.len() == 1 { "" } else { "s" };
        let each = self.confirmed.iter().map(|one| words!("{} ({})", one.source.words(), one.words()));
        let rest: Words = match self.confirmed.is_empty() {
            true => ".".into(),
            false => words!(": {}.", Words::joined(each, "; ")),
        };
        let items = self.statements.len();
        let bold = words!(
            "{} answer{}, {} limit{} confirmed",
            items,
            if items == 1 { "" } else { "s" },
            self.confirmed.len(),
            plural
        );
        page.sentence(bold, rest);
    }

    fn packs(&self) -> &[(String, Span)] {
        &self.packs
    }

    fn statements(&self) -> &[Statement] {
        &self.statements
    }

    fn confirmed(&self) -> &[Confirmation] {
        &self.confirmed
    }
}

//! The documents that the journal's values come from.

use crate::blocks::shared::lists::plain_text;
use crate::findings::codes;
use crate::model::{Bench, Block, Example, FieldDoc, Form, Kind, Node, Page, SourceEntry, Takes};
use crate::words::words;

pub(crate) static KIND: Kind = Kind {
    name: "sources",
    summary: "the documents that values come from: weigh tickets, datasheets, letters",
    subsystem: "sources",
    fields: &[
        FieldDoc::new("ID", Takes::Group, "a document, under the id that values name it by").optional(),
        FieldDoc::new("ID.title", Takes::Text, "what it is").label("title of the source"),
        FieldDoc::new("ID.kind", Takes::Text, "weigh ticket, datasheet, letter, photograph")
            .label("kind of the source")
            .optional(),
        FieldDoc::new("ID.date", Takes::Text, "when it was made").label("date of the source").optional(),
        FieldDoc::new("ID.publisher", Takes::Text, "who made it").label("publisher of the source").optional(),
        FieldDoc::new(
            "ID.file",
            Takes::Text,
            "its path in the journal folder; its SHA-256 goes into the dossier",
        )
        .label("file of the source")
        .optional(),
        FieldDoc::new("ID.link", Takes::Text, "where it can be found").label("link to the source").optional(),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    example: Example {
        journal: "\
```yaml sources papers
WB-1: {title: Weigh ticket of the donor, kind: weigh ticket, date: 2026-03-02}
DS-1: {title: Datasheet of the cell, publisher: Invented Cells}
```

```yaml part motor
role: drive motor
mass: 41.5 kg ± 0.2 kg (measured WB-1)
```

```yaml part cell
role: cell
mass: 1.95 kg (datasheet DS-1)
```
",
        expected: &[("motor.mass", "41.5 kg")],
    },
    sources: &[],
    limits: &[],
    codes: &[],
    read,
};

struct Sources {
    entries: Vec<SourceEntry>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let mut entries: Vec<SourceEntry> = Vec::new();
    let own = form.take("ID");
    for (key, value) in own.iter().filter_map(Node::entries).flatten() {
        let Some(id) = key.text() else { continue };
        let mut entry = SourceEntry {
            id: id.to_owned(),
            span: key.span,
            title: String::new(),
            details: Vec::new(),
            link: None,
            names_file: false,
            file: None,
        };
        form.group(id, |form| read_entry(form, &mut entry));
        if entry.title.is_empty() && value.entries().is_some() {
            let message = words!("source `{}` has no `title`", id);
            form.report(&codes::MISSING_FIELD, key.span, message, "type `title: …`, what the document is");
            // A file may stand in it where it could not be read.
            entry.names_file = true;
        }
        entries.push(entry);
    }
    Box::new(Sources { entries })
}

fn read_entry(form: &mut Form<'_, '_>, entry: &mut SourceEntry) {
    entry.title = plain_text(form, "title").map_or_else(String::new, |(text, _)| text);
    let mut details: Vec<_> = ["kind", "date", "publisher"]
        .into_iter()
        .filter_map(|key| plain_text(form, key).map(|(text, span)| (span.range().start, (key, text))))
        .collect();
    // As they are written.
    details.sort_unstable();
    entry.details = details.into_iter().map(|(_, detail)| detail).collect();
    match plain_text(form, "link") {
        Some((text, _)) if text.starts_with("https://") || text.starts_with("http://") => {
            entry.link = Some(text)
        }
        Some((text, span)) => {
            let message = words!("`{}` is no web address", text);
            form.report(&codes::UNSAFE_LINK, span, message, "type an address that begins with https://");
        }
        None => {}
    }
    if let Some((path, span)) = plain_text(form, "file") {
        entry.names_file = true;
        entry.file = form.file_hash(&path, span).map(|hash| (path, hash));
    }
}

impl Block for Sources {
    fn evaluate(&self, _bench: &mut Bench<'_>) {}

    fn lines_stand_alone(&self) -> bool {
        true
    }

    fn present(&self, page: &mut Page<'_>) {
        let n = self.entries.len();
        let files = self.entries.iter().filter(|entry| entry.file.is_some()).count();
        let bold = words!("{} source{}", n, if n == 1 { "" } else { "s" });
        page.sentence(bold, words!(", {} of them with a file in the journal folder.", files));
    }

    fn sources(&self) -> &[SourceEntry] {
        &self.entries
    }
}

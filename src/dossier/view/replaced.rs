//! A block that another one replaced, in a line and a table beside the new one; and the history of a block.

use super::super::piece::{Align, Face, Item, Piece, Rich, Row, Table};
use super::rich::{self, block_id, column};
use super::{Scene, item};
use crate::journal::{BlockForm, plain};
use crate::report::ResultRow;

/// What is told of a block that was replaced; `None` of one that was not.
pub(super) fn collapsed(scene: &Scene<'_>, number: usize) -> Option<Vec<Item>> {
    let blocks = &scene.given.worked.notebook.blocks;
    let new = blocks[number].replaced_by?;
    let report = &scene.reports[number];
    let place = scene.given.sources.place(blocks[number].name_span);
    let file = scene.path(blocks[number].name_span.file);
    let mut sentence = vec![rich::text("Replaced", Face::Strong), rich::text(" by ", Face::Plain)];
    sentence.push(rich::block(&blocks[new].name));
    sentence.extend(written(scene, new).map(|date| rich::text(format!(" on {date}"), Face::Plain)));
    let because = blocks[new].because.as_ref().map(|because| format!(", because: {because}"));
    sentence.push(rich::text(format!("{}.", because.unwrap_or_default()), Face::Plain));
    let opening = Piece::Opening {
        kind: report.kind.to_owned(),
        name: report.name.clone(),
        words: Rich::default(),
        sentence: Rich(sentence),
    };
    let log = vec![rich::one(format!("{file}, line {}", place.line), Face::Quiet)];
    let mut items = vec![Item { id: Some(block_id(&report.name)), log, piece: opening }];
    items.extend(beside(scene, number, new));
    Some(items)
}

/// The results of the old block, each beside that of the new one.
fn beside(scene: &Scene<'_>, number: usize, new: usize) -> Option<Item> {
    let (old, new) = (&scene.reports[number], &scene.reports[new]);
    let same = |result: &ResultRow| new.results.iter().find(|other| other.name == result.name);
    let rows: Vec<Row> = old
        .results
        .iter()
        .map(|result| {
            let now = same(result).map_or_else(
                || rich::one("not there", Face::Quiet),
                |now| rich::link(now.full.clone(), format!("{}.{}", new.name, now.name)),
            );
            let cells = vec![rich::label(&result.label), rich::label(&result.full), now];
            let id = Some(format!("{}.{}", old.name, result.name));
            Row { id, cells, log: Vec::new(), strong: false }
        })
        .collect();
    let columns = vec![
        column("Result", Align::Left, 5),
        column("Old", Align::Decimal, 4),
        column("New", Align::Decimal, 4),
    ];
    (!rows.is_empty()).then(|| item(Piece::Table(Table { columns, rows, caption: None })))
}

/// The blocks that a name meant one after another, the first of them first; nothing for a block that replaces none.
pub(super) fn history(scene: &Scene<'_>, number: usize) -> Option<Item> {
    let blocks = &scene.given.worked.notebook.blocks;
    blocks[number].replaces?;
    // A chain of replacements is no loop: that is an error, and nothing is replaced then.
    let chain = std::iter::successors(Some(number), |at| blocks[*at].replaces).take(blocks.len());
    let mut chain: Vec<usize> = chain.collect();
    chain.reverse();
    let row = |at: usize| Row {
        id: None,
        cells: vec![
            Rich(vec![rich::block(&blocks[at].name)]),
            Rich::plain(written(scene, at).unwrap_or_default()),
            Rich::plain(blocks[at].because.clone().unwrap_or_default()),
        ],
        log: Vec::new(),
        strong: at == number,
    };
    let rows = chain.into_iter().map(row).collect();
    let columns = vec![
        column("History", Align::Left, 4),
        column("Written", Align::Left, 3),
        column("Because", Align::Left, 7),
    ];
    Some(item(Piece::Table(Table { columns, rows, caption: None })))
}

/// The day of a block's entry: that of the last heading above it that names one, or of its file's name.
fn written(scene: &Scene<'_>, number: usize) -> Option<String> {
    let span = scene.given.worked.notebook.blocks[number].name_span;
    let journal = scene.given.worked.journals.iter().find(|journal| journal.file == span.file)?;
    let above = journal.prose.iter().take_while(|block| block.span.start < span.start);
    let headings = above.filter_map(|block| match &block.form {
        BlockForm::Heading { text, .. } => day_in(&plain(text)),
        _ => None,
    });
    let name = scene.path(span.file).rsplit('/').next().unwrap_or_default();
    headings.last().or_else(|| day_in(name))
}

/// The first `2026-03-02` in a text, or else the first `2 March 2026`, written as the other.
fn day_in(text: &str) -> Option<String> {
    in_figures(text).or_else(|| in_words(text))
}

fn in_words(text: &str) -> Option<String> {
    const MONTHS: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let words: Vec<&str> = text.split_whitespace().collect();
    words.windows(3).find_map(|of| {
        let month = MONTHS.iter().position(|month| *month == of[1])? + 1;
        let day: u8 = of[0].parse().ok().filter(|day| (1..=31).contains(day))?;
        let year = of[2].trim_end_matches(|c: char| !c.is_ascii_digit());
        let year: u16 = year.parse().ok().filter(|_| year.len() == 4)?;
        Some(format!("{year}-{month:02}-{day:02}"))
    })
}

fn in_figures(text: &str) -> Option<String> {
    let pattern = "0000-00-00";
    let fits = |at: usize| {
        let day = text.get(at..at + pattern.len())?;
        let same = |(c, of): (char, char)| if of == '-' { c == '-' } else { c.is_ascii_digit() };
        day.chars().zip(pattern.chars()).all(same).then(|| day.to_owned())
    };
    text.char_indices().find_map(|(at, _)| fits(at))
}

#[cfg(test)]
mod tests {
    use super::day_in;

    #[test]
    fn a_day_is_found_in_a_heading_or_name() {
        assert_eq!(day_in("2026-03-02: what it is"), Some("2026-03-02".to_owned()));
        assert_eq!(day_in("Über den 2026-03-02."), Some("2026-03-02".to_owned()));
        assert_eq!(day_in("2026-3-2, 20260302 and 1-2026"), None);
        assert_eq!(day_in("2 March 2026: what it is"), Some("2026-03-02".to_owned()));
        assert_eq!(day_in("32 March 2026, 2 March 26, March 2026"), None);
    }
}

//! What must hold of any page, and of how pages begin and end.

use std::collections::BTreeSet;
use std::ops::Deref;

use super::super::drawing::Drawing;
use super::super::piece::{
    Align, Columns, ContentsEntry, Document, Entry, Face, HeadlineFigure, Item, Paper, PictureFormat, Piece,
    Rich, Row, Run, SignatureBox, Style, Table,
};
use super::everything::everything;
use super::mark::{Area, Mark, Part, Words};
use super::sample::{body, column, document, heading, item, noted, of_items, picture, png, rich, row, table};
use super::{Layout, Page};
use super::{Sheets, layout, size};

const LONG: &str = "The plate was drilled from the old mounts so that nothing had to be welded to the body. ";

/// The words of a run of glyphs.
fn text(words: &Words) -> String {
    let parts = words.parts.iter().map(|part| match part {
        Part::Text(text) => text.clone(),
        Part::Shift(_) => String::new(),
        Part::Glyphs(glyphs) => glyphs.iter().map(|glyph| glyph.1.as_str()).collect(),
    });
    parts.collect()
}

fn words(page: &Page) -> Vec<&Words> {
    let words = page.marks.iter().filter_map(|mark| match mark {
        Mark::Text(words) => Some(words),
        _ => None,
    });
    words.collect()
}

/// All words of a page in the order of reading, without running head and foot.
fn flow(page: &Page) -> String {
    words(page).iter().map(|words| text(words)).collect()
}

fn ink(words: &Words) -> Area {
    Area {
        left: words.x,
        top: words.baseline - words.size * 0.73,
        right: words.x + words.width,
        bottom: words.baseline + words.size * 0.2,
    }
}

fn overlap(one: Area, other: Area) -> bool {
    let hair = 0.3;
    one.left + hair < other.right
        && other.left + hair < one.right
        && one.top + hair < other.bottom
        && other.top + hair < one.bottom
}

/// A document laid out, with its pages.
struct Laid {
    layout: Layout,
    pages: Vec<Page>,
    size: (f64, f64),
}

impl Deref for Laid {
    type Target = Layout;

    fn deref(&self) -> &Layout {
        &self.layout
    }
}

#[derive(Default)]
struct Pile(Vec<Page>);

impl Sheets for Pile {
    fn page(&mut self, page: Page) {
        self.0.push(page);
    }

    fn furniture(&mut self, place: usize, page: Page) {
        let under = &mut self.0[place];
        let marks = under.marks.len();
        under.tags.extend(page.tags.iter().map(|(from, element)| (marks + from, *element)));
        under.marks.extend(page.marks);
    }
}

/// Nothing outside the paper's margins, and no words over others.
#[track_caller]
fn check(document: &Document) -> Laid {
    let mut pile = Pile::default();
    let layout = layout(document, &mut pile);
    assert_eq!(layout.pages, pile.0.len());
    let laid = Laid { layout, pages: pile.0, size: size(document) };
    let (width, height) = laid.size;
    for (number, page) in laid.pages.iter().enumerate() {
        let words = words(page);
        for (index, one) in words.iter().enumerate() {
            let area = ink(one);
            let inside = area.left >= 20.0
                && area.right <= width - 20.0
                && area.top >= 20.0
                && area.bottom <= height - 20.0;
            assert!(inside, "outside page {number}: {:?} at {area:?}", text(one));
            for other in &words[index + 1..] {
                assert!(
                    !overlap(area, ink(other)),
                    "on page {number}: {:?} over {:?}",
                    text(one),
                    text(other)
                );
            }
        }
        for mark in &page.marks {
            let points = match mark {
                Mark::Line { points, .. } | Mark::Shape { points, .. } => points.clone(),
                Mark::Image { area, .. } => vec![(area.left, area.top), (area.right, area.bottom)],
                Mark::Text(_) => Vec::new(),
            };
            let inside =
                |point: &(f64, f64)| (0.0..=width).contains(&point.0) && (0.0..=height).contains(&point.1);
            assert!(points.iter().all(inside), "outside page {number}: {mark:?}");
        }
    }
    laid
}

#[track_caller]
fn check_pieces(pieces: Vec<Piece>) -> Laid {
    check(&document(pieces))
}

#[test]
fn every_piece_has_its_place_on_both_papers() {
    check(&everything());
    let laid = check(&Document { paper: Paper::Letter, ..everything() });
    assert_eq!(laid.size, (612.0, 792.0));
}

#[test]
fn an_empty_document_has_one_page() {
    assert_eq!(check_pieces(Vec::new()).pages.len(), 1);
}

#[test]
fn a_heading_never_stands_alone_at_the_foot() {
    for lines in 30..60 {
        let mut items: Vec<Item> = (0..lines).map(|_| item(body("A line."))).collect();
        items.push(heading(3, "Heading that keeps", "keeps"));
        items.push(item(body(&LONG.repeat(4))));
        let laid = check(&of_items(items));
        let page = laid.pages.iter().find(|page| flow(page).contains("Heading that keeps"));
        assert!(flow(page.expect("the heading")).contains("The plate"), "after {lines} lines");
    }
}

#[test]
fn no_line_of_a_paragraph_stands_alone() {
    for lines in 30..50 {
        let mut pieces: Vec<Piece> = (0..lines).map(|_| body("A line.")).collect();
        pieces.push(body(&LONG.repeat(5)));
        let laid = check_pieces(pieces);
        for page in &laid.pages {
            let mut baselines: Vec<i64> = words(page)
                .iter()
                .filter(|words| words.size > 9.0 && !text(words).starts_with("A line."))
                .map(|words| words.baseline.round() as i64)
                .collect();
            baselines.dedup();
            assert_ne!(baselines.len(), 1, "after {lines} lines");
        }
    }
}

#[test]
fn an_opening_stays_with_its_figures_and_the_first_rows() {
    for lines in 20..60 {
        let mut pieces: Vec<Piece> = (0..lines).map(|_| body("A line.")).collect();
        pieces.push(Piece::Opening {
            kind: "drive".into(),
            name: "d".into(),
            words: Rich::default(),
            sentence: rich("The outcome."),
        });
        let figure = HeadlineFigure { label: "speed".into(), value: "12 rpm".into(), target: None };
        pieces.push(Piece::Headline { figures: vec![figure] });
        pieces.push(Piece::Table(table(9)));
        let laid = check_pieces(pieces);
        let page = laid.pages.iter().find(|page| flow(page).contains("The outcome."));
        let flow = flow(page.expect("the opening"));
        assert!(flow.contains("bracket 0") && flow.contains("bracket 1"), "after {lines} lines: {flow}");
    }
}

#[test]
fn a_table_says_its_head_on_every_page_and_its_rows_once() {
    let laid = check_pieces(vec![body(LONG), Piece::Table(table(100))]);
    assert!(laid.pages.len() > 1);
    let mut rows = 0;
    for page in &laid.pages {
        let flow = flow(page);
        assert_eq!(flow.matches("From the front axle").count(), 1);
        rows += flow.matches("bracket").count();
    }
    assert_eq!(rows, 100);
}

#[test]
fn decimal_points_stand_in_line() {
    let cells = ["1.25 kg", "12.5 kg", "1\u{a0}420 kg", "0.031 kg"];
    let rows = cells.iter().map(|cell| row(&[cell])).collect();
    let columns = vec![column("Mass", Align::Decimal, 0)];
    let laid = check_pieces(vec![Piece::Table(Table { columns, rows, caption: None })]);
    let mut points = Vec::new();
    let mut setter = super::setting::Setter::default();
    for words in words(&laid.pages[0]).into_iter().filter(|words| text(words).contains("kg")) {
        let whole = text(words).find('.').unwrap_or(5);
        let before = text(words)[..whole].replace("1 4", "1\u{a0}4");
        points.push(words.x + f64::from(setter.width(words.font, &before)) * words.size / 1000.0);
    }
    assert_eq!(points.len(), 4);
    assert!(points.iter().all(|point| (point - points[0]).abs() < 0.05), "{points:?}");
}

#[test]
fn wide_tables_and_endless_words_are_broken_not_cut() {
    let endless = "a".repeat(200);
    let address = format!("https://example.org/{}", "folder/".repeat(30));
    for count in [1, 3, 7, 12, 18, 40] {
        let columns = (0..count).map(|index| column(&format!("column {index}"), Align::Left, 0)).collect();
        let cells: Vec<String> = (0..count)
            .map(|index| match index % 3 {
                0 => endless.clone(),
                1 => address.clone(),
                _ => LONG.to_owned(),
            })
            .collect();
        let cells: Vec<&str> = cells.iter().map(String::as_str).collect();
        let rows = vec![row(&cells), row(&cells[..1]), Row { strong: true, ..row(&cells) }];
        let laid = check_pieces(vec![body(&endless), Piece::Table(Table { columns, rows, caption: None })]);
        let letters: usize = laid.pages.iter().map(|page| flow(page).matches("aaa").count()).sum();
        assert!(letters >= 200 / 3, "{count} columns");
    }
}

#[test]
fn a_row_taller_than_the_page_is_split() {
    let columns = vec![column("Item", Align::Left, 0), column("Story", Align::Left, 0)];
    let rows = vec![row(&["one", &LONG.repeat(120)]), row(&["two", "short"])];
    let laid = check_pieces(vec![Piece::Table(Table { columns, rows, caption: None })]);
    let all: String = laid.pages.iter().map(flow).collect();
    assert_eq!(all.matches("drilled").count(), 120);
}

#[test]
fn typed_text_keeps_every_line() {
    let text: String = (0..3000).map(|line| format!("    let line_{line} = {line};\n")).collect();
    let laid = check_pieces(vec![Piece::Code { text }]);
    let all: String = laid.pages.iter().map(flow).collect();
    assert!((0..3000).all(|line| all.contains(&format!("    let line_{line} = {line};"))));
}

#[test]
fn notes_stand_beside_their_line_and_never_over_each_other() {
    let note = "measured on this vehicle with the steel rule of the workshop, twice, by two people";
    let mut items: Vec<Item> = (0..60).map(|_| noted(body("A line."), &[note, "WB-2"])).collect();
    let rows = (0..40)
        .map(|index| Row {
            log: vec![rich(&format!("measured on day {index}"))],
            ..row(&[&format!("row {index}"), "1.5"])
        })
        .collect();
    let columns = vec![column("Item", Align::Left, 0), column("Value", Align::Decimal, 0)];
    items.push(item(Piece::Table(Table { columns, rows, caption: None })));
    let laid = check(&of_items(items));
    for page in &laid.pages {
        let all = words(page);
        for line in
            all.iter().filter(|words| text(words).starts_with("A line.") || text(words).starts_with("row "))
        {
            let beside = all.iter().any(|other| {
                text(other).starts_with("measured on") && (other.baseline - line.baseline).abs() < 0.01
            });
            assert!(beside, "{:?}", text(line));
        }
    }
}

/// A table whose rows all have this note, page by page.
fn noted_rows(count: usize, note: &str) -> Vec<String> {
    let rows = (0..count)
        .map(|index| Row { log: vec![rich(note)], ..row(&[&format!("row {index}"), "1.5 kg"]) })
        .collect();
    let columns = vec![column("Item", Align::Left, 0), column("Value", Align::Decimal, 0)];
    let table = Piece::Table(Table { columns, rows, caption: None });
    check(&of_items(vec![item(table)])).pages.iter().map(flow).collect()
}

#[test]
fn what_the_log_says_of_several_rows_stands_once_on_a_page() {
    let pages = noted_rows(150, "weighed");
    assert!(pages.len() > 1);
    for page in pages {
        assert_eq!(page.matches("weighed").count(), 1, "{page}");
    }
}

#[test]
fn a_note_taller_than_its_row_stands_under_it() {
    let long = "weighed on the platform scale of the workshop, twice, by two people who wrote it down";
    let [page] = &noted_rows(1, long)[..] else { panic!("one page") };
    assert!(page.contains(long), "in one line, which the log has no room for: {page}");
}

/// Baselines of the words that begin so, on the first page.
fn baselines(laid: &Laid, begin: &str) -> Vec<f64> {
    let all = words(&laid.pages[0]);
    all.iter().filter(|words| text(words).starts_with(begin)).map(|words| words.baseline).collect()
}

#[test]
fn a_note_reaches_down_beside_the_next_row_where_that_leaves_room_for_its_own() {
    let note = "first measured, then weighed on the platform scale";
    let rows = |second: &str| {
        vec![
            Row { log: vec![rich(note)], ..row(&["short", "1.5 kg"]) },
            Row { log: vec![rich("second stated")], ..row(&[second, "1.5 kg"]) },
        ]
    };
    let laid = |second: &str| {
        let columns = vec![column("Item", Align::Left, 1), column("Value", Align::Left, 0)];
        let table = Table { columns, rows: rows(second), caption: None };
        check(&of_items(vec![item(Piece::Table(table))]))
    };
    // The row of several lines has its note beside its second.
    let tall = laid(&LONG.repeat(3));
    let (first, below) = (baselines(&tall, "first measured"), baselines(&tall, "second stated"));
    let rows = (baselines(&tall, "short")[0], baselines(&tall, "The plate was")[0]);
    assert!((first[0] - rows.0).abs() < 0.3, "beside its row");
    assert!(below[0] > rows.1 + 5.0, "beside the next line of its row");
    assert!(rows.1 - rows.0 < 10.0, "no row is pushed down");
    // The row of one line has no other: the first note stands under its own.
    let low = laid("short too");
    let page = flow(&low.pages[0]);
    assert!(page.contains(note), "in one line under its row: {page}");
    assert!((baselines(&low, "second stated")[0] - baselines(&low, "short too")[0]).abs() < 0.3);
}

#[test]
fn two_rows_of_a_long_narrow_table_stand_in_one_line() {
    let rows = |count: usize| (0..count).map(|at| row(&[&format!("row {at}"), "1.5 kg"])).collect();
    let laid = |count| {
        let columns = vec![column("Item", Align::Left, 0), column("Value", Align::Left, 0)];
        check_pieces(vec![Piece::Table(Table { columns, rows: rows(count), caption: None })])
    };
    let at = |laid: &Laid, name: &str| baselines(laid, name)[0];
    let long = laid(21);
    assert!((at(&long, "row 18") - at(&long, "row 19")).abs() < 0.01, "read from line to line");
    assert!(at(&long, "row 20") > at(&long, "row 19"), "the last is alone");
    let short = laid(4);
    assert!(at(&short, "row 1") > at(&short, "row 0"));
}

#[test]
fn what_a_picture_shows_is_said_in_the_log_if_there_is_one() {
    let of = |columns| {
        let drawing = Drawing { width: 100.0, height: 50.0, alt: "a slope".into(), marks: Vec::new() };
        let figure = Piece::Figure { drawing, caption: rich("How it falls.") };
        check(&Document { columns, ..document(vec![figure, body("After it.")]) })
    };
    let (log, one) = (of(Columns::Log), of(Columns::One));
    let gap = |laid: &Laid| baselines(laid, "After it.")[0] - baselines(laid, "How it")[0];
    assert!(gap(&log) > 40.0, "beside the picture's top");
    assert!(gap(&one) < 25.0, "under the picture");
}

#[test]
fn no_column_of_the_contents_is_read_over_the_end_of_a_page() {
    for (before, count) in [(45, 60), (3, 400)] {
        let mut items: Vec<Item> = (0..before).map(|_| item(body("A line."))).collect();
        let entry = |at| ContentsEntry {
            level: 2,
            text: rich(&format!("day {at:03}")),
            id: format!("day-{at}"),
            remark: Rich::default(),
        };
        items.push(item(Piece::Contents { entries: (0..count).map(entry).collect() }));
        let laid = check(&of_items(items));
        let days = laid.pages.iter().map(|page| {
            let days = words(page).into_iter().filter_map(|words| text(words).get(4..7)?.parse().ok());
            days.collect::<BTreeSet<usize>>()
        });
        let mut next = 0;
        for page in days.filter(|page| !page.is_empty()) {
            // Those of a page follow each other, and those of the next page them.
            let ends = (page.first().copied(), page.last().copied());
            assert_eq!(ends, (Some(next), Some(next + page.len() - 1)));
            next += page.len();
        }
        assert_eq!(next, count);
    }
}

#[test]
fn points_stand_in_line_within_one_unit_only() {
    let of = |cells: [&str; 2]| {
        let columns = vec![column("Value", Align::Decimal, 0)];
        Table { columns, rows: cells.map(|cell| row(&[cell])).into(), caption: None }.align(0)
    };
    assert_eq!(of(["1.5\u{a0}kg", "12 ± 3\u{a0}kg"]), Align::Decimal);
    assert_eq!(of(["1.5\u{a0}kg", "12\u{a0}m"]), Align::Left);
    assert_eq!(of(["1.5\u{a0}kg", "not known"]), Align::Decimal);
}

#[test]
fn a_table_that_goes_on_says_whose_it_is() {
    let opening = Piece::Opening {
        kind: "drive".into(),
        name: "the_drive".into(),
        words: Rich::default(),
        sentence: rich("The outcome."),
    };
    let laid = check_pieces(vec![opening, Piece::Table(table(100))]);
    assert!(laid.pages.len() > 1);
    for page in &laid.pages[1..] {
        let flow = flow(page);
        // In the running head and above the table.
        assert!(flow.contains("the_drive, continued") && flow.matches("the_drive").count() == 2, "{flow}");
    }
}

#[test]
fn a_note_longer_than_a_page_runs_on() {
    let long = LONG.repeat(150);
    let laid = check(&of_items(vec![noted(body("A line."), &[&long]), noted(body("Another."), &["next"])]));
    let all: String = laid.pages.iter().map(flow).collect();
    assert_eq!(all.matches("drilled").count(), 150);
}

#[test]
fn deep_nesting_keeps_its_place() {
    let mut items = vec![item(body(LONG))];
    for depth in 0..400 {
        let piece = if depth % 2 == 0 {
            Piece::Quote { items }
        } else {
            Piece::List { start: Some(depth), entries: vec![Entry { task: None, items }] }
        };
        items = vec![item(piece)];
    }
    check(&of_items(items));
}

#[test]
fn boxes_hold_what_they_are_given() {
    let long = LONG.repeat(40);
    let figure = |value: &str| HeadlineFigure { label: LONG.into(), value: value.into(), target: None };
    check_pieces(vec![
        Piece::Caution {
            high_voltage: true,
            title: LONG.into(),
            lines: vec![rich(&long), rich(&long), rich(&long)],
        },
        Piece::Headline {
            figures: vec![figure("12\u{a0}133\u{a0}rpm"), figure(&"9".repeat(90)), figure("3"), figure("4")],
        },
        Piece::Signatures {
            boxes: vec![SignatureBox { title: LONG.into(), lines: vec![LONG.into(), "date".into()] }],
        },
    ]);
}

#[test]
fn pictures_fit_the_column() {
    for (width, height) in [(4000, 10), (10, 3000), (1, 1), (900, 700)] {
        check_pieces(vec![body(LONG), png(width, height, png::ColorType::Grayscale, png::BitDepth::Eight)]);
    }
}

#[test]
fn a_broken_picture_says_what_it_would_have_shown() {
    let broken = [
        picture(PictureFormat::Jpeg, vec![0xff, 0xd8, 0xff], (10, 10)),
        picture(PictureFormat::Png, b"\x89PNG\r\n\x1a\n".to_vec(), (10, 10)),
        picture(PictureFormat::Png, Vec::new(), (0, 0)),
    ];
    for piece in broken {
        let laid = check_pieces(vec![piece]);
        assert!(laid.images.is_empty());
        assert!(flow(&laid.pages[0]).contains("the motor on its bench"));
    }
}

#[test]
fn a_caption_stays_with_its_picture() {
    for lines in 10..40 {
        let mut pieces: Vec<Piece> = (0..lines).map(|_| body("A line.")).collect();
        pieces.push(png(600, 600, png::ColorType::Grayscale, png::BitDepth::Eight));
        pieces.push(Piece::Paragraph { style: Style::Caption, text: rich("What it shows.") });
        let laid = check_pieces(pieces);
        let page = laid.pages.iter().find(|page| flow(page).contains("What it shows.")).expect("the caption");
        assert!(page.marks.iter().any(|mark| matches!(mark, Mark::Image { .. })), "after {lines} lines");
    }
}

#[test]
fn a_picture_without_room_waits_while_what_follows_fills_the_page() {
    let mut pieces: Vec<Piece> = (0..30).map(|_| body("A line.")).collect();
    pieces.push(png(700, 700, png::ColorType::Grayscale, png::BitDepth::Eight));
    pieces.push(Piece::Paragraph { style: Style::Caption, text: rich("What it shows.") });
    pieces.extend((0..8).map(|_| body("What follows.")));
    let laid = check_pieces(pieces);
    assert_eq!(flow(&laid.pages[0]).matches("What follows.").count(), 8);
    assert!(flow(&laid.pages[1]).contains("What it shows."));
}

#[test]
fn a_picture_does_not_wait_beyond_the_next_heading() {
    let mut items: Vec<Item> = (0..30).map(|_| item(body("A line."))).collect();
    items.push(item(png(700, 700, png::ColorType::Grayscale, png::BitDepth::Eight)));
    items.push(item(Piece::Paragraph { style: Style::Caption, text: rich("What it shows.") }));
    items.push(heading(3, "Next", "next"));
    let laid = check(&of_items(items));
    let after = flow(&laid.pages[1]);
    assert!(after.find("What it shows.") < after.find("Next"));
}

#[test]
fn ids_are_where_their_piece_is() {
    let mut items = vec![heading(2, "First", "first")];
    items.extend((0..80).map(|_| item(body("A line."))));
    items.push(heading(2, "Last", "last"));
    let mut total = table(90);
    total.rows[89].id = Some("row".into());
    items.push(item(Piece::Table(total)));
    let laid = check(&of_items(items));
    let last = laid.pages.len() - 1;
    assert_eq!(laid.anchors["first"].page, 0);
    assert_eq!(laid.anchors["last"].page, 1);
    assert_eq!(laid.anchors["row"].page, last);
    let titles: Vec<&str> = laid.outline.iter().map(|entry| entry.title.as_str()).collect();
    assert_eq!(titles, ["First", "Last"]);
}

#[test]
fn a_missing_glyph_is_reported_and_shown() {
    let laid = check_pieces(vec![body("Made in 東京, measured in Ω.")]);
    assert_eq!(laid.missing_glyphs, ['京', '東']);
    assert!(flow(&laid.pages[0]).contains('\u{fffd}'));
}

#[test]
fn odd_text_is_set_without_harm() {
    let odd = "tab\there, nul\0, bidi \u{202e}abc\u{202c}, עברית, العربية, e\u{301}\u{327}, \u{1f50b}, soft\u{ad}hyphen, \u{e000}, ﬁ";
    let runs = [Face::Plain, Face::Strong, Face::Code, Face::Sub]
        .map(|face| Run::Text { text: odd.repeat(9), face });
    check_pieces(vec![
        Piece::Paragraph { style: Style::Body, text: Rich(runs.to_vec()) },
        Piece::Code { text: odd.repeat(5) },
        Piece::Table(Table {
            columns: vec![column(odd, Align::Decimal, 1)],
            rows: vec![row(&[odd])],
            caption: None,
        }),
        Piece::Table(Table { columns: Vec::new(), rows: vec![row(&["x"])], caption: None }),
    ]);
}

#[test]
fn a_word_as_long_as_a_book_is_set() {
    let laid = check_pieces(vec![body(&"ab".repeat(60_000)), Piece::Code { text: "x".repeat(60_000) }]);
    let all: String = laid.pages.iter().map(flow).collect();
    assert_eq!(all.matches('b').count(), 60_000);
    assert!(all.matches('x').count() >= 60_000);
}

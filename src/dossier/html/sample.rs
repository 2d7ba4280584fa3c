//! Documents for the tests: short ways to make pieces, and one document with a text in every place.

use std::sync::Arc;

use crate::dossier::drawing::{Anchor, Drawing, Ink, Stroke, TextSize};
use crate::dossier::piece::{
    Align, Column, Columns, ContentsEntry, Document, Entry, Face, HeadlineFigure, Item, Mark, Member, Paper,
    Picture, PictureFormat, Piece, Rich, Row, Run, SignatureBox, Style, Table, Target, WorkedLine, Working,
};

/// One pixel.
pub(super) const PNG: &[u8] = &[
    0x89, b'P', b'N', b'G', 0x0d, 0x0a, 0x1a, 0x0a, 0, 0, 0, 0x0d, b'I', b'H', b'D', b'R', 0, 0, 0, 1, 0, 0,
    0, 1, 8, 0, 0, 0, 0, 0x3a, 0x7e, 0x9b, 0x55, 0, 0, 0, 0x0a, b'I', b'D', b'A', b'T', 0x78, 0x9c, 0x63,
    0x68, 0, 0, 0, 0x82, 0, 0x81, 0x77, 0xcd, 0x72, 0xb6, 0, 0, 0, 0, b'I', b'E', b'N', b'D', 0xae, 0x42,
    0x60, 0x82,
];

pub(super) fn document(items: Vec<Item>) -> Document {
    Document {
        title: "Conversion of a light van".to_owned(),
        running: "revision 3, 2031-04-02".to_owned(),
        language: "en",
        paper: Paper::A4,
        columns: Columns::Log,
        stamp: 1_932_940_800,
        generator: "Voltwright 0.1.0".to_owned(),
        items,
    }
}

pub(super) fn item(piece: Piece) -> Item {
    Item { id: None, log: Vec::new(), piece }
}

/// What can have an id and lines of the log column.
pub(super) trait Placed: Sized {
    fn at(self, id: &str) -> Self;
    fn noted(self, lines: &[&str]) -> Self;
}

impl Placed for Item {
    fn at(mut self, id: &str) -> Item {
        self.id = Some(id.to_owned());
        self
    }

    fn noted(mut self, lines: &[&str]) -> Item {
        self.log = lines.iter().map(|line| plain(line)).collect();
        self
    }
}

impl Placed for Row {
    fn at(mut self, id: &str) -> Row {
        self.id = Some(id.to_owned());
        self
    }

    fn noted(mut self, lines: &[&str]) -> Row {
        self.log = lines.iter().map(|line| plain(line)).collect();
        self
    }
}

pub(super) fn plain(text: &str) -> Rich {
    Rich::plain(text)
}

pub(super) fn run(text: &str, face: Face) -> Run {
    Run::Text { text: text.to_owned(), face }
}

pub(super) fn inner(text: &str, id: &str) -> Run {
    Run::Link { text: plain(text), target: Target::Inner { id: id.to_owned() } }
}

pub(super) fn outer(text: &str, address: &str) -> Run {
    Run::Link { text: plain(text), target: Target::Outer { address: address.to_owned() } }
}

pub(super) fn heading(level: u8, text: &str) -> Item {
    item(Piece::Heading { level, text: plain(text), listed: true })
}

pub(super) fn paragraph(style: Style, runs: Vec<Run>) -> Item {
    item(Piece::Paragraph { style, text: Rich(runs) })
}

pub(super) fn column(head: &str, align: Align, share: u16) -> Column {
    Column { head: plain(head), align, share }
}

pub(super) fn row(cells: &[&str]) -> Row {
    Row { id: None, cells: cells.iter().map(|cell| plain(cell)).collect(), log: Vec::new(), strong: false }
}

pub(super) fn verdict(verdict: Mark) -> Run {
    Run::Verdict { verdict }
}

/// Every piece and every run, with `text` in each of their texts.
pub(super) fn everywhere(text: &str) -> Document {
    let faces = [
        Face::Plain,
        Face::Strong,
        Face::Emphasis,
        Face::StrongEmphasis,
        Face::Code,
        Face::Strike,
        Face::Sub,
        Face::Sup,
        Face::Quiet,
    ];
    let mut runs: Vec<Run> = faces.iter().map(|face| run(text, *face)).collect();
    runs.push(Run::Break);
    runs.push(inner(text, "place"));
    runs.push(inner(text, text));
    runs.push(outer(text, &format!("https://example.org/{text}")));
    runs.push(outer(text, text));
    runs.extend([Mark::Meets, Mark::Close, Mark::Fails, Mark::Open].map(verdict));
    runs.extend([0.4, -0.2].map(|share| Run::Margin { share }));
    let rich = Rich(runs);
    let log = [rich.clone()];
    let alignments = [Align::Left, Align::Right, Align::Centre, Align::Decimal];
    let columns: Vec<Column> =
        alignments.iter().map(|align| Column { head: rich.clone(), align: *align, share: 1 }).collect();
    let logged =
        Row { id: Some(text.to_owned()), cells: vec![rich.clone(); 4], log: log.to_vec(), strong: true };
    let table =
        Table { columns, rows: vec![logged, row(&[text, "1", "2", "3.5"])], caption: Some(rich.clone()) };
    let drawing = Drawing {
        width: 300.0,
        height: 100.0,
        alt: text.to_owned(),
        marks: vec![Stroke::Text {
            x: 1.0,
            y: 10.0,
            text: text.to_owned(),
            size: TextSize::Small,
            anchor: Anchor::Middle,
            ink: Ink::Black,
        }],
    };
    let picture = Picture {
        alt: text.to_owned(),
        format: PictureFormat::Png,
        bytes: Arc::from(PNG),
        width: 1,
        height: 1,
    };
    let target = Some(Target::Outer { address: format!("mailto:{text}") });
    let figure = HeadlineFigure { label: text.to_owned(), value: text.to_owned(), target };
    let contents =
        ContentsEntry { level: 2, text: rich.clone(), id: "place".to_owned(), remark: rich.clone() };
    let signature = SignatureBox { title: text.to_owned(), lines: vec![text.to_owned()] };
    let working = || Working { from: rich.clone(), result: rich.clone() };
    let words = || Piece::Paragraph { style: Style::Body, text: rich.clone() };
    let pieces = vec![
        Piece::Heading { level: 1, text: rich.clone(), listed: true },
        Piece::Heading { level: 9, text: rich.clone(), listed: true },
        words(),
        Piece::List { start: None, entries: vec![Entry { task: Some(true), items: vec![item(words())] }] },
        Piece::List { start: Some(3), entries: vec![Entry { task: None, items: vec![item(words())] }] },
        Piece::Quote { items: vec![Item { log: log.to_vec(), ..item(words()) }] },
        Piece::Code { text: text.to_owned() },
        Piece::Rule,
        Piece::Table(table.clone()),
        Piece::Picture(picture),
        Piece::NoPicture { text: text.to_owned() },
        Piece::Figure { drawing, caption: rich.clone() },
        Piece::Caution { high_voltage: true, title: text.to_owned(), lines: log.to_vec() },
        Piece::Opening {
            kind: text.to_owned(),
            name: text.to_owned(),
            words: rich.clone(),
            sentence: rich.clone(),
        },
        Piece::Headline { figures: vec![figure] },
        Piece::Values(table.clone()),
        Piece::Results {
            summary: text.to_owned(),
            table: table.clone(),
            workings: vec![working(); 2],
            members: vec![Member { id: None, label: rich.clone(), working: working(), log: log.to_vec() }],
            lines: vec![WorkedLine { ids: Vec::new(), text: rich.clone() }],
        },
        Piece::Requirements { table, reasons: log.to_vec() },
        Piece::CautionNote { high_voltage: true, text: rich.clone() },
        Piece::Contents { entries: vec![contents] },
        Piece::Signatures { boxes: vec![signature] },
    ];
    let mut items: Vec<Item> =
        pieces.into_iter().map(|piece| Item { log: log.to_vec(), ..item(piece) }).collect();
    items[0].id = Some("place".to_owned());
    items[1].id = Some(text.to_owned());
    let mut document = document(items);
    document.title = text.to_owned();
    document.running = text.to_owned();
    document.generator = text.to_owned();
    document
}

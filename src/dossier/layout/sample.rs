//! Pieces for the tests of both rooms.

use std::sync::Arc;

use super::super::piece::{
    Align, Column, Columns, Document, Face, Item, Paper, Picture, PictureFormat, Piece, Rich, Row, Run,
    Style, Table,
};

/// A document of these pieces.
pub(crate) fn document(pieces: Vec<Piece>) -> Document {
    let items = pieces.into_iter().map(|piece| Item { id: None, log: Vec::new(), piece }).collect();
    of_items(items)
}

pub(crate) fn of_items(items: Vec<Item>) -> Document {
    Document {
        title: "Market van, petrol to electric".into(),
        running: "revision B, 2026-03-02".into(),
        language: "en",
        paper: Paper::A4,
        columns: Columns::Log,
        stamp: 1_772_409_600,
        generator: "Voltwright".into(),
        items,
    }
}

pub(crate) fn rich(text: &str) -> Rich {
    Rich::plain(text)
}

pub(crate) fn faced(text: &str, face: Face) -> Run {
    Run::Text { text: text.into(), face }
}

pub(crate) fn item(piece: Piece) -> Item {
    Item { id: None, log: Vec::new(), piece }
}

pub(crate) fn noted(piece: Piece, log: &[&str]) -> Item {
    Item { id: None, log: log.iter().map(|line| rich(line)).collect(), piece }
}

pub(crate) fn body(text: &str) -> Piece {
    Piece::Paragraph { style: Style::Body, text: rich(text) }
}

pub(crate) fn heading(level: u8, text: &str, id: &str) -> Item {
    Item {
        id: Some(id.into()),
        log: Vec::new(),
        piece: Piece::Heading { level, text: rich(text), listed: true },
    }
}

pub(crate) fn column(head: &str, align: Align, share: u16) -> Column {
    Column { head: rich(head), align, share }
}

pub(crate) fn row(cells: &[&str]) -> Row {
    Row { id: None, cells: cells.iter().map(|cell| rich(cell)).collect(), log: Vec::new(), strong: false }
}

pub(crate) fn table(rows: usize) -> Table {
    let columns = vec![
        column("Item", Align::Left, 0),
        column("Mass", Align::Decimal, 0),
        column("From the front axle", Align::Decimal, 0),
        column("Basis", Align::Left, 0),
    ];
    let rows = (0..rows)
        .map(|index| {
            let mass = format!("{}.{} kg", 3 + index * 7 % 190, index % 10);
            row(&[&format!("bracket {index}"), &mass, &format!("{} mm", index * 37 % 2900), "measured"])
        })
        .collect();
    Table { columns, rows, caption: None }
}

/// A PNG of a size and a colour type, drawn with a slope of tones.
pub(crate) fn png(width: u32, height: u32, colour: png::ColorType, depth: png::BitDepth) -> Piece {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width, height);
    encoder.set_color(colour);
    encoder.set_depth(depth);
    if colour == png::ColorType::Indexed {
        encoder.set_palette(vec![20, 40, 60, 200, 210, 220, 230, 160, 0, 0, 158, 115]);
    }
    let row = colour.samples() * width as usize * (depth as usize) / 8;
    let data: Vec<u8> = (0..row * height as usize)
        .map(|index| match colour {
            png::ColorType::Indexed => (index / 7 % 4) as u8,
            _ => ((index % row) * 255 / row) as u8,
        })
        .collect();
    let mut writer = encoder.write_header().expect("a header");
    writer.write_image_data(&data).expect("rows");
    writer.finish().expect("an end");
    picture(PictureFormat::Png, bytes, (width, height))
}

pub(crate) fn picture(format: PictureFormat, bytes: Vec<u8>, (width, height): (u32, u32)) -> Piece {
    let alt = "the motor on its bench, seen from the shaft's end".into();
    Piece::Picture(Picture { alt, format, bytes: Arc::from(bytes), width, height })
}

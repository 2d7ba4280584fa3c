//! Tolerances that nobody wrote: the table that they are taken from, and where the author narrowed it.

use super::super::piece::{Align, Face, Item, Piece, Rich, Row, Style, Table};
use super::rich::column;
use super::{Scene, heading, item, rich, with_id};
use crate::model::{capital, supposed_rows};

/// For the first page: results look surer than the program would have them. `None` where nothing was narrowed.
pub(super) fn narrowed(scene: &Scene<'_>) -> Option<Item> {
    let front = &scene.given.worked.notebook.front;
    let chosen: Vec<&str> =
        front.supposed.iter().filter(|one| one.narrower).map(|one| one.text.as_str()).collect();
    let text = rich::join([
        rich::one("Narrower than this program supposes", Face::Strong),
        Rich::plain(format!(
            ": values without a tolerance are taken to be surer, by the front matter: {}.",
            chosen.join("; ")
        )),
    ]);
    (!chosen.is_empty()).then(|| item(Piece::Paragraph { style: Style::Body, text }))
}

/// The table by quantity and basis, where any value of the journal is worked with it.
pub(super) fn table(scene: &Scene<'_>) -> Vec<Item> {
    let worked = scene.given.worked;
    let nodes = worked.notebook.blocks.iter().flat_map(|block| &block.nodes);
    let count = nodes.filter(|node| node.leaf().is_some_and(|leaf| leaf.is_supposed())).count();
    if count == 0 {
        return Vec::new();
    }
    let said = format!(
        "{count} value{} of this journal {} no tolerance, or one of 0 that verdicts of safety and law don't believe. {} worked with the ones of this table (half of a rectangle; common practice, no source), marked \u{201c}supposed\u{201d} where the value stands. Those of one quantity and one source err together.",
        if count == 1 { "" } else { "s" },
        if count == 1 { "has" } else { "have" },
        if count == 1 { "It is" } else { "They are" },
    );
    let rows = supposed_rows().map(|[quantity, widths @ ..]| {
        let cells = std::iter::once(capital(quantity)).chain(widths.map(str::to_owned));
        Row { id: None, cells: cells.map(Rich::plain).collect(), log: Vec::new(), strong: false }
    });
    let heads = [("Quantity", 3), ("Measured", 3), ("Sheet, published", 3), ("Estimated, assumed", 3)];
    let mut items = vec![
        with_id("supposed", heading(2, "Supposed tolerances")),
        item(Piece::Paragraph { style: Style::Body, text: Rich::plain(said) }),
        item(Piece::Table(Table {
            columns: heads.map(|(head, share)| column(head, Align::Left, share)).into(),
            rows: rows.collect(),
            caption: None,
        })),
    ];
    let chosen: Vec<&str> = worked.notebook.front.supposed.iter().map(|one| one.text.as_str()).collect();
    if !chosen.is_empty() {
        let text = Rich::plain(format!("In their place, by the front matter: {}.", chosen.join("; ")));
        items.push(item(Piece::Paragraph { style: Style::Small, text }));
    }
    items
}

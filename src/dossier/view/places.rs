//! Where the ids of the dossier stand on paper, and the plain tables of the inspector's form.

use std::collections::BTreeMap;

use super::super::piece::{Align, Piece, Rich, Row, Table};
use super::rich::column;

/// Where the ids of the dossier stand, by page.
pub(in crate::dossier) type Places = BTreeMap<String, usize>;

pub(super) fn table(columns: &[(&str, Align)], rows: Vec<Row>) -> Piece {
    let columns = columns.iter().map(|(head, align)| column(head, *align, 0)).collect();
    Piece::Table(Table { columns, rows, caption: None })
}

/// The page of the dossier that an id stands on.
pub(super) fn page(places: &Places, id: &str) -> Rich {
    places.get(id).map(|page| Rich::plain(page.to_string())).unwrap_or_default()
}

//! Where the ids of the dossier stand on paper, and the plain tables of the inspector's form.

use std::collections::BTreeMap;

use super::super::piece::{Align, Piece, Rich, Row, Run, Table, Target};
use super::rich::column;

/// Where the ids of the dossier stand, by page.
pub(in crate::dossier) type Places = BTreeMap<String, usize>;

pub(super) fn table(columns: &[(&str, Align)], rows: Vec<Row>) -> Piece {
    let columns = columns.iter().map(|(head, align)| column(head, *align, 0)).collect();
    Piece::Table(Table { columns, rows, caption: None })
}

/// The page of the dossier that an id stands on, leading there.
pub(super) fn page(places: &Places, id: &str) -> Rich {
    let link = |page: &usize| Run::Link {
        text: Rich::plain(page.to_string()),
        target: Target::Dossier { id: id.to_owned() },
    };
    Rich(places.get(id).map(link).into_iter().collect())
}

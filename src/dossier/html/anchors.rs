//! Where links can land: every sound id of a document.

use std::collections::HashSet;

use crate::dossier::piece::{Item, Piece, Table};

/// All ids of these items and of everything in them; one with other than letters, digits, `-`, `.`, `_` and `@` is
/// left out, so that an id never needs an escape, in an address neither.
pub(super) fn anchors(items: &[Item]) -> HashSet<&str> {
    ids(items).into_iter().filter(|id| is_sound(id)).collect()
}

/// All ids of these items, those that no link can lead to included.
pub(super) fn ids(items: &[Item]) -> Vec<&str> {
    let mut found = Vec::new();
    collect(items, &mut found);
    found
}

pub(super) fn is_sound(id: &str) -> bool {
    !id.is_empty() && id.chars().all(|letter| letter.is_alphanumeric() || "-._@".contains(letter))
}

fn collect<'a>(items: &'a [Item], found: &mut Vec<&'a str>) {
    for item in items {
        found.extend(item.id.as_deref());
        match &item.piece {
            Piece::List { entries, .. } => entries.iter().for_each(|entry| collect(&entry.items, found)),
            Piece::Quote { items } => collect(items, found),
            Piece::Results { table, members, .. } => {
                found.extend(row_ids(table));
                found.extend(members.iter().filter_map(|member| member.id.as_deref()));
            }
            Piece::Table(table)
            | Piece::Values(table)
            | Piece::Taken(table)
            | Piece::Requirements { table, .. } => found.extend(row_ids(table)),
            _ => {}
        }
    }
}

fn row_ids(table: &Table) -> impl Iterator<Item = &str> {
    table.rows.iter().filter_map(|row| row.id.as_deref())
}

//! Cautions: in full before the journal, and one line before each block that they are about.

use super::super::piece::{Face, Item, Piece, Rich, Style};
use super::{Scene, heading, item, rich, with_id};
use crate::model::{Caution, NOT_AN_APPROVAL};
use crate::report::BlockReport;

/// What each of several cautions would end with.
const FIRST: &str =
    "For all of these local codes, the licensed inspector and the component maker's instructions come first.";

/// Each in its ruled box; of several it is said once who decides.
pub(super) fn in_full(scene: &Scene<'_>) -> Vec<Item> {
    let cautions = scene.given.worked.told().cautions();
    if cautions.is_empty() {
        return Vec::new();
    }
    let mut items = vec![with_id("cautions", heading(2, "Cautions"))];
    if let [one] = cautions[..] {
        items.push(item(caution_piece(one, one.lines().iter().copied().chain([NOT_AN_APPROVAL]))));
        return items;
    }
    items.extend(cautions.iter().map(|one| item(caution_piece(*one, one.own_lines()))));
    let text = Rich::plain(format!("{FIRST} {NOT_AN_APPROVAL}"));
    items.push(item(Piece::Paragraph { style: Style::Body, text }));
    items
}

/// One line that leads to the cautions, which stand in full before the journal.
pub(super) fn before_block(report: &BlockReport) -> impl Iterator<Item = Item> {
    report.cautions.iter().map(|caution| {
        item(Piece::CautionNote {
            high_voltage: *caution == Caution::HighVoltage,
            text: rich::join([
                rich::one(format!("{}.", caution.title()), Face::Strong),
                Rich::plain(" See "),
                rich::link("Cautions", "cautions"),
                Rich::plain(", before the journal."),
            ]),
        })
    })
}

/// A caution in its ruled box.
fn caution_piece(caution: Caution, lines: impl IntoIterator<Item = &'static str>) -> Piece {
    let lines = lines.into_iter().map(Rich::plain).collect();
    Piece::Caution { high_voltage: caution == Caution::HighVoltage, title: caution.title().to_owned(), lines }
}

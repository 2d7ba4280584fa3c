//! The dossier's page for a screen that follows the journal: findings stand beside the block that they are of.

use super::html::{Live, Printed};
use super::piece::{Document, Face, Item, Piece, Rich};
use super::view::{Pictures, Scene, block_id, dossier, set};
use super::{Given, view};
use crate::findings::Finding;
use crate::words::Words;

/// A page that can be shown again with other findings.
pub(crate) struct Screen {
    document: Document,
    printed: Printed,
    pictures: Pictures,
}

/// What is told beside a block; at the top of the page where the page has no such block.
pub(crate) struct Beside {
    pub block: Option<String>,
    /// Severity and place.
    pub title: String,
    /// Message and help.
    pub lines: Vec<Words>,
}

impl Screen {
    /// The page, and what was found of its pictures; what `before` shows is taken from there.
    pub(crate) fn new(given: &Given<'_>, before: Option<&Screen>) -> (Screen, Vec<Finding>) {
        let scene = Scene::with(given, before.map(|before| &before.pictures));
        let document = dossier(&scene);
        let printed = Printed::new(&document, before.map(|before| (&before.document, &before.printed)));
        (Screen { document, printed, pictures: scene.pictures }, scene.found)
    }

    /// `status` is told above all else; `edition` tells one page from another.
    pub(crate) fn html(&self, (status, edition): (&[String], &str), beside: &[Beside]) -> String {
        let between: Vec<(usize, Item)> = beside
            .iter()
            .map(|one| {
                let lines = one.lines.iter().map(|line| Rich(set(line, Face::Plain))).collect();
                let piece = Piece::Caution { high_voltage: false, title: one.title.clone(), lines };
                (place(&self.document.items, one.block.as_deref()), view::item(piece))
            })
            .collect();
        self.printed.page(&self.document, &Live { lines: status, edition }, &between)
    }
}

/// Behind the opening of the block, or behind the title.
fn place(items: &[Item], block: Option<&str>) -> usize {
    let id = block.map(block_id);
    let at = id.and_then(|id| items.iter().position(|item| item.id.as_ref() == Some(&id)));
    at.map_or(1, |at| at + 1).min(items.len())
}

//! Decides words and order of dossier and summary, once for both printers.

mod annex;
mod appendix;
mod bare;
mod block;
mod cautions;
mod cover;
mod coverage;
mod date;
mod decode;
mod documents;
mod followed;
mod given;
mod limits;
mod masses;
mod moves;
mod one_line;
mod outcome;
mod pictures;
mod places;
mod prose;
mod readings;
mod replaced;
mod rescue;
mod rich;
mod shrink;
mod standards;
mod summary;
mod supposed;

use super::Given;
use super::piece::{Columns, Document, Item, Paper, Piece, Rich};
use crate::blocks::PACK_LAYOUT;
use crate::compile::Worked;
use crate::findings::Finding;
use crate::journal::{Block, BlockForm, plain};
use crate::report::{BlockReport, Contributor};
use crate::source::{FileId, Sources};

pub(crate) use date::text as date;
pub(super) use rescue::{Fit, rescue};
pub(super) use rich::{block_id, set};
pub(super) use summary::summary;

pub(super) use pictures::Pictures;
use prose::Prose;

/// The journal's title, or the first file's first heading, or its path.
pub(super) fn title(worked: &Worked, sources: &Sources) -> String {
    let heading = |blocks: &[Block]| {
        blocks.iter().find_map(|block| match &block.form {
            BlockForm::Heading { text, .. } => Some(plain(text)),
            _ => None,
        })
    };
    let first = worked.journals.first();
    worked
        .notebook
        .front
        .title
        .clone()
        .or_else(|| first.and_then(|journal| heading(&journal.prose)))
        .or_else(|| first.map(|journal| sources.get(journal.file).path.clone()))
        .unwrap_or_else(|| "Journal".to_owned())
}

/// What every part of the view looks at.
pub(super) struct Scene<'a> {
    pub(super) given: &'a Given<'a>,
    pub(super) title: String,
    /// By the number of the block.
    pub(super) reports: &'a [BlockReport],
    pub(super) pictures: Pictures,
    /// What was found of the pictures, beside what the journal's own reading found.
    pub(super) found: Vec<Finding>,
}

impl<'a> Scene<'a> {
    pub(super) fn new(given: &'a Given<'a>) -> Scene<'a> {
        Scene::with(given, None)
    }

    /// With pictures that are known to be the same still.
    pub(super) fn with(given: &'a Given<'a>, before: Option<&Pictures>) -> Scene<'a> {
        let (worked, sources) = (given.worked, given.sources);
        let (pictures, found) = Pictures::new((worked, sources), given.evidence, paper(worked), before);
        Scene { given, title: title(worked, sources), reports: worked.reports(), pictures, found }
    }

    fn document(&self, items: Vec<Item>) -> Document {
        let front = &self.given.worked.notebook.front;
        let date = date::text(self.given.stamp);
        let running = match &front.revision {
            Some(revision) => format!("revision {revision}, {date}"),
            None => date,
        };
        Document {
            title: self.title.clone(),
            running,
            language: "en",
            paper: paper(self.given.worked),
            columns: Columns::Log,
            stamp: self.given.stamp,
            generator: format!("Voltwright {}", env!("CARGO_PKG_VERSION")),
            items,
        }
    }

    /// The reports of the packs that stand, whether they could be worked or not.
    pub(super) fn packs(&self) -> impl Iterator<Item = &'a BlockReport> {
        let blocks = &self.given.worked.notebook.blocks;
        let stands = |number: usize| blocks.get(number).is_some_and(|block| block.replaced_by.is_none());
        let standing = self.reports.iter().enumerate().filter(move |(number, _)| stands(*number));
        standing.map(|(_, report)| report).filter(|report| report.kind == PACK_LAYOUT.name)
    }

    /// A value in words, leading to where it stands.
    pub(super) fn said(&self, global: usize, within: usize) -> Rich {
        let told = self.given.worked.told();
        rich::link(told.said(global, within), given::anchor(&told.full_name(global)))
    }

    /// What moves a result, leading to the first of it.
    pub(super) fn mover(&self, one: &Contributor, within: usize) -> Rich {
        rich::link(self.given.worked.told().mover(one, within), given::anchor(&one.name))
    }

    pub(super) fn path(&self, file: FileId) -> &str {
        &self.given.sources.get(file).path
    }
}

fn paper(worked: &Worked) -> Paper {
    if worked.notebook.front.letter_paper { Paper::Letter } else { Paper::A4 }
}

/// The whole dossier.
pub(super) fn dossier(scene: &Scene<'_>) -> Document {
    let given = scene.given;
    let mut items = cover::cover(scene);
    // What blocks don't judge stands before what they do: else a subject that fails or is missing is passed over.
    let requirements = items.iter().position(|item| item.id.as_deref() == Some("requirements"));
    let at = requirements.unwrap_or(items.len());
    items.splice(at..at, coverage::at_first(scene));
    let mut prose = Prose::new(scene);
    let mut body = Vec::new();
    for (number, journal) in given.worked.journals.iter().enumerate() {
        body.extend(prose.file(number, journal));
    }
    let mut end = Vec::new();
    end.extend(moves::moves(scene));
    end.extend(followed::followed(scene));
    end.extend(coverage::coverage(scene));
    end.extend(appendix::assumptions(scene));
    end.extend(supposed::table(scene));
    end.extend(appendix::evidence(scene));
    end.extend(appendix::sources(scene));
    end.extend(standards::standards(scene));
    end.extend(appendix::open_items(scene));
    end.extend(appendix::findings(scene));
    end.extend(appendix::not_calculated(scene));
    end.extend(annex::annex(scene));
    let contents = cover::contents(scene, [&body, &end]);
    items.extend(contents);
    items.push(with_id("journal", heading(2, "The journal")));
    items.extend(body);
    items.extend(end);
    scene.document(items)
}

pub(super) fn item(piece: Piece) -> Item {
    Item { id: None, log: Vec::new(), piece }
}

fn with_id(id: &str, piece: Piece) -> Item {
    Item { id: Some(id.to_owned()), log: Vec::new(), piece }
}

fn heading(level: u8, text: &str) -> Piece {
    Piece::Heading { level, text: Rich::plain(text), listed: true }
}

//! The journal's prose as pieces, its blocks where they stand.

use std::collections::HashMap;

use super::super::piece::{Align, Column, Entry, Face, Item, Piece, Rich, Row, Run, Style, Table, Target};
use super::block::block;
use super::given::anchor;
use super::pictures::NOT_THERE;
use super::rich::{self, text};
use super::{Scene, item};
use crate::journal::{self, Block, BlockForm, Inline, Journal};
use crate::model::{PictureName, picture_path, pictures_in};
use crate::parallel;
use crate::report::spaced;
use crate::source::FileId;

pub(super) struct Prose<'a> {
    scene: &'a Scene<'a>,
    /// The journal file that is being told, by number and id.
    number: usize,
    file: FileId,
    /// Footnotes of the file: label to number, in order of first mention.
    notes: HashMap<String, usize>,
    /// How many headings have been given an id.
    headings: usize,
    /// The notebook's live values by file and number there.
    live: HashMap<(usize, usize), usize>,
    /// What is told of each block, until it is told.
    told: Vec<Vec<Item>>,
}

/// How many blocks a core makes at once.
const SHARE: usize = 16;

impl<'a> Prose<'a> {
    pub(super) fn new(scene: &'a Scene<'a>) -> Prose<'a> {
        let entries = scene.given.worked.notebook.live.iter().enumerate();
        let live = entries.map(|(at, entry)| ((entry.file, entry.index), at)).collect();
        let told = parallel::each(scene.reports.len(), SHARE, |number| block(scene, number));
        Prose { scene, number: 0, file: FileId(0), notes: HashMap::new(), headings: 0, live, told }
    }

    /// All items of one file; its path stands in the log beside the first.
    pub(super) fn file(&mut self, number: usize, journal: &Journal) -> Vec<Item> {
        self.number = number;
        self.file = journal.file;
        self.notes.clear();
        let mut items = self.blocks(&journal.prose);
        if let Some(first) = items.first_mut() {
            first.log.insert(0, rich::one(self.scene.path(journal.file).to_owned(), Face::Quiet));
        }
        items
    }

    fn blocks(&mut self, blocks: &[Block]) -> Vec<Item> {
        blocks.iter().flat_map(|block| self.block(block)).collect()
    }

    fn block(&mut self, block_: &Block) -> Vec<Item> {
        match &block_.form {
            BlockForm::Heading { level, text } => {
                self.headings += 1;
                let piece = Piece::Heading {
                    level: level.saturating_add(2),
                    text: self.rich(text),
                    listed: *level <= 2,
                };
                vec![Item { id: Some(format!("h{}", self.headings)), log: Vec::new(), piece }]
            }
            BlockForm::Paragraph(inlines) => self.paragraph(inlines),
            BlockForm::List { start, entries } => {
                let entries = entries
                    .iter()
                    .map(|entry| Entry { task: entry.task, items: self.blocks(&entry.blocks) })
                    .collect();
                vec![item(Piece::List { start: *start, entries })]
            }
            BlockForm::Quote(inner) => vec![item(Piece::Quote { items: self.blocks(inner) })],
            BlockForm::Code { text, .. } => {
                vec![item(Piece::Code { text: text.trim_end_matches('\n').to_owned() })]
            }
            BlockForm::Rule => vec![item(Piece::Rule)],
            BlockForm::Table { aligns, head, rows } => vec![self.table(aligns, head, rows)],
            BlockForm::Footnote { label, blocks } => self.footnote(label, blocks),
            BlockForm::Fence(fence) => self.fence(*fence),
        }
    }

    /// A fence that is a block is told as one; any other stands as it was typed.
    fn fence(&mut self, fence: usize) -> Vec<Item> {
        if let Some(number) = self.scene.given.worked.notebook.fences[self.number][fence] {
            return std::mem::take(&mut self.told[number]);
        }
        let written = &self.scene.given.worked.journals[self.number].fences[fence];
        let mut text = self.scene.given.sources.text(written.body_span).replace('\r', "");
        if !written.prefix.is_empty() {
            let lines = text.lines().map(|line| line.strip_prefix(written.prefix.as_str()).unwrap_or(line));
            text = lines.collect::<Vec<_>>().join("\n");
        }
        vec![item(Piece::Code { text: text.trim_end_matches('\n').to_owned() })]
    }

    /// Pictures stand after the paragraph that they are in.
    fn paragraph(&mut self, inlines: &[Inline]) -> Vec<Item> {
        let text = self.rich(inlines);
        let mut items = Vec::new();
        let blank = text.words().trim().is_empty();
        if !blank {
            items.push(item(Piece::Paragraph { style: Style::Body, text }));
        }
        let mut images = Vec::new();
        pictures_in(inlines, &mut images);
        for image in &images {
            items.extend(self.image(image));
        }
        items
    }

    /// Why one is not shown has been found out before.
    fn image(&self, name: &PictureName<'_>) -> Vec<Item> {
        let path = picture_path(self.scene.path(self.file), name.address);
        let found = path.map_or(Err(NOT_THERE.to_owned()), |path| self.scene.pictures.get(&path, name.alt));
        match found {
            Ok(picture) => {
                let mut items = vec![item(Piece::Picture(picture))];
                if !name.alt.is_empty() {
                    items.push(item(Piece::Paragraph { style: Style::Caption, text: Rich::plain(name.alt) }));
                }
                items
            }
            Err(why) => {
                let what = if name.alt.is_empty() { name.address } else { name.alt };
                vec![item(Piece::NoPicture { text: format!("Picture not shown: {what}. Reason: {why}.") })]
            }
        }
    }

    fn table(&mut self, aligns: &[journal::Align], head: &[Vec<Inline>], rows: &[Vec<Vec<Inline>>]) -> Item {
        let columns = head
            .iter()
            .enumerate()
            .map(|(at, cell)| Column {
                head: self.rich(cell),
                align: match aligns.get(at) {
                    Some(journal::Align::Right) => Align::Right,
                    Some(journal::Align::Centre) => Align::Centre,
                    _ => Align::Left,
                },
                share: 0,
            })
            .collect();
        let rows = rows
            .iter()
            .map(|row| Row {
                id: None,
                cells: row.iter().map(|cell| self.rich(cell)).collect(),
                log: Vec::new(),
                strong: false,
            })
            .collect();
        item(Piece::Table(Table { columns, rows, caption: None }))
    }

    fn footnote(&mut self, label: &str, blocks: &[Block]) -> Vec<Item> {
        let number = self.note_number(label);
        let mut items = self.blocks(blocks);
        if let Some(Item { piece: Piece::Paragraph { style, text: words }, id, .. }) = items.first_mut() {
            *style = Style::Small;
            *id = Some(self.note_id(number));
            words.0.insert(0, text(format!("{number} "), Face::Sup));
        }
        items
    }

    fn note_number(&mut self, label: &str) -> usize {
        let next = self.notes.len() + 1;
        *self.notes.entry(label.to_owned()).or_insert(next)
    }

    fn note_id(&self, number: usize) -> String {
        format!("note-{}-{number}", self.number + 1)
    }

    fn rich(&mut self, inlines: &[Inline]) -> Rich {
        let mut runs = Vec::new();
        self.add(&mut runs, inlines, Face::Plain);
        Rich(runs)
    }

    fn add(&mut self, runs: &mut Vec<Run>, inlines: &[Inline], face: Face) {
        for inline in inlines {
            match inline {
                Inline::Text(words) => runs.push(text(words.clone(), face)),
                Inline::Code(words) => runs.push(text(words.clone(), Face::Code)),
                Inline::Emphasis(inner) => self.add(runs, inner, emphasis(face)),
                Inline::Strong(inner) => self.add(runs, inner, strong(face)),
                Inline::Struck(inner) => self.add(runs, inner, Face::Strike),
                Inline::Sub(inner) => self.add(runs, inner, Face::Sub),
                Inline::Sup(inner) => self.add(runs, inner, Face::Sup),
                Inline::SoftBreak => runs.push(text(" ", face)),
                Inline::HardBreak => runs.push(Run::Break),
                Inline::Link { address, text: inner, .. } => self.link(runs, address, inner, face),
                Inline::Live { live, .. } => runs.extend(self.live(*live)),
                Inline::Image { .. } => {}
                Inline::FootnoteReference(label) => {
                    let number = self.note_number(label);
                    runs.push(Run::Link {
                        text: rich::one(number.to_string(), Face::Sup),
                        target: Target::Inner { id: self.note_id(number) },
                    });
                }
            }
        }
    }

    /// Only addresses of the web lead anywhere from a dossier that stands alone.
    fn link(&mut self, runs: &mut Vec<Run>, address: &str, inner: &[Inline], face: Face) {
        let lower = address.to_ascii_lowercase();
        if ["http://", "https://", "mailto:"].iter().any(|scheme| lower.starts_with(scheme)) {
            let mut text = Vec::new();
            self.add(&mut text, inner, face);
            runs.push(Run::Link { text: Rich(text), target: Target::Outer { address: address.to_owned() } });
        } else {
            self.add(runs, inner, face);
        }
    }

    fn live(&self, live: usize) -> Option<Run> {
        let worked = self.scene.given.worked;
        let Some(at) = self.live.get(&(self.number, live)).copied() else {
            return Some(text("not worked", Face::Emphasis));
        };
        let entry = &worked.notebook.live[at];
        let (shown, target) = worked.told().live(entry, worked.plan.live[at]);
        Some(match target {
            Some(global) => Run::Link {
                text: Rich::plain(together(&spaced(&shown))),
                target: Target::Inner { id: anchor(&worked.told().full_name(global)) },
            },
            None => text(shown, Face::Emphasis),
        })
    }
}

/// A shown value whose parts stay on one line; a long text may break.
fn together(shown: &str) -> String {
    if shown.chars().next().is_some_and(|c| c.is_ascii_digit() || c == '−') {
        shown.replace(" ± ", "\u{a0}±\u{a0}").replace(' ', "\u{a0}")
    } else {
        shown.to_owned()
    }
}

fn emphasis(face: Face) -> Face {
    match face {
        Face::Strong | Face::StrongEmphasis => Face::StrongEmphasis,
        _ => Face::Emphasis,
    }
}

fn strong(face: Face) -> Face {
    match face {
        Face::Emphasis | Face::StrongEmphasis => Face::StrongEmphasis,
        _ => Face::Strong,
    }
}

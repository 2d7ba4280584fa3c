//! Fills in one template for each piece, inner pieces first.

use std::cell::RefCell;
use std::collections::HashSet;
use std::slice;

use minijinja::{Value, context};

use super::anchors::{anchors, ids};
use super::rich::Writer;
use super::table::{self, Surroundings, lines};
use super::templates::render;
use super::text::{Host, plain, push_text};
use super::{base64, svg};
use crate::dossier::piece::{
    ContentsEntry, Document, Entry, HeadlineFigure, Item, Member, Picture, PictureFormat, Piece, Rich,
    SignatureBox, Style, Table, WorkedLine, Working,
};

/// Lists and quotes deeper than this are no longer indented, or a phone would have no room for their text.
const DEEPEST_INDENT: usize = 6;

/// Prints items in reading order.
pub(super) struct Printer<'a> {
    writer: Writer<'a>,
    /// Ids that already stand in the page: the second of two equal ids is left out.
    used: HashSet<&'a str>,
    /// The level of the last heading, so that headings never skip one on the way down.
    level: u8,
    depth: usize,
    /// The block or the heading that is told.
    about: String,
}

impl<'a> Printer<'a> {
    pub(super) fn new(document: &'a Document) -> Printer<'a> {
        Printer::among(anchors(&document.items))
    }

    /// Of items that stand among such places for links to land.
    pub(super) fn among(anchors: HashSet<&'a str>) -> Printer<'a> {
        let writer = Writer { known: anchors, lost: RefCell::default() };
        Printer { writer, used: HashSet::new(), level: 0, depth: 0, about: String::new() }
    }

    pub(super) fn entries(&mut self, items: &'a [Item]) -> String {
        items.iter().map(|item| self.entry(item)).collect()
    }

    pub(super) fn level(&self) -> u8 {
        self.level
    }

    /// The block or the heading that is told.
    pub(super) fn about(&self) -> &str {
        &self.about
    }

    /// Where links were to lead that lead nowhere, since this was asked last.
    pub(super) fn lost(&mut self) -> Vec<String> {
        self.writer.lost.take()
    }

    pub(super) fn anchors(&self) -> impl Iterator<Item = &'a str> {
        self.writer.known.iter().copied()
    }

    pub(super) fn knows(&self, id: &str) -> bool {
        self.writer.known.contains(id)
    }

    /// None of the ids in an item has been printed before.
    pub(super) fn is_first(&self, item: &Item) -> bool {
        ids(slice::from_ref(item)).iter().all(|id| !self.used.contains(id))
    }

    /// Goes on behind an item that was printed already, and left the level of the last heading so.
    pub(super) fn pass(&mut self, item: &'a Item, level: u8) {
        let known = ids(slice::from_ref(item)).into_iter().filter(|id| self.writer.known.contains(id));
        self.used.extend(known);
        self.level = level;
        self.tells_of(item);
    }

    pub(super) fn entry(&mut self, item: &'a Item) -> String {
        let id = self.place(item.id.as_deref());
        let piece = self.piece(item);
        // A table that uses the log column has put the item's lines into it.
        let log = if uses_log_column(&item.piece) { &[] } else { item.log.as_slice() };
        let log = lines(log, &self.writer);
        render("entry.html", context! { id, kind => kind(&item.piece), piece => safe(piece), log })
    }

    /// What tables from here on are about.
    fn tells_of(&mut self, item: &Item) {
        match &item.piece {
            Piece::Heading { text, .. } => self.about = text.words(),
            Piece::Opening { name, .. } => self.about = name.replace('_', " "),
            _ => {}
        }
    }

    /// The id, if it is sound and not taken; it is taken now.
    fn place(&mut self, id: Option<&'a str>) -> Option<&'a str> {
        id.filter(|id| self.writer.known.contains(id) && self.used.insert(*id))
    }

    fn piece(&mut self, item: &'a Item) -> String {
        self.tells_of(item);
        match &item.piece {
            Piece::Heading { level, text, .. } => self.heading(*level, text),
            Piece::Paragraph { style, text } => self.paragraph(*style, text),
            Piece::List { start, entries } => self.list(*start, entries),
            Piece::Quote { items } => {
                let body = self.nested(items);
                render("quote.html", context! { body => safe(body), deep => self.is_deep() })
            }
            Piece::Code { text } => render("code.html", context! { text => plain(text) }),
            Piece::Rule => "<hr>\n".to_owned(),
            Piece::Table(table) => self.table(table, &item.log),
            Piece::Picture(picture) => print_picture(picture),
            Piece::NoPicture { text } => render("no-picture.html", context! { text => plain(text) }),
            Piece::Figure { drawing, caption } => {
                let caption = self.rich(caption);
                render("figure.html", context! { drawing => safe(svg::drawing(drawing)), caption })
            }
            Piece::Caution { high_voltage, title, lines: text } => {
                let lines = lines(text, &self.writer);
                render("caution.html", context! { high_voltage, title => plain(title), lines })
            }
            Piece::Opening { kind, name, words, sentence } => {
                let sentence = self.rich(sentence);
                let words = (!words.is_empty()).then(|| self.rich(words));
                render("opening.html", context! { kind => plain(kind), name => plain(name), words, sentence })
            }
            Piece::Headline { figures } => self.headline(figures),
            Piece::Values(table) | Piece::Taken(table) => self.table(table, &item.log),
            Piece::Results { summary, table, workings, members, lines } => {
                let results = self.results((table, workings), &item.log);
                format!("{results}{}", self.members(summary, members, lines))
            }
            Piece::Requirements { table, reasons } => self.table_with((table, reasons), &item.log),
            Piece::CautionNote { high_voltage, text } => {
                render("caution-note.html", context! { high_voltage, text => self.rich(text) })
            }
            Piece::Contents { entries } => self.contents(entries),
            Piece::Signatures { boxes } => print_signatures(boxes),
        }
    }

    fn heading(&mut self, level: u8, text: &Rich) -> String {
        let level = level.clamp(1, 6);
        self.level = level.min(self.level + 1);
        render("heading.html", context! { level => self.level, look => level, text => self.rich(text) })
    }

    fn paragraph(&self, style: Style, text: &Rich) -> String {
        let class = match style {
            Style::Body => "",
            Style::Lead => "lead",
            Style::Large => "large",
            Style::Small => "small",
            Style::Caption => "caption",
        };
        render("paragraph.html", context! { class, text => self.rich(text) })
    }

    fn list(&mut self, start: Option<u64>, entries: &'a [Entry]) -> String {
        let entries: Vec<Value> = entries
            .iter()
            .map(|entry| {
                let body = self.nested(&entry.items);
                context! { task => entry.task, body => safe(body) }
            })
            .collect();
        render("list.html", context! { start, entries, deep => self.is_deep() })
    }

    fn nested(&mut self, items: &'a [Item]) -> String {
        self.depth += 1;
        let body = self.entries(items);
        self.depth -= 1;
        body
    }

    fn is_deep(&self) -> bool {
        self.depth >= DEEPEST_INDENT
    }

    fn table(&mut self, table: &'a Table, log: &'a [Rich]) -> String {
        self.table_with((table, &[]), log)
    }

    /// A table, with further lines of the log beside its rows.
    fn table_with(&mut self, (table, more): (&'a Table, &'a [Rich]), log: &'a [Rich]) -> String {
        let ids = table.rows.iter().map(|row| self.place(row.id.as_deref())).collect();
        let around = Surroundings { about: &self.about, log, ids, workings: &[], more };
        render("table.html", table::view(table, &around, &self.writer))
    }

    /// The results, each with its working.
    fn results(&mut self, (table, workings): (&'a Table, &'a [Working]), log: &'a [Rich]) -> String {
        if table.rows.is_empty() {
            return String::new();
        }
        let ids = table.rows.iter().map(|row| self.place(row.id.as_deref())).collect();
        let around = Surroundings { about: &self.about, log, ids, workings, more: &[] };
        render("table.html", table::view(table, &around, &self.writer))
    }

    /// The workings of values that stand in other tables: on screen one by one, folded, on paper run together.
    fn members(&mut self, summary: &str, members: &'a [Member], run_on: &'a [WorkedLine]) -> String {
        if members.is_empty() {
            return String::new();
        }
        let rows: Vec<Value> = members
            .iter()
            .map(|member| {
                let Working { from, result } = &member.working;
                context! {
                    id => self.place(member.id.as_deref()),
                    label => self.rich(&member.label),
                    from => (!from.is_empty()).then(|| self.rich(from)),
                    result => self.rich(result),
                    log => lines(&member.log, &self.writer),
                }
            })
            .collect();
        let run_on: Vec<Value> = run_on.iter().map(|line| self.rich(&line.text)).collect();
        render("workings.html", context! { summary => plain(summary), rows, run_on })
    }

    fn headline(&self, figures: &[HeadlineFigure]) -> String {
        let figures: Vec<Value> = figures
            .iter()
            .map(|figure| {
                let mut value = String::new();
                push_text(&mut value, &figure.value, Host::Html);
                let address = figure.target.as_ref().and_then(|target| self.writer.address(target));
                context! { label => plain(&figure.label), value => safe(value), address }
            })
            .collect();
        render("headline.html", context! { figures })
    }

    fn contents(&self, entries: &[ContentsEntry]) -> String {
        let entries: Vec<Value> = entries
            .iter()
            .map(|entry| {
                let text = safe(self.writer.unlinked(&entry.text));
                let address = self.writer.place(&entry.id);
                let remark = (!entry.remark.is_empty()).then(|| self.rich(&entry.remark));
                context! { level => entry.level.clamp(1, 6), text, address, remark }
            })
            .collect();
        render("contents.html", context! { entries })
    }

    fn rich(&self, rich: &Rich) -> Value {
        safe(self.writer.rich(rich))
    }
}

fn safe(html: String) -> Value {
    Value::from_safe_string(html)
}

fn uses_log_column(piece: &Piece) -> bool {
    match piece {
        Piece::Table(table)
        | Piece::Values(table)
        | Piece::Taken(table)
        | Piece::Results { table, .. }
        | Piece::Requirements { table, .. } => table.rows.iter().any(|row| !row.log.is_empty()),
        _ => false,
    }
}

fn print_picture(picture: &Picture) -> String {
    let kind = match picture.format {
        PictureFormat::Png => "png",
        PictureFormat::Jpeg => "jpeg",
    };
    let data = format!("data:image/{kind};base64,{}", base64::encode(&picture.bytes));
    let Picture { width, height, .. } = picture;
    render("picture.html", context! { alt => plain(&picture.alt), width, height, data => safe(data) })
}

fn print_signatures(boxes: &[SignatureBox]) -> String {
    let boxes: Vec<Value> = boxes
        .iter()
        .map(|signature| {
            let lines: Vec<String> = signature.lines.iter().map(|line| plain(line)).collect();
            context! { title => plain(&signature.title), lines }
        })
        .collect();
    render("signatures.html", context! { boxes })
}

/// The class of an entry, by which the style sheet sets what stands above and below it.
fn kind(piece: &Piece) -> &'static str {
    match piece {
        Piece::Heading { .. } => "has-heading",
        Piece::Paragraph { .. } => "has-paragraph",
        Piece::List { .. } => "has-list",
        Piece::Quote { .. } => "has-quote",
        Piece::Code { .. } => "has-code",
        Piece::Rule => "has-rule",
        Piece::Table(_) => "has-table",
        Piece::Values(_) => "has-table has-values",
        Piece::Taken(_) => "has-table has-taken",
        Piece::Requirements { .. } => "has-table has-requirements",
        Piece::Picture(_) | Piece::NoPicture { .. } => "has-picture",
        Piece::Figure { .. } => "has-figure",
        Piece::Caution { .. } => "has-caution",
        Piece::Opening { .. } => "has-opening",
        Piece::Headline { .. } => "has-headline",
        Piece::Results { .. } => "has-results",
        Piece::CautionNote { .. } => "has-caution-note",
        Piece::Contents { .. } => "has-contents",
        Piece::Signatures { .. } => "has-signatures",
    }
}

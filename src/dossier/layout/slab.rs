//! The flow between reading and paging: strips of a known height that no page break goes through.

use std::rc::Rc;

use super::lines::Line;
use super::mark::{Link, Mark};
use super::palette::Colour;
use super::structure::Tag;

/// A strip of the page. Its marks count from the left edge of the main column and from its own top.
#[derive(Clone, Debug, Default)]
pub(crate) struct Slab {
    pub(crate) height: f64,
    /// Space above; dropped at the top of a page, and the larger of two neighbours' wishes counts.
    pub(crate) before: f64,
    pub(crate) after: f64,
    /// Of its first line of text, for the note beside it.
    pub(crate) baseline: f64,
    /// Stays on one page with the next.
    pub(crate) keep: bool,
    /// A heading: what follows stands close below it, whatever space that wishes for.
    pub(crate) heads: bool,
    /// Runs across the log column too.
    pub(crate) wide: bool,
    /// May wait for the next page while what follows it fills this one.
    pub(crate) floats: bool,
    pub(crate) marks: Vec<Mark>,
    pub(crate) tags: Vec<Tag>,
    pub(crate) links: Vec<Link>,
    pub(crate) anchors: Vec<String>,
    pub(crate) references: Vec<PageReference>,
    pub(crate) outline: Option<(u8, String)>,
    /// Lines of the log column.
    pub(crate) note: Vec<Line>,
    pub(crate) note_element: Option<usize>,
    /// How far below the first line of text the note begins.
    pub(crate) note_drop: f64,
    /// What stands there where the strip opens a page, for the rows above have said it.
    pub(crate) note_again: Vec<Line>,
    /// What runs on down the page beside or behind its strips.
    pub(crate) bands: Vec<Band>,
    /// What is said again above it when it opens a page: a table's head.
    pub(crate) head: Option<Rc<Vec<Slab>>>,
    /// The block that it belongs to.
    pub(crate) block: Option<Rc<str>>,
}

/// A number of a page that is known only when all pages are.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct PageReference {
    pub(crate) id: String,
    /// Where the leader begins and where the number ends.
    pub(crate) left: f64,
    pub(crate) right: f64,
    pub(crate) baseline: f64,
    pub(crate) element: Option<usize>,
}

/// Strips with the same band that follow each other share it without a gap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Band {
    pub(crate) id: u32,
    pub(crate) left: f64,
    pub(crate) right: f64,
    pub(crate) kind: BandKind,
}

#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum BandKind {
    /// A bar at the left.
    Bar(Colour),
    /// A ground behind the text.
    Ground(Colour),
    /// The sides of a box; its top and its bottom are marks of the first and the last strip.
    Sides(Colour),
}

impl Slab {
    /// A strip for one line of text.
    pub(crate) fn line(mut line: Line, left: f64, baseline: f64) -> Slab {
        line.shift(left, baseline);
        Slab { marks: line.marks, links: line.links, baseline, ..Slab::default() }
    }

    /// What is put from here on belongs to the element, or to none.
    pub(crate) fn tag(&mut self, element: Option<usize>) {
        self.tags.push((self.marks.len(), element));
    }

    /// Moves what stands on it to the right.
    pub(crate) fn shift(&mut self, by: f64) {
        self.marks.iter_mut().for_each(|mark| mark.shift(by, 0.0));
        for link in &mut self.links {
            link.area = link.area.shifted(by, 0.0);
        }
        for reference in &mut self.references {
            reference.left += by;
            reference.right += by;
        }
    }

    /// Puts another strip on this one.
    pub(crate) fn join(&mut self, mut other: Slab) {
        let marks = self.marks.len();
        self.tags.extend(other.tags.iter().map(|(from, element)| (marks + from, *element)));
        self.marks.append(&mut other.marks);
        self.links.append(&mut other.links);
        self.references.append(&mut other.references);
        self.height = self.height.max(other.height);
    }

    pub(crate) fn put(&mut self, mut line: Line, x: f64, y: f64) {
        line.shift(x, y);
        self.marks.append(&mut line.marks);
        self.links.append(&mut line.links);
    }
}

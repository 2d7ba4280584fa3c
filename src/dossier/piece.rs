//! The document model that both printers translate: every number in it is already text, rounded, with its unit.

use std::sync::Arc;

use serde::Serialize;

use super::drawing::Drawing;

/// A whole document (dossier or summary), in reading order.
#[derive(Clone, Debug, Serialize)]
pub(crate) struct Document {
    pub title: String,
    /// What stands in the running head beside the title: revision and date.
    pub running: String,
    /// Language of the document, for readers that speak it: `en`.
    pub language: &'static str,
    pub paper: Paper,
    pub columns: Columns,
    /// Seconds since 1970 UTC, for the PDF's dates.
    pub stamp: i64,
    pub generator: String,
    pub items: Vec<Item>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Paper {
    A4,
    Letter,
}

/// What stands beside each other on paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Columns {
    /// The main column and that of the log.
    Log,
    /// One column as wide as the page: a sheet to stand alone.
    One,
}

/// One piece with what belongs to it: an anchor, and what the log column says beside it.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Item {
    /// Where links can land; unique in the document; letters, digits, `-`, `.`, `_`.
    pub id: Option<String>,
    /// Lines of the log column, beside the first line of the piece (under it on a phone).
    pub log: Vec<Rich>,
    pub piece: Piece,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "type", rename_all = "kebab-case")]
pub(crate) enum Piece {
    /// Level 1 is the document's title, 2 a part, 3 a chapter, 4 and more within. Levels up to 3 go into
    /// the PDF outline and, where `listed`, into the contents.
    Heading {
        level: u8,
        text: Rich,
        listed: bool,
    },
    Paragraph {
        style: Style,
        text: Rich,
    },
    List {
        start: Option<u64>,
        entries: Vec<Entry>,
    },
    Quote {
        items: Vec<Item>,
    },
    /// Text as typed; long lines are wrapped, never clipped.
    Code {
        text: String,
    },
    Rule,
    Table(Table),
    Picture(Picture),
    /// A frame that says why a picture is not shown.
    NoPicture {
        text: String,
    },
    /// What it shows is said in the log on paper, where there is one.
    Figure {
        drawing: Drawing,
        caption: Rich,
    },
    /// A ruled box. `high_voltage` puts the ISO 7010 W012 sign beside it.
    Caution {
        high_voltage: bool,
        title: String,
        lines: Vec<Rich>,
    },
    /// The head of a worked block: its subsystem, kind and name in small type, then the sentence that says the outcome.
    Opening {
        kind: String,
        name: String,
        /// What the block was given in words; may be empty.
        words: Rich,
        sentence: Rich,
    },
    /// The one or two results that matter, large.
    Headline {
        figures: Vec<HeadlineFigure>,
    },
    /// Names and values, in two columns. On paper two rows stand side by side where the log column says the same
    /// of both.
    Values(Table),
    /// Names and values that stand in other blocks too. On paper those of which the log says the same are run together.
    Taken(Table),
    /// What came out. What each was worked from stands small with its name, on screen folded.
    Results {
        /// Above the members, which are folded on screen.
        summary: String,
        table: Table,
        /// One for each row of the table.
        workings: Vec<Working>,
        /// What stands in tables of its own: on screen a line each, after the others.
        members: Vec<Member>,
        /// The same on paper: one line for all of a column, its formula said once.
        lines: Vec<WorkedLine>,
    },
    /// What is judged. Why a verdict is not better stands under its row on paper, or in the log where that has room, on
    /// screen in the log.
    Requirements {
        table: Table,
        /// One for each row of the table; may be empty.
        reasons: Vec<Rich>,
    },
    /// A caution in small type: run together, or in one line that leads to where it is told in full.
    CautionNote {
        high_voltage: bool,
        text: Rich,
    },
    /// The contents of the document: the printers fill in page numbers.
    Contents {
        entries: Vec<ContentsEntry>,
    },
    /// Boxes to sign in, side by side where they fit.
    Signatures {
        boxes: Vec<SignatureBox>,
    },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Style {
    Body,
    /// Larger, for what a page opens with.
    Lead,
    /// To be read from where one stands.
    Large,
    /// Smaller, for notes.
    Small,
    /// A dated entry's or a figure's caption.
    Caption,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Entry {
    /// `Some(true)` is a ticked box, `Some(false)` an open one, `None` an ordinary entry.
    pub task: Option<bool>,
    pub items: Vec<Item>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Table {
    pub columns: Vec<Column>,
    pub rows: Vec<Row>,
    pub caption: Option<Rich>,
}

/// What a row's value was worked from.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub(crate) struct Working {
    /// Empty where there is nothing to tell.
    pub from: Rich,
    /// The value as it ends the working where that stands alone.
    pub result: Rich,
}

impl Working {
    /// Whether it goes on from the name with an equals sign; a method is told of it.
    pub(crate) fn is_equation(&self) -> bool {
        let words = self.from.words();
        words.contains(" = ") || words.starts_with(|c: char| c.is_ascii_digit())
    }
}

/// The workings of a column of another table, run together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct WorkedLine {
    /// The values' ids: they lead here.
    pub ids: Vec<String>,
    pub text: Rich,
}

/// The working of a value that stands in another table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Member {
    pub id: Option<String>,
    pub label: Rich,
    pub working: Working,
    /// What else is said of it on screen.
    pub log: Vec<Rich>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Column {
    pub head: Rich,
    pub align: Align,
    /// How wide the column wants to be against the others; 0 means as wide as its longest line.
    pub share: u16,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Align {
    Left,
    Right,
    Centre,
    /// Aligned on the decimal point of the first number of each cell.
    Decimal,
}

impl Table {
    /// How a column is set: points stand in line only where all its numbers are of one unit.
    pub(crate) fn align(&self, column: usize) -> Align {
        let align = self.columns[column].align;
        let mut units = self.rows.iter().filter_map(|row| unit(&row.cells.get(column)?.words()));
        match (align, units.next()) {
            (Align::Decimal, Some(first)) if units.any(|other| other != first) => Align::Left,
            _ => align,
        }
    }
}

/// What is left of a number with its uncertainty when its digits are taken away; `None` for words.
fn unit(text: &str) -> Option<String> {
    let part_of_number = |c: char| {
        c.is_ascii_digit() || c.is_whitespace() || matches!(c, '.' | ',' | '±' | '−' | '-' | '(' | ')')
    };
    text.starts_with(part_of_number).then(|| text.chars().filter(|c| !part_of_number(*c)).collect())
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Row {
    pub id: Option<String>,
    /// As many as there are columns; a shorter row ends in empty cells.
    pub cells: Vec<Rich>,
    /// What the log column says beside this row.
    pub log: Vec<Rich>,
    /// A total or a group's head: set in bold, with a rule above.
    pub strong: bool,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct Picture {
    pub alt: String,
    pub format: PictureFormat,
    #[serde(skip)]
    pub bytes: Arc<[u8]>,
    /// In pixels.
    pub width: u32,
    pub height: u32,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum PictureFormat {
    Png,
    Jpeg,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct HeadlineFigure {
    pub label: String,
    pub value: String,
    /// Where it leads: the row of its working.
    pub target: Option<Target>,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct ContentsEntry {
    pub level: u8,
    pub text: Rich,
    pub id: String,
    /// Verdict counts or the like, set small behind the entry.
    pub remark: Rich,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
pub(crate) struct SignatureBox {
    pub title: String,
    /// Labels with a line to write on.
    pub lines: Vec<String>,
}

/// Text with marks, in order. Two runs that touch are set without a space between them.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
#[serde(transparent)]
pub(crate) struct Rich(pub Vec<Run>);

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "run", rename_all = "kebab-case")]
pub(crate) enum Run {
    Text {
        text: String,
        face: Face,
    },
    Link {
        text: Rich,
        target: Target,
    },
    /// A verdict: a word with a mark whose shape tells it without colour.
    Verdict {
        verdict: Mark,
    },
    /// A short bar that shows a margin: 0 at the limit, ±1 at the ends; negative has missed.
    Margin {
        share: f64,
    },
    /// A box to write in.
    Blank,
    Break,
}

#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Face {
    #[default]
    Plain,
    Strong,
    Emphasis,
    StrongEmphasis,
    Code,
    Strike,
    Sub,
    Sup,
    /// Smaller and quieter.
    Quiet,
}

#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "to", rename_all = "kebab-case")]
pub(crate) enum Target {
    /// An item's or row's id in this document.
    Inner { id: String },
    /// A place in the dossier, whose file stands beside that of this document.
    Dossier { id: String },
    /// `http:`, `https:` or `mailto:` only; anything else was dropped before.
    Outer { address: String },
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum Mark {
    Meets,
    Close,
    Fails,
    Open,
}

impl Mark {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Mark::Meets => "meets",
            Mark::Close => "close",
            Mark::Fails => "fails",
            Mark::Open => "open",
        }
    }
}

impl Rich {
    pub(crate) fn plain(text: impl Into<String>) -> Rich {
        Rich(vec![Run::Text { text: text.into(), face: Face::Plain }])
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The words alone, as a search or an outline entry needs them.
    pub(crate) fn words(&self) -> String {
        let mut words = String::new();
        for run in &self.0 {
            match run {
                Run::Text { text, .. } => words.push_str(text),
                Run::Link { text, .. } => words.push_str(&text.words()),
                Run::Verdict { verdict } => words.push_str(verdict.word()),
                Run::Margin { .. } | Run::Blank => {}
                Run::Break => words.push(' '),
            }
        }
        words
    }
}

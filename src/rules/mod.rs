//! Limits and published tables as data files with their sources; a limit never stands in code.
//!
//! A verdict is no better than the standing of its limit: who reads a value from here gets its source with it.

pub(crate) mod cycles;
pub(crate) mod packs;
pub(crate) mod possible;
mod read;
pub(crate) mod supposed;

use std::sync::OnceLock;

use crate::quantities::{Literal, read_literal};

/// The data files, each with its name for messages of the tests.
static FILES: [(&str, &str); 8] = [
    ("electrical.yaml", include_str!("electrical.yaml")),
    ("charging.yaml", include_str!("charging.yaml")),
    ("pilot.yaml", include_str!("pilot.yaml")),
    ("coolant.yaml", include_str!("coolant.yaml")),
    ("conductors.yaml", include_str!("conductors.yaml")),
    ("mechanical.yaml", include_str!("mechanical.yaml")),
    ("supposed.yaml", include_str!("supposed.yaml")),
    ("possible.yaml", include_str!("possible.yaml")),
];

/// Where a value comes from, and how well that is known.
#[derive(Debug, PartialEq, Eq)]
pub(crate) struct Source {
    /// What it says, in words.
    pub about: String,
    pub document: String,
    /// The edition or series of amendments, where it is known.
    pub edition: Option<String>,
    pub year: Option<String>,
    pub clause: String,
    pub standing: Standing,
}

/// How a source was obtained.
/// Later ones are worth less.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Standing {
    /// The text, or an official extract of it, was read.
    Read,
    /// Another document states it.
    SecondHand,
    /// Unverified.
    Memory,
    /// What the trade does, or what this program supposes; nothing states it.
    Practice,
}

/// One limit: a value in the language.
#[derive(Debug)]
pub(crate) struct Rule {
    pub name: String,
    pub value: String,
    pub source: Source,
}

/// A published table: rows of values in the language, or of words.
#[derive(Debug)]
pub(crate) struct Table {
    pub name: String,
    pub columns: Vec<String>,
    /// Each as long as the columns.
    pub rows: Vec<Vec<String>>,
    pub source: Source,
}

/// All that the files hold.
#[derive(Debug, Default)]
pub(crate) struct Rules {
    pub limits: Vec<Rule>,
    pub tables: Vec<Table>,
}

/// The limit of that name. Kinds name only limits that the files hold; anything else is a fault of the program.
pub(crate) fn limit(name: &str) -> &'static Rule {
    let found = rules().limits.iter().find(|rule| rule.name == name);
    found.unwrap_or_else(|| panic!("no limit is named `{name}`"))
}

/// The table of that name, as with [`limit`].
pub(crate) fn table(name: &str) -> &'static Table {
    let found = rules().tables.iter().find(|table| table.name == name);
    found.unwrap_or_else(|| panic!("no table is named `{name}`"))
}

/// Everything that the program ships, for the reference.
pub(crate) fn rules() -> &'static Rules {
    static RULES: OnceLock<Rules> = OnceLock::new();
    RULES.get_or_init(|| {
        let (rules, faults) = read::read(&FILES);
        debug_assert!(faults.is_empty(), "{faults:#?}");
        rules
    })
}

impl Rules {
    /// Where the limit, table or cycle of that name comes from.
    pub(crate) fn source(&self, name: &str) -> Option<&Source> {
        let limit = self.limits.iter().find(|rule| rule.name == name).map(|rule| &rule.source);
        let table = || self.tables.iter().find(|table| table.name == name).map(|table| &table.source);
        let item = || {
            let (pack, id) = name.split_once('.')?;
            packs::shipped().iter().find(|one| one.name == pack)?.item(id)?.source.as_ref()
        };
        limit.or_else(table).or_else(|| cycles::cycle(name).map(|cycle| &cycle.cited)).or_else(item)
    }

    /// Of all limits, then of all tables.
    pub(crate) fn names(&self) -> impl Iterator<Item = &str> {
        let tables = self.tables.iter().map(|table| table.name.as_str());
        self.limits.iter().map(|rule| rule.name.as_str()).chain(tables)
    }
}

impl Source {
    /// `UN R100 (revision 2), 1.2.3.4`; that the edition was not stated is told where all are listed, by
    /// [`Source::whole`].
    pub(crate) fn words(&self) -> String {
        self.told(|edition| !edition.starts_with("edition not"))
    }

    /// As [`Source::words`], and that the edition was not stated.
    pub(crate) fn whole(&self) -> String {
        self.told(|_| true)
    }

    fn told(&self, is_told: impl Fn(&str) -> bool) -> String {
        let of = [&self.edition, &self.year].into_iter().flatten().map(String::as_str);
        let of: Vec<&str> = of.filter(|edition| is_told(edition)).collect();
        match of.as_slice() {
            [] => format!("{}, {}", self.document, self.clause),
            parts => format!("{} ({}), {}", self.document, parts.join(", "), self.clause),
        }
    }
}

impl Standing {
    const ALL: [Standing; 4] = [Standing::Read, Standing::SecondHand, Standing::Memory, Standing::Practice];

    pub(crate) fn word(self) -> &'static str {
        match self {
            Standing::Read => "read",
            Standing::SecondHand => "second-hand",
            Standing::Memory => "memory",
            Standing::Practice => "practice",
        }
    }
}

impl Rule {
    /// The value in the coherent SI unit.
    pub(crate) fn si(&self) -> f64 {
        literal(&self.value).quantity.si
    }
}

impl Table {
    /// The row whose first cell is that text.
    pub(crate) fn row(&self, key: &str) -> Option<&[String]> {
        self.rows.iter().find(|row| row[0] == key).map(Vec::as_slice)
    }

    /// The row whose first cell is that quantity (SI).
    pub(crate) fn row_of(&self, si: f64) -> Option<&[String]> {
        let same = |row: &&Vec<String>| (literal(&row[0]).quantity.si - si).abs() <= 1e-9 * si.abs();
        self.rows.iter().find(same).map(Vec::as_slice)
    }

    /// The texts of the first cells next below and next above a quantity (SI).
    pub(crate) fn neighbours(&self, si: f64) -> (Option<&str>, Option<&str>) {
        let firsts = || self.rows.iter().map(|row| (literal(&row[0]).quantity.si, row[0].as_str()));
        let below = firsts().filter(|(value, _)| *value < si).max_by(|a, b| a.0.total_cmp(&b.0));
        let above = firsts().filter(|(value, _)| *value > si).min_by(|a, b| a.0.total_cmp(&b.0));
        (below.map(|found| found.1), above.map(|found| found.1))
    }

    /// The cell of a row under a title. Kinds name only columns that the table has.
    pub(crate) fn cell<'a>(&self, row: &'a [String], title: &str) -> &'a str {
        let at = self.columns.iter().position(|column| column == title);
        &row[at.unwrap_or_else(|| panic!("`{}` has no column `{title}`", self.name))]
    }

    /// The first cells of all rows, in order.
    pub(crate) fn keys(&self) -> impl Iterator<Item = &str> {
        self.rows.iter().map(|row| row[0].as_str())
    }
}

/// A value of a data file as it is read.
pub(crate) fn literal(text: &str) -> Literal {
    read_literal(text).unwrap_or_else(|fault| panic!("`{text}` in the rules: {}", fault.message))
}

#[cfg(test)]
mod tests;

//! Rule packs: what a place, a regulation or the trade asks of a vehicle, item by item, and how each is judged.
//!
//! The format is told in `notebooks-demo/reference/rules.md`. A pack of a journal is read like those that are shipped.

use std::collections::HashMap;
use std::sync::{Mutex, OnceLock, PoisonError};

use super::read::{entries, items};
use super::{Source, Standing};
use crate::journal::{Node, NodeValue, read_yaml};
use crate::source::FileId;

/// The packs that are shipped, by name.
static SHIPPED: [(&str, &str); 14] = [
    ("un-r100", include_str!("packs/un-r100.yaml")),
    ("iso-6469-4", include_str!("packs/iso-6469-4.yaml")),
    ("build-practice", include_str!("packs/build-practice.yaml")),
    ("au-ncop14", include_str!("packs/au-ncop14.yaml")),
    ("au-nsw", include_str!("packs/au-nsw.yaml")),
    ("au-vsb14", include_str!("packs/au-vsb14.yaml")),
    ("nz", include_str!("packs/nz.yaml")),
    ("uk-iva", include_str!("packs/uk-iva.yaml")),
    ("de-764", include_str!("packs/de-764.yaml")),
    ("fr-2020", include_str!("packs/fr-2020.yaml")),
    ("ch-vts", include_str!("packs/ch-vts.yaml")),
    ("us-fmvss-305", include_str!("packs/us-fmvss-305.yaml")),
    ("us-virginia", include_str!("packs/us-virginia.yaml")),
    ("us-california", include_str!("packs/us-california.yaml")),
];

/// A list of items.
#[derive(Debug)]
pub(crate) struct Pack {
    pub name: String,
    /// The first line of its file: what was read of it, and who decides.
    pub about: String,
    pub items: Vec<Item>,
}

/// One thing that is asked.
#[derive(Debug)]
pub(crate) struct Item {
    pub id: String,
    /// Of its file, from 1.
    pub line: usize,
    /// What it is about, in a word or two.
    pub theme: String,
    pub weight: Weight,
    /// `None` for subjects that every journal is asked about: they state no rule.
    pub source: Option<Source>,
    /// In our own words.
    pub asks: String,
    pub when: When,
    /// `plan`, `build`, `test` or `show`.
    pub due: String,
    /// All of them must hold.
    pub judged_by: Vec<Ground>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Weight {
    Safety,
    Legal,
    Wish,
}

/// Of which vehicles something is asked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum When {
    Always,
    /// Above 60 V DC or 30 V AC, and where the voltage is not known.
    HighVoltage,
    /// Where a block of that kind is there.
    With(String),
}

/// What an item is judged by.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) enum Ground {
    /// The requirements of a kind's blocks; with a name those of that name.
    Requirement { kind: String, name: Option<String> },
    /// A limit on a result or field of a kind, in names of that kind.
    Limit { kind: String, result: String, low: Option<String>, high: Option<String> },
    /// A block of that kind is there and could be worked.
    Block(String),
    /// A test record whose `test` is that.
    Record(String),
    /// An answer `yes` that names its evidence; in words, what that shows.
    Evidence(String),
    /// An answer by somebody of that role.
    Statement(String),
}

/// What is wrong with a pack, and in which line (from 1).
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct PackFault {
    pub line: usize,
    pub message: String,
}

/// The shipped packs, in the order of the reference.
pub(crate) fn shipped() -> &'static [Pack] {
    static PACKS: OnceLock<Vec<Pack>> = OnceLock::new();
    PACKS.get_or_init(|| SHIPPED.iter().map(|(name, text)| sound(name, text)).collect())
}

/// The name of the subjects among the packs.
const SUBJECTS: &str = "coverage";

/// What every journal of a vehicle is asked about.
pub(crate) fn subjects() -> &'static Pack {
    static PACK: OnceLock<Pack> = OnceLock::new();
    PACK.get_or_init(|| sound(SUBJECTS, include_str!("subjects.yaml")))
}

/// Whether a pack of that name is the program's: none of a journal's own may have it.
pub(crate) fn is_taken(name: &str) -> bool {
    name == SUBJECTS || SHIPPED.iter().any(|(shipped, _)| *shipped == name)
}

fn sound(name: &str, text: &str) -> Pack {
    let (pack, faults) = read(name, text);
    debug_assert!(faults.is_empty(), "{name}: {faults:#?}");
    pack
}

/// A journal's own pack. What was once read is kept as long as the program runs: one text is one pack.
pub(crate) fn own(name: &str, text: &str) -> (&'static Pack, Vec<PackFault>) {
    type Kept = HashMap<(String, String), (&'static Pack, Vec<PackFault>)>;
    static KEPT: OnceLock<Mutex<Kept>> = OnceLock::new();
    let mut kept = KEPT.get_or_init(Mutex::default).lock().unwrap_or_else(PoisonError::into_inner);
    let key = (name.to_owned(), text.to_owned());
    kept.entry(key)
        .or_insert_with(|| {
            let (pack, faults) = read(name, text);
            (&*Box::leak(Box::new(pack)), faults)
        })
        .clone()
}

/// Reads a pack; an item in which something is amiss is told and left out.
pub(super) fn read(name: &str, text: &str) -> (Pack, Vec<PackFault>) {
    let (node, findings) = read_yaml(FileId(0), text);
    let mut reader = Reader { text, rule: name != SUBJECTS, faults: Vec::new() };
    for finding in findings {
        let at = finding.span.map_or(0, |span| span.start as usize);
        reader.fault(at, finding.message.to_string());
    }
    let first = text.trim_start_matches('\u{feff}').lines().next().unwrap_or_default();
    let about = first.strip_prefix('#').unwrap_or_default().trim_start_matches(['#', ' ']).trim().to_owned();
    if about.is_empty() {
        reader
            .fault(0, "its first line is no `# …` that says what was read of it, and who decides".to_owned());
    }
    let mut items: Vec<Item> = Vec::new();
    for (key, value) in node.iter().flat_map(entries) {
        if key.text() != Some("items") {
            reader.at(key, format!("{:?} is not `items`", key.text().unwrap_or_default()));
            continue;
        }
        if !matches!(value.value, NodeValue::Mapping(_)) {
            reader.at(key, "`items` is no mapping: each stands under its name, `heavier: {…}`".to_owned());
        }
        for (id, item) in entries(value) {
            let Some(item) = reader.item(id, item) else { continue };
            match items.iter().any(|other| other.id == item.id) {
                true => reader.at(id, format!("the item `{}` is there twice", item.id)),
                false => items.push(item),
            }
        }
    }
    if items.is_empty() && reader.faults.is_empty() {
        reader.fault(0, "it has no `items`".to_owned());
    }
    (Pack { name: name.to_owned(), about, items }, reader.faults)
}

struct Reader<'t> {
    text: &'t str,
    /// Items name the document that asks.
    rule: bool,
    faults: Vec<PackFault>,
}

const KEYS: [&str; 12] = [
    "theme",
    "kind",
    "document",
    "edition",
    "year",
    "clause",
    "status",
    "asks",
    "when",
    "due",
    "judged_by",
    "title",
];

impl Reader<'_> {
    fn at(&mut self, node: &Node, message: String) {
        self.fault(node.span.start as usize, message);
    }

    fn fault(&mut self, at: usize, message: String) {
        let line = self.line(at);
        self.faults.push(PackFault { line, message });
    }

    fn line(&self, at: usize) -> usize {
        self.text.get(..at).unwrap_or(self.text).matches('\n').count() + 1
    }

    fn item(&mut self, key: &Node, node: &Node) -> Option<Item> {
        let told = self.faults.len();
        let id = key.text().unwrap_or_default().to_owned();
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '_';
        if id.is_empty() || !id.chars().all(plain) {
            self.at(key, format!("`{id}` is no name for an item: lower-case letters, digits and `_`"));
        }
        for (other, _) in entries(node) {
            let name = other.text().unwrap_or_default();
            if !KEYS.contains(&name) {
                self.at(other, format!("an item has no `{name}`; its keys are {}", KEYS[..11].join(", ")));
            }
        }
        let theme = self.needed(key, node, "theme");
        let asks = self.needed(key, node, "asks");
        let weight = match self.needed(key, node, "kind").as_str() {
            "safety" => Weight::Safety,
            "legal" => Weight::Legal,
            "wish" => Weight::Wish,
            "" => Weight::Wish,
            other => {
                self.at(key, format!("`{other}` of `{id}` is no kind: `safety`, `legal` or `wish`"));
                Weight::Wish
            }
        };
        let source = if self.rule { self.source(key, node, &asks) } else { None };
        let when = self.when(node);
        let mut judged_by = Vec::new();
        let grounds = node.get("judged_by").map(items).unwrap_or_default();
        if grounds.is_empty() {
            self.at(key, format!("`{id}` is judged by nothing: give it a list `judged_by`"));
        }
        for ground in grounds {
            judged_by.extend(self.ground(ground));
        }
        let due = node.get("due").and_then(Node::text).unwrap_or_default();
        let due = match due {
            "" => default_due(&judged_by),
            "plan" | "build" | "test" | "show" => due,
            other => {
                self.at(key, format!("`{other}` of `{id}` is no stage: `plan`, `build`, `test` or `show`"));
                "show"
            }
        };
        let line = self.line(key.span.start as usize);
        let item = Item { id, line, theme, weight, source, asks, when, due: due.to_owned(), judged_by };
        (self.faults.len() == told).then_some(item)
    }

    fn source(&mut self, key: &Node, node: &Node, asks: &str) -> Option<Source> {
        let document = self.needed(key, node, "document");
        let clause = self.needed(key, node, "clause");
        let status = self.needed(key, node, "status");
        let standing = Standing::ALL.into_iter().find(|standing| standing.word() == status);
        if standing.is_none() && !status.is_empty() {
            let known = Standing::ALL.map(|standing| format!("`{}`", standing.word())).join(", ");
            self.at(key, format!("`{status}` is no status: {known}"));
        }
        let optional = |key: &str| node.get(key).and_then(Node::text).map(str::to_owned);
        Some(Source {
            about: asks.to_owned(),
            document,
            edition: optional("edition"),
            year: optional("year"),
            clause,
            standing: standing?,
        })
    }

    fn when(&mut self, node: &Node) -> When {
        match node.get("when").and_then(Node::text) {
            None | Some("always") => When::Always,
            Some("high-voltage") => When::HighVoltage,
            Some(other) => match other.strip_prefix("with ") {
                Some(kind) => When::With(kind.trim().to_owned()),
                None => {
                    self.at(
                        node,
                        format!("`{other}` is no condition: `always`, `high-voltage` or `with KIND`"),
                    );
                    When::Always
                }
            },
        }
    }

    fn ground(&mut self, node: &Node) -> Option<Ground> {
        let [(key, value)] = entries(node) else {
            self.at(
                node,
                "what judges is a mapping with one key, like `{requirement: isolation.whole}`".to_owned(),
            );
            return None;
        };
        let text = || value.text().map(|text| text.trim().to_owned()).filter(|text| !text.is_empty());
        let ground = match key.text().unwrap_or_default() {
            "requirement" => text().map(|text| match text.split_once('.') {
                Some((kind, name)) => {
                    Ground::Requirement { kind: kind.to_owned(), name: Some(name.to_owned()) }
                }
                None => Ground::Requirement { kind: text, name: None },
            }),
            "limit" => {
                let part = |key: &str| value.get(key).and_then(Node::text).map(|text| text.trim().to_owned());
                let (low, high) = (part("at_least"), part("at_most"));
                let limit = |kind, result| Ground::Limit { kind, result, low, high };
                part("kind")
                    .zip(part("result"))
                    .map(|(kind, result)| limit(kind, result))
                    .filter(|ground| !matches!(ground, Ground::Limit { low: None, high: None, .. }))
            }
            "block" => text().map(Ground::Block),
            "record" => text().map(Ground::Record),
            "evidence" => text().map(Ground::Evidence),
            "statement" => text().map(Ground::Statement),
            _ => None,
        };
        if ground.is_none() {
            let forms = "`requirement: KIND.NAME`, `limit: {kind, result, at_least or at_most}`, `block: KIND`, `record: TEST`, `evidence: …` or `statement: ROLE`";
            self.at(node, format!("what judges is {forms}"));
        }
        ground
    }

    fn needed(&mut self, item: &Node, node: &Node, key: &str) -> String {
        let text = node.get(key).and_then(Node::text).map(str::trim).unwrap_or_default();
        if text.is_empty() {
            self.at(item, format!("`{}` has no `{key}`", item.text().unwrap_or_default()));
        }
        text.to_owned()
    }
}

/// Evidence is due when the vehicle is shown, records when it is tested, and what is worked from the start.
fn default_due(grounds: &[Ground]) -> &'static str {
    let due = |ground: &Ground| match ground {
        Ground::Requirement { .. } | Ground::Limit { .. } | Ground::Block(_) => 0,
        Ground::Record(_) => 2,
        Ground::Evidence(_) | Ground::Statement(_) => 3,
    };
    ["plan", "build", "test", "show"][grounds.iter().map(due).max().unwrap_or(0)]
}

impl Pack {
    pub(crate) fn item(&self, id: &str) -> Option<&Item> {
        self.items.iter().find(|item| item.id == id)
    }
}

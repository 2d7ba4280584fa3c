//! The front matter: whose journal it is, of what vehicle, and how it is to be shown.

use super::requirement_row::Stage;
use crate::findings::{Finding, codes, suggest};
use crate::journal::{Node, NodeValue};
use crate::quantities::{Basis, Preferences};
use crate::rules::supposed::{Knowledge, Width, supposed};
use crate::source::Span;
use crate::words::words;

/// What the first file's front matter says; everything may be left out.
#[derive(Clone, Default)]
pub(crate) struct Front {
    pub title: Option<String>,
    pub identity: Identity,
    pub builder: Option<String>,
    pub place: Option<String>,
    pub revision: Option<String>,
    pub rules: Vec<(String, Span)>,
    pub follow: Vec<(String, Span)>,
    pub show_moves: bool,
    pub letter_paper: bool,
    /// Regions hold workings and all results too.
    pub full_regions: bool,
    pub units: Preferences,
    /// How far the vehicle has come: what is due later is not missed yet.
    pub stage: Stage,
    pub supposed: Vec<Chosen>,
}

/// A width that the author supposes in place of the table's.
#[derive(Clone)]
pub(crate) struct Chosen {
    /// As the table names it.
    pub quantity: String,
    pub basis: Basis,
    pub width: Width,
    /// As it was typed: `estimated.mass: 30 %`.
    pub text: String,
    /// It makes results look surer than the table would: it holds for that basis alone, and the first page says so.
    /// Else it holds for the whole column of the table.
    pub narrower: bool,
}

/// The vehicle, as `(key, text)` in the order written: description, year, identity (chassis number), registration, …
#[derive(Clone, Default)]
pub(crate) struct Identity(pub Vec<(String, String)>);

impl Identity {
    pub(crate) fn get(&self, key: &str) -> Option<&str> {
        self.0.iter().find(|(name, _)| name == key).map(|(_, text)| text.as_str())
    }
}

const KEYS: [&str; 13] = [
    "title",
    "vehicle",
    "builder",
    "place",
    "revision",
    "rules",
    "units",
    "paper",
    "follow",
    "show_moves",
    "stage",
    "regions",
    "supposed",
];

/// Reads the front matter's mapping.
pub(super) fn front(node: &Node) -> (Front, Vec<Finding>) {
    let mut front = Front::default();
    let mut findings = Vec::new();
    let NodeValue::Mapping(entries) = &node.value else {
        if !matches!(node.value, NodeValue::Empty) {
            let message = "front matter that is no mapping";
            findings.push(Finding::new(
                &codes::WRONG_SHAPE,
                node.span,
                message,
                "type `title: …` and the like",
            ));
        }
        return (front, findings);
    };
    for (key, value) in entries {
        let NodeValue::Scalar { text: name, .. } = &key.value else { continue };
        let mut text = || scalar(name, value, &mut findings);
        match name.as_str() {
            "title" => front.title = text(),
            "builder" => front.builder = text(),
            "place" => front.place = text(),
            "revision" => front.revision = text(),
            "paper" => match text().map(|text| text.to_lowercase()).as_deref() {
                Some("a4") | None => {}
                Some("letter") => front.letter_paper = true,
                Some(other) => findings.push(bad(value.span, other, "paper", "a4` or `letter")),
            },
            "regions" => match text().map(|text| text.to_lowercase()).as_deref() {
                Some("full") => front.full_regions = true,
                Some("short") | None => {}
                Some(other) => findings.push(bad(value.span, other, "regions", "short` or `full")),
            },
            "show_moves" => match text().map(|text| text.to_lowercase()).as_deref() {
                Some("yes" | "true") => front.show_moves = true,
                Some("no" | "false") | None => {}
                Some(other) => findings.push(bad(value.span, other, "show_moves", "yes` or `no")),
            },
            "stage" => {
                let text = text();
                let known = Stage::ALL.into_iter().find(|stage| Some(stage.word()) == text.as_deref());
                match (known, text) {
                    (Some(stage), _) => front.stage = stage,
                    (None, Some(other)) => {
                        findings.push(bad(value.span, &other, "stage", "plan`, `build`, `test` or `show"));
                    }
                    (None, None) => {}
                }
            }
            "vehicle" => vehicle(&mut front.identity, value, &mut findings),
            "units" => units(&mut front.units, value, &mut findings),
            "rules" => front.rules = names(name, value, &mut findings),
            "follow" => front.follow = names(name, value, &mut findings),
            "supposed" => front.supposed = widths(value, &mut findings),
            other => {
                let help = match suggest(other, KEYS) {
                    Some(near) => words!("did you mean `{}`?", near),
                    None => words!("the keys of the front matter are {}", KEYS.join(", ")),
                };
                let message = words!("the front matter has no key `{}`", other);
                findings.push(Finding::new(&codes::UNKNOWN_KEY, key.span, message, help));
            }
        }
    }
    (front, findings)
}

fn bad(span: Span, found: &str, key: &str, expected: &str) -> Finding {
    let message = words!("`{}` is `{}` where `{}` is expected", key, found, expected);
    Finding::new(&codes::BAD_VALUE, span, message, words!("type `{}: …` with one of them", key))
}

fn scalar(key: &str, value: &Node, findings: &mut Vec<Finding>) -> Option<String> {
    match &value.value {
        NodeValue::Scalar { text, .. } => Some(text.trim().to_owned()).filter(|text| !text.is_empty()),
        NodeValue::Empty => None,
        _ => {
            let message = words!("`{}` is a list or mapping where text is expected", key);
            findings.push(Finding::new(&codes::WRONG_SHAPE, value.span, message, "write it on one line"));
            None
        }
    }
}

fn vehicle(identity: &mut Identity, value: &Node, findings: &mut Vec<Finding>) {
    match &value.value {
        NodeValue::Mapping(entries) => {
            for (key, value) in entries {
                if let NodeValue::Scalar { text: name, .. } = &key.value
                    && let Some(text) = scalar(name, value, findings)
                {
                    identity.0.push((name.clone(), text));
                }
            }
        }
        NodeValue::Scalar { text, .. } => identity.0.push(("description".to_owned(), text.trim().to_owned())),
        _ => {}
    }
}

fn units(units: &mut Preferences, value: &Node, findings: &mut Vec<Finding>) {
    match &value.value {
        NodeValue::Scalar { text, .. } => match Preferences::preset(text.trim()) {
            Some(preset) => *units = preset,
            None => findings.push(bad(value.span, text, "units", "si` or `us")),
        },
        NodeValue::Mapping(entries) => {
            for (key, value) in entries {
                let NodeValue::Scalar { text: group, .. } = &key.value else { continue };
                let Some(unit) = scalar(group, value, findings) else { continue };
                if let Err(fault) = units.read(group, &unit) {
                    let span = if fault.code.name == codes::UNKNOWN_KEY.name { key.span } else { value.span };
                    findings.push(Finding::new(fault.code, span, fault.message, fault.help));
                }
            }
        }
        _ => {}
    }
}

/// `{estimated.mass: 30 %}`.
fn widths(value: &Node, findings: &mut Vec<Finding>) -> Vec<Chosen> {
    let NodeValue::Mapping(entries) = &value.value else {
        let message = "`supposed` is a mapping";
        findings.push(Finding::new(
            &codes::WRONG_SHAPE,
            value.span,
            message,
            "type `supposed: {estimated.mass: 30 %}`",
        ));
        return Vec::new();
    };
    let mut chosen = Vec::new();
    for (key, value) in entries {
        let (Some(name), Some(text)) = (key.text(), scalar("supposed", value, findings)) else { continue };
        let Some((quantity, basis)) = name.split_once('.').and_then(|(basis, quantity)| {
            let row = |quantity: &str| supposed().physical.iter().find(|row| row.quantity == quantity);
            let quantity = quantity.replace(['_', '-'], " ");
            Some((row(&quantity)?, Basis::read(basis)?))
        }) else {
            let known = supposed().physical.iter().map(|row| row.quantity.replace(' ', "_"));
            let mut known: Vec<String> = known.collect();
            known.dedup();
            let message = words!("`{}` is no basis and quantity with a point between", name);
            let help = words!("type `estimated.mass` or the like; the quantities are {}", known.join(", "));
            findings.push(Finding::new(&codes::UNKNOWN_KEY, key.span, message, help));
            continue;
        };
        let Some(width) = Width::read(&text) else {
            findings.push(bad(value.span, &text, name, "30 %` or `40 mm"));
            continue;
        };
        let narrower = quantity.width(Knowledge::of(basis)).is_wider_than(&width);
        let text = format!("{name}: {text}");
        chosen.push(Chosen { quantity: quantity.quantity.clone(), basis, width, text, narrower });
    }
    chosen
}

fn names(key: &str, value: &Node, findings: &mut Vec<Finding>) -> Vec<(String, Span)> {
    match &value.value {
        NodeValue::Sequence(items) => {
            items.iter().filter_map(|item| Some((scalar(key, item, findings)?, item.span))).collect()
        }
        NodeValue::Scalar { text, .. } => vec![(text.trim().to_owned(), value.span)],
        _ => Vec::new(),
    }
}

//! `kinds --json`: a JSON Schema (2020-12) of the kinds' blocks, from the same data that reads them.
//!
//! It says which keys there are, which are needed, and of what shape their values are; what a text means (number, unit,
//! tolerance, reference) is told in words, for an editor to show.

use std::collections::BTreeMap;

use serde::Serialize;

use crate::blocks::KINDS;
use crate::model::{FieldDoc, Kind, LABELS, Needed, Range, Takes, capital};
use crate::quantities::Basis;
use crate::register::json;

/// The schema of one kind's block.
pub(super) fn of_kind(kind: &Kind) -> String {
    let mut schema = block(kind);
    schema.schema = Some(DIALECT);
    schema.defs = values();
    json(&schema)
}

/// The schema of a block of any kind; each kind's own stands under `$defs`.
pub(super) fn of_all() -> String {
    let mut defs = values();
    defs.extend(KINDS.iter().map(|kind| (kind.name.to_owned(), block(kind))));
    json(&Schema {
        schema: Some(DIALECT),
        title: Some("A calculation block of a Voltwright journal".to_owned()),
        description: Some("The kind is the second word of the fence: ```yaml KIND NAME".to_owned()),
        any_of: KINDS.iter().map(|kind| reference(kind.name)).collect(),
        defs,
        ..Schema::default()
    })
}

const DIALECT: &str = "https://json-schema.org/draft/2020-12/schema";

/// The part of JSON Schema that is needed here.
#[derive(Serialize, Default, Clone)]
struct Schema {
    #[serde(rename = "$schema", skip_serializing_if = "Option::is_none")]
    schema: Option<&'static str>,
    #[serde(rename = "$ref", skip_serializing_if = "Option::is_none")]
    reference: Option<String>,
    #[serde(rename = "$defs", skip_serializing_if = "BTreeMap::is_empty")]
    defs: BTreeMap<String, Schema>,
    #[serde(skip_serializing_if = "Option::is_none")]
    title: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    description: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    default: Option<&'static str>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    examples: Vec<&'static str>,
    #[serde(rename = "type", skip_serializing_if = "Vec::is_empty", serialize_with = "one_or_many")]
    types: Vec<&'static str>,
    #[serde(rename = "enum", skip_serializing_if = "Vec::is_empty")]
    words: Vec<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    pattern: Option<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    minimum: Option<u32>,
    #[serde(rename = "minItems", skip_serializing_if = "Option::is_none")]
    min_items: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    items: Option<Box<Schema>>,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    properties: BTreeMap<String, Schema>,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    required: Vec<String>,
    #[serde(rename = "additionalProperties", skip_serializing_if = "Option::is_none")]
    additional: Option<Additional>,
    #[serde(rename = "anyOf", skip_serializing_if = "Vec::is_empty")]
    any_of: Vec<Schema>,
    #[serde(rename = "allOf", skip_serializing_if = "Vec::is_empty")]
    all_of: Vec<Schema>,
    #[serde(rename = "oneOf", skip_serializing_if = "Vec::is_empty")]
    one_of: Vec<Schema>,
}

#[derive(Serialize, Clone)]
#[serde(untagged)]
enum Additional {
    Refused(Refused),
    Allowed(Box<Schema>),
}

/// Written as `false`.
#[derive(Clone, Copy)]
struct Refused;

impl Serialize for Refused {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_bool(false)
    }
}

/// One type stands without brackets.
fn one_or_many<S: serde::Serializer>(types: &[&'static str], serializer: S) -> Result<S::Ok, S::Error> {
    match types {
        [one] => serializer.serialize_str(one),
        many => many.serialize(serializer),
    }
}

/// Fields by their segments: `stages.ratio` is `ratio` under `stages`.
#[derive(Default)]
struct Branch {
    doc: Option<&'static FieldDoc>,
    under: BTreeMap<&'static str, Branch>,
}

fn block(kind: &Kind) -> Schema {
    let mut root = Branch::default();
    for field in kind.fields {
        let mut at = &mut root;
        for segment in field.name.split('.') {
            at = at.under.entry(segment).or_default();
        }
        at.doc = Some(field);
    }
    let mut schema = mapping(&root);
    schema.title = Some(kind.name.to_owned());
    schema.description = Some(format!("{}.", capital(kind.summary)));
    let basis = "basis and source of each value that has none of its own: `measured WB-1`";
    schema.properties.insert("basis".to_owned(), described(texts(), basis));
    let replaces =
        "the block of the same kind that this one takes the place of: its name means this one from then on";
    schema.properties.insert("replaces".to_owned(), described(texts(), replaces));
    schema.properties.insert("because".to_owned(), described(texts(), "why it replaces the other"));
    schema
}

/// A mapping with these fields. A name in capitals stands for names of the author's own.
fn mapping(branch: &Branch) -> Schema {
    let mut schema = typed("object");
    schema.additional = Some(Additional::Refused(Refused));
    for (name, below) in &branch.under {
        let own = field(below);
        if name.starts_with(|first: char| first.is_ascii_uppercase()) {
            schema.additional = Some(Additional::Allowed(Box::new(own)));
            continue;
        }
        if below.doc.is_some_and(|doc| doc.needed == Needed::Required) {
            schema.required.push((*name).to_owned());
        }
        schema.properties.insert((*name).to_owned(), own);
    }
    schema.all_of = exclusive(branch);
    schema
}

/// An item of a list. Its label is `name`, and other words for it are taken too.
fn item(branch: &Branch) -> Schema {
    let mut schema = mapping(branch);
    let others: Vec<&str> = LABELS.into_iter().filter(|word| !branch.under.contains_key(word)).collect();
    let Some(label) = schema.properties.get(LABELS[0]).filter(|_| others.len() + 1 == LABELS.len()).cloned()
    else {
        return schema;
    };
    schema.properties.extend(others.iter().map(|word| ((*word).to_owned(), label.clone())));
    let required = |name: &str| Schema { required: vec![name.to_owned()], ..Schema::default() };
    if let Some(at) = schema.required.iter().position(|name| name == LABELS[0]) {
        schema.required.remove(at);
        schema.all_of.push(Schema { one_of: LABELS.map(required).into(), ..Schema::default() });
    }
    for group in &mut schema.all_of {
        let named = |one: &Schema, word: &str| one.required.iter().any(|name| name == word);
        if group.one_of.iter().any(|one| named(one, LABELS[0]))
            && !group.one_of.iter().any(|one| named(one, LABELS[1]))
        {
            group.one_of.extend(others.iter().map(|word| required(word)));
        }
    }
    schema
}

/// Of fields that take each other's place, exactly one is there.
fn exclusive(branch: &Branch) -> Vec<Schema> {
    let mut groups: BTreeMap<&str, Vec<&str>> = BTreeMap::new();
    for (name, below) in &branch.under {
        if let Some(first) = below.doc.map(|doc| doc.instead_of).filter(|first| !first.is_empty()) {
            groups.entry(first).or_insert_with(|| vec![first]).push(name);
        }
    }
    let required = |name: &&str| Schema { required: vec![(*name).to_owned()], ..Schema::default() };
    let one_of = |names: Vec<&str>| names.iter().map(required).collect();
    groups.into_values().map(|names| Schema { one_of: one_of(names), ..Schema::default() }).collect()
}

fn field(branch: &Branch) -> Schema {
    let Some(doc) = branch.doc else { return mapping(branch) };
    let named =
        doc.name.rsplit('.').next().is_some_and(|name| name.starts_with(|c: char| c.is_ascii_uppercase()));
    // What may be left out may be empty too.
    let list = |of| Schema { min_items: (doc.needed == Needed::Required).then_some(1), ..list(of) };
    let mut schema = match doc.takes {
        Takes::Quantity(_) => reference("value"),
        Takes::Quantities(_) => list(reference("value")),
        Takes::Count => reference("count"),
        Takes::Text => texts(),
        Takes::BlockName => reference("block"),
        Takes::List if branch.under.is_empty() => list(reference("value")),
        Takes::List if doc.names => any([list(any([item(branch), texts_only()])), reference("csv")]),
        Takes::List => any([list(item(branch)), reference("csv")]),
        Takes::Group if branch.under.is_empty() => names(reference("value")),
        Takes::Group => mapping(branch),
        Takes::Named if named => reference("named"),
        Takes::Named => names(reference("named")),
        Takes::Curve(..) | Takes::Special => Schema::default(),
    };
    let mut about = capital(doc.about);
    if let Takes::Quantity(sort) = doc.takes {
        about = format!("{} ({}{})", about, sort.words(), range(doc.range));
        schema.examples = vec![sort.example];
    }
    if let Needed::Assumed(default) = doc.needed {
        schema.default = Some(default);
    }
    described(schema, &about)
}

fn range(range: Range) -> String {
    if range == Range::Any { String::new() } else { format!(", {}", range.words()) }
}

/// What values of fields look like.
fn values() -> BTreeMap<String, Schema> {
    let scalar =
        "`64 kg ± 1 kg (measured WB-2)`, a reference `from block.result`, or an expression `from a.b * 2`";
    let mut long = typed("object");
    let readings = described(list(texts()), "two or more readings, each with its unit");
    for (key, own) in [
        ("value", described(texts(), "a number with its unit")),
        ("tolerance", described(texts(), "half of its width, with its unit or in %")),
        ("shape", Schema { words: vec!["rectangular", "triangular", "normal"], ..Schema::default() }),
        (
            "coverage",
            described(
                texts(),
                "how many standard uncertainties a normal tolerance is; 2 where nothing is said",
            ),
        ),
        ("readings", Schema { min_items: Some(2), ..readings }),
        (
            "together",
            described(texts(), "lists of readings with the same name were taken at the same moments"),
        ),
        ("basis", Schema { words: Basis::ALL.map(Basis::word).to_vec(), ..Schema::default() }),
        ("source", described(texts(), "an id of a `sources` block")),
        ("remark", texts()),
    ] {
        long.properties.insert(key.to_owned(), own);
    }
    long.additional = Some(Additional::Refused(Refused));
    long.any_of = ["value", "readings"]
        .map(|key| Schema { required: vec![key.to_owned()], ..Schema::default() })
        .to_vec();
    let mut file = typed("object");
    file.properties.insert("file".to_owned(), described(texts(), "a CSV file of the journal folder"));
    file.required = vec!["file".to_owned()];
    let csv = Schema { additional: Some(Additional::Refused(Refused)), ..file.clone() };
    let point = Schema { min_items: Some(2), ..list(texts()) };
    let curve = described(list(point), "a curve: points `[x, y]`");
    let count = any([Schema { minimum: Some(1), ..typed("integer") }, texts_only()]);
    let block = Schema { pattern: Some("^(from )?[a-z][a-z0-9_]*$"), ..typed("string") };
    let from_file =
        described(file, "a curve from a CSV file, with its `columns`, or a mapping with `points`");
    let mut points = typed("object");
    points.properties.insert("points".to_owned(), reference("curve"));
    points.required = vec!["points".to_owned()];
    let value = any([texts(), long]);
    [
        ("value", described(value, scalar)),
        ("count", described(count, "a whole number, or a reference")),
        ("block", described(block, "the name of a block")),
        ("curve", curve.clone()),
        ("csv", described(csv, "a list from a CSV file, its header the keys")),
        ("named", any([reference("value"), reference("curve"), from_file, points])),
    ]
    .into_iter()
    .map(|(name, schema)| (name.to_owned(), schema))
    .collect()
}

/// Text as the language reads it: whatever stands there, which a YAML reader may take for a number or a truth.
fn texts() -> Schema {
    Schema { types: vec!["string", "number", "boolean"], ..Schema::default() }
}

fn texts_only() -> Schema {
    typed("string")
}

fn typed(name: &'static str) -> Schema {
    Schema { types: vec![name], ..Schema::default() }
}

fn list(of: Schema) -> Schema {
    Schema { items: Some(Box::new(of)), ..typed("array") }
}

fn names(of: Schema) -> Schema {
    Schema { additional: Some(Additional::Allowed(Box::new(of))), ..typed("object") }
}

fn any<const N: usize>(of: [Schema; N]) -> Schema {
    Schema { any_of: of.to_vec(), ..Schema::default() }
}

fn reference(name: &str) -> Schema {
    Schema { reference: Some(format!("#/$defs/{name}")), ..Schema::default() }
}

fn described(schema: Schema, about: &str) -> Schema {
    Schema { description: Some(about.to_owned()), ..schema }
}

//! Every value of each kind's example, and of the journals of verdicts, broken in fourteen ways: the program never panics,
//! never blames itself, and finds at most two errors for one mistake.

use std::collections::HashSet;
use std::fs;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::sync::Arc;

use super::KINDS;
use crate::compile::{Worked, compile};
use crate::findings::{Code, Finding, codes};
use crate::journal::{Journal, Node, NodeValue, Position, Quoted, scan};
use crate::model::{Evidence, EvidenceFault};
use crate::parallel;
use crate::source::{FileId, Source, Sources};

/// How a value is broken.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Way {
    Removed,
    Emptied,
    Words,
    OtherDimension,
    Negated,
    Zero,
    Huge,
    Tiny,
    Thousandfold,
    UnitDropped,
    UnknownReference,
    InAList,
    InAMapping,
    Doubled,
}

const WAYS: [Way; 14] = [
    Way::Removed,
    Way::Emptied,
    Way::Words,
    Way::OtherDimension,
    Way::Negated,
    Way::Zero,
    Way::Huge,
    Way::Tiny,
    Way::Thousandfold,
    Way::UnitDropped,
    Way::UnknownReference,
    Way::InAList,
    Way::InAMapping,
    Way::Doubled,
];

/// One mistake is told in at most so many errors.
const MOST_ERRORS: usize = 2;

/// Of the journals of verdicts, each so manyth case is tried in a usual run; `VOLTWRIGHT_EACH` says otherwise. It must
/// have no divisor in common with the number of ways, or some are never tried.
const EACH: usize = 41;

struct Beside(PathBuf);

impl Evidence for Beside {
    fn read(&self, path: &str) -> Result<Arc<[u8]>, EvidenceFault> {
        fs::read(self.0.join(path)).map(Arc::from).map_err(|_| EvidenceFault::Missing)
    }
}

fn work(text: &str) -> Worked {
    let sources = Sources(vec![Source::new("journal.md", text)]);
    let beside = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/bad");
    compile(&sources, &[FileId(0)], &Beside(beside), None)
}

/// A fence, and the way down to a value through entries and items.
type Place = (usize, Vec<usize>);

/// A journal, and where its values stand.
struct Given {
    name: String,
    text: String,
    journal: Journal,
    values: Vec<Place>,
    errors: usize,
}

fn given(name: String, text: String) -> Given {
    let (journal, _) = scan(FileId(0), Position::First, &Source::new("journal.md", text.as_str()));
    let mut values = Vec::new();
    for (number, fence) in journal.fences.iter().enumerate() {
        if let Some(body) = &fence.body {
            gather(body, &mut Vec::new(), &mut |way| values.push((number, way.to_vec())));
        }
    }
    // What is found of the journal as it is, written as it will be.
    let as_it_is = journal.fences.iter().map(|fence| fence.body.as_ref().map(printed)).collect::<Vec<_>>();
    let worked = work(&with_bodies(&text, &journal, &as_it_is));
    let errors = worked.findings.iter().filter(|finding| finding.is_error()).count();
    Given { name, text, journal, values, errors }
}

/// The way to each value below a node, those that hold others included.
fn gather(node: &Node, way: &mut Vec<usize>, found: &mut impl FnMut(&[usize])) {
    let inner: Vec<&Node> = match &node.value {
        NodeValue::Mapping(entries) => entries.iter().map(|(_, value)| value).collect(),
        NodeValue::Sequence(items) => items.iter().collect(),
        NodeValue::Scalar { .. } | NodeValue::Empty => Vec::new(),
    };
    for (at, inner) in inner.into_iter().enumerate() {
        way.push(at);
        found(way);
        gather(inner, way, found);
        way.pop();
    }
}

/// How many plain values stand in the value at that place.
fn scalars(given: &Given, (number, path): &Place) -> usize {
    fn count(node: &Node) -> usize {
        match &node.value {
            NodeValue::Mapping(entries) => entries.iter().map(|(_, value)| count(value)).sum(),
            NodeValue::Sequence(items) => items.iter().map(count).sum(),
            NodeValue::Scalar { .. } => 1,
            NodeValue::Empty => 0,
        }
    }
    let body = given.journal.fences[*number].body.as_ref();
    let value = path.iter().try_fold(body, |node, at| match &node?.value {
        NodeValue::Mapping(entries) => Some(Some(&entries[*at].1)),
        NodeValue::Sequence(items) => Some(Some(&items[*at])),
        NodeValue::Scalar { .. } | NodeValue::Empty => None,
    });
    value.flatten().map_or(0, count)
}

/// A node as one line of YAML.
fn printed(node: &Node) -> String {
    match &node.value {
        NodeValue::Scalar { text, quoted } => scalar(text, *quoted),
        NodeValue::Empty => String::new(),
        NodeValue::Sequence(items) => {
            format!("[{}]", items.iter().map(printed).collect::<Vec<_>>().join(", "))
        }
        NodeValue::Mapping(entries) => {
            let entry = |(key, value): &(Node, Node)| format!("{}: {}", printed(key), printed(value));
            format!("{{{}}}", entries.iter().map(entry).collect::<Vec<_>>().join(", "))
        }
    }
}

fn scalar(text: &str, quoted: Quoted) -> String {
    if quoted == Quoted::Plain && !text.contains([',', '[', ']', '{', '}']) {
        text.to_owned()
    } else {
        format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\"").replace('\n', "\\n"))
    }
}

fn with_bodies(text: &str, journal: &Journal, bodies: &[Option<String>]) -> String {
    let mut out = String::new();
    let mut done = 0;
    for (fence, body) in journal.fences.iter().zip(bodies) {
        let Some(body) = body else { continue };
        let at = fence.body_span.range();
        out.push_str(&text[done..at.start]);
        out.push_str(body);
        out.push('\n');
        done = at.end;
    }
    out.push_str(&text[done..]);
    out
}

/// The journal with one value broken; `None` where that way says nothing of it.
fn broken(given: &Given, (number, path): &Place, way: Way) -> Option<String> {
    let mut bodies: Vec<Option<Node>> = given.journal.fences.iter().map(|fence| fence.body.clone()).collect();
    apply(bodies[*number].as_mut()?, path, way)?;
    let bodies: Vec<Option<String>> = bodies.iter().map(|body| body.as_ref().map(printed)).collect();
    Some(with_bodies(&given.text, &given.journal, &bodies))
}

fn apply(node: &mut Node, path: &[usize], way: Way) -> Option<()> {
    let (at, rest) = path.split_first()?;
    if !rest.is_empty() {
        return match &mut node.value {
            NodeValue::Mapping(entries) => apply(&mut entries[*at].1, rest, way),
            NodeValue::Sequence(items) => apply(&mut items[*at], rest, way),
            NodeValue::Scalar { .. } | NodeValue::Empty => None,
        };
    }
    match &mut node.value {
        NodeValue::Mapping(entries) => match way {
            Way::Removed => drop(entries.remove(*at)),
            Way::Doubled => entries.push(entries[*at].clone()),
            _ => entries[*at].1 = instead(&entries[*at].1, way)?,
        },
        NodeValue::Sequence(items) => match way {
            Way::Removed => drop(items.remove(*at)),
            Way::Doubled => items.push(items[*at].clone()),
            _ => items[*at] = instead(&items[*at], way)?,
        },
        NodeValue::Scalar { .. } | NodeValue::Empty => return None,
    }
    Some(())
}

/// What stands in the place of a value.
fn instead(value: &Node, way: Way) -> Option<Node> {
    let scalar = |text: String| Node::scalar(&text, value.span);
    let made = match way {
        Way::Removed | Way::Doubled => return None,
        Way::Emptied => NodeValue::Empty,
        Way::Words => return Some(scalar("plenty of it".to_owned())),
        Way::UnknownReference => return Some(scalar("from nowhere.x".to_owned())),
        Way::InAList => NodeValue::Sequence(vec![value.clone()]),
        Way::InAMapping => NodeValue::Mapping(vec![(scalar("within".to_owned()), value.clone())]),
        _ => {
            let (number, rest) = number_of(value.text()?)?;
            let times = |by: f64| Some(scalar(format!("{:e}{rest}", number * by)));
            return match way {
                Way::OtherDimension if rest.contains("kg") => Some(scalar("7 m".to_owned())),
                Way::OtherDimension => Some(scalar("7 kg".to_owned())),
                Way::Negated => times(-1.0),
                Way::Zero => times(0.0),
                Way::Huge => times(1e300),
                Way::Tiny => times(1e-300),
                Way::Thousandfold => times(1e3),
                _ => (!rest.trim().is_empty()).then(|| scalar(number.to_string())),
            };
        }
    };
    Some(Node { span: value.span, value: made })
}

/// The number that a text begins with, and the rest; `None` of what is no number with a unit.
fn number_of(text: &str) -> Option<(f64, &str)> {
    let in_number = |(at, sign): &(usize, char)| {
        let group = matches!(sign, ' ') && text[at + 1..].starts_with(|next: char| next.is_ascii_digit());
        !group && !sign.is_ascii_digit() && !".-".contains(*sign)
    };
    let end = text.char_indices().find(in_number).map_or(text.len(), |(at, _)| at);
    let (number, rest) = text.split_at(end);
    let number: f64 = number.replace(' ', "").parse().ok()?;
    (!rest.starts_with(['/', ':', 'x', 'R'])).then_some((number, rest))
}

/// What is wrong with how the program takes it.
fn fault(text: &str, most: usize) -> Option<String> {
    let Ok(worked) = catch_unwind(AssertUnwindSafe(|| work(text))) else {
        return Some("panics".to_owned());
    };
    let is = |code: &'static Code| worked.findings.iter().find(|finding| std::ptr::eq(finding.code, code));
    if let Some(blame) = is(&codes::ROUTES_DIFFER).or(is(&codes::CHECK_FAILED)) {
        return Some(format!("blames itself: {}", blame.message));
    }
    // Names that went with one block, and what several blocks say in the same words, are told where each stands; they
    // are one mistake.
    let mut told: HashSet<String> = HashSet::new();
    let mut fresh = |finding: &&Finding| {
        let message = finding.message.to_string();
        let of = match finding.code.name {
            "unknown-reference" => message.split('.').next().unwrap_or_default(),
            _ => &message,
        };
        told.insert(format!("{}: {of}", finding.code.name))
    };
    let errors: Vec<String> = worked
        .findings
        .iter()
        .filter(|finding| finding.is_error())
        .filter(|finding| fresh(finding))
        .map(|finding| format!("{}: {}", finding.code.name, finding.message))
        .collect();
    (errors.len() > most).then(|| format!("finds {}", errors.join("; ")))
}

fn hold(given: &[Given], each: usize) {
    let all = given.iter().flat_map(|one| one.values.iter().map(move |value| (one, value)));
    let all = all.flat_map(|(one, value)| WAYS.map(|way| (one, value, way)));
    let jobs: Vec<(&Given, &Place, Way)> =
        all.enumerate().filter(|(number, _)| number % each == 0).map(|(_, job)| job).collect();
    let tried = parallel::each(jobs.len(), 1, |at| {
        let (one, value, way) = jobs[at];
        let text = broken(one, value, way)?;
        // Who takes a list or a mapping away takes away each value in it.
        let gone = if matches!(way, Way::Removed | Way::Emptied) { scalars(one, value) } else { 0 };
        let most = one.errors + MOST_ERRORS.max(gone);
        let at = format!("{} {:?} {way:?}", one.name, value);
        Some(fault(&text, most).map(|fault| format!("{at}: {fault}\n{text}")))
    });
    let tried: Vec<Option<String>> = tried.into_iter().flatten().collect();
    println!("{} cases", tried.len());
    let faults: Vec<&String> = tried.iter().flatten().collect();
    let shown: String = faults.iter().take(20).map(|fault| format!("{fault}\n\n")).collect();
    assert!(faults.is_empty(), "{} of {} cases:\n{shown}", faults.len(), tried.len());
}

#[test]
fn no_broken_value_of_an_example_is_blamed_on_the_program() {
    let given: Vec<Given> =
        KINDS.iter().map(|kind| given(kind.name.to_owned(), kind.example.journal.to_owned())).collect();
    for one in &given {
        assert_eq!(one.errors, 0, "{}", one.name);
    }
    hold(&given, 1);
}

/// The journals of verdicts hold the variants that the examples leave out.
#[test]
fn no_broken_value_of_a_variant_is_blamed_on_the_program() {
    let each = std::env::var("VOLTWRIGHT_EACH").ok().and_then(|text| text.parse().ok()).unwrap_or(EACH);
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/verdicts");
    let mut paths: Vec<PathBuf> =
        fs::read_dir(folder).expect("a folder").map(|entry| entry.expect("an entry").path()).collect();
    paths.retain(|path| path.extension().is_some_and(|end| end == "md"));
    paths.sort();
    let given: Vec<Given> = paths
        .iter()
        .map(|path| given(path.display().to_string(), fs::read_to_string(path).expect("a journal")))
        .collect();
    hold(&given, each);
}

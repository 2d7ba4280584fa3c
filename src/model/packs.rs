//! The rule packs that a journal goes by: which they are, the limits that they add to its blocks, and what is answered.

use std::collections::BTreeSet;

use super::evidence::{Evidence, EvidenceFault, sha_256};
use super::kind::Kind;
use super::node::{Computed, NodeDecl, Origin, Requirement, Role, Status};
use super::notebook::{BlockEntry, Notebook};
use super::papers::{Reply, Statement};
use super::requirement_row::RequirementKind;
use crate::findings::{Finding, codes, suggest};
use crate::quantities::{Unit, read_expression};
use crate::rules::packs::{Ground, Item, Pack, Weight, When, is_taken, own, shipped, subjects};
use crate::source::Span;
use crate::words::{Words, words};

/// Finds the packs that front matter and inspections name: shipped ones, and `rules/NAME.yaml` of the journal.
pub(super) fn select(
    notebook: &mut Notebook,
    (kinds, evidence): (&[&Kind], &dyn Evidence),
    findings: &mut Vec<Finding>,
) {
    let live = notebook.blocks.iter().filter(|block| block.replaced_by.is_none());
    let asked = live.flat_map(|block| block.block.packs());
    let asked: Vec<(String, Span)> = notebook.front.rules.iter().chain(asked).cloned().collect();
    for (name, span) in asked {
        if notebook.packs.iter().any(|pack| pack.name == name) {
            continue;
        }
        let path = format!("rules/{name}.yaml");
        if is_taken(&name) {
            notebook.packs.extend(shipped().iter().find(|pack| pack.name == name));
            findings.extend(shadowed(&name, span, (&path, evidence)));
            continue;
        }
        let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
        let bytes = if name.chars().all(plain) { evidence.read(&path) } else { Err(EvidenceFault::Missing) };
        let bytes = match bytes {
            Ok(bytes) => bytes,
            Err(fault) => {
                findings.push(unknown(&name, span, &fault, &path));
                continue;
            }
        };
        let Ok(text) = std::str::from_utf8(&bytes) else {
            let message = words!("`{}` is not UTF-8", path);
            findings.push(Finding::new(&codes::BAD_RULES, span, message, "save it as UTF-8"));
            continue;
        };
        let (pack, faults) = own(&name, text);
        let told = faults.into_iter().map(|fault| (fault.line, fault.message));
        let misfits: Vec<(&Item, String)> = pack
            .items
            .iter()
            .flat_map(|item| misfits(item, kinds).into_iter().map(move |message| (item, message)))
            .collect();
        notebook.amiss.extend(misfits.iter().map(|(item, _)| *item));
        let beside = misfits.into_iter().map(|(item, message)| (item.line, message));
        for (line, message) in told.chain(beside) {
            let message = words!("`{}`, line {}: {}", path, line, message);
            let help = "the page `rules` of the reference shows the form of a pack";
            findings.push(Finding::new(&codes::BAD_RULES, span, message, help));
        }
        notebook.pack_files.insert(path, sha_256(&bytes[..]).unwrap_or_default());
        notebook.packs.push(pack);
    }
}

/// A pack of the journal's own that would be read if its name were not the program's; `coverage` is asked for by itself.
fn shadowed(name: &str, span: Span, (path, evidence): (&str, &dyn Evidence)) -> Option<Finding> {
    let there = !matches!(evidence.open(path), Err(EvidenceFault::Missing));
    let message = match there {
        true => words!("`{}` is not read: the program has `{}` itself", path, name),
        false if shipped().iter().any(|pack| pack.name == name) => return None,
        false => {
            words!("`{}` is no pack of rules: every journal of a vehicle is asked about its subjects", name)
        }
    };
    let help = match there {
        true => words!("name your file otherwise, and `rules` with it"),
        false => words!("take `{}` out of the list", name),
    };
    Some(Finding::new(&codes::BAD_RULES, span, message, help))
}

fn unknown(name: &str, span: Span, fault: &EvidenceFault, path: &str) -> Finding {
    let known = shipped().iter().map(|pack| pack.name.as_str());
    let help = match suggest(name, known.clone()) {
        Some(near) => words!("did you mean `{}`?", near),
        None => words!(
            "those that are shipped are {}; one of your own is a file `rules/NAME.yaml`",
            Words::names(known)
        ),
    };
    let message = match fault {
        EvidenceFault::Missing => words!("no rule pack is named `{}`, and there is no file `{}`", name, path),
        other => other.told(path),
    };
    Finding::new(&codes::UNKNOWN_REFERENCE, span, message, help)
}

/// Kinds, results and requirements that an item names and the program does not have.
pub(crate) fn misfits(item: &Item, kinds: &[&Kind]) -> Vec<String> {
    let kind = |name: &str| kinds.iter().find(|kind| kind.name == name);
    let misfit = |ground: &Ground| match ground {
        Ground::Requirement { kind: of, name } => match (kind(of), name) {
            (None, _) => Some(format!("`{}` is judged by `{of}`, which is no kind", item.id)),
            // With a case in it, or of one of its families.
            (Some(known), Some(name)) => {
                let fits = known.requires.iter().any(|row| row.name == *name || could_be(row.name, name));
                (!fits).then(|| {
                    format!(
                        "`{}` is judged by `{of}.{name}`, and no requirement of `{of}` has that name",
                        item.id
                    )
                })
            }
            (Some(_), None) => None,
        },
        Ground::Limit { kind: of, result, low, high } => {
            let bad = [low, high].into_iter().flatten().find(|text| read_expression(text).is_err());
            match (kind(of), bad) {
                (None, _) => Some(format!("`{}` limits `{of}`, which is no kind", item.id)),
                (_, Some(text)) => Some(format!("`{text}` of `{}` is no value", item.id)),
                (Some(known), None) => {
                    let there = known.gives(result) || known.fields.iter().any(|doc| doc.name == result);
                    (!there).then(|| {
                        format!("`{}` limits `{result}`, and `{of}` has no such result or field", item.id)
                    })
                }
            }
        }
        Ground::Block(of) => {
            kind(of).is_none().then(|| format!("`{}` asks for `{of}`, which is no kind", item.id))
        }
        Ground::Record(_) | Ground::Evidence(_) | Ground::Statement(_) => None,
    };
    let asked_with = match &item.when {
        When::With(of) if kind(of).is_none() => {
            Some(format!("`{}` is asked of vehicles with `{of}`, which is no kind", item.id))
        }
        _ => None,
    };
    item.judged_by.iter().filter_map(misfit).chain(asked_with).collect()
}

/// Whether a row's name with something in place of its capitals is that name: `utilisation_DIRECTION`.
pub(crate) fn could_be(row: &str, name: &str) -> bool {
    let Some(start) = row.find(|c: char| c.is_ascii_uppercase()) else { return false };
    let end = row[start..].find(|c: char| !c.is_ascii_uppercase()).map_or(row.len(), |at| start + at);
    name.len() > start + row.len() - end && name.starts_with(&row[..start]) && name.ends_with(&row[end..])
}

/// Adds the limits of the packs to the blocks whose results they limit: each is a requirement like any other.
pub(super) fn require(notebook: &mut Notebook) {
    let Notebook { blocks, packs, amiss, .. } = notebook;
    for (pack, item) in packs.iter().flat_map(|pack| pack.items.iter().map(move |item| (*pack, item))) {
        let there =
            |kind: &str| blocks.iter().any(|block| block.replaced_by.is_none() && block.kind.name == kind);
        let asked = match &item.when {
            When::With(kind) => there(kind),
            When::Always | When::HighVoltage => true,
        };
        if !asked || amiss.iter().any(|one| std::ptr::eq(*one, item)) {
            continue;
        }
        let limits = item.judged_by.iter().filter_map(|ground| match ground {
            Ground::Limit { kind, result, low, high } => Some((kind, result, [low, high])),
            _ => None,
        });
        for (at, (kind, result, limits)) in limits.enumerate() {
            for block in blocks.iter_mut().filter(|block| block.kind.name == kind) {
                limit(block, &requirement_name((pack, item), at), (item, result, limits));
            }
        }
    }
}

/// What the limit of an item is called among the requirements of a block; `number` counts the limits of the item.
pub(crate) fn requirement_name((pack, item): (&Pack, &Item), number: usize) -> String {
    match number {
        0 => format!("{} {}", pack.name, item.id),
        _ => format!("{} {} {}", pack.name, item.id, number + 1),
    }
}

fn limit(
    block: &mut BlockEntry,
    name: &str,
    (item, result, limits): (&'static Item, &str, [&Option<String>; 2]),
) {
    let Some(source) = &item.source else { return };
    let actual = named(block, result);
    let [low, high] = limits.map(|text| {
        let expression = read_expression(text.as_deref()?).ok()?;
        let uses = expression.names().iter().map(|name| name.text()).collect::<Vec<_>>();
        let uses = uses.iter().map(|name| named(block, name)).collect();
        let unit = expression.literal_unit().unwrap_or_else(Unit::one);
        let title = format!("{name} (limit {})", block.nodes.len());
        Some(add(block, title, unit, Role::Step(Computed::Engine { expression, uses })))
    });
    block.requirements.push(Requirement {
        name: name.to_owned(),
        row: None,
        case: None,
        optional: Vec::new(),
        kind: match item.weight {
            Weight::Safety => RequirementKind::Safety,
            Weight::Legal => RequirementKind::Legal,
            Weight::Wish => RequirementKind::Wish,
        },
        actual,
        low,
        high,
        strict: false,
        span: block.name_span,
        source: source.words(),
        status: Status::from(source.standing),
        rules: vec![source],
        confirmed_by: None,
    });
}

/// A value of the block, or a place that says that it is not there.
fn named(block: &mut BlockEntry, name: &str) -> u32 {
    match block.nodes.iter().position(|node| node.name == name) {
        Some(index) => index as u32,
        None => add(block, name.to_owned(), Unit::one(), Role::Field(Origin::Absent)),
    }
}

fn add(block: &mut BlockEntry, name: String, unit: Unit, role: Role) -> u32 {
    block.nodes.push(NodeDecl::hidden(name, block.name_span, (unit, role)));
    (block.nodes.len() - 1) as u32
}

/// Gathers what the inspections answer, and tells of items that no pack has and of answers that show nothing.
pub(super) fn answer(notebook: &mut Notebook, findings: &mut Vec<Finding>) {
    let mut statements: Vec<(usize, Statement)> = Vec::new();
    for (number, block) in notebook.blocks.iter().enumerate() {
        for one in block.block.statements() {
            let told = findings.len();
            check(notebook, one, findings);
            let fresh = findings.split_off(told);
            findings.extend(fresh.into_iter().map(|finding| finding.in_block(number)));
            if block.replaced_by.is_none() {
                statements.push((number, one.clone()));
            }
        }
    }
    notebook.statements = statements;
}

fn check(notebook: &Notebook, one: &Statement, findings: &mut Vec<Finding>) {
    let asked = items_of(notebook, &one.item);
    match asked.as_slice() {
        [] => {
            let known: BTreeSet<&str> =
                packs_of(notebook).flat_map(|pack| pack.items.iter().map(|item| item.id.as_str())).collect();
            let help = match suggest(&one.item, known) {
                Some(near) => words!("did you mean `{}`?", near),
                None => {
                    "`rules` in the front matter says which packs are asked; the page `rules` of the reference lists their items".into()
                }
            };
            let message = words!("no item is named `{}`", one.item);
            findings.push(Finding::new(&codes::UNKNOWN_REFERENCE, one.at, message, help));
        }
        [_] => {}
        several => {
            let message = words!("`{}` is an item of several packs", one.item);
            let names = several.iter().map(|(pack, item)| format!("{}.{}", pack.name, item.id));
            let names: Vec<String> = names.collect();
            let help = words!("type one of {}", Words::names(names.iter().map(String::as_str)));
            findings.push(Finding::new(&codes::BAD_VALUE, one.at, message, help));
        }
    }
    let shown = |item: &Item| item.judged_by.iter().any(|ground| matches!(ground, Ground::Evidence(_)));
    let wanted = asked.iter().any(|(_, item)| shown(item));
    let lacking = match one.reply {
        Reply::Yes if wanted && one.evidence.is_empty() => "it names no evidence",
        Reply::NotApplicable if one.because.is_none() => "it does not say because of what",
        _ => return,
    };
    let message = words!("the answer to `{}` decides nothing: {}", one.item, lacking);
    let help = "type `evidence: ID` with a document of `sources` or a `test-record`, or `because: …`";
    findings.push(Finding::new(&codes::MISSING_EVIDENCE, one.at, message, help));
}

/// The packs of the journal, with what every journal is asked about.
fn packs_of(notebook: &Notebook) -> impl Iterator<Item = &'static Pack> {
    std::iter::once(subjects()).chain(notebook.packs.iter().copied())
}

/// The items of a name, with or without that of the pack before it. An item of a subject's name is meant only with its
/// pack's.
pub(crate) fn items_of(notebook: &Notebook, name: &str) -> Vec<(&'static Pack, &'static Item)> {
    if let Some((pack, id)) = name.split_once('.') {
        let found = packs_of(notebook).find(|one| one.name == pack);
        return found.and_then(|pack| Some((pack, pack.item(id)?))).into_iter().collect();
    }
    if let Some(item) = subjects().item(name) {
        return vec![(subjects(), item)];
    }
    notebook.packs.iter().filter_map(|pack| Some((*pack, pack.item(name)?))).collect()
}

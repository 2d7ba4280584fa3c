//! A notebook with some inputs changed, made without reading any file again: what trade studies, solutions and
//! questions of "what if" stand on.
//!
//! A change is made where the author would make it: in the text of one field. The blocks whose texts have changed are
//! read again, and with them those that have another shape by it ([`BlockEntry::looked_at`]); all others stay as they
//! were read. So the outcome is that of the journal edited by hand.

use std::collections::{BTreeMap, BTreeSet, HashMap};
use std::sync::{Arc, Mutex, PoisonError};

use super::directory::{Directory, LookedAt};
use super::evidence::Evidence;
use super::field::Takes;
use super::gather::{Gathered, ReadBlock};
use super::kind::Kind;
use super::node::{Binding, NodeDecl, Origin, Role, Wanted};
use super::notebook::{BlockEntry, Notebook};
use super::packs;
use super::place::{Place, text_at};
use super::possible::Possible;
use super::purpose::Purpose;
use super::read::settle;
use super::refusal::Refusal;
use crate::findings::{Finding, suggest};
use crate::journal::{Journal, Node};
use crate::quantities::{Quantity, looks_like_number, read_literal};
use crate::source::Sources;

/// One input set to something else.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Change {
    /// The full name of a field as the journal has it before any change: `drive.motor`, `drive.stages.box.ratio`,
    /// `pack.series`. An optional field that is left out may be named too.
    pub set: String,
    /// What is typed there in place of all that stands there, a tolerance and note included: a value with its unit, a
    /// count, the name of a part, `from BLOCK.RESULT`.
    pub to: String,
}

/// A journal that changes can be made to.
pub(crate) struct Changeable<'n> {
    pub(super) gathered: Gathered<'n>,
    /// Each block by itself as it was read: nothing that needs the others is settled in it.
    pub(super) read: Vec<ReadBlock>,
    evidence: &'n dyn Evidence,
    /// For each block those that looked at its text, with the key.
    lookers: Vec<Vec<(String, usize)>>,
    /// Blocks as they were read again.
    again: Mutex<HashMap<Again, Arc<ReadBlock>>>,
}

/// A block that is read again, and what has a say in what comes of it: the block, name and new text of each edit.
type Again = (usize, Vec<(usize, String, String)>);

/// So many are kept.
const KEPT: usize = 4_096;

/// A notebook with changes made.
pub(crate) struct Changed {
    pub notebook: Notebook,
    /// As reading the edited journal gives them, those about its pictures apart.
    pub findings: Vec<Finding>,
    /// The numbers of the blocks that were read again.
    pub read_again: Vec<usize>,
    /// Items of ledgers that followed a part that was put in another one's place: `kerb.installed.motor.part`.
    pub followed: Vec<String>,
}

/// A place in the journal with what is to stand there.
struct Edit<'c> {
    block: usize,
    name: &'c str,
    place: Place,
    to: &'c str,
}

impl<'n> Changeable<'n> {
    /// Takes the journals as they were scanned, and reads their blocks.
    pub(crate) fn new(
        (journals, sources): (&'n [Journal], &Sources),
        kinds: &'static [&'static Kind],
        evidence: &'n dyn Evidence,
    ) -> Changeable<'n> {
        let gathered = Gathered::new((journals, sources), kinds, &mut Vec::new());
        let read = gathered.each(evidence);
        let mut lookers = vec![Vec::new(); read.len()];
        for (number, (entry, _)) in read.iter().enumerate() {
            for (at, key) in &entry.looked_at {
                lookers[*at as usize].push((key.clone(), number));
            }
        }
        Changeable { gathered, read, evidence, lookers, again: Mutex::default() }
    }

    /// The notebook with all changes made. Where a part takes the place of another, the items of ledgers that install
    /// that other one by `part` follow, but those that are set themselves.
    ///
    /// Errors: every change that can't be made, or that makes an error where there was none.
    pub(crate) fn with(&self, changes: &[Change]) -> Result<Changed, Vec<Refusal>> {
        let mut refused = Vec::new();
        let mut edits: Vec<Edit<'_>> = Vec::new();
        for (at, change) in changes.iter().enumerate() {
            match self.edit(change) {
                Ok(_) if changes[..at].iter().any(|other| other.set == change.set) => {
                    refused.push(Refusal::Twice { set: change.set.clone() });
                }
                Ok(edit) => edits.push(edit),
                Err(refusal) => refused.push(refusal),
            }
        }
        if !refused.is_empty() {
            return Err(refused);
        }
        let followed = self.following(&mut edits);
        let mut bodies: BTreeMap<usize, Node> = BTreeMap::new();
        for edit in &edits {
            let body = bodies.entry(edit.block).or_insert_with(|| self.body(edit.block).clone());
            if !edit.place.put(body, edit.to) {
                let set = format!("{}.{}", self.read[edit.block].0.name, edit.name);
                refused.push(Refusal::Elsewhere { set });
            }
        }
        if !refused.is_empty() {
            return Err(refused);
        }
        let read = self.read_again(&edits, &bodies);
        let read_again: Vec<usize> = read.keys().copied().collect();
        let told = |number: usize, finding: &Finding| self.read[number].1.contains(finding);
        for (number, block) in &read {
            let (_, found) = block.as_ref();
            let fresh = found.iter().filter(|finding| finding.is_error() && !told(*number, finding));
            refused.extend(fresh.map(|finding| Refusal::Wrong(finding.clone().in_block(*number))));
        }
        if !refused.is_empty() {
            return Err(refused);
        }
        let mut blocks = self.read.clone();
        read.into_iter().for_each(|(number, block)| blocks[number] = block.as_ref().clone());
        let mut findings = Vec::new();
        let mut notebook = self.gathered.placed(blocks, &mut findings);
        packs::select(&mut notebook, (self.gathered.directory.kinds, self.evidence), &mut findings);
        settle(&mut notebook, self.gathered.journals, &mut findings);
        refused.extend(read_again.iter().flat_map(|number| lacking(&notebook, *number)));
        match refused.is_empty() {
            true => Ok(Changed { notebook, findings, read_again, followed }),
            false => Err(refused),
        }
    }

    /// The number that a change sets, where it is no more than a number: its block has the same values with any other one.
    /// `None` for names, texts and references, and for numbers that are out of their range or have a say in what values
    /// there are.
    pub(crate) fn plain_number(&self, change: &Change) -> Option<Quantity> {
        let (number, name) = self.block_and_name(&change.set).ok()?;
        let (entry, _) = &self.read[number];
        let node = entry.nodes.iter().find(|node| node.name == name)?;
        let text = change.to.trim();
        if !looks_like_number(text) || entry.shapes(name, node.span) {
            return None;
        }
        let literal = read_literal(text).ok()?;
        let fits = node.sort.is_none_or(|sort| literal.expect(sort).is_ok());
        let si = literal.quantity.si;
        let half = literal.tolerance.as_ref().map_or(0.0, |tolerance| tolerance.half_width_si);
        let bounds = Possible::new(node.range, node.sort);
        let possible = [si - half, si, si + half].iter().all(|si| bounds.reaches(*si));
        let whole = !node.count || si.fract() == 0.0 && literal.tolerance.is_none();
        let usual = node.doc.and_then(|doc| doc.usual);
        let misread = usual.is_some_and(|usual| literal.grouped(usual).is_some());
        (fits && possible && whole && !misread).then_some(literal.quantity)
    }

    /// Whether the journal has already what a change would set: the same text, or the same number.
    pub(crate) fn has(&self, change: &Change) -> bool {
        let Ok(Edit { block, name, place, to }) = self.edit(change) else { return false };
        if matches!(place, Place::At(span) if text_at(self.body(block), span).map(str::trim) == Some(to)) {
            return true;
        }
        let node = self.read[block].0.nodes.iter().find(|node| node.name == name);
        match (node.and_then(NodeDecl::leaf), read_literal(to)) {
            (Some(leaf), Ok(literal)) => {
                let (is, wanted) = (leaf.literal.quantity, literal.quantity);
                is.dimension.same(wanted.dimension) && (is.si - wanted.si).abs() <= 1e-12 * wanted.si.abs()
            }
            _ => false,
        }
    }

    /// Where a field stands, and what is to stand there.
    fn edit<'c>(&self, change: &'c Change) -> Result<Edit<'c>, Refusal> {
        let set = || change.set.clone();
        if change.to.trim().is_empty() {
            return Err(Refusal::Nothing { set: set() });
        }
        let (block, name) = self.block_and_name(&change.set)?;
        let entry = &self.read[block].0;
        let found = entry.nodes.iter().find(|node| node.name == name && names_a_field(node));
        let place = match found.map(|node| (&node.role, node)) {
            Some((Role::Step(_), _)) => return Err(Refusal::Calculated { set: set() }),
            Some((Role::Field(Origin::Reference(taken)), _)) if taken.wanted != Wanted::Author => {
                return Err(Refusal::Calculated { set: set() });
            }
            Some((Role::Field(Origin::Curve { .. }), _)) => return Err(Refusal::Curve { set: set() }),
            Some((Role::Field(Origin::Leaf(leaf)), node))
                if leaf.default || leaf.rule.is_some() || leaf.stated =>
            {
                self.unwritten(entry, name, Some(node)).ok_or_else(|| Refusal::Calculated { set: set() })?
            }
            Some((Role::Field(Origin::Absent), node)) => {
                self.unwritten(entry, name, Some(node)).ok_or_else(|| self.unknown(entry, &change.set))?
            }
            Some((_, node)) => Place::At(node.span),
            None => self.unwritten(entry, name, None).ok_or_else(|| self.unknown(entry, &change.set))?,
        };
        Ok(Edit { block, name, place, to: change.to.trim() })
    }

    /// The block of a full name, and the name in it.
    fn block_and_name<'c>(&self, set: &'c str) -> Result<(usize, &'c str), Refusal> {
        let names = &self.gathered.directory.names;
        let parts = set.split_once('.').and_then(|(block, name)| Some((*names.get(block)?, name)));
        parts.ok_or_else(|| {
            let block = set.split('.').next().unwrap_or(set);
            let near = suggest(block, names.keys().map(String::as_str));
            Refusal::Unknown { set: set.to_owned(), near: near.map(str::to_owned) }
        })
    }

    fn unknown(&self, entry: &BlockEntry, set: &str) -> Refusal {
        let known = entry.nodes.iter().filter(|node| !node.hidden && matches!(node.role, Role::Field(_)));
        let name = set.split_once('.').map_or(set, |(_, name)| name);
        let near = suggest(name, known.map(|node| node.name.as_str()));
        Refusal::Unknown { set: set.to_owned(), near: near.map(|near| format!("{}.{near}", entry.name)) }
    }

    /// Where a field goes that nobody wrote. `None` where the kind has no such field.
    fn unwritten(&self, entry: &BlockEntry, name: &str, node: Option<&NodeDecl>) -> Option<Place> {
        let of_node = node.and_then(|node| node.doc);
        let doc = of_node.or_else(|| entry.kind.fields.iter().find(|doc| doc.name == name))?;
        if matches!(doc.takes, Takes::List | Takes::Group | Takes::Named) {
            return None;
        }
        match node {
            // In an item of a list, or in a group that is there.
            Some(node) if node.span != entry.name_span => {
                Some(Place::New { inside: Some(node.span), path: vec![name.rsplit('.').next()?.to_owned()] })
            }
            _ if doc.name == name => {
                Some(Place::New { inside: None, path: name.split('.').map(str::to_owned).collect() })
            }
            _ => None,
        }
    }

    /// Adds the items of ledgers that follow a part which another one takes the place of.
    fn following<'c>(&'c self, edits: &mut Vec<Edit<'c>>) -> Vec<String> {
        let mut followed = Vec::new();
        for at in 0..edits.len() {
            let (block, name, to) = (edits[at].block, edits[at].name, edits[at].to);
            let Some(bound) = self.bound(block, name) else { continue };
            for (number, item, written) in self.installed().filter(|(_, item, _)| item.block == bound) {
                let set = |edit: &Edit<'_>| edit.block == number && edit.name == item.field;
                if !edits.iter().any(set) {
                    let entry = &self.read[number].0;
                    let place = Place::At(entry.nodes[written as usize].span);
                    edits.push(Edit { block: number, name: &item.field, place, to });
                    followed.push(format!("{}.{}", entry.name, item.field));
                }
            }
        }
        followed
    }

    /// The items of ledgers, each with its part, that install another one of these parts than the input names, in a ledger
    /// that does not install that one: they follow no change of the input.
    pub(crate) fn astray(&self, set: &str, parts: &[&str]) -> Vec<(String, String)> {
        let bound = self.block_and_name(set).ok().and_then(|(block, name)| self.bound(block, name));
        let Some(bound) = bound else { return Vec::new() };
        let names = &self.gathered.directory.names;
        let among = |block: usize| parts.iter().any(|part| names.get(*part) == Some(&block));
        let has_it =
            |ledger: usize| self.installed().any(|(number, item, _)| number == ledger && item.block == bound);
        let astray = self.installed().filter(|(number, item, _)| among(item.block) && !has_it(*number));
        astray
            .map(|(number, item, _)| {
                let of = |number: usize| &self.read[number].0.name;
                (format!("{}.{}", of(number), item.field), of(item.block).clone())
            })
            .collect()
    }

    /// The block that a field names.
    fn bound(&self, block: usize, name: &str) -> Option<usize> {
        let bindings = &self.read[block].0.bindings;
        let bound = bindings.iter().find(|bound| bound.written.is_some() && bound.field == name)?;
        Some(bound.block)
    }

    /// The items of ledgers that name their part: the ledger, the item, and the value that holds the name. A ledger that is
    /// replaced counts no more.
    fn installed(&self) -> impl Iterator<Item = (usize, &Binding, u32)> {
        let ledgers = self.read.iter().enumerate().filter(|(number, _)| !self.gathered.is_replaced(*number));
        ledgers.flat_map(|(number, (entry, _))| {
            let written = entry.bindings.iter().filter_map(|item| Some((item, item.written?)));
            written
                .filter(|(_, at)| entry.nodes[*at as usize].purpose == Some(Purpose::InstalledPart))
                .map(move |(item, at)| (number, item, at))
        })
    }

    pub(super) fn body(&self, number: usize) -> &'n Node {
        self.gathered.directory.entries[number].body()
    }

    /// The blocks that were edited, and those that look at what was edited in them.
    fn read_again(
        &self,
        edits: &[Edit<'_>],
        bodies: &BTreeMap<usize, Node>,
    ) -> BTreeMap<usize, Arc<ReadBlock>> {
        let mut directory = self.gathered.directory.clone();
        for (number, body) in bodies {
            directory.entries[*number] = directory.entries[*number].with_body(body);
        }
        let looking = |edit: &Edit<'_>| {
            let lookers = self.lookers[edit.block].iter();
            lookers.filter(|(key, _)| is_under(edit.name, key)).map(|(_, number)| *number).collect::<Vec<_>>()
        };
        let again: BTreeSet<usize> = bodies.keys().copied().chain(edits.iter().flat_map(looking)).collect();
        again.into_iter().map(|number| (number, self.one_again(number, edits, &directory))).collect()
    }

    /// One of them, from what is kept where the same edits have a say in it.
    fn one_again(&self, number: usize, edits: &[Edit<'_>], directory: &Directory<'_>) -> Arc<ReadBlock> {
        let looks = |looked_at: &[LookedAt], edit: &Edit<'_>| {
            edit.block == number
                || looked_at.iter().any(|(at, key)| *at as usize == edit.block && is_under(edit.name, key))
        };
        let having_a_say = |looked_at: &[LookedAt]| -> Vec<(usize, String, String)> {
            let edits = edits.iter().filter(|edit| looks(looked_at, edit));
            edits.map(|edit| (edit.block, edit.name.to_owned(), edit.to.to_owned())).collect()
        };
        let key = (number, having_a_say(&self.read[number].0.looked_at));
        // Read again it may look elsewhere: at a part that took the place of another, and is edited too.
        let stands =
            |block: &ReadBlock| having_a_say(&block.0.looked_at).iter().all(|edit| key.1.contains(edit));
        let lock = || self.again.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(kept) = lock().get(&key).filter(|kept| stands(kept)) {
            return kept.clone();
        }
        let block = Arc::new(self.gathered.block(number, directory, self.evidence));
        let mut kept = lock();
        if kept.len() < KEPT && stands(&block) {
            kept.insert(key, block.clone());
        }
        block
    }
}

/// Whether a field stands under a key that was looked at; without a key all do.
fn is_under(name: &str, key: &str) -> bool {
    key.is_empty() || name.split('.').next() == Some(key)
}

/// Whether it is a field of the block, and not a name that its formulas or its author's take from elsewhere.
fn names_a_field(node: &NodeDecl) -> bool {
    !node.hidden || matches!(node.role, Role::Field(Origin::Absent))
}

/// The parts that a block names and that lack what it needs of them.
fn lacking(notebook: &Notebook, number: usize) -> Vec<Refusal> {
    let block = &notebook.blocks[number];
    let mut lacking: BTreeMap<usize, Vec<String>> = BTreeMap::new();
    for node in &block.nodes {
        let Role::Field(Origin::Reference(taken)) = &node.role else { continue };
        let (Some(bound), Wanted::Kind) = (block.bound(taken), taken.wanted) else { continue };
        let there = |name: &str| {
            notebook.blocks[bound].nodes.iter().any(|node| node.has_a_name() && node.name == name)
        };
        let names = taken.expression.names().iter().map(|name| name.text());
        lacking.entry(bound).or_default().extend(names.filter(|name| !there(name)));
    }
    let told = lacking.into_iter().filter(|(_, fields)| !fields.is_empty());
    told.map(|(bound, fields)| Refusal::Lacks {
        part: notebook.blocks[bound].name.clone(),
        fields,
        needed_by: block.name.clone(),
    })
    .collect()
}

//! What is said of each block, in words and shown numbers: results regions, dossier and terminal print the same.

mod asked;
mod coverage;
mod family;
mod live;
mod missing;
mod open;
mod requirement;
mod rescue;
mod rows;
mod spaced;

pub(crate) use crate::evaluate::Verdict;
pub(crate) use asked::Outcome;
pub(crate) use coverage::{Coverage, ItemRow};
pub(crate) use family::{FamilyColumn, FamilyTable};
pub(crate) use missing::Missing;
pub(crate) use open::OpenItem;
pub(crate) use requirement::{Counts, RequirementRow};
pub(crate) use rescue::{Place, Rescue};
pub(crate) use rows::{Contributor, InputRow, Nature, ResultRow, Taken};
pub(crate) use spaced::spaced;

use std::collections::HashSet;

use crate::evaluate::{Results, State, Uncertain};
use crate::graph::Plan;
use crate::model::{
    self, BlockEntry, Caution, Chart, Computed, Grid, NodeDecl, Notebook, Origin, Role, Supposed, Wanted,
    in_words,
};
use crate::quantities::{Basis, show_apart};
use crate::words::{Words, words};
use family::families;

/// A block as it is told.
pub(crate) struct BlockReport {
    pub kind: &'static str,
    pub subsystem: &'static str,
    pub name: String,
    pub worked: bool,
    /// What stands in bold, and the rest of the sentence.
    pub sentence: (Words, Words),
    /// Names of the results that matter most.
    pub headline: Vec<usize>,
    pub inputs: Vec<InputRow>,
    pub results: Vec<ResultRow>,
    /// Results over lists, as tables with one row a case.
    pub families: Vec<FamilyTable>,
    pub requirements: Vec<RequirementRow>,
    pub cautions: Vec<Caution>,
    pub missing: Vec<Missing>,
    pub notes: Vec<Words>,
    pub tables: Vec<Grid>,
    pub charts: Vec<Chart>,
}

/// How many contributors a result names.
const LARGEST: usize = 3;

/// Everything that the words are made from.
#[derive(Clone, Copy)]
pub(crate) struct Told<'a> {
    pub notebook: &'a Notebook,
    pub plan: &'a Plan,
    pub results: &'a Results,
}

/// How much is told of a block.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Extent {
    Whole,
    /// What stands in its results region: no inputs, charts and contributors, and workings only in full regions.
    Region,
}

impl Told<'_> {
    pub(crate) fn block(&self, number: usize, extent: Extent) -> BlockReport {
        let block = &self.notebook.blocks[number];
        let said = &self.results.said[number];
        let start = self.plan.first[number];
        let mut inputs = Vec::new();
        let mut results = Vec::new();
        for (index, node) in block.nodes.iter().enumerate().filter(|(_, node)| !node.hidden) {
            match node.role {
                Role::Field(_) if extent == Extent::Whole => inputs.extend(self.input(node, start + index)),
                Role::Field(_) => {}
                Role::Step(_) => results.extend(self.result(node, start + index, extent)),
            }
        }
        // In the order of the blocks: those of one stand together.
        let all = &self.results.judged;
        let own = all.partition_point(|judged| judged.block < number)..;
        let judged = all[own].iter().take_while(|judged| judged.block == number);
        let mut headline = said.headline.clone();
        headline.extend(principal(block));
        let mut seen = HashSet::new();
        headline.retain(|index| seen.insert(*index));
        let headline = headline.into_iter().map(|index| start + index);
        BlockReport {
            kind: block.kind.name,
            subsystem: block.kind.subsystem,
            name: block.name.clone(),
            worked: self.results.worked[number],
            sentence: said.sentence.clone(),
            headline: headline.filter(|global| self.results.is_known(*global)).collect(),
            inputs,
            families: families(&results),
            results,
            requirements: judged.map(|judged| self.requirement(judged)).collect(),
            cautions: said.cautions.clone(),
            missing: self.missing(number),
            notes: self.replaced(number).into_iter().chain(said.notes.iter().cloned()).collect(),
            tables: said.tables.clone(),
            charts: match extent {
                Extent::Whole => said.chart.iter().chain(&said.more_charts).cloned().collect(),
                Extent::Region => Vec::new(),
            },
        }
    }

    /// The results that this vehicle does not have, those of one case and reason together.
    fn missing(&self, number: usize) -> Vec<Missing> {
        let block = &self.notebook.blocks[number];
        let start = self.plan.first[number];
        let mut told: Vec<Missing> = Vec::new();
        for (index, node) in block.nodes.iter().enumerate().filter(|(_, node)| node.is_result()) {
            if self.results.states[start + index] != State::NotThere {
                continue;
            }
            let reason = self.results.why_not(self.notebook, self.plan, start + index).reason;
            let case = node.case.as_ref().map(|case| case.title.clone());
            let principal = node.row.is_some_and(|row| row.principal);
            match told.iter_mut().find(|known| known.case == case && known.reason == reason) {
                Some(known) => {
                    known.labels.push(node.bare_label());
                    known.principal |= principal;
                }
                None => told.push(Missing { case, labels: vec![node.bare_label()], principal, reason }),
            }
        }
        told
    }

    /// By what a block was replaced, or what it replaces, and why.
    fn replaced(&self, number: usize) -> Option<Words> {
        let blocks = &self.notebook.blocks;
        let because = |block: &BlockEntry| match &block.because {
            Some(because) => words!(", because: {}.", because),
            None => ".".into(),
        };
        match (blocks[number].replaced_by, blocks[number].replaces) {
            (Some(by), _) => Some(words!("Replaced by `{}`{}", blocks[by].name, because(&blocks[by]))),
            (None, Some(old)) => {
                Some(words!("It replaces `{}`{}", blocks[old].name, because(&blocks[number])))
            }
            (None, None) => None,
        }
    }

    /// All requirements of the journal, in the order of the blocks.
    pub(crate) fn requirements(&self) -> Vec<RequirementRow> {
        self.results.judged.iter().map(|judged| self.requirement(judged)).collect()
    }

    /// The cautions that any block brings, each once.
    pub(crate) fn cautions(&self) -> Vec<Caution> {
        let mut cautions: Vec<Caution> =
            self.results.said.iter().flat_map(|said| said.cautions.clone()).collect();
        cautions.sort_unstable();
        cautions.dedup();
        cautions
    }

    /// A value's `block.name`.
    pub(crate) fn full_name(&self, global: usize) -> String {
        let (block, index) = self.plan.local(global);
        let entry = &self.notebook.blocks[block];
        format!("{}.{}", entry.name, entry.nodes[index].name)
    }

    pub(crate) fn node(&self, global: usize) -> (&BlockEntry, &NodeDecl) {
        let (block, index) = self.plan.local(global);
        let entry = &self.notebook.blocks[block];
        (entry, &entry.nodes[index])
    }

    pub(crate) fn shown(&self, global: usize) -> Option<String> {
        self.results.shown(self.notebook, self.plan, global)
    }

    fn input(&self, node: &NodeDecl, global: usize) -> Option<InputRow> {
        let shown = self.results.shown_with_uncertainty(self.notebook, self.plan, global)?;
        let leaf = node.leaf();
        let from = match &node.role {
            Role::Field(Origin::Reference(resolved)) => {
                if resolved.wanted != Wanted::Author || resolved.expression.as_name().is_some() {
                    self.plan.targets[global].first().map(|target| Taken {
                        name: self.full_name(*target),
                        label: Some(self.said(*target, self.plan.block_of(global))),
                    })
                } else {
                    let name = resolved.expression.show(&mut |name| in_words(&name.text()));
                    Some(Taken { name, label: None })
                }
            }
            _ => None,
        };
        let basis = match leaf {
            Some(leaf) if node.count && leaf.basis.is_none() && !leaf.stated => "chosen",
            Some(leaf) if leaf.rule.is_some() => "as stated",
            Some(leaf) => leaf.known_as(),
            None if matches!(node.role, Role::Field(Origin::Curve { .. })) => Basis::Assumed.word(),
            None => "",
        };
        Some(InputRow {
            name: node.name.clone(),
            label: node.label(),
            field: node.bare_label(),
            item: node.case.as_ref().map(|case| case.title.clone()),
            shown,
            basis,
            source: leaf.and_then(|leaf| leaf.source.as_ref().map(|(id, _)| id.clone())),
            remark: leaf.and_then(|leaf| leaf.remark.clone()),
            clause: leaf.and_then(|leaf| leaf.rule).map(model::Leaf::clause),
            from,
            assumed: leaf.is_some_and(|leaf| leaf.default),
            supposed: leaf.and_then(|leaf| leaf.supposed.as_ref()).map(Supposed::words),
            text: node.is_text(),
            purpose: node.purpose,
        })
    }

    fn result(&self, node: &NodeDecl, global: usize, extent: Extent) -> Option<ResultRow> {
        let most = if extent == Extent::Whole { LARGEST } else { 0 };
        let told = self.results.told(self.notebook, self.plan, global)?;
        let working = match extent == Extent::Whole || self.notebook.front.full_regions {
            true => self.results.working(self.notebook, self.plan, global),
            false => None,
        };
        Some(ResultRow {
            name: node.name.clone(),
            label: node.label(),
            row: node.row,
            purpose: node.purpose,
            case: node.case.clone(),
            shown: told.value,
            expanded: told.width,
            full: told.both,
            weakest: self.results.grounds.weakest[global],
            contributors: self.contributors(global, most),
            drawn: self.drawn(global),
            working: working.unwrap_or_default(),
        })
    }

    /// The inputs that a value's variance comes from, largest share first.
    pub(crate) fn contributors(&self, global: usize, most: usize) -> Vec<Contributor> {
        if most == 0 {
            return Vec::new();
        }
        let shares = self.results.budget.shares(global, most);
        let told = |(leaf, share): (&Uncertain, f64)| Contributor {
            global: leaf.global(),
            name: self.full_name(leaf.global()),
            others: leaf.members.len() - 1,
            share,
        };
        shares.into_iter().take(most).map(told).collect()
    }

    /// A value in words, within a block: `rolling factor`; from elsewhere `rolling factor of drive`.
    pub(crate) fn said(&self, global: usize, within: usize) -> String {
        let (block, index) = self.plan.local(global);
        let entry = &self.notebook.blocks[block];
        let label = entry.nodes[index].label();
        if block == within { label } else { format!("{label} of {}", spaced(&entry.name)) }
    }

    /// What moves a result, in words: `mass, engine and 4 more`.
    pub(crate) fn mover(&self, one: &Contributor, within: usize) -> String {
        let first = self.said(one.global, within);
        match one.others {
            0 => first,
            others => format!("{first} and {others} more"),
        }
    }

    /// `u 34 nm, 95 % from 50 000 771 nm to 50 000 904 nm`: what the draws say of a value; without `u` where few
    /// readings leave none.
    fn drawn(&self, global: usize) -> Option<String> {
        let spread = self.results.drawn.as_ref()?.spreads[global]?;
        let unit = &self.results.units[global];
        // Without a deviation the ends are rounded by their distance.
        let standard = spread.moments.map_or(0.25 * (spread.high - spread.low), |(_, standard)| standard);
        let (low, width) = show_apart(spread.low, standard, unit)?;
        let (high, _) = show_apart(spread.high, standard, unit)?;
        let deviation = spread.moments.map_or_else(String::new, |_| format!("u\u{a0}{width}, "));
        let lost = match spread.lost {
            0 => String::new(),
            lost => format!("; {lost} draws could not be worked"),
        };
        Some(format!("{deviation}95\u{a0}% from {low} to {high}{lost}"))
    }

    /// Calculated, measured on this vehicle, or stated.
    pub(crate) fn nature(&self, global: usize) -> Nature {
        let (_, node) = self.node(global);
        match &node.role {
            Role::Step(
                Computed::Text { .. }
                | Computed::Formula { .. }
                | Computed::Procedure { .. }
                | Computed::Engine { .. },
            ) => Nature::Calculated,
            Role::Field(Origin::Reference(resolved)) => match self.plan.targets[global].first() {
                Some(target) if resolved.expression.as_name().is_some() => self.nature(*target),
                _ => Nature::Calculated,
            },
            Role::Field(_) => match node.leaf().map(|leaf| leaf.basis()) {
                Some(Basis::Measured) => Nature::Measured,
                _ => Nature::Stated,
            },
        }
    }
}

/// The principal results, in the reading order of the kind.
fn principal(block: &BlockEntry) -> Vec<usize> {
    let place = |node: &NodeDecl| {
        let row = node.row.filter(|row| row.principal)?;
        block.kind.rows.iter().position(|known| std::ptr::eq(*known, row))
    };
    let nodes = block.nodes.iter().enumerate();
    let mut found: Vec<(usize, usize)> =
        nodes.filter_map(|(index, node)| Some((place(node)?, index))).collect();
    found.sort_unstable();
    found.into_iter().map(|(_, index)| index).collect()
}

//! `trace`: how a result came about, back to the leaves.

use std::fmt::Write;

use serde::Serialize;

use super::arguments::TraceOptions;
use super::journal::journal;
use super::subject::{Nothing, Required, Subject, plain, subject};
use super::way::{Direction, Elsewhere, Step, way};
use super::work::{Asked, open};
use super::{Ended, say, show};
use crate::model::{Computed, Leaf, Origin, Role, percent};
use crate::register::{basis, json};
use crate::report::{Contributor, Told};
use crate::source::Sources;

pub(super) fn trace(options: &TraceOptions) -> Result<Ended, Ended> {
    let journal = journal(options.journal.as_deref());
    let opened = open(&Asked { journal: &journal, out: None, draws: None, saying: options.saying })?;
    let told = opened.worked.told();
    let name = options.name.as_str();
    let subject = subject(told, name).map_err(|nothing| {
        if opened.worked.has_errors() {
            show(&opened.printed());
        }
        match nothing {
            Nothing::Unknown(near) => {
                let help = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
                Ended::WrongUsage.because(format!("there is no `{name}` in this journal{help}"))
            }
            Nothing::NotWorked => Ended::Wanting.because(format!("`{name}` could not be worked")),
        }
    })?;
    let direction = match options.forward {
        true => Direction::Forward(told.plan.needed_by()),
        false => Direction::Back,
    };
    let tracer = Tracer { told, direction, placed: opened.placed(), own: &opened.read.sources };
    say(&if options.json { tracer.json(&subject) } else { tracer.text(&subject) });
    Ok(Ended::Done)
}

struct Tracer<'a> {
    told: Told<'a>,
    direction: Direction,
    /// The files by their paths from where one stands, and from the journal's folder.
    placed: Sources,
    own: &'a Sources,
}

/// What was asked of, for programs.
#[derive(Serialize)]
#[serde(untagged)]
enum Whole {
    One(Box<Trace>),
    Several { requirements: Vec<Required>, traces: Vec<Trace> },
}

/// The whole way, for programs.
#[derive(Serialize)]
struct Trace {
    #[serde(flatten)]
    tree: Entry,
    /// Every input that the result's variance comes from, largest share first.
    contributions: Vec<Share>,
    /// Trees of what stands too deep in the first.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    continued: Vec<Entry>,
    /// What is required of it or, forward, of what rests on it.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    requirements: Vec<Required>,
    #[serde(skip_serializing_if = "Option::is_none")]
    weakest_basis: Option<&'static str>,
}

#[derive(Serialize)]
struct Share {
    name: String,
    /// How many more values err together with it.
    #[serde(skip_serializing_if = "none")]
    others: usize,
    share: f64,
}

#[derive(Serialize, Default)]
struct Entry {
    /// `above` or `below`, where its needs are told at another place.
    #[serde(skip_serializing_if = "Option::is_none")]
    again: Option<&'static str>,
    basis: String,
    /// Forward: what was worked from it.
    #[serde(skip_serializing_if = "Option::is_none")]
    feeds: Option<Vec<Entry>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    formula: Option<String>,
    name: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    needs: Option<Vec<Entry>>,
    place: Place,
    #[serde(skip_serializing_if = "Option::is_none")]
    remark: Option<String>,
    route: &'static str,
    shown: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    si: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    si_unit: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    source: Option<Source>,
    /// The tolerance that nobody wrote, as it is printed after `±`.
    #[serde(skip_serializing_if = "Option::is_none")]
    supposed: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    uncertainty_si: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    working: Option<String>,
}

#[derive(Serialize, Default)]
struct Place {
    column: usize,
    file: String,
    line: usize,
}

#[derive(Serialize)]
struct Source {
    id: String,
    title: String,
}

impl Tracer<'_> {
    fn json(&self, subject: &Subject) -> String {
        let requirements = subject.required(self.told, &self.direction);
        json(&match subject.roots.as_slice() {
            [one] if !subject.block => Whole::One(Box::new(Trace { requirements, ..self.entries(*one) })),
            several => Whole::Several {
                requirements,
                traces: several.iter().map(|global| self.entries(*global)).collect(),
            },
        })
    }

    fn entries(&self, global: usize) -> Trace {
        let trees = way(self.told, &[global], &self.direction);
        let mut all = trees.iter().map(|tree| self.entry(tree));
        Trace {
            tree: all.next().unwrap_or_default(),
            contributions: self
                .told
                .contributors(global, usize::MAX)
                .into_iter()
                .map(|one| Share { name: one.name, others: one.others, share: one.share })
                .collect(),
            continued: all.collect(),
            requirements: Vec::new(),
            weakest_basis: self.told.results.grounds.weakest[global].map(|basis| basis.word()),
        }
    }

    fn entry(&self, step: &Step) -> Entry {
        let global = step.global;
        let (_, node) = self.told.node(global);
        let leaf = node.leaf();
        let results = self.told.results;
        let number = !node.is_text() && results.curves[global].is_none();
        let working = results.working(self.told.notebook, self.told.plan, global);
        let next = || step.needs.iter().map(|need| self.entry(need)).collect();
        Entry {
            again: match step.told {
                Elsewhere::Here => None,
                Elsewhere::Above => Some("above"),
                Elsewhere::Below => Some("below"),
            },
            basis: basis(self.told, global),
            feeds: self.forward().then(next),
            formula: self.formula(global),
            name: self.told.full_name(global),
            needs: (!self.forward()).then(next),
            place: self.place(self.own, global),
            remark: leaf.and_then(|leaf| leaf.remark.clone()),
            route: route(&node.role),
            shown: plain(&self.shown(global)),
            si: number.then(|| results.values[global]),
            si_unit: number.then(|| results.si_unit(node, global)),
            source: leaf.and_then(|leaf| self.source(leaf)),
            supposed: leaf
                .filter(|leaf| leaf.is_supposed())
                .and_then(|leaf| leaf.supposed.as_ref())
                .map(|supposed| plain(&supposed.text)),
            uncertainty_si: number.then(|| results.standard[global]),
            working: working.map(|working| plain(&working)),
        }
    }

    /// With the names of its values as they are typed elsewhere.
    fn formula(&self, global: usize) -> Option<String> {
        let (block, _) = self.told.plan.local(global);
        let (_, node) = self.told.node(global);
        let (expression, at): (_, Vec<usize>) = match &node.role {
            Role::Step(Computed::Formula { expression, uses } | Computed::Engine { expression, uses }) => {
                let start = self.told.plan.first[block];
                (expression, uses.iter().map(|index| start + *index as usize).collect())
            }
            Role::Field(Origin::Reference(resolved)) if resolved.expression.as_name().is_none() => {
                (&resolved.expression, self.told.plan.targets[global].clone())
            }
            _ => return None,
        };
        let shown = expression
            .show(&mut |name| at.get(name.place).map_or_else(|| name.text(), |global| self.name_of(*global)));
        Some(plain(&shown))
    }

    /// Of a reference that stands in a formula, the name of what it refers to.
    fn name_of(&self, global: usize) -> String {
        let (_, node) = self.told.node(global);
        let target = self.told.plan.targets[global].first().filter(|_| node.hidden);
        self.told.full_name(target.copied().unwrap_or(global))
    }

    fn source(&self, leaf: &Leaf) -> Option<Source> {
        let (id, _) = leaf.source.as_ref()?;
        let title = self.told.notebook.sources.get(id).map(|entry| entry.title.clone());
        Some(Source { id: id.clone(), title: title.unwrap_or_default() })
    }

    fn forward(&self) -> bool {
        matches!(self.direction, Direction::Forward(_))
    }

    fn place(&self, sources: &Sources, global: usize) -> Place {
        let (_, node) = self.told.node(global);
        let place = sources.place(node.span);
        let file = sources.get(node.span.file).path.clone();
        Place { column: place.column, file, line: place.line }
    }

    fn shown(&self, global: usize) -> String {
        let results = self.told.results;
        results.shown_with_uncertainty(self.told.notebook, self.told.plan, global).unwrap_or_default()
    }

    fn text(&self, subject: &Subject) -> String {
        let mut text = String::new();
        for (at, tree) in way(self.told, &subject.roots, &self.direction).iter().enumerate() {
            if at > 0 {
                text.push('\n');
            }
            self.tell(tree, 0, &mut text);
        }
        if let [global] = subject.roots.as_slice()
            && !self.forward()
        {
            self.tell_spread(*global, &mut text);
        }
        let required = subject.required(self.told, &self.direction);
        if !required.is_empty() {
            text.push_str(if self.forward() { "\nrequired of what rests on it:\n" } else { "\nrequired:\n" });
        }
        for Required { name, verdict, actual, at, limit, reason } in required {
            let at = if at.is_empty() { String::new() } else { format!(" at {}", at.join(", ")) };
            let _ = writeln!(text, "  {name} {verdict}, {actual}{at}, {limit}: {reason}");
        }
        plain(&text)
    }

    fn tell_spread(&self, global: usize, text: &mut String) {
        let contributions = self.told.contributors(global, usize::MAX);
        if contributions.is_empty() {
            text.push_str("\nno input that it rests on has a tolerance or readings\n");
        } else {
            let u = self.told.results.standard_shown(global);
            let _ = writeln!(text, "\nits standard uncertainty of {u} comes from, by share of the variance:");
            let names: Vec<String> = contributions.iter().map(Contributor::words).collect();
            let wide = names.iter().map(String::len).max().unwrap_or(0);
            for (name, one) in names.iter().zip(&contributions) {
                let _ = writeln!(text, "  {name:wide$}  {:>8}", percent(one.share));
            }
        }
        if let Some(basis) = self.told.results.grounds.weakest[global] {
            let _ = writeln!(text, "its weakest basis is `{}`", basis.word());
        }
    }

    fn tell(&self, step: &Step, depth: usize, text: &mut String) {
        let global = step.global;
        let (_, node) = self.told.node(global);
        let indent = "  ".repeat(depth);
        let _ = write!(text, "{indent}{} = {}", self.told.full_name(global), self.shown(global));
        match &node.role {
            Role::Step(_) => {
                let results = self.told.results;
                if let Some(working) = results.working(self.told.notebook, self.told.plan, global) {
                    let _ = write!(text, "   by {working}");
                }
            }
            Role::Field(Origin::Reference(_)) => {
                let _ = match self.formula(global) {
                    Some(formula) => write!(text, "   by {formula}"),
                    None => write!(text, "   taken over"),
                };
            }
            Role::Field(_) => {
                if let Some(leaf) = node.leaf() {
                    self.tell_leaf(leaf, text);
                }
            }
        }
        let Place { file, line, column } = self.place(&self.placed, global);
        let _ = write!(text, "   {file}:{line}:{column}");
        text.push_str(match step.told {
            Elsewhere::Here => "\n",
            Elsewhere::Above => "   (told above)\n",
            Elsewhere::Below => "   (goes on below)\n",
        });
        for need in &step.needs {
            self.tell(need, depth + 1, text);
        }
    }

    fn tell_leaf(&self, leaf: &Leaf, text: &mut String) {
        let _ = write!(text, "   {}", leaf.known_as());
        if let Some(Source { id, title }) = self.source(leaf) {
            let _ = write!(text, " {id} ({title})");
        }
        if let Some(readings) = &leaf.readings {
            let _ = write!(text, ", mean of {} readings", readings.values.len());
        }
        if let Some(supposed) = &leaf.supposed {
            let _ = write!(text, ", {}", supposed.words());
        }
        if leaf.default {
            text.push_str(", a default of the kind");
        }
        if let Some(remark) = &leaf.remark {
            let _ = write!(text, "; {remark}");
        }
    }
}

/// How a value comes about, in a word or two.
fn route(role: &Role) -> &'static str {
    match role {
        Role::Step(Computed::Formula { .. }) => "formula, worked twice",
        Role::Step(Computed::Procedure { .. }) => "procedure, with its own check",
        Role::Step(Computed::Engine { .. }) => "worksheet, one route",
        Role::Step(Computed::Text { .. }) => "words",
        Role::Field(Origin::Reference(resolved)) if resolved.expression.as_name().is_some() => "taken over",
        Role::Field(Origin::Reference(_)) => "expression",
        Role::Field(Origin::Curve { .. }) => "curve",
        Role::Field(Origin::Text(_)) => "text",
        Role::Field(Origin::Failed | Origin::Absent) => "not worked",
        Role::Field(Origin::Leaf(leaf)) if leaf.rule.is_some() => "rule",
        Role::Field(Origin::Leaf(leaf)) if leaf.default => "default",
        Role::Field(Origin::Leaf(leaf)) if leaf.stated => "as stated",
        Role::Field(Origin::Leaf(leaf)) if leaf.readings.is_some() => "readings",
        Role::Field(Origin::Leaf(_)) => "typed",
    }
}

/// Whether a count is 0.
fn none(count: &usize) -> bool {
    *count == 0
}

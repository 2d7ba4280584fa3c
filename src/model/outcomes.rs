//! What a block gives: its results and requirements, declared from their rows.

use super::form::Form;
use super::node::{Computed, Origin, Requirement, Role, Status};
use super::requirement_row::RequirementRow;
use super::row::{Case, Filled, ResultRow, Row, Way, fill};
use super::slot::Slot;
use crate::findings::Finding;
use crate::quantities::si::Measure;
use crate::quantities::{Expression, Unit, read_formula, read_unit};
use crate::rules::Source;

/// The results and requirements of a form. What a row names and the block does not have makes the result *not there*,
/// and what needs that in turn: nothing has to be asked for twice.
pub(crate) struct Outcomes<'f, 'd, 'n> {
    pub(super) form: &'f mut Form<'d, 'n>,
}

impl<'d, 'n> Form<'d, 'n> {
    pub(crate) fn outcomes<'f>(&'f mut self) -> Outcomes<'f, 'd, 'n> {
        Outcomes { form: self }
    }
}

impl Outcomes<'_, '_, '_> {
    /// A result by its formula. It is not there where a name of the formula is not.
    pub(crate) fn result<T: Measure>(&mut self, wanted: impl Into<Filled<Row<T>>>) -> Slot<T> {
        let wanted = wanted.into();
        let row = &wanted.row.row;
        let Way::Formula(formula) = row.way else {
            panic!("`{}` of `{}` is worked by no formula", row.name, self.form.draft.kind.name)
        };
        let holes = holes(&wanted.case, row.family.map(|family| family.case), &wanted.each);
        // A list that is empty, or whose items could not be read, leaves nothing to put in.
        if holes.iter().any(|(_, what)| what.is_empty()) {
            return self.nothing(row, &holes);
        }
        let expression = self.own_formula(row.name, &fill(formula, &holes));
        let uses = self.uses(&expression);
        self.declare(row, &holes, (wanted.case.clone(), Role::Step(Computed::Formula { expression, uses })))
    }

    /// A result by a method, or words that `present` finds; `uses` are the fields and earlier results that it needs.
    /// Debug builds prove that none is left out.
    pub(crate) fn procedure<T: 'static>(
        &mut self,
        wanted: impl Into<Filled<Row<T>>>,
        uses: &[usize],
    ) -> Slot<T> {
        let wanted = wanted.into();
        let row = &wanted.row.row;
        let uses = uses.iter().map(|index| *index as u32).collect();
        let worked = match row.way {
            Way::Procedure(method) => Computed::Procedure { method, uses },
            Way::Words => Computed::Text { uses },
            Way::Formula(_) => panic!("`{}` of `{}` is no procedure", row.name, self.form.draft.kind.name),
        };
        let holes = holes(&wanted.case, row.family.map(|family| family.case), &wanted.each);
        self.declare(row, &holes, (wanted.case.clone(), Role::Step(worked)))
    }

    /// A result whose inputs could not be read: what needs it waits in silence. Where nothing is amiss it is just not
    /// there.
    pub(crate) fn unknown<T: 'static>(&mut self, wanted: impl Into<Filled<Row<T>>>) -> Slot<T> {
        let wanted = wanted.into();
        let row = &wanted.row.row;
        let holes = holes(&wanted.case, row.family.map(|family| family.case), &wanted.each);
        self.nothing(row, &holes)
    }

    /// A requirement. There is none without one of the names that its row calls optional; where another of its names is
    /// not there it will be `open`.
    pub(crate) fn require(&mut self, wanted: impl Into<Filled<RequirementRow>>) {
        let wanted = wanted.into();
        let row = wanted.row;
        let holes = holes(&wanted.case, row.family.map(|family| family.case), &wanted.each);
        let filled = |text: &str| fill(text, &holes);
        let mut optional = Vec::new();
        for name in row.optional {
            match self.form.draft.index.get(&filled(name)) {
                Some(index) => optional.push(*index),
                None => return,
            }
        }
        let name = filled(row.name);
        let actual = self.known_or_absent(&filled(row.actual));
        let low = row.low.map(|low| self.limit(&name, &filled(low)));
        let high = row.high.map(|high| self.limit(&name, &filled(high)));
        let grounds: Vec<String> = row.grounds.iter().map(|name| filled(name)).collect();
        let rules = self.rules(&grounds, [low, high]);
        let (source, status) = self.standing(row, [low, high], &rules);
        let span = self.form.draft.name_span;
        self.form.draft.requirements.push(Requirement {
            name,
            row: Some(row),
            case: wanted.case,
            kind: row.kind,
            actual,
            low,
            high,
            optional,
            strict: row.strict,
            span,
            source,
            status,
            rules,
            confirmed_by: None,
        });
    }

    /// The names that formulas of this block have for values, to stand in `min(EACH)`.
    pub(crate) fn names_of<T>(&self, slots: impl IntoIterator<Item = Slot<T>>) -> String {
        let names: Vec<&str> =
            slots.into_iter().map(|slot| self.form.draft.nodes[slot.index()].name.as_str()).collect();
        names.join(", ")
    }

    fn declare<T>(
        &mut self,
        row: &'static ResultRow,
        holes: &[(&str, &str)],
        (case, role): (Option<Case>, Role),
    ) -> Slot<T> {
        debug_assert!(
            self.form.draft.kind.rows.iter().any(|known| std::ptr::eq(*known, row)),
            "`{}` is not among the results of `{}`",
            row.name,
            self.form.draft.kind.name
        );
        let unit = read_unit(row.unit).expect("a row's unit is in the table");
        let span = self.form.draft.name_span;
        let slot = self.form.declare(&fill(row.name, holes), span, row.sort, unit, role);
        let node = &mut self.form.draft.nodes[slot.index()];
        node.row = Some(row);
        node.purpose = row.purpose;
        node.case = case;
        node.count = row.count;
        slot
    }

    fn nothing<T>(&mut self, row: &'static ResultRow, holes: &[(&str, &str)]) -> Slot<T> {
        let name = fill(row.name, holes);
        Slot::new(self.not_there(&name, row) as usize)
    }

    fn not_there(&mut self, name: &str, row: &'static ResultRow) -> u32 {
        let failed = self.form.draft.findings.iter().any(Finding::is_error);
        let origin = if failed { Origin::Failed } else { Origin::Absent };
        let index = self.hidden_field(name, origin);
        let node = &mut self.form.draft.nodes[index as usize];
        node.sort = row.sort;
        node.row = Some(row);
        index
    }

    /// A name of this block, or a place that says that it is not there.
    fn known_or_absent(&mut self, name: &str) -> u32 {
        match self.form.draft.index.get(name) {
            Some(index) => *index,
            None => self.hidden_field(name, Origin::Absent),
        }
    }

    fn hidden_field(&mut self, name: &str, origin: Origin) -> u32 {
        let prefix = std::mem::take(&mut self.form.prefix);
        let place = self.form.place;
        let slot: Slot<f64> = self.form.declare(name, place, None, Unit::one(), Role::Field(origin));
        self.form.prefix = prefix;
        self.form.draft.nodes[slot.index()].hidden = true;
        slot.index() as u32
    }

    fn uses(&mut self, expression: &Expression) -> Vec<u32> {
        let names: Vec<String> = expression.names().iter().map(|name| name.text()).collect();
        names.iter().map(|name| self.known_or_absent(name)).collect()
    }

    /// A limit: a value of this block, or work of its own.
    fn limit(&mut self, of: &str, formula: &str) -> u32 {
        if let Some(index) = self.form.draft.index.get(formula) {
            return *index;
        }
        let expression = self.own_formula(of, formula);
        if expression.as_name().is_some() {
            return self.known_or_absent(formula);
        }
        let uses = self.uses(&expression);
        let name = format!("{of} (limit {})", self.form.draft.nodes.len());
        let place = self.form.draft.name_span;
        let role = Role::Step(Computed::Engine { expression, uses });
        let slot: Slot<f64> = self.form.declare(&name, place, None, Unit::one(), role);
        self.form.draft.nodes[slot.index()].hidden = true;
        slot.index() as u32
    }

    /// Where a limit comes from, and how well that is known: by the rules that it rests on, the weakest of them; else
    /// it is the author's own, or follows from the block's inputs.
    fn standing(
        &self,
        row: &RequirementRow,
        limits: [Option<u32>; 2],
        rules: &[&'static Source],
    ) -> (String, Status) {
        let nodes = &self.form.draft.nodes;
        let rule = rules.iter().max_by_key(|source| source.standing);
        if let Some(source) = rule {
            let words = match row.source {
                "" => source.words(),
                said => format!("{said}: {}", source.words()),
            };
            return (words, Status::from(source.standing));
        }
        let stated = limits
            .into_iter()
            .flatten()
            .all(|index| nodes[index as usize].leaf().is_some_and(|leaf| !leaf.default));
        let status = if stated { Status::Stated } else { Status::Derived };
        let document =
            limits.into_iter().flatten().find_map(|index| nodes[index as usize].leaf()?.source.as_ref());
        let source = match (row.source, document) {
            ("", Some((id, _))) => id,
            ("", None) => "the journal",
            (said, _) => said,
        };
        (source.to_owned(), status)
    }

    /// What of the rules a limit rests on.
    fn rules(&self, grounds: &[String], limits: [Option<u32>; 2]) -> Vec<&'static Source> {
        let nodes = &self.form.draft.nodes;
        let of = |index: u32| {
            let node = &nodes[index as usize];
            if node.hidden { node.uses() } else { &[] }.iter().copied().chain([index])
        };
        let grounds = grounds.iter().filter_map(|name| self.form.draft.index.get(name).copied());
        let parts = limits.into_iter().flatten().flat_map(of).chain(grounds);
        parts.filter_map(|index| nodes[index as usize].leaf()?.rule).collect()
    }

    fn own_formula(&self, name: &str, formula: &str) -> Expression {
        read_formula(formula).unwrap_or_else(|fault| {
            panic!("the formula of `{}.{name}`, `{formula}`: {}", self.form.draft.kind.name, fault.message)
        })
    }
}

/// What stands for the words in capitals.
fn holes<'a>(
    case: &'a Option<Case>,
    word: Option<&'static str>,
    each: &'a [(&'static str, String)],
) -> Vec<(&'a str, &'a str)> {
    let case = case.iter().filter_map(|case| Some((word?, case.slug.as_str())));
    case.chain(each.iter().map(|(hole, what)| (*hole, what.as_str()))).collect()
}

//! What every journal of a vehicle is asked about, and the items of its rule packs: each judged by its blocks, answered
//! with evidence, or "not in this journal". Nothing is passed over in silence.

use super::Told;
use super::asked::{Outcome, Said};
use crate::model::{BlockEntry, Origin, Purpose, RequirementKind, Role, Status};
use crate::rules::limit;
use crate::rules::packs::{Item, Pack, Weight, When, is_taken, subjects};
use crate::source::Span;
use crate::words::{Words, words};

/// All of it.
pub(crate) struct Coverage {
    pub subjects: Vec<ItemRow>,
    /// The packs that the journal goes by, with what their first lines say.
    pub packs: Vec<PackRows>,
}

pub(crate) struct PackRows {
    pub name: &'static str,
    pub about: &'static str,
    /// The journal's own: nobody else holds what it says of documents against them.
    pub own: bool,
    pub items: Vec<ItemRow>,
}

/// One subject or item, and what is said of it.
pub(crate) struct ItemRow {
    pub pack: &'static str,
    pub id: &'static str,
    pub theme: &'static str,
    pub kind: RequirementKind,
    pub asks: &'static str,
    /// Document and clause; empty for a subject.
    pub source: String,
    /// How well that is known; empty for a subject.
    pub status: &'static str,
    pub outcome: Outcome,
    pub reason: Words,
    /// The blocks that it was judged or answered by, each once.
    pub by: Vec<String>,
    /// The first of them, or the answer.
    pub place: Option<Span>,
    /// It waits for something that is not due at the journal's stage.
    pub not_yet: bool,
    /// What is missing is something of its own, beside what requirements of blocks tell.
    pub own: bool,
    /// Nobody read what is asked, and that alone keeps it from meeting.
    pub unread: bool,
}

impl Coverage {
    /// Of the subjects alone, or of one kind of items.
    pub(crate) fn counts<'r>(rows: impl Iterator<Item = &'r ItemRow> + Clone) -> String {
        let count = |outcome: Outcome| rows.clone().filter(|row| row.outcome == outcome).count();
        let parts = Outcome::ALL.into_iter().map(|outcome| (count(outcome), outcome.word()));
        let parts = parts.filter(|(count, _)| *count > 0).map(|(count, word)| format!("{count} {word}"));
        parts.collect::<Vec<_>>().join(", ")
    }

    pub(crate) fn rows(&self) -> impl Iterator<Item = &ItemRow> + Clone {
        self.subjects.iter().chain(self.packs.iter().flat_map(|pack| &pack.items))
    }
}

/// Values that say how high the voltage of the vehicle is.
const DC: &[Purpose] = &[Purpose::Dc, Purpose::FullVoltage];

impl<'a> Told<'a> {
    /// `None` for a journal that is of no vehicle: neither its front matter nor an answer says so, and no block knows a
    /// voltage or judges what is of safety or law.
    pub(crate) fn coverage(self) -> Option<Coverage> {
        let front = &self.notebook.front;
        let said = !front.identity.0.is_empty() || front.builder.is_some() || !front.rules.is_empty();
        let asked = !self.notebook.packs.is_empty() || !self.notebook.statements.is_empty();
        let judged = || self.results.judged.iter().any(|judged| judged.kind != RequirementKind::Wish);
        (said || asked || judged() || self.highest(DC).is_some()).then(|| {
            let rows = |pack: &'static Pack| pack.items.iter().map(|item| self.item((pack, item))).collect();
            let of_pack = |pack: &&'static Pack| PackRows {
                name: &pack.name,
                about: &pack.about,
                own: !is_taken(&pack.name),
                items: rows(pack),
            };
            Coverage { subjects: rows(subjects()), packs: self.notebook.packs.iter().map(of_pack).collect() }
        })
    }

    /// Of these voltages, in SI; `None` where no block knows one.
    fn highest(self, of: &[Purpose]) -> Option<f64> {
        let values = self.current().flat_map(|(number, block)| {
            let globals = (self.plan.first[number]..).zip(&block.nodes);
            globals.filter(|(_, node)| node.purpose.is_some_and(|one| of.contains(&one)))
        });
        let known = values.filter(|(global, _)| self.results.is_known(*global));
        known.map(|(global, _)| self.results.values[global]).reduce(f64::max)
    }

    /// Whether some block knows the voltage of the vehicle, and none that should does not.
    pub(crate) fn knows_voltage(self) -> bool {
        self.highest(DC).is_some() && !self.unsure(DC) && !self.unsure(&[Purpose::Ac])
    }

    /// Whether a block should know one of these voltages, and does not; or whether something could not be read at all.
    fn unsure(self, of: &[Purpose]) -> bool {
        let unknown = self.current().any(|(number, block)| {
            let mut globals = (self.plan.first[number]..).zip(&block.nodes);
            globals.any(|(global, node)| {
                let meant = node.purpose.is_some_and(|one| of.contains(&one));
                let left_out = matches!(node.role, Role::Field(Origin::Absent));
                meant && !left_out && !self.results.is_known(global)
            })
        });
        unknown || !self.notebook.broken.is_empty()
    }

    pub(super) fn current(self) -> impl Iterator<Item = (usize, &'a BlockEntry)> {
        self.notebook.blocks.iter().enumerate().filter(|(_, block)| block.replaced_by.is_none())
    }

    pub(super) fn of_kind(self, kind: &str) -> Vec<(usize, &'a BlockEntry)> {
        self.current().filter(|(_, block)| block.kind.name == kind).collect()
    }

    /// The blocks of a kind that an item is judged by: once the finished vehicle was measured, by those that say so alone,
    /// and no longer by what was planned.
    pub(super) fn judging(self, kind: &str) -> Vec<(usize, &'a BlockEntry)> {
        let mut all = self.of_kind(kind);
        if all.iter().any(|(_, block)| block.block.as_built()) {
            all.retain(|(_, block)| block.block.as_built());
        }
        all
    }

    fn item(self, (pack, item): (&'static Pack, &'static Item)) -> ItemRow {
        let confirmed = item
            .source
            .as_ref()
            .and_then(|source| self.notebook.confirmed.iter().find(|one| std::ptr::eq(one.source, source)));
        let status = match &item.source {
            Some(_) if confirmed.is_some() => Some(Status::Confirmed),
            other => other.as_ref().map(|source| Status::from(source.standing)),
        };
        let amiss = self.notebook.amiss.iter().any(|one| std::ptr::eq(*one, item));
        let mut said = match self.not_asked(&item.when) {
            _ if amiss => Said::of(Outcome::Open, "its rule has an error: see the findings"),
            Some(why) => Said::of(Outcome::NotApplicable, why),
            None => capped(self.asked((pack, item)), status),
        };
        if let Some(one) = confirmed.filter(|_| matches!(said.outcome, Outcome::Meets | Outcome::Answered)) {
            said.reason.append(words!("; {}", one.words()));
        }
        ItemRow {
            pack: &pack.name,
            id: &item.id,
            theme: &item.theme,
            kind: match item.weight {
                Weight::Safety => RequirementKind::Safety,
                Weight::Legal => RequirementKind::Legal,
                Weight::Wish => RequirementKind::Wish,
            },
            asks: &item.asks,
            source: item.source.as_ref().map_or_else(String::new, |source| source.words()),
            status: match (&item.source, confirmed) {
                (Some(source), None) => source.standing.word(),
                (Some(_), Some(_)) => "confirmed",
                (None, _) => "",
            },
            outcome: said.outcome,
            reason: said.reason,
            by: said.by,
            place: said.place,
            not_yet: said.not_yet,
            own: said.own,
            unread: said.unread,
        }
    }

    /// Why it is not asked of this vehicle.
    fn not_asked(self, when: &When) -> Option<Words> {
        match when {
            When::Always => None,
            When::HighVoltage => {
                let high = |of: &[Purpose], rule| {
                    let threshold = limit(rule).si();
                    self.highest(of).map(|highest| (highest, highest > threshold * (1.0 + 1e-9)))
                };
                let (highest, high_dc) = high(DC, "high_voltage_dc")?;
                let high_ac = high(&[Purpose::Ac], "high_voltage_ac").is_some_and(|(_, high)| high);
                let threshold = limit("high_voltage_dc").si();
                let shown = (highest * 10.0).round() / 10.0;
                let why = words!("asked above {} V DC; the highest voltage here is {} V", threshold, shown);
                (!high_dc && !high_ac && self.knows_voltage()).then_some(why)
            }
            When::With(kind) => {
                self.of_kind(kind).is_empty().then(|| words!("asked of a vehicle with a `{}` block", kind))
            }
        }
    }
}

/// Nothing is better than what is known of the rule that asks for it.
fn capped(said: Said, status: Option<Status>) -> Said {
    match (status, said.outcome) {
        (Some(Status::Memory), Outcome::NotApplicable) => said,
        (Some(Status::Memory), outcome) => {
            let reason = match outcome {
                Outcome::Fails => {
                    words!("nobody looked up what is asked; as remembered, it fails: {}", said.reason)
                }
                Outcome::Open | Outcome::Missing => words!("nobody looked up what is asked; {}", said.reason),
                _ => words!("nobody looked up what is asked; as remembered: {}", said.reason),
            };
            Said { outcome: Outcome::Open, reason, ..said }
        }
        (Some(Status::SecondHand), Outcome::Meets | Outcome::Answered) => {
            let reason = words!("what is asked is second-hand, read it; {}", said.reason);
            Said { outcome: Outcome::Close, reason, unread: true, ..said }
        }
        _ => said,
    }
}

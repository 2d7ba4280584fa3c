//! How an item is judged: by requirements of blocks, by records, by what somebody answers and shows.

use super::{Told, spaced};
use crate::evaluate::{Judged, Verdict};
use crate::model::{
    BlockEntry, Calibration, Reply, RequirementKind, SourceEntry, Stage, Statement, items_of,
    requirement_name,
};
use crate::rules::packs::{Ground, Item, Pack};
use crate::source::Span;
use crate::words::{Words, words};

/// The worst first.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Outcome {
    Fails,
    Open,
    /// No block and no answer.
    Missing,
    Close,
    /// By somebody who is named, with evidence where some is needed. It is no verdict of this program.
    Answered,
    Meets,
    NotApplicable,
}

impl Outcome {
    pub(crate) const ALL: [Outcome; 7] = [
        Outcome::Fails,
        Outcome::Open,
        Outcome::Missing,
        Outcome::Close,
        Outcome::Answered,
        Outcome::Meets,
        Outcome::NotApplicable,
    ];

    pub(crate) fn word(self) -> &'static str {
        match self {
            Outcome::Fails => "fails",
            Outcome::Open => "open",
            Outcome::Missing => "not in this journal",
            Outcome::Close => "close",
            Outcome::Answered => "answered",
            Outcome::Meets => "meets",
            Outcome::NotApplicable => "not applicable",
        }
    }
}

/// What one ground says of an item.
pub(super) struct Said {
    pub outcome: Outcome,
    pub reason: Words,
    pub by: Vec<String>,
    pub place: Option<Span>,
    pub not_yet: bool,
    pub own: bool,
    /// Nobody read what is asked, and that alone keeps it from meeting.
    pub unread: bool,
}

impl Said {
    pub(super) fn of(outcome: Outcome, reason: impl Into<Words>) -> Said {
        Said {
            outcome,
            reason: reason.into(),
            by: Vec::new(),
            place: None,
            not_yet: false,
            own: true,
            unread: false,
        }
    }
}

impl Told<'_> {
    /// By all grounds, the worst of them; what is not in the journal can be answered, what blocks judge can't.
    pub(super) fn asked(self, (pack, item): (&'static Pack, &'static Item)) -> Said {
        let meant = |(_, one): &(usize, &Statement)| {
            let items = items_of(self.notebook, &one.item);
            items.len() == 1 && std::ptr::eq(items[0].1, item)
        };
        let given: Vec<(usize, &Statement)> =
            self.notebook.statements.iter().map(|(number, one)| (*number, one)).filter(meant).collect();
        // Where two inspections answer differently, a `no` stands; of the others none does.
        let refused = given.iter().find(|(_, one)| one.reply == Reply::No);
        let doubt = self.doubted(&given);
        let statement = refused.or(given.last().filter(|_| doubt.is_none())).map(|(_, one)| *one);
        let mut number = 0;
        let grounds: Vec<Said> = item
            .judged_by
            .iter()
            .map(|ground| {
                let name = requirement_name((pack, item), number);
                number += usize::from(matches!(ground, Ground::Limit { .. }));
                self.ground((ground, &name), statement, item)
            })
            .collect();
        let judged = grounds.iter().any(|said| !matches!(said.outcome, Outcome::Missing | Outcome::Answered));
        if let Some(one) = statement.filter(|one| one.reply == Reply::NotApplicable && !judged) {
            return match &one.because {
                Some(why) => signed(
                    Said::of(Outcome::NotApplicable, words!("not applicable, {}: {}", one.by, why)),
                    one,
                ),
                None => signed(Said::of(Outcome::Open, "answered as not applicable without a reason"), one),
            };
        }
        if let Some(one) = statement.filter(|one| one.reply == Reply::No) {
            let why = one.because.as_deref().unwrap_or("no reason is given");
            return signed(Said::of(Outcome::Fails, words!("answered no by {}: {}", one.by, why)), one);
        }
        let missing = grounds.iter().all(|said| said.outcome == Outcome::Missing);
        let mut worst: Option<Said> = None;
        let mut by: Vec<String> = Vec::new();
        for mut said in grounds {
            by.extend(said.by.iter().filter(|name| !by.contains(name)).cloned().collect::<Vec<_>>());
            // Where other grounds are there, what is missing is a part of it.
            if said.outcome == Outcome::Missing && !missing {
                said.outcome = Outcome::Open;
            }
            if worst.as_ref().is_none_or(|worst| said.outcome < worst.outcome) {
                let place = said.place.or(worst.as_ref().and_then(|worst| worst.place));
                worst = Some(Said { place, ..said });
            }
        }
        let worst = worst.unwrap_or_else(|| Said::of(Outcome::Missing, "judged by nothing"));
        match (doubt, given.last()) {
            (Some(doubt), Some((_, one))) if matches!(worst.outcome, Outcome::Missing | Outcome::Open) => {
                signed(Said { by, ..Said::of(Outcome::Open, doubt) }, one)
            }
            _ => Said { by, ..worst },
        }
    }

    /// Why answers decide nothing: their block has an error, or they contradict each other.
    fn doubted(self, given: &[(usize, &Statement)]) -> Option<Words> {
        if let Some((number, _)) = given.iter().find(|(number, _)| self.notebook.blocks[*number].faulty) {
            return Some(words!("answered in `{}`, which has an error", self.notebook.blocks[*number].name));
        }
        let (_, first) = given.first()?;
        let (_, other) = given.iter().find(|(_, other)| other.reply != first.reply)?;
        Some(words!(
            "answered {} by {}, and {} by {}",
            first.reply.word(),
            first.by,
            other.reply.word(),
            other.by
        ))
    }

    fn ground(self, (ground, name): (&Ground, &str), statement: Option<&Statement>, item: &Item) -> Said {
        let due = Stage::ALL.into_iter().find(|stage| stage.word() == item.due).unwrap_or(Stage::Show);
        let not_yet = due > self.notebook.front.stage && self.notebook.front.stage != Stage::Show;
        let answered = statement.filter(|one| one.reply == Reply::Yes);
        let said = match ground {
            Ground::Requirement { kind, name } => self.judged(kind, name.as_deref()),
            Ground::Limit { kind, .. } => self.judged(kind, Some(name)),
            Ground::Block(kind) => self.of_kind(kind).first().map(|(number, block)| {
                let worked = self.results.worked[*number];
                let lacks = self.lacks(block);
                let (outcome, reason) = match (worked, lacks.as_slice()) {
                    (false, _) => (Outcome::Open, words!("`{}` has an error", block.name)),
                    (true, []) => (Outcome::Answered, words!("in `{}`", block.name)),
                    (true, lacks) => {
                        (Outcome::Open, words!("`{}` says nothing of {}", block.name, lacks.join(", ")))
                    }
                };
                Said {
                    by: vec![block.name.clone()],
                    place: Some(block.name_span),
                    ..Said::of(outcome, reason)
                }
            }),
            Ground::Record(test) => self.recorded(test),
            Ground::Evidence(_) => None,
            Ground::Statement(role) => answered.map(|one| {
                let named = has_role(&one.by, role);
                let (outcome, reason) = match named {
                    true => (Outcome::Answered, words!("stated by {} on {}", one.by, one.date)),
                    false => (
                        Outcome::Open,
                        words!(
                            "it asks for a statement by {} {}; {} is none, as far as `by` says",
                            article(role),
                            role,
                            one.by
                        ),
                    ),
                };
                signed(Said::of(outcome, reason), one)
            }),
        };
        if let Some(said) = said {
            return said;
        }
        match answered {
            Some(one) if !matches!(ground, Ground::Statement(_)) => self.evidence(one),
            _ => Said { not_yet, ..Said::of(Outcome::Missing, lacking(ground)) },
        }
    }

    /// The requirements of a kind's blocks, safety and law alone where none is named. `None` without a block.
    fn judged(self, kind: &str, name: Option<&str>) -> Option<Said> {
        let blocks = self.judging(kind);
        let (_, first) = blocks.first()?;
        let fits = |judged: &&Judged| {
            let requirement = &self.notebook.blocks[judged.block].requirements[judged.number];
            match name {
                Some(name) => requirement.name == name || requirement.row.is_some_and(|row| row.name == name),
                None => requirement.kind != RequirementKind::Wish && requirement.row.is_some(),
            }
        };
        let mut worst: Option<(Outcome, &Judged)> = None;
        let mut by = Vec::new();
        for (number, block) in &blocks {
            let own = self.results.judged.iter().filter(|judged| judged.block == *number);
            for judged in own.filter(fits) {
                if !by.contains(&block.name) {
                    by.push(block.name.clone());
                }
                let outcome = match judged.verdict {
                    Verdict::Meets => Outcome::Meets,
                    Verdict::Close => Outcome::Close,
                    Verdict::Fails => Outcome::Fails,
                    Verdict::Open => Outcome::Open,
                };
                if worst.is_none_or(|(other, _)| outcome < other) {
                    worst = Some((outcome, judged));
                }
            }
        }
        let Some((outcome, judged)) = worst else {
            let reason = match name {
                Some(name) => {
                    words!("`{}` says nothing of {}", first.name, spaced(name))
                }
                None => words!("`{}` judges nothing", first.name),
            };
            let place = Some(first.name_span);
            return Some(Said { by: vec![first.name.clone()], place, ..Said::of(Outcome::Open, reason) });
        };
        let block = &self.notebook.blocks[judged.block];
        let requirement = &block.requirements[judged.number];
        let label = requirement.label(&block.nodes);
        let reason = match outcome {
            Outcome::Meets => words!("{} of `{}`", label, block.name),
            _ => words!("{} of `{}`: {}", label, block.name, judged.reason),
        };
        Some(Said {
            outcome,
            reason,
            by,
            place: Some(requirement.span),
            not_yet: judged.not_yet,
            own: false,
            unread: false,
        })
    }

    /// What a block does not say, and the front matter neither.
    fn lacks(self, block: &BlockEntry) -> Vec<&'static str> {
        let told = |key: &str| self.notebook.front.identity.0.iter().any(|(name, _)| name == key);
        block.block.lacks().iter().filter(|(key, _)| !told(key)).map(|(_, words)| *words).collect()
    }

    /// By the first that shows something, else by the first.
    fn recorded(self, test: &str) -> Option<Said> {
        let of_test = |(_, block): &(usize, &BlockEntry)| {
            block.block.record().is_some_and(|record| record.test.trim().eq_ignore_ascii_case(test))
        };
        let records: Vec<(usize, &BlockEntry)> = self.current().filter(of_test).collect();
        let sound = records.iter().find(|(number, _)| self.unproven(*number).is_none());
        let (number, block) = sound.or(records.first())?;
        let (outcome, reason) = match self.unproven(*number) {
            None => (Outcome::Answered, words!("recorded in `{}`", block.name)),
            Some(why) => (Outcome::Open, words!("recorded in `{}`, {}", block.name, why)),
        };
        Some(Said { by: vec![block.name.clone()], place: Some(block.name_span), ..Said::of(outcome, reason) })
    }

    /// Why a record shows nothing.
    fn unproven(self, number: usize) -> Option<&'static str> {
        let block = &self.notebook.blocks[number];
        let to_come = block.block.record().is_some_and(|record| record.to_come);
        let held = block.block.calibrations().iter().all(Calibration::held);
        match (block.faulty || !self.results.worked[number], to_come, held) {
            (true, _, _) => Some("with an error"),
            (_, true, _) => Some("of a day that is still to come"),
            (_, _, false) => Some("with an instrument whose calibration did not hold"),
            (false, false, true) => None,
        }
    }

    /// An answer `yes`: with a document that has a file or is named, or a record; without one it shows nothing.
    fn evidence(self, one: &Statement) -> Said {
        let shown = one.evidence.iter().map(|(id, _)| id.as_str()).collect::<Vec<_>>();
        if shown.is_empty() {
            return signed(
                Said::of(Outcome::Open, words!("answered yes by {}, and nothing shows it", one.by)),
                one,
            );
        }
        let record = |id: &str| {
            let number = *self.notebook.names.get(id)?;
            self.notebook.blocks[number].block.record().map(|_| number)
        };
        let document = |id: &&str| self.notebook.sources.get(*id).is_some_and(SourceEntry::shows);
        let shows =
            |id: &&str| record(id).is_some_and(|number| self.unproven(number).is_none()) || document(id);
        if !shown.iter().any(shows) {
            let why = shown.iter().find_map(|id| Some((*id, self.unproven(record(id)?)?)));
            let reason = match why {
                Some((id, why)) => words!("answered yes by {}: `{}` is a record {}", one.by, id, why),
                None => words!(
                    "answered yes by {}: {} is neither a document with a file nor a record",
                    one.by,
                    Words::names(shown)
                ),
            };
            return signed(Said::of(Outcome::Open, reason), one);
        }
        let reason = words!("answered yes by {} on {}: {}", one.by, one.date, Words::names(shown));
        signed(Said::of(Outcome::Answered, reason), one)
    }
}

fn signed(said: Said, one: &Statement) -> Said {
    Said { place: Some(one.at), ..said }
}

/// Whether the words of a role stand in `S. Orr, certifier`; `no certifier` is none.
fn has_role(by: &str, role: &str) -> bool {
    let words = |text: &str| -> Vec<String> {
        let parts = text.split(|sign: char| !sign.is_alphanumeric()).filter(|part| !part.is_empty());
        parts.map(str::to_lowercase).collect()
    };
    let (by, role) = (words(by), words(role));
    let denied = by.iter().any(|word| matches!(word.as_str(), "no" | "not" | "non" | "without"));
    !role.is_empty() && !denied && by.windows(role.len()).any(|some| some == role)
}

fn article(word: &str) -> &'static str {
    if word.to_lowercase().starts_with(['a', 'e', 'i', 'o', 'u']) { "an" } else { "a" }
}

/// What is not there.
fn lacking(ground: &Ground) -> Words {
    match ground {
        Ground::Requirement { kind, .. } | Ground::Limit { kind, .. } | Ground::Block(kind) => {
            words!("no `{}` block, and no answer with evidence", kind)
        }
        Ground::Record(test) => words!("no `test-record` of `test: {}`", test),
        Ground::Evidence(what) => words!("nothing shows {}", what),
        Ground::Statement(role) => words!("no statement by {} {}", article(role), role),
    }
}

//! What moved, as it is told on a terminal.

use std::fmt::Write;

use super::{InputChange, InputMove, Moves, ResultMove, VerdictMove, plain};

/// How many results, and how many causes of each, are told; `--json` has them all.
const MOST_RESULTS: usize = 20;
const MOST_CAUSES: usize = 4;

/// Verdicts first, then inputs, then results by the size of their move. `head` is the first line.
pub(crate) fn told(moves: &Moves, head: &str) -> String {
    if moves.is_empty() {
        return format!("{head}: nothing moved\n");
    }
    let mut text = format!("{head}:\n");
    let (flips, met) = moves.flips();
    let met = (met > 0).then(|| newly_met(met));
    let (changes, added) = moves.changes();
    let added = (!added.is_empty()).then(|| format!("added: {}", added.join(", ")));
    let changes = changes.into_iter().map(|(name, one)| input(name, one));
    for line in flips.into_iter().map(verdict).chain(met).chain(changes).chain(added) {
        let _ = writeln!(text, "  {line}");
    }
    let results = moves.largest();
    for (name, one) in results.iter().take(MOST_RESULTS) {
        let _ = writeln!(text, "  {}", result(name, one));
    }
    match results.len().saturating_sub(MOST_RESULTS) {
        0 => {}
        1 => text.push_str("  and 1 more result; `--json` has all\n"),
        more => text.push_str(&format!("  and {more} more results; `--json` has all\n")),
    }
    plain(&text)
}

/// Requirements that were not there before, and are met.
pub(crate) fn newly_met(count: usize) -> String {
    match count {
        1 => "1 requirement is new, and met".to_owned(),
        _ => format!("{count} requirements are new, and met"),
    }
}

/// `goals.light: meets → fails, 1 050 kg → 1 120 kg, at most 1 100 kg`.
fn verdict(flip: &VerdictMove) -> String {
    let (before, after) = (flip.before.unwrap_or("not judged"), flip.after.unwrap_or("no longer judged"));
    let shown = arrow(flip.shown_before.as_deref(), flip.shown_after.as_deref());
    format!("{}: {before} → {after}, {shown}, {}", flip.name, flip.limit)
}

fn input(name: &str, one: &InputMove) -> String {
    match (one.change, &one.before, &one.after) {
        (InputChange::Replaced, ..) => match &one.because {
            Some(because) => format!("{name} is replaced, because: {because}"),
            None => format!("{name} is replaced"),
        },
        (InputChange::Changed, Some(before), Some(after)) => format!("{name}: {before} → {after}"),
        (change, before, after) => {
            let what = after.as_ref().or(before.as_ref()).map_or("", String::as_str);
            format!("{name} is {}: {what}", change.word())
        }
    }
}

/// `w.force: 1 000 N → 1 080 N, +80 N, +8 %, more than its uncertainty; by w.m +180 N, w.g −120 N, together +20 N`.
fn result(name: &str, one: &ResultMove) -> String {
    let mut text = format!("{name}: {}", arrow(one.before.as_deref(), one.after.as_deref()));
    let Some(difference) = &one.difference else { return text };
    let _ = write!(text, ", {difference}");
    if let Some(share) = one.share() {
        let _ = write!(text, ", {share}");
    }
    text.push_str(match one.more_than_uncertainty {
        Some(true) => ", more than its uncertainty",
        _ => ", within its uncertainty",
    });
    let parts: Vec<String> =
        one.parts(MOST_CAUSES).iter().map(|(cause, part)| format!("{cause} {part}")).collect();
    if !parts.is_empty() {
        let _ = write!(text, "; by {}", parts.join(", "));
    }
    text
}

fn arrow(before: Option<&str>, after: Option<&str>) -> String {
    match (before, after) {
        (Some(before), Some(after)) if before == after => before.to_owned(),
        (before, after) => {
            format!("{} → {}", before.unwrap_or("not there"), after.unwrap_or("no longer there"))
        }
    }
}

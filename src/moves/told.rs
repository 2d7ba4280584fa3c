//! What moved, as it is told on a terminal.

use std::fmt::Write;

use super::{InputChange, InputMove, Moves, ResultMove, VerdictMove, plain};
use crate::quantities::show_number;

/// How many results, and how many causes of each, are told; `--json` has them all.
const MOST_RESULTS: usize = 20;
const MOST_CAUSES: usize = 4;

/// Verdicts first, then inputs, then results by the size of their move. `head` is the first line.
pub(crate) fn told(moves: &Moves, head: &str) -> String {
    if moves.is_empty() {
        return format!("{head}: nothing moved\n");
    }
    let mut text = format!("{head}:\n");
    let flips = moves.verdicts.iter().map(verdict);
    for line in flips.chain(moves.inputs.iter().map(|(name, one)| input(name, one))) {
        let _ = writeln!(text, "  {line}");
    }
    let mut results: Vec<(&String, &ResultMove)> = moves.results.iter().collect();
    let size = |one: &ResultMove| one.per_cent.map_or(f64::INFINITY, f64::abs);
    results.sort_by(|(_, one), (_, other)| size(other).total_cmp(&size(one)));
    // The largest first.
    for (name, one) in results.iter().take(MOST_RESULTS) {
        let _ = writeln!(text, "  {}", result(name, one));
    }
    match results.len().saturating_sub(MOST_RESULTS) {
        0 => {}
        1 => text.push_str("  and 1 more result; `--json` has all\n"),
        more => text.push_str(&format!("  and {more} more results; `--json` has all\n")),
    }
    text
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
            Some(because) => format!("{name} is replaced, because: {}", plain(because)),
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
    if let Some(per_cent) = one.per_cent {
        let _ = write!(text, ", {}", share(per_cent));
    }
    text.push_str(match one.more_than_uncertainty {
        Some(true) => ", more than its uncertainty",
        _ => ", within its uncertainty",
    });
    let mut causes: Vec<(&str, f64)> = one.causes.iter().map(|(name, si)| (name.as_str(), *si)).collect();
    causes.sort_by(|(_, one), (_, other)| other.abs().total_cmp(&one.abs()));
    let rest: f64 = causes.iter().skip(MOST_CAUSES).map(|(_, si)| si).sum();
    causes.truncate(MOST_CAUSES);
    if rest != 0.0 {
        causes.push(("others", rest));
    }
    causes.extend(one.interaction.filter(|si| *si != 0.0).map(|si| ("together", si)));
    let parts: Vec<String> = causes.iter().map(|(name, si)| format!("{name} {}", one.signed(*si))).collect();
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

fn share(per_cent: f64) -> String {
    let sign = if per_cent > 0.0 { "+" } else { "" };
    plain(&format!("{sign}{} %", show_number(per_cent, 2)))
}

//! What a trade study says: the best, why the others were dropped, and the tables of both.

use super::{
    CANDIDATE_DROPPED, CHOICE_DROPPED, NOT_AS_CHOSEN, NOTHING_KEPT, OTHER_PART_INSTALLED, TradeStudy,
    pictures,
};
use crate::model::{Decided, Grid, Page, Preferred, Trade, Traded, TradedRow, capital, percent};
use crate::source::Span;
use crate::words::{Shown, Words, words};

/// A number of the best candidate, by the index of the result that has it.
pub(super) fn of_best((asked, traded): (&Trade, &Traded), index: usize) -> Option<f64> {
    let (options, shown) = traded.best.as_ref()?;
    if let Some(at) = asked.shown.iter().position(|column| column.best == index) {
        return shown[at];
    }
    let at = asked.varied.iter().position(|varied| varied.best == index)?;
    Some(asked.varied[at].numbers.as_ref()?.0[options[at]])
}

pub(super) fn present(page: &mut Page<'_>, (asked, traded): (&Trade, &Traded), study: &TradeStudy) {
    match &traded.best {
        None => nothing_kept(page, (asked, traded)),
        Some((options, _)) => {
            let best = told(asked, options);
            page.say(study.slots.best, best.clone());
            for slot in &study.names {
                if let Some(at) = asked.varied.iter().position(|varied| varied.best == slot.index()) {
                    page.say(*slot, option(asked, (at, options[at])));
                }
            }
            let preferred = asked.prefer.iter().map(|one| match one.way {
                Preferred::Lowest => words!("lowest `{}`", one.text),
                Preferred::Highest => words!("highest `{}`", one.text),
            });
            let preferred = Words::joined(preferred, ", then ");
            let kept = words!(
                " is best of {} kept of {} candidates: {}.",
                traded.kept,
                traded.candidates,
                preferred
            );
            let set = match asked.prefer.len() {
                1 => Words::default(),
                _ => words!(" {} of them are beaten in both by no other one.", traded.set),
            };
            page.sentence(best, words!("{}{}", kept, set));
        }
    }
    refused(page, (asked, traded));
    for astray in &traded.astray {
        let message =
            words!("`{}` is `{}`, and `{}` names another part", astray.item, astray.part, astray.input);
        let help =
            "install the part that is named there: until then the item follows no candidate, and no choice";
        page.find_at(&OTHER_PART_INSTALLED, astray.span, message, help);
    }
    if let (Some((options, span)), Some(decided)) = (&asked.chosen, &traded.decided) {
        choice(page, (asked, traded), (options, *span, decided));
    }
    pictures::present(page, (asked, traded));
    page.table(best_rows((asked, traded)));
    page.table(dropped((asked, traded)));
    let idle = traded.dropped.iter().filter(|one| one.together == 0).map(|one| one.what.as_str());
    let idle = Words::names(idle);
    if !idle.is_empty() {
        page.note(words!("Nothing is dropped by {}.", idle));
    }
    page.note("Candidates are kept and sorted by nominal values. `close` marks one that meets a condition by less than what is uncertain, `open` one with a condition that could not be worked. Requirements are those of the journal that what is varied has a say in; where there is no such column, each of them meets.");
    if let [first, ..] = traded.firm.as_slice() {
        page.note(words!(
            "All that is uncertain was drawn {} times together, the same for each of the best {}: the table says in what share of the draws each is {}, and keeps all conditions. The first is so in {}, and is kept in {}.",
            first.draws,
            traded.firm.len(),
            if asked.prefer.len() == 1 { "the best of them" } else { "beaten in both by none of them" },
            Shown(percent(first.best)),
            Shown(percent(first.kept))
        ));
    }
    if !traded.followed.is_empty() {
        let items = Words::names(traded.followed.iter().map(String::as_str));
        page.note(words!("Items of ledgers follow the part that is swapped: {}.", items));
    }
    if traded.open > 0 {
        page.note(words!(
            "Of the kept {} have a condition that could not be worked; they stand last.",
            traded.open
        ));
    }
}

/// What was chosen: whether the journal has it, whether it is kept, and whether it is the best.
fn choice(
    page: &mut Page<'_>,
    (asked, traded): (&Trade, &Traded),
    (options, span, decided): (&[usize], Span, &Decided),
) {
    if !decided.otherwise.is_empty() {
        let each = decided.otherwise.iter().map(|(set, to)| words!("`{}` is not `{}`", set, to));
        let message = words!("the journal has something else than was chosen: {}", Words::joined(each, ", "));
        page.find_at(&NOT_AS_CHOSEN, span, message, "type what was chosen there, or choose anew");
    }
    let missed = decided.missed.iter().map(|(condition, by)| match by {
        Some(by) => words!("`{}` is missed by {}", condition, Shown(by.clone())),
        None => words!("`{}` is missed", condition),
    });
    let why = match &decided.refused {
        Some(refused) => Some(words!("it could not be worked: {}", refused)),
        None => (!decided.missed.is_empty()).then(|| Words::joined(missed, ", ")),
    };
    if let Some(why) = why {
        let message = words!("what was chosen is not kept: {}", why);
        page.find_at(&CHOICE_DROPPED, span, message, "choose anew, or loosen the condition");
        return;
    }
    match traded.best.as_ref().is_some_and(|(best, _)| best == options) {
        true => page.note("The best is what was chosen."),
        false => page.note(words!("Chosen is {}, which is not the best.", told(asked, options))),
    }
}

/// The best, one a row, and what was chosen.
fn best_rows((asked, traded): (&Trade, &Traded)) -> Grid {
    let mut head: Vec<String> =
        asked.varied.iter().map(|varied| capital(&varied.name.replace('_', " "))).collect();
    head.extend(asked.shown.iter().map(|column| capital(&column.name)));
    head.push("Kept".to_owned());
    if !traded.firm.is_empty() {
        head.extend(["Best in", "Kept in"].map(str::to_owned));
    }
    let chosen = asked.chosen.as_ref().map(|(options, _)| options);
    let mut rows: Vec<&TradedRow> = traded.rows.iter().collect();
    let decided = traded.decided.as_ref().and_then(|decided| decided.row.as_ref());
    rows.extend(decided.filter(|one| rows.iter().all(|row| row.options != one.options)));
    let wanting = rows.iter().any(|row| row.verdicts != [0; 3]);
    if wanting {
        head.push("Requirements".to_owned());
    }
    let dropped = |decided: &Decided| !decided.missed.is_empty() || decided.refused.is_some();
    let row = |(at, row): (usize, &TradedRow)| {
        let mut cells: Vec<String> =
            row.options.iter().enumerate().map(|(at, number)| option(asked, (at, *number))).collect();
        cells.extend(row.shown.iter().cloned());
        let mut kept = "yes".to_owned();
        if !row.doubt.is_empty() {
            kept = format!("yes, {}", row.doubt);
        }
        if chosen == Some(&row.options) {
            if traded.decided.as_ref().is_some_and(dropped) {
                kept = "no".to_owned();
            }
            kept.push_str(", chosen");
        }
        cells.push(kept);
        if !traded.firm.is_empty() {
            let shares = traded.firm.get(at).map(|firm| [firm.best, firm.kept].map(percent));
            cells.extend(shares.unwrap_or(["—".to_owned(), "—".to_owned()]));
        }
        if wanting {
            let [fails, close, open] = row.verdicts;
            cells.push(format!("{fails} fail, {close} close, {open} open"));
        }
        cells
    };
    Grid { head, rows: rows.into_iter().enumerate().map(row).collect() }
}

/// What each condition drops.
fn dropped((asked, traded): (&Trade, &Traded)) -> Grid {
    let head = ["Condition", "Drops", "Alone", "Nearest miss"].map(str::to_owned).to_vec();
    let dropping = traded.dropped.iter().filter(|one| one.together > 0);
    let rows = dropping.map(|one| {
        let nearest = one
            .nearest
            .as_ref()
            .map_or_else(|| "—".to_owned(), |(options, by)| format!("{}, by {by}", told(asked, options)));
        vec![one.what.clone(), one.together.to_string(), one.alone.to_string(), nearest]
    });
    Grid { head, rows: rows.collect() }
}

fn nothing_kept(page: &mut Page<'_>, (asked, traded): (&Trade, &Traded)) {
    page.sentence("No candidate is kept", words!(" of {}.", traded.candidates));
    let span = asked.varied_span;
    let message = words!("none of {} candidates keeps every condition", traded.candidates);
    // The condition without which most would be kept.
    let help = match traded.dropped.iter().filter(|one| one.alone > 0).max_by_key(|one| one.alone) {
        Some(one) => words!("without `{}` there would be {}: loosen it, or vary more", one.what, one.alone),
        None if traded.dropped.is_empty() => "see why they could not be worked".into(),
        None => "no condition stands in the way alone: loosen two of them, or vary more".into(),
    };
    page.find_at(&NOTHING_KEPT, span, message, help);
}

fn refused(page: &mut Page<'_>, (asked, traded): (&Trade, &Traded)) {
    for (reason, count) in &traded.refused {
        let message = words!("{} of {} candidates could not be worked: {}", count, traded.candidates, reason);
        let help = "give the part what is missing, or take it out of the list";
        page.find_at(&CANDIDATE_DROPPED, asked.varied_span, message, help);
    }
}

/// A candidate in words.
fn told(asked: &Trade, options: &[usize]) -> String {
    let each = options.iter().enumerate().map(|(at, number)| {
        let of = &asked.varied[at];
        format!("{} {}", of.name.replace('_', " "), option(asked, (at, *number)))
    });
    each.collect::<Vec<_>>().join(", ")
}

fn option(asked: &Trade, (at, number): (usize, usize)) -> String {
    asked.varied[at].labels[number].clone()
}

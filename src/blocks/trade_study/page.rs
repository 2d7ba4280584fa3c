//! What a trade study says: the best, why the others were dropped, and the tables of both.

use super::{CANDIDATE_DROPPED, NOTHING_KEPT, TradeStudy};
use crate::model::{Grid, Page, Preferred, Trade, Traded, TradedRow, capital};
use crate::words::{Words, words};

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
    page.table(best_rows((asked, traded)));
    page.table(dropped((asked, traded)));
    page.note("Candidates are kept and sorted by nominal values. `close` marks one that meets a condition by less than what is uncertain, `open` one with a condition that could not be worked.");
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

/// The best, one a row.
fn best_rows((asked, traded): (&Trade, &Traded)) -> Grid {
    let mut head: Vec<String> =
        asked.varied.iter().map(|varied| capital(&varied.name.replace('_', " "))).collect();
    head.extend(asked.shown.iter().map(|column| capital(&column.name)));
    head.extend(["Kept".to_owned(), "Whole journal".to_owned()]);
    let row = |row: &TradedRow| {
        let mut cells: Vec<String> =
            row.options.iter().enumerate().map(|(at, number)| option(asked, (at, *number))).collect();
        cells.extend(row.shown.iter().cloned());
        cells.push(if row.doubt.is_empty() { "yes".to_owned() } else { row.doubt.to_owned() });
        let [fails, close, open] = row.verdicts;
        cells.push(format!("{fails} fail, {close} close, {open} open"));
        cells
    };
    Grid { head, rows: traded.rows.iter().map(row).collect() }
}

/// What each condition drops.
fn dropped((asked, traded): (&Trade, &Traded)) -> Grid {
    let head = ["Condition", "Drops", "Alone", "Nearest miss"].map(str::to_owned).to_vec();
    let rows = traded.dropped.iter().map(|one| {
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

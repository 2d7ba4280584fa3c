//! What moved since an earlier state of the journal: verdicts first, then inputs, then results with a picture of the
//! largest moves.

use super::super::charts;
use super::super::piece::{Align, Face, Item, Piece, Rich, Row, Style, Table};
use super::given::anchor;
use super::rich::{self, column};
use super::{Scene, heading, item, with_id};
use crate::moves::{InputMove, ResultMove, VerdictMove, newly_met};
use crate::report::spaced;
use crate::words::words;

/// How many results are told, the largest moves first; how many of them are drawn; and how many causes of each are told.
const MOST: usize = 60;
const DRAWN: usize = 12;
const CAUSES: usize = 4;

pub(super) fn moves(scene: &Scene<'_>) -> Vec<Item> {
    let Some(since) = &scene.given.moves else { return Vec::new() };
    let moves = since.moves;
    let mut items = vec![with_id("moved", heading(2, &format!("What moved since {}", since.told)))];
    if moves.is_empty() {
        items.push(said("Nothing moved."));
        return items;
    }
    let three = |first: &str| {
        vec![column(first, Align::Left, 5), column("Before", Align::Left, 4), column("Now", Align::Left, 5)]
    };
    let (flips, met) = moves.flips();
    items.extend(table(three("Verdict"), flips.into_iter().map(verdict)));
    if met > 0 {
        items.push(said(&format!("{}.", newly_met(met))));
    }
    let (changes, added) = moves.changes();
    items.extend(table(three("Input"), changes.into_iter().map(|(name, one)| input(name, one))));
    if !added.is_empty() {
        let mut names = vec![rich::text("Blocks that were added: ", Face::Plain)];
        for (at, name) in added.into_iter().enumerate() {
            names.extend((at > 0).then(|| rich::text(", ", Face::Plain)));
            names.push(rich::block(name));
        }
        names.push(rich::text(".", Face::Plain));
        items.push(item(Piece::Paragraph { style: Style::Body, text: Rich(names) }));
    }
    let results = moves.largest();
    items.extend(picture(&results));
    let columns = vec![
        column("Result", Align::Left, 5),
        column("Before", Align::Left, 3),
        column("Now", Align::Left, 3),
        column("Moved by", Align::Left, 5),
    ];
    items.extend(table(columns, results.iter().take(MOST).map(|(name, one)| result(name, one))));
    if let Some(more) = results.len().checked_sub(MOST + 1) {
        let text = words!("And {} more; `{}` has all.", (more + 1).to_string(), "voltwright moved --json");
        let text = Rich(rich::set(&text, Face::Plain));
        items.push(item(Piece::Paragraph { style: Style::Body, text }));
    }
    items
}

fn said(text: &str) -> Item {
    item(Piece::Paragraph { style: Style::Body, text: Rich::plain(text) })
}

fn table(columns: Vec<super::super::piece::Column>, rows: impl Iterator<Item = Vec<Rich>>) -> Option<Item> {
    let rows: Vec<Row> = rows.map(|cells| Row { id: None, cells, log: Vec::new(), strong: false }).collect();
    (!rows.is_empty()).then(|| item(Piece::Table(Table { columns, rows, caption: None })))
}

fn verdict(flip: &VerdictMove) -> Vec<Rich> {
    let side = |verdict: Option<&str>, shown: &Option<String>, none: &str| {
        let word = rich::one(verdict.unwrap_or(none), Face::Strong);
        rich::join([word, Rich::plain(shown.as_ref().map_or_else(String::new, |shown| format!(", {shown}")))])
    };
    let now = rich::join([
        side(flip.after, &flip.shown_after, "no longer judged"),
        Rich::plain(format!(", {}", flip.limit)),
    ]);
    vec![named(&flip.name), side(flip.before, &flip.shown_before, "not judged"), now]
}

fn input(name: &str, one: &InputMove) -> Vec<Rich> {
    let side = |text: &Option<String>| match text {
        Some(text) => match text.strip_prefix("from ") {
            Some(name) => rich::join([Rich::plain("from "), Rich(vec![rich::name(name)])]),
            None => Rich::plain(text.clone()),
        },
        None => Rich::default(),
    };
    let before = match (&one.before, &one.after) {
        (None, None) => Rich::plain(one.change.word()),
        (None, Some(_)) => rich::one(one.change.word(), Face::Quiet),
        _ => side(&one.before),
    };
    let after = match (&one.because, &one.after) {
        (Some(because), _) => Rich::plain(format!("because: {because}")),
        (None, None) if one.before.is_some() => rich::one(one.change.word(), Face::Quiet),
        _ => side(&one.after),
    };
    vec![named(name), before, after]
}

fn result(name: &str, one: &ResultMove) -> Vec<Rich> {
    let side = |text: &Option<String>, none: &str| Rich::plain(text.as_deref().unwrap_or(none));
    let by = one.difference.as_ref().map_or_else(Rich::default, |difference| {
        let share = one.share().map_or_else(String::new, |share| format!(", {}", share));
        let doubt = if one.more_than_uncertainty == Some(true) { "" } else { ", within its uncertainty" };
        let causes = one.parts(CAUSES);
        let mut words = vec![rich::text(format!("{}{share}{doubt}", difference), Face::Plain)];
        if !causes.is_empty() {
            let told: Vec<String> =
                causes.iter().map(|(cause, part)| format!("{} {part}", spaced(cause))).collect();
            words.push(rich::text(format!(": {}", told.join(", ")), Face::Quiet));
        }
        Rich(words)
    });
    vec![named(name), side(&one.before, "not there"), side(&one.after, "no longer there"), by]
}

/// The largest moves as bars, by their share of what was there before.
fn picture(results: &[(&String, &ResultMove)]) -> Option<Item> {
    let bars = results.iter().filter_map(|(name, one)| {
        let share = one.per_cent.filter(|share| share.is_finite())?;
        Some((spaced(name), one.share()?, share))
    });
    let bars: Vec<charts::Bar> = bars.take(DRAWN).collect();
    let drawing = (!bars.is_empty()).then(|| charts::moves(&bars))?;
    let caption = Rich::plain("The largest moves, in per cent of what was there before.");
    Some(item(Piece::Figure { drawing, caption }))
}

fn named(name: &str) -> Rich {
    rich::link(spaced(name), if name.contains('.') { anchor(name) } else { rich::block_id(name) })
}

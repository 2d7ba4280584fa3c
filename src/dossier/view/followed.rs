//! The results that the front matter follows: what each was at every revision, and is now, with its ±.

use super::super::Past;
use super::super::charts::{self, Point};
use super::super::piece::{Align, Item, Piece, Rich, Row, Table};
use super::given::anchor;
use super::rich::{self, column, label};
use super::{Scene, date, heading, item, with_id};
use crate::quantities::{Unit, show_with_uncertainty};

/// How many results stand in one table.
const BESIDE: usize = 3;

/// A result that is followed, and the unit that it is shown in.
struct Followed<'s> {
    name: &'s str,
    label: String,
    unit: &'s Unit,
    /// What it was at each revision, and is now, in SI: value and expanded uncertainty.
    values: Vec<Option<(f64, f64)>>,
}

pub(super) fn followed(scene: &Scene<'_>) -> Vec<Item> {
    let past = scene.given.past;
    let worked = scene.given.worked;
    let (told, front) = (worked.told(), &worked.notebook.front);
    let of = |(name, _): &'_ (String, _)| {
        let global = worked.plan.find(&worked.notebook, name)?;
        let results = &worked.results;
        let now = (results.values[global], results.coverage[global] * results.standard[global]);
        let before = past.iter().map(|one| one.results.get(name).copied());
        let values = before.chain([results.is_known(global).then_some(now)]).collect();
        let (block, node) = told.node(global);
        let label = format!("{} of {}", node.label(), block.name);
        (!node.is_text()).then_some((label, &results.units[global], values))
    };
    let all: Vec<Followed<'_>> = front
        .follow
        .iter()
        .filter_map(|follow| {
            let (label, unit, values) = of(follow)?;
            Some(Followed { name: &follow.0, label, unit, values })
        })
        .collect();
    if all.is_empty() || past.is_empty() {
        return Vec::new();
    }
    let mut days: Vec<(String, String)> =
        past.iter().map(|Past { revision, date, .. }| (revision.clone(), date.clone())).collect();
    let now = front.revision.as_ref().map_or_else(|| "now".to_owned(), |revision| format!("{revision}, now"));
    days.push((now, date(scene.given.stamp)));
    let mut items = vec![with_id("followed", heading(2, "From revision to revision"))];
    items.extend(all.chunks(BESIDE).map(|some| table(some, &days)));
    items.extend(all.iter().filter_map(|one| picture(one, &days)));
    items
}

fn table(some: &[Followed<'_>], days: &[(String, String)]) -> Item {
    let mut columns = vec![column("Revision", Align::Left, 3), column("Date", Align::Left, 3)];
    columns.extend(some.iter().map(|one| super::super::piece::Column {
        head: rich::link(rich::label(&one.label).words(), anchor(one.name)),
        ..column("", Align::Decimal, 4)
    }));
    let rows = days.iter().enumerate().map(|(at, (revision, day))| {
        let value = |one: &Followed<'_>| {
            let (si, wide) = one.values[at]?;
            Some(Rich::plain(show_with_uncertainty(si, wide, one.unit)))
        };
        let mut cells = vec![Rich::plain(revision), Rich::plain(day)];
        cells.extend(some.iter().map(|one| value(one).unwrap_or_default()));
        Row { id: None, cells, log: Vec::new(), strong: false }
    });
    item(Piece::Table(Table { columns, rows: rows.collect(), caption: None }))
}

/// Nothing where there is one value alone.
fn picture(one: &Followed<'_>, days: &[(String, String)]) -> Option<Item> {
    let points: Vec<Point> = days
        .iter()
        .zip(&one.values)
        .filter_map(|((revision, _), value)| {
            let (si, wide) = (*value)?;
            let value = one.unit.value_of(si);
            let half = one.unit.value_of(si + wide) - value;
            Some(Point { label: revision.clone(), value, half: half.abs() })
        })
        .collect();
    (points.len() > 1).then(|| {
        let caption = format!("{} in {}, with its ± at each revision.", one.label, one.unit.symbol);
        let caption = label(&crate::model::capital(&caption));
        item(Piece::Figure { drawing: charts::history(&points, &caption.words()), caption })
    })
}

//! The sheet for a rescue crew, from the block that tells of it: where what is, how to make safe, what in a fire.

use super::super::pictures::{Form, Spot, outlines};
use super::super::piece::{Columns, Document, Entry, Item, Piece, Rich, Style};
use super::{Scene, heading, item, with_id};
use crate::model::{Purpose, RescueThing, capital};
use crate::report::{BlockReport, Place, Rescue};

/// The last block of rescue, in type of that size; `None` where the journal has none.
pub(in crate::dossier) fn rescue(scene: &Scene<'_>, style: Style) -> Option<Document> {
    let sheets = scene.given.worked.told().rescue();
    let sheet = sheets.last()?;
    let title = format!("{}: rescue sheet", scene.title);
    let mut items =
        vec![with_id("top", Piece::Heading { level: 1, text: Rich::plain(title.clone()), listed: false })];
    let front = &scene.given.worked.notebook.front;
    let known: Vec<&str> = front.identity.0.iter().map(|(_, text)| text.as_str()).collect();
    if !known.is_empty() {
        items.push(item(Piece::Paragraph { style: Style::Body, text: Rich::plain(known.join(", ")) }));
    }
    let lines = vec![Rich::plain(voltages(scene))];
    let title_ = "Electric vehicle: the battery stays live, whatever is switched off".to_owned();
    items.push(item(Piece::Caution { high_voltage: true, title: title_, lines }));
    items.extend(picture(sheet));
    items.push(list(sheet.places.iter().map(told), style));
    items.push(item(heading(2, "Make safe")));
    items.push(list(sheet.make_safe.iter().cloned(), style));
    items.push(item(heading(2, "In a fire")));
    items.push(item(Piece::Paragraph { style, text: Rich::plain(sheet.fire.clone()) }));
    let words = "Places are as the builder states them, in metres. Box hatched: battery, not to be cut. Dashed: cable. \
        Drawn by length, width, height and wheelbase alone, as if it reached as far ahead of the axles as behind them. \
        Words stand where ISO 17840 has symbols; the sign of the caution is ISO 7010 W012.";
    items.push(item(Piece::Paragraph { style: Style::Small, text: Rich::plain(words) }));
    Some(Document { title, columns: Columns::One, ..scene.document(items) })
}

/// What stands between the poles, of every pack. Where one could not be worked, nothing is known.
fn voltages(scene: &Scene<'_>) -> String {
    let shown = |report: &BlockReport, purpose: Purpose| {
        report.results.iter().find(|row| row.purpose == Some(purpose)).map(|row| row.shown.clone())
    };
    let of_pack = |pack: &BlockReport| {
        Some((pack.name.clone(), shown(pack, Purpose::FullVoltage)?, shown(pack, Purpose::NominalVoltage)?))
    };
    let voltages: Option<Vec<_>> = scene.packs().map(of_pack).collect();
    match voltages.as_deref() {
        None | Some([]) => "The voltage is not in this journal: take it to be deadly.".to_owned(),
        Some([(_, full, nominal)]) => {
            format!("Up to {full} DC between the poles, {nominal} nominal. Motor cables carry as much.")
        }
        Some(several) => {
            let each = several.iter().map(|(name, full, _)| format!("{name} up to {full} DC"));
            let each = each.collect::<Vec<_>>().join(", ");
            format!("Several packs: {each}. In series they add up. Motor cables carry as much.")
        }
    }
}

fn picture(sheet: &Rescue) -> Option<Item> {
    let spot = |place: &Place| Spot {
        form: match place.what {
            RescueThing::Pack => Form::Box,
            RescueThing::Cable => Form::Cable,
            _ => Form::Dot,
        },
        at: place.at,
        to: place.to,
    };
    let spots: Vec<Spot> = sheet.places.iter().map(spot).collect();
    let names: Vec<String> =
        sheet.places.iter().enumerate().map(|(at, place)| format!("{} {}", at + 1, place.name)).collect();
    let alt = format!("The vehicle from the side and from above, with the places of: {}.", names.join(", "));
    let drawing = outlines(sheet.outline?, &spots, alt);
    Some(item(Piece::Figure { drawing, caption: Rich::default() }))
}

fn list(lines: impl Iterator<Item = String>, style: Style) -> Item {
    let entry = |line: String| Entry {
        task: None,
        items: vec![item(Piece::Paragraph { style, text: Rich::plain(line) })],
    };
    item(Piece::List { start: Some(1), entries: lines.map(entry).collect() })
}

/// `Traction battery (high voltage), 1.2 m behind the front axle, 0.5 m left, 0.4 m up: pull the ring`.
fn told(place: &Place) -> String {
    let what = match place.what {
        RescueThing::Pack => "battery of high voltage",
        RescueThing::Cable | RescueThing::Motor | RescueThing::Charger | RescueThing::Inlet => "high voltage",
        RescueThing::Battery => "12 V",
        RescueThing::CutLoop => "cut here",
        RescueThing::Disconnect => "disconnects",
        RescueThing::Isolator => "isolates",
        RescueThing::Other => "",
    };
    // Nothing is said twice.
    let said = place.name.to_lowercase().replace('-', " ").contains(&what.to_lowercase());
    let what = if said { String::new() } else { format!(" ({what})") };
    let [x, y, z] = place.at;
    let along =
        format!("{:.1}\u{a0}m {} the front axle", x.abs(), if x < 0.0 { "ahead of" } else { "behind" });
    let across = match y {
        y if y.abs() < 0.05 => "in the middle".to_owned(),
        y => format!("{:.1}\u{a0}m {}", y.abs(), if y < 0.0 { "left" } else { "right" }),
    };
    let note = place.note.as_ref().map(|note| format!(": {note}")).unwrap_or_default();
    format!("{}{what}, {along}, {across}, {z:.1}\u{a0}m up{note}", capital(&place.name))
}

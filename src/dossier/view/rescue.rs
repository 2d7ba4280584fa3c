//! The sheet for a rescue crew, from the block that tells of it: where what is, how to make safe, what in a fire.

use super::super::pictures::{Form, Spot, outlines};
use super::super::piece::{Align, Columns, Document, Entry, Item, Piece, Rich, Row, Style, Table};
use super::rich::column;
use super::{Scene, heading, item, with_id};
use crate::model::{Purpose, RescueThing, capital};
use crate::report::{BlockReport, Place, Rescue, spaced};

/// How large a sheet is set, and what is left out so that it stays one.
#[derive(Clone, Copy)]
pub(in crate::dossier) struct Fit {
    style: Style,
    /// How high both views of the picture are together.
    high: f64,
    /// In columns of that number, places and steps both.
    columns: usize,
    /// How many characters a name and a note have at most; sentences have four times as many.
    most: Option<usize>,
}

const fn fit(style: Style, (high, columns): (f64, usize), most: Option<usize>) -> Fit {
    Fit { style, high, columns, most }
}

impl Fit {
    /// From what is read best to what has most room.
    pub(in crate::dossier) const ALL: [Fit; 9] = [
        fit(Style::Large, (230.0, 1), None),
        fit(Style::Large, (150.0, 1), None),
        fit(Style::Body, (230.0, 1), None),
        fit(Style::Body, (150.0, 1), None),
        fit(Style::Body, (150.0, 2), None),
        fit(Style::Small, (110.0, 2), Some(90)),
        fit(Style::Small, (110.0, 2), Some(50)),
        fit(Style::Small, (110.0, 2), Some(30)),
        fit(Style::Small, (80.0, 2), Some(12)),
    ];

    fn cuts(self, text: &str, times: usize) -> bool {
        self.most.is_some_and(|most| text.chars().count() > most * times)
    }

    fn cut(self, text: &str, times: usize) -> String {
        let Some(most) = self.most.map(|most| most * times) else { return text.to_owned() };
        match text.char_indices().nth(most) {
            None => text.to_owned(),
            // At the end of a word, where one ends in its second half.
            Some((end, _)) => {
                let whole = text[..end].rfind(' ').filter(|at| *at > end / 2).unwrap_or(end);
                format!("{}…", text[..whole].trim_end())
            }
        }
    }
}

/// A sheet, and the name of its block where something of it was cut.
pub(in crate::dossier) struct Sheet {
    pub(in crate::dossier) document: Document,
    pub(in crate::dossier) cut: Option<String>,
}

/// The last block of rescue; `None` where the journal has none.
pub(in crate::dossier) fn rescue(scene: &Scene<'_>, fit: Fit) -> Option<Sheet> {
    let sheets = scene.given.worked.told().rescue();
    let sheet = sheets.last()?;
    let title = format!("{}: rescue sheet", fit.cut(&scene.title, 2));
    let mut items =
        vec![with_id("top", Piece::Heading { level: 1, text: Rich::plain(title.clone()), listed: false })];
    let front = &scene.given.worked.notebook.front;
    let known: Vec<&str> = front.identity.0.iter().map(|(_, text)| text.as_str()).collect();
    let known = (!known.is_empty()).then(|| Rich::plain(fit.cut(&known.join(", "), 4)));
    let mut lines = vec![Rich::plain(voltages(scene))];
    // Beside the sign there is room for a line that would take one of its own.
    match fit.columns {
        1 => items.extend(known.map(|text| item(Piece::Paragraph { style: Style::Body, text }))),
        _ => lines.extend(known),
    }
    let title_ = "Electric vehicle: the battery stays live, whatever is switched off".to_owned();
    items.push(item(Piece::Caution { high_voltage: true, title: title_, lines }));
    items.extend(picture(sheet, fit));
    items.push(list(("Places", sheet.places.iter().map(|place| told(place, fit)).collect()), fit));
    let level = if fit.columns == 1 { 2 } else { 3 };
    items.push(item(heading(level, "Make safe")));
    items.push(list(("Steps", sheet.make_safe.iter().map(|step| fit.cut(step, 4)).collect()), fit));
    items.push(item(heading(level, "In a fire")));
    let fire = Rich::plain(fit.cut(&sheet.fire, 4));
    items.push(item(Piece::Paragraph { style: fit.style, text: fire }));
    let mut words = "Places as the builder states them, in metres. Hatched box: battery, not to be cut. Dashed: cable. \
        Drawn as if the vehicle reached as far ahead of its axles as behind them. Words stand where ISO 17840 has \
        symbols; the sign of the caution is ISO 7010 W012."
        .to_owned();
    if fit.most.is_some() {
        words.push_str(" Ahead and behind: of the front axle.");
    }
    let texts = sheet.places.iter().flat_map(|place| std::iter::once(&place.name).chain(&place.note));
    let sentences = sheet.make_safe.iter().chain([&sheet.fire]);
    let cut = { texts }.any(|text| fit.cuts(text, 1)) || { sentences }.any(|text| fit.cuts(text, 4));
    if cut {
        words.push_str(" What ends in … goes on in the dossier.");
    }
    items.push(item(Piece::Paragraph { style: Style::Small, text: Rich::plain(words) }));
    let document = Document { title, columns: Columns::One, ..scene.document(items) };
    Some(Sheet { document, cut: cut.then(|| sheet.block.clone()) })
}

/// What stands between the poles, of every pack. Where one could not be worked, nothing is known.
fn voltages(scene: &Scene<'_>) -> String {
    let shown = |report: &BlockReport, purpose: Purpose| {
        report.results.iter().find(|row| row.purpose == Some(purpose)).map(|row| row.shown.clone())
    };
    let of_pack = |pack: &BlockReport| {
        Some((spaced(&pack.name), shown(pack, Purpose::FullVoltage)?, shown(pack, Purpose::NominalVoltage)?))
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

fn picture(sheet: &Rescue, fit: Fit) -> Option<Item> {
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
    let drawing = outlines((sheet.outline?, fit.high), &spots, alt);
    Some(item(Piece::Figure { drawing, caption: Rich::default() }))
}

/// A numbered list, or a table of it, read from line to line.
fn list((head, lines): (&str, Vec<String>), fit: Fit) -> Item {
    if fit.columns == 1 {
        let style = fit.style;
        let entry = |line: String| Entry {
            task: None,
            items: vec![item(Piece::Paragraph { style, text: Rich::plain(line) })],
        };
        return item(Piece::List { start: Some(1), entries: lines.into_iter().map(entry).collect() });
    }
    let high = lines.len().div_ceil(fit.columns);
    let cell = |at: usize| {
        lines.get(at).map_or_else(Rich::default, |line| Rich::plain(format!("{}. {line}", at + 1)))
    };
    let row = |row: usize| Row {
        id: None,
        cells: (0..fit.columns).map(|column| cell(row * fit.columns + column)).collect(),
        log: Vec::new(),
        strong: false,
    };
    let heads = std::iter::once(head).chain(std::iter::repeat_n("", fit.columns - 1));
    let columns = heads.map(|head| column(head, Align::Left, 1)).collect();
    item(Piece::Table(Table { columns, rows: (0..high).map(row).collect(), caption: None }))
}

/// `Traction battery (high voltage), 1.2 m behind the front axle, 0.5 m left, 0.4 m up: pull the ring`.
fn told(place: &Place, fit: Fit) -> String {
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
    let along = match (x < 0.0, fit.most) {
        (true, None) => "ahead of the front axle",
        (false, None) => "behind the front axle",
        // Said once for all, where there is little room.
        (true, Some(_)) => "ahead",
        (false, Some(_)) => "behind",
    };
    let along = format!("{:.1}\u{a0}m {along}", x.abs());
    let across = match y {
        y if y.abs() < 0.05 => "in the middle".to_owned(),
        y => format!("{:.1}\u{a0}m {}", y.abs(), if y < 0.0 { "left" } else { "right" }),
    };
    let note = place.note.as_ref().map(|note| format!(": {}", fit.cut(note, 1))).unwrap_or_default();
    let name = fit.cut(&capital(&place.name), 1);
    format!("{name}{what}, {along}, {across}, {z:.1}\u{a0}m up{note}")
}

#[cfg(test)]
mod tests {
    use super::{Fit, Piece, list};

    #[test]
    fn what_has_no_room_in_one_column_is_read_from_line_to_line() {
        let lines = ["pack", "cut loop", "12 V battery"].map(str::to_owned).to_vec();
        let fit = Fit::ALL.into_iter().find(|fit| fit.columns == 2).expect("one with two columns");
        let Piece::Table(table) = list(("Places", lines), fit).piece else { panic!("no table") };
        let words = |row: &super::Row| row.cells.iter().map(super::Rich::words).collect::<Vec<_>>();
        let rows: Vec<Vec<String>> = table.rows.iter().map(words).collect();
        assert_eq!(rows, [["1. pack", "2. cut loop"], ["3. 12 V battery", ""]]);
    }
}

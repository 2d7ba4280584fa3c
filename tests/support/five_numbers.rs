//! Five numbers are followed from the summary to the page of the dossier that shows the evidence, by links alone: in the
//! pages for the screen and in the files for paper.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;

use lopdf::{Dictionary, Document, Object, ObjectId};

use crate::printed::demo;

/// A line of the summary by the words that it begins with, the value in it, and where its page number leads.
struct Number {
    line: &'static str,
    value: &'static str,
    leads_to: &'static str,
}

const NUMBERS: [Number; 5] = [
    Number { line: "motor speed in third drive", value: "6 392 rpm", leads_to: "drive.motor_speed" },
    Number { line: "rear axle", value: "964 ± 10 kg", leads_to: "kerb.heavier_laden_rear_axle" },
    Number {
        line: "what the weakest part carries fuse choice",
        value: "166 A",
        leads_to: "fuse_choice.weakest_rating",
    },
    Number { line: "isolation of the whole isolation", value: "1 084 kΩ", leads_to: "isolation.whole" },
    Number { line: "range (feed store) goals", value: "141 km", leads_to: "use.feed_store_range" },
];

/// Where the log column of an A4 page begins.
const LOG: i64 = 420;

/// Links on the way from a number to a document, at most.
const FAR: usize = 6;

#[test]
fn five_numbers_lead_to_their_evidence_on_the_screen() {
    let [summary, dossier] =
        ["summary.html", "dossier.html"].map(|name| spaced(&fs::read_to_string(demo(name)).expect("a page")));
    for number in &NUMBERS {
        let row = row_of(&summary, number);
        let places: Vec<&str> = hrefs(row).filter_map(|href| href.strip_prefix("dossier.html#")).collect();
        assert!(places.contains(&number.leads_to), "{}: {places:?}", number.line);
        // The documents that the line names, and what the value's own place in the dossier leads to.
        let named: Vec<&str> = places.iter().copied().filter(|id| id.starts_with("source.")).collect();
        assert!(!named.is_empty(), "{} names no document", number.line);
        for id in named.into_iter().chain([number.leads_to]) {
            let document =
                reached(id, |id| hrefs(section(&dossier, id)).filter_map(|href| href.strip_prefix('#')));
            let document = document.unwrap_or_else(|| panic!("{id} leads to no document"));
            let shown = shown_at(&dossier, document);
            assert!(shown.contains("<pre") || shown.contains("<img"), "{document} is not shown: {shown}");
        }
    }
}

#[test]
fn five_numbers_lead_to_their_evidence_on_paper() {
    let [summary, dossier] =
        ["summary.pdf", "dossier.pdf"].map(|name| Document::load(demo(name)).expect("a PDF"));
    let away: BTreeSet<String> = summary.page_iter().flat_map(|page| away(&summary, page)).collect();
    let paper = Paper::new(&dossier);
    for number in &NUMBERS {
        assert!(away.contains(number.leads_to), "no link of the summary leads to {}", number.leads_to);
        let document = reached(number.leads_to, |id| paper.from(id).into_iter());
        assert!(document.is_some(), "{} leads to no document", number.leads_to);
    }
    for id in away {
        assert!(paper.places.contains_key(&id), "{id} is no place of the dossier");
    }
}

/// The first document that is reached from a place by links.
fn reached<'a, I: Iterator<Item = &'a str>>(from: &'a str, links: impl Fn(&'a str) -> I) -> Option<&'a str> {
    let (mut seen, mut open) = (BTreeSet::from([from]), vec![from]);
    for _ in 0..=FAR {
        if let Some(document) = open.iter().find(|id| id.starts_with("source.")) {
            return Some(document);
        }
        let next: Vec<&str> = open.iter().flat_map(|id| links(id)).filter(|id| seen.insert(id)).collect();
        open = next;
    }
    None
}

/// No-break and thin spaces as plain ones.
fn spaced(html: &str) -> String {
    html.replace(['\u{a0}', '\u{202f}', '\u{2009}'], " ")
}

/// The row of the summary that begins with the words and holds the value.
fn row_of<'h>(html: &'h str, number: &Number) -> &'h str {
    let mut rows = html.split("<tr").skip(1).filter_map(|row| row.split("</tr>").next());
    let fits = |row: &&str| {
        let text = text(row);
        text.starts_with(number.line) && text.contains(number.value)
    };
    rows.find(fits).unwrap_or_else(|| panic!("{} is not told", number.line))
}

/// What stands between the tags, in words with one space between them.
fn text(html: &str) -> String {
    let between = html.split('<').map(|part| part.split_once('>').map_or("", |(_, text)| text));
    between.collect::<Vec<_>>().join(" ").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn hrefs(html: &str) -> impl Iterator<Item = &str> {
    html.split(" href=\"").skip(1).filter_map(|rest| rest.split('"').next())
}

/// From a place to the next one.
fn section<'h>(html: &'h str, id: &str) -> &'h str {
    let start =
        html.find(&format!(" id=\"{id}\"")).unwrap_or_else(|| panic!("{id} is no place of the dossier"));
    let rest = &html[start + 4..];
    &rest[..rest.find(" id=\"").unwrap_or(rest.len())]
}

/// From the heading of a document to the next heading.
fn shown_at<'h>(html: &'h str, id: &str) -> &'h str {
    let place = section(html, id);
    place.get(..place.rfind("has-heading").unwrap_or(place.len())).unwrap_or(place)
}

/// The places of the other file that links of a page lead to.
fn away(file: &Document, page: ObjectId) -> Vec<String> {
    let actions = links(file, page).into_iter().filter_map(|link| link.get(b"A").ok()?.as_dict().ok());
    let away = actions.filter(|action| action.get(b"S").and_then(Object::as_name).ok() == Some(b"GoToR"));
    let name = |action: &Dictionary| {
        assert_eq!(action.get(b"F").and_then(Object::as_str).ok(), Some(&b"dossier.pdf"[..]));
        String::from_utf8(action.get(b"D").and_then(Object::as_str).expect("a place").to_vec())
            .expect("ASCII")
    };
    away.map(name).collect()
}

fn links(file: &Document, page: ObjectId) -> Vec<&Dictionary> {
    let annots = file.get_dictionary(page).and_then(|page| page.get(b"Annots")).and_then(Object::as_array);
    let annots = annots.map(Vec::as_slice).unwrap_or_default();
    annots.iter().filter_map(|annot| file.get_dictionary(annot.as_reference().ok()?).ok()).collect()
}

/// A page and a height on it.
type Place = (ObjectId, i64);

/// Where the named places of a file are, and its links.
struct Paper {
    places: BTreeMap<String, Place>,
    /// By page: the link's left end and height, and where it leads.
    links: BTreeMap<ObjectId, Vec<(i64, i64, Place)>>,
}

impl Paper {
    fn new(file: &Document) -> Paper {
        let of = |dict: &Dictionary, key: &[u8]| -> Dictionary {
            let value = dict.get(key).expect("an entry");
            match value.as_reference() {
                Ok(id) => file.get_dictionary(id).expect("a dictionary").clone(),
                Err(_) => value.as_dict().expect("a dictionary").clone(),
            }
        };
        let root = of(&of(file.catalog().expect("a catalogue"), b"Names"), b"Dests");
        let mut places = BTreeMap::new();
        for kid in root.get(b"Kids").and_then(Object::as_array).expect("nodes") {
            let node = file.get_dictionary(kid.as_reference().expect("a node")).expect("a node");
            for pair in node.get(b"Names").and_then(Object::as_array).expect("names").chunks(2) {
                let name = String::from_utf8(pair[0].as_str().expect("a name").to_vec()).expect("UTF-8");
                places.insert(name, spot(&pair[1]).expect("a place"));
            }
        }
        let mut all = BTreeMap::new();
        for page in file.page_iter() {
            let leads = |link: &Dictionary| {
                let to = spot(link.get(b"A").ok()?.as_dict().ok()?.get(b"D").ok()?)?;
                let sides = link.get(b"Rect").ok()?.as_array().ok()?;
                let [left, top] = [&sides[0], &sides[3]].map(|side| side.as_float().map(f64::from));
                Some((left.ok()?.round() as i64, top.ok()?.round() as i64, to))
            };
            all.insert(page, links(file, page).into_iter().filter_map(leads).collect());
        }
        Paper { places, links: all }
    }

    /// The named places that links below a place lead to, down to the next place of the same page.
    fn from(&self, id: &str) -> Vec<&str> {
        let (page, top) = self.places[id];
        let below = |(other, height): &&Place| *other == page && *height < top;
        let next = self.places.values().filter(below).map(|(_, height)| *height).max().unwrap_or(0);
        let links = &self.links[&page];
        // A place is a little above its line.
        let own = links.iter().filter(|(_, height, _)| *height <= top && *height > next - 8);
        let mut targets: Vec<Place> = own.map(|(.., to)| *to).collect();
        if targets.is_empty() {
            // Of rows of which the log says the same it is said beside the first.
            let above = links.iter().filter(|(left, height, _)| *left > LOG && *height > top);
            targets.extend(above.min_by_key(|(_, height, _)| *height).map(|(.., to)| *to));
        }
        self.places.iter().filter(|(_, spot)| targets.contains(spot)).map(|(name, _)| name.as_str()).collect()
    }
}

/// Page and height of a place.
fn spot(place: &Object) -> Option<Place> {
    let place = place.as_array().ok()?;
    Some((place.first()?.as_reference().ok()?, f64::from(place.get(3)?.as_float().ok()?).round() as i64))
}

//! What a rescue crew must know at a glance: where high voltage is, how to cut it off, what to do in a fire.

use crate::blocks::shared::lists::plain_items;
use crate::findings::{Code, Severity, codes};
use crate::model::{
    Bench, Block, Example, FieldDoc, FieldSort, Form, Kind, Page, Range, RescuePlace, RescueSheet,
    RescueThing, Row, Slot, Takes,
};
use crate::quantities::si::{Length, Measure};
use crate::quantities::sort;
use crate::words::{Words, words};

pub(super) static KIND: Kind = Kind {
    name: "rescue",
    summary: "where the pack, its cables, the cut loop and the disconnect are, and how a rescue crew makes the vehicle safe",
    subsystem: "inspection",
    fields: &[
        FieldDoc::new("places", Takes::List, "what a crew must find or keep away from")
            .with_items("type `{name: pack, what: pack, at: [1.6 m, 0 m, 0.5 m]}` for each place"),
        FieldDoc::new("places.name", Takes::Text, "what it is called on the sheet"),
        FieldDoc::new("places.what", Takes::Text, WHAT).label("what is at the place"),
        FieldDoc::new("places.at", Takes::List, AT).label("place on the vehicle"),
        FieldDoc::new(
            "places.to",
            Takes::List,
            "the other end of a cable, or the opposite corner of a pack, in the same way",
        )
        .label("other end of the place")
        .optional(),
        FieldDoc::new("places.note", Takes::Text, "what to do there: `pull the red ring`")
            .label("note on the place")
            .optional(),
        FieldDoc::new("outline", Takes::Group, "the vehicle's measures"),
        FieldDoc::new("outline.length", Takes::Quantity(&sort::LENGTH), "from bumper to bumper")
            .label("length of the vehicle")
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("outline.width", Takes::Quantity(&sort::LENGTH), "without mirrors")
            .label("width of the vehicle")
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("outline.height", Takes::Quantity(&sort::LENGTH), "above the ground")
            .label("height of the vehicle")
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("outline.wheelbase", Takes::Quantity(&sort::LENGTH), "between the axles")
            .label("wheelbase")
            .range(Range::Positive)
            .sort(FieldSort::Stated),
        FieldDoc::new("make_safe", Takes::List, "what to do, one sentence a step, in order"),
        FieldDoc::new("fire", Takes::Text, "what to do in a fire, by reference to the cell maker's sheet")
            .label("in a fire"),
    ],
    rows: &[&PLACES.row, &PACK_FRONT.row, &PACK_REAR.row],
    takes: &[],
    requires: &[],
    example: Example {
        journal: "\
```yaml rescue sheet
places:
  - {name: traction battery, what: pack, at: [1.2 m, -0.5 m, 0.4 m], to: [2.2 m, 0.5 m, 0.8 m]}
  - {name: high-voltage cable, what: cable, at: [1.2 m, 0.3 m, 0.5 m], to: [0.1 m, 0.2 m, 0.7 m]}
  - {name: cut loop, what: cut-loop, at: [0.2 m, -0.4 m, 0.9 m], note: cut the yellow loop twice}
  - {name: service disconnect, what: disconnect, at: [1.5 m, 0 m, 0.9 m]}
  - {name: 12 V battery, what: battery, at: [-0.4 m, 0.4 m, 0.8 m]}
outline: {length: 3.9 m, width: 1.6 m, height: 1.9 m, wheelbase: 2.2 m}
make_safe:
  - Chock the wheels and take the key out.
  - Cut the yellow loop behind the bonnet latch in two places.
  - Pull the service disconnect behind the seat, and wait five minutes.
fire: Much water on the battery for a long time; see the cell maker's sheet.
```
",
        expected: &[("sheet.places_shown", "5"), ("sheet.pack_front", "1.2 m"), ("sheet.pack_rear", "2.2 m")],
    },
    sources: &[
        "what a sheet shows (units not to be cut, the high-voltage source, cables, cut-off switches): ISO 17840-1:2015 (second-hand); the order make safe, fire: ISO 17840-3:2019, abstract (read)",
    ],
    limits: &["the symbols of ISO 17840 are not drawn: the sheet says everything in words"],
    codes: &[&OUTSIDE_OUTLINE],
    read,
};

const WHAT: &str = "`pack`, `cable`, `cut-loop`, `disconnect`, `battery` (of 12 V), `isolator`, `motor`, `charger`, `inlet` or `other`";
const AT: &str = "`[x, y, z]`: behind the front axle, to the right of the middle, above the ground; negative ahead and to the left";

static OUTSIDE_OUTLINE: Code = Code {
    name: "outside-outline",
    severity: Severity::Warning,
    about: "a place of the rescue sheet that is not on the vehicle as its outline says",
};

static PLACES: Row<f64> = Row::formula("places_shown", "places on the sheet", "1", "EACH")
    .each(&[("EACH", "1 + 1")])
    .count()
    .principal();

static PACK_FRONT: Row<Length> = Row::procedure(
    "pack_front",
    "foremost end of the battery",
    "m",
    "the least `x` of all places of the pack and of their opposite corners",
)
.about("behind the front axle, negative ahead of it")
.when("with a place of the pack");
static PACK_REAR: Row<Length> = Row::procedure(
    "pack_rear",
    "rearmost end of the battery",
    "m",
    "the greatest `x` of all places of the pack and of their opposite corners",
)
.about("behind the front axle")
.when("with a place of the pack");

/// What a crew looks for, one of each, and what it is called.
const LOOKED_FOR: [(&[RescueThing], &str); 3] = [
    (&[RescueThing::Pack], "pack"),
    (&[RescueThing::CutLoop, RescueThing::Disconnect], "cut loop or disconnect"),
    (&[RescueThing::Battery], "12 V battery"),
];

/// What one sheet has room for.
const MOST_PLACES: usize = 30;
const MOST_STEPS: usize = 20;

struct Rescue {
    count: Slot<f64>,
    /// Of every place of the pack where it begins and ends along the vehicle, and the outermost of them.
    along: Vec<Slot<Length>>,
    ends: Option<[Slot<Length>; 2]>,
    lacks: Vec<(&'static str, &'static str)>,
    sheet: RescueSheet,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let places = form.list("places", &["name"], |form, _| read_place(form));
    let places: Vec<RescuePlace> = places.into_iter().filter_map(|entry| entry.read).collect();
    refuse_more(form, ("places", places.len()), MOST_PLACES);
    let outline = form.group("outline", |form| {
        ["length", "width", "height", "wheelbase"].map(|key| form.required::<Length>(key))
    });
    let make_safe = plain_items(form, "make_safe", "Take the key out.");
    refuse_more(form, ("make_safe", make_safe.len()), MOST_STEPS);
    let make_safe: Vec<String> = make_safe.into_iter().map(|(text, _)| text).collect();
    let fire = form.text("fire").map_or_else(String::new, |(text, _)| text);
    let ones = vec!["1"; places.len()].join(" + ");
    let packs = places.iter().filter(|place| place.what == RescueThing::Pack);
    let along: Vec<Slot<Length>> =
        packs.flat_map(|place| [Some(place.at), place.to]).flatten().map(|point| point[0]).collect();
    let mut out = form.outcomes();
    let count = out.result(PLACES.with("EACH", ones));
    let uses: Vec<usize> = along.iter().map(|slot| slot.index()).collect();
    let ends = (!along.is_empty()).then(|| [&PACK_FRONT, &PACK_REAR].map(|row| out.procedure(row, &uses)));
    let shown = |things: &[RescueThing]| places.iter().any(|place| things.contains(&place.what));
    let lacking = LOOKED_FOR.into_iter().filter(|(things, _)| !shown(things));
    let mut lacks: Vec<_> = lacking.map(|(things, words)| (things[0].word(), words)).collect();
    // A dash tells nobody what to do.
    let says = |text: &String| text.contains(char::is_alphabetic);
    lacks.extend((!make_safe.iter().any(says)).then_some(("make_safe", "how to make it safe")));
    lacks.extend((!says(&fire)).then_some(("fire", "what to do in a fire")));
    Box::new(Rescue { count, along, ends, lacks, sheet: RescueSheet { places, outline, make_safe, fire } })
}

/// A crew has one sheet.
fn refuse_more(form: &mut Form<'_, '_>, (key, count): (&str, usize), most: usize) {
    if count > most {
        let message = words!("{} entries of `{}`, and one sheet has room for {}", count, key, most);
        let help = "keep those that a crew looks for first";
        form.report(&codes::BAD_VALUE, form.place_of(key), message, help);
    }
}

fn read_place(form: &mut Form<'_, '_>) -> Option<RescuePlace> {
    let name = form.text("name").map(|(text, _)| text);
    let word = form.choice("what", &RescueThing::ALL.map(RescueThing::word));
    let what = RescueThing::ALL.into_iter().find(|thing| Some(thing.word()) == word);
    let at = read_point(form, "at", ["at.x", "at.y", "at.z"]);
    let to = read_point(form, "to", ["to.x", "to.y", "to.z"]);
    let note = form.text("note").map(|(text, _)| text);
    Some(RescuePlace { name: name?, what: what?, at: at?, to, note })
}

/// Three lengths, each under a name of its own.
fn read_point(form: &mut Form<'_, '_>, key: &str, names: [&'static str; 3]) -> Option<[Slot<Length>; 3]> {
    let value = form.take(key)?;
    match value.items() {
        Some([x, y, z]) => {
            let mut axes = names.into_iter().zip([x, y, z]);
            Some([(); 3].map(|()| {
                let (name, item) = axes.next().expect("three of each");
                form.value((key, name), item)
            }))
        }
        _ => {
            form.wrong_shape(key, &value, "a list `[x, y, z]`");
            None
        }
    }
}

impl Rescue {
    /// In order the first and the last are the ends.
    fn check(&self, page: &mut Page<'_>) {
        let Some([front, rear]) = self.ends else { return };
        let mut along: Vec<f64> =
            self.along.iter().filter_map(|slot| page.get(*slot)).map(Measure::si).collect();
        along.sort_unstable_by(f64::total_cmp);
        for (slot, end) in [(front, along.first()), (rear, along.last())] {
            let Some((found, end)) = page.get(slot).map(Measure::si).zip(end) else { continue };
            page.checked(slot, (found - end).abs(), 0.0);
        }
    }

    /// Places that are wider, higher or further along than the vehicle. How far it reaches ahead of the front axle is not
    /// known, but all of what it is longer than its wheelbase at most, and behind that axle no further than it is long.
    fn tell_outside(&self, page: &mut Page<'_>) {
        let Some(outline) = self.sheet.outline else { return };
        let [Some(length), Some(width), Some(height), Some(wheelbase)] = outline.map(|slot| page.get(slot))
        else {
            return;
        };
        if wheelbase >= length {
            let message = "the wheelbase is no shorter than the vehicle";
            let help = "hold `length` and `wheelbase` against the vehicle: they may have been swapped";
            return page.find(&OUTSIDE_OUTLINE, outline[3].index(), message, help);
        }
        for place in &self.sheet.places {
            for point in [Some(place.at), place.to].into_iter().flatten() {
                let [Some(x), Some(y), Some(z)] = point.map(|slot| page.get(slot)) else { continue };
                let zero = Length::default();
                let along = x < wheelbase - length || x > length;
                let outside = along || y.abs() * 2.0 > width || z < zero || z > height;
                if outside {
                    let message = words!("`{}` lies outside the vehicle's outline", place.name);
                    let help =
                        "type its place as [behind the front axle, right of the middle, above the ground]";
                    page.find(&OUTSIDE_OUTLINE, point[0].index(), message, help);
                    break;
                }
            }
        }
    }
}

impl Block for Rescue {
    #[allow(clippy::cast_precision_loss)]
    fn evaluate(&self, bench: &mut Bench<'_>) {
        bench.set(self.count, self.sheet.places.len() as f64);
        let Some([front, rear]) = self.ends else { return };
        let along: Vec<f64> = self.along.iter().map(|slot| bench.get(*slot).si()).collect();
        // What is not known leaves nothing known.
        if along.iter().all(|x| x.is_finite()) {
            bench.set(front, Length::from_si(along.iter().copied().fold(f64::INFINITY, f64::min)));
            bench.set(rear, Length::from_si(along.iter().copied().fold(f64::NEG_INFINITY, f64::max)));
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        self.check(page);
        self.tell_outside(page);
        let names = Words::joined(self.sheet.places.iter().map(|place| words!("{}", place.name)), ", ");
        page.sentence(
            words!("{} places on the rescue sheet", page.value(self.count)),
            words!(": {}.", names),
        );
        for (_, wanted) in &self.lacks {
            page.note(words!("The sheet says nothing of {}: a crew looks for it.", *wanted));
        }
    }

    fn lacks(&self) -> &[(&'static str, &'static str)] {
        &self.lacks
    }

    fn rescue(&self) -> Option<&RescueSheet> {
        Some(&self.sheet)
    }
}

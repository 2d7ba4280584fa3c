//! Whether the main contactors make, carry and break what the pack can ask of them.

use crate::blocks::shared::high_voltage::caution_highest;
use crate::blocks::shared::switchgear;
use crate::findings::{Code, Severity};
use crate::model::{
    Bench, Block, Example, FieldDoc, FieldSort, Form, Kind, Page, Purpose, Range, RequirementRow, Slot,
    Taken, Takes,
};
use crate::quantities::si::{ElectricCurrent, ElectricPotential};
use crate::quantities::sort;
use crate::words::{Words, words};

static ONE_POLE: Code = Code {
    name: "one-pole",
    severity: Severity::Warning,
    about: "the contactors open one pole alone, so the other one stays tied to everything behind it",
};

static NO_WELD_CHECK: Code = Code {
    name: "no-weld-check",
    severity: Severity::Warning,
    about: "nothing finds a welded contact, so a battery that was switched off may still be live",
};

pub(crate) static KIND: Kind = Kind {
    name: "contactors",
    summary: "whether the main contactors make, carry and break the pack's worst current at its full voltage",
    subsystem: "high voltage",
    fields: &[
        FieldDoc::new("pack", Takes::BlockName, "the battery pack that they switch"),
        FieldDoc::new(
            "contactor",
            Takes::BlockName,
            "a part with `making`, `breaking`, `continuous` and `voltage_rating`, for those that are not typed here",
        )
        .optional(),
        FieldDoc::new("making", Takes::Quantity(&sort::CURRENT), "the largest current that they close on")
            .usual(10.0, 20_000.0)
            .either()
            .sort(FieldSort::Stated)
            .label("making current")
            .range(Range::Positive),
        FieldDoc::new(
            "breaking",
            Takes::Quantity(&sort::CURRENT),
            "the largest current that they open, in the direction that they are wired, at the pack's voltage",
        )
        .usual(10.0, 20_000.0)
        .either()
            .sort(FieldSort::Stated)
        .label("breaking current")
        .principal()
        .range(Range::Positive),
        FieldDoc::new("continuous", Takes::Quantity(&sort::CURRENT), "that they carry")
            .either()
            .sort(FieldSort::Stated)
            .label("continuous current")
            .principal()
            .range(Range::Positive),
        FieldDoc::new("voltage_rating", Takes::Quantity(&sort::VOLTAGE), "their DC rating")
            .usual(12.0, 2_000.0)
            .either()
            .sort(FieldSort::Stated)
            .principal()
            .range(Range::Positive),
        FieldDoc::new("poles", Takes::Count, "how many poles of the battery they open")
            .sort(FieldSort::Stated)
            .label("poles that they open")
            .principal()
            .range(Range::AtLeastOne),
        FieldDoc::new(
            "weld_check",
            Takes::Text,
            "how a welded contact is found: `auxiliary contact`, `none`",
        )
        .label("how a welded contact is found")
        .principal(),
    ],
    rows: &[],
    takes: &[
        &MAKING_OF_PART.row,
        &BREAKING_OF_PART.row,
        &CONTINUOUS_OF_PART.row,
        &RATING_OF_PART.row,
        &FULL_VOLTAGE.row,
        &PEAK_CURRENT.row,
        &WORST_PEAK_CURRENT.row,
        &CONTINUOUS_CURRENT.row,
        &WORST_CONTINUOUS_CURRENT.row,
        &switchgear::END_VOLTAGE.row,
    ],
    requires: &[&VOLTAGE_RATING, &RATED_FOR_CHARGING, &MAKING, &BREAKING, &CONTINUOUS],
    example: Example {
        journal: "\
```yaml part cell
role: cell
nominal_voltage: 3.65 V
full_voltage: 4.2 V
empty_voltage: 2.8 V
capacity: 60 Ah
resistance: 0.8 mΩ
mass: 0.9 kg
continuous_discharge: 120 A
peak_discharge: 300 A
```

```yaml pack-layout pack
cell: cell
series: 96
parallel: 1
housing_share: 25 %
peak_power: 70 kW
continuous_power: 30 kW
```

```yaml contactors main
pack: pack
making: 300 A (datasheet)
breaking: 500 A (datasheet)
continuous: 200 A (datasheet)
voltage_rating: 450 V (datasheet)
poles: 2
weld_check: voltage behind each contact, before closing
```
",
        expected: &[("main.pack.full_voltage", "403.2 V"), ("main.pack.peak_current", "209.380499 A")],
    },
    sources: &["contactors in both poles: what an inspector expects to see in the diagram"],
    limits: &[
        "how often contactors break such a current before they wear out, and their coils, are not calculated",
        "a short circuit is for the fuse to clear, not for the contactors",
    ],
    codes: &[&ONE_POLE, &NO_WELD_CHECK],
    read,
};

static MAKING_OF_PART: Taken<ElectricCurrent> = Taken::new("contactor", "making").stands_for("making");
static BREAKING_OF_PART: Taken<ElectricCurrent> = Taken::new("contactor", "breaking").stands_for("breaking");
static CONTINUOUS_OF_PART: Taken<ElectricCurrent> =
    Taken::new("contactor", "continuous").stands_for("continuous");
static RATING_OF_PART: Taken<ElectricPotential> =
    Taken::new("contactor", "voltage_rating").stands_for("voltage_rating");

static FULL_VOLTAGE: Taken<ElectricPotential> = Taken::new("pack", "full_voltage").purpose(Purpose::Dc);
static PEAK_CURRENT: Taken<ElectricCurrent> = Taken::new("pack", "peak_current");
static WORST_PEAK_CURRENT: Taken<ElectricCurrent> = Taken::new("pack", "worst_peak_current");
static CONTINUOUS_CURRENT: Taken<ElectricCurrent> = Taken::new("pack", "continuous_current");

static WORST_CONTINUOUS_CURRENT: Taken<ElectricCurrent> = Taken::new("pack", "worst_continuous_current");

static VOLTAGE_RATING: RequirementRow = RequirementRow::safety("voltage_rating", "voltage_rating")
    .at_least("pack.full_voltage")
    .source("the pack's full voltage");
static RATED_FOR_CHARGING: RequirementRow = RequirementRow::safety("voltage_rating", "voltage_rating")
    .at_least("max(pack.full_voltage, EACH)")
    .source("the full pack, or a charger that ends above it")
    .each(&[("EACH", "charge.end_voltage")]);
static MAKING: RequirementRow = RequirementRow::safety("making", "making")
    .at_least("LARGEST")
    .each(&[("LARGEST", "pack.peak_current")])
    .source("the pack's worst current");
static BREAKING: RequirementRow = RequirementRow::safety("breaking", "breaking")
    .at_least("LARGEST")
    .each(&[("LARGEST", "pack.peak_current")])
    .source("the pack's worst current");
static CONTINUOUS: RequirementRow = RequirementRow::safety("continuous", "continuous")
    .at_least("LARGEST")
    .each(&[("LARGEST", "pack.continuous_current")])
    .source("the pack's continuous current");

struct Contactors {
    full_voltage: Slot<ElectricPotential>,
    voltage_rating: Slot<ElectricPotential>,
    poles: Slot<f64>,
    /// The pack's largest current, where it states one.
    largest: Option<Slot<ElectricCurrent>>,
    /// What the pack's charges end at.
    ends: Vec<Slot<ElectricPotential>>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let pack = form.lookup().block_name("pack");
    let part = form.lookup().block_name("contactor");
    for taken in [&MAKING_OF_PART, &BREAKING_OF_PART, &CONTINUOUS_OF_PART] {
        form.own_or_parts(taken, part.as_ref());
    }
    let voltage_rating = form.own_or_parts(&RATING_OF_PART, part.as_ref());
    let poles = form.required("poles");
    if let Some((_, at)) = form.text("weld_check").filter(|(text, _)| says_none(text)) {
        let message = "nothing is said to find a welded contact";
        let help = "with one contact welded the battery stays live when it is switched off: check each before it closes";
        form.report(&NO_WELD_CHECK, at, message, help);
    }
    let pack = pack.as_ref();
    let worst = form.lookup().has(pack, "worst");
    let stated = (form.lookup().has(pack, "peak_power"), form.lookup().has(pack, "continuous_power"));
    let mut lookup = form.lookup();
    let full_voltage = lookup.taken(&FULL_VOLTAGE, pack);
    let peak = if worst { &WORST_PEAK_CURRENT } else { &PEAK_CURRENT };
    let peak = stated.0.then(|| lookup.taken(peak, pack));
    let continuous = if worst && stated.1 { lookup.if_there(&WORST_CONTINUOUS_CURRENT, pack) } else { None };
    let continuous = stated.1.then(|| continuous.unwrap_or_else(|| lookup.taken(&CONTINUOUS_CURRENT, pack)));
    let ends = switchgear::charge_ends(form, pack);
    let mut out = form.outcomes();
    match out.names_of(ends.iter().copied()) {
        none if none.is_empty() => out.require(&VOLTAGE_RATING),
        each => out.require(RATED_FOR_CHARGING.with("EACH", each)),
    }
    // A pack that states no peak power leaves the first two open: its continuous current is milder.
    let name = |slot: Option<Slot<ElectricCurrent>>, none: &str| {
        slot.map_or_else(|| none.to_owned(), |slot| out.names_of([slot]))
    };
    let (largest, carried) = (name(peak, "pack.peak_current"), name(continuous, "pack.continuous_current"));
    out.require(MAKING.with("LARGEST", largest.as_str()));
    out.require(BREAKING.with("LARGEST", largest));
    out.require(CONTINUOUS.with("LARGEST", carried));
    Box::new(Contactors { full_voltage, voltage_rating, poles, largest: peak, ends })
}

impl Block for Contactors {
    fn evaluate(&self, _bench: &mut Bench<'_>) {}

    fn present(&self, page: &mut Page<'_>) {
        let largest =
            self.largest.map_or_else(Words::default, |slot| words!(", worst current {}", page.value(slot)));
        page.sentence(
            words!(
                "Contactors of {} on a pack of {}",
                page.value(self.voltage_rating),
                page.value(self.full_voltage)
            ),
            words!("{}; poles opened: {}.", largest, page.value(self.poles)),
        );
        if page.get(self.poles).is_some_and(|poles| poles < 2.0) {
            let message = "the contactors open one pole alone";
            let help = "open both poles: with one closed, a single fault to the body makes the vehicle live";
            page.find(&ONE_POLE, self.poles.index(), message, help);
        }
        caution_highest(page, self.ends.iter().copied().chain([self.full_voltage]));
    }
}

/// Whether words for a means say that there is none, or none yet: "none", "no", "not yet", "?", "-", "n/a", "to do".
fn says_none(text: &str) -> bool {
    let text = text.to_lowercase();
    let first =
        text.split(|c: char| c.is_whitespace() || [',', ';', ':', '.'].contains(&c)).next().unwrap_or("");
    !text.chars().any(char::is_alphabetic)
        || ["no", "none", "not", "nothing", "never", "n/a", "todo", "tbd", "unknown", "later"]
            .contains(&first)
        || text.starts_with("to do")
        || text.starts_with("to be ")
}

#[cfg(test)]
mod tests {
    use super::says_none;

    #[test]
    fn words_that_put_a_weld_check_off_are_no_weld_check() {
        for text in
            ["none", "No", "not yet", "none, for now", "?", "-", "n/a", "To do", "to be decided", "TBD", "3"]
        {
            assert!(says_none(text), "{text}");
        }
        for text in
            ["auxiliary contacts", "normally open contact", "voltage behind each contact", "two meters"]
        {
            assert!(!says_none(text), "{text}");
        }
    }
}

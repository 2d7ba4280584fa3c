//! Whether the main contactors make, carry and break what the pack can ask of them.

use crate::blocks::shared::high_voltage::caution_dc;
use crate::findings::{Code, Severity};
use crate::model::{
    Bench, Block, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, Slot, Status, Takes,
};
use crate::quantities::si::{ElectricCurrent, ElectricPotential};
use crate::quantities::sort;

static ONE_POLE: Code = Code {
    name: "one-pole",
    severity: Severity::Warning,
    about: "the contactors open one pole alone, so the other one stays tied to everything behind it",
};

pub(super) static KIND: Kind = Kind {
    name: "contactors",
    summary: "whether the main contactors make, carry and break the pack's worst current at its full voltage",
    subsystem: "high voltage",
    fields: &[
        FieldDoc::new("pack", Takes::BlockName, "the battery pack that they switch"),
        FieldDoc::new("making", Takes::Quantity(&sort::CURRENT), "the largest current that they close on")
            .range(Range::Positive),
        FieldDoc::new(
            "breaking",
            Takes::Quantity(&sort::CURRENT),
            "the largest current that they open, in the direction that they are wired, at the pack's voltage",
        )
        .range(Range::Positive),
        FieldDoc::new("continuous", Takes::Quantity(&sort::CURRENT), "that they carry")
            .range(Range::Positive),
        FieldDoc::new("rated_voltage", Takes::Quantity(&sort::VOLTAGE), "their DC rating")
            .range(Range::Positive),
        FieldDoc::new("poles", Takes::Count, "how many poles of the battery they open")
            .range(Range::AtLeastOne),
        FieldDoc::new(
            "weld_check",
            Takes::Text,
            "how a welded contact is found: `auxiliary contact`, `none`",
        ),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[],
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
rated_voltage: 450 V (datasheet)
poles: 2
weld_check: voltage behind each contact, before closing
```
",
        expected: &[("main.pack.full_voltage", "403.2 V"), ("main.pack.peak_current", "209.380499 A")],
    },
    sources: &["contactors in both poles: what an inspector expects to see in the diagram"],
    inspector: &["poles", "rated_voltage", "continuous", "breaking", "weld_check"],
    limits: &[
        "how often contactors break such a current before they wear out, and their coils, are not calculated",
        "a short circuit is for the fuse to clear, not for the contactors",
    ],
    codes: &[&ONE_POLE],
    read,
};

struct Contactors {
    full_voltage: Slot<ElectricPotential>,
    rated_voltage: Slot<ElectricPotential>,
    poles: Slot<f64>,
    weld_check: Option<String>,
    /// The pack's largest current, where it states one.
    largest: Option<Slot<ElectricCurrent>>,
    continuous: bool,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let pack = form.required_block("pack");
    for key in ["making", "breaking", "continuous"] {
        form.required::<ElectricCurrent>(key);
    }
    let rated_voltage = form.required("rated_voltage");
    let poles = form.required_count("poles");
    if !form.has("weld_check") {
        form.missing("weld_check");
    }
    let weld_check = form.text("weld_check").map(|(text, _)| text);
    let full_voltage = form.of_block(pack.as_ref(), "full_voltage");
    let pack = pack.as_ref();
    let largest = match (form.block_has(pack, "peak_power"), form.block_has(pack, "worst")) {
        (true, true) => Some("worst_peak_current"),
        (true, false) => Some("peak_current"),
        (false, _) => form.block_has(pack, "continuous_power").then_some("continuous_current"),
    };
    let continuous = form.block_has(pack, "continuous_power");
    let slot = largest.map(|name| form.of_block(pack, name));
    if continuous && largest != Some("continuous_current") {
        form.of_block::<ElectricCurrent>(pack, "continuous_current");
    }
    let limit = |name| Limit {
        name,
        kind: RequirementKind::Safety,
        actual: name,
        low: Some("pack.full_voltage"),
        high: None,
        source: "the pack's full voltage",
        status: Status::Derived,
        span: None,
    };
    form.require(limit("rated_voltage"));
    if let Some(name) = largest {
        let low = format!("pack.{name}");
        let source = "the pack's worst current";
        form.require(Limit { low: Some(&low), source, ..limit("making") });
        form.require(Limit { low: Some(&low), source, ..limit("breaking") });
    }
    if continuous {
        let source = "the pack's continuous current";
        form.require(Limit { low: Some("pack.continuous_current"), source, ..limit("continuous") });
    }
    Box::new(Contactors { full_voltage, rated_voltage, poles, weld_check, largest: slot, continuous })
}

impl Block for Contactors {
    fn evaluate(&self, _bench: &mut Bench<'_>) {}

    fn present(&self, page: &mut Page<'_>) {
        let largest = match self.largest {
            Some(slot) => format!(", worst current {}", page.shown(slot)),
            None => String::new(),
        };
        page.sentence(
            format!(
                "Contactors of {} on a pack of {}",
                page.shown(self.rated_voltage),
                page.shown(self.full_voltage)
            ),
            format!("{largest}; poles opened: {}.", page.shown(self.poles)),
        );
        if self.largest.is_none() {
            page.note("Making and breaking were not judged: the pack states neither `peak_power` nor `continuous_power`.");
        }
        if !self.continuous {
            page.note("The continuous current was not judged: the pack states no `continuous_power`.");
        }
        if let Some(check) = &self.weld_check
            && ["no", "none"].contains(&check.to_lowercase().as_str())
        {
            page.note("A welded contact is not found: with one of them welded the battery stays live when it is switched off.");
        }
        if page.get(self.poles).is_some_and(|poles| poles < 2.0) {
            let message = "the contactors open one pole alone".to_owned();
            let help = "open both poles: with one closed, a single fault to the body makes the vehicle live";
            page.find(&ONE_POLE, self.poles.index(), message, help);
        }
        caution_dc(page, self.full_voltage);
    }
}

//! A precharge that was measured on the vehicle: how near the bus had come to the pack, and after what time.

use crate::blocks::shared::record::{RECORD, Recorded, Wanted, from_record};
use crate::model::{
    Bench, Entry, Family, FieldDoc, Form, Page, Range, Regard, RequirementRow, Row, Slot, Stage, Takes,
};
use crate::quantities::si::{ElectricPotential, Measure, Ratio, Time, ratio};
use crate::quantities::sort;
use crate::words::words;

pub(super) const LIST: FieldDoc =
    FieldDoc::new("readings", Takes::List, "what was measured on the vehicle, one for each precharge")
        .with_items("type one `{name: …, record: …}` for each precharge that was measured")
        .optional()
        .due(Stage::Test);
pub(super) const NAME: FieldDoc =
    FieldDoc::new("readings.name", Takes::Text, "which one: `cold start`").either();
pub(super) const OF_RECORD: FieldDoc =
    FieldDoc::new("readings.record", Takes::BlockName, RECORD).optional().due(Stage::Test);
pub(super) const TIME: FieldDoc = FieldDoc::new(
    "readings.time",
    Takes::Quantity(&sort::TIME),
    "from the start of the precharge to the reading of the voltages",
)
.range(Range::Positive)
.label("measured time");
pub(super) const VOLTAGE: FieldDoc =
    FieldDoc::new("readings.voltage", Takes::Quantity(&sort::VOLTAGE), "of the bus after that time")
        .range(Range::NotNegative)
        .label("measured voltage of the bus");
pub(super) const PACK_VOLTAGE: FieldDoc =
    FieldDoc::new("readings.pack_voltage", Takes::Quantity(&sort::VOLTAGE), "of the pack at that moment")
        .range(Range::Positive)
        .label("measured voltage of the pack");

static READINGS: Family = Family { name: "readings", label: "Reading", case: "READING" };

pub(super) static SHARE: Row<Ratio> = Row::formula(
    "reached_READING",
    "measured share of the voltage",
    "%",
    "readings.READING.voltage / readings.READING.pack_voltage",
)
.about("of the bus, of that of the pack at the same moment")
.when("with `readings`")
.family(&READINGS);

pub(super) static NEAR_ENOUGH: RequirementRow = RequirementRow::safety("reached_READING", "reached_READING")
    .at_least("target_share")
    .source("the share at which the main contactor may close")
    .due(Stage::Test)
    .family(&READINGS);
pub(super) static SOON_ENOUGH: RequirementRow =
    RequirementRow::safety("time_READING", "readings.READING.time")
        .label("measured time to the target")
        .at_most("time_limit")
        .source("the controller's time limit")
        .only_with(&["time_limit"])
        .due(Stage::Test)
        .family(&READINGS);

const RECORDED: Wanted = Wanted {
    values: &["time", "voltage", "pack_voltage"],
    needed: &[("time", &[]), ("voltage", &[]), ("pack_voltage", &[])],
    texts: &[],
};

pub(super) struct Reading {
    voltage: Slot<ElectricPotential>,
    pack_voltage: Slot<ElectricPotential>,
    share: Option<Slot<Ratio>>,
    record: Option<Recorded>,
}

/// The last of what is read: it counts as measured.
pub(super) fn read(form: &mut Form<'_, '_>) -> Vec<Entry<Reading>> {
    form.regard(Regard::Measured(None));
    let mut readings = form.list("readings", &["name"], |form, _| {
        form.text("name");
        if !RECORDED.values.iter().chain(&["record"]).any(|key| form.has(key)) {
            form.missing("record");
            form.regard(Regard::ToldElsewhere);
        }
        let record = from_record(form, &RECORDED);
        form.required::<Time>("time");
        let (voltage, pack_voltage) = (form.required("voltage"), form.required("pack_voltage"));
        Reading { voltage, pack_voltage, share: None, record }
    });
    let mut out = form.outcomes();
    for entry in &mut readings {
        entry.read.share = Some(out.result(SHARE.of(&entry.case())));
    }
    for entry in &readings {
        out.require(NEAR_ENOUGH.of(&entry.case()));
        out.require(SOON_ENOUGH.of(&entry.case()));
    }
    readings
}

pub(super) fn evaluate(readings: &[Entry<Reading>], bench: &mut Bench<'_>) {
    for Entry { read, .. } in readings {
        let share: Ratio = bench.get(read.voltage) / bench.get(read.pack_voltage);
        if let Some(slot) = read.share {
            bench.set(slot, share);
        }
    }
}

/// Holds what a reading does not prove.
pub(super) fn present(readings: &[Entry<Reading>], target: Slot<Ratio>, page: &mut Page<'_>) {
    for Entry { slug, read, .. } in readings {
        let names = [format!("reached_{slug}"), format!("time_{slug}")];
        if let Some(doubt) = read.record.as_ref().and_then(Recorded::doubt) {
            names.iter().for_each(|name| page.hold_close(name, doubt.clone()));
        }
        let share = read.share.and_then(|slot| page.get(slot));
        let (Some(share), Some(least)) = (share, page.get(target)) else { continue };
        // As far above the pack as the target is below it, the two voltages are not of one moment or one scale.
        if share.si() > 2.0 - least.si() {
            let reason = words!(
                "the bus read {} above the pack's {}: one of them is wrong",
                page.value(read.voltage),
                page.value(read.pack_voltage)
            );
            names.iter().for_each(|name| page.hold_open(name, Stage::Test, reason.clone()));
        } else if share < least * ratio(1.0 - 1e-9) {
            page.hold_open(&names[1], Stage::Test, "the target was not reached after that time");
        }
    }
}

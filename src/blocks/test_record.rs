//! What was measured on this vehicle: with which instrument, by whom, when, in which state.

use crate::blocks::shared::calibration::{CALIBRATION_ENDED, UNTIL, read_calibration, tell_calibration};
use crate::blocks::shared::date::{TO_COME, TestDay, read_test_date};
use crate::blocks::shared::lists::{named, words_of};
use crate::blocks::shared::noted::refuse_guess;
use crate::model::{
    Any, Bench, Block, Calibration, Detail, Example, FieldDoc, Form, Kind, Node, Page, Purpose, Record,
    Regard, Row, Slot, Stage, Takes,
};
use crate::words::{Shown, Words, words};

pub(super) static KIND: Kind = Kind {
    name: "test-record",
    summary: "what was measured on this vehicle, with which instrument, by whom and in which state; other blocks take their readings from it",
    subsystem: "tests",
    fields: &[
        FieldDoc::new("date", Takes::Text, "of the test: `2026-03-02`")
            .purpose(Purpose::About(Detail::Date))
            .label("date of the test")
            .due(Stage::Test),
        FieldDoc::new("test", Takes::Text, "what was tested: `isolation`")
            .purpose(Purpose::Reading)
            .label("what was tested")
            .due(Stage::Test),
        FieldDoc::new("instrument", Takes::Text, "what it was measured with")
            .purpose(Purpose::About(Detail::Instrument))
            .due(Stage::Test),
        FieldDoc::new("serial", Takes::Text, "the instrument's serial number")
            .purpose(Purpose::About(Detail::Serial))
            .label("serial number")
            .due(Stage::Test),
        FieldDoc::new("calibrated_until", Takes::Text, UNTIL)
            .purpose(Purpose::About(Detail::CalibratedUntil))
            .due(Stage::Test),
        FieldDoc::new("by", Takes::Text, "who measured")
            .purpose(Purpose::About(Detail::By))
            .label("measured by")
            .due(Stage::Test),
        FieldDoc::new("place", Takes::Text, "where")
            .purpose(Purpose::About(Detail::Place))
            .label("place of the test")
            .due(Stage::Test),
        FieldDoc::new(
            "state",
            Takes::List,
            "of the vehicle, in words: `[wet, contactors-closed]`; `dry`, `contactors-open`, `charging`",
        )
        .purpose(Purpose::About(Detail::State))
        .label("state of the vehicle")
        .due(Stage::Test),
        FieldDoc::new(
            "values",
            Takes::Named,
            "names with what was measured; each is a value of this block, measured on this vehicle",
        )
        .label("measured values")
        .due(Stage::Test),
        FieldDoc::new(
            "file",
            Takes::Text,
            "the record itself, in the journal folder; its SHA-256 goes into the dossier",
        )
        .label("file of the record")
        .optional(),
        FieldDoc::new("remark", Takes::Text, "what else is to be said").label("remark").optional(),
    ],
    rows: &[&CALIBRATION.row],
    takes: &[],
    requires: &[],
    example: Example {
        journal: "\
```yaml test-record iso_dc
date: 2026-03-02
test: isolation
instrument: insulation tester
serial: IT-20
calibrated_until: 2026-11-30
by: K. Ames
place: the shed
state: [dry, contactors-open]
values: {resistance: 12 Mohm, test_voltage: 500 V}
remark: cable unplugged
```

```yaml targets wanted
isolation: iso_dc.resistance >= 10 Mohm
```
",
        expected: &[("iso_dc.resistance", "12 MΩ")],
    },
    sources: &[
        "no text was found that demands a calibration or its interval: an ended one is an open item, not a failure",
    ],
    limits: &[
        "whether the test was made as its rule says: the kinds that take its values judge what they can",
    ],
    codes: &[&CALIBRATION_ENDED],
    read,
};

static CALIBRATION: Row<String> = Row::words("calibration", "calibration of the instrument").principal();

struct TestRecord {
    test: String,
    by: String,
    date: String,
    values: Vec<Slot<Any>>,
    calibration: Vec<Calibration>,
    said: Slot<String>,
    to_come: bool,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let (day, date) = read_test_date(form, "date");
    let [test, instrument, _, by, _] = ["test", "instrument", "serial", "by", "place"]
        .map(|key| form.text(key).map_or_else(String::new, |(text, _)| text));
    let calibration = read_calibration(form, &instrument, date.as_deref());
    // A list or a mapping of nothing tells nothing.
    let bare = |value: Node| {
        value.items().is_some_and(<[_]>::is_empty) || value.entries().is_some_and(<[_]>::is_empty)
    };
    for key in ["state", "values"] {
        if form.take(key).is_some_and(bare) {
            form.missing(key);
        }
    }
    words_of(form, "state");
    if let Some((path, span)) = form.text("file") {
        form.file_hash(&path, span);
    }
    form.text("remark");
    form.regard(Regard::Measured(None));
    let written = named(form, "values");
    let values: Vec<Slot<Any>> =
        written.into_iter().map(|(name, value)| form.value((&name, &name), &value)).collect();
    values.iter().for_each(|value| refuse_guess(form, *value));
    let said = form.outcomes().procedure(&CALIBRATION, &[]);
    let calibration = calibration.into_iter().collect();
    Box::new(TestRecord {
        test,
        by,
        date: date.unwrap_or_default(),
        values,
        calibration,
        said,
        to_come: day == TestDay::ToCome,
    })
}

impl Block for TestRecord {
    fn evaluate(&self, _bench: &mut Bench<'_>) {}

    fn present(&self, page: &mut Page<'_>) {
        for calibration in &self.calibration {
            tell_calibration(calibration, page);
            let words = match (&calibration.until, calibration.held()) {
                (Some(until), true) => format!("held on the day of the test, until {until}"),
                (Some(until), false) => format!("had ended on {until}, before the test"),
                (None, _) => "never calibrated".to_owned(),
            };
            page.say(self.said, words);
        }
        if self.to_come {
            self.values.iter().for_each(|slot| page.unfit(*slot, TO_COME));
        }
        let shown = self.values.iter().filter_map(|slot| {
            let node = &page.nodes[slot.index()];
            Some(words!("{} {}", node.label(), Shown((page.show)(slot.index())?)))
        });
        let shown = Words::joined(shown, "; ");
        page.sentence(
            words!("Measured on {}", self.date),
            words!(" by {}: {} ({}).", self.by, shown, self.test),
        );
    }

    fn record(&self) -> Option<Record<'_>> {
        Some(Record { test: &self.test, to_come: self.to_come })
    }

    fn calibrations(&self) -> &[Calibration] {
        &self.calibration
    }
}

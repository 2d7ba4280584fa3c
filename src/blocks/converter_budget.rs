//! What hangs on the 12 V side, the converter that has to feed it, and how long the battery holds without it.

use crate::blocks::shared::high_voltage::caution_dc;
use crate::findings::codes;
use crate::model::{
    Bench, Block, Entry, Example, FieldDoc, Form, Kind, Limit, Page, Range, RequirementKind, ResultDoc, Slot,
    Status, Takes,
};
use crate::quantities::si::{ElectricCharge, ElectricCurrent, ElectricPotential, Power, Ratio, Time, ratio};
use crate::quantities::sort;

pub(super) static KIND: Kind = Kind {
    name: "converter-budget",
    summary: "what the 12 V loads draw, what converter they need, and how long the battery holds the essential ones",
    subsystem: "low voltage",
    fields: &[
        FieldDoc::new("bus_voltage", Takes::Quantity(&sort::VOLTAGE), "with the converter running: `13.8 V`")
            .range(Range::Positive),
        FieldDoc::new("rated_current", Takes::Quantity(&sort::CURRENT), "of the converter, continuous")
            .range(Range::Positive),
        FieldDoc::new("loads", Takes::List, "all that the bus feeds"),
        FieldDoc::new("loads.item", Takes::Text, "what it is"),
        FieldDoc::new("loads.current", Takes::Quantity(&sort::CURRENT), "at the bus voltage, or `power`")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new("loads.power", Takes::Quantity(&sort::POWER), "at the bus voltage, or `current`")
            .either()
            .range(Range::NotNegative),
        FieldDoc::new("loads.duty", Takes::Quantity(&sort::SHARE), "the share of the time that it is on")
            .optional()
            .range(Range::Share),
        FieldDoc::new(
            "loads.essential",
            Takes::Text,
            "`yes` where it has to go on after the converter has failed",
        )
        .optional(),
        FieldDoc::new(
            "loading_limit",
            Takes::Quantity(&sort::SHARE),
            "to what share of its rating the converter may be loaded",
        )
        .assumed("80 %")
        .range(Range::Share),
        FieldDoc::new("efficiency", Takes::Quantity(&sort::SHARE), "of the converter")
            .optional()
            .range(Range::Share),
        FieldDoc::new("pack", Takes::BlockName, "the pack that feeds the converter").optional(),
        FieldDoc::new("battery_capacity", Takes::Quantity(&sort::CHARGE), "of the 12 V battery")
            .optional()
            .range(Range::Positive),
        FieldDoc::new(
            "battery_usable_share",
            Takes::Quantity(&sort::SHARE),
            "how much of the capacity may be counted on",
        )
        .optional()
        .range(Range::Share),
    ],
    rows: &[],
    takes: &[],
    requires: &[],
    results: &[
        ResultDoc { name: "peak_current", about: "all loads at once" },
        ResultDoc { name: "average_current", about: "each load with its duty" },
        ResultDoc { name: "average_power", about: "at the bus voltage" },
        ResultDoc { name: "pack_side_power", about: "on average; with `efficiency`" },
        ResultDoc { name: "pack_side_current", about: "on average, at the pack's nominal voltage" },
        ResultDoc { name: "load_share", about: "all loads at once, of the converter's rating" },
        ResultDoc { name: "needed_rating", about: "of a converter loaded to its limit by all loads at once" },
        ResultDoc { name: "needed_power", about: "the same as a power, at the bus voltage" },
        ResultDoc { name: "reserve", about: "rated current − needed rating" },
        ResultDoc { name: "essential_current", about: "all essential loads at once" },
        ResultDoc { name: "hold_up_time", about: "that the battery feeds the essential loads" },
    ],
    example: Example {
        journal: "\
```yaml converter-budget aux
bus_voltage: 14 V
rated_current: 60 A
loads:
  - {item: lights, power: 140 W, essential: yes}
  - {item: pumps and fans, current: 21 A, duty: 50 %}
  - {item: wipers, current: 6 A, duty: 20 %, essential: yes}
  - {item: heater fan, current: 9 A}
battery_capacity: 40 Ah
battery_usable_share: 50 %
efficiency: 90 %
```
",
        expected: &[
            ("aux.peak_current", "46 A"),
            ("aux.average_current", "30.7 A"),
            ("aux.needed_rating", "57.5 A"),
            ("aux.needed_power", "805 W"),
            ("aux.reserve", "2.5 A"),
            ("aux.hold_up_time", "1.25 h"),
        ],
    },
    sources: &[
        "sums of currents; that a converter is loaded to 80 % of its rating is common practice, no source",
    ],
    inspector: &["peak_current", "rated_current", "reserve", "essential_current", "hold_up_time"],
    limits: &[
        "inrush of lamps and motors, and the drop in the wires to each load, are not calculated",
        "a battery in the cold or of some age holds less than its capacity",
    ],
    codes: &[],
    read,
};

struct ConverterBudget {
    bus_voltage: Slot<ElectricPotential>,
    rated_current: Slot<ElectricCurrent>,
    loads: Vec<Load>,
    loading_limit: Slot<Ratio>,
    pack: Option<Pack>,
    battery: Battery,
    peak_current: Slot<ElectricCurrent>,
    average_current: Slot<ElectricCurrent>,
    average_power: Slot<Power>,
    pack_side_power: Option<(Slot<Ratio>, Slot<Power>)>,
    load_share: Slot<Ratio>,
    needed_rating: Slot<ElectricCurrent>,
    needed_power: Slot<Power>,
    reserve: Slot<ElectricCurrent>,
    essential_current: Slot<ElectricCurrent>,
}

struct Load {
    draws: Draws,
    duty: Option<Slot<Ratio>>,
    essential: bool,
}

#[derive(Clone, Copy)]
enum Draws {
    Current(Slot<ElectricCurrent>),
    Power(Slot<Power>),
}

struct Pack {
    full_voltage: Slot<ElectricPotential>,
    nominal_voltage: Slot<ElectricPotential>,
    current: Option<Slot<ElectricCurrent>>,
}

struct Battery {
    capacity: Option<Slot<ElectricCharge>>,
    usable_share: Option<Slot<Ratio>>,
    hold_up_time: Option<Slot<Time>>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let bus_voltage = form.required("bus_voltage");
    let rated_current = form.required("rated_current");
    if !form.has("loads") {
        form.missing("loads");
    }
    let entries = form.list("loads", &["item"], |form, _| read_load(form));
    let loading_limit = form.assumed("loading_limit");
    let efficiency = form.optional("efficiency");
    let pack = if form.has("pack") { form.block_name("pack") } else { None };
    let mut pack = pack.map(|name| Pack {
        full_voltage: form.of_block(Some(&name), "full_voltage"),
        nominal_voltage: form.of_block(Some(&name), "nominal_voltage"),
        current: None,
    });
    let capacity = form.optional("battery_capacity");
    let usable_share = form.optional("battery_usable_share");

    let peak_current = form.step("peak_current", "A", &total(form, &entries, |_| true, Duty::Full));
    let average_current = form.step("average_current", "A", &total(form, &entries, |_| true, Duty::Own));
    let average_power = form.step("average_power", "W", "average_current * bus_voltage");
    let pack_side_power = efficiency
        .map(|efficiency| (efficiency, form.step("pack_side_power", "W", "average_power / efficiency")));
    if let (Some(pack), Some(_)) = (&mut pack, pack_side_power) {
        pack.current = Some(form.step("pack_side_current", "A", "pack_side_power / pack.nominal_voltage"));
    }
    let load_share = form.step("load_share", "%", "peak_current / rated_current");
    let needed_rating = form.step("needed_rating", "A", "peak_current / loading_limit");
    let needed_power = form.step("needed_power", "W", "needed_rating * bus_voltage");
    let reserve = form.step("reserve", "A", "rated_current - needed_rating");
    let essential = |load: &Load| load.essential;
    let essential_current =
        form.step("essential_current", "A", &total(form, &entries, essential, Duty::Full));
    let feeds = entries.iter().any(|entry| entry.read.essential);
    let hold_up_time = match (capacity, usable_share) {
        (Some(_), Some(_)) if feeds => {
            let formula = "battery_capacity * battery_usable_share / essential_current";
            Some(form.step("hold_up_time", "h", formula))
        }
        _ => None,
    };
    require(form);
    Box::new(ConverterBudget {
        bus_voltage,
        rated_current,
        loads: entries.into_iter().map(|entry| entry.read).collect(),
        loading_limit,
        pack,
        battery: Battery { capacity, usable_share, hold_up_time },
        peak_current,
        average_current,
        average_power,
        pack_side_power,
        load_share,
        needed_rating,
        needed_power,
        reserve,
        essential_current,
    })
}

fn read_load(form: &mut Form<'_, '_>) -> Load {
    form.text("item");
    let draws = match (form.has("current"), form.has("power")) {
        (true, false) => Draws::Current(form.required("current")),
        (false, true) => Draws::Power(form.required("power")),
        (true, true) => {
            let message = "a load with both `current` and `power`";
            form.report(&codes::BAD_VALUE, form.place(), message, "keep one of them");
            form.optional::<Power>("power");
            Draws::Current(form.required("current"))
        }
        (false, false) => {
            let message = "a load with neither `current` nor `power`";
            form.report(
                &codes::MISSING_FIELD,
                form.place(),
                message,
                "type `current: …` or `power: …` in it",
            );
            // Unknown, and with it every sum that it belongs to.
            Draws::Current(form.unknown_step("current"))
        }
    };
    let duty = form.optional("duty");
    let essential = form.choice("essential", &["yes", "no"]) == Some("yes");
    Load { draws, duty, essential }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Duty {
    /// As if it were always on.
    Full,
    Own,
}

/// The sum of the loads' currents as a formula.
fn total(form: &Form<'_, '_>, entries: &[Entry<Load>], counts: impl Fn(&Load) -> bool, duty: Duty) -> String {
    let terms: Vec<String> = entries
        .iter()
        .filter(|entry| counts(&entry.read))
        .map(|entry| {
            let current = match entry.read.draws {
                Draws::Current(slot) => form.name_of(slot),
                Draws::Power(slot) => format!("{} / bus_voltage", form.name_of(slot)),
            };
            match entry.read.duty {
                Some(share) if duty == Duty::Own => format!("{current} * {}", form.name_of(share)),
                _ => current,
            }
        })
        .collect();
    if terms.is_empty() { "0 A".to_owned() } else { terms.join(" + ") }
}

fn require(form: &mut Form<'_, '_>) {
    let limit = |name| Limit {
        name,
        kind: RequirementKind::Safety,
        actual: name,
        low: None,
        high: None,
        source: "the converter's rating",
        status: Status::Stated,
        span: None,
    };
    form.require(Limit { high: Some("rated_current"), ..limit("peak_current") });
    let source = "the loading that the converter is kept under";
    form.require(Limit { high: Some("loading_limit"), source, ..limit("load_share") });
}

impl ConverterBudget {
    fn current(&self, load: &Load, bench: &Bench<'_>) -> ElectricCurrent {
        match load.draws {
            Draws::Current(slot) => bench.get(slot),
            Draws::Power(slot) => bench.get(slot) / bench.get(self.bus_voltage),
        }
    }
}

impl Block for ConverterBudget {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let mut peak = ElectricCurrent::default();
        let mut average = ElectricCurrent::default();
        let mut essential = ElectricCurrent::default();
        for load in &self.loads {
            let current = self.current(load, bench);
            peak += current;
            average += current * load.duty.map_or(ratio(1.0), |duty| bench.get(duty));
            if load.essential {
                essential += current;
            }
        }
        let (bus, rated) = (bench.get(self.bus_voltage), bench.get(self.rated_current));
        bench.set(self.peak_current, peak);
        bench.set(self.average_current, average);
        bench.set(self.essential_current, essential);
        let power = average * bus;
        bench.set(self.average_power, power);
        if let Some((efficiency, slot)) = self.pack_side_power {
            let power = power / bench.get(efficiency);
            bench.set(slot, power);
            if let Some(Pack { nominal_voltage, current: Some(current), .. }) = self.pack {
                bench.set(current, power / bench.get(nominal_voltage));
            }
        }
        let needed = peak / bench.get(self.loading_limit);
        bench.set(self.load_share, peak / rated);
        bench.set(self.needed_rating, needed);
        bench.set(self.needed_power, needed * bus);
        bench.set(self.reserve, rated - needed);
        if let Battery { capacity: Some(capacity), usable_share: Some(share), hold_up_time: Some(time) } =
            self.battery
        {
            bench.set(time, bench.get(capacity) * bench.get(share) / essential);
        }
    }

    fn present(&self, page: &mut Page<'_>) {
        let rest = match self.battery.hold_up_time {
            Some(time) => format!("; without it the battery holds for {}.", page.shown(time)),
            None => ".".to_owned(),
        };
        page.sentence(
            format!("{} at once", page.shown(self.peak_current)),
            format!(
                ", {} on average, from a converter for {}{rest}",
                page.shown(self.average_current),
                page.shown(self.rated_current)
            ),
        );
        page.headline(self.peak_current);
        page.headline(self.needed_rating);
        if let Some(pack) = &self.pack {
            caution_dc(page, pack.full_voltage);
        }
        if !self.loads.iter().any(|load| load.essential) {
            page.note("No load is marked `essential: yes`: lights, wipers, brakes and what keeps the contactors closed usually are.");
        }
        if self.battery.capacity.is_some() && self.battery.usable_share.is_none() {
            page.note("The time that the battery holds was not worked: give `battery_usable_share`, for an old or cold battery a small one.");
        }
    }
}

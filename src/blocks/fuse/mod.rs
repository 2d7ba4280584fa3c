//! Whether a fuse protects what lies behind it: against overload, and at the highest and lowest short circuit.

mod clearing;
mod fields;
mod results;
mod source;
mod time_current;

use self::clearing::{Clearing, read_clearing};
use self::fields::FIELDS;
use self::results::{
    BREAKING, CABLE_AMPACITY, CABLE_I2T, CABLE_PEAK_RATING, CABLE_RESISTANCE, CARRIED, CARRIED_OF_PACK,
    CONTINUOUS, IN_TIME, LOAD_SHARE, OWN_INTERRUPTING, OWN_RATING, OWN_VOLTAGE, PART_RATING, PEAK_RATING,
    PEAK_TIME, RATING_NEEDED, REQUIREMENTS, RESULTS, TAKES, WEAKEST_PART, WEAKEST_RATING,
};
use self::source::{Source, read_source};
use crate::blocks::shared::high_voltage::caution_dc;
use crate::findings::{Code, Severity};
use crate::model::{Bench, Block, Entry, Example, Form, Kind, Page, Slot};
use crate::quantities::si::{
    CurrentSquaredTime, ElectricCurrent, ElectricalResistance, Measure, Ratio, Time,
};
use crate::rules::limit;
use crate::words::words;

static LOAD_UNDER_PACK: Code = Code {
    name: "load-under-pack",
    severity: Severity::Warning,
    about: "a fuse's load is less than the current that its pack gives continuously",
};

pub(crate) static KIND: Kind = Kind {
    name: "fuse",
    summary: "whether a fuse clears what the pack can drive, carries the load, and protects the weakest part",
    subsystem: "high voltage",
    fields: FIELDS,
    rows: RESULTS,
    takes: TAKES,
    requires: REQUIREMENTS,
    example: Example {
        journal: "\
```yaml part cell
role: cell
nominal_voltage: 3.65 V
full_voltage: 4.2 V
empty_voltage: 2.8 V
capacity: 60 Ah
resistance: 0.8 mΩ
resistance_1khz: 0.5 mΩ
mass: 0.9 kg
continuous_discharge: 120 A
peak_discharge: 300 A
```

```yaml pack-layout pack
cell: cell
series: 96
parallel: 1
housing_share: 25 %
```

```yaml contactors main
pack: pack
making: 300 A (datasheet)
breaking: 1 100 A (datasheet)
continuous: 200 A (datasheet)
voltage_rating: 450 V (datasheet)
poles: 2
weld_check: voltage behind each contact, before closing
```

```yaml fuse main_fuse
current_rating: 200 A (datasheet)
voltage_rating: 500 V (datasheet)
interrupting_rating: 20 kA (datasheet)
load_current: 150 A
protects:
  - {name: main cable, rating: 250 A (datasheet), peak_rating: 1 000 A (datasheet), peak_time: 10 s (datasheet)}
  - {name: contactors, rating: 200 A (datasheet), peak_rating: 1 500 A (datasheet), peak_time: 2 s (datasheet)}
pack: pack
contactors: main
time_current: [[400 A, 1 000 s], [600 A, 60 s], [1 000 A, 5 s], [2 000 A, 0.25 s], [5 000 A, 12 ms]]
clearing_time: 5 s
load_profile: [[200 A, 60 s], [250 A, 5 s]]
```
",
        expected: &[
            ("main_fuse.short_circuit_current", "8400 A"),
            ("main_fuse.lowest_short_circuit_current", "1166.6666667 A"),
            ("main_fuse.load_share", "75 %"),
            ("main_fuse.weakest_rating", "200 A"),
            ("main_fuse.clears_at", "1000 A"),
            ("main_fuse.clearing_time_main_cable", "5 s"),
            ("main_fuse.profile_share", "33.333333333 %"),
        ],
    },
    sources: &[
        "a current that the contactors break and the fuse is too slow for, and the reverse, must meet: a fuse of partial range needs another device below its least current; common practice, no source",
        "DC rating above the highest voltage, interrupting rating above the prospective short circuit, rating at most that of the weakest part: Formula Student rules, EV3.2 (second-hand)",
    ],
    limits: &[
        "the heat of a short circuit in a conductor is reckoned as if none were given away, from the conductor's temperature in use; links and terminals are not calculated",
        "the fuse's time-current curve is read between its points, not calculated; its spread is what its sheet says",
        "links, contactors and arcs, which lower a short circuit, are left out of the highest one",
        "without `loop_inductance` the time constant of the circuit, up to which a sheet gives its DC ratings, is not judged; what it is of cables and machine is not calculated",
    ],
    codes: &[&LOAD_UNDER_PACK],
    read,
};

struct Fuse {
    current_rating: Slot<ElectricCurrent>,
    load_current: Slot<ElectricCurrent>,
    interrupting_rating: Slot<ElectricCurrent>,
    ambient_factor: Slot<Ratio>,
    protects: Vec<Entry<Part>>,
    /// The contactors in the circuit, by name, and what they carry.
    contactors: Option<(String, Slot<ElectricCurrent>)>,
    source: Source,
    clearing: Clearing,
    results: Results,
    software_limit: Option<Slot<ElectricCurrent>>,
}

/// What lies in the circuit.
struct Part {
    /// What is typed, and what the named block says: the lower counts.
    ratings: Vec<Slot<ElectricCurrent>>,
    /// Of a cable.
    resistance: Option<Slot<ElectricalResistance>>,
    peak_rating: Slot<ElectricCurrent>,
    /// For how long it bears that is typed here; what a named block states is judged there.
    states_time: bool,
    bears_heat: BearsHeat,
}

/// How it is known what heat of a short circuit a part bears.
#[derive(Clone, Copy, PartialEq, Eq)]
enum BearsHeat {
    Unknown,
    Stated,
    /// By its insulation's limit, and the rules' constant of copper.
    Worked,
}

struct Results {
    carried: Slot<ElectricCurrent>,
    load_share: Slot<Ratio>,
    rating_needed: Slot<ElectricCurrent>,
    weakest_part: Slot<String>,
    weakest_rating: Slot<ElectricCurrent>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let own = form.lookup().block_name("fuse");
    let current_rating = form.own_or_parts(&OWN_RATING, own.as_ref());
    form.own_or_parts(&OWN_VOLTAGE, own.as_ref());
    let interrupting_rating = form.own_or_parts(&OWN_INTERRUPTING, own.as_ref());
    let load_current = form.required("load_current");
    let protects = form.list("protects", &["name", "cable"], |form, _| read_part(form));
    let pack = form.lookup().block_name("pack");
    let ambient_factor = form.assumed("ambient_factor");
    let contactors = form.lookup().block_name("contactors").and_then(|contactors| {
        form.lookup().taken(&BREAKING, Some(&contactors));
        let carry = form.lookup().if_there(&CONTINUOUS, Some(&contactors))?;
        Some((contactors.name, carry))
    });
    let software_limit = form.optional("software_limit");
    let cables = protects.iter().filter_map(|part| part.read.resistance).collect();
    let source = read_source(form, (pack.as_ref(), cables));
    let clearing = read_clearing(form, own.as_ref(), (&protects, &source));
    let mut out = form.outcomes();
    let mut ratings: Vec<Slot<ElectricCurrent>> =
        protects.iter().flat_map(|part| part.read.ratings.clone()).collect();
    ratings.extend(contactors.iter().map(|(_, carry)| *carry));
    let each = out.names_of(ratings.iter().copied());
    let uses: Vec<usize> = ratings.iter().map(|slot| slot.index()).collect();
    let results = Results {
        carried: out.result(if source.current.is_some() { &CARRIED_OF_PACK } else { &CARRIED }),
        load_share: out.result(&LOAD_SHARE),
        rating_needed: out.result(&RATING_NEEDED),
        weakest_part: out.procedure(&WEAKEST_PART, &uses),
        weakest_rating: out.result(WEAKEST_RATING.with("EACH", each)),
    };
    for row in REQUIREMENTS.iter().filter(|row| row.family.is_none() && row.name != IN_TIME.name) {
        out.require(*row);
    }
    Box::new(Fuse {
        current_rating,
        load_current,
        interrupting_rating,
        ambient_factor,
        protects,
        contactors,
        source,
        clearing,
        results,
        software_limit,
    })
}

fn read_part(form: &mut Form<'_, '_>) -> Part {
    let block = form.lookup().block_name("cable");
    form.text("name");
    let states_time = form.has("peak_time");
    let Some(block) = block else {
        form.if_given::<Time>("peak_time");
        let stated = form.optional::<CurrentSquaredTime>("i2t_rating").is_some();
        let bears_heat = if stated { BearsHeat::Stated } else { BearsHeat::Unknown };
        return Part {
            bears_heat,
            ratings: vec![form.required("rating")],
            resistance: None,
            peak_rating: form.if_given("peak_rating"),
            states_time,
        };
    };
    let is_cable = form.lookup().block(&block.name, "").is_some_and(|block| block.kind == "hv-cable");
    let rating = if is_cable { &CABLE_AMPACITY } else { &PART_RATING };
    let peak = if is_cable { &CABLE_PEAK_RATING } else { &PEAK_RATING };
    let own = form.optional("rating");
    let (peak_rating, peak_time) = (form.optional("peak_rating"), form.optional::<Time>("peak_time"));
    let mut says = |key| is_cable && form.lookup().has(Some(&block), key);
    let bears_heat = match (says("short_circuit_rating"), says("short_circuit_temperature_limit")) {
        _ if form.has("i2t_rating") => BearsHeat::Stated,
        (true, _) => BearsHeat::Stated,
        (false, true) => BearsHeat::Worked,
        (false, false) => BearsHeat::Unknown,
    };
    let own_heat = form.optional::<CurrentSquaredTime>("i2t_rating").is_some();
    let mut lookup = form.lookup();
    let its = match own {
        Some(_) => lookup.if_there(rating, Some(&block)),
        None => Some(lookup.taken(rating, Some(&block))),
    };
    if peak_time.is_none() {
        lookup.if_given(&PEAK_TIME, Some(&block));
    }
    if !own_heat && bears_heat != BearsHeat::Unknown {
        lookup.taken(&CABLE_I2T, Some(&block));
    }
    Part {
        bears_heat,
        ratings: own.into_iter().chain(its).collect(),
        resistance: is_cable.then(|| lookup.taken(&CABLE_RESISTANCE, Some(&block))),
        peak_rating: peak_rating.unwrap_or_else(|| lookup.if_given(peak, Some(&block))),
        states_time,
    }
}

impl Part {
    /// In amperes; `f64::min` would pass over what is not known.
    fn rating(&self, of: impl Fn(Slot<ElectricCurrent>) -> f64) -> f64 {
        self.ratings.iter().map(|slot| of(*slot)).fold(f64::INFINITY, least)
    }
}

fn least(one: f64, other: f64) -> f64 {
    if other >= one { one } else { other }
}

impl Block for Fuse {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let results = &self.results;
        self.source.evaluate(bench);
        let load = bench.get(self.load_current);
        let gives = self.source.current.map_or(load, |gives| bench.get(gives));
        let carried = if load >= gives { load } else { gives };
        bench.set(results.carried, carried);
        let needed = carried / bench.get(self.ambient_factor);
        bench.set(results.rating_needed, needed);
        bench.set(results.load_share, needed / bench.get(self.current_rating));
        let ratings = self.protects.iter().map(|part| part.read.rating(|slot| bench.get(slot).si()));
        let carry = self.contactors.iter().map(|(_, carry)| bench.get(*carry).si());
        let weakest = ratings.chain(carry).fold(f64::INFINITY, least);
        bench.set(results.weakest_rating, ElectricCurrent::from_si(weakest));
        self.clearing.evaluate(bench);
    }

    fn present(&self, page: &mut Page<'_>) {
        let results = &self.results;
        page.sentence(
            words!("The fuse carries {} of what it may", page.value(results.load_share)),
            words!(
                "; it must clear up to {} and is rated for {}.",
                page.value(self.source.highest),
                page.value(self.interrupting_rating)
            ),
        );
        let known = |slot: Slot<ElectricCurrent>| page.get(slot).map_or(f64::NAN, Measure::si);
        let parts = self.protects.iter().map(|part| (part.title.as_str(), part.read.rating(known)));
        let contactors = self.contactors.iter().map(|(name, carry)| (name.as_str(), known(*carry)));
        let ratings = parts.chain(contactors).filter(|(_, rating)| rating.is_finite());
        let weakest = ratings.min_by(|a, b| a.1.total_cmp(&b.1)).map(|(title, _)| title.to_owned());
        if let Some(title) = weakest {
            page.say(results.weakest_part, title);
        }
        self.source.present(page);
        self.clearing.present(page);
        self.little_load(page);
        for part in self.protects.iter().filter(|part| part.read.bears_heat == BearsHeat::Worked) {
            let constant = &limit("copper_heat_constant").source;
            let reason =
                words!("what the conductor bears goes by {}, {}", constant.words(), constant.standing.word());
            page.hold_close(&format!("i2t_{}", part.slug), reason);
        }
        if page.is_assumed(self.ambient_factor) {
            page.hold_close("load_current", "`ambient_factor` is assumed");
        }
        if let Some(limit) = self.software_limit {
            page.note(words!(
                "The software limit of {} is not accepted as protection: only the fuse is, with what it protects.",
                page.value(limit)
            ));
        }
        caution_dc(page, self.source.full_voltage);
    }
}

impl Fuse {
    fn little_load(&self, page: &mut Page<'_>) {
        let Some(pack) = self.source.current else { return };
        let (Some(load), Some(gives)) = (page.get(self.load_current), page.get(pack)) else { return };
        if gives.si() > load.si() * (1.0 + 1e-9) {
            let message = words!(
                "a load of {}, where the pack gives {} continuously: the fuse is held to that",
                page.value(self.load_current),
                page.value(pack)
            );
            let help =
                "type the largest current that flows for long: `load_current: from pack.continuous_current`";
            page.find(&LOAD_UNDER_PACK, self.load_current.index(), message, help);
        }
    }
}

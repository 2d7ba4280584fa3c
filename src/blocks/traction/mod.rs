//! Will it climb, how fast is it, how soon: what motor, gearing, tyres and battery make of a road load.

mod derating;
mod doubts;
mod fading;
mod faults;
mod fields;
mod gear_names;
mod gears;
mod given;
mod grip;
mod hill;
mod hill_rows;
mod motor;
mod picture;
mod present;
mod results;
mod rows;
mod sprints;
mod stage;
mod stages;
mod takes;
mod travel;

use self::fading::Fading;
use self::fields::FIELDS;
use self::gear_names::GearNames;
use self::gears::{Changing, Drives, Plan};
use self::given::{Charge, Given};
use self::grip::{Grip, Held, set};
use self::hill::{Around, Hill, Written};
use self::results::{AtSpeed, Battery, Pull, SprintOf, Start, Top};
use self::rows::{REQUIRES, ROWS, WEIGHT};
use self::sprints::read_sprints;
use self::stages::Stages;
use self::takes::TAKES;
use self::travel::{Mesh, Travel, Why};
use crate::blocks::shared::gravity::GRAVITY;
use crate::blocks::shared::lists::quantities;
use crate::findings::{Code, Severity};
use crate::model::{Bench, Block, BlockName, Entry, Example, Form, Kind, Leaf, Page, Slot};
use crate::quantities::si::{Acceleration, Force, Length, Measure, Time, Velocity};

pub(super) static KIND: Kind = Kind {
    name: "traction",
    summary: "what it climbs, how fast it really gets, and how soon",
    subsystem: "drive",
    fields: FIELDS,
    rows: ROWS,
    takes: TAKES,
    requires: REQUIRES,
    example: Example {
        journal: "\
```yaml part motor
role: drive motor
peak_torque: 200 N m
peak_power: 80 kW
max_speed: 12 000 rpm
efficiency: 92 %
```

```yaml road-load road
mass: 1 700 kg
drag_coefficient: 0.4
frontal_area: 2 m^2
rolling_coefficient: 0.013
rotating_share: 5 %
air_density: 1.2 kg/m^3
```

```yaml ratio-chain drive
wanted_speed: 100 km/h
tyre: 0.62 m
stages:
  - {name: gear, ratio: 8.06}
motor: motor
```

```yaml traction go
road: road
chain: drive
motor: motor
sprints: [0 mi/h to 60 mi/h, 0 km/h to 100 km/h]
grade_speeds: [50 km/h]
```
",
        // Computed apart from the program: the integrals of m dv/(F − R) by adaptive quadrature, the rest in closed form.
        expected: &[
            ("go.launch_force", "5200 N"),
            ("go.sprint_0_60_mi_h", "11.70690476 s"),
            ("go.sprint_0_100_km_h", "12.43085656 s"),
            ("go.sprint_distance_0_100_km_h", "196.5142617 m"),
            ("go.peak_pack_power", "86.95652174 kW"),
        ],
    },
    sources: &[
        "steady climbing F = m g sin θ + f0 cos θ + drag, solved exactly: θ = asin(X/√((m g)² + f0²)) − atan(f0/(m g)); closed form",
        "what a driven axle holds, with load transfer: statics of the vehicle on its two axles, rolling resistance at the ground and drag at the height of the centre of gravity; closed form",
        "time and distance at full drive: dt = m dv/(F − R), ds = v dt, worked by a Gauss-Legendre rule on a fixed mesh",
        "torque at a lower voltage: the speed axis of the motor's curve shrinks as the voltage does (back-EMF is in proportion to speed); common practice, no source",
    ],
    limits: &[
        "the driver's and the inverter's delay, wheel spin and the slip of tyres are not calculated: a real sprint takes longer",
        "a motor or inverter that turns its power back when it is hot is not calculated but by the motor's `torque_over_time`, from rest and cool: on the hill, in sprints and in what it holds for long; without that the time on a hill is rough, as it knows only the two ratings",
        "the sag is that of a constant resistance from the pack's nominal voltage, a short-pulse model; low charge and cold are looked at where the pack has a `worst`, by top speed and hill alone",
        "where a sagged curve ends before the motor's last speed, its last power is taken to go on",
    ],
    codes: &[
        &CURVE_ABOVE_RATING,
        &NO_CURVE_VOLTAGE,
        &MASS_APART,
        &CANNOT_START,
        &SPEED_NOT_REACHED,
        &HILL_NOT_CLIMBED,
        &PACK_COLLAPSES,
        &PACK_TOO_WEAK,
        &HIGH_ADHESION,
        &STEEP_HILL,
    ],
    read,
};

static CANNOT_START: Code = Code {
    name: "cannot-start",
    severity: Severity::Error,
    about: "at standstill the drive gives no more than the road takes",
};
static SPEED_NOT_REACHED: Code = Code {
    name: "speed-not-reached",
    severity: Severity::Warning,
    about: "a sprint, or the speed of a grade, goes beyond what the drive reaches: it has no result",
};
static HILL_NOT_CLIMBED: Code = Code {
    name: "hill-not-climbed",
    severity: Severity::Warning,
    about: "the hill asks more than the motor gives or the tyres hold",
};
static PACK_COLLAPSES: Code = Code {
    name: "pack-collapses",
    severity: Severity::Error,
    about: "the drive asks so much that the pack's voltage collapses",
};
static PACK_TOO_WEAK: Code = Code {
    name: "pack-too-weak",
    severity: Severity::Warning,
    about: "the drive asks more than the pack's cells are rated for",
};
static CURVE_ABOVE_RATING: Code = Code {
    name: "curve-above-rating",
    severity: Severity::Warning,
    about: "the torque curve gives more than the peak torque or power that stands beside it",
};
static NO_CURVE_VOLTAGE: Code = Code {
    name: "no-curve-voltage",
    severity: Severity::Warning,
    about: "a pack is named, and the motor does not say for which voltage its ratings hold",
};
static MASS_APART: Code = Code {
    name: "mass-apart",
    severity: Severity::Warning,
    about: "the road's mass is less than that of the ledger's converted vehicle",
};
static STEEP_HILL: Code = Code {
    name: "steep-hill",
    severity: Severity::Warning,
    about: "a hill steeper than any road: per cent may be meant",
};
static HIGH_ADHESION: Code = Code {
    name: "high-adhesion",
    severity: Severity::Warning,
    about: "an adhesion that road tyres don't have",
};

/// Above this a hill is no road: the steepest streets are about a third.
const STEEPEST: f64 = 1.0;

/// Above this a road tyre is not believed.
const MOST_ADHESION: f64 = 1.2;

struct Traction {
    given: Given,
    change_time: Option<Slot<Time>>,
    grip: Grip,
    weight: Slot<Force>,
    held: Held,
    start: Start,
    grades: Vec<AtSpeed>,
    battery: Battery,
    top: Top,
    sprints: Vec<SprintOf>,
    hill: Option<Hill>,
    stages: Stages,
    gear_names: Option<GearNames>,
}

fn read(form: &mut Form<'_, '_>) -> Box<dyn Block> {
    let given = Given::read(form);
    let change_time = read_change_time(form, &given);
    let ledger: Option<BlockName> = form.lookup().block_name("ledger");
    let ledger = ledger.as_ref();
    let grip = Grip::read(form, ledger);
    let sprints = read_sprints(form);
    let grade_speeds: Vec<Entry<Slot<Velocity>>> = quantities(form, "grade_speeds");
    let hill = Written::read(form, ledger);

    let (worst, derates) = (given.has_worst(), given.motor.derating.is_some());
    let starts_on_hill = hill.as_ref().is_some_and(|hill| form.node(hill.speed).si() == Some(0.0));
    let mut out = form.outcomes();
    let weight = out.result(&WEIGHT);
    let held = grip.declare(&mut out, given.road.mass);
    let start = Start::declare(&mut out, &given);
    let grades = grade_speeds.iter().map(|entry| AtSpeed::declare(&mut out, &given, entry)).collect();
    let mut uses = given.uses();
    let battery = Battery::declare(&mut out, &given);
    uses.extend(given.road.uses());
    uses.push(held.force.index());
    let top = Top::declare(&mut out, &given, &uses);
    uses.push(given.road.effective_mass.index());
    uses.extend(given.motor.rotor_inertia.map(Slot::index));
    uses.extend(change_time.map(Slot::index));
    uses.extend(given.motor.derating.map(Slot::index));
    let sprints =
        sprints.into_iter().map(|entry| SprintOf::declare(&mut out, (&given, &uses), entry)).collect();
    let hill = hill.map(|hill| Hill::declare(&mut out, hill, (&given, &grip)));
    let stages = Stages::declare(&mut out, &given, hill.as_ref());
    let gear_names = GearNames::declare(&mut out, &given, hill.as_ref());
    // One or the other holds the hill's torque, and its time.
    let passed_over = [
        if worst { &hill_rows::TORQUE_IS_THERE } else { &hill_rows::TORQUE_IS_THERE_AT_WORST },
        if derates { &hill_rows::LASTS } else { &derating::SUSTAINS },
    ];
    for row in REQUIRES.iter().filter(|row| row.family.is_none()) {
        if !passed_over.iter().any(|other| std::ptr::eq(*row, *other))
            && (starts_on_hill || !std::ptr::eq(*row, &hill_rows::STALLS))
        {
            out.require(*row);
        }
    }
    Box::new(Traction {
        given,
        change_time,
        grip,
        weight,
        held,
        start,
        grades,
        battery,
        top,
        sprints,
        hill,
        stages,
        gear_names,
    })
}

/// None where the chain has one gear and nobody gave it.
fn read_change_time(form: &mut Form<'_, '_>, given: &Given) -> Option<Slot<Time>> {
    form.optional("change_time").or_else(|| {
        given.chain.is_geared().then(|| form.put("change_time", form.place, Leaf::assumed("0.8 s")))
    })
}

impl Block for Traction {
    fn evaluate(&self, bench: &mut Bench<'_>) {
        let road = &self.given.road;
        let weight = bench.get(road.mass) * Acceleration::from_si(GRAVITY);
        bench.set(self.weight, weight);
        let rolling = bench.get(road.f0);
        let adhesion = self.grip.evaluate(bench, &self.held, road);
        let drives = Drives::new(bench, &self.given, (adhesion, Charge::Nominal));
        let worst =
            self.given.has_worst().then(|| Drives::new(bench, &self.given, (adhesion, Charge::Worst)));
        let worst = worst.as_ref().unwrap_or(&drives);
        let pull = Pull { weight, rolling, adhesion, drag: Force::from_si(0.0) };
        self.start.evaluate(bench, &self.given, &pull);
        for at in &self.grades {
            at.evaluate(bench, &self.given, (&pull, &drives));
        }
        self.battery.evaluate(bench, &self.given, (drives.starting(), worst.starting()));
        bench.set(self.top.speed, Velocity::from_si(reached(drives.top())));
        if let Some(slot) = self.top.worst {
            set(bench, slot, Some(Velocity::from_si(reached(worst.top()))));
        }
        if let Some(slot) = self.top.continuous {
            set(bench, slot, Some(Velocity::from_si(reached(drives.continuous_top()))));
        }
        for sprint in &self.sprints {
            let found = self.travel_of(bench, sprint, &drives, Mesh::Full);
            set(bench, sprint.time, Some(Time::from_si(found.time)));
            set(bench, sprint.distance, Some(Length::from_si(found.distance)));
        }
        if let Some(hill) = &self.hill {
            let around = Around { given: &self.given, grip: &self.grip, drives: &drives, worst };
            let front_share = bench.get(self.held.front_share);
            hill.evaluate(bench, &around, front_share);
        }
        self.stages.evaluate(bench, &self.given, (&drives, self.hill.as_ref()));
    }

    fn present(&self, page: &mut Page<'_>) {
        self.tell(page);
    }
}

/// NaN where it does not even start.
fn reached(plan: Option<Plan>) -> f64 {
    plan.filter(|plan| plan.stop.why != Why::NoStart).map_or(f64::NAN, |plan| plan.stop.speed)
}

impl Traction {
    /// NaN for a sprint that is not reached.
    fn travel_of(&self, bench: &Bench<'_>, sprint: &SprintOf, drives: &Drives, mesh: Mesh) -> Travel {
        let range = (bench.get(sprint.from).si(), bench.get(sprint.to).si());
        drives.travel(range, &self.changing(bench), mesh)
    }

    fn changing(&self, bench: &Bench<'_>) -> Changing {
        Changing {
            mass: bench.get(self.given.road.effective_mass).si(),
            change_time: self.change_time.map_or(0.0, |slot| bench.get(slot).si()),
            fading: Fading::read(bench, &self.given.motor),
        }
    }
}

//! What `road-load` takes from a fit and gives, a row each.

use crate::model::{Family, Row, Taken};
use crate::quantities::si::{Angle, Force, ForcePerSpeed, ForcePerSpeedSquared, Mass, Power};

/// What the coefficients are taken from where they stand in another block.
pub(super) static TAKEN_F0: Taken<Force> = Taken::new("coefficients", "f0");
pub(super) static TAKEN_F1: Taken<ForcePerSpeed> = Taken::new("coefficients", "f1");
pub(super) static TAKEN_F2: Taken<ForcePerSpeedSquared> = Taken::new("coefficients", "f2");
pub(super) static TAKEN_MASS: Taken<Mass> =
    Taken::new("coefficients", "mass").about("of the vehicle as it was fitted, if it is there");

static SPEEDS: Family = Family { name: "speeds", label: "Speed", case: "SPEED" };

pub(super) static SLOPE: Row<Angle> = Row::formula("slope", "angle of the grade", "deg", "atan(grade)");
pub(super) static F0: Row<Force> = Row::formula(
    "f0",
    "resistance that does not change with speed",
    "N",
    "mass * 9.80665 m/s^2 * rolling_coefficient",
)
.about("on the level")
.principal();
pub(super) static GIVEN_F0: Row<Force> = F0.by("coefficients.f0");
pub(super) static SCALED_F0: Row<Force> = F0.by("coefficients.f0 * mass / coefficients.mass");
pub(super) static F1: Row<ForcePerSpeed> =
    Row::formula("f1", "resistance that grows with speed", "N/(km/h)", "0 [N/(km/h)]").principal();
pub(super) static GIVEN_F1: Row<ForcePerSpeed> = F1.by("coefficients.f1");
pub(super) static F2: Row<ForcePerSpeedSquared> = Row::formula(
    "f2",
    "resistance that grows with the square of the speed",
    "N/(km/h)^2",
    "air_density * drag_coefficient * frontal_area / 2",
)
.about("against the air")
.principal();
pub(super) static GIVEN_F2: Row<ForcePerSpeedSquared> = F2.by("coefficients.f2");
pub(super) static EFFECTIVE_MASS: Row<Mass> =
    Row::formula("effective_mass", "mass that is sped up", "kg", "mass * (1 + rotating_share)")
        .about("the mass, and what turning parts add to it")
        .principal();
pub(super) static ROLLING_AT: Row<Force> =
    Row::formula("rolling_at_SPEED", "rolling", "N", "f0 * cos(slope) + f1 * speeds.SPEED").family(&SPEEDS);
pub(super) static DRAG_AT: Row<Force> = Row::formula(
    "drag_at_SPEED",
    "air",
    "N",
    "f2 * (speeds.SPEED + headwind) * abs(speeds.SPEED + headwind)",
)
.family(&SPEEDS);
pub(super) static FORCE_AT: Row<Force> =
    Row::formula("force_at_SPEED", "force", "N", "rolling_at_SPEED + drag_at_SPEED + mass * 9.80665 m/s^2 * sin(slope)")
        .about("at the wheels, held steady on the `grade` against the `headwind`; the speed as it is written: `force_at_90_km_h`")
        .family(&SPEEDS)
        .principal();
pub(super) static POWER_AT: Row<Power> =
    Row::formula("power_at_SPEED", "power", "kW", "force_at_SPEED * speeds.SPEED")
        .about("that force × the speed over ground")
        .family(&SPEEDS)
        .principal();

//! Reads the parts of an energy-use block: its drive's efficiency, its winter, a cycle, and the class that it belongs to.

use super::fields::MODEL_FACTOR;
use super::follow::{Chain, LimitFields};
use super::map::read_map;
use super::{Class, DriveEfficiency, Winter, Written, rows};
use crate::blocks::shared::trace::read_trace;
use crate::findings::{codes, suggest};
use crate::model::{BlockName, Form, Leaf, Origin, Role, Slot};
use crate::quantities::si::{Mass, Ratio};
use crate::quantities::slug;
use crate::rules::cycles;
use crate::words::{Words, words};

pub(super) fn read_efficiency(form: &mut Form<'_, '_>, chain: Option<Chain>) -> DriveEfficiency {
    match form.one_of(&["drive_efficiency", "efficiency_map"]) {
        Some("drive_efficiency") => DriveEfficiency::Constant(form.required("drive_efficiency")),
        None => DriveEfficiency::Unknown,
        Some(_) => {
            let map = read_map(form);
            if chain.is_none() && !form.has("chain") {
                form.missing("chain");
            }
            map.zip(chain).map_or(DriveEfficiency::Unknown, |(map, chain)| DriveEfficiency::Map(map, chain))
        }
    }
}

/// What consumption comes out times, and whether it promises more than the model does: less consumption, or a smaller error
/// than the model's own.
pub(super) fn read_model_factor(form: &mut Form<'_, '_>) -> (Slot<Ratio>, bool) {
    let models = Leaf::assumed(MODEL_FACTOR).scattered();
    let Some(own) = form.optional("model_factor") else {
        return (form.put("model_factor", form.place, models), false);
    };
    let error = |leaf: &Leaf| match (&leaf.literal.tolerance, &leaf.supposed) {
        (Some(tolerance), _) => tolerance.standard_uncertainty(),
        (None, Some(supposed)) => 0.5 * (supposed.high - supposed.low) / 3f64.sqrt(),
        (None, None) => 0.0,
    };
    let promises = match &form.node(own).role {
        Role::Field(Origin::Leaf(leaf)) => leaf.literal.quantity.si < 1.0 || error(leaf) < error(&models),
        _ => true,
    };
    (own, promises)
}

pub(super) fn read_winter(form: &mut Form<'_, '_>) -> Option<Winter> {
    let heater = form.optional("heater_power");
    let cold = form.group("cold", |form| {
        (form.required("energy_share"), form.required("load_increase"), form.optional("regeneration_share"))
    });
    if heater.is_none() && cold.is_none() {
        return None;
    }
    let mut out = form.outcomes();
    Some(Winter {
        energy_share: cold.map(|cold| cold.0),
        load_increase: cold.map(|cold| cold.1),
        regeneration_share: cold.and_then(|cold| cold.2),
        heater,
        power: match heater {
            Some(_) => out.result(&rows::WINTER_POWER),
            None => out.result(&rows::WINTER_POWER_WITHOUT_HEATER),
        },
        energy: match cold {
            Some(_) => out.result(&rows::WINTER_ENERGY),
            None => out.result(&rows::WINTER_ENERGY_OF_A_WARM_PACK),
        },
    })
}

pub(super) fn read_cycle(form: &mut Form<'_, '_>) -> Written {
    let name = form.text("name");
    let own = form.has("file") || form.has("points");
    let (name, span) = match name {
        Some((name, span)) => (name, span),
        None => (String::new(), form.place),
    };
    let slug = slug(&name);
    if !slug.starts_with(|c: char| c.is_ascii_lowercase()) || !slug.is_ascii() {
        let message = words!("`{}` is no name for a cycle", name);
        form.report(
            &codes::BAD_NAME,
            span,
            message,
            "begin it with a letter, and type it in plain letters and digits",
        );
        return Written::default();
    }
    match (cycles::cycle(&name), own) {
        (Some(_), true) => {
            let message = words!("`{}` is the name of a published cycle", name);
            form.report(&codes::BAD_VALUE, span, message, "give your own cycle another name");
            Written::default()
        }
        (Some(published), false) => Written {
            trace: Some(published.trace.clone()),
            title: Some(published.title),
            source: Some(words!("{} ({})", published.source, published.status.word())),
        },
        (None, true) => {
            let trace = read_trace(form).filter(|trace| {
                let moves = trace.top_speed() > 0.0;
                if !moves {
                    let help = "look at its column of speeds";
                    let message = words!("in `{}` the vehicle never moves", name);
                    form.report(&codes::BAD_TRACE, span, message, help);
                }
                moves
            });
            Written { trace, ..Written::default() }
        }
        (None, false) => {
            let message = words!("`{}` is no published cycle, and names no file", name);
            let help = match suggest(&name, cycles::names()) {
                Some(near) => words!("did you mean `{}`?", near),
                None => words!(
                    "the published ones are {}; your own is `{name: {}, file: evidence/….csv}`",
                    Words::names(cycles::names()),
                    name
                ),
            };
            form.report(&codes::BAD_VALUE, span, message, help);
            Written::default()
        }
    }
}

/// Power to mass from the motor, else from what the pack gives through the drive.
pub(super) fn read_class(
    form: &mut Form<'_, '_>,
    (road, pack): (Option<&BlockName>, Option<&BlockName>),
    (limits, efficiency, lifted): (&LimitFields, &DriveEfficiency, Option<Slot<Mass>>),
) -> Class {
    let motor = limits.motor_power;
    let through = match efficiency {
        DriveEfficiency::Constant(slot) if motor.is_none() => Some(*slot),
        _ => None,
    };
    let by_peak = form.lookup().has(pack, "peak_power");
    let mut lookup = form.lookup();
    let mass = lifted.or_else(|| lookup.if_there(&rows::ROAD_MASS, road));
    let power = match (motor, by_peak) {
        (Some(motor), _) => Some(motor),
        (None, true) => lookup.if_there(&rows::PACK_PEAK_POWER, pack),
        (None, false) => limits.pack_power,
    };
    let mut out = form.outcomes();
    let power_to_mass = out.result(match (motor.is_some(), by_peak, through.is_some()) {
        (true, _, _) => &rows::POWER_TO_MASS,
        (_, true, true) => &rows::PACK_PEAK_TO_MASS,
        (_, false, true) => &rows::PACK_RATED_TO_MASS,
        (_, true, false) => &rows::PACK_PEAK_TO_MASS_BY_MAP,
        (_, false, false) => &rows::PACK_RATED_TO_MASS_BY_MAP,
    });
    let class = out.procedure(&rows::WLTC_CLASS, &[power_to_mass.index()]);
    Class { power, efficiency: through, mass, power_to_mass, class }
}

//! Reads the parts of an energy-use block: its drive's efficiency, its winter, a cycle, and the class that it belongs to.

use super::map::read_map;
use super::{Class, DriveEfficiency, Winter, Written, rows};
use crate::findings::codes;
use crate::model::{BlockName, Form};
use crate::quantities::slug;
use crate::rules::cycles;
use crate::words::{Words, words};

pub(super) fn read_efficiency(form: &mut Form<'_, '_>, chain: Option<&BlockName>) -> DriveEfficiency {
    match form.one_of(&["drive_efficiency", "efficiency_map"]) {
        Some("drive_efficiency") => DriveEfficiency::Constant(form.required("drive_efficiency")),
        None => DriveEfficiency::Unknown,
        Some(_) => {
            let map = read_map(form);
            if chain.is_none() && !form.has("chain") {
                form.missing("chain");
            }
            let mut lookup = form.lookup();
            let ratio = lookup.taken(&rows::OVERALL_RATIO, chain);
            let circumference = lookup.taken(&rows::CIRCUMFERENCE, chain);
            let efficiency = lookup.taken(&rows::CHAIN_EFFICIENCY, chain);
            match map {
                Some(map) => DriveEfficiency::Map { map, ratio, circumference, efficiency },
                None => DriveEfficiency::Unknown,
            }
        }
    }
}

pub(super) fn read_winter(form: &mut Form<'_, '_>) -> Option<Winter> {
    let heater = form.optional("heater_power");
    let cold = form.group("cold", |form| (form.required("energy_share"), form.required("load_increase")));
    if heater.is_none() && cold.is_none() {
        return None;
    }
    let mut out = form.outcomes();
    Some(Winter {
        energy_share: cold.map(|cold| cold.0),
        load_increase: cold.map(|cold| cold.1),
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
        None => (String::new(), form.place()),
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
            let trace = form.trace().filter(|trace| {
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
            let help = words!(
                "the published ones are {}; your own is `{name: {}, file: evidence/….csv}`",
                Words::names(cycles::names()),
                name
            );
            form.report(&codes::BAD_VALUE, span, message, help);
            Written::default()
        }
    }
}

/// Power to mass from the motor, else from what the pack gives through the drive.
pub(super) fn read_class(
    form: &mut Form<'_, '_>,
    [road, pack, chain]: [Option<BlockName>; 3],
    efficiency: &DriveEfficiency,
) -> Class {
    let motor = form.block_name("motor");
    let through = match efficiency {
        DriveEfficiency::Constant(slot) if motor.is_none() => Some(*slot),
        _ => None,
    };
    let by_peak = form.block_has(pack.as_ref(), "peak_power");
    let mut lookup = form.lookup();
    let mass = lookup.if_there(&rows::ROAD_MASS, road.as_ref());
    let power = match (&motor, by_peak) {
        (Some(motor), _) => Some(lookup.taken(&rows::MOTOR_PEAK_POWER, Some(motor))),
        (None, true) => lookup.if_there(&rows::PACK_PEAK_POWER, pack.as_ref()),
        (None, false) => lookup.if_there(&rows::PACK_RATED_POWER, pack.as_ref()),
    };
    let top_speed = lookup.if_there(&rows::GEARED_TOP_SPEED, chain.as_ref());
    let mut out = form.outcomes();
    let power_to_mass = out.result(match (motor.is_some(), by_peak, through.is_some()) {
        (true, _, _) => &rows::POWER_TO_MASS,
        (_, true, true) => &rows::PACK_PEAK_TO_MASS,
        (_, false, true) => &rows::PACK_RATED_TO_MASS,
        (_, true, false) => &rows::PACK_PEAK_TO_MASS_BY_MAP,
        (_, false, false) => &rows::PACK_RATED_TO_MASS_BY_MAP,
    });
    let class = out.words(&rows::WLTC_CLASS, &[power_to_mass.index()]);
    Class { power, efficiency: through, mass, power_to_mass, top_speed, class }
}

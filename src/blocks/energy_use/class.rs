//! The class of the WLTC that a vehicle belongs to.

use super::EnergyUse;
use crate::model::Page;
use crate::quantities::si::{Measure, Power, Ratio, Velocity};
use crate::rules::cycles;
use crate::words::words;

impl EnergyUse {
    /// All electric vehicles are of class 3; 3a and 3b are told apart by the top speed. No verdict rests on it.
    pub(super) fn tell_class(&self, page: &mut Page<'_>) {
        let class = &self.class;
        let Some(power_to_mass) = page.get(class.power_to_mass) else { return };
        let limits = cycles::classes();
        let tops = self.limits.gears.iter().filter_map(|gear| page.get(gear.top_speed?));
        let text = match tops.map(|top: Velocity| top.si()).reduce(f64::max) {
            Some(top) if top < limits.class_3b_from => "class 3a".to_owned(),
            Some(_) => "class 3b".to_owned(),
            None => format!("class 3: 3a below {:.0} km/h top speed, else 3b", limits.class_3b_from * 3.6),
        };
        page.say(class.class, text);
        let Some(slot) = class.power else { return };
        let basis = match class.efficiency {
            Some(efficiency) => {
                let through: Option<Ratio> = page.get(efficiency);
                let power = page
                    .get(slot)
                    .zip(through)
                    .map(|(power, share): (Power, Ratio)| power.si() * share.value);
                words!(
                    "the pack's power through the drive, {},",
                    page.value_as(slot, power.unwrap_or(f64::NAN))
                )
            }
            None => words!("a power of {}", page.value(slot)),
        };
        page.note(words!(
            "{} ({}). With an engine in place of the motor, {} and the road load's mass, {}, would make it class {}: {} (second-hand); the regulation takes the rated power and the kerb mass.",
            limits.electric,
            limits.electric_status,
            basis,
            page.value(class.power_to_mass),
            by_power(power_to_mass.value),
            limits.source,
        ));
    }
}

/// By power to mass in W/kg.
fn by_power(power_to_mass: f64) -> u8 {
    let limits = cycles::classes();
    let within = |limit: f64| power_to_mass <= limit * (1.0 + 1e-9);
    match (within(limits.class_1_at_most), within(limits.class_2_at_most)) {
        (true, _) => 1,
        (_, true) => 2,
        _ => 3,
    }
}

#[cfg(test)]
mod tests {
    use super::by_power;

    #[test]
    fn classes_by_power_begin_above_their_boundaries() {
        assert_eq!([22.0, 22.01, 34.0, 34.01].map(by_power), [1, 2, 2, 3]);
    }
}

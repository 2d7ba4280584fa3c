//! Where high voltage begins, and the caution that goes with it; the limits stand in the rules.

use crate::model::{Caution, Page, Slot};
use crate::quantities::si::{ElectricPotential, Measure};
use crate::rules::limit;

/// A DC voltage above the limit; exactly the limit is not high voltage.
pub(in crate::blocks) fn is_high_dc(voltage: ElectricPotential) -> bool {
    voltage.si() > limit("high_voltage_dc").si()
}

/// The same of an AC voltage, rms.
pub(in crate::blocks) fn is_high_ac(voltage: ElectricPotential) -> bool {
    voltage.si() > limit("high_voltage_ac").si()
}

/// The caution that a circuit of that DC voltage needs, where the voltage is known.
pub(in crate::blocks) fn caution_dc(page: &mut Page<'_>, voltage: Slot<ElectricPotential>) {
    caution_highest(page, [voltage]);
}

/// The same by the highest of several voltages.
pub(in crate::blocks) fn caution_highest(
    page: &mut Page<'_>,
    voltages: impl IntoIterator<Item = Slot<ElectricPotential>>,
) {
    let known: Vec<ElectricPotential> = voltages.into_iter().filter_map(|slot| page.get(slot)).collect();
    if known.is_empty() {
        return;
    }
    let high = known.into_iter().any(is_high_dc);
    page.caution(if high { Caution::HighVoltage } else { Caution::LowVoltagePack });
}

#[cfg(test)]
mod tests {
    use super::{is_high_ac, is_high_dc};
    use crate::quantities::si::{ElectricPotential, Measure};

    #[test]
    fn sixty_volts_is_not_high_voltage_and_a_tenth_more_is() {
        // FMVSS 305 S3.
        let high = |of: fn(ElectricPotential) -> bool, volts| of(ElectricPotential::from_si(volts));
        assert_eq!([high(is_high_dc, 60.0), high(is_high_dc, 60.1)], [false, true]);
        assert_eq!([high(is_high_ac, 30.0), high(is_high_ac, 30.1)], [false, true]);
        // The nominal voltage says nothing: 18 cells of 3.3 V nominal, 4.2 V full.
        assert_eq!([high(is_high_dc, 18.0 * 3.3), high(is_high_dc, 18.0 * 4.2)], [false, true]);
    }
}

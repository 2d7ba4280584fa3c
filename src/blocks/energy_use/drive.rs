//! The road load and the drive against it: what a speed and a force ask of the battery.

use super::map::Efficiency;

/// f0 + f1 v + f2 v² (N, m/s) of the level road and the mass that has to be accelerated, rotating parts included (kg).
#[derive(Clone, Copy, PartialEq)]
pub(super) struct Load {
    pub f0: f64,
    pub f1: f64,
    pub f2: f64,
    pub mass: f64,
    /// In N; 0 where no road of the block climbs.
    pub weight: f64,
}

/// What stands between wheels and cells. Powers in W, voltage in V, resistance in Ω.
#[derive(Clone, Copy)]
pub(super) struct Drive<'a> {
    pub efficiency: Efficiency<'a>,
    pub regeneration: Option<Regeneration>,
    pub auxiliary: f64,
    pub voltage: f64,
    pub resistance: f64,
}

/// Braking power that comes back: a share of it, less losses, above a speed (m/s), never more than a power (W) at the
/// battery.
#[derive(Clone, Copy, PartialEq)]
pub(super) struct Regeneration {
    pub share: f64,
    pub efficiency: f64,
    pub power_limit: f64,
    pub minimum_speed: f64,
}

impl Load {
    pub(super) fn force(&self, speed: f64) -> f64 {
        self.f0 + speed * (self.f1 + self.f2 * speed)
    }

    pub(super) fn is_known(&self) -> bool {
        !(self.f0 + self.f1 + self.f2 + self.mass + self.weight).is_nan()
    }

    /// With the resistance times a factor; mass and weight stay.
    pub(super) fn times(&self, factor: f64) -> Load {
        Load { f0: self.f0 * factor, f1: self.f1 * factor, f2: self.f2 * factor, ..*self }
    }
}

impl Drive<'_> {
    /// The power at the battery's terminals that the drive draws (positive) or gives back, without auxiliaries.
    pub(super) fn power(&self, speed: f64, force: f64) -> f64 {
        let wheel = force * speed;
        if wheel > 0.0 {
            return wheel / self.efficiency.at(speed, force);
        }
        match &self.regeneration {
            Some(back) if speed >= back.minimum_speed => -back.power(-wheel),
            _ => 0.0 * wheel,
        }
    }

    /// The same with the auxiliaries.
    pub(super) fn at_terminals(&self, speed: f64, force: f64) -> f64 {
        self.power(speed, force) + self.auxiliary
    }

    /// The voltage that a power leaves at the terminals; NaN where it is more than the pack can give at all.
    pub(super) fn voltage_under(&self, power: f64) -> f64 {
        (self.voltage + (self.voltage * self.voltage - 4.0 * self.resistance * power).sqrt()) / 2.0
    }

    /// J/m from the cells at a steady speed.
    pub(super) fn steady(&self, load: &Load, speed: f64) -> f64 {
        let force = load.force(speed);
        let power = force * speed / self.efficiency.at(speed, force) + self.auxiliary;
        power / speed * self.voltage / self.voltage_under(power)
    }

    pub(super) fn current(&self, power: f64) -> f64 {
        power / self.voltage_under(power)
    }
}

impl Regeneration {
    pub(super) fn is_known(&self) -> bool {
        !(self.share + self.efficiency + self.power_limit + self.minimum_speed).is_nan()
    }

    fn power(&self, braking: f64) -> f64 {
        let back = self.share * self.efficiency * braking;
        if back > self.power_limit { self.power_limit } else { back }
    }
}

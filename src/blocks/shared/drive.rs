//! The drive as pieces: what force it gives at a road speed, with every corner where it lies.
//!
//! All numbers are in SI. At a lower voltage than the one that the motor's curve was made at the same torque ends at a
//! lower speed: the motor turns at x·s, x being the curve speed and s = voltage / curve voltage, 1 at most. The current
//! at x is that of the curve, so s is known in closed form.

use super::pieces::{Piece, Shape, capped, split};

/// A battery with resistance under a curve made at another voltage.
#[derive(Clone, Copy, Debug)]
pub(in crate::blocks) struct Sag {
    pub(in crate::blocks) open_voltage: f64,
    pub(in crate::blocks) resistance: f64,
    pub(in crate::blocks) curve_voltage: f64,
}

/// From the motor to the road.
#[derive(Clone, Copy, Debug)]
pub(in crate::blocks) struct Gear {
    /// N at the wheels for each N·m of the motor.
    pub(in crate::blocks) force: f64,
    /// m on the road for each rad of the motor.
    pub(in crate::blocks) way: f64,
}

/// What else holds the drive back; infinite where nothing does.
#[derive(Clone, Copy, Debug)]
pub(in crate::blocks) struct Caps {
    /// N·m of the motor, from what the tyres hold.
    pub(in crate::blocks) torque: f64,
    /// W of the battery.
    pub(in crate::blocks) battery: f64,
}

/// The motor by its ratings or by its curve.
#[derive(Clone, Debug)]
pub(in crate::blocks) struct Motor {
    /// Straight and constant-power pieces, without sag, in order from 0.
    pub(in crate::blocks) pieces: Vec<Piece>,
    pub(in crate::blocks) max_speed: Option<f64>,
    pub(in crate::blocks) efficiency: f64,
    pub(in crate::blocks) sag: Option<Sag>,
    pub(in crate::blocks) gear: Gear,
    /// Road speed at the first of the limits that the chain states for the motor and for its stages, and whose it is.
    pub(in crate::blocks) chain_limit: f64,
    pub(in crate::blocks) chain_end: End,
}

/// Whose limit ends the pieces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::blocks) enum End {
    Motor,
    Curve,
    Chain,
    Stage,
}

/// Why there are no pieces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::blocks) enum Trouble {
    /// A value is no finite number, or the curve has no part above standstill.
    NotKnown,
    /// The curve begins above standstill.
    BeginsLate,
    /// The battery can't carry the current of the curve.
    Collapses,
}

#[derive(Clone, Debug)]
pub(in crate::blocks) struct Drive {
    pub(in crate::blocks) pieces: Vec<Piece>,
    pub(in crate::blocks) end: End,
    pub(in crate::blocks) gear: Gear,
    pub(in crate::blocks) sag: Option<Sag>,
    efficiency: f64,
}

impl Sag {
    /// V of curve speed's power for each W on the curve: current × resistance.
    fn lost(&self, power: f64, efficiency: f64) -> f64 {
        self.resistance * power / (efficiency * self.curve_voltage)
    }

    /// The power on the curve above which the voltage is under the curve's.
    fn begins(&self, efficiency: f64) -> f64 {
        (self.open_voltage - self.curve_voltage) * efficiency * self.curve_voltage / self.resistance
    }
}

impl Motor {
    /// The drive within its caps. Errors: why it has no pieces.
    pub(in crate::blocks) fn drive(&self, caps: Caps) -> Result<Drive, Trouble> {
        let first = self.pieces.first().ok_or(Trouble::NotKnown)?;
        let curve_voltage = self.sag.map_or(1.0, |sag| sag.curve_voltage);
        let numbers = [self.efficiency, self.gear.force, self.gear.way, self.chain_limit, curve_voltage];
        if !numbers.iter().all(|number| *number > 0.0) || caps.torque.is_nan() || caps.battery.is_nan() {
            return Err(Trouble::NotKnown);
        }
        if first.from > 0.0 {
            return Err(Trouble::BeginsLate);
        }
        let last = self.pieces[self.pieces.len() - 1].to;
        let mut pieces = capped(&self.pieces, caps.torque, self.power_cap(caps.battery));
        let fastest = self.max_speed.map_or(last, |limit| limit.min(last));
        if let Some(sag) = self.sag {
            pieces = self.sagging(&pieces, sag, fastest)?;
        }
        let mut drive = Drive {
            pieces,
            end: if self.max_speed.is_some_and(|limit| limit <= last) { End::Motor } else { End::Curve },
            gear: self.gear,
            sag: self.sag,
            efficiency: self.efficiency,
        };
        let mut ends = self.gear.way * fastest;
        // The limits often are one, written twice: the motor's own is named first, a curve's end last.
        let slack = if drive.end == End::Curve { 1e-9 } else { -1e-9 };
        if self.chain_limit <= ends * (1.0 + slack) {
            ends = ends.min(self.chain_limit);
            drive.end = self.chain_end;
        }
        drive.stop_at(ends);
        let sound = drive.pieces.iter().all(|piece| piece.from.is_finite() && piece.to.is_finite());
        if sound && !drive.pieces.is_empty() { Ok(drive) } else { Err(Trouble::NotKnown) }
    }

    /// The battery's limit as a power on the curve.
    fn power_cap(&self, battery: f64) -> f64 {
        let output = self.efficiency * battery;
        let Some(sag) = self.sag.filter(|_| output.is_finite()) else { return output };
        let root = (sag.open_voltage * sag.open_voltage - 4.0 * sag.resistance * battery).sqrt();
        let voltage = f64::midpoint(sag.open_voltage, root);
        // More than the battery can give is no limit; the collapse is found below.
        if voltage.is_nan() { f64::INFINITY } else { output * (sag.curve_voltage / voltage).max(1.0) }
    }

    /// Marks where the voltage is under the curve's, and goes on at constant power where the sagged curve ends before
    /// the motor's own last speed.
    fn sagging(&self, pieces: &[Piece], sag: Sag, fastest: f64) -> Result<Vec<Piece>, Trouble> {
        let begins = sag.begins(self.efficiency);
        let mut pieces = split(pieces, |shape| shape.at_power(begins), |piece, _| piece.shape);
        for piece in &mut pieces {
            let middle = f64::midpoint(piece.from, piece.to);
            piece.sags =
                sag.open_voltage - sag.lost(piece.shape.power(middle), self.efficiency) < sag.curve_voltage;
            if piece.sags && !self.holds(piece, sag) {
                return Err(Trouble::Collapses);
            }
        }
        if let Some(last) = pieces.last().copied().filter(|last| last.sags) {
            let power = last.shape.power(last.to);
            let share = (sag.open_voltage - sag.lost(power, self.efficiency)) / sag.curve_voltage;
            let to = fastest.max(last.to) / share;
            pieces.push(Piece { shape: Shape::Power(power), from: last.to, to, sags: true });
        }
        Ok(pieces)
    }

    /// Whether a faster curve speed is a faster motor over the whole piece: the terminal voltage stays above half of
    /// the open one where the torque is constant.
    fn holds(&self, piece: &Piece, sag: Sag) -> bool {
        let room = |power: f64| sag.open_voltage - sag.lost(power, self.efficiency);
        match piece.shape {
            Shape::Power(power) => room(2.0 * power) > 0.0,
            Shape::Line { at_zero, slope } => {
                let steepest = |x: f64| 2.0 * at_zero * x + 3.0 * slope * x * x;
                let inner = -at_zero / (3.0 * slope);
                let inside = inner > piece.from && inner < piece.to;
                let at = [piece.from, piece.to, if inside { inner } else { piece.to }];
                at.iter().all(|x| room(steepest(*x)) > 0.0)
            }
        }
    }
}

impl Drive {
    /// Road speed at a curve speed.
    pub(in crate::blocks) fn speed(&self, piece: &Piece, x: f64) -> f64 {
        self.gear.way * x * self.share(piece, x)
    }

    /// How fast the road speed grows with the curve speed.
    pub(in crate::blocks) fn speed_slope(&self, piece: &Piece, x: f64) -> f64 {
        let Some(sag) = self.sag.filter(|_| piece.sags) else { return self.gear.way };
        let power = match piece.shape {
            Shape::Line { at_zero, slope } => 2.0 * at_zero * x + 3.0 * slope * x * x,
            Shape::Power(power) => power,
        };
        self.gear.way * (sag.open_voltage - sag.lost(power, self.efficiency)) / sag.curve_voltage
    }

    pub(in crate::blocks) fn force(&self, piece: &Piece, x: f64) -> f64 {
        self.gear.force * piece.shape.torque(x)
    }

    fn share(&self, piece: &Piece, x: f64) -> f64 {
        match self.sag {
            Some(sag) if piece.sags => {
                (sag.open_voltage - sag.lost(piece.shape.power(x), self.efficiency)) / sag.curve_voltage
            }
            _ => 1.0,
        }
    }

    /// The curve speed of a road speed within the piece.
    pub(in crate::blocks) fn curve_speed(&self, piece: &Piece, road: f64) -> f64 {
        match piece.shape {
            Shape::Line { .. } if piece.sags => {
                // Newton's steps from the chord, and halving where one would leave what is left: the road speed grows
                // with the curve's.
                let (mut low, mut high) = (piece.from, piece.to);
                let (begins, ends) = (self.speed(piece, low), self.speed(piece, high));
                let mut x = (low + (high - low) * (road - begins) / (ends - begins)).clamp(low, high);
                for _ in 0..200 {
                    let beyond = self.speed(piece, x) - road;
                    if beyond < 0.0 {
                        low = x
                    } else {
                        high = x
                    }
                    let step = x - beyond / self.speed_slope(piece, x);
                    let next = if step > low && step < high { step } else { f64::midpoint(low, high) };
                    // Nearer than the rounding of the road speed nothing can be told.
                    if (next - x).abs() <= 4.0 * f64::EPSILON * x.abs() || next <= low || next >= high {
                        return next.clamp(piece.from, piece.to);
                    }
                    x = next;
                }
                x
            }
            _ => (road / (self.gear.way * self.share(piece, piece.to))).clamp(piece.from, piece.to),
        }
    }

    /// The piece that a road speed lies in.
    pub(in crate::blocks) fn piece_at(&self, road: f64) -> Option<&Piece> {
        let slack = 1e-9 * road;
        self.pieces.iter().find(|piece| road <= self.speed(piece, piece.to) + slack)
    }

    /// Force at the wheels at a road speed; NaN beyond the last one.
    pub(in crate::blocks) fn force_at(&self, road: f64) -> f64 {
        match self.piece_at(road).filter(|_| road >= 0.0) {
            Some(piece) => self.force(piece, self.curve_speed(piece, road)),
            None => f64::NAN,
        }
    }

    /// The last road speed.
    pub(in crate::blocks) fn last_speed(&self) -> f64 {
        self.pieces.last().map_or(f64::NAN, |piece| self.speed(piece, piece.to))
    }

    /// The most power that the battery gives at any speed.
    pub(in crate::blocks) fn pack_power_limit(&self) -> f64 {
        let most = |piece: &Piece| {
            let inner = match piece.shape {
                Shape::Line { at_zero, slope } => -at_zero / (2.0 * slope),
                Shape::Power(_) => piece.to,
            };
            let inner = if inner > piece.from && inner < piece.to { inner } else { piece.to };
            [piece.from, inner, piece.to]
                .into_iter()
                .filter(|x| *x > 0.0)
                .map(|x| self.battery_power_at(piece, x))
                .fold(0.0, f64::max)
        };
        self.pieces.iter().map(most).fold(0.0, f64::max)
    }

    /// Output over efficiency.
    pub(in crate::blocks) fn battery_power_at(&self, piece: &Piece, x: f64) -> f64 {
        piece.shape.power(x) * self.share(piece, x) / self.efficiency
    }

    /// Leaves out what is beyond a road speed.
    fn stop_at(&mut self, ends: f64) {
        let Some(at) = self.pieces.iter().position(|piece| self.speed(piece, piece.to) >= ends) else {
            return;
        };
        let piece = self.pieces[at];
        self.pieces[at].to = self.curve_speed(&piece, ends);
        self.pieces.truncate(at + 1);
        if self.pieces[at].to <= self.pieces[at].from && at > 0 {
            self.pieces.truncate(at);
        }
    }

    /// Cuts the pieces at a road speed, for what changes there.
    pub(in crate::blocks) fn cut_at(&mut self, road: f64) {
        let Some(at) = self.piece_at(road).and_then(|found| self.pieces.iter().position(|p| p == found))
        else {
            return;
        };
        let piece = self.pieces[at];
        let x = self.curve_speed(&piece, road);
        if x > piece.from && x < piece.to {
            self.pieces[at].to = x;
            self.pieces.insert(at + 1, Piece { from: x, ..piece });
        }
    }
}

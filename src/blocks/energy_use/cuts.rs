//! Where a stretch of a cycle is cut, so that on each piece the force keeps its sign and the power its course.

use super::drive::{Load, Regeneration};

/// In s, m/s, m/s².
#[derive(Clone, Copy)]
pub(super) struct Stretch {
    pub(super) lasts: f64,
    pub(super) from: f64,
    pub(super) to: f64,
    pub(super) rate: f64,
    /// Since the course began, at its end.
    pub(super) ends: f64,
    /// Whether two points of the quadrature will do.
    pub(super) fine: bool,
    /// Sine and cosine of the road's slope.
    pub(super) slope: (f64, f64),
}

/// Speeds at which a stretch is cut, in no order, the ends aside.
pub(super) struct Cuts {
    stretch: Stretch,
    at: [f64; 12],
    count: usize,
}

impl Cuts {
    pub(super) fn of(stretch: &Stretch) -> Cuts {
        Cuts { stretch: *stretch, at: [0.0; 12], count: 0 }
    }

    pub(super) fn add(&mut self, speed: f64) {
        let (low, high) = (self.stretch.from.min(self.stretch.to), self.stretch.from.max(self.stretch.to));
        if speed > low && speed < high && self.count < self.at.len() {
            self.at[self.count] = speed;
            self.count += 1;
        }
    }

    /// Where the force changes sign.
    pub(super) fn add_zeros(&mut self, constant: f64, load: &Load) {
        self.add_roots(load.f2, load.f1, constant);
    }

    /// Where the power turns from rising to falling.
    pub(super) fn add_turns(&mut self, constant: f64, load: &Load) {
        self.add_roots(3.0 * load.f2, 2.0 * load.f1, constant);
    }

    pub(super) fn add_roots(&mut self, square: f64, linear: f64, constant: f64) {
        let q = -(linear + linear.signum() * (linear * linear - 4.0 * square * constant).sqrt()) / 2.0;
        // Of a straight line the first is no number; NaN and infinities are not inside the stretch.
        self.add(q / square);
        self.add(constant / q);
    }

    /// Where the recovered power meets its limit.
    pub(super) fn add_limit(&mut self, constant: f64, load: &Load, back: &Regeneration) {
        let limit = back.power_limit / (back.share * back.efficiency);
        let top = self.stretch.from.max(self.stretch.to);
        let bound = -(constant + load.f1.min(0.0) * top + load.f2.min(0.0) * top * top) * top;
        if !(limit.is_finite() && bound > limit) {
            return;
        }
        let mut turns = Cuts::of(&self.stretch);
        turns.add_turns(constant, load);
        let over = |speed: f64| -(constant + speed * (load.f1 + load.f2 * speed)) * speed - limit;
        turns.each(|piece| {
            let (mut under, mut above) = (piece.from, piece.to);
            if over(under) > 0.0 {
                std::mem::swap(&mut under, &mut above);
            }
            if over(under) > 0.0 || over(above) <= 0.0 {
                return;
            }
            // On this piece the power only rises or only falls; sixty halvings reach the last digit.
            for _ in 0..60 {
                let middle = (under + above) / 2.0;
                if over(middle) > 0.0 { above = middle } else { under = middle }
            }
            self.add(under);
        });
    }

    /// Hands on the pieces in the order of travel.
    pub(super) fn each(mut self, mut take: impl FnMut(&Stretch)) {
        let stretch = self.stretch;
        if self.count == 0 {
            return take(&stretch);
        }
        let cuts = &mut self.at[..self.count];
        cuts.sort_by(f64::total_cmp);
        if stretch.rate < 0.0 {
            cuts.reverse();
        }
        let mut from = stretch.from;
        for to in cuts.iter().copied().chain([stretch.to]) {
            let lasts = stretch.lasts * ((to - from) / (stretch.to - stretch.from));
            take(&Stretch { lasts, from, to, ..stretch });
            from = to;
        }
    }
}

impl Stretch {
    /// The force (N) that does not change with the speed: rolling, speeding up, climbing.
    pub(super) fn constant(&self, load: &Load) -> f64 {
        let (sine, cosine) = self.slope;
        load.f0 * cosine + load.mass * self.rate + load.weight * sine
    }

    /// The force (N) at a speed within it.
    pub(super) fn force(&self, load: &Load, speed: f64) -> f64 {
        self.constant(load) + speed * (load.f1 + load.f2 * speed)
    }

    /// ∫ (constant + f1 v + f2 v²) v dt in J.
    pub(super) fn energy(&self, constant: f64, load: &Load) -> f64 {
        let (v, w) = (self.from, self.to);
        let first = (v + w) / 2.0;
        let second = (v * v + v * w + w * w) / 3.0;
        let third = (v + w) * (v * v + w * w) / 4.0;
        self.lasts * (constant * first + load.f1 * second + load.f2 * third)
    }
}

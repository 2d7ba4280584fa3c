//! A sprint of a motor that gives less the longer it pulls: time and distance where its torque over time ends the drive
//! before its speed does.
//!
//! All numbers are in SI. Nothing here loops without a bound.

use super::motor::MotorOf;
use super::travel::{Mesh, Road, Sprint, Travel, parts};
use crate::blocks::shared::drive::Drive;
use crate::blocks::shared::pieces::{Piece, over_time_fault};
use crate::model::Bench;

/// So many, and one for each part, are taken over a piece of the drive.
const STEPS: f64 = 256.0;

/// The most torque of the motor after a time at full drive. Before its first point nothing holds it back, after its last
/// nobody knows.
pub(super) struct Fading {
    /// Straight lines between them, at least two.
    points: Vec<(f64, f64)>,
}

/// A vehicle on its way: where on a piece of its drive, when, and how far it has come.
#[derive(Clone, Copy)]
struct On {
    x: f64,
    time: f64,
    distance: f64,
}

/// What holds the torque: the drive itself, or a line of the torque over time, by its number.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Held {
    Drive,
    Line(usize),
    /// The torque over time has ended.
    Unknown,
}

/// On one piece of a drive.
struct Way<'a> {
    drive: &'a Drive,
    piece: &'a Piece,
    road: &'a Road,
    mass: f64,
    fading: &'a Fading,
}

impl Fading {
    /// `None` where the motor states no torque over time that can be read.
    pub(super) fn read(bench: &Bench<'_>, motor: &MotorOf) -> Option<Fading> {
        let (curve, scale) = bench.curve(motor.derating?)?;
        let sound = over_time_fault(curve).is_none() && scale.is_finite();
        let points = curve.points().iter().map(|(time, torque)| (*time, torque * scale));
        sound.then(|| Fading { points: points.collect() })
    }

    pub(super) fn ends(&self) -> f64 {
        self.points[self.points.len() - 1].0
    }

    /// The least between two times; NaN where it does not reach that far.
    fn least_between(&self, from: f64, to: f64) -> f64 {
        let inner = self.points.iter().filter(|point| point.0 > from && point.0 < to).map(|point| point.1);
        let [first, last] = [from, to].map(|time| self.at(time));
        if last.is_nan() { last } else { inner.fold(first.min(last), f64::min) }
    }

    fn at(&self, time: f64) -> f64 {
        match self.line(time) {
            Held::Drive => f64::INFINITY,
            Held::Line(number) => self.on_line(number, time),
            Held::Unknown => f64::NAN,
        }
    }

    /// The line that a time lies on.
    fn line(&self, time: f64) -> Held {
        if time < self.points[0].0 {
            return Held::Drive;
        }
        let number = self.points[1..].iter().position(|point| time < point.0);
        number.map_or(
            if time > self.ends() { Held::Unknown } else { Held::Line(self.points.len() - 2) },
            Held::Line,
        )
    }

    /// Also beyond the ends of the line.
    fn on_line(&self, number: usize, time: f64) -> f64 {
        let ((t0, m0), (t1, m1)) = (self.points[number], self.points[number + 1]);
        m0 + (m1 - m0) * (time - t0) / (t1 - t0)
    }

    /// As [`super::travel::travel`], when the drive has pulled for a time already. NaN where the speed is not reached,
    /// or the torque over time ends before.
    pub(super) fn travel(
        &self,
        (drive, road): (&Drive, &Road),
        (sprint, begun): (&Sprint, f64),
        (free, mesh): (Travel, Mesh),
    ) -> Travel {
        // It is over before anything holds it back.
        if self.least_between(begun, begun + free.time) >= most_torque(drive, sprint) {
            return free;
        }
        let mut on = On { x: 0.0, time: begun, distance: 0.0 };
        for piece in &drive.pieces {
            let (begins, ends) = (drive.speed(piece, piece.from), drive.speed(piece, piece.to));
            if ends <= sprint.from || begins >= sprint.to {
                continue;
            }
            let low = if sprint.from > begins { drive.curve_speed(piece, sprint.from) } else { piece.from };
            let high = if sprint.to < ends { drive.curve_speed(piece, sprint.to) } else { piece.to };
            let way = Way { drive, piece, road, mass: sprint.effective_mass, fading: self };
            on.x = low;
            let finest = if mesh == Mesh::Full { STEPS } else { STEPS / 2.0 };
            for (from, to) in parts() {
                let steps = ((to - from) * finest).ceil() as u32;
                on = way.through(on, low + (high - low) * to, steps);
            }
        }
        Travel { time: on.time - begun, distance: on.distance }
    }
}

fn most_torque(drive: &Drive, sprint: &Sprint) -> f64 {
    let within = |piece: &&Piece| {
        drive.speed(piece, piece.to) > sprint.from && drive.speed(piece, piece.from) < sprint.to
    };
    let ends = |piece: &Piece| [piece.from, piece.to].map(|x| piece.shape.torque(x));
    drive.pieces.iter().filter(within).flat_map(ends).fold(f64::NEG_INFINITY, f64::max)
}

impl Way<'_> {
    fn held(&self, on: On) -> Held {
        match self.fading.line(on.time) {
            Held::Line(number) if self.fading.on_line(number, on.time) >= self.piece.shape.torque(on.x) => {
                Held::Drive
            }
            held => held,
        }
    }

    /// To a place on the piece in that many steps, each cut where something else begins to hold the torque.
    fn through(&self, mut on: On, to: f64, steps: u32) -> On {
        let step = (to - on.x) / f64::from(steps);
        // Each line begins and ends to hold; more cuts than that are none that matter.
        let mut cuts = 2 * self.fading.points.len() + 2;
        for number in 1..=steps {
            let end = if number == steps { to } else { to - step * f64::from(steps - number) };
            while on.x < end {
                let held = self.held(on);
                let whole = self.step(on, held, end - on.x);
                if !whole.time.is_finite() || held == Held::Unknown {
                    return On { time: f64::NAN, ..whole };
                }
                if self.held(whole) == held || cuts == 0 {
                    on = On { x: end, ..whole };
                    break;
                }
                cuts -= 1;
                on = self.cut(on, held, end - on.x);
            }
        }
        on
    }

    /// A step that ends where something else holds, just beyond.
    fn cut(&self, on: On, held: Held, most: f64) -> On {
        let (mut low, mut high) = (0.0, most);
        for _ in 0..60 {
            let middle = f64::midpoint(low, high);
            if middle <= low || middle >= high {
                break;
            }
            let there = self.held(self.step(on, held, middle)) == held;
            if there { low = middle } else { high = middle }
        }
        self.step(on, held, high)
    }

    /// By the classical Runge-Kutta rule; NaN where no surplus is left.
    fn step(&self, on: On, held: Held, by: f64) -> On {
        let slope = |x: f64, time: f64| {
            let torque = match held {
                Held::Drive | Held::Unknown => self.piece.shape.torque(x),
                Held::Line(number) => self.fading.on_line(number, time),
            };
            let speed = self.drive.speed(self.piece, x);
            let surplus = self.drive.gear.force * torque - self.road.force(speed);
            let slope = match surplus > 0.0 {
                true => self.mass * self.drive.speed_slope(self.piece, x) / surplus,
                false => f64::NAN,
            };
            (slope, slope * speed)
        };
        let half = by / 2.0;
        let a = slope(on.x, on.time);
        let b = slope(on.x + half, on.time + half * a.0);
        let c = slope(on.x + half, on.time + half * b.0);
        let d = slope(on.x + by, on.time + by * c.0);
        let sum = |of: fn((f64, f64)) -> f64| by / 6.0 * (of(a) + 2.0 * of(b) + 2.0 * of(c) + of(d));
        On { x: on.x + by, time: on.time + sum(|it| it.0), distance: on.distance + sum(|it| it.1) }
    }
}

#[cfg(test)]
mod tests {
    use super::super::travel::{Mesh, Road, Sprint, travel};
    use super::Fading;
    use crate::blocks::shared::drive::{Caps, Drive, End, Gear, Motor};
    use crate::blocks::shared::pieces::{Piece, Shape};

    fn flat(torque: f64) -> Drive {
        let piece =
            Piece { shape: Shape::Line { at_zero: torque, slope: 0.0 }, from: 0.0, to: 100.0, sags: false };
        let motor = Motor {
            pieces: vec![piece],
            max_speed: None,
            efficiency: 1.0,
            sag: None,
            gear: Gear { force: 10.0, way: 1.0 },
            chain_limit: f64::INFINITY,
            chain_end: End::Chain,
        };
        motor.drive(Caps { torque: f64::INFINITY, battery: f64::INFINITY }).expect("a drive")
    }

    /// 300 N m, and from 4 s on 25 N m less each second, to 100 N m.
    fn fading() -> Fading {
        Fading { points: vec![(0.0, 300.0), (4.0, 300.0), (12.0, 100.0), (60.0, 100.0)] }
    }

    const ROAD: Road = Road { constant: 200.0, f1: 0.0, f2: 0.0, wind: 0.0 };

    #[track_caller]
    fn check(to: f64, time: f64, distance: f64) {
        let (drive, sprint) = (flat(300.0), Sprint { from: 0.0, to, effective_mass: 1000.0 });
        let free = travel(&drive, &ROAD, &sprint, Mesh::Full);
        // The rule is of fourth order: half the mesh errs sixteen times as much.
        for (mesh, allowed) in [(Mesh::Full, 1e-9), (Mesh::Half, 16e-9)] {
            let found = fading().travel((&drive, &ROAD), (&sprint, 0.0), (free, mesh));
            assert!((found.time / time - 1.0).abs() < allowed, "{}, not {time}", found.time);
            assert!((found.distance / distance - 1.0).abs() < allowed, "{}, not {distance}", found.distance);
        }
    }

    // Against a constant force v = integral of (10 T - 200 N)/1000 kg, closed form.
    #[test]
    fn a_sprint_that_is_over_before_the_motor_fades_is_the_free_one() {
        check(11.0, 11.0 / 2.8, 11.0 * 11.0 / 5.6);
    }

    #[test]
    fn a_sprint_into_a_line_that_falls_has_its_closed_form() {
        // 11.2 m/s and 22.4 m after 4 s; then u s later 2.8 u - 0.125 u^2 more. 5 s give 22.075 m/s.
        let way = 22.4 + 11.2 * 5.0 + 1.4 * 25.0 - 0.125 / 3.0 * 125.0;
        check(22.075, 9.0, way);
    }

    #[test]
    fn a_sprint_beyond_the_fall_goes_on_with_what_is_left() {
        // 25.6 m/s after 12 s, and 0.8 m/s more each second from there.
        let at_twelve = 22.4 + 11.2 * 8.0 + 1.4 * 64.0 - 0.125 / 3.0 * 512.0;
        check(27.6, 14.5, at_twelve + 25.6 * 2.5 + 0.4 * 6.25);
    }

    #[test]
    fn what_is_not_known_or_not_enough_is_no_sprint() {
        let sprint = Sprint { from: 0.0, to: 90.0, effective_mass: 1000.0 };
        let drive = flat(300.0);
        let free = travel(&drive, &ROAD, &sprint, Mesh::Full);
        // 90 m/s would take longer than the 60 s of the curve.
        assert!(fading().travel((&drive, &ROAD), (&sprint, 0.0), (free, Mesh::Full)).time.is_nan());
        let steep = Road { constant: 1200.0, ..ROAD };
        let sprint = Sprint { to: 27.6, ..sprint };
        let free = travel(&drive, &steep, &sprint, Mesh::Full);
        assert!(free.time.is_finite());
        assert!(fading().travel((&drive, &steep), (&sprint, 0.0), (free, Mesh::Full)).time.is_nan());
    }
}

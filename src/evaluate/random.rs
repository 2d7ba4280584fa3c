//! Random numbers from a counter: the same for the same draw and leaf, whatever was drawn before.

use std::f64::consts::TAU;

/// The numbers of one leaf in one draw.
pub(super) struct Stream {
    state: u64,
}

impl Stream {
    pub(super) fn new(draw: u64, leaf: u64) -> Stream {
        Stream {
            state: mix(
                mix(draw ^ 0x6A09_E667_F3BC_C908).wrapping_add(leaf.wrapping_mul(0x9E37_79B9_7F4A_7C15))
            ),
        }
    }

    /// The SplitMix64 step (Steele, Lea and Flood 2014).
    fn next(&mut self) -> u64 {
        self.state = self.state.wrapping_add(0x9E37_79B9_7F4A_7C15);
        mix(self.state)
    }

    /// Above 0 and below 1, evenly.
    pub(super) fn unit(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) * 2f64.powi(-53)
    }

    /// Standard normal, by Box and Muller.
    pub(super) fn normal(&mut self) -> f64 {
        let radius = (-2.0 * self.unit().ln()).sqrt();
        radius * (TAU * self.unit()).cos()
    }

    /// Student's t of so many degrees of freedom: a normal number over the root of a mean of squares.
    pub(super) fn student(&mut self, freedom: usize) -> f64 {
        let top = self.normal();
        top / self.scale(freedom)
    }

    /// The root of a mean of so many squares of normal numbers: what a standard deviation from few readings is to the
    /// true one.
    pub(super) fn scale(&mut self, freedom: usize) -> f64 {
        let squares: f64 = (0..freedom).map(|_| self.normal().powi(2)).sum();
        (squares / freedom as f64).sqrt()
    }
}

/// The finisher of SplitMix64: every bit of the input moves every bit of the output.
fn mix(mut z: u64) -> u64 {
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^ (z >> 31)
}

#[cfg(test)]
mod tests {
    use super::Stream;

    fn moments(draw: impl Fn(&mut Stream) -> f64) -> (f64, f64) {
        const N: u64 = 200_000;
        let values: Vec<f64> = (0..N).map(|n| draw(&mut Stream::new(n, 3))).collect();
        let mean = values.iter().sum::<f64>() / N as f64;
        (mean, values.iter().map(|value| (value - mean).powi(2)).sum::<f64>() / N as f64)
    }

    /// Moments of the distributions: uniform 1/2 and 1/12, normal 0 and 1, t of 5 degrees 0 and 5/3.
    #[test]
    fn the_distributions_have_their_moments() {
        let check = |(mean, variance): (f64, f64), expected: (f64, f64)| {
            assert!((mean - expected.0).abs() < 0.01, "mean {mean}");
            assert!((variance / expected.1 - 1.0).abs() < 0.03, "variance {variance}");
        };
        check(moments(Stream::unit), (0.5, 1.0 / 12.0));
        check(moments(Stream::normal), (0.0, 1.0));
        check(moments(|stream| stream.student(5)), (0.0, 5.0 / 3.0));
    }
}

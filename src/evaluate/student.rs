//! Student's t distribution, by the incomplete beta function: what few readings are worth (JCGM 100:2008, annex G).

/// The standard normal distribution's share below 2: what is printed is the value ± so much, on both sides.
const SHARE: f64 = 0.977_249_868_051_820_8;

/// Beyond so many degrees of freedom it is the normal distribution to all digits that anybody prints.
const MANY: f64 = 1e7;

/// The share of the distribution below `t`, with degrees of freedom that need not be whole; infinite ones are the
/// normal distribution.
pub(crate) fn share_below(t: f64, freedom: f64) -> f64 {
    // Written so that NaN goes on.
    if freedom > MANY {
        return 0.5 * libm::erfc(-t / std::f64::consts::SQRT_2);
    }
    let beyond = 0.5 * incomplete_beta(freedom / (freedom + t * t), (freedom / 2.0, 0.5));
    if t < 0.0 { beyond } else { 1.0 - beyond }
}

/// The t below which that share lies, from a half to 1.
pub(crate) fn quantile(share: f64, freedom: f64) -> f64 {
    let mut high = 2.0;
    while share_below(high, freedom) < share && high < 1e12 {
        high *= 2.0;
    }
    let mut low = 0.0;
    // To the last digit but a few: each step halves what is between.
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if share_below(middle, freedom) < share {
            low = middle
        } else {
            high = middle
        }
        if high - low <= 1e-13 * high {
            break;
        }
    }
    0.5 * (low + high)
}

/// What a standard uncertainty of so many degrees of freedom is multiplied with to be printed: 2 where they are many,
/// and more so that the same 95.45 % are covered where they are few (JCGM 100:2008, G.3).
pub(crate) fn coverage(freedom: f64) -> f64 {
    if freedom > MANY { 2.0 } else { quantile(SHARE, freedom) }
}

/// The regularised incomplete beta function by its continued fraction (Abramowitz and Stegun, 26.5.8), by Lentz's
/// method.
fn incomplete_beta(x: f64, (a, b): (f64, f64)) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if x >= 1.0 {
        return 1.0;
    }
    // The fraction converges fast below the mean; above it the other tail is worked.
    if x > (a + 1.0) / (a + b + 2.0) {
        return 1.0 - incomplete_beta(1.0 - x, (b, a));
    }
    let front = libm::lgamma(a + b) - libm::lgamma(a) - libm::lgamma(b) + a * x.ln() + b * (-x).ln_1p();
    const TINY: f64 = 1e-300;
    let away = |value: f64| if value.abs() < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / away(1.0 - (a + b) * x / (a + 1.0));
    let mut fraction = d;
    for m in 1..10_000 {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        let mut change = 1.0;
        for step in [even, odd] {
            d = 1.0 / away(1.0 + step * d);
            c = away(1.0 + step / c);
            change = c * d;
            fraction *= change;
        }
        if (change - 1.0).abs() < 1e-15 {
            break;
        }
    }
    front.exp() * fraction / a
}

#[cfg(test)]
mod tests {
    use super::{coverage, quantile, share_below};

    /// Case STUDENT-t-95: by scipy 1.17.1 (`stats.t`); JCGM 100:2008, table G.2 prints two digits of the same.
    #[test]
    fn the_quantiles_are_the_published_ones() {
        let table = [
            (1.0, 12.706_204_7, 13.967_811_5),
            (2.0, 4.302_652_73, 4.526_550_76),
            (3.0, 3.182_446_31, 3.306_829_92),
            (4.0, 2.776_445_11, 2.869_315_17),
            (5.0, 2.570_581_84, 2.648_654_25),
            (6.0, 2.446_911_85, 2.516_528_35),
            (8.0, 2.306_004_14, 2.366_419_5),
            (10.0, 2.228_138_85, 2.283_681_61),
            (15.0, 2.131_449_55, 2.181_165_68),
            (20.0, 2.085_963_45, 2.133_028_36),
            (50.0, 2.008_559_11, 2.051_250_78),
            // Degrees of freedom that are not whole: cases READ-3 and READ-2, WS and GUM-G41.
            (2.161_011_08, 4.009_584_54, f64::NAN),
            (1.173_611_11, 9.022_151_52, f64::NAN),
            (48.952_908_6, 2.009_624_14, f64::NAN),
        ];
        for (freedom, at_95, at_9545) in table {
            let found = quantile(0.975, freedom);
            assert!((found / at_95 - 1.0).abs() < 1e-6, "{freedom}: {found}");
            // The column is for 95.45 %, rounded; 2 standard deviations of the normal one are 95.449 97 %.
            let found = quantile(0.977_25, freedom);
            assert!(at_9545.is_nan() || (found / at_9545 - 1.0).abs() < 1e-6, "{freedom}: {found}");
            assert!(at_9545.is_nan() || (coverage(freedom) / at_9545 - 1.0).abs() < 2e-5);
        }
    }

    #[test]
    fn the_shares_are_closed_where_they_are_known() {
        // One degree: 1/2 + atan(t)/π; two: 1/2 + t/(2√(2 + t²)); many: the normal distribution.
        for t in [-30.0, -2.0, -0.1, 0.0, 0.7, 2.05, 400.0] {
            let one = 0.5 + f64::atan(t) / std::f64::consts::PI;
            let two = 0.5 + t / (2.0 * (2.0 + t * t).sqrt());
            assert!((share_below(t, 1.0) - one).abs() < 1e-12, "{t}");
            assert!((share_below(t, 2.0) - two).abs() < 1e-12, "{t}");
        }
        assert!((share_below(1.644_853_63, f64::INFINITY) - 0.95).abs() < 1e-8);
        assert_eq!(coverage(f64::INFINITY), 2.0);
        assert!(share_below(f64::NAN, 3.0).is_nan());
    }

    /// JCGM 106:2012, table 1 (z by scipy 1.17.1), and the examples of clause 7, inputs from memory: a breakdown voltage
    /// against one limit, 0.92, an oil's viscosity against two, 0.66; a mass at 95.2 %, by closed form.
    #[test]
    fn the_probability_of_conformity_is_that_of_the_published_examples() {
        let normal = |z: f64| share_below(z, f64::INFINITY);
        let table = [
            (0.8, 0.841_621_234),
            (0.9, 1.281_551_57),
            (0.95, 1.644_853_63),
            (0.99, 2.326_347_87),
            (0.999, 3.090_232_31),
        ];
        for (probability, z) in table {
            assert!((normal(z) / probability - 1.0).abs() < 1e-6, "{z}: {}", normal(z));
        }
        let one_sided = normal((-5.4 - -5.47) / 0.05);
        assert!((one_sided / 0.919_243_341 - 1.0).abs() < 1e-6, "{one_sided}");
        let two_sided = normal((16.3 - 13.6) / 1.8) - normal((12.5 - 13.6) / 1.8);
        assert!((two_sided / 0.662_629_786 - 1.0).abs() < 1e-6, "{two_sided}");
        let by_a_hair = normal((1400.0 - 1385.0) / 9.0);
        assert!((by_a_hair / 0.952_209_648 - 1.0).abs() < 1e-6, "{by_a_hair}");
    }

    /// Two readings whose limit is two standard uncertainties away: not 98 % but about 85 %.
    #[test]
    fn two_readings_are_worth_little() {
        assert!((share_below(2.0, 1.0) - 0.852_416_4).abs() < 1e-6);
    }
}

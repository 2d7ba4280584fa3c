//! What runs one after the other say of how well a fit is known.

use super::fit::{Decay, averaged, few};

/// The covariance of the mean that repeated runs show, each fitted by itself: by pairs of directions, in which a wind
/// that has not changed cancels, where there are as many out as back; else by direction. `None` where nothing was
/// repeated.
pub(super) fn between(out: &[Decay], back: &[Decay]) -> Option<[[f64; 3]; 3]> {
    if out.len() == back.len() {
        let pairs: Vec<Decay> = out.iter().zip(back).map(|(out, back)| averaged(out, back)).collect();
        return of_mean(&pairs);
    }
    let once = |runs: &[Decay]| of_mean(runs).map(|covariance| scaled(&covariance, runs.len() as f64));
    match (of_mean(out), of_mean(back)) {
        (Some(out), Some(back)) => Some(scaled(&sum(&out, &back), 0.25)),
        // The one run the other way is no better than those that were repeated.
        (Some(mean), None) if back.len() == 1 => Some(scaled(&sum(&mean, &once(out)?), 0.25)),
        (None, Some(mean)) if out.len() == 1 => Some(scaled(&sum(&mean, &once(back)?), 0.25)),
        (out, back) => out.or(back),
    }
}

fn of_mean(runs: &[Decay]) -> Option<[[f64; 3]; 3]> {
    let freedom = runs.len().checked_sub(1).filter(|freedom| *freedom > 0)?;
    let count = runs.len() as f64;
    let mean: [f64; 3] =
        std::array::from_fn(|at| runs.iter().map(|run| run.coefficients[at]).sum::<f64>() / count);
    let off = |run: &Decay, at: usize| run.coefficients[at] - mean[at];
    let few = few(freedom);
    Some(std::array::from_fn(|row| {
        std::array::from_fn(|column| {
            let products: f64 = runs.iter().map(|run| off(run, row) * off(run, column)).sum();
            few * few * products / (freedom as f64 * count)
        })
    }))
}

pub(super) fn sum(one: &[[f64; 3]; 3], other: &[[f64; 3]; 3]) -> [[f64; 3]; 3] {
    std::array::from_fn(|row| std::array::from_fn(|column| one[row][column] + other[row][column]))
}

fn scaled(covariance: &[[f64; 3]; 3], by: f64) -> [[f64; 3]; 3] {
    covariance.map(|row| row.map(|value| value * by))
}

#[cfg(test)]
mod tests {
    use super::between;
    use crate::blocks::coast_down::fit::Decay;

    fn decay(first: f64) -> Decay {
        Decay {
            coefficients: [first, 0.0, 4e-4],
            covariance: [[0.0; 3]; 3],
            squares: 0.0,
            samples: 100,
            freedom: 90,
        }
    }

    #[test]
    fn pairs_take_out_what_both_directions_share() {
        // The wind changes from pair to pair, and each pair takes it out.
        let out = [decay(0.20), decay(0.22), decay(0.18)];
        let back = [decay(0.10), decay(0.08), decay(0.12)];
        let covariance = between(&out, &back).expect("pairs");
        assert!(covariance[0][0] < 1e-30, "{covariance:?}");
        // A third run out can't be paired: then the directions tell.
        let lonely = between(&out, &back[..2]).expect("runs");
        assert!(lonely[0][0].sqrt() > 0.01, "{lonely:?}");
        assert!(between(&out[..1], &back[..1]).is_none());
    }

    #[test]
    fn two_pairs_know_little() {
        let covariance = between(&[decay(0.2), decay(0.22)], &[decay(0.1), decay(0.1)]).expect("pairs");
        // Means of 0.15 and 0.16: 0.005 √2 / √2, 6.48 times for one degree of freedom.
        assert!((covariance[0][0].sqrt() - 0.005 * 6.48).abs() < 1e-12, "{covariance:?}");
    }
}

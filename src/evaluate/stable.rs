//! Which values the draws are made for until their figures no longer move, and when they don't (JCGM 101:2008, 7.9).

use super::fixed::Fixed;

/// Which of these values `auto` waits for: what a requirement judges or holds it against; where nothing is judged, every
/// result.
pub(super) fn awaited(fixed: &Fixed<'_>, values: &[usize]) -> Vec<bool> {
    let mut judged = vec![false; fixed.plan.len()];
    for (block, first) in fixed.notebook.blocks.iter().zip(&fixed.plan.first) {
        for requirement in block.requirements.iter().filter(|_| block.replaced_by.is_none()) {
            let sides = [Some(requirement.actual), requirement.low, requirement.high];
            sides.into_iter().flatten().for_each(|index| judged[first + index as usize] = true);
        }
    }
    let of_judged: Vec<bool> = values.iter().map(|global| judged[*global]).collect();
    if of_judged.contains(&true) {
        return of_judged;
    }
    values.iter().map(|global| fixed.node(*global).is_result()).collect()
}

/// JCGM 101:2008, 7.9.4: twice the standard deviation of the averages of all four figures over the batches is under
/// the numerical tolerance of two digits of the uncertainty. What has no figures is not waited for.
pub(super) fn stable(of_value: &[[f64; 4]]) -> bool {
    let h = of_value.len() as f64;
    let mean = |k: usize| of_value.iter().map(|figures| figures[k]).sum::<f64>() / h;
    let allowed = tolerance(mean(1));
    of_value.len() < 2
        || (0..4).all(|k| {
            let middle = mean(k);
            let variance =
                of_value.iter().map(|figures| (figures[k] - middle).powi(2)).sum::<f64>() / (h * (h - 1.0));
            2.0 * variance.sqrt() <= allowed
        })
}

/// Half of the last of two significant digits of a standard uncertainty (JCGM 101:2008, 7.9.2).
pub(super) fn tolerance(standard: f64) -> f64 {
    if standard == 0.0 || !standard.is_finite() {
        return 0.0;
    }
    0.5 * 10f64.powi(standard.abs().log10().floor() as i32 - 1)
}

#[cfg(test)]
mod tests {
    use super::stable;

    /// JCGM 101:2008, 7.9.4: of an uncertainty of 1.0 the second digit is 0.1, and half of it is allowed.
    #[test]
    fn figures_are_stable_when_their_averages_are_within_half_of_the_second_digit() {
        let batches = |off: f64| (0..10).map(|at| [[1.0, -1.0][at % 2] * off, 1.0, -2.0, 2.0]).collect();
        // The standard deviation of the average of ten is off / 3.
        let near: Vec<[f64; 4]> = batches(0.07);
        let far: Vec<[f64; 4]> = batches(0.08);
        assert!(stable(&near) && !stable(&far));
        assert!(stable(&[]), "what has no figures is not waited for");
    }
}

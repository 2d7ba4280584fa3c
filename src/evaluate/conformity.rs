//! The probability of conformity by first order (JCGM 106:2012).

use super::draws::{Asked, Sides};
use super::student::share_below;
use super::uncertainty::Budget;

/// The probability that the true value is within its limits, with limit − actual as one result, normal or of few readings;
/// `None` where all is exact.
pub(super) fn conformity(asked: &Asked, values: &[f64], budget: &Budget) -> Option<f64> {
    let Sides { actual, low, high, .. } = asked.sides;
    let side = |limit: Option<usize>, sign: f64| {
        let limit = limit?;
        let (spread, freedom) = budget.of_difference((limit, actual), asked.kind);
        let room = sign * (values[limit] - values[actual]);
        (spread > 0.0).then(|| share_below(room / spread, freedom))
    };
    match (side(low, -1.0), side(high, 1.0)) {
        (None, None) => None,
        (Some(one), None) | (None, Some(one)) => Some(one),
        // P(low ≤ y ≤ high) = P(y ≤ high) − P(y < low).
        (Some(low), Some(high)) => Some((low + high - 1.0).max(0.0)),
    }
}

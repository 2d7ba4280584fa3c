//! The factor of a covariance.

/// The lower triangle L with L Lᵀ = the matrix; a singular one (as many quantities as readings) is taken as it comes.
pub(crate) fn cholesky(matrix: &[impl AsRef<[f64]>]) -> Vec<Vec<f64>> {
    let n = matrix.len();
    let mut lower = vec![vec![0.0; n]; n];
    for row in 0..n {
        for column in 0..=row {
            let sum: f64 = (0..column).map(|k| lower[row][k] * lower[column][k]).sum();
            let rest = matrix[row].as_ref()[column] - sum;
            lower[row][column] = if row == column {
                rest.max(0.0).sqrt()
            } else if lower[column][column] > 0.0 {
                rest / lower[column][column]
            } else {
                0.0
            };
        }
    }
    lower
}

//! Robust regression: which parts of a stage's time go with what, undisturbed by the rare frame that took much longer.

use crate::stop::Stop;

/// Where Huber's weights begin to fall, in standard deviations: 95 % as efficient as least squares on normal errors (Huber
/// 1964; the constant as in Holland and Welsch 1977).
const HUBER: f64 = 1.345;
/// What the median of absolute deviations is multiplied by to estimate a normal law's standard deviation.
const MAD_TO_SD: f64 = 1.4826;
/// Most rounds of re-weighting.
const ROUNDS: usize = 50;
/// Change of a coefficient below which rounds end, relative.
const SETTLED: f64 = 1e-7;

/// Coefficients c of `y = sum of c_j x_j (1 + error)`: the error is in proportion to the value, as jittered costs have it.
/// Each is 0 or more; one that would be negative is left out and is 0. None where the columns do not tell, or nothing is
/// positive, or where it is given up.
///
/// Iteratively re-weighted least squares with Huber's weights on the relative residuals; columns come with a value a row.
pub(super) fn fit(columns: &[Vec<f64>], y: &[f64], stop: Stop<'_>) -> Option<Vec<f64>> {
    let mut used: Vec<usize> = (0..columns.len()).collect();
    while !used.is_empty() {
        let chosen: Vec<&[f64]> = used.iter().map(|&j| columns[j].as_slice()).collect();
        let coefficients = weighted_rounds(&chosen, y, stop)?;
        let least = (0..used.len())
            .min_by(|&a, &b| share(&chosen, &coefficients, a).total_cmp(&share(&chosen, &coefficients, b)))?;
        if coefficients[least] >= 0.0 {
            let mut all = vec![0.0; columns.len()];
            used.iter().zip(coefficients).for_each(|(&j, c)| all[j] = c);
            return Some(all);
        }
        used.remove(least);
    }
    None
}

/// What a column adds to the mean.
fn share(columns: &[&[f64]], coefficients: &[f64], j: usize) -> f64 {
    coefficients[j] * columns[j].iter().sum::<f64>()
}

fn weighted_rounds(columns: &[&[f64]], y: &[f64], stop: Stop<'_>) -> Option<Vec<f64>> {
    let typical = median(&mut y.to_vec())?;
    // The first round takes all rows alike, so that the value in proportion to which errors are is not needed yet.
    let mut weights = vec![1.0; y.len()];
    let mut coefficients = solve(columns, y, &weights)?;
    let mut residuals = vec![0.0; y.len()];
    for _ in 0..ROUNDS {
        if stop.asked() {
            return None;
        }
        for (k, residual) in residuals.iter_mut().enumerate() {
            let value = value(columns, &coefficients, k).max(typical * 1e-3);
            *residual = (y[k] - value) / value;
            weights[k] = value;
        }
        let scale = MAD_TO_SD * median(&mut residuals.iter().map(|r| r.abs()).collect::<Vec<_>>())?;
        for (weight, residual) in weights.iter_mut().zip(&residuals) {
            let far = residual.abs() / (HUBER * scale).max(1e-12);
            *weight = (1.0 / far.max(1.0)) / (*weight * *weight);
        }
        let next = solve(columns, y, &weights)?;
        let moved = next.iter().zip(&coefficients).any(|(a, b)| (a - b).abs() > SETTLED * (a.abs() + b.abs()));
        coefficients = next;
        if !moved {
            break;
        }
    }
    Some(coefficients)
}

pub(super) fn value(columns: &[&[f64]], coefficients: &[f64], row: usize) -> f64 {
    columns.iter().zip(coefficients).map(|(column, c)| column[row] * c).sum()
}

/// Weighted least squares by the normal equations of columns scaled to length 1; none where they are not independent.
fn solve(columns: &[&[f64]], y: &[f64], weights: &[f64]) -> Option<Vec<f64>> {
    let p = columns.len();
    let dot = |a: &[f64], b: &[f64]| -> f64 { a.iter().zip(b).zip(weights).map(|((a, b), w)| a * b * w).sum() };
    let lengths: Vec<f64> = columns.iter().map(|column| dot(column, column).sqrt()).collect();
    if lengths.iter().any(|length| !(*length > 0.0 && length.is_finite())) {
        return None;
    }
    let normal: Vec<Vec<f64>> =
        (0..p).map(|i| (0..p).map(|j| dot(columns[i], columns[j]) / (lengths[i] * lengths[j])).collect()).collect();
    let right: Vec<f64> = (0..p).map(|i| dot(columns[i], y) / lengths[i]).collect();
    let solved = cholesky(normal, right)?;
    let coefficients: Vec<f64> = solved.iter().zip(&lengths).map(|(c, length)| c / length).collect();
    coefficients.iter().all(|c| c.is_finite()).then_some(coefficients)
}

/// Solves a symmetric system of at most four unknowns by Cholesky's method: too small to bring a library of linear algebra
/// for. None where it is not positive definite, to within what rounding leaves of it.
fn cholesky(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Option<Vec<f64>> {
    const LEAST: f64 = 1e-10;
    let p = b.len();
    for i in 0..p {
        for j in 0..=i {
            let products: f64 = (0..j).map(|k| a[i][k] * a[j][k]).sum();
            let rest = a[i][j] - products;
            a[i][j] = if i == j { Some(rest).filter(|rest| *rest > LEAST)?.sqrt() } else { rest / a[j][j] };
        }
        let products: f64 = (0..i).map(|k| a[i][k] * b[k]).sum();
        b[i] = (b[i] - products) / a[i][i];
    }
    for i in (0..p).rev() {
        let products: f64 = (i + 1..p).map(|k| a[k][i] * b[k]).sum();
        b[i] = (b[i] - products) / a[i][i];
    }
    Some(b)
}

/// The median, by selection; the upper one of two.
pub(super) fn median(values: &mut [f64]) -> Option<f64> {
    let middle = values.len() / 2;
    if values.is_empty() {
        return None;
    }
    Some(*values.select_nth_unstable_by(middle, f64::total_cmp).1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(n: usize) -> (Vec<Vec<f64>>, Vec<f64>) {
        let x: Vec<f64> = (0..n).map(|k| (k % 17) as f64).collect();
        let y = x.iter().map(|x| 2.0 + 0.5 * x).collect();
        (vec![vec![1.0; n], x], y)
    }

    #[test]
    fn exact_data_give_exact_coefficients() {
        let (columns, y) = line(100);
        let found = fit(&columns, &y, Stop::NEVER).unwrap();
        assert!((found[0] - 2.0).abs() < 1e-9 && (found[1] - 0.5).abs() < 1e-9, "{found:?}");
    }

    #[test]
    fn rare_long_frames_hardly_move_it() {
        let (columns, mut y) = line(1000);
        (0..1000).step_by(50).for_each(|k| y[k] += 100.0);
        for (k, y) in y.iter_mut().enumerate() {
            *y *= 1.0 + 0.02 * f64::from(k as u32 % 5) - 0.04;
        }
        let found = fit(&columns, &y, Stop::NEVER).unwrap();
        assert!((found[0] - 2.0).abs() < 0.05 && (found[1] - 0.5).abs() < 0.02, "{found:?}");
    }

    #[test]
    fn negative_parts_are_left_out() {
        let x: Vec<f64> = (0..100).map(|k| f64::from(k % 10)).collect();
        let y: Vec<f64> = x.iter().map(|x| 10.0 - 0.1 * x).collect();
        let found = fit(&[vec![1.0; 100], x], &y, Stop::NEVER).unwrap();
        assert!(found[1] == 0.0 && (found[0] - 9.55).abs() < 0.1, "{found:?}");
    }

    #[test]
    fn columns_that_do_not_tell_apart_are_refused() {
        assert_eq!(weighted_rounds(&[&[1.0; 10], &[2.0; 10]], &[3.0; 10], Stop::NEVER), None);
        assert_eq!(fit(&[vec![1.0; 0]], &[], Stop::NEVER), None);
    }
}

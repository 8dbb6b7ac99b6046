//! Against published and independently computed values; the source stands beside each.

use super::*;

mod nist;

fn close(found: f64, expected: f64, tolerance: f64) {
    assert!((found - expected).abs() <= tolerance, "found {found}, expected {expected}");
}

/// Hyndman and Fan, Am. Stat. 50 (1996) 361-365, type 7; values computed with numpy 2.4.6 (`quantile`, its default).
#[test]
fn quantiles_are_of_type_7() {
    type Row<'a> = (&'a [f64], &'a [(f64, f64)]);
    let hundred: Vec<f64> = (1..=100).rev().map(f64::from).collect();
    let rows: [Row; 3] = [
        (
            &[35.0, 15.0, 50.0, 40.0, 20.0],
            &[(0.05, 16.0), (0.3, 23.0), (0.4, 29.0), (0.5, 35.0), (0.9, 46.0), (0.95, 48.0), (0.99, 49.6)],
        ),
        (
            &[3.1, 0.2, 7.7, 1.0, 4.4, 9.6, 2.5, 8.8, 6.3, 5.9],
            &[(0.25, 2.65), (0.5, 5.15), (0.9, 8.88), (0.95, 9.24), (0.99, 9.528), (0.999, 9.5928)],
        ),
        (&hundred, &[(0.99, 99.01), (0.999, 99.901), (0.0, 1.0), (1.0, 100.0)]),
    ];
    for (values, quantiles) in rows {
        let mut sorted = values.to_vec();
        sorted.sort_by(f64::total_cmp);
        let mut scratch = values.to_vec();
        let mut ranks = Ranks::new(&mut scratch);
        // In this order and backwards: what is settled by one quantile must not spoil the next.
        for &(p, expected) in quantiles.iter().chain(quantiles.iter().rev()) {
            close(ranks.quantile(p).unwrap(), expected, 1e-12);
            close(quantile_of_sorted(&sorted, p).unwrap(), expected, 1e-12);
        }
    }
}

#[test]
fn too_few_values_give_none() {
    assert_eq!(mean(&[]), None);
    assert_eq!(variance(&[1.0]), None);
    assert_eq!(lag_one_correlation(&[1.0]), None);
    assert_eq!(lag_one_correlation(&[2.0, 2.0, 2.0]), None);
    assert_eq!(quantile_of_sorted(&[], 0.5), None);
    assert_eq!(Ranks::new(&mut []).quantile(0.5), None);
    assert_eq!(Ranks::new(&mut [7.0]).quantile(0.99), Some(7.0));
    assert_eq!(BatchMeans::of(&[1.0; 19]), None);
    assert_eq!(t_half_width(&[1.0]), None);
    assert_eq!(t_quantile(0.975, 0), None);
}

/// Two-sided 95 % ranks by `scipy.stats.binom` (scipy 1.17.1).
#[test]
fn quantile_interval_ranks_are_those_of_the_binomial() {
    for (count, p, ranks) in [
        (20, 0.5, (6, 15)),
        (100, 0.5, (40, 61)),
        (100, 0.9, (84, 96)),
        (100, 0.95, (90, 100)),
        (500, 0.99, (490, 500)),
        (1000, 0.95, (936, 964)),
        (1000, 0.99, (983, 997)),
        (2000, 0.99, (1971, 1989)),
        (5000, 0.99, (4936, 4964)),
        (10_000, 0.99, (9880, 9920)),
        (10_000, 0.999, (9983, 9997)),
    ] {
        assert_eq!(quantile_ranks(count, p), Some(ranks), "{count} values, quantile {p}");
    }
    // 0.99^n > 0.025 up to n = 367, 0.999^n up to 3687.
    assert_eq!(quantile_ranks(367, 0.99), None);
    assert!(quantile_ranks(368, 0.99).is_some());
    assert_eq!(quantile_ranks(3687, 0.999), None);
    assert!(quantile_ranks(3688, 0.999).is_some());
}

#[test]
fn quantile_interval_of_correlated_values_is_that_of_fewer_stretched_outward() {
    let values: Vec<f64> = (1..=10_000).map(f64::from).collect();
    let mut scratch = values.clone();
    let mut ranks = Ranks::new(&mut scratch);
    assert_eq!(ranks.quantile_interval(0.99, 10_000.0), Some([9880.0, 9920.0]));
    // Ranks 490 and 500 of 500.
    assert_eq!(ranks.quantile_interval(0.99, 500.9), Some([9800.0, 10_000.0]));
    assert_eq!(ranks.quantile_interval(0.99, 367.0), None);
}

/// The worked example of batch means: values computed with numpy 2.4.6 and scipy 1.17.1 (`scipy.stats.t`).
#[test]
fn batch_means_of_a_worked_example() {
    let values: Vec<f64> = (0..40).map(|i| f64::from((37 * i) % 101) / 10.0 + f64::from(i % 7)).collect();
    close(mean(&values).unwrap(), 7.86, 1e-12);
    let batches = BatchMeans::of(&values).unwrap();
    assert_eq!(batches.length, 2);
    close(sd(&batches.means).unwrap(), 2.862_811, 1e-6);
    close(batches.half_width().unwrap(), 1.339_837, 1e-6);
    close(variance(&values).unwrap(), 13.728_615, 1e-6);
    close(batches.effective_size(40, variance(&values).unwrap()), 33.502, 1e-3);
    // 8 batches of 5, as the mean of 8 seeds would be taken.
    let eight: Vec<f64> = values.chunks(5).map(|batch| mean(batch).unwrap()).collect();
    close(t_half_width(&eight).unwrap(), 1.083_791, 1e-6);
}

#[test]
fn values_that_fill_no_batch_are_left_out_at_the_beginning() {
    let mut values = vec![1e6; 5];
    values.extend([1.0; 60]);
    let batches = BatchMeans::of(&values).unwrap();
    assert_eq!((batches.length, batches.means), (3, [1.0; BATCHES]));
    // All equal: worth as many as there are, and the interval has no width.
    close(batches.effective_size(60, 0.0), 60.0, 0.0);
    close(batches.half_width().unwrap(), 0.0, 0.0);
}

/// scipy 1.17.1, `scipy.stats.t.ppf`.
#[test]
fn quantiles_of_t() {
    for (p, degrees, expected) in [(0.975, 19, 2.093_024), (0.9995, 18, 3.921_646), (0.975, 7, 2.364_624)] {
        close(t_quantile(p, degrees).unwrap(), expected, 1e-6);
    }
}

#[test]
fn trend_of_points_on_a_line_and_of_points_beside_it() {
    let x = BatchMeans { length: 1, means: std::array::from_fn(|i| i as f64) };
    let on = BatchMeans { length: 1, means: std::array::from_fn(|i| 3.0 + 2.0 * i as f64) };
    let trend = Trend::of(&x, &on).unwrap();
    close(trend.slope, 2.0, 1e-12);
    assert!(trend.t > 1e6);
    let flat = BatchMeans { length: 1, means: [5.0; BATCHES] };
    assert_eq!(Trend::of(&x, &flat), Some(Trend { slope: 0.0, t: 0.0, degrees: 18.0 }));
    assert_eq!(Trend::of(&flat, &x), None);
    // y = x + (-1)^i over 0..20: Sxx = 665, Sxy = 665 - 10, residual sum of squares 20 - 100/665;
    // t = slope / sqrt(residual / 18 / Sxx), worked out by hand (Draper and Smith, *Applied Regression Analysis*, 1.4).
    let beside = BatchMeans { length: 1, means: std::array::from_fn(|i| i as f64 + [1.0, -1.0][i % 2]) };
    let trend = Trend::of(&x, &beside).unwrap();
    close(trend.slope, 655.0 / 665.0, 1e-12);
    close(trend.t, (655.0 / 665.0) / ((20.0 - 100.0 / 665.0) / 18.0 / 665.0_f64).sqrt(), 1e-9);
}

/// Batches in pairs that are alike: widened by (1 + r) / (1 - r), with as many degrees fewer; independent ones are as by t.
#[test]
fn batches_that_are_alike_make_a_wider_interval() {
    let swinging = BatchMeans { length: 1, means: std::array::from_fn(|i| [1.0, -1.0][i % 2]) };
    close(swinging.widening(), 1.0, 0.0);
    close(swinging.half_width().unwrap(), 2.093_024 * (20.0_f64 / 19.0 / 20.0).sqrt(), 1e-6);
    // Ten low ones, then ten high ones: 18 products of 1 and one of -1 over 20 squares of 1, r = 17/20; less its bias,
    // -(1 + 3 r) / 20, it would be 1.0275, and 0.9 is the most that is reckoned with.
    let steps = BatchMeans { length: 1, means: std::array::from_fn(|i| if i < 10 { -1.0 } else { 1.0 }) };
    close(steps.widening(), 19.0, 1e-9);
    // Two degrees of freedom at the least: t = 4.302653.
    close(steps.half_width().unwrap(), 4.302_653 * (19.0 * 20.0_f64 / 19.0 / 20.0).sqrt(), 1e-5);
    close(steps.effective_size(20, 20.0 / 19.0), 20.0 / 19.0, 1e-9);
}

//! Against published and independently computed values; the source stands beside each.

use rand::rngs::Xoshiro256PlusPlus;
use rand::{RngExt as _, SeedableRng as _};
use rayon::prelude::*;
use statrs::distribution::Normal;

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

/// Values without memory: the interval of their p99 lies where the binomial law has it (`scipy.stats.binom`, scipy 1.17.1: ranks
/// 9880 and 9920 of 10 000), a little wider since it knows less; and it is about the quantile in any order of magnitude.
#[test]
fn a_quantile_has_the_degrees_of_its_stretches() {
    // As many values beyond in each stretch; and in all of the first ten twice as many as in the others.
    let even: Vec<f64> = (0..2000).map(|k| f64::from(k % 100)).collect();
    assert_eq!(quantile_degrees(&even, 0.1), Some(19.0));
    let uneven: Vec<f64> = (0..2000).map(|k| f64::from(k % 100) + if k < 1000 { 5.0 } else { 0.0 }).collect();
    // Neighbours are as alike as is reckoned with, and the fewest degrees are left.
    assert_eq!(quantile_degrees(&uneven, 0.1), Some(2.0));
    assert_eq!(quantile_degrees(&even[..30], 0.01), None);
}

#[test]
fn tail_interval_of_independent_values() {
    // Each value once, spread evenly over the run: 7919 is coprime to 10 000.
    let values: Vec<f64> = (0..10_000_u32).map(|k| f64::from(k * 7919 % 10_000)).collect();
    let [low, high] = upper_quantile_interval(&values, 0.01).unwrap();
    assert!((9800.0..9900.0).contains(&low) && (9900.0..10_000.0).contains(&high), "{low} to {high}");
    // Of values that come by chance, in blocks of some 500: 25 below 9880 and 25 above 9920 would be the binomial's.
    let mut state = 1_u64;
    let mut random = || {
        // Knuth's MMIX generator, as the high bits have it.
        state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (state >> 40) as f64 / f64::from(1 << 24)
    };
    let mut held = 0;
    for _ in 0..200 {
        let values: Vec<f64> = (0..10_000).map(|_| random()).collect();
        let [low, high] = upper_quantile_interval(&values, 0.01).unwrap();
        held += usize::from((low..=high).contains(&0.99));
        assert!(high - low < 0.02, "{low} to {high}");
    }
    assert!((183..=198).contains(&held), "{held} of 200");
}

#[test]
fn tail_of_too_few_values_has_no_interval() {
    assert_eq!(upper_quantile_interval(&[], 0.01), None);
    assert_eq!(upper_quantile_interval(&[1.0; 19], 0.01), None);
    assert_eq!(upper_quantile_interval(&(0..99).map(f64::from).collect::<Vec<_>>(), 0.01), None);
    // Three beyond the quantile, in one stretch: nothing tells how far up the true one may be.
    let few: Vec<f64> = (0..300).map(f64::from).collect();
    assert_eq!(upper_quantile_interval(&few, 0.01), None);
}

/// The worked example of batch means: values computed with numpy 2.4.6 and scipy 1.17.1 (`scipy.stats.t`).
#[test]
fn batch_means_of_a_worked_example() {
    let values: Vec<f64> = (0..40).map(|i| f64::from((37 * i) % 101) / 10.0 + f64::from(i % 7)).collect();
    close(mean(&values).unwrap(), 7.86, 1e-12);
    let batches = BatchMeans::of(&values).unwrap();
    assert_eq!(batches.length, 2);
    close(sd(&batches.means).unwrap(), 2.862_811, 1e-6);
    close(half_width(&batches.means).unwrap(), 1.339_837, 1e-6);
    // Skewness -0.147427 (`scipy.stats.skew`, bias off), by which t of 2.0930 becomes 2.148860 and -2.041395.
    let [low, high] = batches.interval().unwrap();
    close(low, 6.484_421, 1e-5);
    close(high, 9.166_786, 1e-5);
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
    assert_eq!(batches.interval(), Some([1.0; 2]));
}

/// What most batches did not meet is rare, and their scatter says nothing of it.
#[test]
fn batches_that_are_mostly_the_same_do_not_differ() {
    let met = |batches: usize| BatchMeans { length: 1, means: std::array::from_fn(|at| (at.min(batches)) as f64) };
    assert!(!met(0).differ() && !met(10).differ());
    assert!(met(11).differ() && met(19).differ());
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
    // Sure beyond t(0.9995, 18) = 3.921646, as in `quantiles_of_t`.
    let at = |t: f64| Trend { slope: 1.0, t, degrees: 18.0 };
    assert!(at(3.9217).sure() && !at(3.9216).sure() && !at(-9.0).sure());
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
    close(half_width(&swinging.means).unwrap(), 2.093_024 * (20.0_f64 / 19.0 / 20.0).sqrt(), 1e-6);
    // With caution: t(5) = 2.570582; of one value apart from all others the bend is cut where it would be wider.
    let [low, high] = cautious_interval(&swinging.means, 5.0, f64::INFINITY).unwrap();
    close(high - low, 2.0 * 2.570_582 / 19.0_f64.sqrt(), 1e-5);
    let apart: [f64; BATCHES] = std::array::from_fn(|i| if i == 7 { 20.0 } else { 0.0 });
    let [_, free] = interval(&apart).unwrap();
    let [_, cut] = cautious_interval(&apart, f64::INFINITY, 1.5).unwrap();
    let half = half_width(&apart).unwrap();
    close(cut, 1.0 + 1.5 * half, 1e-9);
    assert!(free > 1.0 + 1.6 * half, "{free}");
    // Ten low ones, then ten high ones: 18 products of 1 and one of -1 over 20 squares of 1, r = 17/20; less its bias,
    // -(1 + 3 r) / 20, it would be 1.0275, and 0.9 is the most that is reckoned with.
    let steps = BatchMeans { length: 1, means: std::array::from_fn(|i| if i < 10 { -1.0 } else { 1.0 }) };
    close(steps.widening(), 19.0, 1e-9);
    // Two degrees of freedom at the least: t = 4.302653.
    close(half_width(&steps.means).unwrap(), 4.302_653 * (19.0 * 20.0_f64 / 19.0 / 20.0).sqrt(), 1e-5);
    close(steps.effective_size(20, 20.0 / 19.0), 20.0 / 19.0, 1e-9);
}

/// Normal values of deviation 1, neighbours alike by `alike`.
fn remembering(seed: u64, count: usize, alike: f64) -> Vec<f64> {
    let luck = &mut Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut normal = || Normal::standard().inverse_cdf(luck.random_range(1e-12..1.0));
    let own = (1.0 - alike * alike).sqrt();
    let mut last = normal();
    (0..count)
        .map(|_| {
            let value = last;
            last = alike * value + own * normal();
            value
        })
        .collect()
}

/// Share of so many intervals that hold the truth.
fn share_held(repetitions: u64, of: impl Fn(u64) -> Option<[f64; 2]> + Sync, truth: f64) -> f64 {
    let holds = |&seed: &u64| of(seed).is_some_and(|[low, high]| low <= truth && truth <= high);
    (0..repetitions).into_par_iter().filter(holds).count() as f64 / repetitions as f64
}

/// Intervals hold what is known as often as they say: of seeds exactly, of runs nearly. Each range is at least 4 standard errors
/// wide to both sides of what is found; an interval a tenth narrower holds some 2.5 % less and lies outside.
#[test]
fn intervals_hold_what_is_known() {
    let of_seeds = |seed| {
        let values = remembering(seed, 8, 0.0);
        let half = t_half_width(&values)?;
        mean(&values).map(|mean| [mean - half, mean + half])
    };
    let share = share_held(20_000, of_seeds, 0.0);
    println!("over 8 seeds {share}");
    assert!((0.943..=0.957).contains(&share), "over 8 seeds: {share}");
    for (count, alike, range) in [(2000, 0.0, 0.95..=0.976), (2000, 0.9, 0.944..=0.97)] {
        let share = share_held(4000, |seed| BatchMeans::of(&remembering(seed, count, alike))?.interval(), 0.0);
        println!("mean of {count} alike by {alike}: {share}");
        assert!(range.contains(&share), "mean of {count}, alike by {alike}: {share}");
    }
    for (count, alike, beyond, range) in [(2000, 0.0, 0.05, 0.954..=0.98), (4000, 0.6, 0.05, 0.953..=0.98)] {
        let truth = Normal::standard().inverse_cdf(1.0 - beyond);
        let of = |seed| upper_quantile_interval(&remembering(seed, count, alike), beyond);
        let share = share_held(4000, of, truth);
        println!("{beyond} beyond of {count} alike by {alike}: {share}");
        assert!(range.contains(&share), "{beyond} beyond of {count}, alike by {alike}: {share}");
    }
}

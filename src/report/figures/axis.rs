//! Round numbers along an axis.

/// Marks of an axis at round distances.
#[derive(Debug, Clone, PartialEq)]
pub struct Ticks {
    /// Where they are, ascending.
    pub values: Vec<f64>,
    /// Distance between two.
    pub step: f64,
    /// Decimals that tell them apart.
    pub decimals: usize,
}

/// At most `most` ticks from `low` to `high`, 1, 2 or 5 times a power of ten apart. None on an empty axis.
pub fn ticks(low: f64, high: f64, most: usize) -> Ticks {
    let span = high - low;
    if !(span > 0.0 && span.is_finite()) || most == 0 {
        return Ticks { values: Vec::new(), step: 0.0, decimals: 0 };
    }
    let least = span / most as f64;
    let power = 10f64.powf(least.log10().floor());
    let step =
        [1.0, 2.0, 5.0, 10.0].map(|factor| factor * power).into_iter().find(|step| *step >= least * (1.0 - 1e-9));
    let step = step.unwrap_or(10.0 * power);
    let first = (low / step - 1e-9).ceil() as i64;
    let last = (high / step + 1e-9).floor() as i64;
    let decimals = (-(step.log10() + 1e-9).floor()).max(0.0) as usize;
    // Where a tick hits both ends there is one more than distances.
    let values = (first..=last).map(|index| index as f64 * step).collect();
    Ticks { values, step, decimals }
}

/// Powers of ten from `low` to `high`, both above 0.
pub fn decades(low: f64, high: f64) -> Vec<f64> {
    let first = (low.log10() - 1e-9).ceil() as i32;
    let last = (high.log10() + 1e-9).floor() as i32;
    // A whole power is exact, and so is one over it as nearly as can be; a power below 0 by itself is not everywhere.
    let decade = |power: i32| if power < 0 { 10f64.powi(-power).recip() } else { 10f64.powi(power) };
    (first..=last).map(decade).collect()
}

/// Least and greatest of the values for an axis. Where a few are far above the rest, as beyond a cliff, the greatest is only
/// `times` as far above the least as the quantile at `share`, so that the others are told apart.
pub fn ends_within(mut values: Vec<f64>, share: f64, times: f64) -> Option<[f64; 2]> {
    let low = values.iter().copied().min_by(f64::total_cmp)?;
    let most = values.iter().copied().max_by(f64::total_cmp)?;
    let at = ((values.len() as f64 * share) as usize).min(values.len() - 1);
    let usual = *values.select_nth_unstable_by(at, f64::total_cmp).1;
    let near = low + times * (usual - low);
    Some([low, if near > low { most.min(near) } else { most }])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cliff_leaves_the_axis() {
        let with = |last: f64| ends_within(vec![3.0, 1.0, last, 2.0, 4.0], 0.5, 2.5);
        assert_eq!([5.0, 900.0].map(with), [Some([1.0, 5.0]), Some([1.0, 6.0])]);
        assert_eq!(ends_within(vec![2.0, 2.0, 9.0], 0.5, 2.5), Some([2.0, 9.0]), "most are alike");
        assert_eq!(ends_within(Vec::new(), 0.5, 2.5), None);
    }

    #[test]
    fn ticks_are_round_and_few() {
        assert_eq!(ticks(0.0, 50.0, 5).values, [0.0, 10.0, 20.0, 30.0, 40.0, 50.0]);
        let fine = ticks(31.02, 31.51, 6);
        assert_eq!((fine.step, fine.decimals, fine.values.len()), (0.1, 1, 5));
        assert_eq!(ticks(-12.0, 3.0, 3).values, [-10.0, -5.0, 0.0]);
        assert!(ticks(3.0, 3.0, 5).values.is_empty());
        assert!(ticks(0.0, f64::NAN, 5).values.is_empty());
    }

    #[test]
    fn decades_lie_within() {
        assert_eq!(decades(1e-4, 1.0).len(), 5);
        assert_eq!(decades(2e-3, 0.5), [0.01, 0.1]);
    }
}

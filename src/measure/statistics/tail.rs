//! The interval of a quantile near the end of values that are correlated.

use super::batches::{BATCHES, degrees, interval};

/// How many times as many values as lie beyond the quantile are looked at for the interval's near end, and how many besides.
const LOOKED_AT: (usize, usize) = (6, 50);
/// Steps in which the values beyond the quantile are gone through: the interval's ends are that fine. Enough far out, where it
/// reaches over a large part of them.
const STEPS: usize = 60;

/// 95 % interval of the quantile that the share `beyond` of values, in the order in which they came, lies above; none where
/// there are too few to find its ends.
///
/// A value is inside as long as the share of values above it does not differ from `beyond` by more than luck, judged by
/// [`interval`] over the shares in [`BATCHES`] stretches: the quantile's test, inverted (as for independent values Conover,
/// *Practical Nonparametric Statistics*, 3rd ed. 1999, section 3.2, does with the binomial law).
pub fn upper_quantile_interval(values: &[f64], beyond: f64) -> Option<[f64; 2]> {
    quantile_interval(values, beyond, STEPS)
}

/// The same in so many steps.
pub fn quantile_interval(values: &[f64], beyond: f64, steps: usize) -> Option<[f64; 2]> {
    let length = values.len() / BATCHES;
    let values = &values[values.len() - length * BATCHES..];
    let at_quantile = (values.len() as f64 * beyond) as usize;
    if at_quantile == 0 {
        return None;
    }
    let top = greatest(values, length, LOOKED_AT.0 * at_quantile + LOOKED_AT.1);
    // Values of each stretch among the first so many.
    let mut counts = [0_u32; BATCHES];
    let mut up_to = 0;
    let mut share_within = |rank: usize| {
        top[up_to..rank].iter().for_each(|(_, stretch)| counts[*stretch] += 1);
        up_to = rank;
        interval(&counts.map(|count| f64::from(count) / length as f64))
    };
    // From the greatest value down, so many values above each: where these become enough, and where too many.
    let step = (at_quantile / steps).max(1);
    let first = at_quantile % step;
    // The last found that is too far up.
    let mut outside = None;
    for rank in (first..top.len()).step_by(step).filter(|rank| *rank > 0) {
        let [least, most] = share_within(rank)?;
        if rank <= at_quantile {
            if most < beyond {
                outside = Some(rank);
            }
        } else if least > beyond {
            return outside.map(|high: usize| [top[rank].0, top[high].0]);
        }
    }
    None
}

/// Degrees of freedom of the interval of that quantile: those of the shares above it in the stretches; none where there are
/// too few values for it.
pub fn quantile_degrees(values: &[f64], beyond: f64) -> Option<f64> {
    let length = values.len() / BATCHES;
    let values = &values[values.len() - length * BATCHES..];
    let at_quantile = (values.len() as f64 * beyond) as usize;
    if at_quantile == 0 {
        return None;
    }
    let mut counts = [0.0; BATCHES];
    for (_, stretch) in greatest(values, length, at_quantile) {
        counts[stretch] += 1.0;
    }
    Some(degrees(&counts))
}

/// The so many greatest values, the greatest first, each with the number of its stretch.
fn greatest(values: &[f64], length: usize, count: usize) -> Vec<(f64, usize)> {
    let mut numbered: Vec<(f64, usize)> =
        values.chunks_exact(length).enumerate().flat_map(|(at, of)| of.iter().map(move |value| (*value, at))).collect();
    let count = count.min(numbered.len());
    if count < numbered.len() {
        numbered.select_nth_unstable_by(count, |one, other| other.0.total_cmp(&one.0));
        numbered.truncate(count);
    }
    numbered.sort_unstable_by(|one, other| other.0.total_cmp(&one.0));
    numbered
}

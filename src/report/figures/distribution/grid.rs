//! Bins for values on a grid: as many values of the grid in one bin as in the next, none on a border, so that no dip and no
//! gap is of the bins' making.

use super::{FULL, SAME};

/// Share of the samples that must lie on the grid; the few others are stalls and the like.
const ON_GRID: f64 = 0.95;
/// Remainders below this share of a bin are the rounding of the values, and steps below it leave bins as even as chance does.
const NOTHING: f64 = 0.06;
/// What two grids have in common may be so many times as wide as a bin would be, so that enough bins are left.
const MOST_WIDER: f64 = 8.0;
/// Two grids have steps that go into each other by numbers up to this, or are taken for unrelated.
const MOST_RATIO: u32 = 12;

/// Values that many samples share, evenly apart.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Grid {
    /// One of them.
    at: f64,
    /// The distance of neighbours.
    step: f64,
}

/// First border, width and number of bins about as wide as `width` over `low` to `high`, for series of which one or both lie
/// on a grid that such bins would show. None where neither does, where both do and have nothing in common, and where the
/// grid is so coarse that what lies between its values is empty of itself.
pub(super) fn bins(sorted: &[Vec<f64>; 2], [low, high]: [f64; 2], width: f64) -> Option<(f64, f64, usize)> {
    let fine = |grid: &Grid| grid.step < 2.0 * width;
    let grids: Vec<Grid> = sorted.iter().filter_map(|series| Grid::of(series, width)).filter(fine).collect();
    let step = match grids[..] {
        [one] => one.step,
        [a, b] => common(a.step, b.step)?,
        _ => return None,
    };
    if step > MOST_WIDER * width {
        return None;
    }
    let wide = step * (width / step - 1e-6).ceil().max(1.0);
    let border = border(&grids, step);
    let first = ((low - border) / wide).floor();
    let last = ((high - border) / wide).floor() + 1.0;
    Some((first * wide + border, wide, (last - first) as usize))
}

/// The least step that both go into.
fn common(a: f64, b: f64) -> Option<f64> {
    let near = |times: f64| (times - times.round()).abs() < 1e-3 * times;
    (1..=MOST_RATIO).map(|times| a * f64::from(times)).find(|step| near(step / b) && step / b > 0.5)
}

/// A border as far from every value as can be.
fn border(grids: &[Grid], step: f64) -> f64 {
    let phases = grids.iter().flat_map(|grid| {
        let count = (step / grid.step).round().max(1.0) as u32;
        (0..count).map(|place| (grid.at + f64::from(place) * grid.step).rem_euclid(step))
    });
    let mut phases: Vec<f64> = phases.collect();
    phases.sort_unstable_by(f64::total_cmp);
    let next = |place: usize| phases.get(place + 1).copied().unwrap_or(phases[0] + step);
    let gaps = (0..phases.len()).map(|place| (phases[place], next(place) - phases[place]));
    gaps.max_by(|a, b| a.1.total_cmp(&b.1)).map_or(0.0, |(from, gap)| from + gap / 2.0)
}

impl Grid {
    /// The grid of a series, as bins of `width` would show it.
    fn of(sorted: &[f64], width: f64) -> Option<Self> {
        let same = width * SAME;
        // Where samples crowd, a chunk of them is wider than one value can be, and none lies on a grid.
        let value = |alike: &[f64]| {
            let (first, last) = (alike[0], alike[alike.len() - 1]);
            (f64::midpoint(first, last), if last - first <= same { alike.len() } else { 0 })
        };
        let chunks = sorted.chunk_by(|a, b| b - a <= same).filter(|alike| alike.len() >= FULL as usize);
        let shared: Vec<(f64, usize)> = chunks.map(value).collect();
        let on: usize = shared.iter().map(|(_, count)| count).sum();
        if shared.len() < 2 || (on as f64) < ON_GRID * sorted.len() as f64 {
            return None;
        }
        let gaps = shared.windows(2).map(|pair| pair[1].0 - pair[0].0);
        let step = gaps.reduce(|a, b| divisor(a, b, width * NOTHING)).filter(|step| *step > width * NOTHING)?;
        // Over the whole length, so that what was rounded weighs least.
        let at = shared[0].0;
        let length = shared[shared.len() - 1].0 - at;
        let step = length / (length / step).round();
        let off = |value: f64| ((value - at) / step - ((value - at) / step).round()).abs() * step;
        shared.iter().all(|(value, _)| off(*value) <= 2.0 * same).then_some(Self { at, step })
    }
}

/// The greatest number that goes into both; remainders up to `nothing` are none.
fn divisor(mut a: f64, mut b: f64, nothing: f64) -> f64 {
    while b > nothing {
        let rest = (a - (a / b).round() * b).abs();
        (a, b) = (b, rest);
    }
    a
}

#[cfg(test)]
mod tests {
    use super::*;

    /// So many samples on each of the values `from + step * index`, to the nanosecond, and values between them.
    fn on_grid(from: f64, step: f64, count: usize, each: usize) -> Vec<f64> {
        let on = |index: usize| ((from + step * index as f64) * 1e6).round() / 1e6;
        (0..count).flat_map(|index| std::iter::repeat_n(on(index), each)).collect()
    }

    /// Samples in each bin.
    fn counted(sorted: &[f64], (first, width, count): (f64, f64, usize)) -> Vec<u32> {
        let mut bins = vec![0; count];
        for value in sorted {
            bins[((value - first) / width).floor() as usize] += 1;
        }
        bins
    }

    fn ends(series: &[Vec<f64>; 2]) -> [f64; 2] {
        let all = || series.iter().flatten().copied();
        [all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max)]
    }

    #[test]
    fn bins_over_a_grid_are_even_whatever_its_step() {
        // Whole ms, ninths, thirds and refreshes of 90 Hz in tenths, under bins finer and coarser than they are.
        for step in [1.0, 1.0 / 9.0, 1.0 / 3.0, 1.111_111, 0.07, 0.031] {
            for width in [0.1, 0.2, 0.25, 0.5, 1.0, 2.0] {
                let values = on_grid(31.4, step, 60, 20);
                let series = [values.clone(), Vec::new()];
                let Some(bins) = bins(&series, ends(&series), width) else {
                    assert!(step >= 2.0 * width - 1e-9 || step < width * NOTHING, "{step} under {width}");
                    continue;
                };
                let counts = counted(&values, bins);
                let inner = &counts[1..counts.len() - 1];
                assert!(inner.iter().all(|count| *count == inner[0] && *count > 0), "{step} under {width}: {counts:?}");
                assert!(bins.1 > width - 1e-6 && bins.1 < width + step, "{step} under {width}: {}", bins.1);
            }
        }
    }

    #[test]
    fn two_grids_share_bins_where_their_steps_go_into_each_other() {
        let series = [on_grid(30.0, 0.2, 50, 20), on_grid(31.07, 0.3, 30, 20)];
        let bins = bins(&series, ends(&series), 0.2).unwrap();
        assert!((bins.1 - 0.6).abs() < 1e-9, "{}", bins.1);
        for (series, each) in series.iter().zip([60, 40]) {
            let counts: Vec<u32> = counted(series, bins).into_iter().filter(|count| *count > 0).collect();
            assert!(counts[1..counts.len() - 1].iter().all(|count| *count == each), "{counts:?}");
        }
        let unrelated = [on_grid(30.0, 0.1, 50, 20), on_grid(31.07, 0.141_421, 30, 20)];
        assert_eq!(super::bins(&unrelated, ends(&unrelated), 0.1), None);
        let coarse = [on_grid(30.0, 5.0, 5, 90), Vec::new()];
        assert_eq!(super::bins(&coarse, ends(&coarse), 0.5), None, "what lies between is empty of itself");
    }

    #[test]
    fn values_without_a_grid_have_none() {
        let spread: Vec<f64> = (0..3000).map(|k| 30.0 + (f64::from(k) * 0.618_034).fract() * 4.0).collect();
        let mut sorted = spread;
        sorted.sort_unstable_by(f64::total_cmp);
        assert_eq!(Grid::of(&sorted, 0.1), None);
        assert_eq!(Grid::of(&[], 0.1), None);
        assert_eq!(Grid::of(&on_grid(5.0, 1.0, 1, 500), 0.1), None, "one value is no grid");
        // Single stalls beside a grid do not hide it.
        let mut stalled = on_grid(30.0, 0.25, 20, 50);
        stalled.extend([40.03, 41.17, 55.5]);
        assert!((Grid::of(&stalled, 0.1).unwrap().step - 0.25).abs() < 1e-9);
    }
}

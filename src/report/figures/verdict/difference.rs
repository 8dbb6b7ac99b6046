//! The difference of two runs at a quantile, and whether it is more than luck.

use super::Measured;
use crate::measure::Series;
use crate::measure::statistics;
use crate::study::Gains;

/// Quantiles at which a gain is told, as [`Gains`] has them.
pub(super) const SHARES: [f64; 2] = [0.5, 0.99];
/// Stretches that a run is cut into.
const STRETCHES: usize = statistics::BATCHES;
/// Samples that a stretch must have for its quantile to mean something.
const LEAST_SAMPLES: usize = 20;

/// Pose to photon of two runs at one quantile.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Difference {
    /// Of the baseline \[ms\].
    pub baseline_ms: f64,
    /// Of the candidate \[ms\].
    pub candidate_ms: f64,
    /// Mean gain over seeds and half the width of its 95 % interval; none before it is known, or where some seed has none
    /// \[ms\].
    pub over_seeds_ms: Option<[f64; 2]>,
    /// Whether luck alone would hardly bring it about.
    sure: bool,
}

impl Difference {
    /// Of two runs that were both measured at place `at` of [`SHARES`]. Before gains over seeds are known, how far
    /// stretches of the two runs agree tells whether there is a difference at all.
    pub(super) fn of(at: usize, both: [Measured<'_>; 2], gains: Option<&Gains>) -> Self {
        let [baseline_ms, candidate_ms] = both.map(|one| {
            let of = &one.summary.pose_to_photon_ms;
            [of.p50, of.p99][at].unwrap_or(f64::NAN)
        });
        let gain_ms = baseline_ms - candidate_ms;
        let over_seeds_ms = gains.and_then(|gains| gains.at[at].mean.zip(gains.at[at].half_width));
        let sure = match (gains, over_seeds_ms) {
            // One run against the mean of all would be chance too.
            (_, Some((mean, half))) => mean.abs() > half && mean * gain_ms > 0.0,
            (Some(_), None) => false,
            (None, None) => agreement(SHARES[at], both.map(|one| &one.samples.pose_to_photon))
                .is_some_and(|half| gain_ms.abs() > half),
        };
        Self { baseline_ms, candidate_ms, over_seeds_ms: over_seeds_ms.map(Into::into), sure }
    }

    /// How much sooner the candidate is \[ms\].
    pub fn gain_ms(&self) -> f64 {
        self.baseline_ms - self.candidate_ms
    }

    /// Whether luck alone would hardly bring the gain about.
    pub fn sure(&self) -> bool {
        self.sure
    }
}

/// How far stretches of two runs agree in the difference of a quantile \[ms\]: the half width of batch means, both runs cut at
/// the same frames, so that what luck they share cancels. Too small where a lead was tuned from the run itself, so it is
/// shown nowhere.
fn agreement(share: f64, both: [&Series; 2]) -> Option<f64> {
    let first = both.iter().filter_map(|series| series.numbers.first()).min()?;
    let last = both.iter().filter_map(|series| series.numbers.last()).max()?;
    let frames = (last - first) as usize + 1;
    let border = |stretch: usize| first + (frames * stretch / STRETCHES) as u32;
    let mut gains = [0.0; STRETCHES];
    for (stretch, gain) in gains.iter_mut().enumerate() {
        let [baseline, candidate] =
            both.map(|series| stretch_quantile(series, border(stretch)..border(stretch + 1), share));
        *gain = baseline? - candidate?;
    }
    statistics::half_width(&gains)
}

/// Quantile of the values of some frames, linear between order statistics (Hyndman and Fan 1996, type 7).
fn stretch_quantile(series: &Series, frames: std::ops::Range<u32>, share: f64) -> Option<f64> {
    let [from, to] = [frames.start, frames.end].map(|frame| series.numbers.partition_point(|number| *number < frame));
    let mut values = series.values_ms[from..to].to_vec();
    if values.len() < LEAST_SAMPLES {
        return None;
    }
    let place = (values.len() - 1) as f64 * share;
    let (_, below, above) = values.select_nth_unstable_by(place as usize, f64::total_cmp);
    let next = above.iter().copied().fold(f64::INFINITY, f64::min);
    let rest = place.fract();
    Some(if rest > 0.0 { *below + rest * (next - *below) } else { *below })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn series(value: impl Fn(u32) -> f64) -> Series {
        Series { numbers: (100..2100).collect(), values_ms: (100..2100).map(value).collect() }
    }

    #[test]
    fn what_both_runs_share_cancels() {
        let luck = |frame: u32| f64::from(frame / 100 % 7);
        let half = agreement(0.5, [&series(|k| 40.0 + luck(k)), &series(|k| 30.0 + luck(k))]).unwrap();
        assert!(half.abs() < 1e-9);
        let apart = agreement(0.5, [&series(|k| 40.0 + luck(k)), &series(|_| 30.0)]).unwrap();
        assert!(apart > 0.5, "{apart}");
    }

    #[test]
    fn it_is_students_over_stretches() {
        // Stretches of 100 frames, gains alternating 1 and 3: sd = sqrt(20 / 19), t = 2.093 (Student's t, 19 degrees).
        let half = agreement(0.5, [&series(|k| if k / 100 % 2 == 0 { 1.0 } else { 3.0 }), &series(|_| 0.0)]).unwrap();
        let expected = 2.093_024 * (20.0f64 / 19.0).sqrt() / 20.0f64.sqrt();
        assert!((half - expected).abs() < 1e-6, "{half} against {expected}");
    }

    #[test]
    fn too_few_frames_have_none() {
        let few = Series { numbers: (0..60).collect(), values_ms: vec![1.0; 60] };
        assert_eq!(agreement(0.5, [&few, &few]), None);
        assert_eq!(agreement(0.5, [&Series::default(), &Series::default()]), None);
    }

    #[test]
    fn quantiles_of_a_stretch_are_those_of_type_seven() {
        // 0..=100: p99 at 99, p50 at 50; 0..=39: p99 at 38.61 (Hyndman and Fan 1996, definition 7).
        let all = Series { numbers: (0..=100).collect(), values_ms: (0..=100).map(f64::from).collect() };
        assert_eq!(stretch_quantile(&all, 0..101, 0.99), Some(99.0));
        let some = stretch_quantile(&all, 0..40, 0.99).unwrap();
        assert!((some - 38.61).abs() < 1e-9);
    }
}

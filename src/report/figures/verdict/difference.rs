//! The difference of two runs at a quantile, and how sure it is.

use super::Measured;
use crate::measure::statistics;
use crate::measure::{Leads, Series, tuned_leads};

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
    /// Half the width of the 95 % interval of their difference; none where it cannot be had \[ms\].
    pub half_width_ms: Option<f64>,
}

impl Difference {
    /// Of two runs that were both measured; `share` is 0.5 or 0.99.
    pub(super) fn of(share: f64, both: [Measured<'_>; 2]) -> Self {
        let known = both.map(|one| {
            let of = &one.summary.pose_to_photon_ms;
            if share > 0.9 { of.p99 } else { of.p50 }.unwrap_or(f64::NAN)
        });
        let leads = both.map(|one| tuned_leads(one.scenario, one.samples));
        let half_width_ms = half_width(share, both.map(|one| &one.samples.pose_to_photon), &leads);
        Self { baseline_ms: known[0], candidate_ms: known[1], half_width_ms }
    }

    /// How much sooner the candidate is \[ms\].
    pub fn gain_ms(&self) -> f64 {
        self.baseline_ms - self.candidate_ms
    }

    /// Whether the gain is beyond its uncertainty.
    pub fn sure(&self) -> bool {
        self.half_width_ms.is_some_and(|half| self.gain_ms().abs() > half)
    }
}

/// Half width of the 95 % interval of the difference of two quantiles, by the means of stretches (as batch means, Law and
/// Kelton 2000, section 9.5): both runs are cut at the same frames, so what luck they share cancels. It assumes that the
/// stretches are long against the memory of the content, and widens where neighbours are alike. A lead that was tuned is no
/// surer than the run that it was found from: each stretch counts with its part of that.
fn half_width(share: f64, both: [&Series; 2], leads: &[Option<Leads>; 2]) -> Option<f64> {
    let first = both.iter().filter_map(|series| series.numbers.first()).min()?;
    let last = both.iter().filter_map(|series| series.numbers.last()).max()?;
    let frames = (last - first) as usize + 1;
    let border = |stretch: usize| first + (frames * stretch / STRETCHES) as u32;
    let mut gains = [0.0; STRETCHES];
    for (stretch, gain) in gains.iter_mut().enumerate() {
        let [baseline, candidate] =
            both.map(|series| stretch_quantile(series, border(stretch)..border(stretch + 1), share));
        let [before, after] = leads.each_ref().map(|leads| leads.map_or(0.0, |leads| leads[stretch]));
        *gain = baseline? + before - candidate? - after;
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
        let half = half_width(0.5, [&series(|k| 40.0 + luck(k)), &series(|k| 30.0 + luck(k))], &[None; 2]).unwrap();
        assert!(half.abs() < 1e-9);
        let apart = half_width(0.5, [&series(|k| 40.0 + luck(k)), &series(|_| 30.0)], &[None; 2]).unwrap();
        assert!(apart > 0.5, "{apart}");
    }

    #[test]
    fn the_interval_is_students() {
        // Stretches of 100 frames, gains alternating 1 and 3: sd = sqrt(20 / 19), t = 2.093 (Student's t, 19 degrees).
        let half =
            half_width(0.5, [&series(|k| if k / 100 % 2 == 0 { 1.0 } else { 3.0 }), &series(|_| 0.0)], &[None; 2])
                .unwrap();
        let expected = 2.093_024 * (20.0f64 / 19.0).sqrt() / 20.0f64.sqrt();
        assert!((half - expected).abs() < 1e-6, "{half} against {expected}");
    }

    #[test]
    fn too_few_frames_have_no_interval() {
        let few = Series { numbers: (0..60).collect(), values_ms: vec![1.0; 60] };
        assert_eq!(half_width(0.5, [&few, &few], &[None; 2]), None);
        assert_eq!(half_width(0.5, [&Series::default(), &Series::default()], &[None; 2]), None);
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

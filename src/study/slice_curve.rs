//! Latency against slice count.

use std::sync::atomic::AtomicBool;

use super::cost::Cost;
use super::runner::{Runner, Watch};
use crate::measure::Summary;
use crate::scenario::{Scenario, Shape};
use crate::stop::Stop;

/// What a slice count comes to; none where there is nothing to measure, as for a pipeline that is not steady.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CurvePoint {
    /// Slices a frame.
    pub slices: u32,
    /// Lead used \[ms\].
    pub lead_ms: Option<f64>,
    /// Median of pose to photon \[ms\].
    pub p50_ms: Option<f64>,
    /// 99 % quantile of pose to photon \[ms\].
    pub p99_ms: Option<f64>,
    /// Median of the stream latency \[ms\].
    pub stream_p50_ms: Option<f64>,
    /// Mean of the photon age, which drops cannot flatter \[ms\].
    pub photon_age_mean_ms: Option<f64>,
    /// Missed refreshes \[%\].
    pub missed_pct: Option<f64>,
    /// Greatest offered load of encoder, link and decoder, a share.
    pub load: Option<f64>,
    /// Whether latency does not grow over the run.
    pub steady: bool,
}

impl CurvePoint {
    /// The point of a run.
    pub fn of(slices: u32, summary: &Summary) -> Self {
        let load = &summary.offered_load;
        Self {
            slices,
            lead_ms: summary.lead_ms,
            p50_ms: summary.pose_to_photon_ms.p50,
            p99_ms: summary.pose_to_photon_ms.p99,
            stream_p50_ms: summary.stream_ms.p50,
            photon_age_mean_ms: summary.photon_age_ms.mean,
            missed_pct: summary.missed_pct,
            load: [load.encoder, load.link, load.decoder].into_iter().flatten().reduce(f64::max),
            steady: summary.steady,
        }
    }

    /// Whether a server is offered more than it can do: frames are dropped or queue without end.
    pub fn overloaded(&self) -> bool {
        !self.steady || self.load > Some(1.0)
    }
}

/// Slice counts that show the curve of a scenario with few runs: every one to 12, then in growing steps to 64, its own
/// among them, as far as block rows allow. Given weights fix the count: that one alone.
pub fn curve_counts(scenario: &Scenario) -> Vec<u32> {
    let today = scenario.slices.count;
    if matches!(scenario.slices.shape, Shape::Weights(_)) {
        return vec![today];
    }
    let most = scenario.block_rows().min(64);
    let mut counts: Vec<u32> = (1..=12).chain([14, 16, 20, 24, 28, 32, 40, 48, 56, 64, today]).collect();
    counts.retain(|&count| count <= most);
    counts.sort_unstable();
    counts.dedup();
    counts
}

/// Runs a checked scenario at each slice count, with the same luck, on all cores; `on_point` gets each point as it is
/// found, in any order. Stops soon after `cancel` is set.
pub fn slice_curve(scenario: &Scenario, counts: &[u32], cancel: &AtomicBool, on_point: impl Fn(CurvePoint) + Sync) {
    let watch = Watch::new(Stop::when(cancel), &|_| ());
    let at = |count: u32| {
        let mut scenario = scenario.clone();
        scenario.slices.count = count;
        scenario
    };
    let bytes = counts.iter().max().map_or(0.0, |&most| Cost::of(&at(most)).bytes);
    // Whether it was stopped the caller knows.
    let _ = Runner::new().run(counts.len(), bytes, &watch, |number, space| {
        let count = counts[number];
        on_point(CurvePoint::of(count, &space.summary_unless(&at(count), watch.stop())?));
        Ok(())
    });
}

/// The point of least p99, among steady ones; of equal ones that with fewest slices.
pub fn best_count(points: &[CurvePoint]) -> Option<&CurvePoint> {
    points.iter().filter(|point| point.steady && point.p99_ms.is_some()).min_by(|a, b| {
        a.p99_ms.partial_cmp(&b.p99_ms).unwrap_or(std::cmp::Ordering::Equal).then(a.slices.cmp(&b.slices))
    })
}

#[cfg(test)]
mod tests {
    use std::sync::Mutex;
    use std::sync::atomic::Ordering;

    use super::*;
    use crate::study::Workspace;

    #[test]
    fn a_point_is_the_summary_at_its_count() {
        let mut scenario = Scenario::default();
        scenario.run.frames = 400;
        let points = Mutex::new(Vec::new());
        slice_curve(&scenario, &[1, 8, 32], &AtomicBool::new(false), |point| points.lock().unwrap().push(point));
        let mut points = points.into_inner().unwrap();
        points.sort_by_key(|point| point.slices);
        let counts: Vec<u32> = points.iter().map(|point| point.slices).collect();
        assert_eq!(counts, [1, 8, 32]);
        let eight = CurvePoint::of(8, &Workspace::new().summary(&scenario));
        assert_eq!(points[1], eight);
        assert!(points[1].p50_ms < points[0].p50_ms, "{points:?}");
        assert_eq!(best_count(&points).map(|point| point.slices), Some(8));
        assert!(points[2].load > Some(1.0), "32 slices overload the decoder: {points:?}");
    }

    #[test]
    fn nothing_runs_once_cancelled() {
        let count = std::sync::atomic::AtomicUsize::new(0);
        slice_curve(&Scenario::default(), &[1, 2, 3], &AtomicBool::new(true), |_| {
            count.fetch_add(1, Ordering::Relaxed);
        });
        assert_eq!(count.into_inner(), 0);
    }

    #[test]
    fn counts_hold_todays_and_stay_within_block_rows() {
        let mut scenario = Scenario::default();
        scenario.slices.count = 13;
        let counts = curve_counts(&scenario);
        assert!(counts.contains(&13) && counts.is_sorted() && counts[0] == 1 && counts.last() == Some(&64));
        scenario.slices.block_px = 64;
        assert_eq!(scenario.block_rows(), 34);
        assert_eq!(curve_counts(&scenario).last(), Some(&32));
        scenario.slices.shape = Shape::Weights(vec![1.0; 13]);
        assert_eq!(curve_counts(&scenario), [13]);
    }
}

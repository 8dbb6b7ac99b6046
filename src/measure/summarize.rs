//! From a run to its summary.

use super::budget;
use super::distribution::describe;
use super::gather::{self, FrameCounts, RefreshCounts};
use super::grounds::Grounds;
use super::left_over::{left_over, pacing_error};
use super::loads::Loads;
use super::path::Path;
use super::picture::picture;
use super::piece::Exposed;
use super::samples::Samples;
use super::statistics::Ranks;
use super::steadiness::Steadiness;
use super::summary::{Distribution, MotionToPhoton, Summary};
use crate::engine::{Pilot, Run};
use crate::scenario::{Pacing, Scenario};
use crate::stop::{Stop, Stopped};
use crate::work::WorkTable;

/// Measures a run of a scenario on a work table.
pub fn summarize(scenario: &Scenario, table: &WorkTable, run: &Run) -> Summary {
    summarize_into(scenario, table, run, &mut Samples::default())
}

/// Measures a run and leaves its single values in `samples`, whose arrays are used again.
pub fn summarize_into(scenario: &Scenario, table: &WorkTable, run: &Run, samples: &mut Samples) -> Summary {
    // Nobody asks to stop.
    summarize_unless(scenario, table, run, samples, Stop::NEVER).unwrap_or_default()
}

/// The same, unless stopped before it is done.
pub fn summarize_unless(
    scenario: &Scenario,
    table: &WorkTable,
    run: &Run,
    samples: &mut Samples,
    stop: Stop<'_>,
) -> Result<Summary, Stopped> {
    let warmup = (scenario.run.warmup as usize).min(run.frames.len());
    let path = Path::new(scenario, table, run);
    let mut loads = Loads::new(scenario, table, run, path);
    samples.clear();
    let frames = gather::frames(run, warmup, &path, &mut loads, samples, stop)?;
    let refreshes = gather::refreshes(run, warmup, samples, stop)?;

    let offered_load = loads.offered(scenario);
    let mut scratch = std::mem::take(&mut samples.scratch);
    let Steadiness { steady, growth_ms_per_frame } =
        Steadiness::of(scenario, run, &samples.turnaround, &offered_load, &mut scratch);
    let mut summary = Summary {
        name: scenario.name.clone(),
        frames: scenario.run.frames,
        warmup: scenario.run.warmup,
        seed: scenario.run.seed,
        lead_infinite: run.pilot == Pilot::Infinite,
        steady,
        growth_ms_per_frame,
        offered_load,
        busy: loads.busy(scenario),
        ..Summary::default()
    };
    summary.put_frames(scenario, &frames);
    summary.put_refreshes(scenario, &refreshes);
    let put = summary.put_distributions(scenario, run, samples, &mut scratch, stop);
    summary.put_budget(scenario, samples, &mut scratch);
    samples.scratch = scratch;
    put.map(|()| summary)
}

impl Summary {
    fn put_frames(&mut self, scenario: &Scenario, counts: &FrameCounts) {
        let share = |part: u32, whole: u32| (whole > 0).then(|| f64::from(part) / f64::from(whole));
        let intervals = matches!(scenario.pacing, Pacing::Intervals { .. });
        self.fates = counts.fates;
        self.repairs = counts.repairs;
        self.delivered_share = share(counts.fates.shown, counts.fates.total());
        self.late_share = share(counts.late, counts.targeted);
        self.lead_ms =
            (!intervals && counts.planned > 0).then(|| counts.leads_ns as f64 / f64::from(counts.planned) / 1e6);
        let shown = counts.fates.shown;
        self.exposed_ms =
            Exposed::new((shown > 0).then(|| counts.exposed_ns.map(|sum_ns| sum_ns as f64 / f64::from(shown) / 1e6)));
        self.picture = picture(scenario, counts.per_frame(counts.bits));
    }

    fn put_refreshes(&mut self, scenario: &Scenario, counts: &RefreshCounts) {
        let period_ms = scenario.refresh_period_ns() / 1e6;
        self.refresh_kinds = counts.kinds;
        self.refreshes = counts.kinds.total();
        if self.refreshes == 0 {
            return;
        }
        let missed = f64::from(counts.kinds.miss + counts.kinds.compose_miss);
        let refreshes = f64::from(self.refreshes);
        self.missed_pct = Some(100.0 * missed / refreshes);
        self.missed_per_minute = Some(missed / (refreshes * period_ms / 60e3));
        self.longest_freeze_refreshes = Some(counts.longest_freeze);
        self.longest_freeze_ms = Some(f64::from(counts.longest_freeze) * period_ms);
    }

    fn put_distributions(
        &mut self,
        scenario: &Scenario,
        run: &Run,
        samples: &Samples,
        scratch: &mut Vec<f64>,
        stop: Stop<'_>,
    ) -> Result<(), Stopped> {
        let steady = self.steady;
        let grounds = Grounds::of(scenario, samples);
        let whatever_lead = grounds.whatever_lead();
        let mut of = |values: &[f64]| {
            if stop.asked() { Err(Stopped) } else { Ok(describe(values, steady, &whatever_lead, scratch).0) }
        };
        self.stream_ms = of(&samples.stream.values_ms)?;
        self.stream_alone_ms = of(&samples.stream_alone.values_ms)?;
        self.stream_waiting_ms = of(&samples.stream_waiting.values_ms)?;
        self.turnaround_ms = of(&samples.turnaround.values_ms)?;
        // What varies of it is a beat of the clocks, no chance: batches would judge it much too sure.
        self.correction_age_ms =
            Distribution { mean_ci95: None, p99_ci95: None, ..of(&samples.correction_age.values_ms)? };
        self.photon_age_ms = describe(&samples.photon_age.values_ms, steady, &grounds, scratch).0;
        let (pose_to_photon, ranks) = describe(&samples.pose_to_photon.values_ms, steady, &grounds, scratch);
        self.pose_to_photon_ms = pose_to_photon;
        let p1_ms = ranks.and_then(|mut ranks| ranks.quantile(0.01));
        self.pacing_error = pacing_error(scenario, &pose_to_photon, p1_ms);
        let half_pose_period_ms = run.grid.pose_period_ns() / 2e6;
        let rotation: Distribution = self.correction_age_ms;
        self.motion_to_photon_ms = MotionToPhoton {
            hands: pose_to_photon.later_by(half_pose_period_ms),
            rotation: rotation.later_by(half_pose_period_ms),
        };
        // Slack against a lead that could not be tuned is none.
        let tuned = steady && !self.lead_infinite;
        self.headroom_ms =
            ranks_of(&samples.slack.values_ms, tuned, scratch).and_then(|mut ranks| ranks.quantile(0.01));
        let corrected = ranks_of(&samples.corrected.values_ms, steady, scratch);
        self.left_over = left_over(scenario, &self.pose_to_photon_ms, &self.correction_age_ms, corrected);
        if stop.asked() { Err(Stopped) } else { Ok(()) }
    }

    fn put_budget(&mut self, scenario: &Scenario, samples: &Samples, scratch: &mut Vec<f64>) {
        let pose_to_photon_ms = ranks_of(&samples.pose_to_photon.values_ms, self.steady, scratch)
            .and_then(|mut ranks| ranks.quantile(scenario.budget.quantile));
        self.budget = budget::lines(scenario, pose_to_photon_ms, self.missed_pct, &self.offered_load, &self.picture);
        self.allowances = budget::allowances(scenario, &self.exposed_ms);
    }
}

/// The ranks of values, where there is a meaning in them.
fn ranks_of<'a>(values: &[f64], steady: bool, scratch: &'a mut Vec<f64>) -> Option<Ranks<'a>> {
    if !steady || values.is_empty() {
        return None;
    }
    scratch.clear();
    scratch.extend_from_slice(values);
    Some(Ranks::new(scratch))
}

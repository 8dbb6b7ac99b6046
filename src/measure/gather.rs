//! One walk over a run's frames and one over its refreshes gather all that is counted and all single values.

use super::loads::Loads;
use super::path::{Path, Services};
use super::piece::Piece;
use super::samples::Samples;
use super::summary::{Fates, RefreshKinds, Repairs};
use crate::engine::{FrameRecord, RefreshKind, Run};
use crate::stop::{Stop, Stopped};
use crate::time::ns_to_ms;

/// What is counted of the frames.
#[derive(Debug, Default)]
pub(super) struct FrameCounts {
    pub fates: Fates,
    /// Counted frames with a target.
    pub targeted: u32,
    pub late: u32,
    /// Counted frames that were planned, and the sum of their leads \[ns\].
    pub planned: u32,
    pub leads_ns: i64,
    pub bits: i64,
    pub repairs: Repairs,
    /// Sum of the shown frames' exposed times by piece \[ns\].
    pub exposed_ns: [i64; Piece::COUNT],
}

/// Walks over the frames: counts, single values, loads.
pub(super) fn frames(
    run: &Run,
    warmup: usize,
    path: &Path,
    loads: &mut Loads,
    samples: &mut Samples,
    stop: Stop<'_>,
) -> Result<FrameCounts, Stopped> {
    let mut counts = FrameCounts::default();
    for frame in 0..warmup {
        if !loads.over_before_span(frame) {
            loads.spend(frame, None);
        }
    }
    for frame in warmup..run.frames.len() {
        if stop.asked() {
            return Err(Stopped);
        }
        let record = &run.frames[frame];
        let took = path.services(frame);
        let slack_ns = run.slack_ns(frame);
        counts.add(record, slack_ns);
        loads.offer(frame, took.as_ref());
        loads.spend(frame, took.as_ref());
        if let Some(slack_ns) = slack_ns {
            samples.slack.push(frame as u32, ns_to_ms(slack_ns));
        }
        add_shown(run, frame, path, samples, &mut counts.exposed_ns);
        add_ready(frame, record, took, samples);
    }
    counts.repairs = repairs(run, warmup);
    loads.offer_resends(warmup);
    loads.spend_on_resends();
    Ok(counts)
}

/// What resends of frames from `first` on were good for. A slice of which packets were lost becomes complete by a resend, or
/// never.
fn repairs(run: &Run, first: usize) -> Repairs {
    let aimed = run.frames.iter().skip(first).any(|record| record.target.is_some());
    let mut repairs = Repairs { in_time: aimed.then_some(0), ..Repairs::default() };
    // The first resend of a slice stands for all of its.
    for resend in run.resends.iter().filter(|resend| resend.frame as usize >= first && resend.attempt == 1) {
        let frame = resend.frame as usize;
        repairs.resent += 1;
        if run.slices_of(frame).at(resend.slice as usize).complete().happened() {
            repairs.repaired += 1;
            let in_time = u32::from(run.late(frame) == Some(false));
            repairs.in_time = repairs.in_time.map(|so_far| so_far + in_time);
        }
    }
    repairs
}

impl FrameCounts {
    #[inline]
    fn add(&mut self, record: &FrameRecord, slack_ns: Option<i64>) {
        self.fates.count(record.fate);
        if record.target.is_some() {
            self.targeted += 1;
            // Never ready is late, too.
            self.late += u32::from(slack_ns.is_none_or(|slack_ns| slack_ns < 0));
        }
        if record.plan.happened() {
            self.planned += 1;
            self.leads_ns += record.lead_ns;
        }
        self.bits += record.bits;
    }

    /// Mean of a sum over counted frames; none without frames.
    pub(super) fn per_frame(&self, sum: i64) -> Option<f64> {
        let frames = self.fates.total();
        (frames > 0).then(|| sum as f64 / f64::from(frames))
    }
}

/// Adds pose to photon of a frame that was shown, and its exposed times by piece.
#[inline]
fn add_shown(run: &Run, frame: usize, path: &Path, samples: &mut Samples, exposed_ns: &mut [i64; Piece::COUNT]) {
    let Some((photon_ns, pose_ns)) = run.photon_ns(frame).zip(run.frames[frame].pose.ns()) else { return };
    samples.pose_to_photon.push(frame as u32, ns_to_ms(photon_ns - pose_ns));
    // A frame that was shown has been everywhere, so the walk does not break off.
    let _ = path.walk_back(frame, |span| exposed_ns[span.piece as usize] += span.length_ns());
}

/// Adds turnaround and stream latency of a frame that got ready.
#[inline]
fn add_ready(frame: usize, record: &FrameRecord, took: Option<Services>, samples: &mut Samples) {
    let number = frame as u32;
    let Some(ready_ns) = record.ready.ns() else { return };
    if let Some(plan_ns) = record.plan.ns() {
        samples.turnaround.push(number, ns_to_ms(ready_ns - plan_ns));
    }
    if let Some((rendered_ns, took)) = record.rendered.ns().zip(took) {
        samples.stream.push(number, ns_to_ms(ready_ns - rendered_ns));
        samples.stream_alone.push(number, ns_to_ms(took.ready_alone_ns - rendered_ns));
        samples.stream_waiting.push(number, ns_to_ms(ready_ns - took.ready_alone_ns));
    }
}

/// What is counted of the refreshes.
#[derive(Debug, Default)]
pub(super) struct RefreshCounts {
    pub kinds: RefreshKinds,
    /// Longest run without a new frame.
    pub longest_freeze: u32,
}

/// First and last counted refresh: those that target or first show a counted frame, as far as the run went. None where
/// there is no such refresh.
pub fn counted_refreshes(run: &Run, warmup: usize) -> Option<(usize, usize)> {
    let frames = run.frames.iter().skip(warmup);
    let refreshes = frames.flat_map(|record| [record.target, record.shown]).flatten();
    let ends = refreshes.fold(None, |ends: Option<(u32, u32)>, refresh| {
        Some(ends.map_or((refresh, refresh), |(first, last)| (first.min(refresh), last.max(refresh))))
    });
    let (first, last) = ends.map(|(first, last)| (first as usize, last as usize))?;
    let last = last.min(run.refreshes.len().checked_sub(1)?);
    (first <= last).then_some((first, last))
}

/// Walks over the counted refreshes: counts, ages of what is on display and of its correction.
pub(super) fn refreshes(
    run: &Run,
    warmup: usize,
    samples: &mut Samples,
    stop: Stop<'_>,
) -> Result<RefreshCounts, Stopped> {
    let mut counts = RefreshCounts::default();
    let Some((first, last)) = counted_refreshes(run, warmup) else { return Ok(counts) };
    let newest_pose_ns = |latch_ns: i64| run.grid.newest_pose_ns(latch_ns, 0);
    // The pose that late correction uses: of the last refresh whose compose was in time.
    let correction_ns = run.refreshes[..first].iter().rposition(|refresh| refresh.composed);
    let mut correction_ns = correction_ns.map(|refresh| newest_pose_ns(run.grid.latch_ns(refresh as i64)));
    let mut freeze = 0;
    for refresh in first..=last {
        if stop.asked() {
            return Err(Stopped);
        }
        let record = &run.refreshes[refresh];
        counts.kinds.count(record.kind);
        freeze = if record.kind == RefreshKind::New { 0 } else { freeze + 1 };
        counts.longest_freeze = counts.longest_freeze.max(freeze);
        let number = refresh as u32;
        let vsync_ns = run.grid.vsync_ns(refresh as i64);
        let photon_ns = vsync_ns + run.grid.photon_offset_ns();
        if record.composed {
            correction_ns = Some(newest_pose_ns(vsync_ns - run.grid.latch_lead_ns()));
        }
        let correction_age_ns = correction_ns.map(|pose_ns| photon_ns - pose_ns);
        if let Some(age_ns) = correction_age_ns {
            samples.correction_age.push(number, ns_to_ms(age_ns));
        }
        let Some(frame) = record.frame else { continue };
        let Some(pose_ns) = run.frames[frame as usize].pose.ns() else { continue };
        samples.photon_age.push(number, ns_to_ms(photon_ns - pose_ns));
        if let Some(age_ns) = correction_age_ns
            && record.kind == RefreshKind::New
            && frame as usize >= warmup
        {
            samples.corrected.push(frame, ns_to_ms(photon_ns - pose_ns - age_ns));
        }
    }
    Ok(counts)
}

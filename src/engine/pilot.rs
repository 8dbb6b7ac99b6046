//! The lead that meets a share of late frames, from a pilot run.

use super::run::Run;
use super::setup::PILOT_LEAD_NS;

/// The lead at which `late_share` of the counted frames would have been late, to within one frame: the type-7 quantile
/// `1 - late_share` (Hyndman and Fan 1996) of ready times after the pilot's plans, rounded up to ns, at least 1. Linear
/// between two frames, it may leave up to one frame more late than the share asks for.
/// None where no lead meets the share.
pub(super) fn tuned_lead_ns(pilot: &Run, warmup: usize, late_share: f64) -> Option<i64> {
    // Never ready is infinitely late; i64::MAX stands for it and sorts last.
    let mut needed_ns: Vec<i64> = (warmup..pilot.frames.len())
        .map(|frame| pilot.slack_ns(frame).map_or(i64::MAX, |slack_ns| PILOT_LEAD_NS - slack_ns))
        .collect();
    let position = (needed_ns.len().checked_sub(1)?) as f64 * (1.0 - late_share);
    let (below, weight) = (position.floor() as usize, position.fract());
    let (_, &mut low, above) = needed_ns.select_nth_unstable(below);
    if low == i64::MAX {
        return None;
    }
    let lead = if weight > 0.0 {
        let high = above.iter().copied().min().filter(|&high| high < i64::MAX)?;
        low as f64 + weight * (high - low) as f64
    } else {
        low as f64
    };
    Some((lead.ceil() as i64).max(1))
}

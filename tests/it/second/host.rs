//! "Plans", "Host": when frames are planned, simulated and rendered.

use std::collections::{BTreeSet, VecDeque};

use framelap::engine::{Fate, Stamp};
use framelap::scenario::{Pacing, Scenario, Taken};

use super::cut;
use super::room::Stage;
use super::world::{Kind, World};

pub(super) struct Host {
    /// J0; none with intervals.
    first_target: Option<u32>,
    lead_ns: i64,
    /// Whether the host has heard of a late frame.
    heard_late: bool,
    /// The frame planned last, while it has not begun.
    pending: Option<usize>,
    /// When the last frame of all was planned.
    pub(super) last_plan_ns: Option<i64>,
    simulating: bool,
    /// Simulated frames that wait for the GPU.
    simulated: VecDeque<usize>,
    rendering: bool,
    /// "frames [...] between the start of simulate and the coming out of their last encoded slice (or their drop before
    /// encode)"
    pub(super) in_flight: BTreeSet<usize>,
}

impl Host {
    pub(super) fn new(scenario: &Scenario, starting_lead_ns: i64) -> Self {
        // "J0 the least j >= 0 with `D_j - starting lead > 0`"
        let can_target = |&refresh: &u32| cut::latch_ns(scenario, i64::from(refresh)) - starting_lead_ns > 0;
        let has_targets = !matches!(scenario.pacing, Pacing::Intervals { .. });
        Self {
            first_target: if has_targets { (0..u32::MAX).find(can_target) } else { None },
            lead_ns: starting_lead_ns,
            heard_late: false,
            pending: None,
            last_plan_ns: None,
            simulating: false,
            simulated: VecDeque::new(),
            rendering: false,
            in_flight: BTreeSet::new(),
        }
    }
}

impl World<'_> {
    pub(super) fn first_plan(&mut self) {
        self.fix_plan(0, 0);
    }

    /// Fixes when a frame is planned, not before `before_ns`.
    fn fix_plan(&mut self, frame: usize, before_ns: i64) {
        let at_ns = match self.scenario.pacing {
            // "Intervals: plan 0 at 0, plan k+1 `interval_k` after plan k; no targets."
            Pacing::Intervals { .. } => {
                before_ns + if frame == 0 { 0 } else { self.table.frames[frame - 1].interval_ns }
            }
            // "Frame k is planned for refresh `j(k) = J0 + k*every` [...], at host time `P_k = max(0, D_j(k) - lead +
            // clock_error_k)`, never before plan k-1."
            Pacing::Fixed { .. } | Pacing::Adaptive { .. } => {
                let target = self.target(frame).unwrap();
                let latch_ns = cut::latch_ns(self.scenario, i64::from(target));
                self.frames[frame].target = Some(target);
                self.frames[frame].lead_ns = self.host.lead_ns;
                (latch_ns - self.host.lead_ns + self.table.frames[frame].clock_error_ns).max(0).max(before_ns)
            }
        };
        self.later(at_ns, Kind::Plan, frame, 0);
    }

    pub(super) fn target(&self, frame: usize) -> Option<u32> {
        match self.scenario.pacing {
            Pacing::Fixed { every, .. } | Pacing::Adaptive { every, .. } => {
                Some(self.host.first_target? + frame as u32 * every)
            }
            Pacing::Intervals { .. } => None,
        }
    }

    pub(super) fn plan(&mut self, frame: usize) {
        self.frames[frame].plan = Stamp::at(self.now);
        // "When plan k falls due while frame k-1 has not begun, frame k-1 is skipped."
        if let Some(skipped) = self.host.pending {
            self.end_frame(skipped, Fate::Skipped);
        }
        self.host.pending = Some(frame);
        if frame + 1 < self.frames.len() {
            // "Plan k+1 is fixed when plan k is handled, with the lead known then."
            self.fix_plan(frame + 1, self.now);
        } else {
            self.host.last_plan_ns = Some(self.now);
        }
    }

    /// "Late: `lead = min(max, lead + step)`. Early: `lead = max(min, lead - down)`, `down = step` until the first late
    /// word, after it `round(step*q/(1-q))`."
    pub(super) fn lateness_told(&mut self, frame: usize) {
        let Pacing::Adaptive { min_ms, max_ms, step_ms, late_target, .. } = self.scenario.pacing else { return };
        let latch_ns = cut::latch_ns(self.scenario, i64::from(self.target(frame).unwrap()));
        let late = latch_ns - self.frames[frame].ready.ns().unwrap() < 0;
        let step_ns = cut::ms(step_ms);
        let host = &mut self.host;
        if late {
            host.heard_late = true;
            host.lead_ns = cut::ms(max_ms).min(host.lead_ns + step_ns);
        } else {
            let slow_ns = (step_ns as f64 * late_target / (1.0 - late_target)).round() as i64;
            let down_ns = if host.heard_late { slow_ns } else { step_ns };
            host.lead_ns = cut::ms(min_ms).max(host.lead_ns - down_ns);
        }
    }

    /// "CPU begins the pending frame when idle and fewer than `frames_in_flight` frames are [in flight]"
    pub(super) fn start_cpu(&mut self) {
        let few = self.host.in_flight.len() < self.scenario.host.frames_in_flight as usize;
        if self.host.simulating || !few {
            return;
        }
        let Some(frame) = self.host.pending.take() else { return };
        self.host.simulating = true;
        self.host.in_flight.insert(frame);
        self.frames[frame].start = Stamp::at(self.now);
        if self.scenario.pose.taken == Taken::AtSimulate {
            self.take_pose(frame);
        }
        self.later(self.now + self.table.frames[frame].simulate_ns, Kind::SimulateEnd, frame, 0);
    }

    fn take_pose(&mut self, frame: usize) {
        let pose_ns = cut::pose_ns(self.scenario, self.now, self.uplink_ns(frame));
        self.frames[frame].pose = Stamp::at(pose_ns);
    }

    pub(super) fn simulate_end(&mut self, frame: usize) {
        self.frames[frame].simulated = Stamp::at(self.now);
        self.host.simulating = false;
        self.host.simulated.push_back(frame);
    }

    /// "GPU takes simulated frames in order and renders in `parts` m: part p ends at `start + round(render*(p+1)/m)`"
    pub(super) fn start_gpu(&mut self) {
        if self.host.rendering || !self.before_encode.lets_a_frame_begin_before() {
            return;
        }
        let Some(frame) = self.host.simulated.pop_front() else { return };
        self.host.rendering = true;
        self.before_encode.begun_before(frame);
        self.frames[frame].render_start = Stamp::at(self.now);
        if self.scenario.pose.taken == Taken::AtRender {
            self.take_pose(frame);
        }
        let (render_ns, m) = (self.table.frames[frame].render_ns, i64::from(self.scenario.host.parts));
        for part in 0..m {
            let after_ns = ((render_ns * (part + 1)) as f64 / m as f64).round() as i64;
            self.later(self.now + after_ns, Kind::RenderPartEnd, frame, part as usize);
        }
    }

    /// "slice i comes to the encoder at the end of part `ceil((i+1)*m/n) - 1`"
    pub(super) fn render_part_end(&mut self, frame: usize, part: usize) {
        let m = self.scenario.host.parts as usize;
        if part + 1 == m {
            self.host.rendering = false;
            self.frames[frame].rendered = Stamp::at(self.now);
        }
        for slice in 0..self.n {
            if ((slice + 1) * m).div_ceil(self.n) - 1 == part {
                self.record((frame, slice)).come = Stamp::at(self.now);
                self.come(Stage::Encode, (frame, slice));
            }
        }
    }
}

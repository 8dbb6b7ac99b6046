//! The clocks of display and pose tracker: refreshes, latches, photons, pose samples.

use crate::scenario::{Light, Scenario};
use crate::time::{ms_to_ns, round_to_ns};

/// When vsyncs, latches, photons and pose samples are.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Grid {
    refresh_hz: f64,
    latch_lead_ns: i64,
    photon_offset_ns: i64,
    pose_rate_hz: f64,
    pose_processing_ns: i64,
}

impl Grid {
    /// The grid of a scenario.
    pub fn new(scenario: &Scenario) -> Self {
        let display = &scenario.display;
        let offset_ms = match display.light {
            Light::Global => display.scanout_ms + display.persistence_ms / 2.0,
            Light::Rolling => f64::midpoint(display.scanout_ms, display.persistence_ms),
        };
        Self {
            refresh_hz: display.refresh_hz,
            latch_lead_ns: ms_to_ns(display.latch_lead_ms),
            photon_offset_ns: ms_to_ns(offset_ms),
            pose_rate_hz: scenario.pose.rate_hz,
            pose_processing_ns: ms_to_ns(scenario.pose.processing_ms),
        }
    }

    /// Vsync of refresh `j` \[ns\].
    pub fn vsync_ns(&self, refresh: i64) -> i64 {
        round_to_ns(refresh as f64 * 1e9 / self.refresh_hz)
    }

    /// Latch of refresh `j` \[ns\].
    pub fn latch_ns(&self, refresh: i64) -> i64 {
        self.vsync_ns(refresh) - self.latch_lead_ns
    }

    /// Photons of refresh `j` \[ns\].
    pub fn photon_ns(&self, refresh: i64) -> i64 {
        self.vsync_ns(refresh) + self.photon_offset_ns
    }

    /// From vsync to photons \[ns\].
    pub fn photon_offset_ns(&self) -> i64 {
        self.photon_offset_ns
    }

    /// From latch to vsync \[ns\].
    pub fn latch_lead_ns(&self) -> i64 {
        self.latch_lead_ns
    }

    /// Refresh period \[ns\].
    pub fn refresh_period_ns(&self) -> f64 {
        1e9 / self.refresh_hz
    }

    /// Pose period \[ns\].
    pub fn pose_period_ns(&self) -> f64 {
        1e9 / self.pose_rate_hz
    }

    /// The newest pose sample that can be used at `ns` after `delay_ns` on the way: the largest sample time not after
    /// `ns - processing - delay_ns` \[ns\].
    pub fn newest_pose_ns(&self, ns: i64, delay_ns: i64) -> i64 {
        let latest = ns - self.pose_processing_ns - delay_ns;
        let sample = |m: i64| round_to_ns(m as f64 * 1e9 / self.pose_rate_hz);
        // Near enough: the steps below find the very one.
        let mut m = (latest as f64 * (self.pose_rate_hz * 1e-9)) as i64;
        let mut newest = sample(m);
        while newest > latest {
            m -= 1;
            newest = sample(m);
        }
        loop {
            let next = sample(m + 1);
            if next > latest {
                return newest;
            }
            m += 1;
            newest = next;
        }
    }
}

//! What surrounds the stages: pacing, clock, content, motion, budget, length of the run.

use serde::{Deserialize, Serialize};

use super::spread::Spread;

/// When the host plans its frames.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Pacing {
    /// For every so-manyth refresh, a fixed lead before its latch.
    Fixed {
        /// The lead.
        #[serde(default = "tuned")]
        lead: Lead,
        /// Refreshes per frame.
        #[serde(default = "one")]
        every: u32,
    },
    /// At intervals of its own, whatever the display does.
    Intervals {
        /// Mean interval \[ms\].
        mean_ms: f64,
        /// Spread of the interval.
        #[serde(default = "constant")]
        spread: Spread,
    },
    /// A lead that grows when the device says that a frame was late and shrinks when it was early.
    Adaptive {
        /// First lead \[ms\].
        start_ms: f64,
        /// Least lead \[ms\].
        min_ms: f64,
        /// Greatest lead \[ms\].
        max_ms: f64,
        /// Growth at a late frame \[ms\].
        step_ms: f64,
        /// Share of late frames aimed at.
        late_target: f64,
        /// Refreshes per frame.
        #[serde(default = "one")]
        every: u32,
    },
}

fn tuned() -> Lead {
    Lead::Tuned { late_share: 0.005 }
}

fn one() -> u32 {
    1
}

fn constant() -> Spread {
    Spread::Constant
}

impl Default for Pacing {
    fn default() -> Self {
        Self::Fixed { lead: tuned(), every: one() }
    }
}

/// How long before its latch a frame is planned.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub enum Lead {
    /// So many ms.
    Ms(f64),
    /// The least lead at which this share of frames is late, found by a pilot run.
    Tuned {
        /// Share of late frames.
        late_share: f64,
    },
}

/// The host's clock against the device's.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Clock {
    /// Standard deviation of the error after each synchronisation \[us\].
    pub error_us: f64,
    /// Drift between synchronisations \[ppm\].
    pub drift_ppm: f64,
    /// Time between synchronisations \[s\]; 0: never.
    pub resync_s: f64,
}

impl Default for Clock {
    fn default() -> Self {
        Self { error_us: 50.0, drift_ppm: 20.0, resync_s: 1.0 }
    }
}

/// Complexity of the content: log-normal of mean 1, correlated from frame to frame.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Content {
    /// Standard deviation over mean.
    pub cv: f64,
    /// Correlation of the logarithm from frame to frame.
    pub memory: f64,
}

impl Default for Content {
    fn default() -> Self {
        Self { cv: 0.1, memory: 0.99 }
    }
}

/// Motion of the wearer that the measures of left-over motion are for.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Motion {
    /// Head rotation \[deg/s\].
    pub head_deg_per_s: f64,
    /// Its acceleration \[deg/s2\].
    pub head_deg_per_s2: f64,
    /// Head translation \[m/s\].
    pub move_m_per_s: f64,
    /// Its acceleration \[m/s2\].
    pub move_m_per_s2: f64,
    /// Distance of the nearest thing seen \[m\].
    pub nearest_m: f64,
    /// Whether poses are predicted to the photons.
    pub predict: bool,
}

impl Default for Motion {
    fn default() -> Self {
        Self {
            head_deg_per_s: 100.0,
            head_deg_per_s2: 1000.0,
            move_m_per_s: 0.5,
            move_m_per_s2: 2.0,
            nearest_m: 1.0,
            predict: true,
        }
    }
}

/// What the design must hold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Budget {
    /// Pose to photon at the quantile \[ms\].
    pub pose_to_photon_ms: f64,
    /// The quantile.
    pub quantile: f64,
    /// Missed refreshes \[%\].
    pub missed_pct: f64,
    /// Greatest offered load of a server \[%\].
    pub load_pct: f64,
    /// Highest level of the codec's standard.
    pub level_max: String,
    /// Least bits per coded pixel.
    pub bits_per_px_min: f64,
    /// How the time is split.
    pub pieces: BudgetPieces,
}

impl Default for Budget {
    fn default() -> Self {
        Self {
            pose_to_photon_ms: 38.0,
            quantile: 0.99,
            missed_pct: 1.0,
            load_pct: 85.0,
            level_max: "6.1".to_owned(),
            bits_per_px_min: 0.1,
            pieces: BudgetPieces::default(),
        }
    }
}

/// Mean exposed time that each team may use \[ms\].
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct BudgetPieces {
    /// Age of the pose at its use.
    pub pose_ms: f64,
    /// Simulate.
    pub simulate_ms: f64,
    /// Render.
    pub render_ms: f64,
    /// Encode, its pipeline included.
    pub encode_ms: f64,
    /// Link, with propagation, delay, repair and closures.
    pub link_ms: f64,
    /// Decode, its pipeline included.
    pub decode_ms: f64,
    /// Waits of every kind.
    pub wait_ms: f64,
    /// From latch to vsync.
    pub latch_ms: f64,
    /// From vsync to photons.
    pub light_ms: f64,
}

impl Default for BudgetPieces {
    fn default() -> Self {
        Self {
            pose_ms: 2.0,
            simulate_ms: 2.5,
            render_ms: 7.0,
            encode_ms: 2.0,
            link_ms: 0.5,
            decode_ms: 8.0,
            wait_ms: 2.5,
            latch_ms: 4.0,
            light_ms: 9.5,
        }
    }
}

/// Length of the run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct RunLength {
    /// Frames planned.
    pub frames: u32,
    /// First frames that do not count.
    pub warmup: u32,
    /// Seed of all chance.
    pub seed: u64,
}

impl Default for RunLength {
    fn default() -> Self {
        Self { frames: 9000, warmup: 180, seed: 1 }
    }
}

impl RunLength {
    /// Lets at least half of the frames count: for a run that was made shorter than its warm-up was meant for.
    pub fn keep_half(&mut self) {
        self.warmup = self.warmup.min(self.frames / 2);
    }
}

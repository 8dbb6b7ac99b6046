//! What a run comes to: the numbers that reports, window and command line show, named as in the JSON output.
//!
//! Whatever cannot be measured is `None` and null in JSON, never 0.

use serde::Serialize;

use super::budget::BudgetLine;
use super::piece::Exposed;
use super::server::Servers;
use crate::engine::{Fate, RefreshKind};

/// All measures of one run. Frames from `warmup` on count, and refreshes from the first that targets or first shows one
/// of them to the last that does.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Summary {
    /// The scenario's name.
    pub name: String,
    /// Frames planned.
    pub frames: u32,
    /// First frames that do not count.
    pub warmup: u32,
    /// Seed of all chance.
    pub seed: u64,
    /// Mean of the leads that the counted frames were planned with \[ms\]; none with intervals.
    pub lead_ms: Option<f64>,
    /// Whether a lead was to be tuned and no lead meets the share asked for (the lead is 60 ms then).
    pub lead_infinite: bool,
    /// Whether the run settled; if not, quantiles and intervals mean nothing and are none.
    pub steady: bool,
    /// Growth of the turnaround where it did not settle \[ms per frame\].
    pub growth_ms_per_frame: Option<f64>,
    /// Shown frames over counted ones.
    pub delivered_share: Option<f64>,
    /// Late frames (not ready at the latch of their target, or never) over counted ones; none with intervals.
    pub late_share: Option<f64>,
    /// Counted refreshes.
    pub refreshes: u32,
    /// From the pose that a frame was made with to the photons of the refresh that first shows it, over shown frames.
    pub pose_to_photon_ms: Distribution,
    /// Half a pose period more than what stands behind it.
    pub motion_to_photon_ms: MotionToPhoton,
    /// Age of the pose of what is on display, at every refresh with something on display.
    pub photon_age_ms: Distribution,
    /// From the last part rendered to the last slice out of the decoder, over frames that got ready.
    pub stream_ms: Distribution,
    /// The part of it that the frame would take alone, on a link that neither closes nor loses.
    pub stream_alone_ms: Distribution,
    /// The rest of it: waiting for other frames, closures and repair.
    pub stream_waiting_ms: Distribution,
    /// From plan to ready, over frames that got ready.
    pub turnaround_ms: Distribution,
    /// Age of the pose that late correction used, at every refresh; without intervals, since it goes by the clocks.
    pub correction_age_ms: Distribution,
    /// Counted frames by fate.
    pub fates: Fates,
    /// What resends were good for.
    pub repairs: Repairs,
    /// Counted refreshes by kind.
    pub refresh_kinds: RefreshKinds,
    /// Refreshes of kind miss or compositor miss over counted ones \[%\].
    pub missed_pct: Option<f64>,
    /// The same per minute.
    pub missed_per_minute: Option<f64>,
    /// Longest run of counted refreshes without a new frame.
    pub longest_freeze_refreshes: Option<u32>,
    /// The same in time: so many refresh periods \[ms\].
    pub longest_freeze_ms: Option<f64>,
    /// Judder.
    pub pacing_error: PacingError,
    /// 1 % quantile of the slack of frames that got ready: what a worse link may cost; none where no lead could be tuned \[ms\].
    pub headroom_ms: Option<f64>,
    /// Mean work per counted frame over engines times frame period; may exceed 1.
    pub offered_load: Servers<Option<f64>>,
    /// Share of the counted span in which a server, or its engines on average, was busy.
    pub busy: Servers<Option<f64>>,
    /// Mean exposed time by piece over shown frames \[ms\]; sums to the mean pose to photon.
    pub exposed_ms: Exposed,
    /// Motion left over for the wearer to see.
    pub left_over: LeftOver,
    /// Pixels, bits and the codec level they need.
    pub picture: Picture,
    /// The budget, line by line.
    pub budget: Vec<BudgetLine>,
    /// How the budget's time is split: each team's mean exposed time against what it may use. One team over its allowance is
    /// something to talk about, no failed budget: another may have left as much.
    pub allowances: Vec<BudgetLine>,
}

impl Summary {
    /// Whether every line of the budget is met.
    pub fn budget_met(&self) -> bool {
        self.budget.iter().all(|line| line.met)
    }
}

/// How a measure is distributed. Quantiles are of type 7 (Hyndman and Fan 1996).
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Distribution {
    /// Values that there are.
    pub count: u64,
    /// Mean.
    pub mean: Option<f64>,
    /// Standard deviation (n - 1).
    pub sd: Option<f64>,
    /// Least value.
    pub min: Option<f64>,
    /// Median.
    pub p50: Option<f64>,
    /// 90 % quantile.
    pub p90: Option<f64>,
    /// 95 % quantile.
    pub p95: Option<f64>,
    /// 99 % quantile.
    pub p99: Option<f64>,
    /// 99.9 % quantile.
    pub p999: Option<f64>,
    /// Greatest value.
    pub max: Option<f64>,
    /// 95 % interval of the mean, low and high, by 20 batch means, a tuned lead's own doubt included.
    pub mean_ci95: Option<[f64; 2]>,
    /// 95 % interval of the 99 % quantile, low and high, by order statistics at the effective size.
    pub p99_ci95: Option<[f64; 2]>,
}

/// Motion to photon, for the two things that late correction treats differently.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct MotionToPhoton {
    /// Of hands and translation, which late correction cannot mend: pose to photon and half a pose period.
    pub hands: Distribution,
    /// Of rotation, which it can: correction age and half a pose period.
    pub rotation: Distribution,
}

/// Counted frames by fate.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Fates {
    /// Taken by the compositor.
    pub shown: u32,
    /// A newer frame was taken instead.
    pub superseded: u32,
    /// Not begun when the next plan fell due.
    pub skipped: u32,
    /// Dropped by the buffer before encode.
    pub dropped_encode: u32,
    /// Dropped by the buffer before the link.
    pub dropped_link: u32,
    /// Dropped by the buffer before decode.
    pub dropped_decode: u32,
    /// Lost packets not repaired.
    pub lost: u32,
    /// A frame it needs was missing.
    pub undecodable: u32,
    /// The run ended first.
    pub in_flight: u32,
}

impl Fates {
    /// What a fate is called for people.
    pub const fn label(fate: Fate) -> &'static str {
        match fate {
            Fate::Shown => "Shown",
            Fate::Superseded => "Superseded",
            Fate::Skipped => "Skipped",
            Fate::DroppedEncode => "Dropped before encode",
            Fate::DroppedLink => "Dropped before link",
            Fate::DroppedDecode => "Dropped before decode",
            Fate::Lost => "Lost on the link",
            Fate::Undecodable => "Undecodable",
            Fate::InFlight => "In flight at the end",
        }
    }

    /// Frames of one fate.
    pub const fn of(&self, fate: Fate) -> u32 {
        match fate {
            Fate::Shown => self.shown,
            Fate::Superseded => self.superseded,
            Fate::Skipped => self.skipped,
            Fate::DroppedEncode => self.dropped_encode,
            Fate::DroppedLink => self.dropped_link,
            Fate::DroppedDecode => self.dropped_decode,
            Fate::Lost => self.lost,
            Fate::Undecodable => self.undecodable,
            Fate::InFlight => self.in_flight,
        }
    }

    /// All counted frames.
    pub fn total(&self) -> u32 {
        Fate::ALL.into_iter().map(|fate| self.of(fate)).sum()
    }

    /// Counts one frame more.
    pub(super) fn count(&mut self, fate: Fate) {
        *match fate {
            Fate::Shown => &mut self.shown,
            Fate::Superseded => &mut self.superseded,
            Fate::Skipped => &mut self.skipped,
            Fate::DroppedEncode => &mut self.dropped_encode,
            Fate::DroppedLink => &mut self.dropped_link,
            Fate::DroppedDecode => &mut self.dropped_decode,
            Fate::Lost => &mut self.lost,
            Fate::Undecodable => &mut self.undecodable,
            Fate::InFlight => &mut self.in_flight,
        } += 1;
    }
}

/// Slices of counted frames that were sent again, in part or whole, because packets of them were lost.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct Repairs {
    /// Slices that were sent again at least once.
    pub resent: u32,
    /// Those of them that a resend made complete.
    pub repaired: u32,
    /// Those of the repaired ones whose frame was ready at the latch of its target; none where frames have no targets.
    pub in_time: Option<u32>,
}

/// Counted refreshes by kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize)]
pub struct RefreshKinds {
    /// A frame not shown before.
    pub new: u32,
    /// The frame before, and none was due.
    pub repeat: u32,
    /// A frame was due and is not on display.
    pub miss: u32,
    /// The compositor was too slow.
    pub compose_miss: u32,
    /// Nothing on display.
    pub none: u32,
}

impl RefreshKinds {
    /// What a kind is called for people.
    pub const fn label(kind: RefreshKind) -> &'static str {
        match kind {
            RefreshKind::New => "New frame",
            RefreshKind::Repeat => "Repeat, none due",
            RefreshKind::Miss => "Missed",
            RefreshKind::ComposeMiss => "Compositor too slow",
            RefreshKind::None => "Nothing to show",
        }
    }

    /// Refreshes of one kind.
    pub const fn of(&self, kind: RefreshKind) -> u32 {
        match kind {
            RefreshKind::New => self.new,
            RefreshKind::Repeat => self.repeat,
            RefreshKind::Miss => self.miss,
            RefreshKind::ComposeMiss => self.compose_miss,
            RefreshKind::None => self.none,
        }
    }

    /// All counted refreshes.
    pub fn total(&self) -> u32 {
        RefreshKind::ALL.into_iter().map(|kind| self.of(kind)).sum()
    }

    /// Counts one refresh more.
    pub(super) fn count(&mut self, kind: RefreshKind) {
        *match kind {
            RefreshKind::New => &mut self.new,
            RefreshKind::Repeat => &mut self.repeat,
            RefreshKind::Miss => &mut self.miss,
            RefreshKind::ComposeMiss => &mut self.compose_miss,
            RefreshKind::None => &mut self.none,
        } += 1;
    }
}

/// Judder: how much pose to photon differs from one shown frame to another.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct PacingError {
    /// Standard deviation \[ms\].
    pub sd_ms: Option<f64>,
    /// 99 % quantile less 1 % quantile \[ms\].
    pub p99_p1_ms: Option<f64>,
    /// The standard deviation at the head speed \[deg\].
    pub sd_deg: Option<f64>,
    /// The distance of the quantiles at the head speed \[deg\].
    pub p99_p1_deg: Option<f64>,
}

/// Motion left over for the wearer to see, at the motion that the scenario names.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct LeftOver {
    /// Rotation since the pose, without late correction.
    pub rotation_uncorrected: Angles,
    /// Rotation since the pose of late correction.
    pub rotation_corrected: Angles,
    /// Parallax of the nearest thing since the pose.
    pub parallax: Angles,
    /// What must be rendered beyond each edge, for late correction to have something to show.
    pub guard_band: Angles,
}

/// An angle at the median and at the 99 % quantile of the time that it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Angles {
    /// At the median.
    pub p50: Option<Angle>,
    /// At the 99 % quantile.
    pub p99: Option<Angle>,
}

/// An angle, and how many pixels it is at the centre.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Angle {
    /// \[deg\].
    pub deg: f64,
    /// \[px at the centre\].
    pub px: f64,
}

/// Pixels and bits, and what they ask of the codec.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Picture {
    /// Horizontal pixels per degree at the centre.
    pub px_per_deg_center: f64,
    /// Horizontal pixels per degree at the edge.
    pub px_per_deg_edge: f64,
    /// Coded pixels of a frame \[Mpx\].
    pub coded_mpx: f64,
    /// Coded pixels per second \[Mpx/s\].
    pub coded_mpx_per_s: f64,
    /// Mean bits of counted frames per coded pixel.
    pub bits_per_px: Option<f64>,
    /// Smallest level of the codec's standard that holds size, rate, bitrate and slices; none: no level does.
    pub level: Option<String>,
    /// Smallest tier of that level.
    pub tier: Option<String>,
}

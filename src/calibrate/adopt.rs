//! A scenario from fits: a base scenario with what was measured put in its place.

use super::bootstrap::Estimate;
use super::content::{self, Slow};
use super::fit::Fit;
use super::laws::Law;
use super::mapping::Role;
use super::stage::{self, StageFit};
use crate::scenario::parameters;
use crate::scenario::{CodecCost, Delay, PixelCost, Scenario, Spread, Stall};

/// Least mean of a delay's part that varies \[ms\]; less is none.
const LEAST_JITTER_MS: f64 = 1e-6;

/// Whether samples as measured stand for a law.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Samples {
    /// Where no law fits.
    #[default]
    WhereNoLawFits,
    /// Always.
    Always,
    /// Never: the best law, however far away.
    Never,
}

impl Samples {
    const fn wanted(self, law_serves: bool) -> bool {
        match self {
            Self::WhereNoLawFits => !law_serves,
            Self::Always => true,
            Self::Never => false,
        }
    }
}

/// A scenario made of a base and a fit.
#[derive(Debug, Clone, PartialEq)]
pub struct Adopted {
    /// The scenario; it passes its check.
    pub scenario: Scenario,
    /// Paths of the parameters that were measured.
    pub measured: Vec<&'static str>,
    /// What had to be changed to fit into the scenario's ranges, in words.
    pub cut: Vec<String>,
}

/// Puts what was measured into a copy of `base`; all else stays. Where instants do not tell the length of a pipeline it becomes 0,
/// since a measured time holds it.
pub fn adopt(base: &Scenario, fit: &Fit, samples: Samples) -> Adopted {
    let mut made = Adopted { scenario: base.clone(), measured: Vec::new(), cut: Vec::new() };
    let content = Content::of(fit);
    if let Some(content) = content {
        made.scenario.content.cv = content.cv;
        made.scenario.content.memory = content.memory;
        made.measured.extend(["content.cv", "content.memory"]);
    }
    for stage in &fit.stages {
        made.stage(stage, content, samples);
    }
    made.sizes(fit, content, samples);
    if let Some(slices) = fit.slices {
        made.scenario.slices.count = slices;
        made.scenario.slices.shape = crate::scenario::Shape::Equal;
        made.measured.push("slices.count");
    }
    made.keep_within_ranges();
    made
}

/// The content that all stages share: the one with the strongest part that lasts has a share of 1.
#[derive(Debug, Clone, Copy)]
struct Content {
    cv: f64,
    memory: f64,
}

impl Content {
    fn of(fit: &Fit) -> Option<Self> {
        let all = fit.stages.iter().map(|stage| stage.slow).chain([fit.sizes.as_ref().and_then(|sizes| sizes.slow)]);
        let strongest = all.flatten().max_by(|a, b| a.variance.total_cmp(&b.variance))?;
        Some(Self { cv: content::cv_of(strongest.variance).min(1.0), memory: strongest.memory.min(0.9999) })
    }

    fn share(self, slow: Option<Slow>) -> f64 {
        slow.map_or(0.0, |slow| (content::cv_of(slow.variance) / self.cv).clamp(0.0, 1.0))
    }
}

fn value(estimate: Option<Estimate>) -> f64 {
    estimate.map_or(0.0, |estimate| estimate.value.max(0.0))
}

fn stall(fit: &StageFit) -> Stall {
    Stall { chance: value(fit.stall_chance), mean_ms: value(fit.stall_mean_ms) }
}

impl Adopted {
    fn stage(&mut self, fit: &StageFit, content: Option<Content>, samples: Samples) {
        let spread = || fit.spread(samples.wanted(fit.law_serves), content.is_some());
        let share = content.map_or(0.0, |content| content.share(fit.slow));
        let pixels = || PixelCost {
            fixed_ms: value(fit.constant_ms),
            per_mpx_ms: value(fit.per_mpx_ms),
            content: share,
            spread: spread(),
            stall: stall(fit),
        };
        let codec = || CodecCost {
            fixed_ms: value(fit.constant_ms),
            per_mpx_ms: value(fit.per_mpx_ms),
            per_mbit_ms: value(fit.per_mbit_ms),
            content: share,
            spread: spread(),
            stall: stall(fit),
        };
        let scenario = &mut self.scenario;
        match fit.role {
            Role::Simulate => scenario.host.simulate = pixels(),
            Role::Render => scenario.host.render = pixels(),
            Role::Encode => {
                let encode = &mut scenario.encode;
                encode.work = codec();
                (encode.frame_overhead_ms, encode.slice_overhead_ms) =
                    (value(fit.frame_overhead_ms), value(fit.slice_overhead_ms));
                encode.pipeline_ms = value(fit.pipeline_ms);
                if fit.spaced {
                    encode.engines = 1;
                }
            }
            Role::Decode => {
                let decode = &mut scenario.decode;
                decode.work = codec();
                (decode.frame_overhead_ms, decode.slice_overhead_ms) =
                    (value(fit.frame_overhead_ms), value(fit.slice_overhead_ms));
                decode.pipeline_ms = value(fit.pipeline_ms);
                if fit.spaced {
                    decode.engines = 1;
                }
            }
            Role::Link => {
                let link = &mut scenario.link;
                if let Some(per_mbit) = fit.per_mbit_ms.filter(|estimate| estimate.value > 0.0) {
                    link.rate_mbps = 1000.0 / per_mbit.value;
                    self.measured.push("link.rate_mbps");
                }
                if fit.slice_overhead_ms.is_some() {
                    link.unit_overhead_ms = value(fit.slice_overhead_ms);
                    self.measured.push("link.unit_overhead_ms");
                }
                link.delay = delay(fit, samples);
            }
            Role::Uplink => scenario.pose.uplink = delay(fit, samples),
            Role::Compose => {
                let compose = &mut scenario.display.compose;
                (compose.fixed_ms, compose.spread, compose.stall) = (value(fit.constant_ms), spread(), stall(fit));
            }
            _ => return,
        }
        self.measured.push(path_of(fit.role));
    }

    fn sizes(&mut self, fit: &Fit, content: Option<Content>, samples: Samples) {
        let Some(sizes) = &fit.sizes else { return };
        let scenario = &mut self.scenario;
        let period_s = scenario.frame_period_ns() * 1e-9;
        scenario.stream.bitrate_mbps = sizes.bits.value * 1e-6 / period_s;
        scenario.stream.size = sizes.spread(samples.wanted(sizes.law_serves), content.is_some());
        scenario.stream.content = content.map_or(0.0, |content| content.share(sizes.slow));
        // What rate control did to the sizes is in them already.
        scenario.stream.vbv_frames = 0.0;
        self.measured.extend(["stream.bitrate_mbps", "stream.size", "stream.content", "stream.vbv_frames"]);
        if let Some(bytes) = sizes.slice_bytes {
            scenario.stream.slice_header_bytes = bytes.value.round().clamp(0.0, 1000.0) as u32;
            scenario.slices.bits_penalty_pct = 0.0;
            self.measured.extend(["stream.slice_header_bytes", "slices.bits_penalty_pct"]);
        }
        if let Some(factor) = sizes.intra_factor {
            scenario.stream.intra.factor = factor.value;
            scenario.stream.intra.every = sizes.intra_every;
            self.measured.extend(["stream.intra.every", "stream.intra.factor"]);
        }
    }

    /// Moves every number into its range and says so; the fit has the number itself.
    fn keep_within_ranges(&mut self) {
        let measured = self.scenario.clone();
        self.scenario.settle("");
        for moved in parameters::differences(&measured, &self.scenario) {
            let (path, found, set) = (moved.path, &moved.a, &moved.b);
            self.cut.push(format!("{path}: found {found}, set to {set}, as far as its range goes"));
        }
    }
}

/// A delay from a fit: the least of it is fixed, the rest jitters by a law of its own.
fn delay(fit: &StageFit, samples: Samples) -> Delay {
    let mean = value(fit.constant_ms);
    let least = fit.factors.first().copied().unwrap_or(1.0).clamp(0.0, 1.0);
    let jitter_ms = mean * (1.0 - least);
    if jitter_ms < LEAST_JITTER_MS {
        return Delay { fixed_ms: mean, jitter_ms: 0.0, spread: Spread::Constant };
    }
    let rest: Vec<f64> = fit.factors.iter().map(|factor| (factor - least) / (1.0 - least)).collect();
    let above: Vec<f64> = rest.iter().copied().filter(|factor| *factor > 0.0).collect();
    let laws = Law::fit_all(&above);
    let serves = laws.first().is_some_and(|law| stage::serves(law, above.len()));
    let spread = stage::factor_spread(&rest, None, laws.first().filter(|_| !above.is_empty()), samples.wanted(serves));
    Delay { fixed_ms: mean * least, jitter_ms, spread }
}

/// Where a stage stands in the scenario.
const fn path_of(role: Role) -> &'static str {
    match role {
        Role::Simulate => "host.simulate",
        Role::Render => "host.render",
        Role::Encode => "encode",
        Role::Link => "link.delay",
        Role::Decode => "decode",
        Role::Uplink => "pose.uplink",
        Role::Compose => "display.compose",
        _ => "",
    }
}

//! A scenario from fits: a base scenario with what was measured put in its place.

#[cfg(test)]
mod tests;

use super::content::{self, Slow};
use super::fit::Fit;
use super::jackknife::Estimate;
use super::laws::Law;
use super::mapping::Role;
use super::stage::{self, StageFit};
use crate::measure::statistics;
use crate::scenario::parameters;
use crate::scenario::{CodecCost, Delay, PixelCost, Scenario, Spread, Stall};
use crate::time::ns_to_ms;
use crate::work::units::{self, Packing};

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
    /// What the measurements have no number for and the scenario takes all the same, and what they tell that it cannot keep, each
    /// with why, in words.
    pub because: Vec<String>,
    /// What had to be changed to fit into the scenario's ranges, in words.
    pub cut: Vec<String>,
}

/// Puts what was measured into a copy of `base`; all else stays. Where instants do not tell the length of a pipeline it becomes 0,
/// since a measured time holds it.
pub fn adopt(base: &Scenario, fit: &Fit, samples: Samples) -> Adopted {
    let mut made = Adopted { scenario: base.clone(), measured: Vec::new(), because: Vec::new(), cut: Vec::new() };
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
    made.take_sending_from_delay(fit);
    if let Some(slices) = fit.slices {
        made.scenario.slices.count = slices;
        made.scenario.slices.shape = crate::scenario::Shape::Equal;
        made.measured.push("slices.count");
    }
    made.keep_within_ranges();
    made.say_why(base, fit);
    made.say_what_does_not_last(fit);
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
        let stages = fit.stages.iter().filter(|stage| goes_with_content(stage.role)).map(|stage| stage.slow);
        let all = stages.chain([fit.sizes.as_ref().and_then(|sizes| sizes.slow)]);
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

/// Whether a stage's time can go with the content in a scenario; what lasts of others is lost.
const fn goes_with_content(role: Role) -> bool {
    !stage::is_delay(role) && !matches!(role, Role::Compose)
}

fn stall(fit: &StageFit) -> Stall {
    Stall { chance: value(fit.stall_chance), mean_ms: value(fit.stall_mean_ms) }
}

impl Adopted {
    fn stage(&mut self, fit: &StageFit, content: Option<Content>, samples: Samples) {
        let content = content.filter(|_| goes_with_content(fit.role));
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
                    // What was measured is a time a coded bit; packet headers are sent beside it.
                    let payload = f64::from(link.packet_payload_bytes);
                    let sent = (payload + f64::from(link.packet_header_bytes)) / payload;
                    link.rate_mbps = 1000.0 / per_mbit.value * sent;
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
        let slices = fit.slices.unwrap_or(scenario.slices.count);
        // What slices cost in bits is in the measured sizes, and the scenario adds it, unless it was told apart.
        let (headers, penalty) = match sizes.slice_bytes {
            Some(_) => (0.0, 1.0),
            None => (header_bits(scenario, slices), penalty(scenario, slices)),
        };
        scenario.stream.bitrate_mbps = ((sizes.bits.value - headers) / penalty).max(0.0) * 1e-6 / period_s;
        scenario.stream.size = sizes.spread(samples.wanted(sizes.law_serves), content.is_some());
        scenario.stream.content = content.map_or(0.0, |content| content.share(sizes.slow));
        // What rate control did to the sizes is in them already.
        scenario.stream.vbv_frames = 0.0;
        self.measured.extend(["stream.bitrate_mbps", "stream.size", "stream.content", "stream.vbv_frames"]);
        if let Some(bytes) = sizes.slice_bytes {
            scenario.stream.slice_header_bytes = bytes.value.round() as u32;
            scenario.slices.bits_penalty_pct = 0.0;
            self.measured.extend(["stream.slice_header_bytes", "slices.bits_penalty_pct"]);
        }
        if let Some(factor) = sizes.intra_factor {
            scenario.stream.intra.factor = factor.value;
            scenario.stream.intra.every = sizes.intra_every;
            self.measured.extend(["stream.intra.every", "stream.intra.factor"]);
        }
    }

    /// A measured time on the link holds all of the sending: what the scenario's link takes for it beyond what was told apart
    /// comes off the part of the delay that is fixed.
    fn take_sending_from_delay(&mut self, fit: &Fit) {
        let Some(link) = fit.stage(Role::Link) else { return };
        let slices = fit.slices.unwrap_or(self.scenario.slices.count);
        let scenario = &mut self.scenario;
        let bits = scenario.target_bits() * penalty(scenario, slices);
        let packing = Packing::new(scenario);
        let equal = vec![1.0 / f64::from(slices); slices as usize];
        let bytes = units::frame_bytes(bits as i64);
        let sending_ns: i64 = units::borders(&equal).map(|part| packing.send_ns(packing.unit(bytes, part))).sum();
        let mbit = (bits + header_bits(scenario, slices)) * 1e-6;
        let told_ms = value(link.slice_overhead_ms) * f64::from(slices) + value(link.per_mbit_ms) * mbit;
        let delay = &mut scenario.link.delay;
        let fixed_ms = delay.fixed_ms + told_ms - ns_to_ms(sending_ns);
        delay.fixed_ms = fixed_ms.max(0.0);
        let (jitter_ms, missing_ms) = (delay.jitter_ms, (-fixed_ms).max(0.0));
        if missing_ms <= LEAST_JITTER_MS {
            return;
        }
        // What cannot come off the part that is fixed comes off the one that varies, so that the mean stays.
        delay.jitter_ms = (jitter_ms - missing_ms).max(0.0);
        let told = format!(
            "link.delay: found {fixed_ms:.4} ms fixed once sending is taken off, set to 0; the part that varies gets a mean of {:.4} ms \
             instead of {jitter_ms:.4}",
            delay.jitter_ms
        );
        let more_ms = missing_ms - jitter_ms;
        self.cut.push(if more_ms > LEAST_JITTER_MS {
            format!("{told}, and frames take {more_ms:.4} ms more than measured: the link's rate is too low for them")
        } else {
            told
        });
    }

    /// Says what lasts from frame to frame in the measurements and does not in the scenario.
    fn say_what_does_not_last(&mut self, fit: &Fit) {
        for stage in fit.stages.iter().filter(|stage| !goes_with_content(stage.role)) {
            let Some(slow) = stage.slow else { continue };
            self.because.push(format!(
                "{}: part of it lasts from frame to frame in the measurements (correlation {:.3} of one frame to the next); in a scenario \
                 each is drawn apart from the others",
                path_of(stage.role),
                slow.memory
            ));
        }
    }

    /// Says why of what is no estimate, where it is another than the base scenario's.
    fn say_why(&mut self, base: &Scenario, fit: &Fit) {
        let holds = "the measured times hold it";
        let engines = "its instants tell of one slice after the other";
        let reasons = [
            ("slices.count", why_slices(fit)),
            ("slices.shape", "how measured frames are cut is not told".to_owned()),
            ("encode.engines", engines.to_owned()),
            ("encode.pipeline_ms", holds.to_owned()),
            ("decode.engines", engines.to_owned()),
            ("decode.pipeline_ms", holds.to_owned()),
            ("stream.vbv_frames", "what rate control did is in the measured sizes".to_owned()),
            ("slices.bits_penalty_pct", "what slices cost in bits is in the measured bytes of each".to_owned()),
        ];
        let told = |role: Role| fit.stage(role).is_some_and(|stage| stage.pipeline_ms.is_some());
        let changed = parameters::differences(base, &self.scenario);
        for (path, why) in reasons {
            let estimated = path == "encode.pipeline_ms" && told(Role::Encode)
                || path == "decode.pipeline_ms" && told(Role::Decode);
            if let Some(moved) = changed.iter().find(|moved| moved.path == path).filter(|_| !estimated) {
                self.because.push(format!("{path} becomes {}, from {}: {why}", moved.b, moved.a));
            }
        }
    }

    /// Moves every number into its range and says so; the fit has the number itself.
    fn keep_within_ranges(&mut self) {
        let measured = self.scenario.clone();
        self.scenario.settle("");
        for moved in parameters::differences(&measured, &self.scenario) {
            let (path, found, set) = (moved.path, short(&moved.a), &moved.b);
            self.cut.push(format!("{path}: found {found}, set to {set}, as far as its range goes"));
        }
    }
}

/// Bits of the slice headers of a frame.
fn header_bits(scenario: &Scenario, slices: u32) -> f64 {
    8.0 * f64::from(slices) * f64::from(scenario.stream.slice_header_bytes)
}

/// By how many times more bits so many slices take for the same quality.
fn penalty(scenario: &Scenario, slices: u32) -> f64 {
    1.0 + scenario.slices.bits_penalty_pct / 100.0 * f64::from(slices.saturating_sub(1))
}

/// Where the slice count comes from, in words.
fn why_slices(fit: &Fit) -> String {
    let frames = |count: usize| if count == 1 { "1 frame".to_owned() } else { format!("{count} frames") };
    let told = |&(slices, count): &(u32, usize)| {
        let cut = if slices == 1 { "whole".to_owned() } else { format!("in {slices} slices") };
        format!("{} {cut}", frames(count))
    };
    match &fit.slice_counts[..] {
        [one] => format!("measured were {}", told(one)),
        several => {
            let told: Vec<String> = several.iter().map(told).collect();
            format!(
                "measured were {}, and of counts above 1 the one that most frames have is taken, the least where several \
                 have as many; it is held against the frames of that count",
                told.join(", ")
            )
        }
    }
}

/// A delay from a fit: the least of what is left of each time is fixed, the rest jitters by a law of its own. Stalls are in it, and
/// so is what varies of the part that goes with bits, since sending itself does not in a scenario.
fn delay(fit: &StageFit, samples: Samples) -> Delay {
    let mean = statistics::mean(&fit.rests_ms).unwrap_or(0.0);
    let least = fit.rests_ms.first().copied().unwrap_or(0.0);
    let jitter_ms = mean - least;
    if jitter_ms < LEAST_JITTER_MS {
        return Delay { fixed_ms: mean, jitter_ms: 0.0, spread: Spread::Constant };
    }
    let rest: Vec<f64> = fit.rests_ms.iter().map(|ms| (ms - least) / jitter_ms).collect();
    let above: Vec<f64> = rest.iter().copied().filter(|factor| *factor > 0.0).collect();
    let laws = Law::fit_all(&above);
    let serves = fit.stall_chance.is_none() && laws.first().is_some_and(|law| stage::serves(law, above.len()));
    let spread = stage::factor_spread(&rest, None, laws.first().filter(|_| !above.is_empty()), samples.wanted(serves));
    Delay { fixed_ms: least, jitter_ms, spread }
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

/// A value with its unit as text, the number to four decimals at most: one that was fitted has many.
fn short(value: &str) -> String {
    let (number, unit) = value.split_once(' ').map_or((value, ""), |(number, _)| value.split_at(number.len()));
    match number.parse::<f64>() {
        Ok(parsed) if number.len() > 8 => format!("{}{unit}", (parsed * 1e4).round() / 1e4),
        _ => value.to_owned(),
    }
}

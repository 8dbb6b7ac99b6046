//! Where an answer calls for a warning.

use super::Warning;
use crate::engine::Run;
use crate::measure::{Server, Summary};
use crate::scenario::levels::{self, Demand, Level, Tier, Usage};
use crate::scenario::{Choose, Lead, Pacing, References, Scenario, Shape, Stall};
use crate::study::Answer;
use crate::work::{WorkTable, control, row_shares};

/// Share of skipped frames below which nobody need ask why.
const SKIPPED: f64 = 0.01;
/// Share of frames not shown below which missed refreshes may be trusted.
const NOT_SHOWN: f64 = 0.02;
/// Share of refreshes at which the compositor may be too slow without a word.
const COMPOSE_MISSES: f64 = 0.001;
/// Share of the frames that rate control may hold at its limit, and share of the bits that may then be missing.
const HELD: f64 = 0.1;
const MISSING: f64 = 0.05;
/// Block rows that the thinnest slice should have.
const ROWS: f64 = 3.0;
/// Frames that should lie beyond a quantile, and rare things that a run should hold: with ten of them their number is
/// known to a third.
const ENOUGH: f64 = 10.0;
/// Most frames of a run.
const MOST_FRAMES: f64 = 1e6;

/// All warnings of an answer, those that bring others about first.
pub fn warnings(answer: &Answer) -> Vec<Warning> {
    let Answer { scenario, table, run, summary, .. } = answer;
    let mut found = Vec::new();
    found.extend(not_steady(scenario, summary));
    found.extend(overloaded(scenario, summary));
    found.extend(frames_in_flight(scenario, summary, run));
    found.extend(no_lead(scenario, summary));
    found.extend(hidden_drops(scenario, summary));
    found.extend(compose_misses(scenario, summary));
    found.extend(idle_engines(scenario));
    found.extend(rate_control(scenario, table));
    found.extend(level(scenario, summary));
    found.extend(slices(scenario));
    found.extend(short_warmup(scenario, summary));
    found.extend(few_frames(scenario, summary));
    found.extend(rare(scenario, summary));
    found
}

/// Frames that count.
fn counted(summary: &Summary) -> f64 {
    f64::from(summary.fates.total())
}

fn part(part: u32, whole: f64) -> f64 {
    if whole > 0.0 { f64::from(part) / whole } else { 0.0 }
}

/// Whether any number of frames may wait before a server.
fn unbounded(scenario: &Scenario, server: Server) -> bool {
    match server {
        Server::Cpu | Server::Gpu => false,
        Server::Encoder => scenario.encode.buffer.frames.is_none(),
        Server::Link => scenario.link.buffer.frames.is_none(),
        Server::Decoder => scenario.decode.buffer.frames.is_none(),
    }
}

fn overload(summary: &Summary, server: Server) -> Option<f64> {
    summary.offered_load.of(server).filter(|load| *load > 1.0)
}

fn not_steady(scenario: &Scenario, summary: &Summary) -> Option<Warning> {
    if summary.steady {
        return None;
    }
    let loads = Server::ALL.into_iter().filter_map(|server| Some((server, overload(summary, server)?)));
    let cause =
        loads.filter(|(server, _)| unbounded(scenario, *server)).max_by(|(_, one), (_, other)| one.total_cmp(other));
    let growth_ms_per_frame = summary.growth_ms_per_frame.filter(|growth| *growth > 0.0);
    Some(Warning::NotSteady { growth_ms_per_frame, cause })
}

/// Overloaded servers; one before which frames queue without end is told of as not steady.
fn overloaded(scenario: &Scenario, summary: &Summary) -> Vec<Warning> {
    let fates = &summary.fates;
    let gone = [fates.skipped, fates.dropped_encode, fates.dropped_link, fates.dropped_decode]
        .map(|count| part(count, counted(summary)));
    let bounded = Server::ALL.into_iter().filter(|server| summary.steady || !unbounded(scenario, *server));
    bounded
        .filter_map(|server| {
            let load = overload(summary, server)?;
            let engines = match server {
                Server::Encoder => scenario.encode.engines > 1,
                Server::Decoder => scenario.decode.engines > 1,
                Server::Cpu | Server::Gpu | Server::Link => false,
            };
            Some(Warning::Overloaded { server, load, gone, engines })
        })
        .collect()
}

/// Frames are begun every S / F on average where F are in flight all the time and each is there for S (Little's law);
/// nothing else holds the host back where none of its stages, nor a link that blocks them, is overloaded.
fn frames_in_flight(scenario: &Scenario, summary: &Summary, run: &Run) -> Option<Warning> {
    let skipped = part(summary.fates.skipped, counted(summary));
    let host = [Server::Cpu, Server::Gpu, Server::Encoder, Server::Link];
    if skipped < SKIPPED || host.into_iter().any(|server| overload(summary, server).is_some()) {
        return None;
    }
    let frames = run.frames.iter().skip(scenario.run.warmup as usize);
    let spans = frames.filter_map(|frame| Some(frame.encoded.ns()? - frame.start.ns()?));
    let (count, sum_ns) = spans.fold((0_u32, 0_i64), |(count, sum), span| (count + 1, sum + span));
    if count == 0 {
        return None;
    }
    let host_ms = sum_ns as f64 / f64::from(count) / 1e6;
    let period_ms = scenario.frame_period_ns() / 1e6;
    let allowed = scenario.host.frames_in_flight;
    // Near the bound, chance alone makes frames come upon it.
    let bound = host_ms / f64::from(allowed) > 0.9 * period_ms;
    bound.then_some(Warning::FramesInFlight { allowed, host_ms, period_ms, skipped })
}

fn no_lead(scenario: &Scenario, summary: &Summary) -> Option<Warning> {
    let Pacing::Fixed { lead: Lead::Tuned { late_share }, .. } = scenario.pacing else { return None };
    let ready = summary.turnaround_ms.count as f64;
    let never_ready = if counted(summary) > 0.0 { 1.0 - ready / counted(summary) } else { 0.0 };
    summary.lead_infinite.then_some(Warning::NoLead { late_share, never_ready, lead_ms: summary.lead_ms })
}

/// Whether frames are not shown while hardly a refresh counts as missed.
pub fn hides_drops(scenario: &Scenario, summary: &Summary) -> bool {
    hidden_drops(scenario, summary).is_some()
}

fn hidden_drops(scenario: &Scenario, summary: &Summary) -> Option<Warning> {
    let lead = match scenario.pacing {
        Pacing::Fixed { lead: Lead::Ms(_), .. } => "pacing.lead.ms",
        Pacing::Fixed { lead: Lead::Tuned { .. }, .. } => "pacing.lead.late_share",
        Pacing::Adaptive { .. } => "pacing.max_ms",
        // Nothing is due at any refresh, so nobody reads missed refreshes.
        Pacing::Intervals { .. } => return None,
    };
    let not_shown = 1.0 - summary.delivered_share?;
    let missed = summary.missed_pct? / 100.0;
    if not_shown < NOT_SHOWN || missed > not_shown / 4.0 || scenario.display.choose != Choose::Newest {
        return None;
    }
    let kinds = &summary.refresh_kinds;
    let repeated = part(kinds.repeat, f64::from(kinds.total()));
    Some(Warning::HiddenDrops { not_shown, missed, repeated, photon_age_ms: summary.photon_age_ms.mean, lead })
}

fn compose_misses(scenario: &Scenario, summary: &Summary) -> Option<Warning> {
    let kinds = &summary.refresh_kinds;
    let missed = part(kinds.compose_miss, f64::from(kinds.total()));
    let compose = &scenario.display.compose;
    let mean_ms = compose.fixed_ms * compose.spread.mean() + compose.stall.chance * compose.stall.mean_ms;
    (missed >= COMPOSE_MISSES).then_some(Warning::ComposeMisses {
        missed,
        allowed_ms: compose_limit_ms(scenario),
        mean_ms,
    })
}

/// Time that the compositor may take \[ms\].
fn compose_limit_ms(scenario: &Scenario) -> f64 {
    scenario.display.latch_lead_ms.min(scenario.refresh_period_ns() / 1e6)
}

/// Two slices of one number are never in service together, unless slices refer to nothing.
fn idle_engines(scenario: &Scenario) -> Vec<Warning> {
    let slices = scenario.slices.count;
    let servers = [(Server::Encoder, scenario.encode.engines), (Server::Decoder, scenario.decode.engines)];
    let bound = scenario.stream.references != References::Independent;
    let idle = servers.into_iter().filter(|(_, engines)| bound && *engines > slices);
    idle.map(|(server, engines)| Warning::IdleEngines { server, engines, slices }).collect()
}

fn rate_control(scenario: &Scenario, table: &WorkTable) -> Option<Warning> {
    let control::Held { share: held, missing } = control::held(scenario, table)?;
    (held >= HELD && missing >= MISSING).then_some(Warning::RateControl { held, missing })
}

fn level(scenario: &Scenario, summary: &Summary) -> Option<Warning> {
    let most = levels::rank(&scenario.budget.level_max)?;
    let picture = &summary.picture;
    let needed = picture.level.as_ref().zip(picture.tier.as_ref());
    if needed.is_some_and(|(name, _)| levels::rank(name).is_some_and(|rank| rank <= most)) {
        return None;
    }
    let codec = scenario.stream.codec;
    let allowed = |name: &&'static str| needed.is_none() || levels::rank(name).is_some_and(|rank| rank <= most);
    let demand = Demand::of(scenario);
    let over = levels::names(codec).into_iter().rfind(allowed).map_or_else(Vec::new, |name| {
        let tiers = [Tier::High, Tier::Main].map(|tier| levels::usage(codec, Level { name, tier }, &demand));
        tiers.into_iter().find(|usage| !usage.is_empty()).unwrap_or_default()
    });
    Some(Warning::Level {
        codec,
        needed: needed.map(|(name, tier)| format!("{name} {tier}")),
        allowed: scenario.budget.level_max.clone(),
        over: over.into_iter().filter(|usage: &Usage| !usage.met()).collect(),
    })
}

fn slices(scenario: &Scenario) -> Option<Warning> {
    let (slices, rows) = (scenario.slices.count, scenario.block_rows());
    let heights = row_shares(scenario).into_iter().map(|share| share * f64::from(rows));
    // A billionth of a row is floating-point dust.
    let (thinnest, empty) = heights.fold((f64::INFINITY, 0), |(thinnest, empty), height| {
        (height.min(thinnest), empty + u32::from(height < 1.0 - 1e-9))
    });
    if empty > 0 {
        let weights = matches!(scenario.slices.shape, Shape::Weights(_));
        return Some(Warning::EmptySlices { slices, empty, weights });
    }
    let block_px = scenario.slices.block_px;
    (thinnest < ROWS - 1e-9 && slices > 1).then_some(Warning::ThinSlices { slices, rows, thinnest, block_px })
}

/// An adaptive lead moves by a step a frame at most: the warm-up must last for the way from its start to its mean.
fn short_warmup(scenario: &Scenario, summary: &Summary) -> Option<Warning> {
    let Pacing::Adaptive { start_ms, step_ms, .. } = scenario.pacing else { return None };
    let needed = ((summary.lead_ms? - start_ms).abs() / step_ms).ceil() as u32;
    let warmup = scenario.run.warmup;
    (warmup < needed).then_some(Warning::ShortWarmup { warmup, needed })
}

fn few_frames(scenario: &Scenario, summary: &Summary) -> Option<Warning> {
    let frames = summary.pose_to_photon_ms.count;
    let quantile = scenario.budget.quantile.max(0.99);
    let beyond = frames as f64 * (1.0 - quantile);
    if frames == 0 || beyond > ENOUGH - 1e-9 {
        return None;
    }
    Some(Warning::FewFrames { frames, quantile, beyond, enough: enough(scenario, beyond) })
}

/// Frames to plan for enough of what comes so often in this run.
fn enough(scenario: &Scenario, found: f64) -> u64 {
    let counted = f64::from(scenario.run.frames - scenario.run.warmup.min(scenario.run.frames));
    let frames = f64::from(scenario.run.warmup) + counted * ENOUGH / found.max(1e-6);
    // Rounded up to two digits, so that it is easy to remember.
    let step = 10.0_f64.powf(frames.log10().floor() - 1.0).max(1.0);
    ((frames / step).ceil() * step).min(MOST_FRAMES) as u64
}

/// Things that the scenario makes happen, but hardly in so short a run.
fn rare(scenario: &Scenario, summary: &Summary) -> Vec<Warning> {
    let frames = counted(summary);
    let seconds = frames * scenario.frame_period_ns() / 1e9;
    let stall = |stall: Stall| if stall.mean_ms > 0.0 { stall.chance * frames } else { 0.0 };
    let compose = &scenario.display.compose;
    // A stall that the latch lead has room for is of no account.
    let matters = compose.fixed_ms + compose.stall.mean_ms >= compose_limit_ms(scenario);
    let refreshes = f64::from(summary.refreshes);
    let compose = if matters { compose.stall.chance * refreshes } else { 0.0 };
    let payload_bits = 8.0 * f64::from(scenario.link.packet_payload_bytes);
    let packets = (scenario.target_bits() / payload_bits).ceil().max(f64::from(scenario.slices.count));
    [
        ("Stalls of simulate", stall(scenario.host.simulate.stall), "host.simulate.stall.chance"),
        ("Stalls of render", stall(scenario.host.render.stall), "host.render.stall.chance"),
        ("Stalls of encode", stall(scenario.encode.work.stall), "encode.work.stall.chance"),
        ("Stalls of decode", stall(scenario.decode.work.stall), "decode.work.stall.chance"),
        ("Stalls of the compositor", compose, "display.compose.stall.chance"),
        ("Lost packets", scenario.link.loss * packets * frames, "link.loss"),
        ("Closures of the link", scenario.link.closures.per_minute * seconds / 60.0, "link.closures.per_minute"),
    ]
    .into_iter()
    .filter(|(_, expected, _)| *expected > 0.0 && *expected < ENOUGH)
    .map(|(what, expected, path)| Warning::Rare { what, expected, enough: enough(scenario, expected), path })
    .collect()
}

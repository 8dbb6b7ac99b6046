//! The first question answered in one sentence, with its uncertainty, and the budget line by line.

mod budget;
mod difference;
mod table;

pub use budget::{Line, Met, lines};
pub use difference::Difference;
pub use table::table;

use super::Side;
use crate::measure::{Samples, Server, Summary};
use crate::report::format::{NOTHING, ms, number, share_pct, with_unit};
use crate::report::warnings;
use crate::report::words::{self, capital};
use crate::scenario::Scenario;
use crate::study::Gains;

/// Shares that differ by less are not worth a word \[%\].
const MATERIAL_PCT: f64 = 1.0;

/// What a comparison came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Tone {
    /// The candidate's photons come sooner.
    Sooner,
    /// They come later.
    Later,
    /// Sooner at one quantile and later at the other, or sooner with fewer of the frames shown.
    Mixed,
    /// The difference is within its uncertainty.
    Unclear,
    /// A pipeline does not keep up.
    Unsteady,
    /// Nothing to measure.
    Nothing,
}

impl Tone {
    /// In a word or two.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Sooner => "Sooner",
            Self::Later => "Later",
            Self::Mixed => "Sooner and later",
            Self::Unclear => "Within uncertainty",
            Self::Unsteady => "Not steady",
            Self::Nothing => "Nothing to compare",
        }
    }
}

/// The answer.
#[derive(Debug, Clone, PartialEq)]
pub struct Verdict {
    /// What it came to.
    pub tone: Tone,
    /// The gain at the median, to be read from afar.
    pub headline: String,
    /// The answer in one sentence, with the numbers.
    pub sentence: String,
    /// How sure it is; empty where there is nothing to be sure of.
    pub uncertainty: String,
    /// The gain over seeds, once it is known.
    pub gains: Option<Gains>,
    /// The candidate's budget.
    pub lines: Vec<Line>,
}

/// What an early answer must say of itself.
const SO_FAR: &str = "So far, from the first part of the run: the gain will hardly change, but all times may still shift by \
    a millisecond or so.";

/// One design, simulated and measured.
#[derive(Debug, Clone, Copy)]
pub struct Measured<'a> {
    /// The design.
    pub scenario: &'a Scenario,
    /// What it came to.
    pub summary: &'a Summary,
    /// The single values behind it.
    pub samples: &'a Samples,
}

/// What an answer says of itself before the further seeds have been run.
const TO_COME: &str = "How sure that is, is being worked out under further seeds.";

impl Verdict {
    /// Judges the candidate against the baseline; `gains` are those over seeds, once they are known.
    pub fn new(baseline: Measured<'_>, candidate: Measured<'_>, gains: Option<&Gains>) -> Self {
        let mut lines = lines(&candidate.summary.budget, &baseline.summary.budget);
        lines.extend(self::lines(&candidate.summary.allowances, &baseline.summary.allowances));
        for line in lines.iter_mut().filter(|line| line.name == "missed" && line.met == Met::Yes) {
            line.doubted = warnings::hides_drops(candidate.scenario, candidate.summary);
        }
        let told = unsteady([baseline, candidate]).or_else(|| incomparable([baseline, candidate]));
        let (tone, headline, sentence, uncertainty) = told.unwrap_or_else(|| compared(baseline, candidate, gains));
        Self { tone, headline, sentence, uncertainty, gains: gains.copied(), lines }
    }

    /// Judges the first parts of two runs, while the whole ones are computed: the gain, which keeps because both sides meet
    /// the same luck, and no time without "about", since in a short time the content need not have been of average
    /// complexity.
    pub fn so_far(baseline: Measured<'_>, candidate: Measured<'_>) -> Self {
        let mut so_far = Self::new(baseline, candidate, None);
        if matches!(so_far.tone, Tone::Sooner | Tone::Later | Tone::Mixed) {
            so_far.headline.insert_str(0, "≈ ");
        }
        let both = [baseline, candidate];
        if !matches!(so_far.tone, Tone::Unsteady | Tone::Nothing) {
            so_far.sentence = gain_so_far(so_far.tone, both);
        }
        SO_FAR.clone_into(&mut so_far.uncertainty);
        // A level follows from the scenario alone.
        for line in so_far.lines.iter_mut().filter(|line| line.name != "level" && line.value != NOTHING) {
            line.value.insert_str(0, "≈ ");
        }
        so_far
    }
}

/// The gain alone, without the times that it comes from.
fn gain_so_far(tone: Tone, both: [Measured<'_>; 2]) -> String {
    let loads = loads(both[1].summary);
    if tone == Tone::Unclear {
        let [before, after] = Side::BOTH.map(|side| subject(side, both).0);
        return format!("No difference between {before} and {after} can be told so far; {loads}.");
    }
    let (subject, plural) = subject(Side::Candidate, both);
    let show = if plural { "show" } else { "shows" };
    let [at_median, at_p99] = [0, 1].map(|at| gain_in_words(&Difference::of(at, both, None)));
    let subject = capital(&subject);
    format!("{subject} {show} the photons about {at_median} at the median and about {at_p99} at p99; {loads}.")
}

type Told = (Tone, String, String, String);

/// The verdict where a pipeline does not keep up.
fn unsteady(both: [Measured<'_>; 2]) -> Option<Told> {
    let falls_behind = |side: &Side| !both[side.index()].summary.steady;
    let behind: Vec<String> = Side::BOTH.into_iter().filter(falls_behind).map(|side| behind(side, both)).collect();
    if behind.is_empty() {
        return None;
    }
    let sentence = format!("{}; there is no latency to compare.", capital(&behind.join(", and ")));
    Some((Tone::Unsteady, Tone::Unsteady.word().to_owned(), sentence, String::new()))
}

fn behind(side: Side, both: [Measured<'_>; 2]) -> String {
    let summary = both[side.index()].summary;
    let (server, load) = busiest(summary);
    let cause = load.map(|load| format!(" ({} {} loaded)", words::server(server), percent(load)));
    let (subject, plural) = subject(side, both);
    let verb = if plural { "fall" } else { "falls" };
    let growth = summary
        .growth_ms_per_frame
        .map_or_else(String::new, |ms| format!(" by {} a frame", with_unit(Some(ms), 2, "ms")));
    format!("{subject} {verb} behind{growth}{}", cause.unwrap_or_default())
}

/// The verdict where a side has no latency.
fn incomparable(both: [Measured<'_>; 2]) -> Option<Told> {
    let unmeasured = |side: &Side| both[side.index()].summary.pose_to_photon_ms.p50.is_none();
    let names: Vec<String> = Side::BOTH.into_iter().filter(unmeasured).map(|side| subject(side, both).0).collect();
    if names.is_empty() {
        return None;
    }
    let sentence = format!("Nothing to compare: no counted frame was shown with {}.", names.join(" or "));
    Some((Tone::Nothing, NOTHING.to_owned(), sentence, String::new()))
}

fn compared(baseline: Measured<'_>, candidate: Measured<'_>, gains: Option<&Gains>) -> Told {
    let both = [baseline, candidate];
    let [p50, p99] = [0, 1].map(|at| Difference::of(at, both, gains));
    let tone = match tone(&p50, &p99) {
        Tone::Sooner if shows_fewer(both) => Tone::Mixed,
        tone => tone,
    };
    let [p50_text, p99_text] = [&p50, &p99]
        .map(|difference| format!("({} to {})", number(difference.baseline_ms, 1), ms(difference.candidate_ms)));
    let latency = if tone == Tone::Unclear {
        let [before, after] = Side::BOTH.map(|side| subject(side, both).0);
        format!("No difference between {before} and {after} can be told: median {p50_text}, p99 {p99_text}")
    } else {
        let (subject, plural) = subject(Side::Candidate, both);
        let show = if plural { "show" } else { "shows" };
        let [at_median, at_p99] = [&p50, &p99].map(gain_in_words);
        let subject = capital(&subject);
        format!("{subject} {show} the photons {at_median} at the median {p50_text}, {at_p99} at p99 {p99_text}")
    };
    let freeze = longer_freeze(both).map_or_else(String::new, |freeze| format!("; {freeze}"));
    let sentence = format!("{latency}; {}{freeze}; {}.", missed(both), loads(candidate.summary));
    let headline = headline(tone, &p50, &p99);
    (tone, headline, sentence, gains.map_or_else(|| TO_COME.to_owned(), uncertainty))
}

/// The gain at the median; at p99 where that is what the designs differ in. What speaks against a gain is not left out.
fn headline(tone: Tone, p50: &Difference, p99: &Difference) -> String {
    if tone == Tone::Unclear {
        return tone.word().to_owned();
    }
    if p99.sure() && p99.gain_ms().abs() > 2.0 * p50.gain_ms().abs() {
        return format!("{} at p99", gain_in_words(p99));
    }
    let told = gain_in_words(p50);
    match tone {
        Tone::Mixed if p99.sure() && p99.gain_ms() * p50.gain_ms() < 0.0 => {
            format!("{told}, p99 {}", way(p99.gain_ms()))
        }
        Tone::Mixed => format!("{told}, fewer shown"),
        _ => told,
    }
}

fn tone(p50: &Difference, p99: &Difference) -> Tone {
    let sure = [p50, p99].into_iter().filter(|difference| difference.sure());
    let (sooner, later): (Vec<&Difference>, Vec<&Difference>) = sure.partition(|difference| difference.gain_ms() > 0.0);
    match (sooner.is_empty(), later.is_empty()) {
        (true, true) => Tone::Unclear,
        (false, true) => Tone::Sooner,
        (true, false) => Tone::Later,
        (false, false) => Tone::Mixed,
    }
}

/// A gain as people say it: `9.8 ms sooner`.
pub fn gain_in_words(difference: &Difference) -> String {
    let gain = difference.gain_ms();
    format!("{} {}", ms(gain.abs()), way(gain))
}

const fn way(gain_ms: f64) -> &'static str {
    if gain_ms < 0.0 { "later" } else { "sooner" }
}

/// Missed refreshes; and what they hide where frames are dropped: no frame is due then, so nothing is missed.
fn missed(both: [Measured<'_>; 2]) -> String {
    let told = from_to("missed refreshes", both.map(|one| one.summary.missed_pct));
    let shown = both.map(|one| one.summary.delivered_share.map(|share| 100.0 * share));
    let repeated = both.map(|one| repeated_pct(one.summary));
    if !apart(shown) && !apart(repeated) {
        return told;
    }
    format!("{told}, but {} and {}", from_to("frames shown", shown), from_to("repeats", repeated))
}

/// The longest freeze, where the candidate's is more than a refresh longer.
fn longer_freeze([baseline, candidate]: [Measured<'_>; 2]) -> Option<String> {
    let [before, after] = [baseline.summary.longest_freeze_ms?, candidate.summary.longest_freeze_ms?];
    let refresh_ms = candidate.scenario.refresh_period_ns() / 1e6;
    // Freezes are of whole refreshes, so a hair over one is two.
    (after - before > 1.01 * refresh_ms).then(|| format!("longest freeze {} to {}", number(before, 1), ms(after)))
}

/// Decimals of everything in per cent within the sentence.
const DECIMALS: usize = 1;

/// A share of both designs: `repeats 0.0 % to 33.3 %`.
fn from_to(what: &str, both_pct: [Option<f64>; 2]) -> String {
    let [before, after] = both_pct.map(|value| share_pct(value, DECIMALS));
    if before == after { format!("{what} {after} with both") } else { format!("{what} {before} to {after}") }
}

/// Whether two shares differ by more than an eye would overlook.
fn apart([before_pct, after_pct]: [Option<f64>; 2]) -> bool {
    before_pct.zip(after_pct).is_some_and(|(before, after)| (after - before).abs() >= MATERIAL_PCT)
}

/// Refreshes that repeat a frame while none is due, as where a stage drops frames: no miss, and nothing new either.
pub(in crate::report) fn repeated_pct(summary: &Summary) -> Option<f64> {
    let kinds = &summary.refresh_kinds;
    (kinds.total() > 0).then(|| 100.0 * f64::from(kinds.repeat) / f64::from(kinds.total()))
}

/// Whether the candidate shows materially fewer of its frames than the baseline.
fn shows_fewer([baseline, candidate]: [Measured<'_>; 2]) -> bool {
    let shown = [baseline, candidate].map(|one| one.summary.delivered_share.map(|share| 100.0 * share));
    apart(shown) && shown[1] < shown[0]
}

fn loads(summary: &Summary) -> String {
    let load = |server| summary.offered_load.of(server).map_or_else(|| NOTHING.to_owned(), percent);
    format!("encoder {}, decoder {} loaded", load(Server::Encoder), load(Server::Decoder))
}

fn uncertainty(gains: &Gains) -> String {
    let Gains { seeds, measured, at } = gains;
    // Both as finely as the sharper one asks for.
    let sharp = at.iter().filter_map(|gain| gain.half_width).any(|half| half < 0.095);
    let decimals = if sharp { 2 } else { 1 };
    let told = at.map(|gain| gain.mean.zip(gain.half_width).map(|(mean, half)| gain_within(mean, half, decimals)));
    let [Some(at_median), Some(at_p99)] = told else {
        return format!("How sure that is, is not known: latency was measured under {measured} of {seeds} seeds.");
    };
    format!("Over {seeds} seeds {at_median} at the median, {at_p99} at p99: mean gains of runs of this length, 95 %.")
}

/// A gain with half the width of its interval, 0.01 ms at least: `4.25 ± 0.06 ms sooner`.
fn gain_within(gain_ms: f64, half_ms: f64, decimals: usize) -> String {
    if gain_ms.abs() < 0.005 && half_ms < 0.005 {
        return "no change".to_owned();
    }
    let half = with_unit(Some(half_ms.max(0.01)), decimals, "ms");
    format!("{} ± {half} {}", number(gain_ms.abs(), decimals), way(gain_ms))
}

fn busiest(summary: &Summary) -> (Server, Option<f64>) {
    let load = |server: &Server| summary.offered_load.of(*server).unwrap_or(0.0);
    let server = Server::ALL.into_iter().max_by(|one, two| load(one).total_cmp(&load(two))).unwrap_or(Server::Decoder);
    (server, summary.offered_load.of(server))
}

/// A load in per cent.
fn percent(load: f64) -> String {
    with_unit(Some(100.0 * load), DECIMALS, "%")
}

/// What a design is called within a sentence, and whether that is plural: by its slices where the designs differ in nothing
/// else, so that no other change is put down to them.
fn subject(side: Side, both: [Measured<'_>; 2]) -> (String, bool) {
    match (side, both[side.index()].scenario.slices.count) {
        (Side::Baseline, _) if !only_counts_differ(both) => ("the baseline".to_owned(), false),
        (Side::Candidate, _) if !only_counts_differ(both) => ("the candidate".to_owned(), false),
        (_, 1) => ("whole frames".to_owned(), true),
        (_, count) => (format!("{} slices", in_words(count)), true),
    }
}

/// Whether two designs differ in their slice counts, and apart from name and notes in nothing else.
fn only_counts_differ(both: [Measured<'_>; 2]) -> bool {
    let [one, other] = both.map(|one| one.scenario);
    if one.slices.count == other.slices.count {
        return false;
    }
    let mut alike = one.clone();
    alike.slices.count = other.slices.count;
    alike.name.clone_from(&other.name);
    alike.notes.clone_from(&other.notes);
    alike == *other
}

/// Small numbers are written out at the beginning of a sentence.
fn in_words(count: u32) -> String {
    const WORDS: [&str; 11] =
        ["two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve"];
    WORDS.get(count.wrapping_sub(2) as usize).map_or_else(|| count.to_string(), |word| (*word).to_owned())
}

#[cfg(test)]
mod tests;

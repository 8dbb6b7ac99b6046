//! What if: the same design over other links, and over more or less jitter, as one table.
//!
//! The links are invented: plausible round numbers of ours, of no product. Light in a fibre and signals in a copper pair
//! take about 5 ns a metre (common practice, no source); everything else is an assumption to start from.

use serde::Serialize;

use super::StudyError;
use super::cost::most_bytes;
use super::luck::{Difference, Mean, USUAL_SEEDS, check_seeds, under_luck};
use super::one::One;
use super::runner::{Runner, Watch};
use super::sweep::Column;
use crate::measure::{Measure, measures};
use crate::scenario::{Effect, Scenario, Spread};

/// A link to try a design on.
#[derive(Debug, Clone, Copy)]
pub struct LinkKind {
    /// Name on the command line.
    pub name: &'static str,
    /// Name for people.
    pub label: &'static str,
    /// What is assumed.
    pub note: &'static str,
    change: Change,
}

/// What becomes of the scenario's own link.
#[derive(Debug, Clone, Copy)]
enum Change {
    Nothing,
    HalfTheRate,
    Assume(Assumed),
}

/// What differs from link to link.
#[derive(Debug, Clone, Copy)]
struct Assumed {
    rate_mbps: f64,
    unit_overhead_ms: f64,
    propagation_us: f64,
    /// Fixed delay and mean jitter \[ms\].
    delay_ms: [f64; 2],
    /// The same of the way up \[ms\].
    uplink_ms: [f64; 2],
    closures_per_minute: f64,
}

/// Mean length of closures, where there are any \[ms\].
const CLOSURE_MS: f64 = 8.0;

impl Assumed {
    fn set(&self, scenario: &mut Scenario) {
        let link = &mut scenario.link;
        link.rate_mbps = self.rate_mbps;
        link.unit_overhead_ms = self.unit_overhead_ms;
        link.propagation_us = self.propagation_us;
        link.loss = 0.0;
        link.closures.per_minute = self.closures_per_minute;
        if self.closures_per_minute > 0.0 {
            (link.closures.mean_ms, link.closures.effect) = (CLOSURE_MS, Effect::Hold);
        }
        for (delay, [fixed_ms, jitter_ms]) in
            [(&mut scenario.link.delay, self.delay_ms), (&mut scenario.pose.uplink, self.uplink_ms)]
        {
            (delay.fixed_ms, delay.jitter_ms, delay.spread) = (fixed_ms, jitter_ms, Spread::Exponential);
        }
    }
}

/// The links, the design's own first.
pub static LINKS: [LinkKind; 7] = [
    LinkKind { name: "own", label: "Own link", note: "the scenario's own link", change: Change::Nothing },
    LinkKind {
        name: "half-rate",
        label: "Own link, at half the rate",
        note: "the scenario's own link, its rate halved, not below 1 Mbps",
        change: Change::HalfTheRate,
    },
    LinkKind {
        name: "cable-2m",
        label: "Cable, 2 m",
        note: "4000 Mbps, 0.01 ms a unit, delay 0.05 + 0.01 ms jitter, way up 0.2 + 0.02 ms, 5 ns/m",
        change: Change::Assume(Assumed {
            rate_mbps: 4000.0,
            unit_overhead_ms: 0.01,
            propagation_us: 0.01,
            delay_ms: [0.05, 0.01],
            uplink_ms: [0.2, 0.02],
            closures_per_minute: 0.0,
        }),
    },
    LinkKind {
        name: "cable-15m",
        label: "Cable, 15 m",
        note: "1500 Mbps (long copper is slower), 0.02 ms a unit, delay 0.1 + 0.03 ms jitter, way up 0.3 + 0.05 ms, 5 ns/m",
        change: Change::Assume(Assumed {
            rate_mbps: 1500.0,
            unit_overhead_ms: 0.02,
            propagation_us: 0.075,
            delay_ms: [0.1, 0.03],
            uplink_ms: [0.3, 0.05],
            closures_per_minute: 0.0,
        }),
    },
    LinkKind {
        name: "optical-50m",
        label: "Optical cable, 50 m",
        note: "8000 Mbps, 0.01 ms a unit, delay 0.1 + 0.01 ms jitter for the converters, way up 0.25 + 0.02 ms, 5 ns/m",
        change: Change::Assume(Assumed {
            rate_mbps: 8000.0,
            unit_overhead_ms: 0.01,
            propagation_us: 0.25,
            delay_ms: [0.1, 0.01],
            uplink_ms: [0.25, 0.02],
            closures_per_minute: 0.0,
        }),
    },
    LinkKind {
        name: "radio-near",
        label: "Radio, in the room",
        note: "1200 Mbps, 0.1 ms a unit, delay 0.6 + 0.4 ms jitter, way up 0.6 + 0.3 ms",
        change: Change::Assume(Assumed {
            rate_mbps: 1200.0,
            unit_overhead_ms: 0.1,
            propagation_us: 0.02,
            delay_ms: [0.6, 0.4],
            uplink_ms: [0.6, 0.3],
            closures_per_minute: 0.0,
        }),
    },
    LinkKind {
        name: "radio-shared",
        label: "Radio, shared, with pauses",
        note: "600 Mbps, 0.25 ms a unit, delay 1 + 1 ms jitter, way up 1 + 0.5 ms, closed 6 times a minute for 8 ms on average",
        change: Change::Assume(Assumed {
            rate_mbps: 600.0,
            unit_overhead_ms: 0.25,
            propagation_us: 0.03,
            delay_ms: [1.0, 1.0],
            uplink_ms: [1.0, 0.5],
            closures_per_minute: 6.0,
        }),
    },
];

impl LinkKind {
    /// The link of a name.
    pub fn find(name: &str) -> Option<&'static Self> {
        LINKS.iter().find(|link| link.name == name)
    }

    /// A scenario on this link, its jitter so many times as much.
    pub fn put(&self, scenario: &Scenario, jitter: f64) -> Scenario {
        let mut scenario = scenario.clone();
        match &self.change {
            Change::Nothing => {}
            Change::HalfTheRate => scenario.link.rate_mbps = (scenario.link.rate_mbps / 2.0).max(1.0),
            Change::Assume(assumed) => assumed.set(&mut scenario),
        }
        scenario.link.delay.jitter_ms *= jitter;
        scenario
    }
}

/// What is asked.
#[derive(Debug, Clone)]
pub struct Question {
    /// Links; the first is what the others are held against.
    pub links: Vec<&'static LinkKind>,
    /// Times the link's jitter; the first is what the others are held against.
    pub jitters: Vec<f64>,
    /// Measures.
    pub measures: Vec<&'static Measure>,
    /// Seeds.
    pub seeds: u32,
}

impl Default for Question {
    fn default() -> Self {
        Self {
            links: LINKS.iter().collect(),
            jitters: vec![1.0, 0.0, 3.0, 10.0],
            measures: measures::all().iter().filter(|measure| measure.main).collect(),
            seeds: USUAL_SEEDS,
        }
    }
}

/// One design over links and jitters.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WhatIf {
    /// Name of the scenario.
    pub name: String,
    /// Measures.
    pub measures: Vec<Column>,
    /// Seeds.
    pub seeds: u32,
    /// Frames a run.
    pub frames: u32,
    /// First frames that do not count.
    pub warmup: u32,
    /// A row for every link and jitter; the first is what the others are held against.
    pub rows: Vec<Row>,
}

/// The design on one link at one jitter.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// Name of the link.
    pub link: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// What is assumed of it.
    pub note: &'static str,
    /// Times its jitter.
    pub jitter: f64,
    /// Mean jitter that comes to \[ms\].
    pub jitter_ms: f64,
    /// Seeds at which the design was steady.
    pub steady_seeds: u32,
    /// Seeds at which it met every line of its budget.
    pub within_budget_seeds: u32,
    /// By measure.
    pub values: Vec<Mean>,
    /// By measure, less the first row.
    pub differences: Vec<Difference>,
}

/// Runs a checked scenario on every link at every jitter, under the same luck.
pub fn what_if(
    scenario: &Scenario,
    question: &Question,
    runner: &Runner,
    watch: &Watch<'_>,
) -> Result<WhatIf, StudyError> {
    let Question { links, jitters, measures, seeds } = question;
    check_seeds(*seeds)?;
    if let Some(wrong) = jitters.iter().find(|jitter| !(0.0..=1000.0).contains(*jitter)) {
        return Err(StudyError::question("jitter", &wrong, "0 to 1000 times"));
    }
    if links.is_empty() || jitters.is_empty() {
        return Err(StudyError::question("links and jitters", "none", "one of each or more"));
    }
    let mut worlds = Vec::with_capacity(links.len() * jitters.len());
    for link in links {
        for &jitter in jitters {
            let put = link.put(scenario, jitter);
            put.check()?;
            worlds.push((*link, jitter, put));
        }
    }
    let runs = worlds.len() * *seeds as usize;
    watch.expect(runs);
    let ones = runner.run(runs, most_bytes(worlds.iter().map(|(_, _, put)| put)), watch, |number, space| {
        let (seed, at) = (number / worlds.len(), number % worlds.len());
        let put = under_luck(&worlds[at].2, seed as u32, scenario.run.seed);
        One::of(&put, measures.iter().copied(), space, watch)
    })?;
    let of_world = |at: usize| ones.iter().skip(at).step_by(worlds.len());
    let by_measure = |at: usize, number: usize| of_world(at).map(|one| one.values[number]).collect::<Vec<_>>();
    let rows = worlds.iter().enumerate().map(|(at, (link, jitter, put))| Row {
        link: link.name,
        label: link.label,
        note: link.note,
        jitter: *jitter,
        jitter_ms: put.link.delay.jitter_ms,
        steady_seeds: of_world(at).filter(|one| one.steady).count() as u32,
        within_budget_seeds: of_world(at).filter(|one| one.within_budget).count() as u32,
        values: (0..measures.len()).map(|number| Mean::of(&by_measure(at, number))).collect(),
        differences: measures
            .iter()
            .enumerate()
            .map(|(number, measure)| {
                Difference::of(&by_measure(0, number), &by_measure(at, number), measure, scenario.run)
            })
            .collect(),
    });
    Ok(WhatIf {
        name: scenario.name.clone(),
        measures: measures.iter().map(|measure| Column::of(measure)).collect(),
        seeds: *seeds,
        frames: scenario.run.frames,
        warmup: scenario.run.warmup,
        rows: rows.collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::study::luck::Verdict;

    #[test]
    fn every_link_is_allowed_on_every_preset_and_keeps_its_name() {
        for preset in crate::scenario::presets::all() {
            for link in &LINKS {
                link.put(&preset.scenario(), 10.0).check().unwrap();
            }
        }
        for link in &LINKS {
            assert_eq!(LinkKind::find(link.name).map(|found| found.label), Some(link.label));
        }
        assert_eq!(LINKS[0].put(&Scenario::default(), 1.0), Scenario::default());
        let mut halved = Scenario::default();
        halved.link.rate_mbps /= 2.0;
        assert_eq!(LinkKind::find("half-rate").unwrap().put(&Scenario::default(), 1.0), halved);
    }

    /// The notes are what a reader sees of the assumptions: each number is in them.
    #[test]
    fn notes_say_what_is_assumed() {
        for link in &LINKS {
            let Change::Assume(assumed) = link.change else { continue };
            let Assumed { rate_mbps, unit_overhead_ms, propagation_us, delay_ms, uplink_ms, closures_per_minute } =
                assumed;
            let mut words = vec![
                format!("{rate_mbps} Mbps"),
                format!("{unit_overhead_ms} ms a unit"),
                format!("delay {} + {} ms jitter", delay_ms[0], delay_ms[1]),
                format!("way up {} + {} ms", uplink_ms[0], uplink_ms[1]),
            ];
            if closures_per_minute > 0.0 {
                words.push(format!("closed {closures_per_minute} times a minute for {CLOSURE_MS} ms"));
            }
            assert!(words.iter().all(|words| link.note.contains(words)), "{}: {words:?}", link.note);
            // 5 ns a metre, of the length that the label tells.
            let metres = link.label.split(", ").find_map(|part| part.strip_suffix(" m")?.parse::<f64>().ok());
            assert!(metres.is_none_or(|metres| (propagation_us - 0.005 * metres).abs() < 1e-12), "{}", link.label);
        }
    }

    #[test]
    fn rows_are_held_against_the_first() {
        let mut scenario = Scenario::default();
        (scenario.run.frames, scenario.run.warmup, scenario.content.cv) = (400, 100, 0.0);
        let median = measures::find("stream_ms.p50").unwrap();
        let question = Question {
            links: ["own", "cable-2m", "radio-shared"].map(|name| LinkKind::find(name).unwrap()).to_vec(),
            jitters: vec![1.0, 10.0],
            measures: vec![median],
            seeds: 3,
        };
        let found = what_if(&scenario, &question, &Runner::new(), &Watch::nobody()).unwrap();
        assert_eq!(found.rows.len(), 6);
        let verdicts: Vec<Verdict> = found.rows.iter().map(|row| row.differences[0].verdict).collect();
        assert_eq!(verdicts[0], Verdict::Same);
        assert_eq!((verdicts[1], verdicts[2], verdicts[4]), (Verdict::Worse, Verdict::Better, Verdict::Worse));
        assert!((found.rows[1].jitter_ms - 0.5).abs() < 1e-12);
    }
}

//! Loads and headroom: what every server is asked to do against what it can, and how much later frames might be ready.

use super::lanes::Stage;
use super::table::{Table, cells};
use crate::measure::Server;
use crate::report::format::{ms, share};
use crate::report::warnings::{Warning, warnings};
use crate::report::words;
use crate::scenario::{Lead, Pacing};
use crate::study::Answer;

/// One server.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// The server.
    pub server: Server,
    /// Whose parameters set it.
    pub stage: Stage,
    /// Mean work of a frame over engines times frame period, of baseline and candidate; may exceed 1.
    pub offered: [Option<f64>; 2],
    /// Share of the time that it, or its engines on average, was busy.
    pub busy: [Option<f64>; 2],
}

/// Where a lead comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Leading {
    /// It is given.
    Given,
    /// It follows what the frames need: a slower stage would bring a longer lead and not late frames.
    Follows,
    /// It would, but no lead meets the share of late frames asked for.
    Untuned,
}

/// What one run has left.
#[derive(Debug, Clone, PartialEq)]
pub struct Left {
    /// The server that is asked for most, and its offered load.
    pub bottleneck: Option<(Server, f64)>,
    /// 1 % quantile of the slack of the frames that got ready \[ms\].
    pub headroom_ms: Option<f64>,
    /// Share of the counted frames that got ready.
    pub ready: Option<f64>,
    /// Whether frames have a refresh to be in time for.
    pub targets: bool,
    /// Where the lead comes from.
    pub lead: Leading,
    /// Whether the run settled.
    pub steady: bool,
    /// What comes of servers that are asked for more than they can do, in sentences.
    pub overloads: Vec<String>,
}

/// Both runs.
#[derive(Debug, Clone, PartialEq)]
pub struct Loads {
    /// All servers in the order in which a frame meets them.
    pub rows: [Row; 5],
    /// Greatest load that the candidate's budget allows, a share.
    pub limit: f64,
    /// Baseline and candidate.
    pub sides: [Left; 2],
}

const fn stage_of(server: Server) -> Stage {
    match server {
        Server::Cpu => Stage::Cpu,
        Server::Gpu => Stage::Gpu,
        Server::Encoder => Stage::Encoder,
        Server::Link => Stage::Link,
        Server::Decoder => Stage::Decoder,
    }
}

impl Loads {
    /// The loads of two answers.
    pub fn new(answers: [&Answer; 2]) -> Self {
        let row = |server: Server| Row {
            server,
            stage: stage_of(server),
            offered: answers.map(|answer| answer.summary.offered_load.of(server)),
            busy: answers.map(|answer| answer.summary.busy.of(server)),
        };
        Self {
            rows: Server::ALL.map(row),
            limit: answers[1].scenario.budget.load_pct / 100.0,
            sides: answers.map(Left::of),
        }
    }

    /// The greatest share there is, of offered loads and busy times.
    pub fn greatest(&self) -> f64 {
        self.rows.iter().flat_map(|row| row.offered.into_iter().chain(row.busy)).flatten().fold(0.0, f64::max)
    }
}

const COLUMNS: [&str; 8] = [
    "what",
    "baseline_offered_pct",
    "candidate_offered_pct",
    "baseline_busy_pct",
    "candidate_busy_pct",
    "limit_pct",
    "baseline_ms",
    "candidate_ms",
];

impl Loads {
    /// Every server, then the headroom.
    pub fn table(&self) -> Table {
        let mut table = Table::new("Loads and headroom", &COLUMNS);
        let none = None::<f64>;
        let limit_pct = 100.0 * self.limit;
        for row in &self.rows {
            let pct = |shares: [Option<f64>; 2]| shares.map(|share| share.map(|share| 100.0 * share));
            let ([offered, other], [busy, another]) = (pct(row.offered), pct(row.busy));
            table.row(cells![row.server.label(), offered, other, busy, another, limit_pct, none, none]);
        }
        let [before, after] = self.sides.each_ref().map(|left| left.headroom_ms);
        table.row(cells!["Headroom", none, none, none, none, none, before, after]);
        table
    }
}

impl Left {
    /// What the run of an answer has left.
    pub fn of(answer: &Answer) -> Self {
        let Answer { scenario, run, summary, samples, .. } = answer;
        let loads = Server::ALL.into_iter().filter_map(|server| Some((server, summary.offered_load.of(server)?)));
        let counted = run.frames.len().saturating_sub(summary.warmup as usize);
        let told = warnings(answer).into_iter().filter(|warning| {
            matches!(warning, Warning::Overloaded { .. } | Warning::NotSteady { cause: Some(_), .. })
        });
        Self {
            // Of equal ones the first that a frame meets.
            bottleneck: loads.reduce(|most, next| if next.1 > most.1 { next } else { most }),
            headroom_ms: summary.headroom_ms,
            ready: (counted > 0).then(|| samples.turnaround.numbers.len() as f64 / counted as f64),
            targets: !matches!(scenario.pacing, Pacing::Intervals { .. }),
            lead: match scenario.pacing {
                _ if summary.lead_infinite => Leading::Untuned,
                Pacing::Fixed { lead: Lead::Ms(_), .. } => Leading::Given,
                _ => Leading::Follows,
            },
            steady: summary.steady,
            overloads: told.map(|warning| warning.to_string()).collect(),
        }
    }

    /// The bottleneck and the headroom in a few words.
    pub fn in_short(&self) -> String {
        let bottleneck = self.bottleneck.map_or_else(
            || "nothing is offered".to_owned(),
            |(server, load)| {
                let more = if load > 1.0 { ", more than it can do" } else { "" };
                format!("bottleneck {} at {}{more}", words::server(server), share(load))
            },
        );
        let headroom = match self.headroom_ms {
            Some(headroom) => format!("headroom {}", ms(headroom)),
            None if !self.targets => "no headroom: frames have no refresh to be late for".to_owned(),
            None if !self.steady => "no headroom: not steady".to_owned(),
            None if self.lead == Leading::Untuned => "no headroom: no lead could be tuned".to_owned(),
            None => "no headroom: no frame got ready".to_owned(),
        };
        format!("{bottleneck}; {headroom}")
    }

    /// What the headroom means, by its definition: the slack that 99 % of the frames that got ready have at least.
    pub fn headroom_meaning(&self) -> Option<String> {
        let headroom = self.headroom_ms?;
        let ready = self.ready.filter(|ready| *ready < 1.0).map_or_else(String::new, |ready| {
            format!(" Only {} of all frames get ready: no headroom helps the others.", share(ready))
        });
        let text = if headroom >= 0.0 {
            let follows = if self.lead == Leading::Follows {
                " It holds for the lead used; the lead of the design would follow."
            } else {
                ""
            };
            format!(
                "Headroom {}: were every frame ready so much later, as with a longer delay on the link, 99 % of those \
                 that get ready would still be in time.{follows}",
                ms(headroom)
            )
        } else {
            format!(
                "Headroom {}: more than 1 % of the frames that get ready are late. Were every frame ready {} sooner, \
                 99 % of them would be in time.",
                ms(headroom),
                ms(-headroom)
            )
        };
        Some(text + &ready)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::presets;
    use crate::scenario::{Scenario, Spread};
    use crate::study::{Workspace, answer};

    fn short(change: impl FnOnce(&mut Scenario)) -> Answer {
        let mut scenario = Scenario::default();
        scenario.run.frames = 3000;
        change(&mut scenario);
        answer(&scenario, &mut Workspace::new())
    }

    /// Loads worked out from the work table and the period alone.
    #[test]
    fn offered_loads_are_work_over_period() {
        let answer = short(|scenario| scenario.display.refresh_hz = 72.0);
        let loads = Loads::new([&answer, &answer]);
        let counted = &answer.table.frames[180..];
        let period_ns = 1e9 / 72.0;
        let mean = |work: &dyn Fn(usize) -> i64| {
            (0..counted.len()).map(work).sum::<i64>() as f64 / counted.len() as f64 / period_ns
        };
        let overhead = 400_000 + 8 * 150_000;
        let expected = [
            (Server::Cpu, mean(&|frame| counted[frame].simulate_ns)),
            (Server::Gpu, mean(&|frame| counted[frame].render_ns)),
            (Server::Decoder, mean(&|frame| counted[frame].decode_ns + overhead)),
        ];
        for (server, load) in expected {
            let row = loads.rows.iter().find(|row| row.server == server).unwrap();
            assert!((row.offered[0].unwrap() - load).abs() < 1e-12, "{server:?}");
        }
        let most = loads.rows.iter().map(|row| row.offered[1].unwrap()).fold(0.0, f64::max);
        assert_eq!(loads.sides[1].bottleneck.map(|(_, load)| load), Some(most));
        assert!((loads.limit - 0.85).abs() < 1e-12);
        let table = loads.table();
        assert_eq!(table.rows[4][2], (100.0 * loads.rows[4].offered[1].unwrap()).into());
        assert_eq!(table.rows[5][6], answer.summary.headroom_ms.into());
    }

    #[test]
    fn headroom_is_what_a_longer_delay_may_cost() {
        let lead_ms = 21.0;
        let at = |delay_ms: f64| {
            short(|scenario| {
                scenario.pacing = Pacing::Fixed { lead: Lead::Ms(lead_ms), every: 1 };
                scenario.link.delay.fixed_ms += delay_ms;
            })
        };
        let before = at(0.0);
        let left = Left::of(&before);
        let headroom = left.headroom_ms.unwrap();
        assert!(headroom > 0.2, "{headroom}");
        let meaning = left.headroom_meaning().unwrap();
        assert!(meaning.contains(&ms(headroom)) && !meaning.contains("follow"), "{meaning}");
        let after = at(headroom);
        let slack = &after.samples.slack.values_ms;
        let in_time = slack.iter().filter(|slack| **slack >= 0.0).count() as f64 / slack.len() as f64;
        assert!((in_time - 0.99).abs() < 1.5 / slack.len() as f64, "{in_time} in time with {headroom} ms more");
    }

    #[test]
    fn too_short_a_lead_has_less_than_no_headroom() {
        let answer = short(|scenario| scenario.pacing = Pacing::Fixed { lead: Lead::Ms(17.0), every: 1 });
        let left = Left::of(&answer);
        assert!(left.headroom_ms < Some(0.0));
        assert!(left.headroom_meaning().unwrap().contains("sooner"));
    }

    /// 32 slices overload the decoder: with a bounded buffer frames are dropped, without one they queue.
    #[test]
    fn overload_says_what_comes_of_it() {
        let dropping = short(|scenario| scenario.slices.count = 32);
        let left = Left::of(&dropping);
        let (server, load) = left.bottleneck.unwrap();
        assert!(server == Server::Decoder && load > 1.0, "{server:?} {load}");
        let dropped = f64::from(dropping.summary.fates.dropped_decode) / f64::from(dropping.summary.fates.total());
        assert!(left.overloads[0].contains(&format!("{} are dropped before decode", share(dropped))), "{left:?}");
        assert!(left.in_short().contains("more than it can do"));
        let queueing = short(|scenario| {
            scenario.slices.count = 32;
            scenario.decode.buffer.frames = None;
        });
        let left = Left::of(&queueing);
        assert_eq!(left.headroom_ms, None);
        assert!(left.in_short().contains("not steady"), "{}", left.in_short());
        assert!(left.overloads[0].contains("latency grows by"), "{left:?}");
    }

    #[test]
    fn frames_without_a_target_have_no_headroom() {
        let answer = short(|scenario| {
            scenario.pacing = Pacing::Intervals { mean_ms: 14.0, spread: Spread::Constant };
        });
        let left = Left::of(&answer);
        assert_eq!((left.headroom_ms, left.headroom_meaning()), (None, None));
        assert!(left.in_short().ends_with("no refresh to be late for"));
    }

    #[test]
    fn without_a_lead_that_could_be_tuned_there_is_no_headroom() {
        let scenario = presets::find("wired-90-32-slices").unwrap().scenario();
        let answer = answer(&scenario, &mut Workspace::new());
        assert!(answer.summary.lead_infinite && answer.summary.headroom_ms.is_none());
        let left = Left::of(&answer);
        assert_eq!((left.lead, left.headroom_ms), (Leading::Untuned, None));
        assert!(left.in_short().ends_with("no headroom: no lead could be tuned"), "{}", left.in_short());
    }
}

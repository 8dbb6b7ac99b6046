//! The share of late frames against the lead: one run gives the whole curve.
//!
//! A frame is ready so long after its plan whatever the lead is, because nothing comes back from the latch to the host
//! (the model's page, "Plans"). So the lead that a frame needs to be in time is the lead it was planned with less its
//! slack, and the share of frames late at a lead is the share that needs more. Closures of the link come at times of their
//! own: another lead meets others of the same law.

use super::table::{DESIGNS, Table, cells};
use crate::scenario::{Lead, Pacing, Scenario};
use crate::study::Answer;
use crate::time::{ms_to_ns, ns_to_ms, round_to_ns};

/// Why a run has no curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NoCurve {
    /// Frames come at intervals of their own.
    Intervals,
    /// The lead follows its own late frames.
    Adaptive,
    /// No frame counts.
    Nothing,
}

impl NoCurve {
    /// Why, in a sentence.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Intervals => "frames come at intervals of their own and have no refresh to be late for",
            Self::Adaptive => "an adaptive lead follows its own late frames, so this run says nothing of another lead",
            Self::Nothing => "no frame counts",
        }
    }
}

/// The curve of one run.
#[derive(Debug, Clone, PartialEq)]
pub struct Needs {
    /// The lead that each counted frame that got ready needs to be in time, ascending \[ns\].
    pub leads_ns: Vec<i64>,
    /// Counted frames that never got ready: no lead helps them.
    pub never: usize,
    /// The lead that the run used \[ns\].
    pub used_ns: i64,
    /// Share of late frames that the lead was to be tuned to.
    pub asked: Option<f64>,
    /// Refresh period \[ns\].
    pub period_ns: i64,
    /// Whether the run settled; if not, the curve hangs on the length of the run.
    pub steady: bool,
    /// Whether the link closes: other leads meet other closures.
    pub closes: bool,
}

impl Needs {
    /// The curve of an answer, or why there is none.
    pub fn of(answer: &Answer) -> Result<Self, NoCurve> {
        let Answer { scenario, run, summary, .. } = answer;
        let asked = match &scenario.pacing {
            Pacing::Intervals { .. } => return Err(NoCurve::Intervals),
            Pacing::Adaptive { .. } => return Err(NoCurve::Adaptive),
            Pacing::Fixed { lead: Lead::Ms(_), .. } => None,
            Pacing::Fixed { lead: Lead::Tuned { late_share }, .. } => Some(*late_share),
        };
        let counted = (summary.warmup as usize).min(run.frames.len())..run.frames.len();
        let targeted = counted.filter(|frame| run.frames[*frame].target.is_some());
        let all: Vec<(i64, Option<i64>)> =
            targeted.map(|frame| (run.frames[frame].lead_ns, run.slack_ns(frame))).collect();
        let used_ns = all.first().ok_or(NoCurve::Nothing)?.0;
        let mut leads_ns: Vec<i64> =
            all.iter().filter_map(|(lead_ns, slack_ns)| Some(lead_ns - (*slack_ns)?)).collect();
        leads_ns.sort_unstable();
        Ok(Self {
            never: all.len() - leads_ns.len(),
            leads_ns,
            used_ns,
            asked,
            period_ns: round_to_ns(run.grid.refresh_period_ns()),
            steady: summary.steady,
            closes: closes(scenario),
        })
    }

    /// Counted frames.
    pub fn total(&self) -> usize {
        self.leads_ns.len() + self.never
    }

    fn share(&self, frames: usize) -> f64 {
        frames as f64 / self.total() as f64
    }

    /// Share of frames that would be late at a lead.
    pub fn late(&self, lead_ns: i64) -> f64 {
        let in_time = self.leads_ns.partition_point(|needed_ns| *needed_ns <= lead_ns);
        self.share(self.total() - in_time)
    }

    /// Share of frames that would be ready a whole refresh before their own latch at a lead. Newest shows those a refresh
    /// early, `OnTarget` holds them back.
    pub fn early(&self, lead_ns: i64) -> f64 {
        let early = self.leads_ns.partition_point(|needed_ns| *needed_ns <= lead_ns - self.period_ns);
        self.share(early)
    }

    /// The share that no lead undercuts: of the frames that never get ready.
    pub fn floor(&self) -> f64 {
        self.share(self.never)
    }

    /// The least lead at which at most this share of the frames is late; none where no lead is enough \[ns\]. A tuned lead
    /// lies between two frames (type-7 quantile) and holds its share to within one frame only, so it may be the shorter.
    pub fn lead_for(&self, late: f64) -> Option<i64> {
        let may_be_late = (late * self.total() as f64 + 1e-9).floor() as usize;
        let in_time = self.total().checked_sub(may_be_late)?;
        match in_time.checked_sub(1) {
            None => self.leads_ns.first().copied(),
            Some(last) => self.leads_ns.get(last).copied(),
        }
    }

    /// The lead from which on some frame is a whole refresh early: below it Newest and `OnTarget` show the same; none where
    /// no frame gets ready \[ns\].
    pub fn same_below_ns(&self) -> Option<i64> {
        self.leads_ns.first().map(|least| least + self.period_ns)
    }
}

fn closes(scenario: &Scenario) -> bool {
    scenario.link.closures.per_minute > 0.0
}

/// Both curves.
#[derive(Debug, Clone, PartialEq)]
pub struct LateShares {
    /// Baseline and candidate.
    pub sides: [Result<Needs, NoCurve>; 2],
    /// Leads worth an axis \[ns\].
    pub range_ns: Option<[i64; 2]>,
}

/// Share of the frames ready whose needs the axis holds at least, and how far beyond what they span it goes at most.
const BODY: f64 = 0.99;
const BEYOND: f64 = 2.5;

impl LateShares {
    /// The curves of two answers.
    pub fn new(answers: [&Answer; 2]) -> Self {
        let sides = answers.map(Needs::of);
        let range_ns = range_of(&sides);
        Self { sides, range_ns }
    }

    /// The smallest share above 0 that either run can tell: one of its frames.
    pub fn least_share(&self) -> f64 {
        let most = self.sides.iter().flatten().map(Needs::total).max().unwrap_or(1);
        1.0 / most.max(10) as f64
    }
}

const COLUMNS: [&str; 5] = ["design", "row", "lead_ms", "late_pct", "early_pct"];

impl LateShares {
    /// Both curves: the lead used, the share asked for, and every lead at which one frame more is in time. Early: ready a
    /// whole refresh before its own latch.
    pub fn table(&self) -> Table {
        let mut table = Table::new("Late share", &COLUMNS);
        for (design, side) in DESIGNS.into_iter().zip(&self.sides) {
            let needs = match side {
                Ok(needs) => needs,
                Err(why) => {
                    table.row(cells![design, why.words(), None::<f64>, None::<f64>, None::<f64>]);
                    continue;
                }
            };
            let mut row = |name: &str, lead_ns: i64| {
                let [late_pct, early_pct] = [needs.late(lead_ns), needs.early(lead_ns)].map(|share| 100.0 * share);
                table.row(cells![design, name, ns_to_ms(lead_ns), late_pct, early_pct]);
            };
            row("used", needs.used_ns);
            let mut leads = needs.leads_ns.clone();
            leads.dedup();
            for lead_ns in leads {
                row("curve", lead_ns);
            }
            if let Some(asked) = needs.asked {
                table.row(cells![design, "asked", None::<f64>, 100.0 * asked, None::<f64>]);
            }
            table.row(cells![design, "never ready", None::<f64>, 100.0 * needs.floor(), None::<f64>]);
        }
        table
    }
}

/// From the least need to the greatest, or as far as few frames do not squeeze the rest; the leads used lie within.
fn range_of(sides: &[Result<Needs, NoCurve>; 2]) -> Option<[i64; 2]> {
    let ends = sides.iter().flatten().filter_map(|needs| {
        let (least, greatest) = (*needs.leads_ns.first()?, *needs.leads_ns.last()?);
        let body = needs.leads_ns[((needs.leads_ns.len() - 1) as f64 * BODY) as usize];
        let far = body.saturating_add((BEYOND * (body - least).max(ms_to_ns(0.5)) as f64) as i64);
        Some([least.min(needs.used_ns), greatest.min(far).max(needs.used_ns)])
    });
    ends.reduce(|[low, high], [least, most]| [low.min(least), high.max(most)])
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::engine::Run;
    use crate::scenario::{Choose, Spread};
    use crate::study::{Workspace, answer};

    fn by_hand(leads_ms: &[i64], never: usize) -> Needs {
        Needs {
            leads_ns: leads_ms.iter().map(|ms| ms * 1_000_000).collect(),
            never,
            used_ns: 20_000_000,
            asked: None,
            period_ns: 10_000_000,
            steady: true,
            closes: false,
        }
    }

    #[test]
    fn shares_are_counts_over_all_frames() {
        let needs = by_hand(&[11, 12, 12, 15, 19, 25, 40], 3);
        let ms = |ms: i64| ms * 1_000_000;
        for (lead, late) in [(10, 1.0), (11, 0.9), (12, 0.7), (14, 0.7), (19, 0.5), (39, 0.4), (40, 0.3), (900, 0.3)] {
            assert!((needs.late(ms(lead)) - late).abs() < 1e-12, "late at {lead} ms");
        }
        for (lead, early) in [(20, 0.0), (21, 0.1), (22, 0.3), (29, 0.5), (50, 0.7)] {
            assert!((needs.early(ms(lead)) - early).abs() < 1e-12, "early at {lead} ms");
        }
        assert!((needs.floor() - 0.3).abs() < 1e-12);
        assert_eq!(needs.lead_for(0.5), Some(ms(19)));
        assert_eq!(needs.lead_for(0.49), Some(ms(25)));
        assert_eq!(needs.lead_for(0.3), Some(ms(40)));
        assert_eq!(needs.lead_for(0.29), None);
        assert_eq!(needs.same_below_ns(), Some(ms(21)));
    }

    /// Constant work of 18 ms and a link delay of exponential law, mean 1 ms, so that the
    /// share late at a lead is exp(-(lead - 18 ms)).
    fn exponential(lead: Lead) -> Scenario {
        let mut scenario = Scenario::default();
        scenario.run.frames = 60_000;
        scenario.display.choose = Choose::OnTarget;
        scenario.slices.count = 1;
        scenario.content.cv = 0.0;
        scenario.clock.error_us = 0.0;
        scenario.clock.drift_ppm = 0.0;
        for (stage, ms) in [(&mut scenario.host.simulate, 4.0), (&mut scenario.host.render, 6.0)] {
            (stage.fixed_ms, stage.per_mpx_ms, stage.spread) = (ms, 0.0, Spread::Constant);
        }
        for (work, ms) in [(&mut scenario.encode.work, 3.0), (&mut scenario.decode.work, 5.0)] {
            (work.fixed_ms, work.per_mpx_ms, work.per_mbit_ms, work.spread) = (ms, 0.0, 0.0, Spread::Constant);
        }
        (scenario.encode.frame_overhead_ms, scenario.encode.slice_overhead_ms) = (0.0, 0.0);
        (scenario.decode.frame_overhead_ms, scenario.decode.slice_overhead_ms) = (0.0, 0.0);
        scenario.stream.size = Spread::Constant;
        (scenario.link.rate_mbps, scenario.link.unit_overhead_ms, scenario.link.propagation_us) = (100_000.0, 0.0, 0.0);
        (scenario.link.delay.fixed_ms, scenario.link.delay.jitter_ms) = (0.0, 1.0);
        scenario.link.delay.spread = Spread::Exponential;
        scenario.pacing = Pacing::Fixed { lead, every: 1 };
        scenario
    }

    #[test]
    fn the_curve_is_the_exponential_law_of_the_link() {
        let answer = answer(&exponential(Lead::Ms(23.0)), &mut Workspace::new());
        let needs = Needs::of(&answer).unwrap();
        // What is constant: the least need but for the shortest of the delays, from the scenario's own costs.
        let record = &answer.run.frames[1000];
        let constant_ns =
            record.ready.ns().unwrap() - record.plan.ns().unwrap() - answer.table.frames[1000].link_delay_ns;
        assert!((constant_ns - 18_000_000).abs() < 300_000, "{constant_ns}");
        for (slack_ms, expected) in [(1.0f64, 0.3679), (2.303, 0.0999), (4.605, 0.0100)] {
            let found = needs.late(constant_ns + ms_to_ns(slack_ms));
            // Four standard errors of a share of independent frames.
            let error = 4.0 * (expected * (1.0 - expected) / needs.total() as f64).sqrt();
            assert!((found - expected).abs() < error + 1e-4, "slack {slack_ms}: {found}, expected {expected}");
        }
    }

    #[test]
    fn one_run_tells_what_runs_at_other_leads_come_to() {
        let mut workspace = Workspace::new();
        let short = |lead: f64| {
            let mut scenario = exponential(Lead::Ms(lead));
            scenario.run.frames = 3000;
            scenario
        };
        let needs = Needs::of(&answer(&short(24.0), &mut workspace)).unwrap();
        for lead_ms in [18.5, 19.3, 21.0, 23.0] {
            let other = answer(&short(lead_ms), &mut workspace);
            assert_eq!(Some(needs.late(ms_to_ns(lead_ms))), other.summary.late_share, "at {lead_ms} ms");
        }
    }

    #[test]
    fn a_tuned_lead_is_on_the_curve_at_its_share() {
        for late_share in [0.005, 0.01, 0.2] {
            let mut scenario = Scenario::default();
            scenario.run.frames = 4000;
            scenario.pacing = Pacing::Fixed { lead: Lead::Tuned { late_share }, every: 1 };
            let answer = answer(&scenario, &mut Workspace::new());
            let needs = Needs::of(&answer).unwrap();
            assert_eq!(needs.asked, Some(late_share));
            assert_eq!(Some(needs.late(needs.used_ns)), answer.summary.late_share);
            let one = 1.0 / needs.total() as f64;
            assert!((needs.late(needs.used_ns) - late_share).abs() <= one, "{}", needs.late(needs.used_ns));
        }
    }

    #[test]
    fn frames_that_never_get_ready_keep_the_curve_up() {
        let mut scenario = Scenario::default();
        scenario.run.frames = 1200;
        scenario.link.loss = 1e-4;
        scenario.pacing = Pacing::Fixed { lead: Lead::Ms(25.0), every: 1 };
        let answer = answer(&scenario, &mut Workspace::new());
        let needs = Needs::of(&answer).unwrap();
        let counted = &answer.run.frames[answer.summary.warmup as usize..];
        let never = counted.iter().filter(|record| !record.ready.happened()).count();
        assert!(never > 0);
        assert_eq!(needs.never, never);
        assert!((needs.late(i64::MAX) - never as f64 / counted.len() as f64).abs() < 1e-12);
    }

    /// Newest and `OnTarget` differ only where a frame is ready at a latch before its own.
    #[test]
    fn below_the_bound_both_ways_to_choose_show_the_same() {
        let run = |choose: Choose, lead_ms: f64| -> (Run, Needs) {
            let mut scenario = exponential(Lead::Ms(lead_ms));
            (scenario.run.frames, scenario.display.choose) = (2000, choose);
            let answer = answer(&scenario, &mut Workspace::new());
            let needs = Needs::of(&answer).unwrap();
            (answer.run, needs)
        };
        let bound_ns = run(Choose::Newest, 20.0).1.same_below_ns().unwrap();
        for (lead_ns, same) in [(bound_ns - 2_000_000, true), (bound_ns + 2_000_000, false)] {
            let lead_ms = lead_ns as f64 / 1e6;
            let [newest, on_target] = [Choose::Newest, Choose::OnTarget].map(|choose| run(choose, lead_ms));
            let counted = |run: &Run| run.frames[180..].iter().map(|record| record.shown).collect::<Vec<_>>();
            assert_eq!(counted(&newest.0) == counted(&on_target.0), same, "at {lead_ms} ms");
            assert_eq!(newest.1.early(lead_ns) == 0.0, same);
        }
    }

    #[test]
    fn other_pacing_has_no_curve() {
        let mut scenario = Scenario::default();
        scenario.run.frames = 400;
        scenario.pacing = Pacing::Intervals { mean_ms: 12.0, spread: Spread::Constant };
        assert_eq!(Needs::of(&answer(&scenario, &mut Workspace::new())), Err(NoCurve::Intervals));
        scenario.pacing =
            Pacing::Adaptive { start_ms: 20.0, min_ms: 10.0, max_ms: 30.0, step_ms: 0.1, late_target: 0.01, every: 1 };
        let answer = answer(&scenario, &mut Workspace::new());
        assert_eq!(Needs::of(&answer), Err(NoCurve::Adaptive));
        let both = LateShares::new([&answer, &answer]);
        assert_eq!(both.range_ns, None);
        assert_eq!(both.table().rows[0][1], NoCurve::Adaptive.words().into());
    }

    #[test]
    fn the_table_has_the_lead_used_and_every_step() {
        let sides = [Ok(by_hand(&[11, 12, 12, 15], 1)), Err(NoCurve::Nothing)];
        let table = LateShares { sides, range_ns: None }.table();
        let none = None::<f64>;
        let expected = [
            cells!["baseline", "used", 20.0, 20.0, 0.0],
            cells!["baseline", "curve", 11.0, 80.0, 0.0],
            cells!["baseline", "curve", 12.0, 40.0, 0.0],
            cells!["baseline", "curve", 15.0, 20.0, 0.0],
            cells!["baseline", "never ready", none, 20.0, none],
            cells!["candidate", NoCurve::Nothing.words(), none, none, none],
        ];
        assert_eq!(table.rows, expected);
    }
}

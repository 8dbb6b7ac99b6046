//! What became of every frame and every refresh, two runs side by side.

use super::table::{Table, cells};
use crate::engine::{Fate, RefreshKind, Run};
use crate::measure::{Fates, RefreshKinds, Repairs, Summary};
use crate::report::format::{NOTHING, count};

/// What a run came to, counted.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Tally {
    /// Counted frames by fate, in the order of [`Fate::ALL`].
    pub fates: [u64; 9],
    /// Frames shown although late for their own refresh; part of the shown ones.
    pub shown_late: u64,
    /// Counted refreshes by kind, in the order of [`RefreshKind::ALL`].
    pub refreshes: [u64; 5],
    /// Longest time without a new frame \[ms\].
    pub longest_freeze_ms: Option<f64>,
    /// What resends were good for.
    pub repairs: Repairs,
}

impl Tally {
    /// Counts a run.
    pub fn of(summary: &Summary, run: &Run) -> Self {
        let counted = summary.warmup as usize..run.frames.len();
        let shown_late = |frame: &usize| run.frames[*frame].fate == Fate::Shown && run.late(*frame) == Some(true);
        Self {
            fates: Fate::ALL.map(|fate| u64::from(summary.fates.of(fate))),
            shown_late: counted.filter(shown_late).count() as u64,
            refreshes: RefreshKind::ALL.map(|kind| u64::from(summary.refresh_kinds.of(kind))),
            longest_freeze_ms: summary.longest_freeze_ms,
            repairs: summary.repairs,
        }
    }
}

/// How an outcome is to be read; each has a form of its own.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sort {
    /// As wanted.
    Good,
    /// Wasted or delayed, but nobody sees a hole.
    Late,
    /// Failed: nothing of it is on display.
    Lost,
    /// Neither.
    Plain,
}

/// One outcome, baseline and candidate.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Its name.
    pub name: &'static str,
    /// What it means.
    pub meaning: &'static str,
    /// How it is to be read.
    pub sort: Sort,
    /// How often.
    pub counts: [u64; 2],
    /// Share of all; 0 of nothing.
    pub shares: [f64; 2],
}

impl Outcome {
    /// Whether it befell neither run.
    pub fn quiet(&self) -> bool {
        self.counts == [0, 0]
    }
}

/// Both runs' outcomes.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcomes {
    /// Of the frames; the counts of a side sum to its counted frames.
    pub frames: Vec<Outcome>,
    /// Of the refreshes.
    pub refreshes: Vec<Outcome>,
    /// Counted frames.
    pub frame_totals: [u64; 2],
    /// Counted refreshes.
    pub refresh_totals: [u64; 2],
    /// Share of the frames that were shown; none without frames.
    pub delivered: [Option<f64>; 2],
    /// Longest time without a new frame \[ms\].
    pub longest_freeze_ms: [Option<f64>; 2],
    /// What resends were good for.
    pub repairs: [Repairs; 2],
}

const ON_TIME: (&str, &str, Sort) = ("Shown on time", "Ready at the latch of its refresh, and shown.", Sort::Good);
/// Name, meaning and sort of frames shown late.
pub(super) const LATE: (&str, &str, Sort) =
    ("Shown late", "Missed the latch of its refresh, shown at a later one.", Sort::Late);

/// Name, meaning and sort of a fate; of frames shown on time for [`Fate::Shown`].
pub(super) const fn fate_text(fate: Fate) -> (&'static str, &'static str, Sort) {
    let (meaning, sort) = match fate {
        Fate::Shown => return ON_TIME,
        Fate::Superseded => ("Ready, but a newer frame was taken instead.", Sort::Late),
        Fate::Skipped => ("The next frame's plan fell due before this one began.", Sort::Lost),
        Fate::DroppedEncode => ("Found no room before the encoder.", Sort::Lost),
        Fate::DroppedLink => ("Found no room before the link.", Sort::Lost),
        Fate::DroppedDecode => ("Found no room before the decoder.", Sort::Lost),
        Fate::Lost => ("Packets were lost and not repaired.", Sort::Lost),
        Fate::Undecodable => ("Decoded, but a frame that it needs was missing.", Sort::Lost),
        Fate::InFlight => ("The run ended before the frame did.", Sort::Plain),
    };
    (Fates::label(fate), meaning, sort)
}

/// Name, meaning and sort of a kind of refresh.
pub(super) const fn refresh_text(kind: RefreshKind) -> (&'static str, &'static str, Sort) {
    let (meaning, sort) = match kind {
        RefreshKind::New => ("Shows a frame not shown before.", Sort::Good),
        RefreshKind::Repeat => ("Shows the frame before; no new one was due.", Sort::Plain),
        RefreshKind::Miss => ("A frame was due and is not on display.", Sort::Lost),
        RefreshKind::ComposeMiss => ("Nothing new could be taken.", Sort::Lost),
        RefreshKind::None => ("No frame has come yet.", Sort::Plain),
    };
    (RefreshKinds::label(kind), meaning, sort)
}

impl Outcomes {
    /// Lays two tallies side by side.
    pub fn new(tallies: [&Tally; 2]) -> Self {
        let frame_totals = tallies.map(|tally| tally.fates.iter().sum());
        let refresh_totals = tallies.map(|tally| tally.refreshes.iter().sum());
        let late = tallies.map(|tally| tally.shown_late);
        let mut frames = Vec::with_capacity(Fate::ALL.len() + 1);
        for (place, fate) in Fate::ALL.into_iter().enumerate() {
            let all = tallies.map(|tally| tally.fates[place]);
            if fate == Fate::Shown {
                frames.push(outcome(ON_TIME, [all[0] - late[0], all[1] - late[1]], frame_totals));
                frames.push(outcome(LATE, late, frame_totals));
            } else {
                frames.push(outcome(fate_text(fate), all, frame_totals));
            }
        }
        let kinds = RefreshKind::ALL.into_iter().enumerate();
        let refreshes = kinds
            .map(|(place, kind)| {
                outcome(refresh_text(kind), tallies.map(|tally| tally.refreshes[place]), refresh_totals)
            })
            .collect();
        let delivered = tallies.map(|tally| {
            let all: u64 = tally.fates.iter().sum();
            (all > 0).then(|| share(tally.fates[0], all))
        });
        let longest_freeze_ms = tallies.map(|tally| tally.longest_freeze_ms);
        let repairs = tallies.map(|tally| tally.repairs);
        Self { frames, refreshes, frame_totals, refresh_totals, delivered, longest_freeze_ms, repairs }
    }

    /// How many of the slices that were sent again were repaired in time, `18 of 34`; none where none was sent again with
    /// either design.
    pub fn repaired_in_words(&self) -> Option<[String; 2]> {
        let told = |repairs: &Repairs| match repairs.in_time {
            _ if repairs.resent == 0 => NOTHING.to_owned(),
            Some(in_time) => format!("{} of {}", count(in_time.into()), count(repairs.resent.into())),
            None => NOTHING.to_owned(),
        };
        self.repairs.iter().any(|repairs| repairs.resent > 0).then(|| self.repairs.each_ref().map(told))
    }
}

const COLUMNS: [&str; 8] = [
    "of",
    "outcome",
    "baseline_count",
    "candidate_count",
    "baseline_pct",
    "candidate_pct",
    "baseline_ms",
    "candidate_ms",
];

impl Outcomes {
    /// All outcomes with their totals, the share of the frames that were shown and the longest time without a new one.
    pub fn table(&self) -> Table {
        let mut table = Table::new("Outcomes", &COLUMNS);
        let parts = [("frames", &self.frames, self.frame_totals), ("refreshes", &self.refreshes, self.refresh_totals)];
        for (of, outcomes, totals) in parts {
            for Outcome { name, counts, shares, .. } in outcomes {
                let pct = [0, 1].map(|side| (totals[side] > 0).then(|| 100.0 * shares[side]));
                table.row(cells![of, *name, counts[0], counts[1], pct[0], pct[1], None::<f64>, None::<f64>]);
            }
            let none = None::<f64>;
            table.row(cells![of, "All counted", totals[0], totals[1], none, none, none, none]);
        }
        let none = None::<f64>;
        let counts = self.repairs.map(|repairs| [Some(repairs.resent), Some(repairs.repaired), repairs.in_time]);
        for (place, name) in ["Sent again", "Repaired by a resend", "Repaired in time"].into_iter().enumerate() {
            let [baseline, candidate] = counts.map(|counts| counts[place]);
            table.row(cells!["slices", name, baseline, candidate, none, none, none, none]);
        }
        let [baseline, candidate] = self.delivered.map(|share| share.map(|share| 100.0 * share));
        table.row(cells!["frames", "Shown at all", None::<u64>, None::<u64>, baseline, candidate, none, none]);
        let [baseline, candidate] = self.longest_freeze_ms;
        let longest = "Longest without a new frame";
        table.row(cells!["refreshes", longest, None::<u64>, None::<u64>, none, none, baseline, candidate]);
        table
    }
}

fn outcome((name, meaning, sort): (&'static str, &'static str, Sort), counts: [u64; 2], totals: [u64; 2]) -> Outcome {
    Outcome { name, meaning, sort, counts, shares: [share(counts[0], totals[0]), share(counts[1], totals[1])] }
}

fn share(count: u64, all: u64) -> f64 {
    if all == 0 { 0.0 } else { count as f64 / all as f64 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outcomes_part_all_frames_and_refreshes() {
        let baseline = Tally {
            fates: [90, 5, 0, 0, 0, 3, 0, 0, 2],
            shown_late: 4,
            refreshes: [90, 2, 8, 0, 0],
            longest_freeze_ms: Some(22.2),
            repairs: Repairs { resent: 34, repaired: 33, in_time: Some(18) },
        };
        let candidate = Tally { fates: [50, 0, 0, 0, 0, 0, 0, 0, 0], refreshes: [50, 0, 0, 1, 0], ..Tally::default() };
        let figure = Outcomes::new([&baseline, &candidate]);
        for side in 0..2 {
            assert_eq!(figure.frames.iter().map(|row| row.counts[side]).sum::<u64>(), figure.frame_totals[side]);
            assert!((figure.frames.iter().map(|row| row.shares[side]).sum::<f64>() - 1.0).abs() < 1e-12);
            assert_eq!(figure.refreshes.iter().map(|row| row.counts[side]).sum::<u64>(), figure.refresh_totals[side]);
        }
        assert_eq!((figure.frames[0].counts, figure.frames[1].counts), ([86, 50], [4, 0]));
        assert_eq!(figure.delivered, [Some(0.9), Some(1.0)]);
        assert_eq!(figure.repaired_in_words(), Some(["18 of 34".to_owned(), NOTHING.to_owned()]));
        assert_eq!(Outcomes::new([&candidate, &candidate]).repaired_in_words(), None);
        let table = figure.table();
        assert_eq!(table.rows[1], cells!["frames", "Shown late", 4_u64, 0_u64, 4.0, 0.0, None::<f64>, None::<f64>]);
        let last = table.rows.last().unwrap();
        assert_eq!(last[6..], cells![22.2, None::<f64>]);
        assert!(figure.frames[3].quiet() && !figure.frames[1].quiet());
    }

    #[test]
    fn no_frames_have_no_delivered_share() {
        let figure = Outcomes::new([&Tally::default(), &Tally::default()]);
        assert_eq!(figure.delivered, [None, None]);
        assert!(figure.frames.iter().all(Outcome::quiet));
    }
}

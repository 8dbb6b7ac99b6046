//! Exposed time as a ledger: where the time from pose to photon goes, baseline beside candidate, in entries that add up; and
//! beside it the work that was hidden behind other work.

use super::lanes::{Stage, stage_of};
use super::table::{Cell, Table, cells};
use crate::engine::Run;
use crate::measure::{Piece, Team};
use crate::report::format::{adding_up, adding_up_beside};
use crate::study::Answer;
use crate::time::ns_to_ms;

/// One line of the ledger: a team's time, or a piece of it.
#[derive(Debug, Clone, PartialEq)]
pub struct Entry {
    /// Its name.
    pub name: &'static str,
    /// Whether it is a part of the team's entry above it, and not to be added.
    pub part: bool,
    /// Whose parameters set it.
    pub stage: Stage,
    /// Mean exposed time of baseline and candidate \[ms\].
    pub values_ms: [Option<f64>; 2],
    /// What the team may use by the candidate's budget \[ms\]; none for parts.
    pub allowance_ms: Option<f64>,
    /// Whether the candidate keeps to it; none where there is nothing to judge.
    pub met: Option<bool>,
    /// Mean time of the same work that was not exposed \[ms\]; none where it is no work that can be hidden.
    pub hidden_ms: [Option<f64>; 2],
}

impl Entry {
    /// Candidate less baseline \[ms\].
    pub fn difference_ms(&self) -> Option<f64> {
        difference(self.values_ms)
    }
}

/// Both runs' exposed time.
#[derive(Debug, Clone, PartialEq)]
pub struct Ledger {
    /// The entries; those that are no parts add up to the totals.
    pub entries: Vec<Entry>,
    /// Mean pose to photon \[ms\].
    pub totals_ms: [Option<f64>; 2],
    /// All allowances together \[ms\].
    pub allowance_ms: f64,
}

impl Ledger {
    /// The ledger of two answers.
    pub fn new(answers: [&Answer; 2]) -> Self {
        let hidden = answers.map(Hidden::of);
        let of = |piece: Piece| Entry {
            name: piece.label(),
            part: true,
            stage: stage_of(piece),
            values_ms: answers.map(|answer| answer.summary.exposed_ms.of(piece)),
            allowance_ms: None,
            met: None,
            hidden_ms: hidden.each_ref().map(|hidden| hidden.of_piece(piece)),
        };
        let mut entries = Vec::new();
        for (team, allowance) in Team::ALL.into_iter().zip(&answers[1].summary.allowances) {
            let pieces = Piece::ALL.into_iter().filter(|piece| piece.team() == team);
            let parts: Vec<Entry> = pieces.map(of).filter(spent).collect();
            let hidden_of = |side: usize| parts.iter().filter_map(|part| part.hidden_ms[side]).reduce(|a, b| a + b);
            let cost = |part: &Entry| part.values_ms[1].unwrap_or(0.0);
            let most = parts.iter().max_by(|one, two| cost(one).total_cmp(&cost(two)));
            entries.push(Entry {
                name: allowance.label,
                part: false,
                stage: most.map_or_else(|| stage_of_team(team), |part| part.stage),
                values_ms: answers.map(|answer| answer.summary.exposed_ms.of_team(team)),
                allowance_ms: Some(allowance.limit),
                met: allowance.value.map(|_| allowance.met),
                hidden_ms: [hidden_of(0), hidden_of(1)],
            });
            if parts.len() > 1 {
                entries.extend(parts);
            }
        }
        Self {
            entries,
            totals_ms: answers.map(|answer| answer.summary.exposed_ms.total()),
            allowance_ms: answers[1].summary.allowances.iter().map(|line| line.limit).sum(),
        }
    }

    /// Candidate less baseline \[ms\].
    pub fn difference_ms(&self) -> Option<f64> {
        difference(self.totals_ms)
    }

    /// The same as it is shown, its times rounded to so many decimals: the entries add up to the totals, the parts to their
    /// entry, and every change is the difference of what stands beside it, none where it rounds to none (see
    /// [`adding_up_beside`]). Tables, and what is told when pointed at, keep the values in full.
    #[must_use]
    pub fn rounded(&self, decimals: usize) -> Self {
        let mut shown = self.clone();
        let whole: Vec<usize> = (0..self.entries.len()).filter(|place| !self.entries[*place].part).collect();
        shown.totals_ms = self.totals_ms.map(|total| total.map(|total| adding_up(&[total], total, decimals)[0]));
        let totals = shown.totals_ms;
        self.round_some(&mut shown, &whole, totals, decimals);
        for place in &whole {
            let parts = self.entries[place + 1..].iter().take_while(|entry| entry.part).count();
            let parts: Vec<usize> = (place + 1..=place + parts).collect();
            let sums = shown.entries[*place].values_ms;
            self.round_some(&mut shown, &parts, sums, decimals);
        }
        shown
    }

    /// Rounds some entries so that they add up to what their sums are shown as.
    fn round_some(&self, shown: &mut Self, places: &[usize], sums: [Option<f64>; 2], decimals: usize) {
        let values = [0, 1].map(|side| -> Vec<f64> {
            places.iter().map(|place| self.entries[*place].values_ms[side].unwrap_or(0.0)).collect()
        });
        let sums = sums.map(|sum| sum.unwrap_or(f64::NAN));
        let rounded = adding_up_beside(values.each_ref().map(Vec::as_slice), sums, decimals);
        for (side, rounded) in rounded.into_iter().enumerate() {
            for (place, value) in places.iter().zip(rounded) {
                let entry = &mut shown.entries[*place].values_ms[side];
                *entry = entry.map(|_| value);
            }
        }
    }
}

const COLUMNS: [&str; 10] = [
    "entry",
    "part",
    "stage",
    "baseline_ms",
    "candidate_ms",
    "change_ms",
    "allowed_ms",
    "met",
    "baseline_hidden_ms",
    "candidate_hidden_ms",
];

impl Ledger {
    /// The entries in order, parts marked, the total last.
    pub fn table(&self) -> Table {
        let mut table = Table::new("Exposed time", &COLUMNS);
        for entry in &self.entries {
            let Entry { name, part, stage, values_ms: [baseline, candidate], hidden_ms: hidden, .. } = entry;
            let (change, met) = (entry.difference_ms(), entry.met.map(Cell::yes));
            let allowed = entry.allowance_ms;
            let part = Cell::yes(*part);
            table.row(cells![
                *name,
                part,
                stage.name(),
                *baseline,
                *candidate,
                change,
                allowed,
                met,
                hidden[0],
                hidden[1]
            ]);
        }
        let [baseline, candidate] = self.totals_ms;
        let (change, none) = (self.difference_ms(), None::<f64>);
        let no = Cell::yes(false);
        table.row(cells![
            "Pose to photon",
            no,
            None::<&str>,
            baseline,
            candidate,
            change,
            self.allowance_ms,
            None::<&str>,
            none,
            none
        ]);
        table
    }
}

fn difference([baseline, candidate]: [Option<f64>; 2]) -> Option<f64> {
    Some(candidate? - baseline?)
}

/// Whether either run spends time on it.
fn spent(entry: &Entry) -> bool {
    entry.values_ms.iter().flatten().any(|ms| *ms > 0.0)
}

/// The stage of a team that spends nothing.
fn stage_of_team(team: Team) -> Stage {
    let first = Piece::ALL.into_iter().find(|piece| piece.team() == team);
    first.map_or(Stage::Display, stage_of)
}

/// Mean work of the shown frames that count, less what of it was exposed.
struct Hidden {
    /// Render, encode, link (closures in it included), decode \[ms\].
    work_ms: Option<[f64; 4]>,
    exposed: crate::measure::Exposed,
}

impl Hidden {
    fn of(answer: &Answer) -> Self {
        let Answer { scenario, run, summary, .. } = answer;
        let shown = |frame: &usize| run.frames[*frame].shown.is_some();
        let (mut sums_ns, mut count) = ([0_i64; 4], 0_u32);
        for frame in (scenario.run.warmup as usize..run.frames.len()).filter(shown) {
            for (sum, ns) in sums_ns.iter_mut().zip(work_ns(run, frame)) {
                *sum += ns;
            }
            count += 1;
        }
        let work_ms = (count > 0).then(|| sums_ns.map(|sum| ns_to_ms(sum) / f64::from(count)));
        Self { work_ms, exposed: summary.exposed_ms }
    }

    fn of_piece(&self, piece: Piece) -> Option<f64> {
        let [render, encode, link, decode] = self.work_ms?;
        let (work, other) = match piece {
            Piece::Render => (render, 0.0),
            Piece::Encode => (encode, 0.0),
            Piece::Link => (link, self.exposed.of(Piece::Closure)?),
            Piece::Decode => (decode, 0.0),
            _ => return None,
        };
        // A sum of ns against a sum of means: what is left of rounding is no hidden time.
        Some((work - self.exposed.of(piece)? - other).max(0.0))
    }
}

/// Work of one shown frame: render, encode, link, decode \[ns\].
fn work_ns(run: &Run, frame: usize) -> [i64; 4] {
    let span = |start: crate::engine::Stamp, end: crate::engine::Stamp| {
        start.ns().zip(end.ns()).map_or(0, |(start, end)| end - start)
    };
    let record = &run.frames[frame];
    let mut work = [span(record.render_start, record.rendered), 0, 0, 0];
    for slice in run.slices_of(frame).iter() {
        work[1] += span(slice.encode_start(), slice.encode_end());
        work[2] += span(slice.link_start(), slice.link_end());
        work[3] += span(slice.decode_start(), slice.decode_end());
    }
    work
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::{Scenario, presets};
    use crate::study::{self, Workspace};

    fn answer(mut scenario: Scenario, slices: u32) -> Answer {
        scenario.run.frames = 300;
        scenario.run.warmup = 50;
        scenario.slices.count = slices;
        study::answer(&scenario, &mut Workspace::new())
    }

    #[test]
    fn entries_add_up_to_the_mean_pose_to_photon() {
        for preset in presets::all() {
            let answers = [answer(preset.scenario(), 1), answer(preset.scenario(), 4)];
            let ledger = Ledger::new(answers.each_ref());
            for (side, answer) in answers.iter().enumerate() {
                let whole = ledger.entries.iter().filter(|entry| !entry.part);
                let sum: f64 = whole.filter_map(|entry| entry.values_ms[side]).sum();
                let mean: f64 = {
                    let values = &answer.samples.pose_to_photon.values_ms;
                    values.iter().sum::<f64>() / values.len() as f64
                };
                assert!((sum - mean).abs() < 1e-6, "{}: {sum} against {mean}", preset.slug);
                assert!((ledger.totals_ms[side].unwrap() - mean).abs() < 1e-6);
            }
            let differences: f64 =
                ledger.entries.iter().filter(|entry| !entry.part).filter_map(Entry::difference_ms).sum();
            assert!((ledger.difference_ms().unwrap() - differences).abs() < 1e-9);
        }
    }

    #[test]
    fn parts_add_up_to_the_entry_above_them() {
        let answers = [answer(Scenario::default(), 1), answer(Scenario::default(), 8)];
        let ledger = Ledger::new(answers.each_ref());
        let mut groups = 0;
        for (place, entry) in ledger.entries.iter().enumerate().filter(|(_, entry)| !entry.part) {
            let parts: Vec<&Entry> = ledger.entries[place + 1..].iter().take_while(|entry| entry.part).collect();
            if parts.is_empty() {
                continue;
            }
            groups += 1;
            let sum: f64 = parts.iter().filter_map(|part| part.values_ms[1]).sum();
            assert!((sum - entry.values_ms[1].unwrap()).abs() < 1e-9, "{}", entry.name);
        }
        assert!(groups >= 1);
        let rows = ledger.table().rows;
        assert_eq!(rows.len(), ledger.entries.len() + 1);
        assert_eq!(rows.last().unwrap()[4], Cell::from(ledger.totals_ms[1]));
    }

    #[test]
    fn what_is_shown_adds_up_and_is_near_what_is_known() {
        let mut off_alone = 0;
        for (preset, decimals) in presets::all().iter().flat_map(|preset| [(preset, 1), (preset, 3)]) {
            let answers = [answer(preset.scenario(), 1), answer(preset.scenario(), 4)];
            let ledger = Ledger::new(answers.each_ref());
            let (shown, step) = (ledger.rounded(decimals), 10f64.powi(-(decimals as i32)));
            let steps = |value: f64| (value / step).round() as i64;
            for side in 0..2 {
                let Some(total) = shown.totals_ms[side] else { continue };
                let of = |entry: &Entry| entry.values_ms[side].map_or(0, steps);
                let whole: Vec<&Entry> = shown.entries.iter().filter(|entry| !entry.part).collect();
                assert_eq!(whole.iter().map(|entry| of(entry)).sum::<i64>(), steps(total), "{}", preset.slug);
                let alone = ledger.entries.iter().filter(|entry| !entry.part).map(of).sum::<i64>();
                off_alone += usize::from(alone != steps(total));
                for (place, entry) in shown.entries.iter().enumerate().filter(|(_, entry)| !entry.part) {
                    let parts: Vec<&Entry> = shown.entries[place + 1..].iter().take_while(|one| one.part).collect();
                    let sum: i64 = parts.iter().map(|part| of(part)).sum();
                    assert!(parts.is_empty() || sum == of(entry), "{}: {}", preset.slug, entry.name);
                }
            }
            for (one, full) in shown.entries.iter().zip(&ledger.entries) {
                for (one, full) in one.values_ms.into_iter().zip(full.values_ms) {
                    assert!(one.zip(full).is_none_or(|(one, full)| (one - full).abs() < 1.001 * step));
                }
            }
        }
        assert!(off_alone > 0, "no preset would have shown a sum that is none");
    }

    #[test]
    fn no_row_shows_a_change_that_rounding_made() {
        let mut apart = 0;
        for (preset, [one, other]) in presets::all().iter().flat_map(|preset| [(preset, [1, 4]), (preset, [8, 3])]) {
            let answers = [answer(preset.scenario(), one), answer(preset.scenario(), other)];
            let ledger = Ledger::new(answers.each_ref());
            let shown = ledger.rounded(1);
            for (entry, shown) in ledger.entries.iter().zip(&shown.entries) {
                let Some((change, shown)) = entry.difference_ms().zip(shown.difference_ms()) else { continue };
                assert!(change.abs() >= 0.05 || shown.abs() < 0.05, "{}: {entry:?} shows {shown}", preset.slug);
            }
            let whole: Vec<&Entry> = ledger.entries.iter().filter(|entry| !entry.part).collect();
            let [Some(before), Some(after)] = [0, 1].map(|side| {
                let values: Option<Vec<f64>> = whole.iter().map(|entry| entry.values_ms[side]).collect();
                Some(adding_up(&values?, ledger.totals_ms[side]?, 1))
            }) else {
                continue;
            };
            apart += (0..whole.len())
                .filter(|row| {
                    whole[*row].difference_ms().is_some_and(|change| change.abs() < 0.05)
                        && (after[*row] - before[*row]).abs() > 0.05
                })
                .count();
        }
        assert!(apart > 0, "no preset would have shown a change that is none");
    }

    #[test]
    fn slices_hide_what_a_whole_frame_exposes() {
        let answers = [answer(Scenario::default(), 1), answer(Scenario::default(), 8)];
        let ledger = Ledger::new(answers.each_ref());
        let encode = ledger.entries.iter().find(|entry| entry.name == "Encode").unwrap();
        // A whole frame has one slice only: all of its work is on the path.
        assert!(encode.hidden_ms[0].unwrap() < 1e-6, "{encode:?}");
        assert!(encode.hidden_ms[1].unwrap() > 2.0, "{encode:?}");
        assert!(encode.difference_ms().unwrap() < -2.0, "{encode:?}");
        assert_eq!(encode.stage, Stage::Encoder);
        assert_eq!(encode.allowance_ms, Some(Scenario::default().budget.pieces.encode_ms));
        // Exposed and hidden together are the work: that of all slices is what the encoder was offered.
        let work = encode.values_ms[1].unwrap() + encode.hidden_ms[1].unwrap();
        let offered = answers[1].summary.offered_load.encoder.unwrap();
        let period_ms = answers[1].scenario.frame_period_ns() / 1e6;
        assert!((work - offered * period_ms).abs() < 0.05, "{work} against {}", offered * period_ms);
    }
}

//! How a measure is spread over a run: both histograms on one axis, what lies below and beyond every value.

use serde::{Deserialize, Serialize};

mod grid;

use super::table::{Table, cells};
use crate::measure::{Distribution, Samples, Series, Summary};

/// How the samples are drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Form {
    /// Share of the samples in every bin.
    #[default]
    Histogram,
    /// Share of the samples up to a value.
    Cumulative,
    /// Share of the samples later than a value, logarithmic.
    Tail,
}

impl Form {
    /// All, in the order of the switch.
    pub const ALL: [Self; 3] = [Self::Histogram, Self::Cumulative, Self::Tail];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Histogram => "Histogram",
            Self::Cumulative => "Cumulative",
            Self::Tail => "Tail",
        }
    }
}

/// What is spread.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Measure {
    /// From the pose to the photons, every frame shown.
    #[default]
    PoseToPhoton,
    /// Age of the pose of what is on display, every refresh.
    PhotonAge,
    /// From the rendered frame to the decoded one.
    Stream,
}

impl Measure {
    /// All, in the order of the switch.
    pub const ALL: [Self; 3] = [Self::PoseToPhoton, Self::PhotonAge, Self::Stream];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::PoseToPhoton => "Pose to photon",
            Self::PhotonAge => "Photon age",
            Self::Stream => "Stream",
        }
    }

    /// What it means, and over what it is counted.
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::PoseToPhoton => "From the pose a frame was made with to its photons; every frame that was shown.",
            Self::PhotonAge => "Age of the pose of what is on display; every refresh, repeats included.",
            Self::Stream => "From rendered on the host to decoded on the device; every frame that was decoded.",
        }
    }

    /// Its single values.
    pub const fn series(self, samples: &Samples) -> &Series {
        match self {
            Self::PoseToPhoton => &samples.pose_to_photon,
            Self::PhotonAge => &samples.photon_age,
            Self::Stream => &samples.stream,
        }
    }

    const fn summarized(self, summary: &Summary) -> &Distribution {
        match self {
            Self::PoseToPhoton => &summary.pose_to_photon_ms,
            Self::PhotonAge => &summary.photon_age_ms,
            Self::Stream => &summary.stream_ms,
        }
    }

    /// What one sample is.
    pub const fn sample(self) -> &'static str {
        match self {
            Self::PoseToPhoton | Self::Stream => "frames",
            Self::PhotonAge => "refreshes",
        }
    }
}

/// Bins at most.
const BINS: usize = 80;
/// Widths that a bin may have \[ms\].
const WIDTHS_MS: [f64; 13] = [0.01, 0.02, 0.05, 0.1, 0.2, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0, 50.0, 500.0];
/// Share of the samples that may lie outside the bins at each end, so that the few frames a refresh late do not squeeze the
/// rest; p99 is always inside, and the tail shows all of them.
const OUTSIDE: f64 = 0.005;
/// Bins at least for which coarser ones are taken.
const FEWEST: usize = 4;
/// Samples of a bin that would not be empty by chance.
const FULL: u32 = 10;
/// Values closer than this share of a bin are the same, but for the rounding to nanoseconds.
const SAME: f64 = 0.02;
/// Points kept of a curve's body, and of its tail.
const BODY: usize = 240;
const TAIL: usize = 120;

/// One measure of two runs, or of a bench and a run, on common bins.
#[derive(Debug, Clone, PartialEq)]
pub struct Histograms<M = Measure> {
    /// What is spread.
    pub measure: M,
    /// Left border of the first bin \[ms\].
    pub first_ms: f64,
    /// Width of a bin \[ms\].
    pub bin_ms: f64,
    /// Baseline and candidate.
    pub sides: [Histogram; 2],
    /// The budget's limit \[ms\], where the measure has one.
    pub limit_ms: Option<f64>,
}

/// One run's samples, counted.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Histogram {
    /// Samples in each bin, a value on a border in the right one.
    pub bins: Vec<u32>,
    /// Samples left of the first bin.
    pub before: u32,
    /// Samples right of the last bin.
    pub beyond: u32,
    /// All samples.
    pub total: u32,
    /// Median, 95 % and 99 % quantile \[ms\].
    pub quantiles_ms: [Option<f64>; 3],
    /// Least and greatest sample \[ms\].
    pub ends_ms: Option<(f64, f64)>,
    /// Value \[ms\] and share of samples later than it, ascending in value; from 1 down to 0.
    pub later: Vec<(f64, f64)>,
}

/// Names of the marked quantiles, and the share later than each.
pub const QUANTILES: [(&str, f64); 3] = [("p50", 0.50), ("p95", 0.05), ("p99", 0.01)];

impl Histograms {
    /// Counts one measure of two runs; `limit_ms` is the budget's for pose to photon.
    pub fn of(measure: Measure, runs: [(&Summary, &Samples); 2], limit_ms: f64) -> Self {
        let samples = runs.map(|(_, samples)| measure.series(samples).values_ms.clone());
        let mut figure =
            Self::new(measure, samples, (measure == Measure::PoseToPhoton).then_some(limit_ms), &WIDTHS_MS);
        for (side, (summary, _)) in figure.sides.iter_mut().zip(runs) {
            // The summary's, so that they are the same as in every table, and none where the run is not steady.
            let known = measure.summarized(summary);
            side.quantiles_ms = [known.p50, known.p95, known.p99];
        }
        figure
    }
}

impl<M> Histograms<M> {
    /// Counts two series of samples \[ms\], in any order, in bins of one of the widths.
    pub(super) fn new(measure: M, mut samples: [Vec<f64>; 2], limit_ms: Option<f64>, widths: &[f64]) -> Self {
        for series in &mut samples {
            series.sort_unstable_by(f64::total_cmp);
        }
        let (first_ms, bin_ms, count) = bins_for(&samples, widths);
        let sides = samples.map(|sorted| Histogram::new(&sorted, first_ms, bin_ms, count));
        Self { measure, first_ms, bin_ms, sides, limit_ms }
    }

    /// Right border of the last bin \[ms\].
    pub fn last_ms(&self) -> f64 {
        self.first_ms + self.bin_ms * self.sides[0].bins.len() as f64
    }

    /// The greatest share of samples in one bin, of either side.
    pub fn highest_share(&self) -> f64 {
        self.sides.iter().map(Histogram::highest_share).fold(0.0, f64::max)
    }

    /// Whether neither side has a sample.
    pub fn is_empty(&self) -> bool {
        self.sides.iter().all(|side| side.total == 0)
    }
}

impl Histogram {
    fn new(sorted: &[f64], first_ms: f64, bin_ms: f64, count: usize) -> Self {
        let mut histogram = Self { bins: vec![0; count], total: sorted.len() as u32, ..Self::default() };
        for value in sorted {
            // A hair's breadth to the right, so that a border such as 0.3 is not missed by its binary form.
            let bin = ((value - first_ms) / bin_ms + 1e-9).floor();
            if bin < 0.0 {
                histogram.before += 1;
            } else if let Some(place) = histogram.bins.get_mut(bin as usize) {
                *place += 1;
            } else {
                histogram.beyond += 1;
            }
        }
        histogram.ends_ms = sorted.first().copied().zip(sorted.last().copied());
        histogram.later = later(sorted);
        histogram
    }

    /// The greatest share of samples in one bin.
    pub fn highest_share(&self) -> f64 {
        let highest = self.bins.iter().max().copied().unwrap_or(0);
        f64::from(highest) / f64::from(self.total.max(1))
    }

    /// Share of samples later than `ms`: the step at or before it.
    pub fn share_later(&self, ms: f64) -> Option<f64> {
        self.later.first()?;
        let at = self.later.partition_point(|(value, _)| *value <= ms);
        Some(if at == 0 { 1.0 } else { self.later[at - 1].1 })
    }
}

const COLUMNS: [&str; 8] =
    ["measure", "row", "from_ms", "to_ms", "baseline_count", "candidate_count", "baseline_ms", "candidate_ms"];

/// All histograms: every bin, what lies outside the bins, the quantiles, the ends and the budget's limit.
pub fn table(figures: &[Histograms]) -> Table {
    let mut table = Table::new("Distribution", &COLUMNS);
    for figure in figures {
        figure.rows(&mut table);
    }
    table
}

impl Histograms {
    fn rows(&self, table: &mut Table) {
        let (measure, nothing, no_count) = (self.measure.name(), None::<f64>, None::<u32>);
        let [baseline, candidate] = &self.sides;
        let mut counted = |row: &str, from: Option<f64>, to: Option<f64>, counts: [u32; 2]| {
            table.row(cells![measure, row, from, to, counts[0], counts[1], nothing, nothing]);
        };
        counted("all", None, None, [baseline.total, candidate.total]);
        counted("before the bins", None, Some(self.first_ms), [baseline.before, candidate.before]);
        for (bin, counts) in baseline.bins.iter().zip(&candidate.bins).enumerate() {
            let border = |bin: usize| Some(self.first_ms + self.bin_ms * bin as f64);
            counted("bin", border(bin), border(bin + 1), [*counts.0, *counts.1]);
        }
        counted("beyond the bins", Some(self.last_ms()), None, [baseline.beyond, candidate.beyond]);
        let mut measured = |row: &str, [baseline, candidate]: [Option<f64>; 2]| {
            table.row(cells![measure, row, nothing, nothing, no_count, no_count, baseline, candidate]);
        };
        let sides = [baseline, candidate];
        for (place, (name, _)) in QUANTILES.iter().enumerate() {
            measured(name, sides.map(|side| side.quantiles_ms[place]));
        }
        measured("least", sides.map(|side| side.ends_ms.map(|ends| ends.0)));
        measured("greatest", sides.map(|side| side.ends_ms.map(|ends| ends.1)));
        if self.limit_ms.is_some() {
            measured("budget", [None, self.limit_ms]);
        }
    }
}

/// First border, width and number of bins that hold nearly all samples of both sides.
fn bins_for(sorted: &[Vec<f64>; 2], widths: &[f64]) -> (f64, f64, usize) {
    let outside = |series: &Vec<f64>| (series.len() as f64 * OUTSIDE) as usize;
    let low = sorted.iter().filter_map(|series| series.get(outside(series)));
    let high = sorted.iter().filter_map(|series| series.iter().rev().nth(outside(series)));
    let low = low.copied().fold(f64::INFINITY, f64::min);
    let high = high.copied().fold(f64::NEG_INFINITY, f64::max);
    if low > high {
        return (0.0, 1.0, 1);
    }
    let fits = |width: &f64| ((high - low) / width) < (BINS - 2) as f64;
    let bins = |width: f64| {
        let first = (low / width + 1e-9).floor();
        let last = (high / width + 1e-9).floor() + 1.0;
        (first * width, width, (last - first) as usize)
    };
    let mut fitting = widths.iter().copied().filter(fits).map(bins);
    let Some(finest) = fitting.next() else { return bins((high - low) / (BINS - 2) as f64) };
    if let Some(even) = grid::bins(sorted, [low, high], finest.1).filter(|(_, _, count)| *count >= FEWEST) {
        return even;
    }
    let whole = |&(first, width, count): &(f64, f64, usize)| {
        !sorted.iter().any(|series| steps_over_a_bin(series, first, width, count))
    };
    let all = std::iter::once(finest).chain(fitting).take_while(|(_, _, count)| *count >= FEWEST);
    all.into_iter().find(whole).unwrap_or(finest)
}

/// Whether values that lie on a grid coarser than the bins leave a bin empty between two full ones: a gap of the bins'
/// making, which no wait and no stage has made. Told by the gap being no wider than what the values keep apart throughout.
fn steps_over_a_bin(sorted: &[f64], first_ms: f64, width: f64, count: usize) -> bool {
    let apart = |pair: &[f64]| Some(pair[1] - pair[0]).filter(|gap| *gap > width * SAME);
    let mut gaps: Vec<f64> = sorted.windows(2).filter_map(apart).collect();
    if gaps.is_empty() {
        return false;
    }
    let middle = gaps.len() / 2;
    let usual = *gaps.select_nth_unstable_by(middle, f64::total_cmp).1;
    let counts = Histogram::new(sorted, first_ms, width, count).bins;
    let beside = |place: usize| counts[place] >= FULL && counts[place + 1] == 0 && counts[place + 2] >= FULL;
    (0..count.saturating_sub(2)).filter(|place| beside(*place)).any(|place| {
        let empty = first_ms + width * (place + 1) as f64 + width / 2.0;
        let after = sorted.partition_point(|value| *value < empty);
        after > 0 && sorted.get(after).is_some_and(|next| next - sorted[after - 1] <= 1.5 * usual)
    })
}

/// Steps of the share later than a value, thinned: even in the body, growing sparser by ratio in the tail, the extremes kept.
fn later(sorted: &[f64]) -> Vec<(f64, f64)> {
    let count = sorted.len();
    if count == 0 {
        return Vec::new();
    }
    let body = (0..=BODY).map(|step| step * (count - 1) / BODY);
    let tail = (0..=TAIL).map(|step| count - (count as f64).powf(1.0 - step as f64 / TAIL as f64).round() as usize);
    let mut places: Vec<usize> = body.chain(tail).map(|place| place.min(count - 1)).collect();
    places.sort_unstable();
    places.dedup();
    let mut steps: Vec<(f64, f64)> = Vec::with_capacity(places.len());
    for place in places {
        let value = sorted[place];
        // Equal samples step at once, below all of them.
        let after = sorted.partition_point(|other| *other <= value);
        let share = (count - after) as f64 / count as f64;
        if steps.last().is_none_or(|(last, _)| *last < value) {
            steps.push((value, share));
        }
    }
    steps
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::figures::table::Cell;

    fn series(from: f64, step: f64, count: usize) -> Vec<f64> {
        (0..count).map(|index| from + step * index as f64).collect()
    }

    #[test]
    fn bins_before_and_beyond_hold_every_sample() {
        let mut slow = series(36.0, 0.002, 4000);
        slow.push(900.0);
        slow.push(1.0);
        let figure = Histograms::new(Measure::PoseToPhoton, [slow, series(28.0, 0.003, 1000)], Some(38.0), &WIDTHS_MS);
        for (side, total) in figure.sides.iter().zip([4002, 1000]) {
            assert_eq!(side.bins.iter().sum::<u32>() + side.before + side.beyond, total);
            assert_eq!(side.total, total);
        }
        assert_eq!((figure.sides[0].beyond, figure.sides[0].before), (1, 1));
        assert!(figure.bin_ms <= 0.25 && figure.sides[0].bins.len() <= BINS);
        assert!(figure.first_ms <= 28.01 && figure.last_ms() >= 43.9);
        // All rows but the first count every sample once.
        let counts: Vec<i64> = table(&[figure])
            .rows
            .iter()
            .filter_map(|row| if let Cell::Whole(count) = row[4] { Some(count) } else { None })
            .collect();
        assert_eq!((counts[0], counts[1..].iter().sum::<i64>()), (4002, 4002));
    }

    /// So many samples on each of the values `from + step * index`, to the nanosecond.
    fn grid(from: f64, step: f64, count: usize, each: usize) -> Vec<f64> {
        let on = |index: usize| ((from + step * index as f64) * 1e6).round() / 1e6;
        (0..count).flat_map(|index| std::iter::repeat_n(on(index), each)).collect()
    }

    fn empty_between_full(bins: &[u32]) -> usize {
        bins.windows(3).filter(|three| three[0] > 0 && three[1] == 0 && three[2] > 0).count()
    }

    #[test]
    fn a_grid_coarser_than_the_bins_leaves_no_gap() {
        // 0.1 ms bins over values 1/9 ms apart would leave every tenth one empty.
        let values = grid(34.5, 1.0 / 9.0, 12, 900);
        let later: Vec<f64> = values.iter().map(|value| value + 4.0).collect();
        for samples in [[later.clone(), values.clone()], [values.clone(), series(34.0, 0.002, 3000)]] {
            let figure = Histograms::new(Measure::PoseToPhoton, samples, None, &WIDTHS_MS);
            assert!((figure.bin_ms * 9.0 - 1.0).abs() < 1e-4, "{}", figure.bin_ms);
            assert!(figure.sides.iter().all(|side| empty_between_full(&side.bins) == 0));
            let full = figure.sides[0].bins.iter().chain(&figure.sides[1].bins).filter(|bin| **bin > FULL * 10);
            assert!(full.clone().count() >= 12 && full.clone().all(|bin| *bin == 900), "one value of the grid a bin");
        }
    }

    #[test]
    fn a_gap_of_the_values_own_stays() {
        // Without a grid, 0.25 ms apart from the rest: that is what was measured.
        let mut values = series(30.0, 0.001, 3000);
        values.extend(series(33.25, 0.001, 3000));
        let figure = Histograms::new(Measure::PoseToPhoton, [values, vec![]], None, &WIDTHS_MS);
        assert!((figure.bin_ms - 0.1).abs() < 1e-9);
        assert!(figure.sides[0].bins.contains(&0));
    }

    #[test]
    fn shipped_designs_have_no_gap_that_the_bins_made() {
        use crate::study::{Workspace, answer};
        let runs = ["wired-90-whole-frame", "wired-90-8-slices"]
            .map(|slug| answer(&crate::scenario::presets::find(slug).unwrap().scenario(), &mut Workspace::new()));
        let both = runs.each_ref().map(|run| (&run.summary, &run.samples));
        let figure = Histograms::of(Measure::PoseToPhoton, both, 38.0);
        for side in &figure.sides {
            let hollow = side.bins.windows(3).filter(|three| three[0] >= FULL && three[1] == 0 && three[2] >= FULL);
            assert_eq!(hollow.count(), 0, "{:?}", side.bins);
        }
    }

    #[test]
    fn a_border_belongs_to_the_bin_on_its_right() {
        let figure = Histograms::new(Measure::Stream, [vec![0.0, 0.1, 0.2, 0.3], vec![]], None, &WIDTHS_MS);
        let bins = &figure.sides[0].bins;
        assert_eq!(bins.iter().filter(|bin| **bin > 0).count(), 4);
        assert_eq!(bins.iter().sum::<u32>(), 4);
    }

    #[test]
    fn the_share_later_falls_from_all_to_none() {
        let figure =
            Histograms::new(Measure::PhotonAge, [series(10.0, 0.01, 5000), vec![3.0, 3.0, 5.0]], None, &WIDTHS_MS);
        let steps = &figure.sides[0].later;
        assert!(steps.len() <= BODY + TAIL + 2);
        assert!(steps.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[0].1 > pair[1].1));
        assert_eq!(steps.last().map(|step| step.1), Some(0.0));
        let few = &figure.sides[1];
        assert_eq!(few.share_later(2.0), Some(1.0));
        assert!((few.share_later(3.0).unwrap() - 1.0 / 3.0).abs() < 1e-12);
        assert_eq!(few.share_later(5.0), Some(0.0));
    }

    #[test]
    fn nothing_measured_is_empty_not_zero() {
        let figure = Histograms::new(Measure::PoseToPhoton, [vec![], vec![]], None, &WIDTHS_MS);
        assert!(figure.is_empty());
        assert_eq!(figure.sides[0].quantiles_ms, [None; 3]);
        assert_eq!(figure.sides[0].share_later(1.0), None);
    }
}

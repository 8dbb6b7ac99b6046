//! The fit of one stage: how its time goes with slices, pixels and bits, how it is spread, how often it stalls, and what of
//! it lasts from frame to frame.

use serde::Serialize;

use super::bootstrap::{self, Estimate};
use super::content::{self, Slow};
use super::laws::{Family, Law};
use super::mapping::Role;
use super::measured::Measured;
use super::passage::Passage;
use super::regression;
use super::stalls::{self, Stalls};
use super::watch::{Steps, Watch};
use crate::measure::statistics::{self, quantile_of_sorted};
use crate::scenario::Spread;
use crate::stop::{Stop, Stopped};

mod pipeline;

use pipeline::Told;

/// Fewest frames that a stage is fitted to.
pub const FEWEST_FRAMES: usize = 30;
/// Greatest distance of Kolmogorov and Smirnov at which a law still serves, whatever a test says of many frames.
const CLOSE: f64 = 0.03;
/// Its critical value at 1 % times the root of the number of values (REFERENCES: limit / sqrt n).
const KS_AT_ONE_PCT: f64 = 1.627_62;
/// Samples that a scenario carries at most: evenly spread quantiles stand for more.
const MOST_SAMPLES: usize = 400;
/// How far the times that bits and an independent factor give may lie from those measured, relative, at any quantile of
/// [`COMPARED`].
const MOST_OFF: f64 = 0.03;
/// Hundredths of the rows between a size and the factor it meets.
const SHIFTS: [usize; 4] = [13, 37, 59, 83];
/// Quantiles at which they are compared.
const COMPARED: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];
/// Least spread of a column, over its mean, for the time to go with it.
const VARIES: f64 = 1e-3;

/// How a stage's time goes and is spread.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageFit {
    /// The stage.
    pub role: Role,
    /// Frames it was fitted to.
    pub frames: usize,
    /// Part that every frame costs \[ms\]; overheads a frame and what pixels cost are in it where they were not told apart.
    pub constant_ms: Option<Estimate>,
    /// Part that the first slice costs more than the others \[ms\]; only from a row a slice.
    pub frame_overhead_ms: Option<Estimate>,
    /// How much later than the end of its service a frame or slice comes out \[ms\]; only from instants.
    pub pipeline_ms: Option<Estimate>,
    /// Part of each slice \[ms\]; only from more than one slice count.
    pub slice_overhead_ms: Option<Estimate>,
    /// Part of each million pixels \[ms\]; only where pixels vary.
    pub per_mpx_ms: Option<Estimate>,
    /// Part of each million bits \[ms\]; only where bits vary and matter.
    pub per_mbit_ms: Option<Estimate>,
    /// Probability of a stall.
    pub stall_chance: Option<Estimate>,
    /// Mean length of a stall \[ms\].
    pub stall_mean_ms: Option<Estimate>,
    /// Standard deviation over mean of the factor that is left, stalls aside.
    pub cv: Option<Estimate>,
    /// Correlation of neighbouring factors; none for too few.
    pub lag_one: Option<f64>,
    /// The part of the factor's variance that lasts from frame to frame, on the logarithm, and its memory.
    #[serde(skip)]
    pub(super) slow: Option<Slow>,
    /// Whether the service was told from a pipeline by instants.
    pub spaced: bool,
    /// Laws fitted to the factor, the best first.
    pub laws: Vec<Law>,
    /// Whether the best law is close enough; if not, the samples serve.
    pub law_serves: bool,
    /// The factors, ascending, of mean 1, stalls aside.
    #[serde(skip)]
    pub factors: Vec<f64>,
    /// What a reader should know.
    pub notes: Vec<String>,
}

/// Parameters in the order of [`Point::values`].
const PARAMETERS: usize = 7;
/// Their places after the four of [`PartKind`].
const STALL_CHANCE: usize = 4;
const MEAN_STALL: usize = 5;
const CV: usize = 6;

/// A column that the time may go with.
struct Part {
    kind: PartKind,
    values: Vec<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum PartKind {
    Constant,
    Pixels,
    Bits,
    Slices,
}

/// Data of one stage: frames in which it was measured.
struct Data {
    time_ms: Vec<f64>,
    /// Their numbers.
    rows: Vec<usize>,
    parts: Vec<Part>,
    /// Where runs begin.
    starts: Vec<usize>,
    /// Whether rare long frames are taken for stalls.
    stalls: bool,
    /// Whether intra frames are left out.
    inter_only: bool,
}

/// What one look at the data gives.
struct Point {
    coefficients: [Option<f64>; 4],
    stalls: Option<Stalls>,
    cv: Option<f64>,
    /// Factors in the order of the rows; not a number for a stall.
    factors: Vec<f64>,
}

impl StageFit {
    /// Fits a stage; none where it was not measured in at least [`FEWEST_FRAMES`] frames.
    pub fn of(measured: &Measured, role: Role) -> Option<Self> {
        // Nobody asks to stop.
        Self::of_unless(measured, role, &Watch::nobody()).unwrap_or_default()
    }

    /// The same, watched.
    pub(super) fn of_unless(measured: &Measured, role: Role, watch: &Watch<'_>) -> Result<Option<Self>, Stopped> {
        let steps = Steps::of(watch, role, bootstrap::ROUNDS);
        let Some((data, estimates, left_out)) = Data::settled(measured, role, &steps)? else { return Ok(None) };
        let Some(point) = data.look(&data.all(), steps.stop()) else { return steps.check().map(|()| None) };
        let mut fit = Self::made(measured, role, &data, (&estimates, &point), steps.stop());
        steps.check()?;
        if let Some(passage) = measured.passage(role).filter(|passage| passage.tells_service()) {
            let told = Told::of(measured, passage, &data, &steps)?;
            (fit.pipeline_ms, fit.frame_overhead_ms) = (told.pipeline_ms, told.frame_overhead_ms);
            fit.spaced = true;
            fit.take_from_constant(passage.overhead_ms.unwrap_or(0.0));
            fit.notes.extend(told.notes);
        } else if matches!(role, Role::Encode | Role::Decode) {
            fit.notes.push(without_spacing(measured.passage(role)));
        }
        if let Some(off) = left_out {
            let pct = off * 100.0;
            fit.notes.push(format!(
                "time goes with bits, but not so that bits and an independent factor give the times measured ({pct:.1} % \
                 off): the part per Mbit is left out, and the spread holds it, intra frames included"
            ));
        }
        Ok(Some(fit))
    }

    fn made(
        measured: &Measured,
        role: Role,
        data: &Data,
        (estimates, point): (&Estimates, &Point),
        stop: Stop<'_>,
    ) -> Self {
        let mut factors: Vec<f64> = point.factors.iter().copied().filter(|x| x.is_finite()).collect();
        factors.sort_unstable_by(f64::total_cmp);
        let runs = data.runs(&point.factors);
        let laws = Law::fit_all_unless(&factors, stop);
        let law_serves = laws.first().is_some_and(|law| serves(law, factors.len()));
        let mut fit = Self {
            role,
            frames: data.time_ms.len(),
            constant_ms: estimates[PartKind::Constant as usize],
            frame_overhead_ms: None,
            pipeline_ms: None,
            spaced: false,
            slice_overhead_ms: estimates[PartKind::Slices as usize],
            per_mpx_ms: estimates[PartKind::Pixels as usize],
            per_mbit_ms: estimates[PartKind::Bits as usize],
            stall_chance: estimates[STALL_CHANCE],
            stall_mean_ms: estimates[MEAN_STALL],
            cv: estimates[CV],
            lag_one: content::lag_one(&runs),
            slow: content::slow(&runs),
            laws,
            law_serves,
            factors,
            notes: Vec::new(),
        };
        fit.split_frame_overhead(measured);
        fit.note(measured, data);
        if let Some(note) = drop_from_samples(&mut fit.slow, fit.law_serves) {
            fit.notes.push(note);
        }
        fit
    }

    /// With a row a slice, the first slice's excess is the frame's overhead and no part of the constant.
    fn split_frame_overhead(&mut self, measured: &Measured) {
        let Some(more) = measured.first_more.iter().find(|values| values.role == self.role) else { return };
        let more: Vec<f64> = more.values.iter().copied().filter(|x| x.is_finite()).collect();
        let Some(mean) = statistics::mean(&more).filter(|mean| *mean > 0.0) else { return };
        let half = statistics::sd(&more).map_or(0.0, |sd| 1.96 * sd / (more.len() as f64).sqrt());
        self.frame_overhead_ms = Some(Estimate { value: mean, ci95: Some([(mean - half).max(0.0), mean + half]) });
        self.take_from_constant(mean);
    }

    /// Takes what is told apart out of the constant part.
    fn take_from_constant(&mut self, ms: f64) {
        if let Some(constant) = &mut self.constant_ms {
            constant.value = (constant.value - ms).max(0.0);
            constant.ci95 = constant.ci95.map(|ends| ends.map(|end| (end - ms).max(0.0)));
        }
    }

    fn note(&mut self, measured: &Measured, data: &Data) {
        let told = |kind| data.parts.iter().any(|part| part.kind == kind);
        let mut notes = Vec::new();
        if self.frames < 200 {
            notes.push(format!("{} frames are few: tails and rare stalls cannot be seen in them", self.frames));
        }
        if !told(PartKind::Pixels) {
            notes.push("pixels do not vary, so what they cost is in the constant part".to_owned());
        }
        if self.role != Role::Simulate && self.role != Role::Render && !told(PartKind::Slices) {
            let lone = measured.slices.iter().all(|n| Some(n) == measured.slices.first());
            notes.push(
                if lone {
                    "one slice count only, so overheads are in the constant part"
                } else {
                    "an overhead a slice is not told from nothing"
                }
                .to_owned(),
            );
        }
        if let Some(times) = measured.of_role(self.role) {
            let nothing = times.iter().filter(|time| **time == 0.0).count();
            if nothing > 0 {
                notes.push(format!("{nothing} frames of 0 ms are left out: a clock too coarse, or nothing was done"));
            }
        }
        if let (Some(law), false) = (self.laws.first(), self.law_serves) {
            let (name, ks) = (law.family.name(), law.goodness.ks);
            notes.push(format!("no law fits: the best, {name}, is {ks:.3} away; the samples serve"));
        }
        if let Some(ratio) = self.intra_ratio(measured).filter(|_| self.per_mbit_ms.is_some()) {
            notes.push(format!("intra frames take {ratio:.2} times what the fit of the others says for their bits"));
        }
        self.notes = notes;
    }

    /// Mean time of intra frames over what the fit says.
    fn intra_ratio(&self, measured: &Measured) -> Option<f64> {
        let (intra, times) = (measured.intra.as_ref()?, measured.of_role(self.role)?);
        let rows = (0..measured.frames).filter(|&k| intra[k] && times[k].is_finite());
        let (mut found, mut expected) = (0.0, 0.0);
        for k in rows {
            found += times[k];
            expected += self.expected_ms(measured, k);
        }
        (expected > 0.0 && intra.iter().any(|intra| !intra)).then(|| found / expected).filter(|ratio| ratio.is_finite())
    }

    /// Mean time that the fit gives a frame, stalls aside \[ms\].
    pub fn expected_ms(&self, measured: &Measured, frame: usize) -> f64 {
        let value = |estimate: Option<Estimate>| estimate.map_or(0.0, |estimate| estimate.value);
        let of = |role| measured.of_role(role).map_or(0.0, |values| values[frame]);
        let bits = if self.per_mbit_ms.is_some() { of(Role::Size) * 1e-6 * value(self.per_mbit_ms) } else { 0.0 };
        let pixels = if self.per_mpx_ms.is_some() { of(Role::Pixels) * value(self.per_mpx_ms) } else { 0.0 };
        let slices = f64::from(measured.slices[frame]) * value(self.slice_overhead_ms);
        value(self.constant_ms) + value(self.frame_overhead_ms) + pixels + bits + slices
    }

    /// The spread of the factor, the part that lasts taken out where `slow` is given to the content.
    pub fn spread(&self, samples: bool, slow: bool) -> Spread {
        factor_spread(&self.factors, self.slow.filter(|_| slow), self.laws.first(), samples)
    }
}

/// What is said where service and pipeline are not told apart.
fn without_spacing(passage: Option<&Passage>) -> String {
    match passage {
        None => "durations alone do not tell service from a pipeline: all is taken as service, which may be too much load; map \
                 when frames or slices go in and come out to tell them apart"
            .to_owned(),
        Some(passage) => format!(
            "too few came back to back ({} did) to tell service from a pipeline: the time from in to out is taken as service, \
             which may be too much load",
            passage.back_to_back
        ),
    }
}

/// Whether a law is close enough to so many values: within the critical distance at 1 %, or within [`CLOSE`].
pub(super) fn serves(law: &Law, values: usize) -> bool {
    law.goodness.ks <= (KS_AT_ONE_PCT / (values as f64).sqrt()).max(CLOSE)
}

/// The scenario's spread for factors of mean 1, ascending: their law, or samples of them, the part that lasts taken out.
pub(super) fn factor_spread(factors: &[f64], slow: Option<Slow>, law: Option<&Law>, samples: bool) -> Spread {
    let alike = factors.first().zip(factors.last()).is_none_or(|(least, most)| most - least < 1e-9);
    if alike {
        return Spread::Constant;
    }
    let all = content_free(factors, slow);
    if samples {
        return Spread::Samples(thinned(&all));
    }
    let Some(law) = law.and_then(|law| Law::fit(law.family, &all)) else { return Spread::Constant };
    let cv = law.cv.min(3.0);
    match law.family {
        _ if cv < 1e-6 => Spread::Constant,
        Family::Normal => Spread::Normal { cv, low: (1.0 - 4.0 * cv).max(0.0), high: 1.0 + 4.0 * cv },
        Family::LogNormal => Spread::LogNormal { cv },
        Family::Gamma => Spread::Gamma { cv },
        Family::Exponential => Spread::Exponential,
    }
}

/// Drops the part that lasts where samples stand for a law, and says so: taken out of samples as measured and put back as
/// content of a log-normal law, it would give other values than those measured.
pub(super) fn drop_from_samples(slow: &mut Option<Slow>, law_serves: bool) -> Option<String> {
    if law_serves {
        return None;
    }
    slow.take().map(|slow| {
        format!(
            "a part of the spread lasts from frame to frame (cv {:.2} %, of one frame to the next correlated by {:.3}), beside what \
             each frame has of its own; samples are drawn apart from each other, so that it does not last in the scenario",
            content::cv_of(slow.variance) * 100.0,
            slow.memory
        )
    })
}

/// Factors with their spread on the logarithm shrunk by the part that lasts, and of mean 1 again.
fn content_free(factors: &[f64], slow: Option<Slow>) -> Vec<f64> {
    let logs: Vec<f64> = factors.iter().map(|x| x.max(1e-9).ln()).collect();
    let (Some(mean), Some(variance)) = (statistics::mean(&logs), statistics::variance(&logs)) else {
        return factors.to_vec();
    };
    let rest = slow.map_or(1.0, |slow| (1.0 - slow.variance / variance).max(0.0).sqrt());
    let shrunk: Vec<f64> = logs.iter().map(|log| (mean + (log - mean) * rest).exp()).collect();
    let mean = statistics::mean(&shrunk).unwrap_or(1.0);
    shrunk.iter().map(|x| x / mean).collect()
}

/// At most [`MOST_SAMPLES`] of sorted values: the means of stretches of equal length, so that the mean stays.
fn thinned(sorted: &[f64]) -> Vec<f64> {
    let count = sorted.len().min(MOST_SAMPLES);
    let border = |at: usize| at * sorted.len() / count.max(1);
    (0..count)
        .map(|at| {
            let stretch = &sorted[border(at)..border(at + 1)];
            let mean = stretch.iter().sum::<f64>() / stretch.len() as f64;
            (mean * 1e6).round() / 1e6
        })
        .collect()
}

/// What all of a stage's parameters came out as.
type Estimates = [Option<Estimate>; PARAMETERS];

impl Data {
    /// The data with the parts that the time goes with, what they come out as, and, where bits had to be left out, how far off
    /// they were.
    fn settled(
        measured: &Measured,
        role: Role,
        steps: &Steps<'_>,
    ) -> Result<Option<(Self, Estimates, Option<f64>)>, Stopped> {
        let Some(mut data) = Self::of(measured, role) else { return Ok(None) };
        let Some(mut estimates) = data.estimates(steps)? else { return Ok(None) };
        // Stalls that most drawings do not show are no stalls, but part of the law's tail.
        if data.stalls && estimates[MEAN_STALL].is_none_or(|mean| mean.ci95.is_none()) {
            let some = estimates[MEAN_STALL].is_some();
            data.stalls = false;
            // Where all rows show none, hardly a drawing does.
            if some && let Some(without) = data.estimates(steps)? {
                estimates = without;
            }
        }
        // A part whose interval reaches 0 is not told from nothing: the others are fitted again without it.
        let vanishing = |kind: PartKind| {
            let estimate = estimates[kind as usize];
            kind != PartKind::Constant && estimate.is_some_and(|e| e.ci95.is_none_or(|[low, _]| low <= 0.0))
        };
        let gone: Vec<PartKind> = data.parts.iter().map(|part| part.kind).filter(|kind| vanishing(*kind)).collect();
        if !gone.is_empty() {
            data.parts.retain(|part| !gone.contains(&part.kind));
            let Some(without) = data.estimates(steps)? else { return Ok(None) };
            estimates = without;
        }
        let Some(point) = data.look(&data.all(), steps.stop()) else { return steps.check().map(|()| None) };
        let Some(off) = data.bits_mislead(&point) else { return Ok(Some((data, estimates, None))) };
        let Some(data) = Self::without_bits(measured, role) else { return Ok(None) };
        Ok(data.estimates(steps)?.map(|estimates| (data, estimates, Some(off))))
    }

    fn of(measured: &Measured, role: Role) -> Option<Self> {
        let codec = matches!(role, Role::Encode | Role::Decode | Role::Link);
        Self::gather(measured, role, measured.of_role(Role::Size).filter(|_| codec), codec)
    }

    /// All frames, intra ones too, whatever their size: what their sizes do to their times is in the spread then, and no long
    /// frame is a stall.
    fn without_bits(measured: &Measured, role: Role) -> Option<Self> {
        Some(Self { stalls: false, ..Self::gather(measured, role, None, false)? })
    }

    fn gather(measured: &Measured, role: Role, bits: Option<&[f64]>, inter_only: bool) -> Option<Self> {
        Self::of_times(measured, role, measured.of_role(role)?, bits, inter_only)
    }

    /// The same of other times of the stage.
    fn with_times(&self, measured: &Measured, role: Role, times: &[f64]) -> Option<Self> {
        let has = |kind: PartKind| self.parts.iter().any(|part| part.kind == kind);
        let bits = measured.of_role(Role::Size).filter(|_| has(PartKind::Bits));
        let mut data = Self::of_times(measured, role, times, bits, self.inter_only)?;
        data.parts.retain(|part| has(part.kind));
        data.stalls = self.stalls;
        Some(data)
    }

    fn of_times(
        measured: &Measured,
        role: Role,
        times: &[f64],
        bits: Option<&[f64]>,
        inter_only: bool,
    ) -> Option<Self> {
        let codec = matches!(role, Role::Encode | Role::Decode | Role::Link);
        let pixels = measured.of_role(Role::Pixels);
        // Intra frames are another kind; where all are, they are the kind.
        let some_inter = measured.intra.as_ref().is_some_and(|intra| intra.iter().any(|intra| !intra));
        let inter = |k: usize| !some_inter || !inter_only || measured.intra.as_ref().is_none_or(|intra| !intra[k]);
        let known = |values: Option<&[f64]>, k: usize| values.is_none_or(|values| values[k].is_finite());
        let rows: Vec<usize> = (0..measured.frames)
            .filter(|&k| times[k] > 0.0 && inter(k) && known(bits, k) && known(pixels, k))
            .collect();
        if rows.len() < FEWEST_FRAMES {
            return None;
        }
        let mut parts = vec![Part { kind: PartKind::Constant, values: vec![1.0; rows.len()] }];
        let mut add = |kind: PartKind, values: Vec<f64>| {
            let spread = statistics::sd(&values).zip(statistics::mean(&values)).map_or(0.0, |(sd, mean)| sd / mean);
            if spread > VARIES {
                parts.push(Part { kind, values });
            }
        };
        if let Some(pixels) = pixels {
            add(PartKind::Pixels, rows.iter().map(|&k| pixels[k]).collect());
        }
        if let Some(bits) = bits {
            add(PartKind::Bits, rows.iter().map(|&k| bits[k] * 1e-6).collect());
        }
        if codec {
            add(PartKind::Slices, rows.iter().map(|&k| f64::from(measured.slices[k])).collect());
        }
        let starts = rows.iter().enumerate().filter(|&(at, row)| at == 0 || measured.begins(*row));
        let starts = starts.map(|(at, _)| at).collect();
        Some(Self { time_ms: rows.iter().map(|&k| times[k]).collect(), rows, parts, starts, stalls: true, inter_only })
    }

    fn all(&self) -> Vec<usize> {
        (0..self.time_ms.len()).collect()
    }

    /// A scenario draws sizes and factors apart from each other. How far the times lie off that come of that, where it is too
    /// far, because the factor of a frame hangs on its size.
    fn bits_mislead(&self, point: &Point) -> Option<f64> {
        if !self.parts.iter().any(|part| part.kind == PartKind::Bits) {
            return None;
        }
        let rows: Vec<usize> = (0..self.time_ms.len()).filter(|&row| point.factors[row].is_finite()).collect();
        let of = |kind: PartKind, row: usize| -> f64 {
            let part = self.parts.iter().find(|part| part.kind == kind);
            part.map_or(0.0, |part| part.values[row]) * point.coefficients[kind as usize].unwrap_or(0.0)
        };
        let mut made: Vec<f64> = Vec::with_capacity(rows.len() * SHIFTS.len());
        for shift in SHIFTS {
            for (at, &row) in rows.iter().enumerate() {
                let other = rows[(at + shift * rows.len() / 100) % rows.len()];
                let work = of(PartKind::Constant, row) + of(PartKind::Pixels, row) + of(PartKind::Bits, row);
                made.push(work * point.factors[other] + of(PartKind::Slices, row));
            }
        }
        let mut found: Vec<f64> = rows.iter().map(|&row| self.time_ms[row]).collect();
        made.sort_unstable_by(f64::total_cmp);
        found.sort_unstable_by(f64::total_cmp);
        let off = |p: &f64| Some((quantile_of_sorted(&made, *p)? / quantile_of_sorted(&found, *p)? - 1.0).abs());
        COMPARED.iter().filter_map(off).max_by(f64::total_cmp).filter(|off| *off > MOST_OFF)
    }

    /// Everything that is estimated, with intervals.
    fn estimates(&self, steps: &Steps<'_>) -> Result<Option<Estimates>, Stopped> {
        let rows = self.time_ms.len();
        let Some(whole) = self.look(&self.all(), steps.stop()) else { return steps.check().map(|()| None) };
        let block = bootstrap::block_length(rows, content::lag_one(&self.runs(&whole.factors)));
        let of = |rows: &[usize]| self.look(rows, steps.stop()).map_or([None; PARAMETERS], |point| point.values());
        bootstrap::estimates(rows, block, steps, of).map(Some)
    }

    /// One look at chosen rows.
    fn look(&self, rows: &[usize], stop: Stop<'_>) -> Option<Point> {
        let y: Vec<f64> = rows.iter().map(|&row| self.time_ms[row]).collect();
        let columns: Vec<Vec<f64>> =
            self.parts.iter().map(|part| rows.iter().map(|&row| part.values[row]).collect()).collect();
        let mut coefficients = regression::fit(&columns, &y, stop)?;
        let mut ratios = vec![0.0; y.len()];
        let mut works = vec![0.0; y.len()];
        for k in 0..y.len() {
            let of = |slices: bool| {
                let parts = self.parts.iter().zip(&columns).zip(&coefficients);
                parts
                    .filter(|((part, _), _)| (part.kind == PartKind::Slices) == slices)
                    .map(|((_, x), c)| x[k] * c)
                    .sum::<f64>()
            };
            works[k] = of(false);
            ratios[k] = (y[k] - of(true)) / works[k].max(1e-9);
        }
        let stalls = if self.stalls { stalls::find(&ratios, &works) } else { None };
        let beyond = stalls.map_or(f64::INFINITY, |stalls| stalls.beyond);
        let body: Vec<f64> = ratios.iter().copied().filter(|ratio| *ratio <= beyond).collect();
        let mean = statistics::mean(&body)?;
        let cv = statistics::sd(&body).map(|sd| sd / mean);
        for (part, coefficient) in self.parts.iter().zip(&mut coefficients) {
            if part.kind != PartKind::Slices {
                *coefficient *= mean;
            }
        }
        let of = |kind| self.parts.iter().position(|part| part.kind == kind).map(|at| coefficients[at]);
        let factors = ratios.iter().map(|r| if *r <= beyond && *r > 0.0 { r / mean } else { f64::NAN }).collect();
        Some(Point {
            coefficients: [of(PartKind::Constant), of(PartKind::Pixels), of(PartKind::Bits), of(PartKind::Slices)],
            stalls,
            cv,
            factors,
        })
    }

    /// Factors in runs of frames that follow each other; a stall ends none, it is passed over.
    fn runs(&self, factors: &[f64]) -> Vec<Vec<f64>> {
        let ends = self.starts.iter().skip(1).copied().chain([factors.len()]);
        let runs = self.starts.iter().zip(ends).map(|(&start, end)| &factors[start..end]);
        runs.map(|run| run.iter().copied().filter(|x| x.is_finite()).collect()).collect()
    }
}

impl Point {
    fn values(&self) -> [Option<f64>; PARAMETERS] {
        let [constant, pixels, bits, slices] = self.coefficients;
        let (chance, mean) = (self.stalls.map(|stalls| stalls.chance), self.stalls.map(|stalls| stalls.mean_ms));
        [constant, pixels, bits, slices, chance, mean, self.cv]
    }
}

#[cfg(test)]
mod tests;

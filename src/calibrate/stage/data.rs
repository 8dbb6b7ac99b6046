//! The data of a stage: which frames and columns it is fitted to, and what one look at them gives.

use super::FEWEST_FRAMES;
use crate::calibrate::jackknife::{self, Estimate, Rows, Scale};
use crate::calibrate::mapping::Role;
use crate::calibrate::measured::Measured;
use crate::calibrate::stalls::{self, Stalls};
use crate::calibrate::watch::Steps;
use crate::calibrate::{content, regression};
use crate::measure::statistics::{self, quantile_of_sorted};
use crate::stop::{Stop, Stopped};

/// How far the times that bits and an independent factor give may lie from those measured, relative, at any quantile of
/// [`COMPARED`].
const MOST_OFF: f64 = 0.03;
/// Hundredths of the rows between a size and the factor it meets.
const SHIFTS: [usize; 4] = [13, 37, 59, 83];
/// Quantiles at which they are compared.
const COMPARED: [f64; 5] = [0.05, 0.25, 0.5, 0.75, 0.95];
/// Least spread of a column, over its mean, for the time to go with it.
const VARIES: f64 = 1e-3;

/// Parameters in the order of [`Point::values`].
const PARAMETERS: usize = 8;
/// Their places after the four of [`PartKind`].
pub(super) const STALL_CHANCE: usize = 4;
pub(super) const MEAN_STALL: usize = 5;
pub(super) const CV: usize = 6;
pub(super) const FIRST_MORE: usize = 7;
/// Scales of all of them.
const SCALES: [Scale; PARAMETERS] =
    [Scale::Plain, Scale::Plain, Scale::Plain, Scale::Plain, Scale::Log, Scale::Log, Scale::Log, Scale::Plain];

/// A column that the time may go with.
pub(super) struct Part {
    pub(super) kind: PartKind,
    pub(super) values: Vec<f64>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum PartKind {
    Constant,
    Pixels,
    Bits,
    Slices,
}

/// Data of one stage: frames in which it was measured.
pub(super) struct Data {
    pub(super) time_ms: Vec<f64>,
    /// Their numbers.
    pub(super) rows: Vec<usize>,
    pub(super) parts: Vec<Part>,
    /// Where runs begin.
    pub(super) starts: Vec<usize>,
    /// Whether rare long frames are taken for stalls.
    pub(super) stalls: bool,
    /// Whether intra frames are left out.
    pub(super) inter_only: bool,
    /// How much longer the first slice of each frame took than the others \[ms\], with a row a slice.
    first_more_ms: Option<Vec<f64>>,
}

/// What one look at the data gives.
pub(super) struct Point {
    pub(super) coefficients: [Option<f64>; 4],
    pub(super) stalls: Option<Stalls>,
    pub(super) cv: Option<f64>,
    /// Mean of what the first slice takes more, where it is above 0 \[ms\].
    first_more_ms: Option<f64>,
    /// Factors in the order of the rows; not a number for a stall.
    pub(super) factors: Vec<f64>,
}

/// What all of a stage's parameters came out as.
pub(super) type Estimates = [Option<Estimate>; PARAMETERS];

impl Data {
    /// The data with the parts that the time goes with, what they come out as, and, where bits had to be left out, how far off
    /// they were.
    pub(super) fn settled(
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
    pub(super) fn with_times(&self, measured: &Measured, role: Role, times: &[f64]) -> Option<Self> {
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
        let first_more = measured.first_more.iter().find(|values| values.role == role);
        let first_more_ms = first_more.map(|values| rows.iter().map(|&k| values.values[k]).collect());
        let time_ms = rows.iter().map(|&k| times[k]).collect();
        Some(Self { time_ms, rows, parts, starts, stalls: true, inter_only, first_more_ms })
    }

    pub(super) fn all(&self) -> Vec<usize> {
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
    pub(super) fn estimates(&self, steps: &Steps<'_>) -> Result<Option<Estimates>, Stopped> {
        let Some(whole) = self.look(&self.all(), steps.stop()) else { return steps.check().map(|()| None) };
        let rows = self.left_out_of(&whole);
        let of = |rows: &[usize]| self.look(rows, steps.stop()).map_or([None; PARAMETERS], |point| point.values());
        let mut estimates = jackknife::estimates(rows, SCALES, steps, of)?;
        if rows.wanted_for_spread().is_some() {
            estimates[CV] = estimates[CV].map(|cv| Estimate::alone(cv.value));
        }
        Ok(Some(estimates))
    }

    /// The rows as they are left out in turns.
    pub(super) fn left_out_of(&self, whole: &Point) -> Rows {
        let count = self.time_ms.len();
        // Where stalls begin hangs on single frames: what few of them add is luck, so stretches are to be long.
        let most = if whole.stalls.is_some() { jackknife::LEAST } else { count };
        Rows { count, memory: content::memory(&self.runs(&whole.factors)), most }
    }

    /// One look at chosen rows.
    pub(super) fn look(&self, rows: &[usize], stop: Stop<'_>) -> Option<Point> {
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
        let all = statistics::mean(&body)?;
        let work_ms = statistics::mean(&works)?;
        // Short stalls hide in the body.
        let [more, wider] = stalls.map_or([0.0; 2], |stalls| stalls.in_body(work_ms));
        let mean = Some(all - more).filter(|mean| *mean > 0.0)?;
        let cv = statistics::variance(&body).map(|found| (found - wider).max(0.0).sqrt() / mean);
        for (part, coefficient) in self.parts.iter().zip(&mut coefficients) {
            if part.kind != PartKind::Slices {
                *coefficient *= mean;
            }
        }
        let of = |kind| self.parts.iter().position(|part| part.kind == kind).map(|at| coefficients[at]);
        let factors = ratios.iter().map(|r| if *r <= beyond && *r > 0.0 { r / all } else { f64::NAN }).collect();
        Some(Point {
            coefficients: [of(PartKind::Constant), of(PartKind::Pixels), of(PartKind::Bits), of(PartKind::Slices)],
            stalls,
            cv,
            first_more_ms: self.first_more(rows),
            factors,
        })
    }

    /// What is left of each time when what goes with bits and slices is taken off, ascending \[ms\].
    pub(super) fn rests_ms(&self, point: &Point) -> Vec<f64> {
        let told = |part: &&Part| matches!(part.kind, PartKind::Bits | PartKind::Slices);
        let ms = |part: &Part, row: usize| part.values[row] * point.coefficients[part.kind as usize].unwrap_or(0.0);
        let told_ms = |row: usize| self.parts.iter().filter(told).map(|part| ms(part, row)).sum::<f64>();
        let mut rests: Vec<f64> = self.time_ms.iter().enumerate().map(|(row, time)| time - told_ms(row)).collect();
        rests.sort_unstable_by(f64::total_cmp);
        rests
    }

    fn first_more(&self, rows: &[usize]) -> Option<f64> {
        let values = self.first_more_ms.as_ref()?;
        let known: Vec<f64> = rows.iter().map(|&row| values[row]).filter(|x| x.is_finite()).collect();
        statistics::mean(&known).filter(|mean| *mean > 0.0)
    }

    /// Factors in runs of frames that follow each other; a stall ends none, it is passed over.
    pub(super) fn runs(&self, factors: &[f64]) -> Vec<Vec<f64>> {
        let ends = self.starts.iter().skip(1).copied().chain([factors.len()]);
        let runs = self.starts.iter().zip(ends).map(|(&start, end)| &factors[start..end]);
        runs.map(|run| run.iter().copied().filter(|x| x.is_finite()).collect()).collect()
    }
}

impl Point {
    fn values(&self) -> [Option<f64>; PARAMETERS] {
        let [constant, pixels, bits, slices] = self.coefficients;
        let (chance, mean) = (self.stalls.map(|stalls| stalls.chance), self.stalls.map(|stalls| stalls.mean_ms));
        // What the first slice takes more is the frame's overhead and no part of the constant.
        let constant = constant.map(|ms| (ms - self.first_more_ms.unwrap_or(0.0)).max(0.0));
        [constant, pixels, bits, slices, chance, mean, self.cv, self.first_more_ms]
    }
}

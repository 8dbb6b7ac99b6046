//! The fit of coded sizes: bits of a frame, bytes more for each slice, how much larger intra frames are, and the spread.

use serde::Serialize;

use super::content::{self, Slow};
use super::jackknife::{self, Estimate, Rows, Scale};
use super::laws::Law;
use super::mapping::Role;
use super::measured::Measured;
use super::regression;
use super::stage::{self, FEWEST_FRAMES, factor_spread, few_for_spread, serves};
use super::watch::{Steps, Watch};
use crate::measure::statistics;
use crate::scenario::Spread;
use crate::stop::{Stop, Stopped};

/// How coded sizes go.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SizeFit {
    /// Frames it was fitted to, intra frames aside.
    pub frames: usize,
    /// Mean bits of a frame that is not intra, what each slice adds aside.
    pub bits: Estimate,
    /// Bytes that each slice adds; only from more than one slice count.
    pub slice_bytes: Option<Estimate>,
    /// Mean size of intra frames over that of the others; none where the file tells no intra frames.
    pub intra_factor: Option<Estimate>,
    /// Frames from one intra frame to the next; none where they come at no fixed distance.
    pub intra_every: Option<u32>,
    /// Standard deviation over mean, intra frames aside.
    pub cv: Option<Estimate>,
    /// Correlation of neighbouring sizes.
    pub lag_one: Option<f64>,
    /// The part that lasts from frame to frame.
    #[serde(skip)]
    pub(super) slow: Option<Slow>,
    /// Laws fitted to the sizes over their mean, the best first.
    pub laws: Vec<Law>,
    /// Whether the best law is close enough; if not, the samples serve.
    pub law_serves: bool,
    /// Sizes over their mean, ascending.
    #[serde(skip)]
    pub factors: Vec<f64>,
    /// What a reader should know.
    pub notes: Vec<String>,
}

/// One look at chosen frames.
struct Look {
    bits: f64,
    slice_bytes: Option<f64>,
    factors: Vec<f64>,
}

impl SizeFit {
    /// Fits the sizes; none where they were not measured in at least [`FEWEST_FRAMES`] frames that are not intra.
    pub fn of(measured: &Measured) -> Option<Self> {
        // Nobody asks to stop.
        Self::of_unless(measured, &Watch::nobody()).unwrap_or_default()
    }

    /// The same, watched.
    pub(super) fn of_unless(measured: &Measured, watch: &Watch<'_>) -> Result<Option<Self>, Stopped> {
        let Some(sizes) = measured.of_role(Role::Size) else { return Ok(None) };
        let all_intra = measured.intra.as_ref().is_some_and(|intra| intra.iter().all(|intra| *intra));
        let is_intra = |k: usize| !all_intra && measured.intra.as_ref().is_some_and(|intra| intra[k]);
        let rows: Vec<usize> = (0..measured.frames).filter(|&k| sizes[k] > 0.0 && !is_intra(k)).collect();
        if rows.len() < FEWEST_FRAMES {
            return Ok(None);
        }
        let steps = Steps::of(watch, Role::Size, jackknife::ROUNDS);
        let look = |chosen: &[usize], several: bool| {
            let at: Vec<usize> = chosen.iter().map(|&at| rows[at]).collect();
            Look::new(measured, sizes, &at, several, watch.stop())
        };
        let all: Vec<usize> = (0..rows.len()).collect();
        let estimated = |several: bool| {
            let Some(whole) = look(&all, several) else { return steps.check().map(|()| None) };
            let runs = runs(measured, &rows, &whole.factors);
            let scales = [Scale::Plain, Scale::Plain, Scale::Log];
            let data = Rows::all(rows.len(), content::memory(&runs));
            let found = jackknife::estimates(data, scales, &steps, |chosen| {
                let Some(look) = look(chosen, several) else { return [None; 3] };
                [Some(look.bits), look.slice_bytes, statistics::sd(&look.factors)]
            })?;
            Ok(Some((whole, runs, data, found)))
        };
        let differ = measured.slices.iter().any(|n| Some(n) != measured.slices.first());
        let Some(mut found) = estimated(differ)? else { return Ok(None) };
        // What a slice adds is not told from nothing where its interval reaches 0.
        let told = found.3[1].and_then(|bytes| bytes.ci95).is_some_and(|[low, _]| low > 0.0);
        if differ && !told {
            let Some(without) = estimated(false)? else { return Ok(None) };
            found = without;
        }
        let (whole, runs, data, [bits, slice_bytes, cv]) = found;
        let Some(bits) = bits else { return Ok(None) };
        let mut factors = whole.factors;
        let slow = content::slow(&runs);
        factors.sort_unstable_by(f64::total_cmp);
        let laws = Law::fit_all_unless(&factors, watch.stop());
        steps.check()?;
        let law_serves = laws.first().is_some_and(|law| serves(law, factors.len()));
        let intra: Vec<usize> = (0..measured.frames).filter(|&k| is_intra(k) && sizes[k] > 0.0).collect();
        let factor = if all_intra {
            // An intra-only stream has a kind of frame of its own, and no other to be larger than.
            Some(Estimate::alone(1.0))
        } else {
            intra_factor(sizes, [&intra, &rows], (data.memory, slice_bytes, measured), &steps)?
        };
        let wanted = data.wanted_for_spread();
        let mut fit = Self {
            frames: rows.len(),
            bits,
            slice_bytes,
            intra_factor: factor,
            intra_every: if all_intra { Some(1) } else { every(measured) },
            cv: cv.map(|cv| if wanted.is_some() { Estimate::alone(cv.value) } else { cv }),
            lag_one: content::lag_one(&runs),
            slow,
            laws,
            law_serves,
            factors,
            notes: Vec::new(),
        };
        let nothing = sizes.iter().filter(|size| **size == 0.0).count();
        fit.note(differ, intra.len(), nothing);
        fit.notes.extend(wanted.map(|wanted| few_for_spread(fit.frames, wanted)));
        if let Some(note) = stage::drop_from_samples(&mut fit.slow, fit.law_serves) {
            fit.notes.push(note);
        }
        Ok(Some(fit))
    }

    fn note(&mut self, differ: bool, intra: usize, nothing: usize) {
        let mut notes = Vec::new();
        if !differ {
            notes.push("one slice count only, so what a slice adds is in the size of the frame".to_owned());
        } else if self.slice_bytes.is_none() {
            notes.push("what a slice adds is not told from nothing, so it is in the size of the frame".to_owned());
        }
        if let (Some(law), false) = (self.laws.first(), self.law_serves) {
            let (name, ks) = (law.family.name(), law.goodness.ks);
            notes.push(format!("no law fits: the best, {name}, is {ks:.3} away; the samples serve"));
        }
        if nothing > 0 {
            let are = if nothing == 1 { "frame of no bits is" } else { "frames of no bits are" };
            notes.push(format!("{nothing} {are} left out"));
        }
        if intra > 0 && self.intra_every.is_none() {
            notes.push(format!("{intra} intra frames come at no fixed distance"));
        }
        self.notes = notes;
    }

    /// The spread of sizes, the part that lasts taken out where `slow` is given to the content.
    pub fn spread(&self, samples: bool, slow: bool) -> Spread {
        factor_spread(&self.factors, self.slow.filter(|_| slow), self.laws.first(), samples)
    }
}

impl Look {
    fn new(measured: &Measured, sizes: &[f64], rows: &[usize], several: bool, stop: Stop<'_>) -> Option<Self> {
        let y: Vec<f64> = rows.iter().map(|&k| sizes[k]).collect();
        let slices: Vec<f64> = rows.iter().map(|&k| f64::from(measured.slices[k])).collect();
        let mut columns = vec![vec![1.0; rows.len()]];
        if several {
            columns.push(slices);
        }
        let coefficients = regression::fit(&columns, &y, stop)?;
        let added = |at: usize| coefficients.get(1).map_or(0.0, |c| c * columns[1][at]);
        let left: Vec<f64> = y.iter().enumerate().map(|(at, y)| (y - added(at)).max(0.0)).collect();
        let bits = statistics::mean(&left).filter(|mean| *mean > 0.0)?;
        let factors = left.iter().map(|x| x / bits).collect();
        Some(Self { bits, slice_bytes: coefficients.get(1).map(|bits| bits / 8.0), factors })
    }
}

/// Mean size of intra frames over that of the others, what slices add aside; none without intra frames. As many stretches are
/// left out in turns as there are intra frames, so that hardly one holds none, each cut midway between two of them: content that
/// lasts makes an intra frame like the others on both sides, and stretches that begin with one would share its luck.
fn intra_factor(
    sizes: &[f64],
    [intra, others]: [&[usize]; 2],
    (memory, slice_bytes, measured): (f64, Option<Estimate>, &Measured),
    steps: &Steps<'_>,
) -> Result<Option<Estimate>, Stopped> {
    let mut both: Vec<(usize, bool)> =
        intra.iter().map(|&k| (k, true)).chain(others.iter().map(|&k| (k, false))).collect();
    both.sort_unstable();
    if let Some(first) = both.iter().position(|(_, intra)| *intra) {
        let apart = both.len() / intra.len();
        both.rotate_left((first + apart - apart / 2) % apart);
    }
    let slice_bits = slice_bytes.map_or(0.0, |bytes| 8.0 * bytes.value);
    let left: Vec<f64> = both.iter().map(|&(k, _)| sizes[k] - slice_bits * f64::from(measured.slices[k])).collect();
    let mean = |chosen: &[usize], wanted: bool| {
        let of: Vec<f64> = chosen.iter().filter(|&&at| both[at].1 == wanted).map(|&at| left[at]).collect();
        statistics::mean(&of).filter(|mean| *mean > 0.0)
    };
    let rows = Rows { count: both.len(), memory, most: intra.len() };
    let [estimate] = jackknife::estimates(rows, [Scale::Plain], steps, |chosen| {
        [mean(chosen, true).zip(mean(chosen, false)).map(|(intra, others)| intra / others)]
    })?;
    Ok(estimate)
}

/// The distance of intra frames within runs, where it is the same everywhere.
fn every(measured: &Measured) -> Option<u32> {
    let intra = measured.intra.as_ref()?;
    let mut distance = None;
    for (at, &start) in measured.starts.iter().enumerate() {
        let end = measured.starts.get(at + 1).copied().unwrap_or(measured.frames);
        let places: Vec<usize> = (start..end).filter(|&k| intra[k]).collect();
        for pair in places.windows(2) {
            let found = u32::try_from(pair[1] - pair[0]).ok()?;
            if *distance.get_or_insert(found) != found {
                return None;
            }
        }
    }
    distance
}

fn runs(measured: &Measured, rows: &[usize], factors: &[f64]) -> Vec<Vec<f64>> {
    let mut runs: Vec<Vec<f64>> = Vec::new();
    for (at, (&row, &factor)) in rows.iter().zip(factors).enumerate() {
        let begins = at == 0 || measured.begins_between(rows[at - 1], row);
        if begins {
            runs.push(Vec::new());
        }
        if let Some(run) = runs.last_mut().filter(|_| factor > 0.0) {
            run.push(factor);
        }
    }
    runs
}

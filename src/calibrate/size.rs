//! The fit of coded sizes: bits of a frame, bytes more for each slice, how much larger intra frames are, and the spread.

use serde::Serialize;

use super::bootstrap::{self, Estimate};
use super::content::{self, Slow};
use super::laws::Law;
use super::mapping::Role;
use super::measured::Measured;
use super::regression;
use super::stage::{self, FEWEST_FRAMES, factor_spread, serves};
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
        let steps = Steps::of(watch, Role::Size, bootstrap::ROUNDS);
        let several = measured.slices.iter().any(|n| Some(n) != measured.slices.first());
        let look = |chosen: &[usize], several: bool| {
            let at: Vec<usize> = chosen.iter().map(|&at| rows[at]).collect();
            Look::new(measured, sizes, &at, several, watch.stop())
        };
        let all: Vec<usize> = (0..rows.len()).collect();
        let Some(whole) = look(&all, several) else { return steps.check().map(|()| None) };
        let runs = runs(measured, &rows, &whole.factors);
        let lag_one = content::lag_one(&runs);
        let block = bootstrap::block_length(rows.len(), lag_one);
        let [bits, slice_bytes, cv] = bootstrap::estimates(rows.len(), block, &steps, |chosen| {
            let Some(look) = look(chosen, several) else { return [None; 3] };
            [Some(look.bits), look.slice_bytes, statistics::sd(&look.factors)]
        })?;
        let Some(bits) = bits else { return Ok(None) };
        let mut factors = whole.factors;
        let slow = content::slow(&runs);
        factors.sort_unstable_by(f64::total_cmp);
        let laws = Law::fit_all_unless(&factors, watch.stop());
        steps.check()?;
        let law_serves = laws.first().is_some_and(|law| serves(law, factors.len()));
        let intra: Vec<f64> =
            (0..measured.frames).filter(|&k| is_intra(k) && sizes[k] > 0.0).map(|k| sizes[k]).collect();
        let mut fit = Self {
            frames: rows.len(),
            bits,
            slice_bytes,
            // An intra-only stream has a kind of frame of its own, and no other to be larger than.
            intra_factor: if all_intra { Some(Estimate::alone(1.0)) } else { factor_of(&intra, bits.value) },
            intra_every: if all_intra { Some(1) } else { every(measured) },
            cv,
            lag_one,
            slow,
            laws,
            law_serves,
            factors,
            notes: Vec::new(),
        };
        let nothing = sizes.iter().filter(|size| **size == 0.0).count();
        fit.note(several, intra.len(), nothing);
        if let Some(note) = stage::drop_from_samples(&mut fit.slow, fit.law_serves) {
            fit.notes.push(note);
        }
        Ok(Some(fit))
    }

    fn note(&mut self, several: bool, intra: usize, nothing: usize) {
        let mut notes = Vec::new();
        if !several {
            notes.push("one slice count only, so what a slice adds is in the size of the frame".to_owned());
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

/// Mean of intra sizes over `bits`, with the t-interval of a mean; none without intra frames.
fn factor_of(intra: &[f64], bits: f64) -> Option<Estimate> {
    let mean = statistics::mean(intra)?;
    let half = statistics::t_half_width(intra);
    let ci95 = half.map(|half| [(mean - half) / bits, (mean + half) / bits]);
    Some(Estimate { value: mean / bits, ci95 })
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

//! The fit of one stage: how its time goes with slices, pixels and bits, how it is spread, how often it stalls, and what of
//! it lasts from frame to frame.

mod data;
mod pipeline;
mod spread;

use serde::Serialize;

use super::content::{self, Slow};
use super::jackknife::{self, Estimate};
use super::laws::Law;
use super::mapping::Role;
use super::measured::Measured;
use super::passage::Passage;
use super::stalls;
use super::watch::{Steps, Watch};
use crate::scenario::Spread;
use crate::stop::{Stop, Stopped};
use data::{CV, Data, Estimates, FIRST_MORE, MEAN_STALL, PartKind, Point, STALL_CHANCE};
use pipeline::Told;
pub(super) use spread::{drop_from_samples, factor_spread, serves};

/// Fewest frames that a stage is fitted to.
pub const FEWEST_FRAMES: usize = 30;
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
    /// Whether it was fitted to the frames that are not intra alone, there being both.
    pub intra_aside: bool,
    /// Laws fitted to the factor, the best first.
    pub laws: Vec<Law>,
    /// Whether the best law is close enough; if not, the samples serve.
    pub law_serves: bool,
    /// The factors, ascending, of mean 1, stalls aside.
    #[serde(skip)]
    pub factors: Vec<f64>,
    /// What each frame took beyond what its bits and slices take, stalls included, ascending \[ms\]; of stages that are a delay.
    #[serde(skip)]
    pub(super) rests_ms: Vec<f64>,
    /// What a reader should know.
    pub notes: Vec<String>,
}

impl StageFit {
    /// Fits a stage; none where it was not measured in at least [`FEWEST_FRAMES`] frames.
    pub fn of(measured: &Measured, role: Role) -> Option<Self> {
        // Nobody asks to stop.
        Self::of_unless(measured, role, &Watch::nobody()).unwrap_or_default()
    }

    /// The same, watched.
    pub(super) fn of_unless(measured: &Measured, role: Role, watch: &Watch<'_>) -> Result<Option<Self>, Stopped> {
        let steps = Steps::of(watch, role, jackknife::ROUNDS);
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
            frame_overhead_ms: estimates[FIRST_MORE],
            pipeline_ms: None,
            spaced: false,
            intra_aside: data.inter_only && measured.has_both_kinds(),
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
            rests_ms: if is_delay(role) { data.rests_ms(point) } else { Vec::new() },
            notes: Vec::new(),
        };
        fit.note(measured, data);
        fit.notes.extend(data.left_out_of(point).wanted_for_spread().map(|wanted| few_for_spread(fit.frames, wanted)));
        if let Some(note) = drop_from_samples(&mut fit.slow, fit.law_serves) {
            fit.notes.push(note);
        }
        fit
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
        if let (Some(seen), true) = (stalls::too_few(&self.factors), self.stall_chance.is_none()) {
            let took = if seen == 1 { "frame took" } else { "frames took" };
            notes.push(format!(
                "{seen} {took} far longer than the others: too few to be told as stalls, so the constant part and the spread hold them"
            ));
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
                let are = if nothing == 1 { "frame of 0 ms is" } else { "frames of 0 ms are" };
                notes.push(format!("{nothing} {are} left out: a clock too coarse, or nothing was done"));
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

/// Whether a stage is a delay in the scenario, and no work.
pub(super) const fn is_delay(role: Role) -> bool {
    matches!(role, Role::Link | Role::Uplink)
}

/// What is said where the spread of so many frames has no interval, and so many are wanted for one.
pub(super) fn few_for_spread(frames: usize, wanted: usize) -> String {
    format!(
        "neighbouring frames are alike, so that {frames} are too few for an interval of the spread: it takes {wanted} at least"
    )
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

#[cfg(test)]
mod tests;

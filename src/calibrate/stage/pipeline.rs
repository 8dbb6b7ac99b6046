//! The length of a codec's pipeline: what frames that found it idle take beyond the service of those that came back to back.

use super::FEWEST_FRAMES;
use super::data::{Data, PartKind};
use crate::calibrate::jackknife::{self, Estimate, Rows, Scale};
use crate::calibrate::measured::Measured;
use crate::calibrate::passage::{FEWEST_STARTS as FEWEST, Passage};
use crate::calibrate::watch::Steps;
use crate::calibrate::{content, regression};
use crate::measure::statistics;
use crate::stop::Stopped;

/// What instants tell beside the service.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Told {
    /// Length of the pipeline \[ms\].
    pub(super) pipeline_ms: Option<Estimate>,
    /// What the first slice takes more \[ms\].
    pub(super) frame_overhead_ms: Option<Estimate>,
    /// What a reader should know.
    pub(super) notes: Vec<String>,
}

impl Told {
    /// What is told of the stage whose service came out as `data`.
    pub(super) fn of(measured: &Measured, passage: &Passage, data: &Data, steps: &Steps<'_>) -> Result<Self, Stopped> {
        let mut told = Self::default();
        told.notes.push(format!(
            "service from {} that came back to back, {} found it idle: one codec is assumed, however many engines it has",
            things(passage.back_to_back, passage.by_slice),
            passage.idle
        ));
        if passage.disordered > 0 {
            told.notes.push(format!(
                "{} came out before the one before them: their spacing is not used",
                things(passage.disordered, passage.by_slice)
            ));
        }
        if passage.by_slice {
            told.of_slices(passage, steps)?;
        } else {
            told.pipeline_ms = of_frames(measured, passage, data, steps)?;
            if told.pipeline_ms.is_none() {
                told.refuse("frame");
            }
        }
        Ok(told)
    }

    /// A frame's own other slices say what an average slice takes, so nothing has to be fitted.
    fn of_slices(&mut self, passage: &Passage, steps: &Steps<'_>) -> Result<(), Stopped> {
        let [first, later, more] = [&passage.idle_ms, &passage.idle_later_ms, &passage.first_more_ms];
        self.frame_overhead_ms = mean_of(&[more], steps)?;
        self.pipeline_ms = mean_of(&[later], steps)?;
        if self.pipeline_ms.is_some() {
            if self.frame_overhead_ms.is_none() {
                self.frame_overhead_ms = mean_of(&[first, later], steps)?;
            }
            return Ok(());
        }
        self.pipeline_ms = mean_of(&[first, more], steps)?;
        if self.pipeline_ms.is_some() {
            return Ok(());
        }
        self.pipeline_ms = mean_of(&[first], steps)?;
        if self.pipeline_ms.is_some() {
            self.notes.push(
                "the pipeline holds what the first slice takes more: no frame came while the one before was in service"
                    .to_owned(),
            );
        } else {
            self.refuse("slice");
        }
        Ok(())
    }

    fn refuse(&mut self, thing: &str) {
        self.notes.push(format!(
            "fewer than {FEWEST} {thing}s found the stage idle, so the length of its pipeline is not told and is 0 here"
        ));
    }
}

fn things(count: usize, by_slice: bool) -> String {
    format!("{count} {}", if by_slice { "slices" } else { "frames" })
}

/// The mean of the first values less that of the second, each over the frames that have them.
fn mean_of(values: &[&Vec<f64>], steps: &Steps<'_>) -> Result<Option<Estimate>, Stopped> {
    let known = |at: usize| values.iter().any(|values| values[at].is_finite());
    let rows: Vec<usize> = (0..values[0].len()).filter(|&at| known(at)).collect();
    let mean = |values: &[f64], chosen: &[usize]| {
        let known: Vec<f64> = chosen.iter().map(|&at| values[rows[at]]).filter(|x| x.is_finite()).collect();
        (known.len() >= FEWEST).then(|| statistics::mean(&known)).flatten()
    };
    let of = |chosen: &[usize]| -> Option<f64> {
        let less = values.get(1).map_or(Some(0.0), |less| mean(less, chosen))?;
        Some(mean(values[0], chosen)? - less)
    };
    let known: Vec<Vec<f64>> = values.iter().map(|values| finite(values)).collect();
    let most = known.iter().map(Vec::len).min().unwrap_or(0);
    let rows = Rows { count: rows.len(), memory: content::memory_of(&known[0]), most };
    let [estimate] = jackknife::estimates(rows, [Scale::Plain], steps, |chosen| [of(chosen)])?;
    Ok(estimate)
}

fn finite(values: &[f64]) -> Vec<f64> {
    values.iter().copied().filter(|x| x.is_finite()).collect()
}

/// Frames that found the codec idle, less the service that the fit of the others gives them; drawn again together with these,
/// so that the interval holds the doubt in both.
fn of_frames(
    measured: &Measured,
    passage: &Passage,
    data: &Data,
    steps: &Steps<'_>,
) -> Result<Option<Estimate>, Stopped> {
    let both =
        |at: usize| if passage.service_ms[at].is_finite() { passage.service_ms[at] } else { passage.idle_ms[at] };
    let times: Vec<f64> = (0..measured.frames).map(both).collect();
    let Some(all) = data.with_times(measured, passage.role, &times) else { return Ok(None) };
    let idle: Vec<bool> = all.rows.iter().map(|&row| passage.idle_ms[row].is_finite()).collect();
    if idle.iter().filter(|idle| **idle).count() < FEWEST {
        return Ok(None);
    }
    let of = |chosen: &[usize]| {
        let (idle, busy): (Vec<usize>, Vec<usize>) = chosen.iter().partition(|&&row| idle[row]);
        if busy.len() < FEWEST_FRAMES || idle.len() < FEWEST {
            return None;
        }
        let point = all.look(&busy, steps.stop())?;
        let rests: Vec<[f64; 2]> = idle
            .iter()
            .map(|&row| {
                let part = |kind| {
                    let part = all.parts.iter().find(|part| part.kind == kind);
                    part.map_or(0.0, |part| part.values[row]) * point.coefficients[kind as usize].unwrap_or(0.0)
                };
                let work = part(PartKind::Constant) + part(PartKind::Pixels) + part(PartKind::Bits);
                [all.time_ms[row] - work - part(PartKind::Slices), work]
            })
            .collect();
        let Some(stalls) = point.stalls else { return mean(rests.iter().map(|[rest, _]| *rest)) };
        // A stall on top is no pipeline: what is beyond the body, as among the others, is left out.
        let middle = regression::median(&mut rests.iter().map(|[rest, _]| *rest).collect::<Vec<_>>())?;
        let body = rests.iter().filter(|[rest, work]| rest - middle + work <= stalls.beyond * work);
        mean(body.map(|[rest, _]| *rest))
    };
    let whole: Vec<usize> = all.all();
    let busy: Vec<usize> = whole.iter().copied().filter(|&row| !idle[row]).collect();
    let Some(point) = all.look(&busy, steps.stop()) else { return steps.check().map(|()| None) };
    let memory = content::memory(&[finite(&point.factors)]);
    let rows = Rows { count: whole.len(), memory, most: whole.len() - busy.len() };
    let [estimate] = jackknife::estimates(rows, [Scale::Plain], steps, |chosen| [of(chosen)])?;
    Ok(estimate)
}

fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    statistics::mean(&values.collect::<Vec<_>>())
}

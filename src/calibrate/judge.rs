//! Measured against simulated: how far quantiles lie apart, and where most.

use serde::Serialize;

use super::goodness;
use super::mapping::Role;
use super::measured::Measured;
use crate::measure::statistics::quantile_of_sorted;
use crate::scenario::Scenario;
use crate::study::Answer;
use crate::time::ns_to_ms;
use crate::work::WorkTable;
use crate::work::units::{self, Packing};

/// Quantiles that are compared.
pub const QUANTILES: [f64; 7] = [0.05, 0.25, 0.5, 0.75, 0.9, 0.95, 0.99];

/// A role measured and simulated.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// What was measured.
    pub role: Role,
    /// Measured values, ascending \[ms, bits\].
    #[serde(skip)]
    pub measured: Vec<f64>,
    /// Simulated values, ascending, in the same unit.
    #[serde(skip)]
    pub simulated: Vec<f64>,
    /// Quantiles at [`QUANTILES`], measured and simulated.
    pub quantiles: Vec<[f64; 2]>,
    /// Distance of Kolmogorov and Smirnov between both.
    pub ks: f64,
}

/// Where measured and simulated disagree most.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Disagreement {
    /// What.
    pub role: Role,
    /// At which quantile.
    pub quantile: f64,
    /// Simulated over measured, less 1.
    pub relative: f64,
}

/// All comparisons.
#[derive(Debug, Clone, PartialEq, Serialize, Default)]
pub struct Judgement {
    /// A line a role that was measured and is simulated.
    pub comparisons: Vec<Comparison>,
    /// Frames of the measurements that were compared: those of the scenario's slice count.
    pub frames: usize,
    /// The largest disagreement among quantiles; none where nothing was compared.
    pub largest: Option<Disagreement>,
}

impl Judgement {
    /// Compares measurements with the answer to a scenario.
    pub fn of(measured: &Measured, answer: &Answer) -> Self {
        let part = comparable(measured, &answer.scenario);
        let comparisons: Vec<Comparison> = part
            .values
            .iter()
            .filter_map(|values| Comparison::new(values.role, &values.values, simulated(values.role, answer)?))
            .collect();
        let largest = comparisons
            .iter()
            .flat_map(Comparison::disagreements)
            .max_by(|a, b| a.relative.abs().total_cmp(&b.relative.abs()));
        Self { comparisons, frames: part.frames, largest }
    }

    /// The comparison of a role.
    pub fn of_role(&self, role: Role) -> Option<&Comparison> {
        self.comparisons.iter().find(|comparison| comparison.role == role)
    }
}

impl Comparison {
    fn new(role: Role, values: &[f64], mut simulated: Vec<f64>) -> Option<Self> {
        let mut measured: Vec<f64> = values.iter().copied().filter(|x| x.is_finite()).collect();
        measured.sort_unstable_by(f64::total_cmp);
        simulated.sort_unstable_by(f64::total_cmp);
        let quantiles: Option<Vec<[f64; 2]>> = QUANTILES
            .iter()
            .map(|&p| Some([quantile_of_sorted(&measured, p)?, quantile_of_sorted(&simulated, p)?]))
            .collect();
        let ks = goodness::two_samples(&measured, &simulated)?;
        Some(Self { role, quantiles: quantiles?, ks, measured, simulated })
    }

    /// How far each quantile lies off, where it is above 0.
    fn disagreements(&self) -> impl Iterator<Item = Disagreement> + '_ {
        let pairs = QUANTILES.iter().zip(&self.quantiles).filter(|(_, [measured, _])| *measured > 0.0);
        pairs.map(|(&quantile, [measured, simulated])| Disagreement {
            role: self.role,
            quantile,
            relative: simulated / measured - 1.0,
        })
    }
}

/// The frames that a run of a scenario can be compared with: those of the scenario's slice count, where there are several.
pub(super) fn comparable(measured: &Measured, scenario: &Scenario) -> Measured {
    let count = scenario.slices.count;
    let several = measured.slices.iter().any(|n| Some(n) != measured.slices.first());
    if several { measured.part(|frame| measured.slices[frame] == count) } else { measured.clone() }
}

/// What a run says of a role, in ms or bits, for every frame that it has it of.
pub(super) fn simulated(role: Role, answer: &Answer) -> Option<Vec<f64>> {
    let Answer { scenario, table, .. } = answer;
    let counted = &table.frames[scenario.run.warmup as usize..scenario.run.frames as usize];
    let slices = f64::from(scenario.slices.count);
    let codec = |frame: f64, slice: f64| frame + slices * slice;
    let encode = codec(scenario.encode.frame_overhead_ms, scenario.encode.slice_overhead_ms);
    let decode = codec(scenario.decode.frame_overhead_ms, scenario.decode.slice_overhead_ms);
    let of = |value: &dyn Fn(&crate::work::FrameWork) -> f64| Some(counted.iter().map(value).collect());
    match role {
        Role::Simulate => of(&|frame| ns_to_ms(frame.simulate_ns)),
        Role::Render => of(&|frame| ns_to_ms(frame.render_ns)),
        Role::Encode => of(&|frame| ns_to_ms(frame.encode_ns) + encode),
        Role::Decode => of(&|frame| ns_to_ms(frame.decode_ns) + decode),
        Role::Uplink => of(&|frame| ns_to_ms(frame.uplink_ns)),
        Role::Size => of(&|frame| frame.bits as f64 + slices * 8.0 * f64::from(scenario.stream.slice_header_bytes)),
        Role::Link => {
            let packing = Packing::new(scenario);
            let frames = scenario.run.warmup as usize..scenario.run.frames as usize;
            Some(frames.map(|frame| link_ms(&packing, table, frame)).collect())
        }
        Role::Compose => Some(table.compose_ns.iter().map(|ns| ns_to_ms(*ns)).collect()),
        Role::Turnaround => Some(answer.samples.turnaround.values_ms.clone()),
        Role::PoseToPhoton => Some(answer.samples.pose_to_photon.values_ms.clone()),
        _ => None,
    }
}

/// Time of a frame alone on the link: its units one after another, and the delay \[ms\].
fn link_ms(packing: &Packing, table: &WorkTable, frame: usize) -> f64 {
    let work = &table.frames[frame];
    let bytes = units::frame_bytes(work.bits);
    let parts = units::borders(table.bit_shares.of(frame));
    let sending_ns: i64 = parts.map(|part| packing.send_ns(packing.unit(bytes, part))).sum();
    ns_to_ms(sending_ns + work.link_delay_ns)
}

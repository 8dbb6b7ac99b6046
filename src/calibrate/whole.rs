//! A calibration from a table to its judgement: what window and command line both ask for.

use serde::Serialize;

use super::adopt::{Adopted, Samples, adopt};
use super::course::{self, Course};
use super::differences::{self, Differences};
use super::fit::Fit;
use super::judge::Judgement;
use super::mapping::Mapping;
use super::measured::Measured;
use super::read::Sheet;
use super::stage::FEWEST_FRAMES;
use super::watch::Watch;
use crate::scenario::Scenario;
use crate::stop::Stopped;
use crate::study::{self, Answer, Workspace};

/// What is asked of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Question {
    /// What its columns stand for.
    pub mapping: Mapping,
    /// Whether to fit on the first half of every run and judge on the second.
    pub hold_out: bool,
    /// When samples stand for a law.
    pub samples: Samples,
    /// What is not measured comes from here.
    pub base: Scenario,
    /// Name of the scenario that is made.
    pub name: String,
}

/// Why nothing was fitted.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NotFitted {
    /// Nothing was measured in enough frames.
    #[error(
        "nothing to fit: found {frames} {}{}{}, allowed: at least {FEWEST_FRAMES} with a stage time or a size",
        if *.frames == 1 { "frame" } else { "frames" },
        of_bad(*.bad),
        not_told.iter().fold(String::new(), |all, words| all + "; " + words)
    )]
    TooFew {
        /// Frames there are.
        frames: usize,
        /// Rows that cannot be used.
        bad: u64,
        /// What the file does not tell, in words.
        not_told: Vec<String>,
    },
    /// It was given up.
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

fn of_bad(bad: u64) -> String {
    match bad {
        0 => String::new(),
        1 => " and 1 row that cannot be used".to_owned(),
        _ => format!(" and {bad} rows that cannot be used"),
    }
}

/// A fit, and what it is to be judged on.
#[derive(Debug, Clone)]
pub struct Fitted {
    /// All frames.
    pub measured: Measured,
    /// The fits.
    pub fit: Fit,
    /// The scenario made of them.
    pub adopted: Adopted,
    /// Whether part of the frames were held out.
    pub held_out: bool,
}

/// A fit and its judgement.
#[derive(Debug, Clone)]
pub struct Calibrated {
    /// All frames.
    pub measured: Measured,
    /// The fits.
    pub fit: Fit,
    /// The scenario made of them.
    pub adopted: Adopted,
    /// Whether the fit is of the first half of every run and the judgement of the second.
    pub held_out: bool,
    /// The answer to the scenario.
    pub answer: Answer,
    /// Measured against simulated.
    pub judgement: Judgement,
    /// Quantiles of both with intervals, a line a role.
    pub differences: Vec<Differences>,
    /// What the fit leaves of every frame, a line a role.
    pub courses: Vec<Course>,
    /// The measured frames run as they were; none where they are too few.
    pub replay: Option<Replayed>,
}

/// Latency of the measured frames when only causality is simulated, beside that of the scenario.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Replayed {
    /// Frames that were run.
    pub frames: u32,
    /// Pose to photon at p50, p95 and p99 of the measured frames and of the scenario \[ms\].
    pub pose_to_photon_ms: [[Option<f64>; 3]; 2],
    /// Turnaround of the same.
    pub turnaround_ms: [[Option<f64>; 3]; 2],
}

impl Fitted {
    /// Fits a table.
    ///
    /// # Errors
    /// When there is nothing to fit, or it was given up.
    pub fn of(sheet: &Sheet, question: &Question, watch: &Watch<'_>) -> Result<Self, NotFitted> {
        let measured = Measured::of_unless(sheet, &question.mapping, watch)?;
        let fit = if question.hold_out {
            let [first, _] = measured.halves();
            Fit::of_unless(&first, watch)?
        } else {
            Fit::of_unless(&measured, watch)?
        };
        if fit.stages.is_empty() && fit.sizes.is_none() {
            let (frames, bad) = (measured.frames, sheet.bad.count + measured.bad.count);
            return Err(NotFitted::TooFew { frames, bad, not_told: fit.not_told });
        }
        let mut adopted = adopt(&question.base, &fit, question.samples);
        adopted.scenario.name.clone_from(&question.name);
        Ok(Self { measured, fit, adopted, held_out: question.hold_out })
    }

    /// Runs the scenario and holds it against what was measured, or against the part that was held out.
    pub fn judge(self) -> Calibrated {
        let Self { measured, fit, adopted, held_out } = self;
        let mut workspace = Workspace::new();
        let answer = study::answer(&adopted.scenario, &mut workspace);
        let second = held_out.then(|| measured.halves()[1].clone());
        let judged = second.as_ref().unwrap_or(&measured);
        let judgement = Judgement::of(judged, &answer);
        let differences = differences::of(judged, &answer);
        let courses = course::of(judged, &fit, &answer);
        let replay = replayed(&adopted.scenario, &measured, &answer, &mut workspace);
        Calibrated { measured, fit, adopted, held_out, answer, judgement, differences, courses, replay }
    }
}

fn replayed(scenario: &Scenario, measured: &Measured, drawn: &Answer, workspace: &mut Workspace) -> Option<Replayed> {
    let (scenario, table) = super::replay(scenario, measured)?;
    let frames = scenario.run.frames;
    let played = study::replay(&scenario, table, workspace);
    let of = |distribution: &crate::measure::Distribution| [distribution.p50, distribution.p95, distribution.p99];
    let both = [&played.summary, &drawn.summary];
    Some(Replayed {
        frames,
        pose_to_photon_ms: both.map(|summary| of(&summary.pose_to_photon_ms)),
        turnaround_ms: both.map(|summary| of(&summary.turnaround_ms)),
    })
}

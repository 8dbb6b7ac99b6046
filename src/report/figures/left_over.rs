//! What late correction leaves: rotation, parallax and guard band against the motion that they come from, baseline and
//! candidate. The formulas are those of the summary, so that a curve at the scenario's own motion is the summary's number.

use serde::{Deserialize, Serialize};

use super::Side;
use super::table::{DESIGNS, Table, cells};
use crate::measure::statistics::Ranks;
use crate::measure::{Angle, Distribution, parallax_deg, rotation_deg, turned_deg};
use crate::scenario::Motion;
use crate::study::Answer;

/// What is left over, or rendered beyond the edge to leave less.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum What {
    /// Rotation that is seen beside where it should be, without and with late correction.
    #[default]
    Rotation,
    /// Parallax of the nearest thing, which late correction does not mend.
    Parallax,
    /// What must be rendered beyond each edge, for late correction to have something to show.
    GuardBand,
}

impl What {
    /// All, in the order in which they are shown. As an index: their place here.
    pub const ALL: [Self; 3] = [Self::Rotation, Self::Parallax, Self::GuardBand];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Rotation => "Rotation",
            Self::Parallax => "Parallax",
            Self::GuardBand => "Guard band",
        }
    }

    /// What it is, in a sentence.
    pub const fn meaning(self) -> &'static str {
        match self {
            Self::Rotation => {
                "How far the head has turned since the pose, less what is predicted and what is corrected."
            }
            Self::Parallax => "How far the nearest thing is seen beside its place; late correction does not mend it.",
            Self::GuardBand => "What must be rendered beyond each edge, so that late correction has something to show.",
        }
    }
}

/// At which quantile of the ages that it comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
pub enum Rank {
    /// The median.
    Median,
    /// The 99 % quantile.
    #[default]
    P99,
}

impl Rank {
    /// Both. As an index: 0 and 1.
    pub const ALL: [Self; 2] = [Self::Median, Self::P99];

    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Median => "p50",
            Self::P99 => "p99",
        }
    }
}

/// The motion that a panel is drawn against.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Against {
    /// Head rotation.
    HeadSpeed,
    /// Its acceleration: all that is left of rotation where speed is predicted.
    HeadAcceleration,
    /// Head translation.
    MoveSpeed,
    /// Its acceleration.
    MoveAcceleration,
}

impl Against {
    /// Its name.
    pub const fn name(self) -> &'static str {
        match self {
            Self::HeadSpeed => "head speed",
            Self::HeadAcceleration => "head acceleration",
            Self::MoveSpeed => "head movement",
            Self::MoveAcceleration => "acceleration of the movement",
        }
    }

    /// Its unit.
    pub const fn unit(self) -> &'static str {
        match self {
            Self::HeadSpeed => "deg/s",
            Self::HeadAcceleration => "deg/s2",
            Self::MoveSpeed => "m/s",
            Self::MoveAcceleration => "m/s2",
        }
    }

    /// What a panel shows at least: a quick turn of the head, a walk.
    const fn least(self) -> f64 {
        match self {
            Self::HeadSpeed => 300.0,
            Self::HeadAcceleration => 3000.0,
            Self::MoveSpeed => 1.5,
            Self::MoveAcceleration => 6.0,
        }
    }

    /// Its value in a motion.
    pub const fn of(self, motion: &Motion) -> f64 {
        match self {
            Self::HeadSpeed => motion.head_deg_per_s,
            Self::HeadAcceleration => motion.head_deg_per_s2,
            Self::MoveSpeed => motion.move_m_per_s,
            Self::MoveAcceleration => motion.move_m_per_s2,
        }
    }

    /// The motion with another value.
    const fn with(self, mut motion: Motion, value: f64) -> Motion {
        match self {
            Self::HeadSpeed => motion.head_deg_per_s = value,
            Self::HeadAcceleration => motion.head_deg_per_s2 = value,
            Self::MoveSpeed => motion.move_m_per_s = value,
            Self::MoveAcceleration => motion.move_m_per_s2 = value,
        }
        motion
    }
}

/// One design's ages and motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ages {
    /// Its motion.
    pub motion: Motion,
    /// Horizontal pixels per degree at the centre.
    pub px_per_deg: f64,
    /// Pose to photon at both ranks: the age without late correction \[ms\].
    pub uncorrected_ms: [Option<f64>; 2],
    /// Correction age at both ranks: the age with it \[ms\].
    pub corrected_ms: [Option<f64>; 2],
    /// Pose to photon less the correction age at that refresh, at both ranks \[ms\].
    pub between_ms: [Option<f64>; 2],
}

impl Ages {
    fn of(answer: &Answer) -> Self {
        let Answer { scenario, summary, samples, .. } = answer;
        let both = |of: &Distribution| [of.p50, of.p99];
        let mut between = samples.corrected.values_ms.clone();
        let between_ms = if summary.steady && !between.is_empty() {
            let mut ranks = Ranks::new(&mut between);
            [0.5, 0.99].map(|share| ranks.quantile(share))
        } else {
            [None, None]
        };
        Self {
            motion: scenario.motion,
            px_per_deg: summary.picture.px_per_deg_center,
            uncorrected_ms: both(&summary.pose_to_photon_ms),
            corrected_ms: both(&summary.correction_age_ms),
            between_ms,
        }
    }

    fn angle(&self, deg: f64) -> Angle {
        Angle { deg, px: deg * self.px_per_deg }
    }
}

/// One thing that is left over, against one motion.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Panel {
    /// What is left over.
    pub what: What,
    /// The motion along the axis.
    pub against: Against,
    /// Its greatest value.
    pub most: f64,
}

impl Panel {
    fn new(what: What, against: Against, sides: &[Ages; 2]) -> Self {
        let most = sides.iter().map(|side| 2.0 * against.of(&side.motion)).fold(against.least(), f64::max);
        Self { what, against, most }
    }

    /// What is left over at a value of the axis, all else as the design has it: without late correction, and with it where
    /// that makes a difference. For the guard band, the band. None where there is no age.
    pub fn left(&self, ages: &Ages, rank: Rank, value: f64) -> [Option<Angle>; 2] {
        let motion = self.against.with(ages.motion, value);
        let at = |ms: [Option<f64>; 2], deg: fn(&Motion, f64) -> f64| {
            ms[rank as usize].map(|ms| ages.angle(deg(&motion, ms)))
        };
        match self.what {
            What::Rotation => [at(ages.uncorrected_ms, rotation_deg), at(ages.corrected_ms, rotation_deg)],
            What::Parallax => [at(ages.uncorrected_ms, parallax_deg), None],
            What::GuardBand => [at(ages.between_ms, turned_deg), None],
        }
    }

    /// The same at the motion that the design names: the summary's number.
    pub fn here(&self, ages: &Ages, rank: Rank) -> [Option<Angle>; 2] {
        self.left(ages, rank, self.against.of(&ages.motion))
    }

    /// The greatest angle of both designs on the axis \[deg\].
    pub fn highest_deg(&self, sides: &[Ages; 2], rank: Rank) -> Option<f64> {
        let ends = sides.iter().flat_map(|ages| self.left(ages, rank, self.most));
        ends.flatten().map(|angle| angle.deg).reduce(f64::max)
    }
}

/// All that is left over in two designs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LeftOvers {
    /// A panel for each thing, in the order of [`What::ALL`].
    pub panels: [Panel; 3],
    /// Baseline and candidate.
    pub sides: [Ages; 2],
}

impl LeftOvers {
    /// What is left over in two answers. Where both designs predict, rotation and parallax come from acceleration alone and
    /// are drawn against it; where one does not, against speed, of which the other's do not depend.
    pub fn new(answers: [&Answer; 2]) -> Self {
        let sides = answers.map(Ages::of);
        let predicted = sides.iter().all(|side| side.motion.predict);
        let [turn, walk] = if predicted {
            [Against::HeadAcceleration, Against::MoveAcceleration]
        } else {
            [Against::HeadSpeed, Against::MoveSpeed]
        };
        let against = [turn, walk, Against::HeadSpeed];
        let panels = [0, 1, 2].map(|place| Panel::new(What::ALL[place], against[place], &sides));
        Self { panels, sides }
    }

    /// The panel of a thing.
    pub const fn panel(&self, what: What) -> &Panel {
        &self.panels[what as usize]
    }

    /// Pixels per degree at the centre, where both designs have the same.
    pub fn px_per_deg(&self) -> Option<f64> {
        let [one, other] = self.sides.each_ref().map(|side| side.px_per_deg);
        ((one - other).abs() < 1e-9 * one).then_some(one)
    }
}

const COLUMNS: [&str; 13] = [
    "what",
    "quantile",
    "against",
    "unit",
    "value",
    "row",
    "baseline_deg",
    "candidate_deg",
    "baseline_corrected_deg",
    "candidate_corrected_deg",
    "px_per_deg_baseline",
    "px_per_deg_candidate",
    "most",
];

impl LeftOvers {
    /// Every panel at both quantiles: at each design's own motion, and along the axis in steps. Degrees times pixels per degree
    /// are pixels at the centre.
    pub fn table(&self) -> Table {
        const STEPS: u32 = 32;
        let mut table = Table::new("Late correction", &COLUMNS);
        for panel in &self.panels {
            for rank in Rank::ALL {
                let own = Side::BOTH.map(|side| panel.against.of(&self.sides[side.index()].motion));
                let steps = (0..=STEPS).map(|step| panel.most * f64::from(step) / f64::from(STEPS));
                let rows = DESIGNS.into_iter().zip(own).chain(steps.map(|value| ("curve", value)));
                for (row, value) in rows {
                    let [before, after] = self.sides.each_ref().map(|ages| panel.left(ages, rank, value));
                    let deg = |angle: Option<Angle>| angle.map(|angle| angle.deg);
                    table.row(cells![
                        panel.what.name(),
                        rank.name(),
                        panel.against.name(),
                        panel.against.unit(),
                        value,
                        row,
                        deg(before[0]),
                        deg(after[0]),
                        deg(before[1]),
                        deg(after[1]),
                        self.sides[0].px_per_deg,
                        self.sides[1].px_per_deg,
                        panel.most
                    ]);
                }
            }
        }
        table
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::Angles;
    use crate::report::figures::table::Cell;
    use crate::scenario::{Scenario, presets};
    use crate::study::{self, Workspace};

    fn answer(mut scenario: Scenario) -> Answer {
        scenario.run.frames = 300;
        scenario.run.warmup = 60;
        study::answer(&scenario, &mut Workspace::new())
    }

    fn same(found: Option<Angle>, summary: Option<Angle>, what: &str) {
        let bits = |angle: Option<Angle>| angle.map(|angle| [angle.deg.to_bits(), angle.px.to_bits()]);
        assert_eq!(bits(found), bits(summary), "{what}: {found:?} against {summary:?}");
    }

    /// To the last bit, in every preset, predicted and not.
    #[test]
    fn curve_at_the_scenarios_motion_is_the_summarys_number() {
        let mut numbers = 0;
        for preset in presets::all() {
            for predict in [true, false] {
                let mut scenario = preset.scenario();
                scenario.motion.predict = predict;
                let answer = answer(scenario);
                let figure = LeftOvers::new([&answer, &answer]);
                let left = &answer.summary.left_over;
                for rank in Rank::ALL {
                    let of = |angles: Angles| [angles.p50, angles.p99][rank as usize];
                    let here = |what| figure.panel(what).here(&figure.sides[0], rank);
                    let [without, with] = here(What::Rotation);
                    same(without, of(left.rotation_uncorrected), preset.slug);
                    same(with, of(left.rotation_corrected), preset.slug);
                    same(here(What::Parallax)[0], of(left.parallax), preset.slug);
                    same(here(What::GuardBand)[0], of(left.guard_band), preset.slug);
                    let rows = figure.table().rows;
                    let own =
                        |row: &&Vec<Cell>| row[..2] == cells!["Rotation", rank.name()] && row[5] == "candidate".into();
                    let row = rows.iter().find(own).unwrap();
                    assert_eq!(row[7], of(left.rotation_uncorrected).map(|angle| angle.deg).into());
                    assert_eq!(row[9], of(left.rotation_corrected).map(|angle| angle.deg).into());
                    numbers += usize::from(without.is_some() && of(left.guard_band).is_some());
                }
            }
        }
        assert!(numbers >= 30, "{numbers} numbers compared");
    }

    fn ages(motion: Motion) -> Ages {
        Ages {
            motion,
            px_per_deg: 20.0,
            uncorrected_ms: [Some(30.0), Some(40.0)],
            corrected_ms: [Some(5.0), None],
            between_ms: [Some(25.0), Some(34.0)],
        }
    }

    fn deg(found: Option<Angle>) -> f64 {
        found.unwrap().deg
    }

    /// w t, a t^2 / 2, atan(v t / d), worked by hand: 200 deg/s for 30 ms; 2000 deg/s2 for 40 ms; 1 m/s for 40 ms at 0.5 m.
    #[test]
    fn curves_are_the_closed_forms() {
        let plain = Motion { predict: false, nearest_m: 0.5, ..Motion::default() };
        let sides = [ages(plain), ages(plain)];
        let panel = |what, against| Panel::new(what, against, &sides);
        let rotation = panel(What::Rotation, Against::HeadSpeed);
        assert!((deg(rotation.left(&sides[0], Rank::Median, 200.0)[0]) - 6.0).abs() < 1e-12);
        assert!((rotation.left(&sides[0], Rank::Median, 200.0)[0].unwrap().px - 120.0).abs() < 1e-9);
        assert!((deg(rotation.left(&sides[0], Rank::Median, 200.0)[1]) - 1.0).abs() < 1e-12);
        assert_eq!(rotation.left(&sides[0], Rank::P99, 200.0)[1], None);
        let predicted = Motion { predict: true, ..plain };
        let turned = panel(What::Rotation, Against::HeadAcceleration);
        assert!((deg(turned.left(&ages(predicted), Rank::P99, 2000.0)[0]) - 1.6).abs() < 1e-12);
        let parallax = panel(What::Parallax, Against::MoveSpeed);
        // atan(0.08) is 4.573 921 deg.
        assert!((deg(parallax.left(&sides[0], Rank::P99, 1.0)[0]) - 4.573_921).abs() < 1e-6);
        let guard = panel(What::GuardBand, Against::HeadSpeed);
        assert!((deg(guard.left(&ages(predicted), Rank::P99, 100.0)[0]) - 3.4).abs() < 1e-12);
        assert_eq!(guard.left(&sides[0], Rank::P99, 0.0)[0].map(|angle| angle.deg), Some(0.0));
    }

    #[test]
    fn axis_is_what_the_angle_comes_from() {
        let scenario = Scenario::default();
        let mut other = scenario.clone();
        other.motion.predict = false;
        other.motion.head_deg_per_s = 250.0;
        let [predicted, plain] = [scenario, other].map(answer);
        let axes = |answers| LeftOvers::new(answers).panels.map(|panel| panel.against);
        let speeds = [Against::HeadSpeed, Against::MoveSpeed, Against::HeadSpeed];
        assert_eq!(
            axes([&predicted, &predicted]),
            [Against::HeadAcceleration, Against::MoveAcceleration, Against::HeadSpeed]
        );
        assert_eq!(axes([&plain, &plain]), speeds);
        assert_eq!(axes([&predicted, &plain]), speeds);
        // Against speed, what is predicted lies level at its acceleration's value.
        let mixed = LeftOvers::new([&predicted, &plain]);
        let rotation = mixed.panel(What::Rotation);
        let level = [0.0, 150.0, 500.0].map(|speed| rotation.left(&mixed.sides[0], Rank::P99, speed)[0]);
        assert_eq!(level, [predicted.summary.left_over.rotation_uncorrected.p99; 3]);
        assert!((rotation.most - 500.0).abs() < 1e-12);
    }

    #[test]
    fn what_has_no_age_leaves_nothing_known() {
        let mut scenario = Scenario::default();
        scenario.decode.buffer.frames = None;
        scenario.decode.work.per_mpx_ms = 3.0;
        let growing = answer(scenario);
        assert!(!growing.summary.steady);
        let figure = LeftOvers::new([&growing, &growing]);
        for panel in &figure.panels {
            assert_eq!(panel.here(&figure.sides[1], Rank::P99), [None, None]);
            assert_eq!(panel.highest_deg(&figure.sides, Rank::P99), None);
        }
    }
}

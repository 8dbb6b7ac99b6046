//! Budget split: from a target pose to photon and a quantile, what each team's piece may take; and from a design, its pieces.
//!
//! The pieces *at the quantile* are the mean pieces of the frames that take about as long as the quantile, made to sum to
//! it exactly: what each contributes to it (Euler's allocation of a quantile: D. Tasche, Risk contributions and performance
//! measurement, Technische Universität München, 1999). What is left to the target, or lacking, is shared by a rule that is told.

use serde::Serialize;

use super::StudyError;
use super::Workspace;
use super::cost::most_bytes;
use super::luck::{Mean, USUAL_SEEDS, check_seeds, under_luck};
use super::runner::{Runner, Watch};
use crate::measure::{Piece, Team, walk_back};
use crate::scenario::Scenario;
use crate::stop::{Stopped, in_chunks};

/// Share of the frames that are about as long as the quantile, on either side of it.
const ABOUT: f64 = 0.005;
/// Least number of them on either side.
const LEAST_ABOUT: usize = 10;

/// How what is left, or lacking, is shared among the teams that can change their piece. From latch to photons the display
/// is set, which takes no share.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Rule {
    /// In proportion to what each piece takes at the quantile.
    Exposed,
    /// In proportion to how much each piece varies from frame to frame: its standard deviation.
    Spread,
    /// In equal parts.
    Equal,
}

impl Rule {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Exposed, Self::Spread, Self::Equal];

    /// Its name on the command line.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Exposed => "exposed",
            Self::Spread => "spread",
            Self::Equal => "equal",
        }
    }

    /// What it says.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Exposed => "in proportion to what each piece takes at the quantile",
            Self::Spread => "in proportion to how much each piece varies from frame to frame",
            Self::Equal => "in equal parts",
        }
    }

    /// The same in a few words.
    pub const fn brief(self) -> &'static str {
        match self {
            Self::Exposed => "by what each piece takes",
            Self::Spread => "by how much each piece varies",
            Self::Equal => "in equal parts",
        }
    }

    /// The rule of a name.
    pub fn find(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|rule| rule.name() == name)
    }
}

/// What is asked.
#[derive(Debug, Clone, Copy)]
pub struct Question {
    /// Pose to photon aimed at \[ms\].
    pub target_ms: f64,
    /// The quantile that must hold it, above 0 and below 1.
    pub quantile: f64,
    /// How what is left is shared.
    pub rule: Rule,
    /// Seeds.
    pub seeds: u32,
}

impl Question {
    /// The scenario's own budget, shared in proportion to what each piece takes.
    pub fn new(scenario: &Scenario) -> Self {
        let budget = &scenario.budget;
        Self { target_ms: budget.pose_to_photon_ms, quantile: budget.quantile, rule: Rule::Exposed, seeds: USUAL_SEEDS }
    }
}

/// A target split.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Split {
    /// Name of the scenario.
    pub name: String,
    /// Pose to photon aimed at \[ms\].
    pub target_ms: f64,
    /// The quantile that must hold it.
    pub quantile: f64,
    /// How what is left is shared.
    pub rule: Rule,
    /// Seeds.
    pub seeds: u32,
    /// Frames a run.
    pub frames: u32,
    /// First frames that do not count.
    pub warmup: u32,
    /// Pose to photon of the design at the quantile \[ms\].
    pub at_quantile_ms: Mean,
    /// Mean pose to photon of the design \[ms\].
    pub mean_ms: Mean,
    /// Target less quantile: what is left, or lacking where it is below 0 \[ms\].
    pub left_ms: f64,
    /// Whether the target leaves anything beside what the display takes from latch to photons.
    pub possible: bool,
    /// Teams, from pose to photon.
    pub shares: Vec<Share>,
    /// Pieces, from pose to photon.
    pub pieces: Vec<PieceTime>,
}

/// What one team takes, and may take.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    /// Name of the team.
    pub team: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// Whether it is a setting of the display that takes no share of what is left.
    pub fixed: bool,
    /// Mean exposed time \[ms\].
    pub mean_ms: Mean,
    /// Standard deviation from frame to frame \[ms\].
    pub sd_ms: Mean,
    /// Exposed time at the quantile \[ms\]; the teams' sum to the quantile.
    pub at_quantile_ms: Mean,
    /// What it may take at the quantile \[ms\]; the teams' sum to the target.
    pub may_take_ms: Option<f64>,
    /// What it may take on average, if it varies as it does: the piece of a budget \[ms\].
    pub may_take_mean_ms: Option<f64>,
}

/// What one piece takes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PieceTime {
    /// Name of the piece.
    pub piece: &'static str,
    /// Its name for people.
    pub label: &'static str,
    /// The team that it belongs to, by its name.
    pub team: &'static str,
    /// The same for people.
    #[serde(skip)]
    pub team_label: &'static str,
    /// Mean exposed time \[ms\].
    pub mean_ms: Mean,
    /// Exposed time at the quantile \[ms\].
    pub at_quantile_ms: Mean,
}

/// What one run comes to, by piece and by team.
#[expect(clippy::struct_field_names, reason = "the unit belongs to the name")]
struct One {
    /// Pose to photon at the quantile \[ms\].
    quantile_ms: f64,
    mean_ms: f64,
    piece_mean_ms: [f64; Piece::COUNT],
    piece_at_ms: [f64; Piece::COUNT],
    team_sd_ms: [f64; TEAMS],
}

const TEAMS: usize = Team::ALL.len();

fn fixed(team: Team) -> bool {
    matches!(team, Team::Latch | Team::Light)
}

/// Splits a target among the pieces of a checked scenario.
pub fn split(
    scenario: &Scenario,
    question: &Question,
    runner: &Runner,
    watch: &Watch<'_>,
) -> Result<Split, StudyError> {
    check(question)?;
    scenario.check()?;
    watch.expect(question.seeds as usize);
    let ones = runner.run(question.seeds as usize, most_bytes([scenario]), watch, |seed, space| {
        one(&under_luck(scenario, seed as u32, scenario.run.seed), question.quantile, space, watch)
    })?;
    let mean =
        |value: &dyn Fn(&One) -> f64| Mean::of(&ones.iter().map(|one| one.as_ref().map(value)).collect::<Vec<_>>());
    let of_team = |pieces: &[f64; Piece::COUNT], team: Team| {
        Piece::ALL.into_iter().filter(|piece| piece.team() == team).map(|piece| pieces[piece as usize]).sum::<f64>()
    };
    let at_quantile_ms = mean(&|one| one.quantile_ms);
    let mut shares: Vec<Share> = Team::ALL
        .into_iter()
        .map(|team| Share {
            team: team.name(),
            label: team.label(),
            fixed: fixed(team),
            mean_ms: mean(&|one| of_team(&one.piece_mean_ms, team)),
            sd_ms: mean(&|one| one.team_sd_ms[team as usize]),
            at_quantile_ms: mean(&|one| of_team(&one.piece_at_ms, team)),
            may_take_ms: None,
            may_take_mean_ms: None,
        })
        .collect();
    let Some(now_ms) = at_quantile_ms.mean else { return Err(nothing(scenario)) };
    let left_ms = question.target_ms - now_ms;
    let fixed_ms: f64 = shares.iter().filter(|share| share.fixed).filter_map(|share| share.at_quantile_ms.mean).sum();
    allow(&mut shares, left_ms, question.rule);
    let pieces = Piece::ALL.into_iter().map(|piece| PieceTime {
        piece: piece.name(),
        label: piece.label(),
        team: piece.team().name(),
        team_label: piece.team().label(),
        mean_ms: mean(&|one| one.piece_mean_ms[piece as usize]),
        at_quantile_ms: mean(&|one| one.piece_at_ms[piece as usize]),
    });
    Ok(Split {
        name: scenario.name.clone(),
        target_ms: question.target_ms,
        quantile: question.quantile,
        rule: question.rule,
        seeds: question.seeds,
        frames: scenario.run.frames,
        warmup: scenario.run.warmup,
        at_quantile_ms,
        mean_ms: mean(&|one| one.mean_ms),
        left_ms,
        possible: question.target_ms >= fixed_ms,
        pieces: pieces.collect(),
        shares,
    })
}

fn check(question: &Question) -> Result<(), StudyError> {
    let Question { target_ms, quantile, seeds, .. } = *question;
    if !(target_ms > 0.0 && target_ms <= 1000.0) {
        return Err(StudyError::question("target", &format!("{target_ms} ms"), "above 0 to 1000 ms"));
    }
    if !(quantile > 0.0 && quantile < 1.0) {
        return Err(StudyError::question("quantile", &quantile, "above 0 to below 1"));
    }
    check_seeds(seeds)
}

fn nothing(scenario: &Scenario) -> StudyError {
    let found = "a pipeline that is not steady at some seed, or shows no frame";
    StudyError::question(format!("pieces of {:?}", scenario.name), found, "one that has a latency to split")
}

/// The pieces of one run; none where there is no latency to split.
fn one(scenario: &Scenario, quantile: f64, space: &mut Workspace, watch: &Watch<'_>) -> Result<Option<One>, Stopped> {
    let summary = space.summary_unless(scenario, watch.stop())?;
    let mut shown: Vec<(u32, f64)> = space.samples().pose_to_photon.iter().collect();
    if !summary.steady || shown.is_empty() {
        return Ok(None);
    }
    let count = shown.len();
    let (mut sums, mut team_sums, mut team_squares) = ([0.0; Piece::COUNT], [0.0; TEAMS], [0.0; TEAMS]);
    let pieces_of = |frame: u32| {
        let mut pieces_ms = [0.0; Piece::COUNT];
        let spans = walk_back(scenario, space.table(), space.run(), frame as usize).unwrap_or_default();
        for span in spans {
            pieces_ms[span.piece as usize] += span.length_ns() as f64 / 1e6;
        }
        pieces_ms
    };
    in_chunks(count, watch.stop(), |chunk| {
        for (frame, _) in &shown[chunk] {
            let pieces_ms = pieces_of(*frame);
            let mut teams_ms = [0.0; TEAMS];
            for piece in Piece::ALL {
                sums[piece as usize] += pieces_ms[piece as usize];
                teams_ms[piece.team() as usize] += pieces_ms[piece as usize];
            }
            for (team, ms) in teams_ms.into_iter().enumerate() {
                team_sums[team] += ms;
                team_squares[team] += ms * ms;
            }
        }
    })?;
    shown.sort_unstable_by(|a, b| a.1.total_cmp(&b.1));
    let place = (count - 1) as f64 * quantile;
    let (below, above) = (shown[place.floor() as usize].1, shown[place.ceil() as usize].1);
    let quantile_ms = below + place.fract() * (above - below);
    let about = ((ABOUT * count as f64) as usize).max(LEAST_ABOUT);
    let near = &shown[(place.floor() as usize).saturating_sub(about)..(place.ceil() as usize + about + 1).min(count)];
    let mut near_sums = [0.0; Piece::COUNT];
    for (frame, _) in near {
        near_sums.iter_mut().zip(pieces_of(*frame)).for_each(|(sum, ms)| *sum += ms);
    }
    let near_ms = near_sums.map(|sum| sum / near.len() as f64);
    // The frames about the quantile average nearly to it; what the display does not fix makes up the rest.
    let of_display = |piece: &Piece| fixed(piece.team());
    let fixed_ms: f64 = Piece::ALL.into_iter().filter(of_display).map(|piece| near_ms[piece as usize]).sum();
    let share = (quantile_ms - fixed_ms) / (near_ms.iter().sum::<f64>() - fixed_ms);
    let at_quantile_ms = |piece: Piece| {
        let ms = near_ms[piece as usize];
        if fixed(piece.team()) || !share.is_finite() { ms } else { ms * share }
    };
    let n = count as f64;
    let sd = |team: usize| {
        ((team_squares[team] - team_sums[team] * team_sums[team] / n) / (n - 1.0).max(1.0)).max(0.0).sqrt()
    };
    Ok(Some(One {
        quantile_ms,
        mean_ms: sums.iter().sum::<f64>() / n,
        piece_mean_ms: sums.map(|sum| sum / n),
        piece_at_ms: Piece::ALL.map(at_quantile_ms),
        team_sd_ms: std::array::from_fn(sd),
    }))
}

/// Gives every team that can change its part of what is left, or takes it. No piece goes below 0: what one cannot give the
/// others give.
fn allow(shares: &mut [Share], left_ms: f64, rule: Rule) {
    let weight = |share: &Share| match rule {
        _ if share.fixed => 0.0,
        Rule::Exposed => share.at_quantile_ms.mean.unwrap_or(0.0),
        Rule::Spread => share.sd_ms.mean.unwrap_or(0.0),
        Rule::Equal => 1.0,
    };
    let weights: Vec<f64> = shares.iter().map(weight).collect();
    let now: Vec<f64> = shares.iter().map(|share| share.at_quantile_ms.mean.unwrap_or(0.0)).collect();
    let mut may = now.clone();
    let mut open: Vec<usize> = (0..shares.len()).filter(|&at| weights[at] > 0.0).collect();
    let mut rest_ms = left_ms;
    while rest_ms.abs() > 1e-12 && !open.is_empty() {
        let sum: f64 = open.iter().map(|&at| weights[at]).sum();
        let given = rest_ms;
        for &at in &open {
            let to = f64::max(0.0, may[at] + given * weights[at] / sum);
            rest_ms -= to - may[at];
            may[at] = to;
        }
        open.retain(|&at| may[at] > 0.0);
        if given > 0.0 {
            break;
        }
    }
    for ((share, may), now) in shares.iter_mut().zip(may).zip(now) {
        share.may_take_ms = Some(may);
        share.may_take_mean_ms = share.mean_ms.mean.map(|mean| f64::max(0.0, mean + may - now));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn short() -> Scenario {
        let mut scenario = Scenario::default();
        (scenario.run.frames, scenario.run.warmup, scenario.content.cv) = (600, 100, 0.0);
        scenario
    }

    fn ask(question: Question) -> Split {
        split(&short(), &question, &Runner::new(), &Watch::nobody()).unwrap()
    }

    fn sum(shares: &[Share], of: impl Fn(&Share) -> Option<f64>) -> f64 {
        shares.iter().map(|share| of(share).unwrap()).sum()
    }

    #[test]
    fn pieces_sum_to_the_quantile_and_allowances_to_the_target() {
        for rule in Rule::ALL {
            for target_ms in [30.0, 38.0, 60.0] {
                let found = ask(Question { target_ms, rule, seeds: 2, ..Question::new(&short()) });
                let now = found.at_quantile_ms.mean.unwrap();
                assert!((sum(&found.shares, |share| share.at_quantile_ms.mean) - now).abs() < 1e-9);
                assert!(
                    (found.pieces.iter().map(|piece| piece.at_quantile_ms.mean.unwrap()).sum::<f64>() - now).abs()
                        < 1e-9
                );
                assert!(
                    (sum(&found.shares, |share| share.may_take_ms) - target_ms).abs() < 1e-9,
                    "{rule:?}, {target_ms}"
                );
                let mean = sum(&found.shares, |share| share.mean_ms.mean);
                assert!((mean - found.mean_ms.mean.unwrap()).abs() < 1e-9);
                assert!(found.possible && (found.left_ms - (target_ms - now)).abs() < 1e-12);
                let light = found.shares.last().unwrap();
                assert!((light.may_take_ms.unwrap() - 9.5).abs() < 1e-6, "light is the display's: {light:?}");
            }
        }
        assert_eq!(Rule::find("spread"), Some(Rule::Spread));
    }

    #[test]
    fn the_mean_pieces_are_those_of_the_summary() {
        let found = ask(Question { seeds: 1, ..Question::new(&short()) });
        let summary = Workspace::new().summary(&short());
        for (piece, time) in Piece::ALL.into_iter().zip(&found.pieces) {
            assert!((summary.exposed_ms.of(piece).unwrap() - time.mean_ms.mean.unwrap()).abs() < 1e-9, "{piece:?}");
        }
        assert!((summary.pose_to_photon_ms.p99.unwrap() - found.at_quantile_ms.mean.unwrap()).abs() < 1e-9);
    }

    #[test]
    fn what_cannot_be_is_told() {
        let found = ask(Question { target_ms: 10.0, seeds: 1, ..Question::new(&short()) });
        assert!(!found.possible, "from latch to photons alone takes 13.5 ms");
        assert!(found.shares.iter().all(|share| share.may_take_ms >= Some(0.0)));
        let wrong = Question { quantile: 1.0, ..Question::new(&short()) };
        let error = split(&short(), &wrong, &Runner::new(), &Watch::nobody()).unwrap_err();
        assert_eq!(error.to_string(), "quantile: found 1, allowed: above 0 to below 1");
    }

    /// A deficit that one piece cannot bear is borne by the others.
    #[test]
    fn no_piece_goes_below_nothing() {
        let share = |now: f64, sd: f64, fixed| Share {
            team: "x",
            label: "X",
            fixed,
            mean_ms: Mean { mean: Some(now), half_width: None },
            sd_ms: Mean { mean: Some(sd), half_width: None },
            at_quantile_ms: Mean { mean: Some(now), half_width: None },
            may_take_ms: None,
            may_take_mean_ms: None,
        };
        // 6 ms are lacking, shared 3 to 1: the first has only 2, so the second gives 4.
        let mut shares = [share(2.0, 3.0, false), share(9.0, 1.0, false), share(5.0, 9.0, true)];
        allow(&mut shares, -6.0, Rule::Spread);
        let may: Vec<f64> = shares.iter().map(|share| share.may_take_ms.unwrap()).collect();
        assert!([0.0, 5.0, 5.0].iter().zip(&may).all(|(a, b): (&f64, &f64)| (a - b).abs() < 1e-12), "{may:?}");
        allow(&mut shares, 4.0, Rule::Spread);
        let may: Vec<f64> = shares.iter().map(|share| share.may_take_ms.unwrap()).collect();
        assert_eq!(may, [5.0, 10.0, 5.0]);
    }
}

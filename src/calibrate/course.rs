//! What a fit leaves of every frame, in the order of measuring: whether the bench drifted, and where it was at its worst.

use serde::Serialize;

use super::fit::Fit;
use super::judge;
use super::mapping::Role;
use super::measured::Measured;
use super::size::SizeFit;
use crate::measure::statistics::{self, BATCHES};
use crate::study::Answer;

/// Stretches of equal length that the worst one is looked for among.
const STRETCHES: usize = 50;
/// Fewest frames that tell a course.
const FEWEST: usize = 30;

/// What frames are held against.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub enum Against {
    /// What the fit gives a frame of its slices, pixels and bits.
    Fit,
    /// The simulated mean: the role has no fit of its own.
    SimulatedMean,
}

/// What is left of every frame of one role \[ms, bits\].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Course {
    /// The role.
    pub role: Role,
    /// What was taken off.
    pub against: Against,
    /// What is left, frame by frame; not a number where nothing was measured.
    #[serde(skip)]
    pub left: Vec<f64>,
    /// Where runs begin.
    #[serde(skip)]
    pub starts: Vec<usize>,
    /// Which frames are intra; none where the file does not tell, or all are of a kind.
    #[serde(skip)]
    pub intra: Option<Vec<bool>>,
    /// Whether the fit leaves intra frames aside: all below is of the others then.
    pub intra_aside: bool,
    /// Mean of what is left of intra frames.
    pub intra_mean: Option<f64>,
    /// Mean of the first and of the last third.
    pub thirds: [f64; 2],
    /// Half the 95 % interval of their difference, neighbours alike as they are.
    pub half_ci95: Option<f64>,
    /// Correlation of neighbours within runs.
    pub lag_one: Option<f64>,
    /// The stretch whose mean lies farthest from 0: its first and last frame and that mean.
    pub worst: (usize, usize, f64),
}

/// Which frames are intra, where there are both kinds, and whether the fit leaves them aside.
#[derive(Default)]
struct Kinds<'a> {
    intra: Option<&'a [bool]>,
    aside: bool,
}

impl<'a> Kinds<'a> {
    fn of(measured: &'a Measured, aside: bool) -> Self {
        Self { intra: measured.intra.as_deref().filter(|_| measured.has_both_kinds()), aside }
    }
}

impl Course {
    /// How much later frames take more than earlier ones: last third less first third.
    pub fn drift(&self) -> f64 {
        self.thirds[1] - self.thirds[0]
    }

    /// Whether the drift is more than luck; none where that cannot be told.
    pub fn drifts(&self) -> Option<bool> {
        self.half_ci95.map(|half| self.drift().abs() > half)
    }

    fn new(role: Role, against: Against, left: Vec<f64>, starts: &[usize], kinds: &Kinds<'_>) -> Option<Self> {
        let Kinds { intra, aside } = *kinds;
        let of_intra = |intra: &[bool]| {
            let known = left.iter().zip(intra).filter(|(x, intra)| **intra && x.is_finite()).map(|(x, _)| *x);
            statistics::mean(&known.collect::<Vec<f64>>())
        };
        let intra_mean = intra.and_then(of_intra);
        let all = left;
        let left: Vec<f64> = match intra.filter(|_| aside) {
            Some(intra) => all.iter().zip(intra).map(|(x, intra)| if *intra { f64::NAN } else { *x }).collect(),
            None => all.clone(),
        };
        let known: Vec<f64> = left.iter().copied().filter(|x| x.is_finite()).collect();
        if known.len() < FEWEST {
            return None;
        }
        let lag_one = lag_one(&left, starts);
        let third = known.len() / 3;
        let (first, last) = (&known[..third], &known[known.len() - third..]);
        let thirds = [statistics::mean(first)?, statistics::mean(last)?];
        let half_ci95 = half_of_drift(first, last);
        let worst = worst(&left)?;
        let (starts, intra) = (starts.to_vec(), intra.map(<[bool]>::to_vec));
        Some(Self {
            role,
            against,
            left: all,
            starts,
            intra,
            intra_aside: aside,
            intra_mean,
            thirds,
            half_ci95,
            lag_one,
            worst,
        })
    }
}

/// The courses of all that was measured and has a fit or is simulated.
pub(super) fn of(measured: &Measured, fit: &Fit, answer: &Answer) -> Vec<Course> {
    measured.values.iter().filter_map(|values| course(measured, fit, answer, values.role, &values.values)).collect()
}

fn course(measured: &Measured, fit: &Fit, answer: &Answer, role: Role, values: &[f64]) -> Option<Course> {
    let expected: Vec<f64> = if let Some(stage) = fit.stage(role) {
        let stalls =
            stage.stall_chance.zip(stage.stall_mean_ms).map_or(0.0, |(chance, mean)| chance.value * mean.value);
        (0..values.len()).map(|frame| stage.expected_ms(measured, frame) + stalls).collect()
    } else if let (Role::Size, Some(sizes)) = (role, &fit.sizes) {
        (0..values.len()).map(|frame| expected_bits(sizes, measured, frame)).collect()
    } else {
        let part = judge::comparable(measured, &answer.scenario);
        let mean = statistics::mean(&judge::simulated(role, answer)?)?;
        let left = part.of_role(role)?.iter().map(|value| value - mean).collect();
        return Course::new(role, Against::SimulatedMean, left, &part.starts, &Kinds::of(&part, false));
    };
    let left = values.iter().zip(expected).map(|(value, expected)| value - expected).collect();
    let aside = fit.stage(role).is_some_and(|stage| stage.intra_aside) && measured.has_both_kinds();
    Course::new(role, Against::Fit, left, &measured.starts, &Kinds::of(measured, aside))
}

/// Mean bits that the fit gives a frame.
fn expected_bits(sizes: &SizeFit, measured: &Measured, frame: usize) -> f64 {
    let intra = measured.intra.as_ref().is_some_and(|intra| intra[frame]);
    let factor = if intra { sizes.intra_factor.map_or(1.0, |factor| factor.value) } else { 1.0 };
    let slices = sizes.slice_bytes.map_or(0.0, |bytes| 8.0 * bytes.value * f64::from(measured.slices[frame]));
    sizes.bits.value * factor + slices
}

/// Half the 95 % interval of the difference of two means, both of as many values, by that of their stretches in turn, as of batch
/// means.
fn half_of_drift(first: &[f64], last: &[f64]) -> Option<f64> {
    let count = first.len().min(BATCHES);
    let border = |at: usize| at * first.len() / count;
    let mean = |part: &[f64], at: usize| statistics::mean(&part[border(at)..border(at + 1)]);
    let gaps: Option<Vec<f64>> = (0..count).map(|at| Some(mean(last, at)? - mean(first, at)?)).collect();
    statistics::half_width(&gaps?)
}

/// Correlation of neighbours about the mean of all, pairs across runs left out.
fn lag_one(left: &[f64], starts: &[usize]) -> Option<f64> {
    let known: Vec<f64> = left.iter().copied().filter(|x| x.is_finite()).collect();
    let mean = statistics::mean(&known)?;
    let (mut products, mut squares, mut pairs) = (0.0, 0.0, 0_usize);
    let mut next_start = starts.iter().copied().skip_while(|start| *start == 0).peekable();
    for at in 1..left.len() {
        if next_start.peek() == Some(&at) {
            next_start.next();
            continue;
        }
        let (before, here) = (left[at - 1] - mean, left[at] - mean);
        if before.is_finite() && here.is_finite() {
            products += before * here;
            squares += f64::midpoint(before * before, here * here);
            pairs += 1;
        }
    }
    (pairs > 1 && squares > 0.0).then(|| products / squares)
}

fn worst(left: &[f64]) -> Option<(usize, usize, f64)> {
    let stretches = left.len().min(STRETCHES);
    let border = |at: usize| at * left.len() / stretches.max(1);
    let stretch = |at: usize| {
        let (from, to) = (border(at), border(at + 1));
        let known: Vec<f64> = left[from..to].iter().copied().filter(|x| x.is_finite()).collect();
        Some((from, to.checked_sub(1)?, statistics::mean(&known)?))
    };
    (0..stretches).filter_map(stretch).max_by(|a, b| a.2.abs().total_cmp(&b.2.abs()))
}

#[cfg(test)]
mod tests {
    use rand::rngs::Xoshiro256PlusPlus;
    use rand::{RngExt as _, SeedableRng as _};
    use rayon::prelude::*;
    use statrs::distribution::{ContinuousCDF as _, Normal};

    use super::*;

    #[test]
    fn drift_neighbours_and_the_worst_stretch_are_told() {
        // Rises by 3 from first to last; frames 200 to 205 lie 50 higher.
        let left: Vec<f64> = (0..300)
            .map(|k| {
                let jitter = if k % 2 == 0 { 0.5 } else { -0.5 };
                let step = if (200..206).contains(&k) { 50.0 } else { 0.0 };
                3.0 * f64::from(k) / 299.0 + jitter + step
            })
            .collect();
        let course = Course::new(Role::Encode, Against::Fit, left, &[0, 150], &Kinds::default()).unwrap();
        assert_eq!((course.worst.0, course.worst.1), (198, 203), "50 stretches of 6 frames");
        assert!(course.drift() > 2.0 && course.lag_one.unwrap() > 0.5);
        // Without drift, what is left goes up and down: neighbours are opposites, and there is no drift beyond luck.
        let even: Vec<f64> = (0..300).map(|k| if k % 2 == 0 { 0.5 } else { -0.5 }).collect();
        let course = Course::new(Role::Encode, Against::Fit, even, &[0], &Kinds::default()).unwrap();
        assert!((course.lag_one.unwrap() + 1.0).abs() < 1e-9);
        assert_eq!(course.drifts(), Some(false));
    }

    /// Gaps between the thirds that swing by 1 about 2: t(19) = 2.093024 times the root of 20/19/20, as in a worked example of batch
    /// means.
    #[test]
    fn interval_of_a_drift_is_that_of_batch_means() {
        let left = (0..60).map(|k| if k < 40 { 0.0 } else { [3.0, 1.0][k % 2] }).collect();
        let course = Course::new(Role::Encode, Against::Fit, left, &[0], &Kinds::default()).unwrap();
        assert!((course.drift() - 2.0).abs() < 1e-12);
        assert!((course.half_ci95.unwrap() - 2.093_024 / 19.0_f64.sqrt()).abs() < 1e-6, "{course:?}");
    }

    /// Where nothing drifts, the interval of the drift holds 0 in 95 % of 2000 drawings, within 2 %, which is 4 standard errors;
    /// neighbours differ, or are alike by 0.9 with a jitter of their own on top.
    #[test]
    fn interval_of_a_drift_holds_what_there_is() {
        for (count, alike) in [(300, 0.0), (3000, 0.9)] {
            let drifts = |seed: u64| {
                let luck = &mut Xoshiro256PlusPlus::seed_from_u64(seed);
                let mut normal = || Normal::standard().inverse_cdf(luck.random_range(1e-12..1.0));
                let mut slow = normal();
                let own = (1.0_f64 - alike * alike).sqrt();
                let left = (0..count)
                    .map(|_| {
                        slow = alike * slow + own * normal();
                        slow + normal()
                    })
                    .collect();
                let course = Course::new(Role::Encode, Against::Fit, left, &[0], &Kinds::default()).unwrap();
                course.drifts().unwrap()
            };
            let held = (0..2000).into_par_iter().filter(|&seed| !drifts(seed)).count();
            println!("{count} alike by {alike}: {held} of 2000");
            assert!((1860..=1945).contains(&held), "{count}, alike by {alike}: {held} of 2000");
        }
    }

    #[test]
    fn pairs_across_runs_do_not_count() {
        // Neighbours within runs are equal, those across runs opposite.
        let left: Vec<f64> = (0..400).map(|k| if (k / 2) % 2 == 0 { 1.0 } else { -1.0 }).collect();
        let starts: Vec<usize> = (0..400).step_by(2).collect();
        assert!((lag_one(&left, &starts).unwrap() - 1.0).abs() < 1e-9);
        assert!(lag_one(&left, &[0]).unwrap() < 0.1);
    }

    #[test]
    fn few_frames_have_no_course() {
        assert_eq!(Course::new(Role::Encode, Against::Fit, vec![1.0; 29], &[0], &Kinds::default()), None);
    }

    #[test]
    fn intra_frames_that_the_fit_leaves_aside_are_no_misfit() {
        // Every tenth frame is intra and takes 20 more.
        let intra: Vec<bool> = (0..300).map(|k| k % 10 == 0).collect();
        let left: Vec<f64> =
            (0..300).map(|k| if k % 10 == 0 { 20.0 } else { 0.0 } + if k % 2 == 0 { 0.5 } else { -0.5 }).collect();
        let of = |aside: bool| {
            let kinds = Kinds { intra: Some(&intra), aside };
            Course::new(Role::Decode, Against::Fit, left.clone(), &[0], &kinds).unwrap()
        };
        let (aside, within) = (of(true), of(false));
        assert_eq!((aside.intra_mean, within.intra_mean), (Some(20.5), Some(20.5)));
        assert!(aside.thirds.iter().all(|mean| mean.abs() < 0.1) && aside.worst.2.abs() < 0.2, "{aside:?}");
        assert!(within.thirds.iter().all(|mean| (mean - 2.0).abs() < 0.1), "{within:?}");
        assert_eq!(aside.left, within.left, "every frame is there to be drawn");
    }
}

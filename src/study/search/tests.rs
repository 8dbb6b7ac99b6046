//! Small searches, and questions that are refused.

use super::*;
use crate::measure::measures;

fn short() -> Scenario {
    let mut scenario = Scenario::default();
    (scenario.run.frames, scenario.run.warmup, scenario.content.cv) = (120, 20, 0.0);
    scenario
}

fn ask(scenario: &Scenario, question: &Question) -> Result<Search, StudyError> {
    search(scenario, question, &Runner::new(), &Watch::nobody(), |_| ())
}

fn free(texts: &[&str]) -> Vec<Free> {
    texts.iter().map(|text| Free::parse(text).unwrap()).collect()
}

#[test]
fn few_combinations_are_all_tried_and_the_best_is_confirmed() {
    let question = Question {
        confirm_seeds: 3,
        budget: false,
        ..Question::new(free(&["slices.count=1..12", "host.parts=1,2"]), measures::usual())
    };
    let found = ask(&short(), &question).unwrap();
    assert!(found.all_tried && found.met);
    assert_eq!(found.trail.len(), 24);
    assert_eq!((found.trail[0].phase, &found.trail[0].values), (Phase::Start, &vec![Value::Whole(8), Value::Whole(1)]));
    let least = found.trail.iter().filter_map(|trial| trial.goal).fold(f64::INFINITY, f64::min);
    assert_eq!(found.trail[found.best].goal, Some(least));
    assert_eq!(found.trail[found.best].values[1], Value::Whole(2), "eye by eye saves half of the rendering");
    let confirmed = found.confirmed.as_ref().unwrap();
    assert_eq!(confirmed.difference.verdict, crate::study::luck::Verdict::Better);
    assert!(confirmed.difference.mean.unwrap() < -2.0);
    let scenario = found.scenario(&short(), &question, found.best).unwrap();
    assert_eq!(scenario.host.parts, 2);
}

#[test]
fn where_nothing_meets_the_constraints_it_says_what_comes_nearest() {
    let mut scenario = short();
    scenario.budget.pose_to_photon_ms = 5.0;
    let question = Question { confirm_seeds: 0, ..Question::new(free(&["slices.count=1..12"]), measures::usual()) };
    let found = ask(&scenario, &question).unwrap();
    assert!(!found.met && found.trail.iter().all(|trial| !trial.met));
    let late = found.held.iter().find(|held| held.name == "pose_to_photon").unwrap();
    assert!(!late.met && late.value > Some(20.0) && (late.limit - 5.0).abs() < 1e-12);
    let least = found.trail.iter().filter_map(|trial| trial.violation).fold(f64::INFINITY, f64::min);
    assert_eq!(found.trail[found.best].violation, Some(least));
    assert!(found.confirmed.is_none());
}

#[test]
fn a_budget_of_runs_is_kept_and_no_trial_is_made_twice() {
    let question = Question {
        runs: 60,
        confirm_seeds: 0,
        ..Question::new(free(&["link.rate_mbps=300..3000:log", "slices.count=1..64:log"]), measures::usual())
    };
    let found = ask(&short(), &question).unwrap();
    assert!(found.trail.len() <= 60 && found.trail.len() > 40 && !found.all_tried);
    for (number, trial) in found.trail.iter().enumerate() {
        assert!(found.trail[..number].iter().all(|other| other.values != trial.values));
    }
    assert!(found.trail.iter().any(|trial| trial.phase == Phase::Local));
}

/// Delay against bits per second: more bits take longer on a slow link.
#[test]
fn two_measures_have_a_front() {
    let mut scenario = short();
    scenario.link.rate_mbps = 400.0;
    let question = Question {
        second: measures::find("picture.bits_per_px"),
        runs: 80,
        confirm_seeds: 0,
        budget: false,
        ..Question::new(free(&["stream.bitrate_mbps=20..300:log"]), measures::usual())
    };
    let found = ask(&scenario, &question).unwrap();
    assert!(found.front.len() > 10, "{}", found.front.len());
    let front: Vec<(f64, f64)> =
        found.front.iter().map(|&at| (found.trail[at].goal.unwrap(), found.trail[at].second.unwrap())).collect();
    assert!(front.windows(2).all(|pair| pair[0].0 < pair[1].0 && pair[0].1 < pair[1].1), "{front:?}");
    // It reaches from few bits to many.
    assert!(front[front.len() - 1].1 > 5.0 * front[0].1);
}

#[test]
fn wrong_questions_are_refused() {
    let wrong = |question: Question| ask(&short(), &question).unwrap_err().to_string();
    let usual = |texts: &[&str]| Question::new(free(texts), measures::usual());
    assert_eq!(wrong(usual(&[])), "what may be turned: found nothing, allowed: one parameter or more");
    let twice = wrong(usual(&["slices.count=1..2", "slices.count=1..3"]));
    assert_eq!(twice, "what may be turned: found slices.count twice, allowed: each once");
    let runs = wrong(Question { runs: 3, ..usual(&["slices.count=1..2"]) });
    assert_eq!(runs, "runs: found 3, allowed: whole numbers 10 to 100000");
    let seeds = wrong(Question { confirm_seeds: 1001, ..usual(&["slices.count=1..2"]) });
    assert_eq!(seeds, "seeds: found 1001, allowed: whole numbers 1 to 1000");
    let busy = Question::new(free(&["slices.count=1..2"]), measures::find("busy.gpu").unwrap());
    assert_eq!(wrong(busy), "goal: found busy.gpu, allowed: a measure of which less or more is better");
}

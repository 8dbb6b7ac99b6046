//! What the worker answers, in which order, and what it leaves.

use super::*;

/// Hand-made answers: the slice count and frames asked for, and a log of what was computed. None while the gate is
/// held.
#[derive(Default)]
struct Counting {
    log: Arc<Mutex<Vec<String>>>,
    gate: Arc<Mutex<()>>,
}

impl Counting {
    fn log(&self, line: String) {
        self.log.lock().unwrap().push(line);
    }
}

impl Compute for Counting {
    type Answer = (u32, u32);
    type Drawn = String;
    type Point = u32;
    type Gains = u32;

    fn answer(&mut self, scenario: &Scenario) -> (u32, u32) {
        let answer = (scenario.slices.count, scenario.run.frames);
        let _passed = self.gate.lock().unwrap();
        self.log(format!("answer {answer:?}"));
        answer
    }

    fn reuse(&mut self, answer: (u32, u32)) {
        self.log(format!("reuse {answer:?}"));
    }

    fn draw(&self, baseline: &(u32, u32), candidate: &(u32, u32), _: bool) -> String {
        format!("{baseline:?} {candidate:?}")
    }

    fn gains(&self, baseline: &(u32, u32), candidate: &(u32, u32), stop: &AtomicBool) -> Option<u32> {
        let gains = 10 * baseline.0 + candidate.0;
        self.log(format!("gains {gains}"));
        (!stop.load(Ordering::Relaxed)).then_some(gains)
    }

    fn counts(&self, _: &Scenario) -> Vec<u32> {
        vec![8, 1, 64]
    }

    fn curve(&self, _: &Scenario, counts: &[u32], stop: &AtomicBool, found: &(dyn Fn(u32, u32) + Sync)) {
        for &count in counts.iter().filter(|_| !stop.load(Ordering::Relaxed)) {
            self.log(format!("curve at {count}"));
            found(count, count * 10);
        }
    }
}

/// What is told up to the end of the answer to the newest question.
fn told(worker: &Worker<Counting>) -> Vec<String> {
    let mut told = Vec::new();
    loop {
        match worker.wait().unwrap() {
            Reply::Pair(PairReply { question, drawn, short, .. }) => {
                told.push(format!("{question}: {drawn}{}", if short { " short" } else { "" }));
            }
            Reply::Gains(question, gains) => told.push(format!("{question}: gains {gains}")),
            Reply::CurveBegins(points) => told.push(format!("curve of {points}")),
            Reply::Point(point) => told.push(format!("point {point}")),
            Reply::Done => return told,
        }
    }
}

fn started() -> (Worker<Counting>, Arc<Mutex<Vec<String>>>) {
    let compute = Counting::default();
    let log = Arc::clone(&compute.log);
    (Worker::start(compute, || ()).unwrap(), log)
}

fn slices(count: u32) -> Scenario {
    let mut scenario = Scenario::default();
    scenario.slices.count = count;
    scenario
}

#[test]
fn short_then_whole_then_curve() {
    let (mut worker, _) = started();
    assert_eq!(worker.ask(&slices(1), &slices(8)), 1);
    let expected = [
        "1: (1, 2000) (8, 2000) short",
        "1: (1, 9000) (8, 9000)",
        "1: gains 18",
        "curve of 3",
        "point 80",
        "point 10",
        "point 640",
    ];
    assert_eq!(told(&worker), expected);
}

#[test]
fn what_did_not_change_is_not_computed_again() {
    let (mut worker, log) = started();
    worker.ask(&slices(1), &slices(8));
    told(&worker);
    log.lock().unwrap().clear();
    worker.ask(&slices(1), &slices(4));
    // Neither the baseline nor the curve, which does not depend on the slice count, comes anew.
    assert_eq!(told(&worker), ["2: (1, 2000) (4, 2000) short", "2: (1, 9000) (4, 9000)", "2: gains 14"]);
    let mut computed = std::mem::take(&mut *log.lock().unwrap());
    computed.sort();
    assert_eq!(computed, ["answer (4, 2000)", "answer (4, 9000)", "gains 14", "reuse (8, 2000)", "reuse (8, 9000)"]);
    worker.ask(&slices(4), &slices(1));
    let swapped = ["3: (4, 9000) (1, 9000)", "3: gains 41"];
    assert_eq!(told(&worker), swapped, "a swap of two slice counts computes no answer anew");
    assert_eq!(*log.lock().unwrap(), ["gains 41"]);
    // The same pair again computes nothing at all.
    log.lock().unwrap().clear();
    worker.ask(&slices(4), &slices(1));
    assert_eq!(told(&worker), ["4: (4, 9000) (1, 9000)", "4: gains 41"]);
    assert!(log.lock().unwrap().is_empty());
}

#[test]
fn newest_question_ends_older_ones() {
    let compute = Counting::default();
    let gate = Arc::clone(&compute.gate);
    let mut worker = Worker::start(compute, || ()).unwrap();
    let held = gate.lock().unwrap();
    let mut candidate = slices(8);
    worker.ask(&slices(1), &candidate);
    // The first question is at its first step, or waits with the others.
    for frames in 3001..=3099 {
        candidate.run.frames = frames;
        worker.ask(&slices(1), &candidate);
    }
    drop(held);
    let told = told(&worker);
    let pairs: Vec<&str> = told.iter().map(String::as_str).filter(|line| line.contains(": ")).collect();
    let last = ["100: (1, 2000) (8, 2000) short", "100: (1, 9000) (8, 3099)", "100: gains 18"];
    assert!(pairs.ends_with(&last), "{pairs:?}");
    assert!(pairs.len() <= 4, "of the other questions only the first may have had its short step: {pairs:?}");
}

#[test]
fn short_run_keeps_a_short_scenario() {
    let mut scenario = Scenario::default();
    scenario.run.frames = 500;
    assert_eq!(shortened(&scenario, SHORT_FRAMES), scenario);
    scenario.run.frames = 2001;
    scenario.run.warmup = 2000;
    assert_eq!(
        (shortened(&scenario, SHORT_FRAMES).run.frames, shortened(&scenario, SHORT_FRAMES).run.warmup),
        (2000, 200)
    );
}

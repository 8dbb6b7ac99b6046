//! What studies cost: a sweep, a map, how soon the first point is there, how soon a study ends when it is stopped, and what
//! a second core brings. Prints the least of a few tries beside what is asked for. `cargo bench --bench study`.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use framelap::measure::measures;
use framelap::scenario::Scenario;
use framelap::stop::Stop;
use framelap::study::vary::Vary;
use framelap::study::{Runner, Watch, map, sweep};

const TRIES: usize = 3;

fn main() {
    let [one, two] = [1, 2].map(|threads| pool(threads).install(|| least(sweep_of_64)));
    let share = one.0.as_secs_f64() / two.0.as_secs_f64();
    println!("sweep of 64 slice counts, 10 000 frames   {:>8.0} ms (<= 1500), 1 core {:.0} ms", ms(two.0), ms(one.0));
    println!("  first point after                       {:>8.1} ms (<= 100)", ms(two.1));
    println!("  1 to 2 cores                            {share:>8.2} times (>= 1.8)");
    let (cells, _) = pool(2).install(|| least(map_of_32));
    println!("map of 32 x 32, 2 000 frames              {:>8.0} ms (<= 6000)", ms(cells));
    for frames in [10_000, 1_000_000] {
        println!("stopped in runs of {frames:>9} frames      {:>8.1} ms at the latest (<= 50)", ms(stopping(frames)));
    }
}

fn pool(threads: usize) -> rayon::ThreadPool {
    rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads")
}

fn ms(time: Duration) -> f64 {
    time.as_secs_f64() * 1e3
}

fn least(study: fn() -> (Duration, Duration)) -> (Duration, Duration) {
    let tries: Vec<(Duration, Duration)> = (0..TRIES).map(|_| study()).collect();
    let least = |of: fn(&(Duration, Duration)) -> Duration| tries.iter().map(of).min().unwrap_or_default();
    (least(|both| both.0), least(|both| both.1))
}

/// Time of the whole sweep, and until its first point.
fn sweep_of_64() -> (Duration, Duration) {
    let mut scenario = Scenario::default();
    scenario.run.frames = 10_000;
    let question = sweep::Question::new(Vary::parse("slices.count=1..64").expect("a range"));
    let (begun, first) = (Instant::now(), Mutex::new(None));
    let found = |_| {
        if let Ok(mut first) = first.lock() {
            first.get_or_insert_with(|| begun.elapsed());
        }
    };
    sweep::sweep(&[scenario], &question, &Runner::new(), &Watch::nobody(), found).expect("a sweep");
    (begun.elapsed(), first.into_inner().ok().flatten().unwrap_or_default())
}

fn map_of_32() -> (Duration, Duration) {
    let mut scenario = Scenario::default();
    scenario.run.frames = 2_000;
    let mut whole = scenario.clone();
    whole.slices.count = 1;
    let question = map::Question {
        x: Vary::parse("slices.count=1..32").expect("a range"),
        y: Vary::parse("encode.slice_overhead_ms=0.02..1:32:log").expect("a range"),
        measure: measures::usual(),
    };
    let begun = Instant::now();
    map::map(&scenario, Some(&whole), &question, &Runner::new(), &Watch::nobody(), |_| ()).expect("a map");
    (begun.elapsed(), Duration::ZERO)
}

/// The longest time from the wish to stop to the end of a study, stopped at many moments.
fn stopping(frames: u32) -> Duration {
    let mut scenario = Scenario::default();
    scenario.run.frames = frames;
    let question = sweep::Question::new(Vary::parse("slices.count=1..8").expect("a range"));
    let runner = Runner::new();
    let after = |wait: Duration| {
        let stop = AtomicBool::new(false);
        std::thread::scope(|scope| {
            let study = scope.spawn(|| {
                let watch = Watch::new(Stop::when(&stop), &|_| ());
                let _ = sweep::sweep(std::slice::from_ref(&scenario), &question, &runner, &watch, |_| ());
                Instant::now()
            });
            std::thread::sleep(wait);
            let asked = Instant::now();
            stop.store(true, Ordering::Relaxed);
            study.join().map_or(Duration::MAX, |ended| ended.saturating_duration_since(asked))
        })
    };
    (1..=20).map(|step| after(Duration::from_millis(step * 150))).max().unwrap_or_default()
}

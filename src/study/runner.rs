//! Many runs on all cores: in order, with progress and time left, given up soon after it is asked for.

use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

use super::{Workspace, cost};
use crate::stop::{Stop, Stopped};

/// How far a study has come.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Progress {
    /// Runs done.
    pub done: usize,
    /// Runs in all, as far as is known.
    pub all: usize,
    /// Time that the rest will take if it goes on like this; none before the first run is done.
    pub left: Option<Duration>,
}

/// Who watches a study: may stop it, and is told how far it has come.
pub struct Watch<'a> {
    stop: Stop<'a>,
    tell: &'a (dyn Fn(Progress) + Sync),
    begun: Instant,
    done: AtomicUsize,
    all: AtomicUsize,
}

impl<'a> Watch<'a> {
    /// A watch that stops the study as `stop` says and hears of every run done, from any thread.
    pub fn new(stop: Stop<'a>, tell: &'a (dyn Fn(Progress) + Sync)) -> Self {
        Self { stop, tell, begun: Instant::now(), done: AtomicUsize::new(0), all: AtomicUsize::new(0) }
    }

    /// Nobody watches.
    pub fn nobody() -> Watch<'static> {
        Watch::new(Stop::NEVER, &|_| ())
    }

    /// Whether to give up.
    pub fn stop(&self) -> Stop<'a> {
        self.stop
    }

    /// So many runs more are to come.
    pub(super) fn expect(&self, runs: usize) {
        self.all.fetch_add(runs, Ordering::Relaxed);
    }

    /// So many of those expected will not be needed.
    pub(super) fn spare(&self, runs: usize) {
        self.all.fetch_sub(runs, Ordering::Relaxed);
    }

    fn one_done(&self) {
        let done = 1 + self.done.fetch_add(1, Ordering::Relaxed);
        let all = self.all.load(Ordering::Relaxed).max(done);
        let left = self.begun.elapsed().mul_f64((all - done) as f64 / done as f64);
        (self.tell)(Progress { done, all, left: Some(left) });
    }
}

/// Runs many scenarios at a time, each thread in a workspace of its own. Workspaces are kept from study to study, so that
/// memory grows with the cores and not with the runs.
#[derive(Debug, Default)]
pub struct Runner {
    idle: Mutex<Vec<Workspace>>,
}

impl Runner {
    /// A runner without workspaces.
    pub fn new() -> Self {
        Self::default()
    }

    /// Does `job` for the numbers from 0 to `count` on all threads of the rayon pool, or on as many as memory allows
    /// where one takes up to `bytes`, begun in that order, and returns what they made of it, in that order. `watch` must
    /// expect the runs already.
    pub(super) fn run<T: Send>(
        &self,
        count: usize,
        bytes: f64,
        watch: &Watch<'_>,
        job: impl Fn(usize, &mut Workspace) -> Result<T, Stopped> + Sync,
    ) -> Result<Vec<T>, Stopped> {
        let next = AtomicUsize::new(0);
        let made = Mutex::new(Vec::with_capacity(count));
        let work = || {
            let mut workspace = lock(&self.idle).pop().unwrap_or_default();
            let mut mine = Vec::new();
            loop {
                let number = next.fetch_add(1, Ordering::Relaxed);
                if number >= count || watch.stop.asked() {
                    break;
                }
                let Ok(one) = job(number, &mut workspace) else { break };
                mine.push((number, one));
                watch.one_done();
            }
            lock(&made).append(&mut mine);
            lock(&self.idle).push(workspace);
        };
        // Each takes the next number: what is asked for first is there first.
        rayon::scope(|scope| (0..cost::at_once(bytes).min(count)).for_each(|_| scope.spawn(|_| work())));
        let mut made = made.into_inner().unwrap_or_else(PoisonError::into_inner);
        if made.len() < count {
            return Err(Stopped);
        }
        made.sort_unstable_by_key(|(number, _)| *number);
        Ok(made.into_iter().map(|(_, one)| one).collect())
    }
}

/// What a thread that panicked left behind is whole: nothing but finished values is put there.
pub(super) fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[cfg(test)]
mod tests {
    use std::sync::atomic::AtomicBool;

    use super::*;
    use crate::scenario::Scenario;

    fn pool(threads: usize) -> rayon::ThreadPool {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap()
    }

    #[test]
    fn what_is_made_comes_in_order_on_any_number_of_threads() {
        for threads in [1, 2, 3] {
            let (runner, told) = (Runner::new(), Mutex::new(Vec::new()));
            let tell = |progress: Progress| lock(&told).push((progress.done, progress.all));
            let watch = Watch::new(Stop::NEVER, &tell);
            watch.expect(50);
            let made = pool(threads).install(|| runner.run(50, 0.0, &watch, |number, _| Ok(number * number)));
            assert_eq!(made.unwrap(), (0..50).map(|number| number * number).collect::<Vec<_>>());
            let mut told = told.into_inner().unwrap();
            told.sort_unstable();
            assert_eq!(told, (1..=50).map(|done| (done, 50)).collect::<Vec<_>>());
            assert!(lock(&runner.idle).len() <= threads);
        }
    }

    #[test]
    fn nothing_begins_once_stopped() {
        let flag = AtomicBool::new(true);
        let watch = Watch::new(Stop::when(&flag), &|_| panic!("a run was done"));
        assert_eq!(Runner::new().run(9, 0.0, &watch, |_, _| Ok(())), Err(Stopped));
    }

    /// A run long enough to outlast anyone's patience ends within it.
    #[test]
    fn a_long_run_is_given_up_in_the_midst() {
        let mut scenario = Scenario::default();
        scenario.run.frames = 300_000;
        for after_ms in [5, 60, 200] {
            let flag = AtomicBool::new(false);
            let runner = Runner::new();
            let stopped = std::thread::scope(|scope| {
                let ended = scope.spawn(|| {
                    let watch = Watch::new(Stop::when(&flag), &|_| ());
                    let made = runner.run(2, 0.0, &watch, |_, space| space.summary_unless(&scenario, watch.stop()));
                    (made.err(), Instant::now())
                });
                std::thread::sleep(Duration::from_millis(after_ms));
                let asked = Instant::now();
                flag.store(true, Ordering::Relaxed);
                let (error, at) = ended.join().unwrap();
                assert_eq!(error, Some(Stopped), "after {after_ms} ms");
                at.saturating_duration_since(asked)
            });
            // 50 ms is the aim; a machine busy with other tests gets more.
            assert!(stopped < Duration::from_millis(400), "after {after_ms} ms it took {stopped:?}");
        }
    }
}

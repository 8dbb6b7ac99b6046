//! Long work on a thread of its own: what it tells on its way, and what comes of it.

use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::{self, JoinHandle};

use crate::stop::Stop;

/// The window's end of the work. Dropped, the work is given up.
pub(super) struct Errand<News, Made> {
    shared: Arc<Shared<News, Made>>,
    thread: JoinHandle<()>,
}

/// The thread's end.
pub(super) struct Teller<News, Made> {
    shared: Arc<Shared<News, Made>>,
    wake: Box<dyn Fn() + Send + Sync>,
}

struct Shared<News, Made> {
    stop: AtomicBool,
    heard: Mutex<Heard<News, Made>>,
}

/// What the window has not looked at.
struct Heard<News, Made> {
    news: News,
    end: Option<Result<Made, String>>,
    /// Whether the window was told that there is something.
    told: bool,
}

impl<News, Made> Shared<News, Made> {
    /// What a thread that panicked left behind is whole: only finished values are put there.
    fn heard(&self) -> MutexGuard<'_, Heard<News, Made>> {
        self.heard.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

impl<News: Default + Send + 'static, Made: Send + 'static> Errand<News, Made> {
    /// Starts the work; `wake` is called when there is something that has not been looked at. An error is told in words.
    pub(super) fn start(
        name: &str,
        wake: impl Fn() + Send + Sync + 'static,
        work: impl FnOnce(&Teller<News, Made>) -> Result<Made, String> + Send + 'static,
    ) -> std::io::Result<Self> {
        let heard = Heard { news: News::default(), end: None, told: false };
        let shared = Arc::new(Shared { stop: AtomicBool::new(false), heard: Mutex::new(heard) });
        let teller = Teller { shared: Arc::clone(&shared), wake: Box::new(wake) };
        let thread = thread::Builder::new().name(name.to_owned()).spawn(move || {
            let made = work(&teller);
            teller.hand_over(|heard| heard.end = Some(made));
        })?;
        Ok(Self { shared, thread })
    }
}

impl<News, Made> Errand<News, Made> {
    /// What was told, and how it ended, once it did; `broke_off` is said of a thread that ended without a word.
    pub(super) fn listen<T>(
        &self,
        broke_off: &str,
        take: impl FnOnce(&mut News) -> T,
    ) -> (T, Option<Result<Made, String>>) {
        let over = self.thread.is_finished();
        let mut heard = self.shared.heard();
        heard.told = false;
        let end = heard.end.take().or_else(|| over.then(|| Err(broke_off.to_owned())));
        (take(&mut heard.news), end)
    }

    /// Looks at what was told so far; it stays to be listened to.
    pub(super) fn peek<T>(&self, look: impl FnOnce(&News) -> T) -> T {
        look(&self.shared.heard().news)
    }
}

impl<News, Made> Drop for Errand<News, Made> {
    fn drop(&mut self) {
        self.shared.stop.store(true, Ordering::Relaxed);
    }
}

impl<News, Made> Teller<News, Made> {
    /// Whether the work is to be given up.
    pub(super) fn stop(&self) -> Stop<'_> {
        Stop::when(&self.shared.stop)
    }

    /// Tells something.
    pub(super) fn tell(&self, what: impl FnOnce(&mut News)) {
        self.hand_over(|heard| what(&mut heard.news));
    }

    fn hand_over(&self, what: impl FnOnce(&mut Heard<News, Made>)) {
        let mut heard = self.shared.heard();
        what(&mut heard);
        if !std::mem::replace(&mut heard.told, true) {
            drop(heard);
            (self.wake)();
        }
    }
}

#[cfg(test)]
mod tests {
    use std::sync::mpsc::channel;
    use std::time::{Duration, Instant};

    use super::*;

    /// Listens until the work is over.
    fn end(errand: &Errand<Vec<u32>, u32>) -> (Vec<u32>, Result<u32, String>) {
        let start = Instant::now();
        let mut all = Vec::new();
        loop {
            let (news, end) = errand.listen("it broke off", std::mem::take);
            all.extend(news);
            if let Some(end) = end {
                return (all, end);
            }
            assert!(start.elapsed() < Duration::from_mins(1), "it does not end");
            thread::sleep(Duration::from_millis(1));
        }
    }

    #[test]
    fn news_come_in_order_and_the_window_is_woken_once_until_it_looks() {
        let (wake, woken) = channel();
        let (go, gone) = channel();
        let errand = Errand::start(
            "test",
            move || wake.send(()).unwrap(),
            move |teller| {
                teller.tell(|news: &mut Vec<u32>| news.push(1));
                teller.tell(|news| news.push(2));
                gone.recv().map_err(|error| error.to_string())?;
                Ok(7)
            },
        );
        let errand = errand.unwrap();
        woken.recv().unwrap();
        while errand.peek(Vec::len) < 2 {
            thread::sleep(Duration::from_millis(1));
        }
        assert!(woken.try_recv().is_err(), "it was told already");
        assert_eq!(errand.listen("", std::mem::take), (vec![1, 2], None));
        go.send(()).unwrap();
        woken.recv().unwrap();
        assert_eq!(end(&errand), (vec![], Ok(7)));
    }

    #[test]
    fn work_that_panics_is_said_to_have_broken_off() {
        let errand = Errand::start("test", || (), |_| panic!("for the test"));
        assert_eq!(end(&errand.unwrap()), (vec![], Err("it broke off".to_owned())));
    }

    #[test]
    fn dropped_work_is_given_up() {
        let (done, told) = channel();
        let errand: Errand<(), ()> = Errand::start(
            "test",
            || (),
            move |teller| {
                while !teller.stop().asked() {
                    thread::sleep(Duration::from_millis(1));
                }
                done.send(()).map_err(|error| error.to_string())
            },
        )
        .unwrap();
        drop(errand);
        told.recv_timeout(Duration::from_mins(1)).unwrap();
    }
}

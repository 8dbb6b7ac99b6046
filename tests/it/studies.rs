//! Studies against published results and closed forms, and through the command line.

mod command_line;
mod compare;
mod map;
mod search;
mod sensitivity;
mod sweep;

use framelap::study::{Runner, Watch};
use rayon::ThreadPoolBuilder;
use serde::Serialize;

/// Does a study on pools of one and of two threads: the answers must be the same, byte for byte.
fn on_one_and_two_threads<T: Serialize + Send>(study: impl Fn(&Runner, &Watch<'_>) -> T + Sync) -> T {
    let [one, two] = [1, 2].map(|threads| {
        let pool = ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| study(&Runner::new(), &Watch::nobody()))
    });
    assert!(
        serde_json::to_string(&one).unwrap() == serde_json::to_string(&two).unwrap(),
        "two threads answer otherwise than one"
    );
    one
}

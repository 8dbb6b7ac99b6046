//! Every reader under damaged input: what people write is cut, doubled, swapped, mixed and sprinkled with what breaks
//! readers. None may panic, take long or much memory, and whatever is refused is refused in one line.
//!
//! Each reader gets some hundred inputs with the other tests; `FRAMELAP_FUZZ=200000` gives it as many, and a look at the
//! memory of the whole process: `FRAMELAP_FUZZ=200000 cargo test --lib fuzz:: -- --nocapture --test-threads 1`.

mod damage;
mod readers;

use std::time::{Duration, Instant};

use damage::Damage;

/// Inputs to each reader with the other tests.
const FEW: u64 = 200;
/// So long a reader may take for one input.
const LONGEST: Duration = Duration::from_secs(10);
/// So much memory the whole process may have taken when only these tests run \[KiB\].
const MOST_KIB: u64 = 1 << 20;
/// So long a message may be \[characters\].
const LONGEST_MESSAGE: usize = 2000;

/// What a reader made of an input: accepted, or refused with a message.
pub(crate) type Read = Result<(), String>;

fn asked_for() -> Option<u64> {
    std::env::var("FRAMELAP_FUZZ").ok().map(|count| count.parse().unwrap())
}

/// The bytes of texts.
pub(crate) fn texts<T: AsRef<str>>(texts: impl IntoIterator<Item = T>) -> Vec<Vec<u8>> {
    texts.into_iter().map(|text| text.as_ref().as_bytes().to_vec()).collect()
}

/// Gives a reader damaged forms of good inputs.
pub(crate) fn fuzz(name: &str, good: &[Vec<u8>], mut read: impl FnMut(&[u8]) -> Read) {
    for input in good {
        assert_eq!(read(input), Ok(()), "a good input of {name} is refused");
    }
    let mut damage = Damage::new(name);
    let (mut accepted, mut slowest) = (0, Duration::ZERO);
    let count = asked_for().unwrap_or(FEW);
    for number in 0..count {
        let input = damage.of(good);
        let began = Instant::now();
        let told = Told { name, number, input: &input };
        let result = read(&input);
        let took = began.elapsed();
        slowest = slowest.max(took);
        assert!(took < LONGEST, "{name}, input {number} took {took:?}");
        match result {
            Ok(()) => accepted += 1,
            Err(message) => {
                let fine = !message.is_empty() && !message.contains('\n') && message.chars().count() <= LONGEST_MESSAGE;
                assert!(fine, "{name}, input {number}, is refused with {message:?}");
            }
        }
        drop(told);
    }
    // Damage that is always noticed, or never, would try nothing.
    assert!(accepted > 0 && accepted < count, "{name}: {accepted} of {count} were accepted");
    if asked_for().is_some() {
        let peak = peak_kib();
        println!("{name}: {count} inputs, {accepted} accepted, slowest {slowest:?}, peak of the process {peak:?} KiB");
        assert!(peak.is_none_or(|peak| peak < MOST_KIB), "{name}: the process took {peak:?} KiB");
    }
}

/// Most memory that this process has taken so far \[KiB\]; none where the system does not say.
fn peak_kib() -> Option<u64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    line.trim().strip_suffix(" kB")?.parse().ok()
}

/// Tells the input that made a reader panic.
struct Told<'a> {
    name: &'a str,
    number: u64,
    input: &'a [u8],
}

impl Drop for Told<'_> {
    fn drop(&mut self) {
        if std::thread::panicking() {
            let kept = std::env::temp_dir().join(format!("framelap-fuzz-{}", self.name));
            let _ = std::fs::write(&kept, self.input);
            println!("{}, input {}, kept as {}", self.name, self.number, kept.display());
        }
    }
}

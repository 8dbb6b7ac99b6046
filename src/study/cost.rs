//! What an answer costs before it is computed: memory and time grow with frames, slices and refreshes alone.

use std::fs;

use crate::scenario::{Pacing, Scenario};

/// Memory of the program itself \[bytes\].
const PROGRAM_BYTES: f64 = 15e6;
/// Memory by what is simulated \[bytes\], measured over runs of 2e4 to 1e6 frames of 1 to 64 slices; a test of the command
/// line holds them to a fifth.
const FRAME_BYTES: f64 = 350.0;
const SLICE_BYTES: f64 = 64.0;
const REFRESH_BYTES: f64 = 55.0;
/// Time by what is simulated \[s\], measured on one core of a usual machine, the run that tunes the lead included.
const FRAME_S: f64 = 1.0e-6;
const SLICE_S: f64 = 0.15e-6;
const REFRESH_S: f64 = 0.1e-6;
/// Memory for many answers at a time where the system does not say what is free \[bytes\].
const ROOM_BYTES: f64 = 4e9;

/// What the answer to a scenario costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cost {
    /// Memory at its peak \[bytes\].
    pub bytes: f64,
    /// Time, within a factor of some three \[s\].
    pub seconds: f64,
}

impl Cost {
    /// The cost of a checked scenario's answer.
    pub fn of(scenario: &Scenario) -> Self {
        let frames = f64::from(scenario.run.frames);
        let slices = frames * f64::from(scenario.slices.count);
        let refreshes = frames * refreshes_a_frame(scenario);
        Self {
            bytes: PROGRAM_BYTES + FRAME_BYTES * frames + SLICE_BYTES * slices + REFRESH_BYTES * refreshes,
            seconds: FRAME_S * frames + SLICE_S * slices + REFRESH_S * refreshes,
        }
    }
}

/// Refreshes of the display for every frame that is planned, on average.
pub fn refreshes_a_frame(scenario: &Scenario) -> f64 {
    // Samples are used as given, whatever their mean.
    let factor = if let Pacing::Intervals { spread, .. } = &scenario.pacing { spread.mean() } else { 1.0 };
    factor * scenario.frame_period_ns() / scenario.refresh_period_ns()
}

/// Memory that the largest of these scenarios' answers takes \[bytes\].
pub(super) fn most_bytes<'a>(scenarios: impl IntoIterator<Item = &'a Scenario>) -> f64 {
    scenarios.into_iter().map(|scenario| Cost::of(scenario).bytes).fold(0.0, f64::max)
}

/// How many answers of so many bytes are worked out at a time: as many as there are threads, if half of the free memory
/// holds them, and one in any case.
pub fn at_once(bytes: f64) -> usize {
    fitting(bytes, free_bytes(), rayon::current_num_threads())
}

fn fitting(bytes: f64, free_bytes: Option<f64>, threads: usize) -> usize {
    let room_bytes = free_bytes.map_or(ROOM_BYTES, |free_bytes| free_bytes / 2.0);
    ((room_bytes / bytes) as usize).clamp(1, threads.max(1))
}

/// Memory that is free for programs \[bytes\]; none where the system does not say.
pub fn free_bytes() -> Option<f64> {
    let text = fs::read_to_string("/proc/meminfo").ok()?;
    let line = text.lines().find_map(|line| line.strip_prefix("MemAvailable:"))?;
    let kib: f64 = line.trim().strip_suffix(" kB")?.parse().ok()?;
    Some(1024.0 * kib)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::scenario::Spread;

    #[test]
    fn cost_grows_with_frames_slices_and_refreshes() {
        let mut scenario = Scenario::default();
        scenario.run.frames = 1_000_000;
        scenario.slices.count = 64;
        let sliced = Cost::of(&scenario);
        assert!((4e9..5e9).contains(&sliced.bytes), "{sliced:?}");
        scenario.slices.count = 1;
        let whole = Cost::of(&scenario);
        assert!(whole.bytes < 0.15 * sliced.bytes && whole.seconds < 0.2 * sliced.seconds);
        scenario.pacing = Pacing::Intervals { mean_ms: 1000.0, spread: Spread::Constant };
        let seconds_apart = Cost::of(&scenario);
        assert!(seconds_apart.bytes > 5.0 * whole.bytes);
        // Three times as far apart as the mean interval says.
        scenario.pacing = Pacing::Intervals { mean_ms: 1000.0, spread: Spread::Samples(vec![2.0, 4.0]) };
        assert!(Cost::of(&scenario).bytes > 2.5 * seconds_apart.bytes);
    }

    #[test]
    fn as_many_at_a_time_as_half_of_the_free_memory_holds() {
        assert_eq!(fitting(1e9, Some(7e9), 16), 3);
        assert_eq!(fitting(1e9, Some(100e9), 16), 16);
        assert_eq!(fitting(1e9, None, 16), 4);
        assert_eq!(fitting(9e9, Some(1e9), 16), 1);
        assert_eq!(fitting(0.0, Some(0.0), 16), 1);
        let (short, mut long) = (Scenario::default(), Scenario::default());
        long.run.frames *= 100;
        assert!(most_bytes([&short, &long]) > 10.0 * most_bytes([&short]));
    }

    #[test]
    fn a_system_that_tells_its_memory_has_some() {
        assert!(free_bytes().is_none_or(|bytes| bytes > 1e6));
    }
}

//! What must follow when one value is turned: other values that hang on it are brought back to what is allowed, so that a
//! slider never leaves a scenario that cannot be simulated.

use super::parameters::{self, Bound, Kind, Numeric, Value};
use super::{Buffer, Choose, Delay, Pacing, Scenario, Shape, Spread, WhenFull};

impl Scenario {
    /// Brings every other value back to what is allowed after the parameter at `turned` was set; the value just set is kept
    /// wherever a rule leaves a choice. In a scenario that [`Scenario::check`] accepts it changes nothing but the warm-up of
    /// a run whose length was turned: at least half of the frames count.
    pub fn settle(&mut self, turned: &str) {
        if turned == "run.frames" {
            self.run.keep_half();
        }
        self.settle_choices(turned);
        settle_ranges(self, |numeric| numeric.bound == Bound::Free);
        // Then what hangs on those: periods, rows, frames.
        settle_ranges(self, |numeric| numeric.bound != Bound::Free);
        self.settle_weights();
        if let Pacing::Adaptive { start_ms, min_ms, max_ms, .. } = &mut self.pacing {
            if *min_ms > *max_ms {
                if turned == "pacing.min_ms" { *max_ms = *min_ms } else { *min_ms = *max_ms }
            }
            *start_ms = start_ms.clamp(*min_ms, *max_ms);
        }
    }

    fn settle_choices(&mut self, turned: &str) {
        for (path, delay) in [("pose.uplink", &mut self.pose.uplink), ("link.delay", &mut self.link.delay)] {
            let Delay { jitter_ms, spread, .. } = delay;
            if *jitter_ms > 0.0 && *spread == Spread::Constant {
                // Whoever turns the jitter wants some; whoever chooses Constant wants none.
                if turned.strip_prefix(path) == Some(".jitter_ms") {
                    *spread = Spread::Exponential;
                } else {
                    *jitter_ms = 0.0;
                }
            }
        }
        for (path, buffer) in [("encode.buffer", &mut self.encode.buffer), ("link.buffer", &mut self.link.buffer)] {
            if *buffer == (Buffer { frames: Some(0), when_full: WhenFull::Block }) {
                if turned.strip_prefix(path) == Some(".when_full") {
                    buffer.frames = Some(1);
                } else {
                    buffer.when_full = WhenFull::DropOldest;
                }
            }
        }
        if self.decode.buffer.when_full == WhenFull::Block {
            self.decode.buffer.when_full = WhenFull::DropOldest;
        }
        if self.display.choose == Choose::OnTarget && matches!(self.pacing, Pacing::Intervals { .. }) {
            if turned == "display.choose" {
                self.pacing = Pacing::default();
            } else {
                self.display.choose = Choose::Newest;
            }
        }
    }

    fn settle_weights(&mut self) {
        let count = self.slices.count as usize;
        if let Shape::Weights(weights) = &mut self.slices.shape {
            weights.resize(count, 1.0);
            if !weights.iter().any(|&weight| weight > 0.0) {
                weights.fill(1.0);
            }
        }
    }
}

/// Clamps the numbers whose range is chosen by `which`.
fn settle_ranges(scenario: &mut Scenario, which: fn(&Numeric) -> bool) {
    for parameter in parameters::all() {
        let (Kind::Number(numeric) | Kind::NumberOrNone { numeric, .. }) = parameter.kind else { continue };
        let Some(number) = parameter.get_f64(scenario).filter(|_| which(&numeric)) else { continue };
        if numeric.allows_in(number, scenario) {
            continue;
        }
        let (low, high) = (numeric.slider.0, numeric.high_in(scenario).min(f64::MAX));
        let high = if numeric.high_open { numeric.slider.1 } else { high };
        let clamped = if number.is_finite() { number.clamp(low.min(high), high) } else { low };
        let clamped = if numeric.allows_in(clamped, scenario) { clamped } else { numeric.low };
        let value = if numeric.whole { Value::Whole(clamped as u64) } else { Value::Number(clamped) };
        // A number of its own kind always fits; what is still refused, `check` tells.
        let _ = parameter.set(scenario, &value);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn turned(start: &Scenario, path: &str, text: &str) -> Scenario {
        let mut scenario = start.clone();
        let parameter = parameters::find(path).unwrap();
        parameter.set(&mut scenario, &parameter.parse(text).unwrap()).unwrap();
        scenario.settle(path);
        scenario.check().unwrap();
        scenario
    }

    #[test]
    fn what_hangs_on_the_refresh_follows_it() {
        let scenario = turned(&Scenario::default(), "display.refresh_hz", "240 Hz");
        let period_ms = 1e3 / 240.0;
        assert!((scenario.display.scanout_ms - period_ms).abs() < 1e-9);
        assert!((scenario.display.latch_lead_ms - 4.0).abs() < 1e-9);
    }

    #[test]
    fn half_of_a_shortened_run_still_counts() {
        let mut start = Scenario::default();
        start.run.warmup = 1500;
        assert_eq!(turned(&start, "run.frames", "4000").run.warmup, 1500);
        assert_eq!(turned(&start, "run.frames", "1000").run.warmup, 500);
        assert_eq!(turned(&start, "run.warmup", "8999").run.warmup, 8999);
    }

    #[test]
    fn slices_follow_rows_and_weights_follow_slices() {
        let start = turned(&Scenario::default(), "slices.count", "40");
        let start = turned(&start, "slices.shape", "Weights");
        let scenario = turned(&start, "display.eye_px.height", "320");
        assert_eq!(scenario.slices.count, 20);
        assert_eq!(scenario.slices.shape, Shape::Weights(vec![1.0; 20]));
        let scenario = turned(&scenario, "slices.shape.weights", "0, 0");
        assert_eq!(scenario.slices.shape, Shape::Weights([vec![0.0; 2], vec![1.0; 18]].concat()));
    }

    #[test]
    fn the_hand_on_the_knob_wins() {
        let start = Scenario::default();
        let constant = turned(&start, "link.delay.spread", "Constant");
        assert_eq!((&constant.link.delay.spread, constant.link.delay.jitter_ms > 0.0), (&Spread::Constant, false));
        let jitter = turned(&constant, "link.delay.jitter_ms", "1 ms");
        assert_eq!((&jitter.link.delay.spread, jitter.link.delay.jitter_ms > 0.0), (&Spread::Exponential, true));

        let block = turned(&start, "encode.buffer.when_full", "Block");
        let none = turned(&block, "encode.buffer.frames", "0");
        assert_eq!(none.encode.buffer, Buffer { frames: Some(0), when_full: WhenFull::DropOldest });
        let again = turned(&none, "encode.buffer.when_full", "Block");
        assert_eq!(again.encode.buffer, Buffer { frames: Some(1), when_full: WhenFull::Block });

        let target = turned(&start, "display.choose", "OnTarget");
        let intervals = turned(&target, "pacing", "Intervals");
        assert_eq!(intervals.display.choose, Choose::Newest);
        let target = turned(&intervals, "display.choose", "OnTarget");
        assert_eq!(target.pacing, Pacing::default());

        let adaptive = turned(&start, "pacing", "Adaptive");
        let raised = turned(&adaptive, "pacing.min_ms", "80");
        for path in ["pacing.start_ms", "pacing.min_ms", "pacing.max_ms"] {
            assert_eq!(parameters::find(path).unwrap().get(&raised), Some(Value::Number(80.0)), "{path}");
        }
    }
}

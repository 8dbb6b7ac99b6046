//! Bad text, and the one line that is said about it.

use crate::scenario::from_ron;

/// The message for a text that must be refused.
fn refusal(text: &str) -> String {
    match from_ron(text, "bad.ron") {
        Ok(_) => panic!("accepted: {text}"),
        Err(error) => error.to_string(),
    }
}

fn check(table: &[(&str, &str)]) {
    for (text, message) in table {
        assert_eq!(refusal(text), *message, "{text}");
    }
}

#[test]
fn broken_syntax() {
    check(&[
        ("", "bad.ron: it is empty, a scenario is expected, at the least `Scenario()`"),
        ("  // nothing\n/* at all */", "bad.ron: it is empty, a scenario is expected, at the least `Scenario()`"),
        ("hello", "bad.ron:1: found `hello`, allowed: Scenario(…)"),
        ("Scenario", "bad.ron:1: `Scenario(` is expected here"),
        ("{}", "bad.ron:1: `Scenario(` is expected here"),
        ("Scenario(", "bad.ron:1: the text ends too early: a `)`, `]` or quote is missing"),
        ("Scenario(\n  slices: (count: 1\n", "bad.ron:2: slices.count: a comma or a closing bracket is missing"),
        ("Scenario(slices: (count: 1)\nstream: ())", "bad.ron:2: stream: a comma or a closing bracket is missing"),
        ("Scenario(\n\nname: \"a)", "bad.ron:3: name: the text has no end: a quote is missing"),
        ("Scenario(name: \"\\q\")", "bad.ron:1: name: unknown escape character in a text"),
        ("Scenario() x", "bad.ron:1: found `x` after the scenario's last bracket, allowed: nothing"),
        (
            "Scenario(slices: (count: 8))\n\n// end\n  extra: 3, // no\n",
            "bad.ron:4: found `extra: 3, // no` after the scenario's last bracket, allowed: nothing",
        ),
        (
            "Scenario(\n slices: (count: 8)))",
            "bad.ron:2: found `)` after the scenario's last bracket, allowed: nothing",
        ),
        ("Scenario() /* x", "bad.ron:1: a comment has no end: a `*/` is missing"),
        ("\n((((", "bad.ron:2: the name of a field is expected here"),
        ("(slices)", "bad.ron:1: a colon and a value are expected after the name of a field"),
        ("#![enable(foo)]\nScenario()", "bad.ron:1: there is no extension `foo` of the file format"),
        ("Scenario(display: (refresh_hz: 90,5))", "bad.ron:1: display: the name of a field is expected here"),
    ]);
}

#[test]
fn unknown_names() {
    check(&[
        (
            "Scenario(\n  slices: (\n    // nine\n    cuont: 9,\n  ))",
            "bad.ron:4: slices.cuont: found an unknown field, allowed: count, shape, block_px, spread_cv, bits_penalty_pct",
        ),
        (
            "Scenario(slizes: ())",
            "bad.ron:1: slizes: found an unknown field, allowed: format, name, notes, display, pose, host, pixels, slices, encode, \
             stream, link, decode, pacing, clock, content, motion, budget, run",
        ),
        (
            "Scenario(encode: (work: (spread: LogNormal(cv: 0.1, low: 1.0))))",
            "bad.ron:1: encode.work.spread.low: found an unknown field, allowed: cv",
        ),
        ("Scenario(encode: (hand_off: Slise))", "bad.ron:1: encode.hand_off: found `Slise`, allowed: Slice, Frame"),
        (
            "Scenario(encode: (work: (spread: Weird(cv: 0.1))))",
            "bad.ron:1: encode.work.spread: found `Weird`, allowed: Constant, Normal, LogNormal, Gamma, Exponential, Samples",
        ),
        (
            "Scenario(encode: (work: (spread: LogNormal)))",
            "bad.ron:1: encode.work.spread: found `LogNormal`, allowed: Constant, Normal(cv, low, high), LogNormal(cv), Gamma(cv), \
             Exponential, Samples(samples)",
        ),
        (
            "Scenario(encode: (work: (spread: Normal(cv: 0.1, low: 0.5))))",
            "bad.ron:1: encode.work.spread.high: this field is missing",
        ),
        ("Scenario(pacing: Adaptive(start_ms: 3.0))", "bad.ron:1: pacing.min_ms: this field is missing"),
        ("Scenario(slices: (count: 1, count: 2))", "bad.ron:1: slices.count: this field is given twice"),
    ]);
}

#[test]
fn wrong_types() {
    check(&[
        ("Scenario(slices: (count: 8.5))", "bad.ron:1: slices.count: found `8.5`, allowed: whole numbers 1 to 64"),
        ("Scenario(slices: (count: -1))", "bad.ron:1: slices.count: found `-1`, allowed: whole numbers 1 to 64"),
        (
            "Scenario(slices: (count: 99999999999))",
            "bad.ron:1: slices.count: found `99999999999`, allowed: whole numbers 1 to 64",
        ),
        (
            "Scenario(slices: (count: \"eight\"))",
            "bad.ron:1: slices.count: found `\"eight\"`, allowed: whole numbers 1 to 64",
        ),
        ("Scenario(display: (refresh_hz: 90Hz))", "bad.ron:1: display.refresh_hz: found `90Hz`, allowed: 30 to 240 Hz"),
        (
            "Scenario(display: (refresh_hz: \"90\"))",
            "bad.ron:1: display.refresh_hz: found `\"90\"`, allowed: 30 to 240 Hz",
        ),
        ("Scenario(display: (eye_px: 5))", "bad.ron:1: display.eye_px: found `5`, allowed: (width, height)"),
        (
            "Scenario(display: 3)",
            "bad.ron:1: display: found `3`, allowed: (refresh_hz, eye_px, eyes, fov_deg, latch_lead_ms, light, scanout_ms, \
             persistence_ms, choose, compose)",
        ),
        ("Scenario(name: 3)", "bad.ron:1: name: found `3`, allowed: text in quotes"),
        ("Scenario(motion: (predict: 1))", "bad.ron:1: motion.predict: found `1`, allowed: true, false"),
        (
            "Scenario(decode: (buffer: (frames: -1)))",
            "bad.ron:1: decode.buffer.frames: found `-1`, allowed: None (without bound) or whole numbers 0 to 16 frames",
        ),
        (
            "Scenario(pacing: Fixed(lead: Tuned))",
            "bad.ron:1: pacing.lead: found `Tuned`, allowed: Ms(ms), Tuned(late_share)",
        ),
        (
            "Scenario(slices: (shape: Weights([1.0, \"a\"])))",
            "bad.ron:1: slices.shape: found `Weights([1.0, \"a\"])`, allowed: Equal, Geometric(ratio), Weights(weights)",
        ),
        (
            "Scenario(run: (seed: 18446744073709551616))",
            "bad.ron:1: run.seed: found `18446744073709551616`, allowed: whole numbers 0 to 18446744073709551615",
        ),
    ]);
}

#[test]
fn out_of_range() {
    check(&[
        (
            "Scenario(display: (\n refresh_hz: NaN))",
            "bad.ron:2: display.refresh_hz: found NaN Hz, allowed: 30 to 240 Hz",
        ),
        (
            "Scenario(display: (refresh_hz: -inf))",
            "bad.ron:1: display.refresh_hz: found -inf Hz, allowed: 30 to 240 Hz",
        ),
        (
            "Scenario(display: (refresh_hz: 1e300))",
            "bad.ron:1: display.refresh_hz: found 1e300 Hz, allowed: 30 to 240 Hz",
        ),
        (
            "Scenario(encode: (slice_overhead_ms: -0.1))",
            "bad.ron:1: encode.slice_overhead_ms: found -0.1 ms, allowed: 0 to 20 ms",
        ),
        ("Scenario(slices: (count: 0))", "bad.ron:1: slices.count: found 0, allowed: whole numbers 1 to 64"),
        ("Scenario(slices: (block_px: 0))", "bad.ron:1: slices.block_px: found 0 px, allowed: 1, 16, 32, 64 px"),
        (
            "Scenario(display: (eye_px:\n (2048, 100)))",
            "bad.ron:1: display.eye_px.height: found 100 px, allowed: whole numbers 320 to 8192 px",
        ),
        ("Scenario(decode: (engines: 5))", "bad.ron:1: decode.engines: found 5, allowed: whole numbers 1 to 4"),
        (
            "Scenario(encode: (work: (\n  spread: Normal(cv: 0.1,\n  low: 1.0, high: 1.5))))",
            "bad.ron:3: encode.work.spread.low: found 1, allowed: 0 to below 1",
        ),
        (
            "Scenario(encode: (work: (spread: Normal(cv: 0.1, low: 0.5, high: 1.0))))",
            "bad.ron:1: encode.work.spread.high: found 1, allowed: above 1",
        ),
        ("Scenario(stream: (size: Gamma(cv: 0.0)))", "bad.ron:1: stream.size.cv: found 0, allowed: above 0 to 3"),
        (
            "Scenario(stream: (size: Samples([])))",
            "bad.ron:1: stream.size.samples: found an empty list, allowed: a list of numbers, each 0 to 1000",
        ),
        (
            "Scenario(stream: (size: Samples([1.0, NaN])))",
            "bad.ron:1: stream.size.samples: found NaN, allowed: a list of numbers, each 0 to 1000",
        ),
        (
            "Scenario(stream: (vbv_frames: 0.5))",
            "bad.ron:1: stream.vbv_frames: found 0.5 frames, allowed: 0 (off) or 1 to 60 frames",
        ),
        ("Scenario(link: (loss: 0.6))", "bad.ron:1: link.loss: found 0.6, allowed: 0 to 0.5"),
        ("Scenario(pacing: Fixed(lead: Ms(0.5)))", "bad.ron:1: pacing.lead.ms: found 0.5 ms, allowed: 1 to 200 ms"),
    ]);
}

#[test]
fn values_that_contradict_each_other() {
    check(&[
        (
            "Scenario(\n  display: (refresh_hz: 120))",
            "bad.ron:2: display.scanout_ms: found 9 ms, allowed: 0 to 8.333333 ms (the refresh period)",
        ),
        (
            "Scenario(display: (latch_lead_ms: 23))",
            "bad.ron:1: display.latch_lead_ms: found 23 ms, allowed: 0 to 22.222222 ms (2 refresh periods)",
        ),
        (
            "Scenario(slices: (count: 40, block_px: 64))",
            "bad.ron:1: slices.count: found 40, allowed: whole numbers 1 to 34 (the rows of coding blocks)",
        ),
        (
            "Scenario(slices: (shape: Weights([1.0])))",
            "bad.ron:1: slices.shape.weights: found a list of 1, allowed: a list of 8, one weight a slice",
        ),
        (
            "Scenario(slices: (count: 2, shape: Weights([0.0, 0.0])))",
            "bad.ron:1: slices.shape.weights: found only zeros, allowed: at least one weight above 0",
        ),
        (
            "Scenario(link: (delay: (spread: Constant)))",
            "bad.ron:1: link.delay.jitter_ms: found 0.05 ms with spread Constant, allowed: 0, or another spread",
        ),
        (
            "Scenario(encode: (buffer: (frames: 0, when_full: Block)))",
            "bad.ron:1: encode.buffer.frames: found 0 with when_full Block, allowed: 1 to 16 frames, None, or another when_full",
        ),
        (
            "Scenario(decode: (buffer: (when_full: Block)))",
            "bad.ron:1: decode.buffer.when_full: found Block, allowed: DropNewest, DropOldest (the host cannot see this buffer)",
        ),
        (
            "Scenario(display: (choose: OnTarget), pacing: Intervals(mean_ms: 11))",
            "bad.ron:1: display.choose: found OnTarget with pacing Intervals, allowed: Newest, or another pacing (frames at \
             intervals have no targets)",
        ),
        (
            "Scenario(pacing: Adaptive(start_ms: 20, min_ms: 30, max_ms: 40, step_ms: 1, late_target: 0.01))",
            "bad.ron:1: pacing.start_ms: found 20 ms, allowed: 30 to 40 ms (pacing.min_ms to pacing.max_ms)",
        ),
        (
            "Scenario(pacing: Adaptive(start_ms: 45, min_ms: 50, max_ms: 40, step_ms: 1, late_target: 0.01))",
            "bad.ron:1: pacing.min_ms: found 50 ms, allowed: up to pacing.max_ms, 40 ms",
        ),
        (
            "Scenario(run: (frames: 100))",
            "bad.ron:1: run.warmup: found 180 frames, allowed: whole numbers 0 to 99 frames (below run.frames)",
        ),
        (
            "Scenario(budget: (level_max: \"9\"))",
            "bad.ron:1: budget.level_max: found \"9\", allowed: a level such as \"5.2\", from 1 to 7.3",
        ),
        ("Scenario(name: \"a\\nb\")", "bad.ron:1: name: found a line break, allowed: one line"),
    ]);
}

#[test]
fn newer_formats_are_refused_before_anything_else() {
    check(&[
        (
            "// made tomorrow\nScenario(\n  warp: Factor(9),\n  format: 2,\n  slices: \"none\")",
            "bad.ron:4: format: found 2, which is newer than this program; allowed: 1",
        ),
        (
            "Scenario(format: 99999999999999999999999999)",
            "bad.ron:1: format: found 99999999999999999999999999, which is newer than this program; allowed: 1",
        ),
        ("Scenario(format: 0)", "bad.ron:1: format: found 0, allowed: 1"),
    ]);
    // Neither a comment nor text nor another field's format counts.
    let text = "Scenario( /* format: 2 */ notes: \"format: 2,\", format: 1) // format: 2";
    assert!(from_ron(text, "text").is_ok());
}

#[test]
fn one_value_that_cannot_be_read_is_cut_to_a_line() {
    let message = refusal(&format!("Scenario(slices: (count: \"{}\n\"))", "long ".repeat(1000)));
    assert!(message.starts_with("bad.ron:1: slices.count: found `\"long long") && message.len() < 200, "{message}");
    assert!(!message.contains('\n'));
}

#[test]
fn deep_and_long_texts_do_not_overflow_the_stack() {
    const MANY: usize = 1_000_000;
    for (open, close) in
        [("(", ")"), ("[", "]"), ("{", "}"), ("a:(", ")"), ("Some(", ")"), ("/*", "*/"), ("\"", "\""), ("x", "")]
    {
        let nested = format!("{}{}", open.repeat(MANY), close.repeat(MANY));
        for before in ["", "Scenario(name: ", "Scenario(decode: (buffer: (frames: ", "Scenario(stream: (size: Samples("]
        {
            let message = refusal(&format!("{before}{nested}"));
            assert!(message.len() < 400 && !message.contains('\n'), "{message}");
        }
    }
}

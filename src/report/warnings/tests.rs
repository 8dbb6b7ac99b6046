//! When each warning comes, what it says, and where it leads.

use super::*;
use crate::report::figures::Side;
use crate::scenario::parameters;
use crate::scenario::{Buffer, Lead, Pacing, References, Scenario, Shape, Spread, Stall, WhenFull, presets};
use crate::study::{Workspace, answer};

/// The warnings of a scenario. Every path they know is a parameter that the scenario has, and no text lacks its number.
fn of(scenario: &Scenario) -> Vec<Warning> {
    scenario.check().unwrap();
    let found = warnings(&answer(scenario, &mut Workspace::new()));
    for warning in &found {
        let (text, paths) = (warning.to_string(), warning.parameters());
        assert!(
            text.ends_with('.') && !text.contains("NaN") && !text.contains("inf ") && !text.contains("  "),
            "{text}"
        );
        let first = parameters::find(paths[0]).unwrap_or_else(|| panic!("{}", paths[0]));
        assert!(first.get(scenario).is_some() || paths[0] == "decode.buffer.frames", "{}: {text}", paths[0]);
        assert!(paths.iter().all(|path| parameters::find(path).is_some()), "{paths:?}");
    }
    found
}

fn names(scenario: &Scenario) -> Vec<&'static str> {
    of(scenario).iter().map(Warning::name).collect()
}

/// The default scenario changed, with frames enough for its p99.
fn changed(change: impl FnOnce(&mut Scenario)) -> Scenario {
    let mut scenario = Scenario::default();
    scenario.run.frames = 2000;
    change(&mut scenario);
    scenario
}

/// The one warning of a name, as text.
fn text(scenario: &Scenario, name: &str) -> String {
    let found = of(scenario);
    let mut texts = found.iter().filter(|warning| warning.name() == name).map(Warning::to_string);
    let text = texts.next().unwrap_or_else(|| panic!("no {name} in {found:?}"));
    assert_eq!(texts.next(), None, "{name} twice");
    text
}

/// What one line of a small window holds.
#[test]
fn what_happens_is_told_in_brief_too() {
    let mut told = 0;
    for preset in presets::all() {
        for warning in of(&preset.scenario()) {
            let (brief, text) = (warning.brief(), warning.to_string());
            assert!(brief.chars().count() <= 74 && !brief.ends_with('.'), "{}: {brief}", preset.slug);
            assert!(brief.chars().count() < text.chars().count(), "{brief}: {text}");
            told += 1;
        }
    }
    assert!(told >= 5);
}

#[test]
fn presets_have_the_warnings_that_their_notes_explain() {
    let expected: [(&str, &[&str]); 10] = [
        ("wired-90-whole-frame", &[]),
        ("wired-90-8-slices", &[]),
        ("wired-90-8-slices-eye-by-eye", &[]),
        ("wired-90-32-slices", &["overloaded", "no_lead", "hidden_drops"]),
        ("lead-left-alone", &["hidden_drops"]),
        ("wired-120-foveated-4-slices", &[]),
        ("radio-72-4-slices-fades", &[]),
        ("radio-72-resend-or-parity", &[]),
        ("two-decode-engines-4-slices", &[]),
        ("over-budget", &["overloaded", "no_lead", "hidden_drops"]),
    ];
    assert_eq!(expected.len(), presets::all().len());
    for (slug, warnings) in expected {
        assert_eq!(names(&presets::find(slug).unwrap().scenario()), warnings, "{slug}");
    }
}

#[test]
fn overload_with_a_bound_loses_frames_and_without_one_grows() {
    let over = presets::find("over-budget").unwrap().scenario();
    let told = text(&over, "overloaded");
    assert!(
        told.starts_with("The decoder is offered 133 % of what can be done in the time, so no more than 75."),
        "{told}"
    );
    assert!(told.contains("24.5 % are dropped before decode") && !told.contains("skipped"), "{told}");
    let mut grows = over;
    grows.decode.buffer.frames = None;
    let told = text(&grows, "not_steady");
    assert!(told.contains("latency grows by 3.6") && told.contains("because the decoder is offered 133 %"), "{told}");
    assert!(!names(&grows).contains(&"overloaded"), "one cause is told once");
}

#[test]
fn a_host_that_cannot_keep_up_skips_frames() {
    let told = text(&changed(|scenario| scenario.host.render.per_mpx_ms = 1.5), "overloaded");
    assert!(told.starts_with("The GPU is offered 118 %") && told.contains("skipped before simulate"), "{told}");
    // A buffer that blocks drops nothing: frames are skipped at the host, where the text must say so.
    let blocked = changed(|scenario| {
        scenario.encode.work.per_mpx_ms = 1.5;
        scenario.encode.buffer = Buffer { frames: Some(1), when_full: WhenFull::Block };
    });
    let told = text(&blocked, "overloaded");
    assert!(told.starts_with("The encoder is offered") && told.contains("skipped before simulate"), "{told}");
    assert!(!told.contains("dropped before encode") && !names(&blocked).contains(&"frames_in_flight"), "{told}");
}

#[test]
fn too_few_frames_in_flight_are_told_by_littles_law() {
    let one = changed(|scenario| scenario.host.frames_in_flight = 1);
    // Simulate 2.0, render 5.8 and encode 5.9 ms one after the other do not fit into 11.1 ms.
    let told = text(&one, "frames_in_flight");
    assert!(told.contains("with at most 1 in flight one begins every 13.") && told.contains("every 11.1 ms"), "{told}");
    assert!(told.ends_with("Try 2 in flight."), "{told}");
    let two = changed(|scenario| scenario.host.frames_in_flight = 2);
    assert_eq!(names(&two), [""; 0]);
    // In parts only the last part's encode comes after render: the same frames fit one at a time at a lower rate.
    let slow = changed(|scenario| {
        scenario.host.frames_in_flight = 1;
        scenario.display.refresh_hz = 60.0;
    });
    assert!(!names(&slow).contains(&"frames_in_flight"));
}

#[test]
fn compositor_is_held_against_the_shorter_of_lead_and_period() {
    let short = changed(|scenario| scenario.display.latch_lead_ms = 2.1);
    assert!(text(&short, "compose_misses").contains("may take 2.10 ms"));
    let slow = changed(|scenario| {
        scenario.display.latch_lead_ms = 20.0;
        scenario.display.compose.fixed_ms = 10.5;
    });
    assert!(text(&slow, "compose_misses").contains("may take 11.11 ms"));
}

#[test]
fn engines_that_wait_for_each_other_are_told() {
    let idle = changed(|scenario| {
        scenario.slices.count = 1;
        scenario.decode.engines = 2;
    });
    assert!(text(&idle, "idle_engines").starts_with("Only 1 of the 2 engines of the decoder"));
    let free = changed(|scenario| {
        scenario.slices.count = 1;
        scenario.decode.engines = 2;
        scenario.stream.references = References::Independent;
    });
    assert_eq!(names(&free), [""; 0]);
}

#[test]
fn rate_control_that_takes_bits_is_measured() {
    let heavy = changed(|scenario| scenario.slices.bits_penalty_pct = 3.0);
    // 1 + 7 x 3 % is asked for and the target is what there is: at least 1 - 1/1.21 = 17.4 % is missing.
    let told = text(&heavy, "rate_control");
    assert!(told.contains("left them 17.") || told.contains("left them 18."), "{told}");
    let free = changed(|scenario| {
        scenario.slices.bits_penalty_pct = 3.0;
        scenario.stream.vbv_frames = 0.0;
    });
    assert!(!names(&free).contains(&"rate_control"));
}

#[test]
fn level_names_the_limits_that_are_exceeded() {
    let above = changed(|scenario| scenario.budget.level_max = "5.1".to_owned());
    let told = text(&above, "level");
    assert!(told.starts_with("The stream needs level 5.2 High of H265, and 5.1 is allowed: "), "{told}");
    // ITU-T Rec. H.265, Table A.9: level 5.1 allows 534 773 760 samples a second and 160 Mbit/s in the High tier.
    assert!(told.contains("samples a second 802.2 of 534.8 million, bitrate 200 of 160 Mbit/s."), "{told}");
    let none = changed(|scenario| scenario.stream.bitrate_mbps = 1000.0);
    let told = text(&none, "level");
    assert!(
        told.starts_with("No level of H265 holds the stream") && told.contains("bitrate 1000 of 800 Mbit/s"),
        "{told}"
    );
}

#[test]
fn slices_too_thin_to_cut_are_told() {
    let thin = changed(|scenario| {
        scenario.slices.count = 64;
        scenario.slices.block_px = 32;
    });
    assert!(text(&thin, "thin_slices").contains("the 68 block rows leave as few as 1 rows of 32 px"));
    let empty = changed(|scenario| {
        scenario.slices.count = 3;
        scenario.slices.shape = Shape::Weights(vec![1.0, 0.0, 1.0]);
    });
    assert!(text(&empty, "empty_slices").starts_with("1 of 3 slices is lower"));
    let ratio = changed(|scenario| scenario.slices.shape = Shape::Geometric { ratio: 0.4 });
    assert!(names(&ratio).contains(&"empty_slices"));
}

#[test]
fn a_run_too_short_for_what_it_tells_says_so() {
    let short = changed(|scenario| scenario.run.frames = 400);
    let told = text(&short, "few_frames");
    assert!(told.contains("p99 rests on the 2 slowest"), "{told}");
    assert_eq!(names(&short), ["few_frames"]);
    let stalls = changed(|scenario| scenario.decode.work.stall = Stall { chance: 0.001, mean_ms: 8.0 });
    let told = text(&stalls, "rare");
    assert!(
        told.starts_with("Stalls of decode come about twice") && told.ends_with("Try 11\u{2009}000 frames."),
        "{told}"
    );
    let adaptive = changed(|scenario| {
        scenario.pacing =
            Pacing::Adaptive { start_ms: 60.0, min_ms: 1.0, max_ms: 80.0, step_ms: 0.05, late_target: 0.01, every: 1 };
    });
    assert!(names(&adaptive).contains(&"short_warmup"));
}

#[test]
fn drops_that_no_refresh_misses_are_told_only_where_they_hide() {
    let late = changed(|scenario| scenario.pacing = Pacing::Fixed { lead: Lead::Ms(15.0), every: 1 });
    assert!(!names(&late).contains(&"hidden_drops"), "late frames are missed in sight of all");
    let intervals = changed(|scenario| scenario.pacing = Pacing::Intervals { mean_ms: 9.0, spread: Spread::Constant });
    assert!(!names(&intervals).contains(&"hidden_drops"), "nothing is due");
}

#[test]
fn what_both_sides_share_is_told_once() {
    let [plain, over] = ["wired-90-8-slices", "over-budget"].map(|slug| of(&presets::find(slug).unwrap().scenario()));
    let told = tell([&over, &over]);
    assert!(told.len() == 3 && told.iter().all(|one| one.side.is_none() && one.of() == "Both"));
    let told = tell([&over, &plain]);
    assert!(told.len() == 3 && told.iter().all(|one| one.side == Some(Side::Baseline)));
    assert_eq!(tell([&plain, &over])[0].path, "slices.count");
}

//! Talks: the shipped ones are true to the last number, files come back as they were, pictures are what was asked for.

use std::fs;
use std::path::Path;
use std::process::Output;

use assert_cmd::cargo::cargo_bin_cmd;
use framelap::measure::{Piece, Summary, measures};
use framelap::report::figures::curve::Curve;
use framelap::report::figures::distribution::{Form, Measure};
use framelap::report::figures::lanes::{CriticalPath, Lanes, LanesPair};
use framelap::report::figures::left_over::Rank;
use framelap::report::figures::walk::{Stand, Walk};
use framelap::report::figures::{Side, names};
use framelap::report::format;
use framelap::scenario::{Scenario, presets};
use framelap::study::{Answer, CurvePoint, PLATEAU_MS, Workspace, answer, curve_counts};
use framelap::talk::{Facts, Look, Part, Shown, Step, Talk, fill, from_ron, load, save, shipped, to_ron, unknown};
use proptest::prelude::*;

use crate::random_worlds::scenarios;

/// One step with all that its caption is filled in from.
struct Told {
    step: Step,
    answers: [Answer; 2],
    lanes: LanesPair,
    frame: usize,
    curve: Curve,
}

impl Told {
    fn of(talk: &Talk, number: usize) -> Self {
        let step = talk.steps[number].clone();
        let scenarios = talk.pair(number).unwrap();
        let answers = scenarios.map(|scenario| answer(scenario, &mut Workspace::new()));
        let lanes = answers.each_ref().map(|of| Lanes::new(&of.scenario, &of.table, &of.run));
        let lanes = LanesPair::new(names(scenarios[0], scenarios[1]), lanes);
        let frame = step.look.frame.map_or(lanes.typical, |frame| frame as usize);
        let curve = if step.look.figure == Shown::SliceCount { curve(scenarios[1]) } else { Curve::default() };
        Self { step, answers, lanes, frame, curve }
    }

    fn fill(&self, text: &str) -> String {
        let answers = self.answers.each_ref();
        let Self { lanes, frame, curve, step, .. } = self;
        let facts = Facts { answers, lanes, frame: *frame, curve, walk_ms: step.look.walk_ms };
        fill(text, Some(&facts)).replace('\u{a0}', " ")
    }

    fn get(&self, side: usize, measure: &str) -> f64 {
        measures::find(measure).unwrap().get(&self.answers[side].summary).unwrap()
    }
}

/// The curve point by point, each by a run of its own.
fn curve(candidate: &Scenario) -> Curve {
    let counts = curve_counts(candidate);
    let mut curve = Curve::new(counts.len(), Some(candidate.budget.pose_to_photon_ms));
    let mut workspace = Workspace::new();
    for count in counts {
        let mut scenario = candidate.clone();
        scenario.slices.count = count;
        curve.insert(CurvePoint::of(count, &workspace.summary(&scenario)));
    }
    curve
}

/// What is between braces.
fn placeholders(text: &str) -> Vec<&str> {
    text.split('{').skip(1).map(|rest| rest.split_once('}').unwrap().0).collect()
}

/// The value of a placeholder as text, worked out another way than the program does: by the list of measures, the
/// critical path, the stamps of the run.
fn expected(told: &Told, name: &str) -> String {
    let (quantity, side) = name.split_once('.').unwrap_or((name, ""));
    let measured = |measure: &str, unit: fn(f64) -> String| {
        let [baseline, candidate] = [0, 1].map(|side| told.get(side, measure));
        unit(match side {
            "baseline" => baseline,
            "candidate" => candidate,
            _ => baseline - candidate,
        })
    };
    let exact = |of: &dyn Fn(usize) -> f64| match side {
        "baseline" => of(0),
        "candidate" => of(1),
        _ => of(0) - of(1),
    };
    let best = || told.curve.points().iter().min_by(|a, b| a.p99_ms.unwrap().total_cmp(&b.p99_ms.unwrap())).unwrap();
    let good = |point: &&CurvePoint| point.p99_ms.unwrap() <= best().p99_ms.unwrap() + PLATEAU_MS;
    match quantity {
        "p50" | "p99" => measured(&format!("pose_to_photon_ms.{quantity}"), format::ms),
        "missed" => measured("missed_pct", |percent| format::share(percent / 100.0)),
        "shown" => measured("delivered_share", format::share),
        "repeats" => measured("refresh_kinds.repeat", |count| format::number(count, 0)),
        "encoder" | "link" | "decoder" => measured(&format!("offered_load.{quantity}"), format::share),
        "counted" => {
            let Summary { frames, warmup, .. } = told.answers[usize::from(side == "candidate")].summary;
            format::count(u64::from(frames - warmup))
        }
        "slices" => format::number(exact(&|side| f64::from(told.answers[side].scenario.slices.count)), 0),
        "budget" => format::ms(exact(&|side| told.answers[side].scenario.budget.pose_to_photon_ms)),
        "load_limit" => format::share(exact(&|side| told.answers[side].scenario.budget.load_pct / 100.0)),
        "frame" => format::ms(exact(&|side| {
            let path = CriticalPath::of(&told.answers[side], &told.lanes.sides[side], told.frame).unwrap();
            path.length_ns() as f64 / 1e6
        })),
        "ready" => format::ms(exact(&|side| {
            let frame = &told.answers[side].run.frames[told.frame];
            (frame.ready.ns().unwrap() - frame.pose.ns().unwrap()) as f64 / 1e6
        })),
        "walk" => format::ms(told.step.look.walk_ms.unwrap()),
        "best" => best().slices.to_string(),
        "best_p99" => format::ms(best().p99_ms.unwrap()),
        "whole_p99" => format::ms(told.curve.points()[0].p99_ms.unwrap()),
        "plateau_from" => told.curve.points().iter().find(good).unwrap().slices.to_string(),
        "plateau_to" => told.curve.points().iter().rev().find(good).unwrap().slices.to_string(),
        "cliff" => {
            let points = told.curve.points();
            let first = points.iter().position(|point| point.load > Some(1.0)).unwrap();
            let [below, above] = [&points[first - 1], &points[first]];
            let load = |count: u32| {
                let part = f64::from(count - below.slices) / f64::from(above.slices - below.slices);
                below.load.unwrap() * (1.0 - part) + above.load.unwrap() * part
            };
            (below.slices..=above.slices).find(|count| load(*count) > 1.0).unwrap().to_string()
        }
        team => {
            let team = team.strip_prefix("exposed_").unwrap();
            let pieces = Piece::ALL.into_iter().filter(|piece| piece.team().name() == team);
            let pieces: Vec<String> = pieces.map(|piece| format!("exposed_ms.{}", piece.name())).collect();
            format::ms(exact(&|side| pieces.iter().map(|piece| told.get(side, piece)).sum()))
        }
    }
}

fn all_told(slug: &str) -> Vec<Told> {
    let talk = shipped::find(slug).unwrap().talk();
    (0..talk.steps.len()).map(|step| Told::of(talk, step)).collect()
}

/// Every number in a caption is filled in from the answers, and right; the few that are written out are those of the
/// scenarios or of the program.
fn numbers_are_right(all: &[Told]) {
    let written = ["99 of 100", "p99", "72 Hz", "0.2 ms"];
    for told in all {
        for text in [&told.step.headline, &told.step.text] {
            for name in placeholders(text) {
                assert_eq!(told.fill(&format!("{{{name}}}")), expected(told, name), "{name} in {text:?}");
            }
            let filled = told.fill(text);
            assert!(!filled.contains(format::NOTHING) && !filled.contains('{'), "{filled}");
            let mut bare = text.clone();
            for name in placeholders(text) {
                bare = bare.replace(&format!("{{{name}}}"), "");
            }
            for known in written {
                bare = bare.replace(known, "");
            }
            assert!(!bare.contains(|letter: char| letter.is_ascii_digit()), "{bare:?} has numbers that may go stale");
        }
    }
    assert!((PLATEAU_MS - 0.2).abs() < 1e-12);
}

/// What the captions of the first talk say beside the numbers.
#[test]
fn why_slices_is_true() {
    let all = all_told("why-slices");
    numbers_are_right(&all);
    let told = &all[1];
    assert_eq!(told.step.look.figure, Shown::Lanes);
    let paths = [0, 1].map(|side| CriticalPath::of(&told.answers[side], &told.lanes.sides[side], told.frame));
    let walk = Walk::new(&told.lanes, &paths, told.frame);
    let at_ns = (told.step.look.walk_ms.unwrap() * 1e6) as i64;
    let stands = |side, wanted| matches!(walk.stand(side, at_ns), Stand::Piece { piece, .. } if piece == wanted);
    assert!(stands(Side::Baseline, Piece::Link), "the whole frame is on the link");
    assert!(stands(Side::Candidate, Piece::Decode), "slices are being decoded");
    let frame = &told.answers[1].run.frames[told.frame];
    assert!(frame.encoded.ns().unwrap() - frame.pose.ns().unwrap() > at_ns, "the encoder has not finished");
    let [whole, sliced] = told.answers.each_ref().map(|answer| &answer.scenario);
    assert_eq!(whole.pacing, sliced.pacing, "both aim at the same share of late frames");
    let told = &all[0];
    let budget = told.answers[1].scenario.budget.pose_to_photon_ms;
    assert!(told.get(0, "pose_to_photon_ms.p99") > budget && told.get(1, "pose_to_photon_ms.p99") <= budget);
    for piece in ["encode", "link"] {
        assert!(told.get(1, &format!("exposed_ms.{piece}")) < 0.5 * told.get(0, &format!("exposed_ms.{piece}")));
    }
    assert!((told.get(0, "missed_pct") - told.get(1, "missed_pct")).abs() < 0.05, "as steady as before");
    for server in ["encoder", "decoder"] {
        let of = |side| told.get(side, &format!("offered_load.{server}"));
        assert!(of(1) > of(0) && of(1) < told.answers[1].scenario.budget.load_pct / 100.0);
    }
}

/// What the captions of the second talk say beside the numbers.
#[test]
fn how_many_slices_is_true() {
    let all = all_told("how-many-slices");
    numbers_are_right(&all);
    let [curve, loads, exposed, plateau, cliff, costlier, radio, choice] = &all[..] else { panic!("{}", all.len()) };
    let p99 = |curve: &Curve, slices| curve.at(slices).unwrap().p99_ms.unwrap();
    let gains: Vec<f64> = [1, 2, 3].map(|slices| p99(&curve.curve, slices) - p99(&curve.curve, slices + 1)).to_vec();
    assert!(gains.is_sorted_by(|before, after| before > after), "the first cuts gain most: {gains:?}");
    assert!(p99(&curve.curve, 24) > p99(&curve.curve, 12) && p99(&curve.curve, 12) > p99(&curve.curve, 8));
    for server in ["encoder", "decoder"] {
        assert!(loads.get(1, &format!("offered_load.{server}")) > loads.get(0, &format!("offered_load.{server}")));
    }
    assert!(exposed.get(1, "exposed_ms.encode") < exposed.get(0, "exposed_ms.encode"));
    assert!(exposed.get(1, "exposed_ms.decode") > exposed.get(0, "exposed_ms.decode"));
    assert_eq!(exposed.answers[1].scenario.slices.count, 2 * exposed.answers[0].scenario.slices.count);
    assert_eq!(plateau.curve, curve.curve, "the same design");
    assert!(cliff.get(1, "offered_load.decoder") > 1.0 && cliff.get(1, "fates.dropped_decode") > 0.0);
    assert!(cliff.get(1, "delivered_share") < cliff.get(0, "delivered_share"));
    let overhead = |told: &Told| told.answers[1].scenario.decode.slice_overhead_ms;
    assert!((overhead(costlier) - 2.0 * overhead(curve)).abs() < 1e-12);
    assert!(costlier.curve.best().unwrap().slices < curve.curve.best().unwrap().slices);
    let cliff_of = |told: &Told| told.curve.points().iter().find(|point| point.load > Some(1.0)).unwrap().slices;
    assert!(cliff_of(costlier) < cliff_of(curve) && cliff_of(curve) < cliff_of(radio));
    let gain = |told: &Told| p99(&told.curve, 1) - told.curve.best().unwrap().p99_ms.unwrap();
    assert!(gain(radio) > gain(curve), "the first cuts gain even more");
    assert!((radio.answers[1].scenario.display.refresh_hz - 72.0).abs() < 1e-12);
    assert!(radio.get(1, "exposed_ms.link") > curve.get(1, "exposed_ms.link"), "sending takes longer");
    let [before, after] = [0, 1].map(|side| choice.get(side, "pose_to_photon_ms.p99"));
    assert!((before - after).abs() < PLATEAU_MS && choice.get(1, "load") < choice.get(0, "load"));
    assert_eq!(choice.answers[1].scenario.slices.count, plateau.curve.plateau().unwrap().0);
    let shipped = presets::find("7").unwrap().scenario();
    let named = Scenario { notes: shipped.notes.clone(), ..radio.answers[1].scenario.clone() };
    assert_eq!(named, shipped, "the radio is the preset");
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    let home = folder.join("home");
    let mut program = cargo_bin_cmd!("framelap");
    for name in ["HOME", "XDG_DATA_HOME", "XDG_STATE_HOME"] {
        program.env(name, &home);
    }
    program.current_dir(folder).env_remove("RUST_LOG").args(arguments).output().unwrap()
}

fn answered(folder: &Path, arguments: &[&str]) -> String {
    let output = run(folder, arguments);
    assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{arguments:?}");
    assert_eq!(output.status.code(), Some(0), "{arguments:?}");
    String::from_utf8(output.stdout).unwrap()
}

fn short(slices: u32) -> Scenario {
    let mut scenario = Scenario { name: format!("{slices} a frame"), ..Scenario::default() };
    (scenario.run.frames, scenario.run.warmup, scenario.slices.count) = (300, 60, slices);
    scenario
}

fn short_talk() -> Talk {
    let mut talk = Talk::titled("Short");
    let [baseline, candidate] = [1, 4].map(|slices| talk.take_in(&short(slices)));
    for figure in [Shown::Lanes, Shown::Outcomes, Shown::Loads] {
        talk.steps.push(Step {
            candidate: candidate.clone(),
            baseline: baseline.clone(),
            look: Look::at(figure),
            headline: "From {p99.baseline} to {p99.candidate}".to_owned(),
            text: "By cutting.".to_owned(),
            highlight: Vec::new(),
        });
    }
    talk.steps[0].highlight = vec![Part::named("link").unwrap(), Part::named("wait_latch").unwrap()];
    talk
}

#[test]
fn shipped_talks_are_listed_and_shown() {
    let folder = tempfile::tempdir().unwrap();
    let list = answered(folder.path(), &["talk"]);
    for shipped in shipped::all() {
        let talk = shipped.talk();
        assert!(
            list.contains(&format!("{}\n     {}, {} steps\n", shipped.slug, talk.title, talk.steps.len())),
            "{list}"
        );
        let text = answered(folder.path(), &["talk", "--show", shipped.slug]);
        assert_eq!(from_ron(&text, "shown").unwrap(), *talk);
    }
}

#[test]
fn pictures_are_numbered_and_as_large_as_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    save(&folder.path().join("short.ron"), &short_talk()).unwrap();
    answered(folder.path(), &["talk", "short.ron", "out", "--size", "800x450", "--theme", "dark", "--scale", "2"]);
    let mut pictures = Vec::new();
    for number in 1..=3 {
        let bytes = fs::read(folder.path().join(format!("out/0{number}.png"))).unwrap();
        let picture = image::load_from_memory(&bytes).unwrap();
        assert_eq!((picture.width(), picture.height()), (1600, 900));
        pictures.push(bytes);
    }
    assert!(pictures[0] != pictures[1] && pictures[1] != pictures[2]);
    assert_eq!(fs::read_dir(folder.path().join("out")).unwrap().count(), 3);
    answered(folder.path(), &["talk", "short.ron", "out", "--svg", "--size", "800x450"]);
    let text = fs::read_to_string(folder.path().join("out/02.svg")).unwrap();
    let document = roxmltree::Document::parse(&text).unwrap();
    let words: String = document.descendants().filter_map(|node| node.text()).collect();
    assert!(words.contains("By cutting.") && words.contains("2 of 3") && !words.contains('{'), "{words}");
    let told = Told::of(&short_talk(), 1).fill("From {p99.baseline} to {p99.candidate}");
    assert!(words.replace('\u{a0}', " ").contains(&told), "{told}");
}

#[test]
fn a_caption_that_is_wrong_is_told_by_its_line_and_shown_as_it_stands() {
    let folder = tempfile::tempdir().unwrap();
    let mut talk = short_talk();
    talk.steps[1].text = "About {p98.gain}.".to_owned();
    save(&folder.path().join("short.ron"), &talk).unwrap();
    let text = fs::read_to_string(folder.path().join("short.ron")).unwrap();
    let line = 1 + text.lines().position(|line| line.contains("{p98.gain}")).unwrap();
    let output = run(folder.path(), &["talk", "short.ron", "out", "--svg", "--size", "800x450"]);
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    let begins = format!("framelap: short.ron:{line}: step 2: text: found `{{p98.gain}}`, allowed: ");
    assert!(told.starts_with(&begins) && told.ends_with("; it is shown as it stands\n"), "{told}");
    assert_eq!((output.status.code(), told.lines().count()), (Some(0), 1));
    let text = fs::read_to_string(folder.path().join("out/02.svg")).unwrap();
    let document = roxmltree::Document::parse(&text).unwrap();
    let words: String = document.descendants().filter_map(|node| node.text()).collect();
    assert!(words.contains("{p98.gain} (no such number)"), "{words}");
}

#[test]
fn talk_and_scenario_are_told_apart() {
    let folder = tempfile::tempdir().unwrap();
    save(&folder.path().join("talk.ron"), &short_talk()).unwrap();
    framelap::scenario::save(&folder.path().join("mine.ron"), &short(2)).unwrap();
    let refused = |arguments: &[&str], message: &str| {
        let output = run(folder.path(), arguments);
        assert_eq!(String::from_utf8_lossy(&output.stderr), format!("framelap: {message}\n"));
        assert_eq!(output.status.code(), Some(2));
    };
    refused(
        &["simulate", "talk.ron"],
        "talk.ron: it is a talk and no scenario: open it by the menu Talk, or by `framelap talk`",
    );
    refused(
        &["talk", "mine.ron", "out"],
        "mine.ron: it is a scenario and no talk: open it by the menu File, or by its name on the command line",
    );
    refused(
        &["talk.ron", "mine.ron"],
        "talk.ron: it is a talk, which holds its scenarios; found \"mine.ron\" behind it, allowed: nothing",
    );
    assert!(!folder.path().join("out").exists());
}

prop_compose! {
    fn looks()(
        figure in proptest::sample::select(Shown::ALL.to_vec()),
        frame in proptest::option::of(0_u32..10),
        span in proptest::option::of((-50.0..50.0, 0.1..100.0)),
        walk in proptest::option::of(0.0..90.0),
        measure in proptest::sample::select(Measure::ALL.to_vec()),
        form in proptest::sample::select(Form::ALL.to_vec()),
        quantile in proptest::sample::select(Rank::ALL.to_vec()),
    ) -> Look {
        let mut look = Look::at(figure);
        look.frame = frame.filter(|_| figure.has_frame());
        look.span_ms = span.filter(|_| figure.has_span()).map(|(from, length): (f64, f64)| [from, from + length]);
        look.walk_ms = walk.filter(|_| figure.walks());
        if figure.has_measures() {
            (look.measure, look.form) = (measure, form);
        }
        if figure.has_quantiles() {
            look.quantile = quantile;
        }
        look
    }
}

prop_compose! {
    fn steps()(
        look in looks(),
        pair in (0_usize..3, 0_usize..3),
        headline in "[^{]{0,40}",
        text in "([^{]|\\{p99\\.gain\\}){0,30}",
        parts in proptest::collection::vec(proptest::sample::select(Part::all().collect::<Vec<_>>()), 0..4),
    ) -> (Step, (usize, usize)) {
        let highlight = if look.figure.has_parts() { parts } else { Vec::new() };
        (Step { candidate: String::new(), baseline: String::new(), look, headline, text, highlight }, pair)
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]
    #[test]
    fn talk_that_is_written_is_read_back(
        title in "[^\\s].{0,60}",
        scenarios in proptest::collection::vec(scenarios(), 3),
        steps in proptest::collection::vec(steps(), 1..6),
    ) {
        let mut talk = Talk::titled(&title);
        for (mut step, (baseline, candidate)) in steps {
            step.baseline = talk.take_in(&scenarios[baseline]);
            step.candidate = talk.take_in(&scenarios[candidate]);
            talk.steps.push(step);
        }
        prop_assume!(talk.check().is_ok());
        let text = to_ron(&talk);
        prop_assert_eq!(from_ron(&text, "written").unwrap(), talk, "{}", text);
    }

    #[test]
    fn broken_talks_are_refused_and_nothing_else(cut in 0.0..1.0_f64, put in ".{0,6}") {
        // Without its last line's end, which no talk lacks.
        let text = shipped::all()[1].text.trim_end();
        let at = (text.len() as f64 * cut) as usize;
        let at = (0..=at).rev().find(|at| text.is_char_boundary(*at)).unwrap();
        let broken = format!("{}{put}{}", &text[..at], &text[at..]);
        // Whatever it is: a talk or one message, no panic.
        if let Err(error) = from_ron(&broken, "broken.ron") {
            prop_assert!(error.to_string().starts_with("broken.ron:"), "{}", error);
        }
        prop_assert!(from_ron(&text[..at], "cut.ron").is_err());
    }
}

#[test]
fn files_hold_every_scenario_once_and_no_defaults() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("short.ron");
    save(&path, &short_talk()).unwrap();
    let text = fs::read_to_string(&path).unwrap();
    assert_eq!(text.matches("Scenario(").count(), 2, "{text}");
    for default in ["walk_ms", "measure", "form:", "quantile", "frame:", "host"] {
        assert!(!text.contains(default), "{default} in {text}");
    }
    assert_eq!(load(&path).unwrap(), short_talk());
    assert_eq!(unknown("{p99.gain} {nothing}").as_deref(), Some("{nothing}"));
}

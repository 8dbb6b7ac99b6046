//! Studies on the page: asked, run, read, stopped, and their values taken.

use std::time::{Duration, Instant};

use super::*;
use crate::measure::measures;
use crate::report::figures::studies::{of_difference, of_mean, verdict};
use crate::study::{Runner, Watch, compare::compare};
use gallery::Figure;
use state::Places;
use studies::{Kind, Picture, Standing};

/// A window on designs whose content does not drift: short runs of others may look as if latency grew.
fn window() -> Harness<'static, App> {
    let mut window = super::window();
    for side in Side::BOTH {
        window.state_mut().state.pair.of_mut(side).scenario.content.cv = 0.0;
    }
    window.state_mut().answer_now();
    window.run_steps(2);
    window
}

/// Lets the window live until the study is over.
fn finish(window: &mut Harness<'static, App>) {
    let start = Instant::now();
    while window.state().studies.running() {
        assert!(start.elapsed() < Duration::from_mins(2), "the study does not end");
        std::thread::sleep(Duration::from_millis(3));
        window.step();
    }
    window.run_steps(3);
}

/// Puts a study into the middle by its menu and runs it to its end.
fn study(window: &mut Harness<'static, App>, name: &str) {
    choose(window, &["Studies", name]);
    press(window, "Run");
    finish(window);
}

fn press(window: &mut Harness<'static, App>, name: &str) {
    window.get_by_role_and_label(Role::Button, name).click();
    window.run_steps(2);
}

/// Presses and releases the pointer at a share of the figure's canvas.
fn click_canvas(window: &mut Harness<'static, App>, name: &str, across: f32, up: f32) {
    let canvas =
        window.get_by(|node| node.role() == Role::Canvas && node.label().is_some_and(|label| label.contains(name)));
    let rect = canvas.rect();
    let at = rect.left_bottom() + eframe::egui::vec2(rect.width() * across, -rect.height() * up);
    window.hover_at(at);
    window.run_steps(2);
    window.drag_at(at);
    window.run_steps(2);
    window.drop_at(at);
    window.run_steps(3);
}

fn standing(window: &Harness<'static, App>, kind: Kind) -> Standing {
    window.state().studies.standing(kind, &window.state().state.pair)
}

#[test]
fn comparison_says_of_every_main_measure_what_the_library_says() {
    let mut window = window();
    study(&mut window, "Comparison");
    assert_eq!(window.state().state.places.at(Places::MIDDLE), Figure::Comparison);
    let pair = [baseline(&window).clone(), candidate(&window).clone()];
    let expected = compare(&pair, 8, &Runner::new(), &Watch::nobody()).unwrap();
    let row = expected.row(measures::usual()).unwrap();
    let told = format!(
        "Pose to photon, p99, ms: baseline {}, candidate {}, difference {}: {}",
        of_mean(row.values[0]),
        of_mean(row.values[1]),
        of_difference(&row.differences[0]),
        verdict(&row.differences[0])
    );
    assert!(told.ends_with(": better"), "{told}");
    window.get_by_label(&told);
    window.get_by_label_contains("8 seeds, ± half the 95 % interval, 300 frames each");
    assert!(window.state().exhibit(Figure::Comparison).is_some(), "it can be taken out");
    // What has changed since is told, and run again.
    assert_eq!(standing(&window, Kind::Comparison), Standing::Current);
    window.state_mut().state.pair.candidate.scenario.slices.count = 4;
    window.run_steps(2);
    assert_eq!(standing(&window, Kind::Comparison), Standing::Before);
    window.get_by_label_contains("of before a change");
    assert!(window.state().exhibit(Figure::Comparison).is_none());
    press(&mut window, "Run again");
    finish(&mut window);
    assert_eq!(standing(&window, Kind::Comparison), Standing::Current);
}

#[test]
fn sweep_is_drawn_and_a_click_takes_a_value_in_one_step() {
    let mut window = window();
    study(&mut window, "Sweep");
    let Some(Picture::Sweep(chart)) = window.state().studies.picture(Kind::Sweep) else { panic!("no sweep") };
    assert_eq!((chart.values.len(), chart.designs), (64, 2));
    assert!(chart.points.iter().flatten().all(Option::is_some));
    assert_eq!(candidate(&window).slices.count, 8);
    click_canvas(&mut window, "against Slices", 0.98, 0.5);
    assert_eq!(candidate(&window).slices.count, 64, "the last value is at the right end");
    assert_eq!(standing(&window, Kind::Sweep), Standing::Current, "what is swept may be turned");
    window.key_press(Key::ArrowLeft);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 63);
    for before in [64, 8] {
        window.state_mut().run(command::Command::Undo, &Context::default());
        assert_eq!(candidate(&window).slices.count, before, "a click and a key are a step each");
    }
}

#[test]
fn parameter_and_measure_are_picked_by_search() {
    let mut window = window();
    choose(&mut window, &["Studies", "Sweep"]);
    press(&mut window, "Parameter: Slices");
    window.run_steps(SETTLING);
    window.get_by_role_and_label(Role::SearchInput, "Search this list").type_text("slice overhead encode");
    window.run_steps(SETTLING);
    press(&mut window, "Encode: Slice overhead");
    let setup = window.state().studies.setup(Kind::Sweep);
    assert_eq!(setup.ranges[0].path, "encode.slice_overhead_ms");
    assert_eq!(setup.ranges[0].spacing, studies::Spacing::Logarithmic);
    window.run_steps(SETTLING);
    press(&mut window, "Run");
    finish(&mut window);
    assert_eq!(standing(&window, Kind::Sweep), Standing::Current);
}

#[test]
fn wrong_ranges_are_refused_in_words() {
    let mut window = window();
    choose(&mut window, &["Studies", "Sweep"]);
    let mut setup = window.state().studies.setup(Kind::Sweep);
    "x".clone_into(&mut setup.ranges[0].low);
    window.state_mut().studies.set_up(Kind::Sweep, setup);
    press(&mut window, "Run");
    finish(&mut window);
    window.get_by_label("slices.count: found `x`, allowed: whole numbers 1 to 64");
}

#[test]
fn study_is_given_up_by_button_and_by_escape_and_frames_go_on() {
    let mut window = window();
    for escape in [false, true] {
        window.state_mut().state.pair.candidate.scenario.run.frames = 200_000;
        choose(&mut window, &["Studies", "Sweep"]);
        let mut setup = window.state().studies.setup(Kind::Sweep);
        setup.frames = Some(200_000);
        window.state_mut().studies.set_up(Kind::Sweep, setup);
        press(&mut window, "Run");
        assert!(matches!(standing(&window, Kind::Sweep), Standing::Running(_)));
        if escape {
            window.key_press(Key::Escape);
            window.run_steps(2);
        } else {
            press(&mut window, "Cancel");
        }
        assert_eq!(standing(&window, Kind::Sweep), Standing::NotRun);
    }
}

#[test]
fn study_gives_way_while_it_is_held() {
    let mut window = window();
    let pair = window.state().state.pair.clone();
    let studies = &mut window.state_mut().studies;
    studies.hold(true);
    studies.start(Kind::Comparison, &pair, &Context::default());
    std::thread::sleep(Duration::from_millis(400));
    studies.listen();
    let Standing::Running(progress) = studies.standing(Kind::Comparison, &pair) else { panic!("it is over") };
    let cores = std::thread::available_parallelism().unwrap().get();
    assert!(progress.map_or(0, |progress| progress.done) <= cores, "{progress:?} on {cores} cores");
    studies.hold(false);
    finish(&mut window);
    assert_eq!(standing(&window, Kind::Comparison), Standing::Current);
}

#[test]
fn nothing_is_repainted_once_a_study_is_over() {
    let mut window = window();
    study(&mut window, "Sweep");
    std::thread::sleep(Duration::from_millis(100));
    window.run_steps(6);
    let asked_again = window.output().viewport_output.values().map(|viewport| viewport.repaint_delay).min().unwrap();
    assert!(asked_again > Duration::from_mins(1), "the window asks to be painted again after {asked_again:?}");
}

#[test]
fn map_is_filled_and_a_click_takes_both_values_in_one_step() {
    let mut window = window();
    study(&mut window, "Map");
    let Some(Picture::Map(grid)) = window.state().studies.picture(Kind::Map) else { panic!("no map") };
    assert_eq!((grid.size(), grid.come()), ([16, 16], 256));
    let whole = grid.whole.as_ref().unwrap();
    let best = whole.best.unwrap();
    assert!(whole.cell(best[0], best[1]).value.unwrap() > 20.0);
    assert!(whole.cells.iter().any(|cell| cell.baseline.is_some()), "the baseline is held against it");
    assert!(window.query_all_by_label_contains(&grid.best_in_words().unwrap()).next().is_some());
    let before = candidate(&window).clone();
    // Right of the axis' names, left of the scale of colours; the highest row.
    click_canvas(&mut window, "Map of", 0.175, 0.905);
    let after = candidate(&window).clone();
    assert_eq!((after.slices.count, after.encode.slice_overhead_ms), (3, 1.0));
    assert_eq!(standing(&window, Kind::Map), Standing::Current);
    window.state_mut().run(command::Command::Undo, &Context::default());
    assert_eq!(*candidate(&window), before);
}

#[test]
fn sensitivity_ranks_and_leads_to_the_parameter() {
    let mut window = window();
    study(&mut window, "Sensitivity");
    let Some(Picture::Sensitivity(found)) = window.state().studies.picture(Kind::Sensitivity) else { panic!("none") };
    let first = found.rows[0].clone();
    assert!(first.matters && found.rows.iter().any(|row| !row.matters));
    window.get_by_label_contains("Do not matter beyond luck");
    window.state_mut().state.parameters = false;
    let told =
        crate::report::figures::studies::sensitivity::in_words(&first, crate::measure::measures::usual().for_people());
    window.get_by_label(&told).click();
    window.run_steps(3);
    assert!(window.state().state.parameters, "the column opens at {}", first.path);
}

#[test]
fn search_gives_its_best_to_the_candidate_and_says_when_nothing_will_do() {
    let mut window = window();
    choose(&mut window, &["Studies", "Search"]);
    let mut setup = window.state().studies.setup(Kind::Search);
    setup.runs = 60;
    window.state_mut().studies.set_up(Kind::Search, setup.clone());
    press(&mut window, "Run");
    finish(&mut window);
    let Some(Picture::Search(trail)) = window.state().studies.picture(Kind::Search) else { panic!("no search") };
    let (best, whole) = (trail.best().unwrap(), trail.whole.as_ref().unwrap());
    assert!(whole.met && trail.trials[best].goal <= trail.trials[0].goal);
    let wanted = trail.values(best);
    assert_eq!(wanted.iter().map(|(path, _)| *path).collect::<Vec<_>>(), ["slices.count", "stream.bitrate_mbps"]);
    let before = candidate(&window).clone();
    press(&mut window, "Take this scenario");
    for (path, value) in &wanted {
        let parameter = crate::scenario::parameters::find(path).unwrap();
        assert_eq!(parameter.get(candidate(&window)).as_ref(), Some(value));
    }
    window.state_mut().run(command::Command::Undo, &Context::default());
    assert_eq!(*candidate(&window), before);
    // A budget that no design meets.
    window.state_mut().state.pair.candidate.scenario.budget.pose_to_photon_ms = 15.0;
    window.run_steps(2);
    press(&mut window, "Run again");
    finish(&mut window);
    let told = "nothing meets every limit in 60 trials; the nearest misses Pose to photon";
    assert!(window.query_all_by_label_contains(told).next().is_some());
    window.get_by_label("Take the nearest");
}

#[test]
fn split_is_that_of_the_library_and_its_means_become_allowances() {
    use crate::study::split::{Question, split};
    let mut window = window();
    study(&mut window, "Budget split");
    let scenario = candidate(&window).clone();
    let expected = split(&scenario, &Question::new(&scenario), &Runner::new(), &Watch::nobody()).unwrap();
    let encode = expected.shares.iter().find(|share| share.team == "encode").unwrap();
    let number = |value: Option<f64>| crate::report::format::number(value.unwrap(), 2);
    window.get_by_label(&format!(
        "Encode: takes {} ms, may take {} ms, on average {} ms",
        number(encode.at_quantile_ms.mean),
        number(encode.may_take_ms),
        number(encode.may_take_mean_ms)
    ));
    press(&mut window, "Take the means as allowances");
    let allowed = candidate(&window).budget.pieces.encode_ms;
    assert!((allowed - encode.may_take_mean_ms.unwrap()).abs() <= 0.005 + 1e-9, "{allowed} ms");
    assert_eq!(standing(&window, Kind::Split), Standing::Current);
}

#[test]
fn what_if_lists_every_link_and_gives_one_to_the_candidate() {
    let mut window = window();
    study(&mut window, "What if");
    let Some(Picture::WhatIf(found)) = window.state().studies.picture(Kind::WhatIf) else { panic!("no table") };
    let (rows, seeds) = (found.rows.len(), found.seeds);
    assert_eq!((rows, seeds), (28, 8));
    let row = found.rows.iter().find(|row| row.link == "optical-50m").unwrap();
    let told = format!("{}, {}", row.label, crate::report::figures::studies::what_if::jitter(row));
    window.get_by_label_contains(&told).click();
    window.run_steps(3);
    assert_eq!((candidate(&window).link.rate_mbps, candidate(&window).link.unit_overhead_ms), (8000.0, 0.01));
    assert_eq!(standing(&window, Kind::WhatIf), Standing::Before, "the candidate has another link now");
    window.state_mut().run(command::Command::Undo, &Context::default());
    assert_eq!(standing(&window, Kind::WhatIf), Standing::Current);
}

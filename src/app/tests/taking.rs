//! Figures leave the window by the menu of their title.

use std::time::{Duration, Instant};

use eframe::egui::{OutputCommand, vec2};

use super::*;
use crate::app::answers::Freshness;

fn large() -> Harness<'static, App> {
    let mut window = window();
    window.set_size(vec2(1600.0, 900.0));
    window.run_steps(SETTLING);
    window
}

/// Opens the menu of a title and presses an entry.
fn take(window: &mut Harness<'static, App>, title: &str, entry: &str) {
    window.get_by_role_and_label(Role::Button, &format!("{title}: choose a figure")).click();
    window.run_steps(SETTLING);
    window.get_by_role_and_label(Role::Button, entry).click();
    window.step();
}

/// What was handed to the system in the frame just laid out.
fn handed(window: &Harness<'static, App>) -> Vec<OutputCommand> {
    window.output().platform_output.commands.clone()
}

/// Frames until something holds, for so long as a picture may take on a busy machine.
fn until(window: &mut Harness<'static, App>, mut holds: impl FnMut(&Harness<'static, App>) -> bool) {
    let begin = Instant::now();
    while !holds(window) {
        assert!(begin.elapsed() < Duration::from_mins(1), "nothing came");
        std::thread::sleep(Duration::from_millis(5));
        window.step();
    }
}

#[test]
fn table_is_copied_with_tabs() {
    let mut window = large();
    take(&mut window, "Outcomes", "Copy as table");
    let text = handed(&window).into_iter().find_map(|command| match command {
        OutputCommand::CopyText(text) => Some(text),
        _ => None,
    });
    let text = text.unwrap();
    assert!(text.starts_with("of\toutcome\tbaseline_count\tcandidate_count\t"), "{text}");
    assert_eq!(text, window.state().exhibit(gallery::Figure::Outcomes).unwrap().table().tsv());
    window.run_steps(SETTLING);
    window.get_by_label("Outcomes copied as a table");
}

#[test]
fn picture_is_copied_as_large_as_a_slide() {
    let mut window = large();
    take(&mut window, "Distribution", "Copy as picture");
    let mut image = None;
    until(&mut window, |window| {
        image = handed(window).into_iter().find_map(|command| match command {
            OutputCommand::CopyImage(image) => Some(image),
            _ => None,
        });
        image.is_some()
    });
    let wanted = Slide::SIZE.map(|points| (points * Slide::SCALE) as usize);
    assert_eq!(image.unwrap().size, wanted);
}

#[test]
fn figure_is_saved_to_a_typed_path_by_keyboard() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = large();
    window.get_by_role_and_label(Role::Button, "Outcomes: choose a figure").focus();
    window.step();
    window.key_press(Key::Enter);
    window.run_steps(SETTLING);
    window.get_by_role_and_label(Role::Button, "Save to typed path…").focus();
    window.step();
    window.key_press(Key::Enter);
    window.run_steps(SETTLING);
    let path = folder.path().join("mine.svg");
    let field = window.get_by_role_and_label(Role::TextInput, "Path of a .png, .svg or .csv file");
    field.focus();
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.step();
    window
        .get_by_role_and_label(Role::TextInput, "Path of a .png, .svg or .csv file")
        .type_text(path.to_str().unwrap());
    window.step();
    window.key_press(Key::Enter);
    until(&mut window, |_| path.exists());
    let svg = std::fs::read_to_string(&path).unwrap();
    assert!(svg.contains("framelap figure outcomes mine.svg"), "{}", &svg[..600]);
    until(&mut window, |window| window.query_by_label("mine.svg saved").is_some());
}

#[test]
fn report_is_written_beside_the_window() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = large();
    let path = folder.path().join("mine.html");
    let ctx = window.ctx.clone();
    window.state_mut().run(command::Command::Report(true), &ctx);
    window.state_mut().run(command::Command::Typed(command::Purpose::Report, path.clone()), &ctx);
    until(&mut window, |_| path.exists());
    let page = std::fs::read_to_string(&path).unwrap();
    assert!(page.contains("framelap report mine.html") && page.contains("id=\"verdict\""));
    until(&mut window, |window| window.query_by_label("mine.html saved").is_some());
    for (name, why) in [("a.pdf", "allowed: .html, .htm"), ("mine.html", "it is not replaced unasked.")] {
        window.state_mut().run(command::Command::Report(true), &ctx);
        let path = folder.path().join(name);
        window.state_mut().run(command::Command::Typed(command::Purpose::Report, path), &ctx);
        assert!(window.state().message.as_ref().unwrap().contains(why), "{:?}", window.state().message);
    }
}

#[test]
fn walk_is_asked_for_its_size_and_rate_within_the_commands_limits() {
    let mut window = large();
    let ctx = window.ctx.clone();
    let open = |window: &mut Harness<'static, App>| {
        window.state_mut().run(command::Command::SaveWalk(true), &ctx);
        window.run_steps(SETTLING);
    };
    open(&mut window);
    assert!(window.query_by_label("Pictures a second").is_some() && window.query_by_label("Width, px").is_some());
    window.get_by_label("252 pictures, 12.0 s with its end held for 2 s");
    choose(&mut window, &["1280 x 720"]);
    window.get_by_role_and_label(Role::CheckBox, "As slow as ten seconds take").click();
    window.run_steps(SETTLING);
    let shots = window.state().outbox.shots();
    assert_eq!((shots.size, shots.frames_per_second), ([1280, 720], 25));
    assert!(shots.slow_down.is_some_and(|times| (100.0..1000.0).contains(&times)), "{shots:?}");
    choose(&mut window, &["Type the path…"]);
    assert!(window.query_by_label("Path of the .png file").is_some());
    window.key_press(Key::Escape);
    window.run_steps(SETTLING);
    // What is too much says what is allowed, as the command does, and goes nowhere.
    open(&mut window);
    for field in ["Pictures a second", "Width, px", "Height, px"] {
        window.get_by_role_and_label(Role::SpinButton, field).set_value_accesskit(99_999.0);
        window.run_steps(2);
    }
    let shots = window.state().outbox.shots();
    assert_eq!((shots.size, shots.frames_per_second), ([8000, 8000], 120), "the limits of the command");
    assert!(window.query_by_label_contains("would take some").is_some());
    let button = window.get_by_role_and_label(Role::Button, "Type the path…");
    assert!(egui_kittest::kittest::NodeT::accesskit_node(&button).is_disabled());
}

#[test]
fn walk_that_is_being_written_is_told_of_and_can_be_given_up() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = large();
    let path = folder.path().join("walk.png");
    let ctx = window.ctx.clone();
    window.state_mut().run(command::Command::SaveWalk(true), &ctx);
    window.state_mut().run(command::Command::Typed(command::Purpose::Walk, path.clone()), &ctx);
    until(&mut window, |window| window.state().outbox.notice().is_some_and(|told| told.starts_with("walk: picture")));
    window.state_mut().run(command::Command::StopWalk, &ctx);
    until(&mut window, |window| !window.state().outbox.shoots());
    assert!(!path.exists(), "nothing is left behind");
    assert_eq!(window.state().message, None);
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 0);
}

#[test]
fn closing_leaves_nothing_half_written() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = large();
    let ctx = window.ctx.clone();
    let (table, walk) = (folder.path().join("mine.csv"), folder.path().join("walk.png"));
    let purpose = command::Purpose::Figure(gallery::Figure::Outcomes, figures::Take::TypePath);
    window.state_mut().take_out(gallery::Figure::Outcomes, figures::Take::TypePath, &ctx);
    window.state_mut().run(command::Command::Typed(purpose, table.clone()), &ctx);
    window.state_mut().run(command::Command::SaveWalk(true), &ctx);
    window.state_mut().run(command::Command::Typed(command::Purpose::Walk, walk), &ctx);
    assert!(window.state().outbox.shoots());
    // Nothing else is to be asked about.
    window.state_mut().state.pair = pair::Pair::default();
    super::guarding::close(&mut window);
    assert!(window.state().leaving);
    let left: Vec<_> = std::fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().path()).collect();
    assert_eq!(left, [table], "the table is whole, the walk is given up");
}

#[test]
fn what_cannot_be_written_is_said_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = large();
    std::fs::write(folder.path().join("mine.csv"), "mine").unwrap();
    let cases = [
        ("no/a.csv", "there is no such folder"),
        ("a.pdf", "allowed: .csv, .png, .svg"),
        ("mine.csv", "it is not replaced unasked."),
    ];
    for (name, why) in cases {
        let figure = gallery::Figure::Outcomes;
        let purpose = command::Purpose::Figure(figure, figures::Take::TypePath);
        let ctx = window.ctx.clone();
        window.state_mut().take_out(figure, figures::Take::TypePath, &ctx);
        window.state_mut().run(command::Command::Typed(purpose, folder.path().join(name)), &ctx);
        until(&mut window, |window| window.state().message.as_ref().is_some_and(|message| message.ends_with(why)));
        assert!(window.state().message.as_ref().unwrap().starts_with("Not saved. "));
        window.state_mut().message = None;
    }
    assert_eq!(std::fs::read_dir(folder.path()).unwrap().count(), 1);
    assert_eq!(std::fs::read_to_string(folder.path().join("mine.csv")).unwrap(), "mine");
}

#[test]
fn figure_that_is_not_true_any_more_stays() {
    let mut window = large();
    window.state_mut().state.pair.candidate.scenario.slices.count = 5;
    window.run_steps(2);
    assert_eq!(window.state().answers.freshness(), Freshness::Stale);
    assert!(window.state().exhibit(gallery::Figure::Outcomes).is_none());
    take(&mut window, "Outcomes", "Copy as table");
    assert!(handed(&window).is_empty(), "a figure of other scenarios was copied");
}

#[test]
fn command_of_changed_scenarios_says_what_was_changed() {
    let mut window = large();
    let app = window.state_mut();
    app.state.pair.candidate.scenario.slices.count = 5;
    app.answer_now();
    app.views.lanes.go_to(200);
    let made = app.exhibit(gallery::Figure::Lanes).unwrap().provenance("2024-02-29");
    assert_eq!(
        made.command("a.png"),
        "framelap figure lanes a.png --set run.frames=300 --set run.warmup=60 --set-candidate slices.count=5 --frame 200"
    );
}

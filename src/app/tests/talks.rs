//! Talks in the window: steps kept and edited, presented, saved; nothing of the user's own is lost by them.

mod files;

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::{DroppedFile, ViewportCommand};

use super::guarding::{asks, close};
use super::presenting::texts;
use super::sessions::{Dropped, kept};
use super::*;
use crate::app::gallery::Figure;
use crate::app::state::Places;
use crate::app::talk::{Act, Source};
use crate::talk::{self, Part, Shown, Talk, shipped};

const STEPS: usize = 5;

fn act(window: &mut Harness<'static, App>, act: Act) {
    let ctx = window.ctx.clone();
    window.state_mut().run(command::Command::Talk(act), &ctx);
    window.run_steps(2);
}

fn press(window: &mut Harness<'static, App>, key: Key) {
    window.key_press(key);
    window.run_steps(STEPS);
}

fn in_hand<'a>(window: &'a Harness<'static, App>) -> &'a Talk {
    &window.state().state.talk.as_ref().unwrap().talk
}

fn type_path(window: &mut Harness<'static, App>, way: &[&str], path: &Path) {
    choose(window, way);
    let field = || -> &'static str { "Path of the talk's file" };
    window.get_by_role_and_label(Role::TextInput, field()).focus();
    window.run_steps(2);
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.get_by_role_and_label(Role::TextInput, field()).type_text(&path.display().to_string());
    window.run_steps(1);
    window.key_press(Key::Enter);
    window.run_steps(SETTLING);
}

const OPEN: [&str; 3] = ["Talk", "By typed path", "Path of a talk to open…"];
const SAVE: [&str; 3] = ["Talk", "By typed path", "Path to save the talk to…"];

/// A talk of three steps on short scenarios, in a file.
fn talk_file(folder: &Path, name: &str) -> PathBuf {
    let mut window = window();
    for figure in [Figure::Lanes, Figure::Outcomes, Figure::Loads] {
        window.state_mut().state.places.put(Places::MIDDLE, figure);
        act(&mut window, Act::Keep);
    }
    act(&mut window, Act::Title(format!("Talk of {name}")));
    act(&mut window, Act::Headline(0, "At p99 {p99.candidate}".to_owned()));
    act(&mut window, Act::Highlight(0, Part::named("link").unwrap()));
    let path = folder.join(name);
    talk::save(&path, in_hand(&window)).unwrap();
    path
}

#[test]
fn what_is_on_screen_becomes_a_step() {
    let mut window = window();
    window.state_mut().views.lanes.go_to(120);
    window.state_mut().views.lanes.look_through_ms([2.0, 30.0]);
    window.state_mut().views.walk.pause_at_ms(12.5);
    window.key_press_modifiers(Modifiers::COMMAND, Key::K);
    window.run_steps(2);
    let talk = in_hand(&window);
    let look = talk.steps[0].look;
    assert_eq!((look.figure, look.frame, look.walk_ms), (Shown::Lanes, Some(120), Some(12.5)));
    assert_eq!(look.span_ms, Some([2.0, 30.0]));
    let pair = talk.pair(0).unwrap();
    assert_eq!([pair[0], pair[1]], [baseline(&window), candidate(&window)]);
    // The place that was used last, and what is presented.
    window.state_mut().state.page = 1;
    act(&mut window, Act::Keep);
    press(&mut window, Key::F5);
    press(&mut window, Key::ArrowRight);
    press(&mut window, Key::ArrowRight);
    window.key_press_modifiers(Modifiers::COMMAND, Key::K);
    window.run_steps(2);
    press(&mut window, Key::Escape);
    let figures: Vec<Shown> = in_hand(&window).steps.iter().map(|step| step.look.figure).collect();
    assert_eq!(figures, [Shown::Lanes, Shown::Distribution, Shown::Outcomes]);
    assert_eq!(in_hand(&window).scenarios.len(), 2, "every scenario once");
    window.state_mut().state.page = 0;
    window.state_mut().state.places.put(Places::MIDDLE, Figure::Map);
    act(&mut window, Act::Keep);
    assert!(window.state().message.as_ref().unwrap().contains("Map is a study"));
    assert_eq!(in_hand(&window).steps.len(), 3);
}

#[test]
fn the_list_of_steps_covers_no_figure_and_tells_its_numbers() {
    for (name, size) in super::pictures::SIZES {
        let mut window = window();
        window.set_size(size.into());
        window.run_steps(4);
        act(&mut window, Act::Shipped(shipped::all()[0].slug));
        window.run_steps(12);
        let list = window.get_by_label("Steps of the talk").rect();
        let hide = window.get_by_label("Hide").rect();
        let list = list.union(hide).union(window.get_by_label("Present from here").rect());
        assert!(list.bottom() <= size[1], "{name}: {list:?} is beyond the window");
        let figures: Vec<_> = window.get_all_by_role(Role::Canvas).map(|node| node.rect()).collect();
        assert!(!figures.is_empty());
        for figure in figures {
            let beside = list.right() <= figure.left() || list.left() >= figure.right();
            assert!(beside, "{name}: {list:?} lies over {figure:?}");
        }
        if size[0] < 1240.0 {
            assert!(window.query_by_label("Only differences (1)").is_none(), "{name}: the parameters made room");
        }
        for (at, step) in in_hand(&window).steps.iter().enumerate().filter(|(_, step)| step.headline.contains('{')) {
            let told = window.state().talk.told.fill(at, &step.headline);
            assert!(!told.contains(['{', '…']), "{name}: {told}");
            window.get_by_label_contains(&format!(": {told}"));
        }
        if let Some(folder) = std::env::var_os("FRAMELAP_PICTURES") {
            window.render().unwrap().save(PathBuf::from(folder).join(format!("steps-{name}.png"))).unwrap();
        }
        // The parameters take their place back where there is room for one of both only.
        if size[0] < 1240.0 {
            window.key_press_modifiers(Modifiers::COMMAND, Key::P);
            window.run_steps(4);
            window.get_by_label("Only differences (1)");
            assert!(window.query_by_label("Steps of the talk").is_none());
        }
    }
}

#[test]
fn a_number_is_put_into_a_caption_from_a_list() {
    let mut window = window();
    window.set_size(eframe::egui::vec2(1280.0, 1100.0));
    act(&mut window, Act::Keep);
    act(&mut window, Act::Panel);
    act(&mut window, Act::Text(0, "Now".to_owned()));
    window.run_steps(STEPS);
    choose(&mut window, &["Insert a number", "age_p99.candidate"]);
    assert_eq!(in_hand(&window).steps[0].text, "Now {age_p99.candidate}");
    let age_ms = window.state().answers.shown.as_ref().unwrap().candidate.summary.photon_age_ms.p99.unwrap();
    let shown = crate::report::format::ms(age_ms).replace(' ', "\u{a0}");
    assert_eq!(window.state().talk.told.fill(0, &in_hand(&window).steps[0].text), format!("Now {shown}"));
}

#[test]
fn what_is_kept_before_a_room_is_told_for_a_glance() {
    let mut window = window();
    press(&mut window, Key::F5);
    window.key_press_modifiers(Modifiers::COMMAND, Key::K);
    window.run_steps(2);
    window.get_by_label("kept as step 1 of the talk");
    window.run_steps(180);
    assert!(window.query_by_label("kept as step 1 of the talk").is_none(), "it goes by itself");
    assert!(window.state().presenting.is_some());
}

#[test]
fn steps_are_edited_in_the_list_and_changes_taken_back() {
    let mut window = window();
    // All of the list is in sight below the verdict.
    window.set_size(eframe::egui::vec2(1280.0, 1100.0));
    window.run_steps(STEPS);
    choose(&mut window, &["Talk", "How many slices"]);
    let before = in_hand(&window).clone();
    window.get_by_role_and_label(Role::MultilineTextInput, "Headline").focus();
    window.run_steps(2);
    window.key_press_modifiers(Modifiers::COMMAND, Key::A);
    window.get_by_role_and_label(Role::MultilineTextInput, "Headline").type_text("Mine");
    window.run_steps(2);
    assert_eq!(in_hand(&window).steps[0].headline, "Mine");
    let titles = |window: &Harness<'static, App>| -> Vec<String> {
        in_hand(window).steps.iter().map(|step| step.headline.chars().take(8).collect()).collect()
    };
    let all = titles(&window);
    choose(&mut window, &["Move down"]);
    assert_eq!(titles(&window)[..2], [all[1].clone(), all[0].clone()]);
    choose(&mut window, &["Duplicate"]);
    assert_eq!(titles(&window)[1..3], [all[0].clone(), all[0].clone()]);
    choose(&mut window, &["Remove"]);
    choose(&mut window, &["Replace"]);
    let step = &in_hand(&window).steps[window.state().talk.chosen];
    assert_eq!(step.look.figure, Shown::Lanes, "what is on screen");
    for _ in 0..5 {
        choose(&mut window, &["Undo change"]);
    }
    assert_eq!(*in_hand(&window), before);
    assert!(!window.state().talk_differs());
    // On the page, as one step of undo.
    let own = window.state().state.pair.clone();
    act(&mut window, Act::Show(5));
    assert_eq!(candidate(&window).name, "Costlier slices");
    assert_eq!(window.state().state.places.at(Places::MIDDLE), Figure::SliceCurve);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(window.state().state.pair, own);
}

#[test]
fn presenting_a_talk_leaves_the_users_own_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let path = talk_file(folder.path(), "a.ron");
    let session = folder.path().join("session.ron");
    let mut window = kept(&session, [None, None]);
    window.get_by_role_and_label(Role::Slider, "Slices").set_value_accesskit(5.0);
    window.run_steps(2);
    window.state_mut().views.lanes.go_to(70);
    type_path(&mut window, &OPEN, &path);
    let before = window.state().state.clone();
    press(&mut window, Key::F7);
    window.get_by_label_contains("At p99 ");
    assert!(window.query_by_label_contains("{p99").is_none(), "numbers are filled in");
    window.get_by_label("1 of 3");
    assert_eq!(candidate(&window).slices.count, 8);
    for (key, place) in [(Key::ArrowRight, "2 of 3"), (Key::PageDown, "3 of 3"), (Key::ArrowRight, "3 of 3")] {
        press(&mut window, key);
        window.get_by_label(place);
        assert_eq!(window.state().answers.freshness(), answers::Freshness::Current);
    }
    press(&mut window, Key::S);
    window.get_by_role_and_label(Role::Slider, "Slices").set_value_accesskit(12.0);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 12);
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 8, "undo within the step");
    press(&mut window, Key::S);
    press(&mut window, Key::PageUp);
    press(&mut window, Key::ArrowLeft);
    press(&mut window, Key::F6);
    assert!(window.state().views.walk.is_open());
    // Killed now, the session knows of nothing of it.
    window.run_steps(16);
    window.state_mut().finish_session();
    assert_eq!(kept(&session, [None, None]).state().state.pair, before.pair);
    press(&mut window, Key::Escape);
    let mut after = window.state().state.clone();
    assert_eq!(after.pair, before.pair);
    assert_eq!(after.looks, before.looks);
    after.recent_talks.clone_from(&before.recent_talks);
    assert_eq!(after, before);
    assert!(!window.state().views.walk.is_open());
    window.key_press_modifiers(Modifiers::COMMAND, Key::Z);
    window.run_steps(2);
    assert_eq!(candidate(&window).slices.count, 8, "the user's own undo");
}

#[test]
fn next_step_is_there_before_it_is_asked_for() {
    let folder = tempfile::tempdir().unwrap();
    let talk = talk::load(&talk_file(folder.path(), "a.ron")).unwrap();
    let mut window =
        Harness::builder().with_size([1280.0, 800.0]).renderer(cpu::Cpu::default()).build_eframe(move |creation| {
            let [baseline, candidate] = [short_pair().baseline.scenario, short_pair().candidate.scenario];
            let mut app = App::new(&creation.egui_ctx, Some(baseline.into()), Some(candidate.into()));
            app.present_talk(&talk, 0, &creation.egui_ctx);
            app
        });
    let start = Instant::now();
    let known = |window: &Harness<'static, App>, step| {
        window.state().presenting.as_ref().unwrap().cast.as_ref().unwrap().knows(step)
    };
    while !known(&window, 1) || window.state().answers.freshness() != answers::Freshness::Current {
        assert!(start.elapsed() < Duration::from_mins(1), "waited in vain");
        std::thread::sleep(Duration::from_millis(2));
        window.step();
    }
    let ctx = window.ctx.clone();
    window.state_mut().turn_step(1, &ctx);
    assert_eq!(window.state().answers.freshness(), answers::Freshness::Current, "at once");
    assert!(known(&window, 0), "and back again");
    window.state_mut().turn_step(-1, &ctx);
    assert_eq!(window.state().answers.freshness(), answers::Freshness::Current, "at once");
}

#[test]
fn a_caption_that_is_wrong_keeps_nobody_from_saving_opening_and_presenting() {
    let folder = tempfile::tempdir().unwrap();
    let path = talk_file(folder.path(), "a.ron");
    let mut window = window();
    type_path(&mut window, &OPEN, &path);
    act(&mut window, Act::Text(1, "About {p98.gain} and {p99.gain".to_owned()));
    act(&mut window, Act::Title(" ".to_owned()));
    assert!(window.query_by_label_contains("There is no number {p98.gain}").is_none(), "of the chosen step only");
    act(&mut window, Act::Choose(1));
    assert!(window.query_by_label_contains("There is no number {p98.gain}: it is kept").is_some());
    act(&mut window, Act::Save);
    let told = |window: &Harness<'static, App>| window.state().message.clone().unwrap_or_default();
    assert!(told(&window).starts_with("Saved. The caption of step 2 asks for a number"), "{}", told(&window));
    assert!(told(&window).contains("`{p98.gain}`") && !window.state().talk_differs());
    let saved = talk::load(&path).unwrap();
    assert_eq!(
        (saved.title.as_str(), saved.steps[1].text.as_str()),
        ("Untitled talk", "About {p98.gain} and {p99.gain")
    );
    // Back from the file, with the same warning; and presented, with the fault where the number would be.
    act(&mut window, Act::New);
    type_path(&mut window, &OPEN, &path);
    assert!(told(&window).starts_with("Opened. The caption of step 2"), "{}", told(&window));
    assert_eq!(*in_hand(&window), saved);
    act(&mut window, Act::Present(1));
    window.run_steps(SETTLING);
    let ctx = window.ctx.clone();
    let shown: Vec<String> = texts(&ctx, window.state_mut(), [1280.0, 720.0]).into_iter().map(|text| text.0).collect();
    let shown = shown.join(" ");
    assert!(shown.contains("{p98.gain} (no such number) and {p99.gain (brace not closed)"), "{shown}");
}

#[test]
fn session_brings_an_unfinished_talk_back() {
    let folder = tempfile::tempdir().unwrap();
    let path = talk_file(folder.path(), "a.ron");
    let session = folder.path().join("session.ron");
    let mut window = kept(&session, [None, None]);
    type_path(&mut window, &OPEN, &path);
    act(&mut window, Act::Text(1, "half a sent".to_owned()));
    // Killed after a rest.
    window.run_steps(16);
    window.state_mut().finish_session();
    let mut again = kept(&session, [None, None]);
    assert_eq!(in_hand(&again).steps[1].text, "half a sent");
    assert!(again.state().talk_differs());
    assert!(!close(&mut again).contains(&ViewportCommand::CancelClose), "it comes back again");
    let mut again = kept(&session, [None, None]);
    act(&mut again, Act::Text(1, "half a sentence".to_owned()));
    assert!(close(&mut again).contains(&ViewportCommand::CancelClose));
}

/// Every step of both talks: text is large enough for the last row and whole.
#[test]
fn captions_and_figures_fit_on_every_screen() {
    for shipped in shipped::all() {
        let mut talk = shipped.talk().clone();
        for named in &mut talk.scenarios {
            named.scenario = short(named.scenario.clone());
        }
        for size in [[1920.0, 1080.0], [1366.0, 768.0], [1024.0, 768.0]] {
            let ctx = Context::default();
            let mut app = App::still(&ctx, None, None);
            app.present_talk(&talk, 0, &ctx);
            for step in &talk.steps {
                let texts = texts(&ctx, &mut app, size);
                assert!(texts.len() > 8, "{}", step.headline);
                for (text, share, whole) in texts {
                    assert!(share >= 1.0 / 40.0, "{}, {size:?}: {text:?} is {share} of the height", step.headline);
                    assert!(whole, "{}, {size:?}: {text:?} is cut off", step.headline);
                }
                app.turn_step(1, &ctx);
            }
        }
    }
}

/// What is highlighted has an outline, and the rest fades: fewer dark pixels, but not none.
#[test]
fn highlighted_parts_are_told_by_form() {
    let folder = tempfile::tempdir().unwrap();
    let talk = talk::load(&talk_file(folder.path(), "a.ron")).unwrap();
    for figure in [Shown::Lanes, Shown::Fronts, Shown::ExposedTime, Shown::Loads] {
        let painted = |highlight: Vec<Part>| {
            let mut talk = talk.clone();
            talk.steps.truncate(1);
            talk.steps[0].look = crate::talk::Look::at(figure);
            talk.steps[0].highlight = highlight;
            let slide = Slide { size: [1280.0, 720.0], scale: 1.0, theme: ThemeChoice::Light };
            TalkPictures::new(&talk, slide).picture()
        };
        let dark =
            |picture: &Picture| picture.rgba.chunks_exact(4).filter(|pixel| pixel[0] < 40 && pixel[1] < 80).count();
        let [plain, one, other] =
            [vec![], vec![Part::named("decode").unwrap()], vec![Part::named("encode").unwrap()]].map(painted);
        let [all, some] = [&plain, &one].map(dark);
        assert!(one != other && one != plain, "{figure:?}");
        assert!(some > all / 10, "{figure:?}: {some} of {all}");
        let black = |picture: &Picture, want: bool| {
            picture
                .rgba
                .chunks_exact(4)
                .zip(plain.rgba.chunks_exact(4))
                .filter(|(now, before)| (now[..3] == [0, 0, 0] && before[..3] != [0, 0, 0]) == want && now != before)
                .count()
        };
        assert!(black(&one, true) > 200, "{figure:?}: an outline is drawn where none was");
        assert!(black(&one, false) > 1000, "{figure:?}: the rest fades");
    }
}

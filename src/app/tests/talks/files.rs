//! Talks in files: saved, opened, dropped, refused.

use super::*;

#[test]
fn unsaved_talk_is_asked_about_and_saved() {
    let folder = tempfile::tempdir().unwrap();
    let [first, second] = ["a.ron", "b.ron"].map(|name| talk_file(folder.path(), name));
    let mut window = window();
    type_path(&mut window, &OPEN, &first);
    assert_eq!(in_hand(&window).title, "Talk of a.ron");
    // Nothing but the talk is to be saved.
    window.state_mut().state.pair = pair::Pair::default();
    act(&mut window, Act::Remove(2));
    type_path(&mut window, &OPEN, &second);
    assert!(asks(&window), "another talk would take its place");
    assert_eq!(in_hand(&window).title, "Talk of a.ron");
    window.key_press(Key::Escape);
    window.run_steps(SETTLING);
    assert!(close(&mut window).contains(&ViewportCommand::CancelClose));
    assert!(asks(&window));
    window.key_press(Key::Enter);
    window.run_steps(SETTLING);
    assert_eq!(talk::load(&first).unwrap().steps.len(), 2);
    assert!(window.state().leaving);
}

#[test]
fn new_talk_is_saved_to_a_typed_path_and_not_over_another_file() {
    let folder = tempfile::tempdir().unwrap();
    let other = talk_file(folder.path(), "other.ron");
    let mut window = window();
    act(&mut window, Act::Keep);
    assert!(window.state().talk_differs());
    type_path(&mut window, &SAVE, &other);
    assert!(window.query_by_label("There is such a file already").is_some());
    window.key_press(Key::Escape);
    window.run_steps(SETTLING);
    assert_eq!(talk::load(&other).unwrap().steps.len(), 3);
    let path = folder.path().join("mine");
    type_path(&mut window, &SAVE, &path);
    let path = path.with_extension("ron");
    assert_eq!(talk::load(&path).unwrap(), *in_hand(&window));
    assert_eq!(window.state().state.talk.as_ref().unwrap().source, Source::File(path.clone()));
    assert!(!window.state().talk_differs());
    // Another program changes the file.
    act(&mut window, Act::Keep);
    std::fs::copy(&other, &path).unwrap();
    act(&mut window, Act::Save);
    window.run_steps(SETTLING);
    assert!(window.query_by_label("The file was changed by another program").is_some());
    assert_eq!(talk::load(&path).unwrap().steps.len(), 3);
    choose(&mut window, &["Replace"]);
    assert_eq!(talk::load(&path).unwrap().steps.len(), 2);
}

#[test]
fn bad_files_are_refused_and_the_talk_in_hand_stays() {
    let folder = tempfile::tempdir().unwrap();
    let good = talk_file(folder.path(), "a.ron");
    let mut window = window();
    type_path(&mut window, &OPEN, &good);
    let before = window.state().state.clone();
    let scenario = guarding::file(folder.path(), "scenario.ron", 4);
    for (name, content) in [("empty.ron", &b""[..]), ("bytes.ron", b"\xff\xfe\0"), ("half.ron", b"Talk(version: 1,")] {
        std::fs::write(folder.path().join(name), content).unwrap();
        type_path(&mut window, &OPEN, &folder.path().join(name));
        assert!(window.state().message.as_ref().unwrap().starts_with("Not opened. "), "{name}");
        assert_eq!(window.state().state, before, "{name}");
    }
    type_path(&mut window, &OPEN, &scenario);
    assert!(window.state().message.as_ref().unwrap().contains("it is a scenario and no talk"));
    scenarios::open_by_typed_path(&mut window, &good);
    assert!(window.state().message.as_ref().unwrap().contains("it is a talk and no scenario"));
    assert_eq!(window.state().state, before);
}

#[test]
fn talk_that_is_dropped_is_opened_and_stands_in_the_list_of_recent_ones() {
    let folder = tempfile::tempdir().unwrap();
    let path = talk_file(folder.path(), "a.ron");
    let mut window = window();
    window.input_mut().dropped_files = vec![Arc::new(Dropped(path.clone())) as Arc<dyn DroppedFile + Send + Sync>];
    window.run_steps(3);
    assert_eq!(in_hand(&window).title, "Talk of a.ron");
    assert_eq!(window.state().state.recent_talks, [path]);
    assert!(window.state().state.recent.is_empty());
    choose(&mut window, &["Talk", "Why slices"]);
    choose(&mut window, &["Talk", "Recent talks", "a.ron"]);
    assert_eq!(in_hand(&window).title, "Talk of a.ron");
}

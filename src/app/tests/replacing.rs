//! Files that this window did not open or save are not replaced unasked.

use super::guarding::{asks, close, file, on_files, set_slices};
use super::scenarios::type_path;
use super::*;
use crate::scenario;

const THERE: &str = "There is such a file already";
const CHANGED: &str = "The file was changed by another program";

fn save(window: &mut Harness<'static, App>) {
    window.key_press_modifiers(Modifiers::COMMAND, Key::S);
    window.run_steps(SETTLING);
}

fn slices(path: &std::path::Path) -> u32 {
    scenario::load(path).unwrap().slices.count
}

#[test]
fn typed_path_over_another_file_asks_first() {
    let folder = tempfile::tempdir().unwrap();
    let paths = [file(folder.path(), "a.ron", 4), file(folder.path(), "b.ron", 2)];
    let mut window = on_files(&paths[0], None);
    set_slices(&mut window, 6.0);
    let way = ["File", "By typed path", "Path to save candidate to…"];
    choose(&mut window, &way);
    // The ending is added before the look whether there is such a file.
    type_path(&mut window, &folder.path().join("b"));
    window.run_steps(SETTLING);
    assert!(window.query_by_label(THERE).is_some());
    window.key_press(Key::Enter);
    window.run_steps(SETTLING);
    assert!(window.query_by_label(THERE).is_none(), "Enter cancels");
    assert_eq!(slices(&paths[1]), 2);
    choose(&mut window, &way);
    type_path(&mut window, &paths[1]);
    window.run_steps(SETTLING);
    choose(&mut window, &["Replace"]);
    assert_eq!((slices(&paths[0]), slices(&paths[1])), (4, 6));
    assert_eq!(window.state().state.pair.candidate.file(), Some(paths[1].as_path()));
    set_slices(&mut window, 7.0);
    save(&mut window);
    assert_eq!(slices(&paths[1]), 7, "it is this document's own file now");
}

#[test]
fn typed_path_of_the_documents_own_file_asks_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let mut window = on_files(&path, None);
    set_slices(&mut window, 6.0);
    choose(&mut window, &["File", "By typed path", "Path to save candidate to…"]);
    type_path(&mut window, &folder.path().join(".").join("a.ron"));
    window.run_steps(SETTLING);
    assert!(window.query_by_label(THERE).is_none());
    assert_eq!(slices(&path), 6);
}

#[test]
fn comments_of_a_file_are_not_dropped_unasked() {
    const COMMENTS: &str = "The file holds comments";
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let text = std::fs::read_to_string(&path).unwrap();
    let with_comments = format!("// of the bench\n{text}// and more\n");
    std::fs::write(&path, &with_comments).unwrap();
    let mut window = on_files(&path, None);
    set_slices(&mut window, 6.0);
    save(&mut window);
    assert!(window.query_by_label(COMMENTS).is_some());
    assert!(window.query_by_label_contains("Saving leaves 2 comments out").is_some());
    window.key_press(Key::Escape);
    window.run_steps(SETTLING);
    assert_eq!(std::fs::read_to_string(&path).unwrap(), with_comments);
    save(&mut window);
    choose(&mut window, &["Replace"]);
    assert_eq!(slices(&path), 6);
    set_slices(&mut window, 7.0);
    save(&mut window);
    assert!(window.query_by_label(COMMENTS).is_none(), "there are none any more");
    assert_eq!(slices(&path), 7);
}

#[test]
fn file_changed_by_another_program_is_not_replaced_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let mut window = on_files(&path, None);
    set_slices(&mut window, 6.0);
    file(folder.path(), "a.ron", 12);
    save(&mut window);
    assert!(window.query_by_label(CHANGED).is_some());
    window.get_by_label_contains("a.ron");
    window.key_press(Key::Escape);
    window.run_steps(SETTLING);
    assert!(window.query_by_label(CHANGED).is_none());
    assert_eq!(slices(&path), 12);
    save(&mut window);
    choose(&mut window, &["Replace"]);
    assert_eq!(slices(&path), 6);
    set_slices(&mut window, 9.0);
    save(&mut window);
    assert_eq!(slices(&path), 9, "from now on it is known again");
}

#[test]
fn file_changed_between_two_starts_is_not_replaced_unasked() {
    let folder = tempfile::tempdir().unwrap();
    let (path, session) = (file(folder.path(), "a.ron", 4), folder.path().join("session.ron"));
    let given = Given::file(&path, scenario::load(&path).unwrap());
    let mut window = sessions::kept(&session, [None, Some(given)]);
    set_slices(&mut window, 6.0);
    close(&mut window);
    choose(&mut window, &["Close without saving"]);
    file(folder.path(), "a.ron", 12);
    let mut window = sessions::kept(&session, [None, None]);
    assert_eq!(candidate(&window).slices.count, 6);
    save(&mut window);
    assert!(window.query_by_label(CHANGED).is_some());
    assert_eq!(slices(&path), 12);
}

#[test]
fn file_that_is_gone_is_saved_anew() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let mut window = on_files(&path, None);
    set_slices(&mut window, 6.0);
    std::fs::remove_file(&path).unwrap();
    save(&mut window);
    assert_eq!(slices(&path), 6);
}

#[test]
fn closing_asks_about_the_changed_file_too_and_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let path = file(folder.path(), "a.ron", 4);
    let mut window = on_files(&path, None);
    set_slices(&mut window, 6.0);
    file(folder.path(), "a.ron", 12);
    close(&mut window);
    choose(&mut window, &["Save"]);
    assert!(window.query_by_label(CHANGED).is_some() && !asks(&window));
    choose(&mut window, &["Cancel"]);
    assert!(asks(&window) && !window.state().leaving, "the first question is there again");
    choose(&mut window, &["Save", "Replace"]);
    assert_eq!(slices(&path), 6);
    assert!(window.state().leaving);
}

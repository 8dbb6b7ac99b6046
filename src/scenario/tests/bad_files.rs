//! Files that cannot be read or written, and the one line that is said about it.

use std::fs;
use std::path::{MAIN_SEPARATOR, Path};

use crate::scenario::{Scenario, load, save};

/// What is said about loading `path`, its folder left out.
fn refusal(path: &Path) -> String {
    let message = load(path).unwrap_err().to_string();
    let folder = format!("{}{MAIN_SEPARATOR}", path.parent().unwrap().display());
    message.strip_prefix(&folder).unwrap_or(&message).to_owned()
}

#[test]
fn files_that_cannot_be_read() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("bad.ron");
    assert_eq!(refusal(&path), "bad.ron: cannot be read: there is no such file");
    fs::create_dir(&path).unwrap();
    assert_eq!(refusal(&path), "bad.ron: cannot be read: it is a folder, a scenario file is expected");
    let path = folder.path().join("text.ron");
    for (bytes, message) in [
        (&b""[..], "text.ron: it is empty, a scenario is expected, at the least `Scenario()`"),
        (&b"Scenario(\n name: \"caf\xe9\")"[..], "text.ron:2: it is no text in UTF-8"),
        (&b"Scenario(\n slices: (count: 0))"[..], "text.ron:2: slices.count: found 0, allowed: whole numbers 1 to 64"),
    ] {
        fs::write(&path, bytes).unwrap();
        assert_eq!(refusal(&path), message);
    }
    fs::File::create(&path).unwrap().set_len(17 << 20).unwrap();
    assert_eq!(refusal(&path), "text.ron: cannot be read: it is larger than 16 MiB, which no scenario is");
}

#[test]
fn a_byte_order_mark_is_no_part_of_the_scenario() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("marked.ron");
    fs::write(&path, "\u{feff}Scenario(slices: (count: 3))").unwrap();
    assert_eq!(load(&path).unwrap().slices.count, 3);
}

#[test]
fn a_saved_scenario_replaces_the_file_whole() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("mine.ron");
    let mut scenario = Scenario { name: "Mine".to_owned(), ..Scenario::default() };
    save(&path, &scenario).unwrap();
    scenario.slices.count = 3;
    save(&path, &scenario).unwrap();
    assert_eq!(load(&path).unwrap(), scenario);
    let text = fs::read_to_string(&path).unwrap();
    assert_eq!(text, "Scenario(\n    format: 1,\n    name: \"Mine\",\n    slices: (count: 3),\n)\n");
    let files: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    assert_eq!(files, ["mine.ron"], "no temporary file stays");

    // One that could not be read back is refused, and the file stays as it was.
    scenario.slices.count = 0;
    let message = save(&path, &scenario).unwrap_err().to_string();
    assert_eq!(message, "slices.count: found 0, allowed: whole numbers 1 to 64");
    assert_eq!(fs::read_to_string(&path).unwrap(), text);
}

#[test]
fn places_that_cannot_be_written() {
    let folder = tempfile::tempdir().unwrap();
    let refusal = |path: &Path| {
        let message = save(path, &Scenario::default()).unwrap_err().to_string();
        message.rsplit(['/', MAIN_SEPARATOR]).next().unwrap().to_owned()
    };
    let inner = folder.path().join("inner.ron");
    fs::create_dir(&inner).unwrap();
    assert_eq!(refusal(&inner), "inner.ron: cannot be written: it is a folder, a file name is expected");
    let message = refusal(&folder.path().join("none/mine.ron"));
    assert_eq!(message, "mine.ron: cannot be written: its folder does not exist");
    // A file in place of the folder.
    fs::write(folder.path().join("file"), "").unwrap();
    let message = refusal(&folder.path().join("file/mine.ron"));
    assert_eq!(message, "mine.ron: cannot be written: its folder does not exist");
}

#[cfg(unix)]
#[test]
fn a_read_only_folder_is_named() {
    use std::os::unix::fs::PermissionsExt as _;

    let folder = tempfile::tempdir().unwrap();
    let set = |mode| fs::set_permissions(folder.path(), fs::Permissions::from_mode(mode)).unwrap();
    set(0o555);
    let path = folder.path().join("mine.ron");
    // The superuser may write everywhere: nothing to see then.
    if fs::write(folder.path().join("probe"), "").is_err() {
        let message = save(&path, &Scenario::default()).unwrap_err().to_string();
        assert!(message.ends_with("mine.ron: cannot be written: you may not write in its folder"), "{message}");
    }
    set(0o755);
}

#[test]
fn a_table_is_sent_to_where_tables_are_read() {
    let folder = tempfile::tempdir().unwrap();
    let [table, other] = ["bench.csv", "bench.ron"].map(|name| {
        let path = folder.path().join(name);
        std::fs::write(&path, "mode,render_ms\nrate30,4.5\n").unwrap();
        crate::scenario::load(&path).unwrap_err().to_string()
    });
    assert!(table.ends_with("`framelap calibrate`, or Open measurements, reads them"), "{table}");
    assert!(!other.contains("calibrate"), "{other}");
}

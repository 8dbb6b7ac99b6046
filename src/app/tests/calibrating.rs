//! Calibrating in the window: opened, told what columns stand for, fitted, held against, taken over and taken back.

mod leaving;

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::time::{Duration, Instant};

use eframe::egui::vec2;
use egui_kittest::kittest::NodeT as _;

use super::sessions::Dropped;
use super::*;
use crate::app::calibrating::{Ask, BenchPurpose, Tab};
use crate::app::command::{Command, Purpose};
use crate::calibrate::{Fitted, Mapping, Role as Stands, Sheet, Watch};
use crate::report::calibration::Calibration;
use crate::report::figures::measured::Figures;

fn example() -> PathBuf {
    // As this system writes it.
    Path::new(env!("CARGO_MANIFEST_DIR")).join("assets").join("measured_codec.csv")
}

fn ask(window: &mut Harness<'static, App>, ask: Ask) {
    let ctx = window.ctx.clone();
    window.state_mut().run(Command::Bench(ask), &ctx);
    window.step();
}

/// Lets the window live until nothing is under way.
fn finish(window: &mut Harness<'static, App>) {
    let start = Instant::now();
    while window.state().calibrating.running() {
        assert!(start.elapsed() < Duration::from_mins(2), "it does not end");
        std::thread::sleep(Duration::from_millis(3));
        window.step();
    }
    window.run_steps(SETTLING);
}

fn press(window: &mut Harness<'static, App>, name: &str) {
    window.get_by_role_and_label(Role::Button, name).click();
    window.run_steps(SETTLING);
}

/// Opens the choice of a name and picks from it.
fn pick(window: &mut Harness<'static, App>, combo: &str, item: &str) {
    window.get_by_role_and_label(Role::ComboBox, combo).click();
    window.run_steps(SETTLING);
    window.get_by_label(item).click();
    window.run_steps(2);
    finish(window);
}

/// The window with a file open.
fn opened(path: &Path) -> Harness<'static, App> {
    let mut window = window();
    window.set_size(vec2(1600.0, 900.0));
    window.run_steps(SETTLING);
    ask(&mut window, Ask::Read(path.to_path_buf()));
    finish(&mut window);
    window
}

fn told(window: &Harness<'static, App>, text: &str) {
    assert!(window.query_all_by_label_contains(text).next().is_some(), "{text} is not in sight");
}

#[test]
fn measured_codec_is_opened_mapped_fitted_taken_over_and_taken_back() {
    let mut window = window();
    window.set_size(vec2(1600.0, 900.0));
    choose(&mut window, &["File", "Calibrate from measurements"]);
    told(&window, "Open a table of what a bench has measured");
    ask(&mut window, Ask::Read(example()));
    finish(&mut window);
    told(&window, "1500 frames of group qp24 in 5 runs; every row can be used");
    told(&window, "31.717");
    pick(&mut window, "Rows of group qp24", "rate30");
    told(&window, "1500 frames of group rate30");
    // Another role and back, another unit and back.
    pick(&mut window, "decode_ms stands for decode", "render");
    pick(&mut window, "Unit of decode_ms: ms", "us");
    window.get_by_label("Unit of decode_ms: us");
    pick(&mut window, "decode_ms stands for render", "decode");
    window.get_by_label("Unit of decode_ms: ms");
    let before = window.state().state.pair.clone();
    press(&mut window, "Fit");
    finish(&mut window);
    told(&window, "each Mbit, ms");

    // The figures are those of the library, which the command prints.
    let sheet = Sheet::read(&example()).unwrap();
    let mut mapping = Mapping::propose(&sheet);
    mapping.group = Some("rate30".to_owned());
    let question = crate::calibrate::Question {
        mapping: mapping.clone(),
        hold_out: false,
        samples: crate::calibrate::Samples::WhereNoLawFits,
        base: before.candidate.scenario.clone(),
        name: "measured_codec".to_owned(),
    };
    let whole = Fitted::of(&sheet, &question, &Watch::nobody()).unwrap().judge();
    told(&window, &format!("Encode, {} frames", whole.fit.stage(Stands::Encode).unwrap().frames));
    let figures = window.state().calibrating.figures().unwrap().clone();
    assert_eq!(figures, Figures::of(&whole));
    let json = serde_json::to_value(Calibration::new("x", &sheet, &mapping, &whole)).unwrap();
    let block = &figures.quantiles.blocks[0];
    assert_eq!(json["differences"][0]["role"], "Size");
    for (row, found) in block.rows.iter().zip(json["differences"][0]["rows"].as_array().unwrap()) {
        assert!((row.measured - found["measured"].as_f64().unwrap() * 1e-3).abs() < 1e-9);
        assert_eq!(row.relative, found["relative"].as_f64());
    }

    ask(&mut window, Ask::Turn(Tab::Compare));
    window.run_steps(2);
    told(&window, &figures.largest);
    told(&window, "Encode p50: measured");
    press(&mut window, "Encode");
    told(&window, "Encode, measured against simulated: Measured p50");
    told(&window, "encode less the fit: first third");

    ask(&mut window, Ask::Turn(Tab::Scenario));
    window.run_steps(2);
    told(&window, "The measured frames run as they were");
    press(&mut window, "Take as candidate");
    assert_eq!(*candidate(&window), whole.adopted.scenario);
    told(&window, "It is the candidate now");
    assert!(window.query_by_label("of before a change").is_none(), "taking it over changes nothing of the fit");
    let ctx = window.ctx.clone();
    window.state_mut().run(Command::Undo, &ctx);
    assert_eq!(window.state().state.pair, before, "one step back");
    window.run_steps(2);
    press(&mut window, "Take as baseline");
    assert_eq!(*baseline(&window), whole.adopted.scenario);

    // What is seen on the page of figures leads there.
    choose(&mut window, &["Studies", "Sweep"]);
    assert!(!window.state().calibrating.shown());
    ask(&mut window, Ask::Show);
    press(&mut window, "Parameters");
    assert!(!window.state().calibrating.shown() && window.state().state.parameters);
    ask(&mut window, Ask::Show);
    window.run_steps(2);

    // Another question is not what was found.
    window.get_by_label("Hold out the second half").click();
    window.run_steps(2);
    told(&window, "of before a change");
    press(&mut window, "Fit again");
    finish(&mut window);
    assert!(window.state().calibrating.figures().unwrap().basis.contains("second half"));
}

#[test]
fn files_that_are_no_table_are_refused_in_words() {
    let folder = tempfile::tempdir().unwrap();
    let mut window = opened(&example());
    for (name, bytes, says) in [
        ("absent.csv", None, "absent.csv: cannot be read"),
        ("empty.csv", Some(&b""[..]), "holds no row of measurements"),
        ("names.csv", Some(b"frame,encode_ms\n"), "found a row of names alone"),
        ("picture.csv", Some(&[0x89, b'P', 0xff, 0xfe, 0x00, 0x0a, 0xff, 0xff]), "holds no row of measurements"),
    ] {
        let path = folder.path().join(name);
        if let Some(bytes) = bytes {
            fs::write(&path, bytes).unwrap();
        }
        ask(&mut window, Ask::Read(path));
        finish(&mut window);
        told(&window, says);
        told(&window, "measured_codec.csv: 3000 rows");
    }
    let path = folder.path().join("folder.csv");
    fs::create_dir(&path).unwrap();
    ask(&mut window, Ask::Read(path));
    finish(&mut window);
    told(&window, "Not opened.");
}

#[test]
fn bad_rows_are_told_and_what_cannot_be_says_why() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("m.csv");
    let rows: Vec<String> = (0..20).map(|k| format!("{k},slow,{}\n", 3.0 + f64::from(k % 5))).collect();
    let rows = rows.concat();
    fs::write(&path, format!("frame,mode,encode_ms\n{rows}20,slow,x\n21,slow,-4\n")).unwrap();
    let mut window = opened(&path);
    told(&window, "2 rows cannot be used and are left out:");
    told(&window, "line 22: encode_ms: found `x`");
    told(&window, "line 23: encode: found -4");
    press(&mut window, "Fit");
    finish(&mut window);
    told(&window, "Not fitted. nothing to fit: found 20 frames and 2 rows that cannot be used, allowed: at least 30");
    // Words can only tell groups.
    window.get_by_role_and_label(Role::ComboBox, "mode stands for group").click();
    window.run_steps(SETTLING);
    let item = window.get_by_label("decode");
    assert!(item.accesskit_node().is_disabled(), "a column of words cannot be a time");
    window.key_press(Key::Escape);
    window.run_steps(2);
    pick(&mut window, "encode_ms stands for encode", "unused");
    told(&window, "Nothing can be fitted: no column stands for a stage or for the size.");
}

/// A large file on its way is given up at once, and what was there stays.
#[test]
fn reading_is_given_up() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("long.csv");
    let row = |k| format!("{k},{}.{},{}\n", 3 + k % 4, k % 10, 100_000 + k % 977);
    let rows = (0..600_000).map(row).collect::<Vec<String>>().concat();
    fs::write(&path, format!("frame,encode_ms,bits\n{rows}")).unwrap();
    let mut window = opened(&example());
    for escape in [false, true] {
        ask(&mut window, Ask::Read(path.clone()));
        assert!(window.state().calibrating.running());
        told(&window, "Reading");
        if escape {
            window.key_press(Key::Escape);
            window.run_steps(2);
        } else {
            press(&mut window, "Cancel");
        }
        assert!(!window.state().calibrating.running());
        told(&window, "measured_codec.csv: 3000 rows");
    }
    // Frames go on while it is read: none waits for it.
    ask(&mut window, Ask::Read(path));
    let mut longest = Duration::ZERO;
    while window.state().calibrating.running() {
        let begin = Instant::now();
        window.step();
        longest = longest.max(begin.elapsed());
        std::thread::sleep(Duration::from_millis(2));
    }
    window.run_steps(2);
    told(&window, "600\u{2009}000 frames in 1 run");
    assert!(longest < Duration::from_millis(700), "a frame took {longest:?}");
}

/// Changes that follow each other before the first is done all come.
#[test]
fn quick_changes_of_the_mapping_all_come() {
    let mut window = opened(&example());
    for (column, role) in [("encode_ms", Stands::Render), ("decode_ms", Stands::Encode), ("bytes", Stands::Unused)] {
        ask(&mut window, Ask::Assign(column.to_owned(), role));
    }
    ask(&mut window, Ask::Skip(10));
    finish(&mut window);
    for told in ["encode_ms stands for render", "decode_ms stands for encode", "bytes stands for unused"] {
        window.get_by_label(told);
    }
    told(&window, "1450 frames of group qp24 in 5 runs");
    ask(&mut window, Ask::Propose);
    finish(&mut window);
    window.get_by_label("encode_ms stands for encode");
    told(&window, "1500 frames of group qp24");
}

#[test]
fn dropped_measurements_are_opened_and_come_back_with_their_mapping() {
    let mut window = window();
    window.input_mut().dropped_files.push(Arc::new(Dropped(example())));
    window.step();
    finish(&mut window);
    told(&window, "measured_codec.csv: 3000 rows");
    pick(&mut window, "encode_ms stands for encode", "render");
    // What the session keeps is told again when the file is opened anew.
    let kept = window.state().state.bench.clone();
    let text = ron::to_string(&kept).unwrap();
    let mut next = super::window();
    next.state_mut().state.bench = ron::from_str(&text).unwrap();
    next.run_steps(2);
    choose(&mut next, &["File", "Calibrate from measurements"]);
    next.get_by_label(&example().display().to_string()).click();
    next.run_steps(2);
    finish(&mut next);
    next.get_by_label("encode_ms stands for render");
}

#[test]
fn mapping_that_is_not_saved_is_asked_about() {
    let folder = tempfile::tempdir().unwrap();
    let other = folder.path().join("other.csv");
    fs::copy(example(), &other).unwrap();
    let mut window = opened(&example());
    pick(&mut window, "encode_ms stands for encode", "render");
    ask(&mut window, Ask::Read(other.clone()));
    window.run_steps(SETTLING);
    told(&window, "What the columns stand for is not saved");
    press(&mut window, "Cancel");
    told(&window, "measured_codec.csv: 3000 rows");
    ask(&mut window, Ask::Read(other.clone()));
    window.run_steps(SETTLING);
    press(&mut window, "Save as…");
    // It is saved where the path says, and then the other file is opened.
    let file = folder.path().join("mapping.ron");
    let ctx = window.ctx.clone();
    window.key_press(Key::Escape);
    window.run_steps(SETTLING);
    let purpose = Purpose::Bench(BenchPurpose::SaveMapping);
    window.state_mut().run(Command::Typed(purpose, file.clone()), &ctx);
    window.run_steps(2);
    finish(&mut window);
    told(&window, "other.csv: 3000 rows");
    // The command reads the same file, and so does the window.
    let sheet = Sheet::read(&other).unwrap();
    let mapping = Mapping::load(&file, &sheet).unwrap();
    assert!(mapping.columns.iter().any(|mapped| mapped.role == Stands::Render && mapped.column == "encode_ms"));
    window.get_by_label("encode_ms stands for encode");
    window.state_mut().run(Command::Typed(Purpose::Bench(BenchPurpose::OpenMapping), file), &ctx);
    finish(&mut window);
    window.get_by_label("encode_ms stands for render");
    // A file that is there is not replaced unasked.
    window.state_mut().run(Command::Typed(purpose, other.clone()), &ctx);
    window.run_steps(2);
    told(&window, "there is such a file already");
    assert_eq!(fs::read(&other).unwrap(), fs::read(example()).unwrap());
}

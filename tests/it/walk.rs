//! A walk as moving pictures: as many as said, from nothing done to the gain, in one file or in a folder.

use std::fs;
use std::io::BufReader;
use std::path::Path;

use assert_cmd::cargo::cargo_bin_cmd;

const SMALL: [&str; 6] = ["--size", "480x270", "--frames-per-second", "2", "--slow-down", "100"];

/// What is printed where a walk is made.
fn walk(folder: &Path, arguments: &[&str]) -> String {
    let mut command = cargo_bin_cmd!("framelap");
    let all = [&["walk"], arguments, &SMALL[..], &["--frames", "400"]].concat();
    let output = command.current_dir(folder).env("SOURCE_DATE_EPOCH", "1709164800").args(&all).output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{all:?}");
    String::from_utf8(output.stdout).unwrap()
}

/// How many pictures were said.
fn said(told: &str) -> usize {
    told.split(": ").nth(1).unwrap().split(' ').next().unwrap().parse().unwrap()
}

/// Every picture of an animation, each laid over the one before, with its delay \[s\].
fn pictures(path: &Path) -> Vec<(Vec<u8>, f64)> {
    let mut reader = png::Decoder::new(BufReader::new(fs::File::open(path).unwrap())).read_info().unwrap();
    let (width, count) = (reader.info().width as usize, reader.info().animation_control.unwrap().num_frames);
    let mut canvas = vec![0; reader.output_buffer_size().unwrap()];
    let mut made = Vec::new();
    for _ in 0..count {
        let mut part = vec![0; canvas.len()];
        let info = reader.next_frame(&mut part).unwrap();
        let control = *reader.info().frame_control().unwrap();
        let (left, top) = (control.x_offset as usize, control.y_offset as usize);
        for (row, pixels) in part[..info.buffer_size()].chunks_exact(info.line_size).enumerate() {
            let from = 4 * ((top + row) * width + left);
            canvas[from..from + pixels.len()].copy_from_slice(pixels);
        }
        made.push((canvas.clone(), f64::from(control.delay_num) / f64::from(control.delay_den)));
    }
    assert!(reader.next_frame(&mut canvas).is_err(), "there are no more than were said");
    made
}

#[test]
fn animation_goes_from_the_pose_to_the_gain() {
    let folder = tempfile::tempdir().unwrap();
    for figure in ["lanes", "fronts"] {
        let told = walk(folder.path(), &["a.png", "--figure", figure]);
        let made = pictures(&folder.path().join("a.png"));
        assert_eq!(made.len(), said(&told), "{told}");
        assert!(made.len() > 6, "{told}");
        assert!(made.windows(2).all(|two| two[0].0 != two[1].0), "something goes on from picture to picture");
        let (last, before) = made.split_last().unwrap();
        assert!(before.iter().all(|(_, delay_s)| (delay_s - 0.5).abs() < 1e-9));
        assert!((last.1 - 2.0).abs() < 1e-9, "the end is held");
        // The gain stands at the upper right of the last picture alone.
        let gain = |rgba: &[u8]| {
            let ground = rgba[..4].to_vec();
            let rows = rgba.chunks_exact(4 * 480).skip(4).take(18);
            rows.map(|row| row[4 * 330..].chunks_exact(4).filter(|pixel| *pixel != ground).count()).sum::<usize>()
        };
        assert_eq!(before.iter().map(|(rgba, _)| gain(rgba)).max(), Some(0), "{figure}");
        assert!(gain(&last.0) > 100, "{figure}: {} pixels", gain(&last.0));
    }
}

#[test]
fn animation_bears_its_command_which_makes_it_again() {
    let folder = tempfile::tempdir().unwrap();
    walk(folder.path(), &["a.png", "2", "1", "--frame", "210", "--theme", "dark"]);
    let path = folder.path().join("a.png");
    let reader = png::Decoder::new(BufReader::new(fs::File::open(&path).unwrap())).read_info().unwrap();
    let told = reader.info().utf8_text.iter().find(|text| text.keyword == "Description").unwrap().get_text().unwrap();
    // Some systems keep a file until none reads it.
    drop(reader);
    let command = told.lines().find_map(|line| line.strip_prefix("Made by: framelap ")).unwrap();
    let first = fs::read(&path).unwrap();
    fs::remove_file(&path).unwrap();
    let words: Vec<&str> = command.split(' ').collect();
    let mut again = cargo_bin_cmd!("framelap");
    again.current_dir(folder.path()).env("SOURCE_DATE_EPOCH", "1709164800").args(&words).assert().success();
    assert!(fs::read(&path).unwrap() == first, "{command}");
}

#[test]
fn folder_holds_as_many_pictures_as_were_said() {
    let folder = tempfile::tempdir().unwrap();
    let told = walk(folder.path(), &["pictures/"]);
    let mut names: Vec<String> = fs::read_dir(folder.path().join("pictures"))
        .unwrap()
        .map(|entry| entry.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    assert_eq!(names.len(), said(&told), "{told}");
    let read = |name: &String| image::open(folder.path().join("pictures").join(name)).unwrap().to_rgb8();
    assert_eq!(names[0], "frame-0001.png");
    assert_eq!(read(&names[0]).dimensions(), (480, 270));
    let last = names.len() - 1;
    assert!(read(&names[0]) != read(&names[last]));
    assert!(read(&names[last]) == read(&names[last - 3]), "the end is held for four pictures");
    assert!(read(&names[last]) != read(&names[last - 4]));
}

#[test]
fn what_would_take_too_long_is_refused_with_its_cost() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("file"), "").unwrap();
    fs::create_dir(folder.path().join("full")).unwrap();
    fs::write(folder.path().join("full/frame-0001.png"), "").unwrap();
    let cases: [(&[&str], &str); 6] = [
        (&["a.png", "--slow-down", "100000"], "minutes"),
        (&["a.png", "--size", "8000x8000"], "million pixels"),
        (&["a.gif"], "allowed: .png, or a folder"),
        (&["file"], "found a file"),
        (&["full"], "found pictures of another walk"),
        (&["a.png", "--frame", "40000"], "allowed: 0 to "),
    ];
    for (arguments, wanted) in cases {
        let mut command = cargo_bin_cmd!("framelap");
        let output = command.current_dir(folder.path()).args(["walk"]).args(arguments).output().unwrap();
        let told = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        assert!(told.contains(wanted) && told.lines().count() == 1, "{told}");
        assert!(!folder.path().join("a.png").exists());
    }
}

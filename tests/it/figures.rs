//! Figures as files: pictures that can be read, that say what the table says, and whose command makes them again.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
#[cfg(unix)]
use std::process::Command;
use std::process::Output;

use assert_cmd::cargo::cargo_bin_cmd;
use framelap::app::Kind;
#[cfg(unix)]
use framelap::app::{Exhibit, Format, Given, Slide, ThemeChoice};
use framelap::report::format::number;
#[cfg(unix)]
use framelap::scenario::{Layout, Scenario, Spread, presets};
use roxmltree::Document;

const SHORT: [&str; 4] = ["--frames", "400", "--warmup", "100"];

fn answered(folder: &Path, arguments: &[&str]) -> Output {
    let mut command = cargo_bin_cmd!("framelap");
    command.current_dir(folder).env("SOURCE_DATE_EPOCH", "1709164800").args(arguments).output().unwrap()
}

fn run(folder: &Path, arguments: &[&str]) {
    let output = answered(folder, arguments);
    assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{arguments:?}");
    assert_eq!(output.status.code(), Some(0), "{arguments:?}");
}

fn figure(folder: &Path, name: &str, out: &str, more: &[&str]) -> String {
    run(folder, &[&["figure", name, out], &SHORT[..], more].concat());
    String::from_utf8_lossy(&fs::read(folder.join(out)).unwrap()).into_owned()
}

/// Every text of a document that is drawn.
fn texts(document: &Document<'_>) -> Vec<String> {
    document
        .descendants()
        .filter(|node| node.tag_name().name() == "text")
        .filter_map(|node| node.text())
        .map(str::to_owned)
        .collect()
}

fn rows(csv: &str) -> Vec<BTreeMap<String, String>> {
    csv::Reader::from_reader(csv.as_bytes()).deserialize().map(Result::unwrap).collect()
}

/// The command in a document's description.
#[cfg(unix)]
fn command(svg: &str) -> String {
    let document = Document::parse(svg).unwrap();
    let description = document.descendants().find(|node| node.tag_name().name() == "desc").and_then(|node| node.text());
    description.unwrap().lines().find_map(|line| line.strip_prefix("Made by: ")).unwrap().to_owned()
}

#[test]
fn every_figure_is_a_picture_of_both_kinds_in_both_themes() {
    let folder = tempfile::tempdir().unwrap();
    // Short runs of content that drifts may look as if latency grew, and that cannot be split.
    let even = ["--set", "content.cv=0"];
    for kind in Kind::all() {
        let svg = figure(folder.path(), kind.slug(), "a.svg", &even);
        let document = Document::parse(&svg).unwrap_or_else(|error| panic!("{}: {error}", kind.slug()));
        let texts = texts(&document);
        assert!(texts.len() > 12, "{}: {texts:?}", kind.slug());
        for wanted in [
            "Sliced frames",
            "against",
            "Whole frames",
            concat!("framelap ", env!("CARGO_PKG_VERSION"), ", 2024-02-29"),
        ] {
            assert!(texts.iter().any(|text| text.contains(wanted)), "{}: no {wanted:?} in {texts:?}", kind.slug());
        }
        assert!(!svg.contains("NaN") && !svg.contains("inf"), "{}", kind.slug());
        for theme in ["light", "dark"] {
            let options = [&even[..], &["--theme", theme, "--scale", "1"]].concat();
            figure(folder.path(), kind.slug(), "a.png", &options);
            let picture = image::open(folder.path().join("a.png")).unwrap().to_rgb8();
            assert_eq!(picture.dimensions(), (960, 540));
            let bright = picture.get_pixel(2, 2).0[0] > 128;
            assert_eq!(bright, theme == "light");
            let ground = *picture.get_pixel(2, 2);
            let drawn = picture.pixels().filter(|pixel| **pixel != ground).count();
            assert!(drawn > 960 * 540 / 60, "{} {theme}: {drawn} pixels are drawn", kind.slug());
        }
    }
}

#[test]
fn png_bears_the_command_too() {
    let folder = tempfile::tempdir().unwrap();
    figure(folder.path(), "outcomes", "a.png", &["--scale", "0.5"]);
    let decoder = png::Decoder::new(std::io::BufReader::new(fs::File::open(folder.path().join("a.png")).unwrap()));
    let reader = decoder.read_info().unwrap();
    let told = reader.info().utf8_text.iter().find(|text| text.keyword == "Description").unwrap().get_text().unwrap();
    assert!(
        told.ends_with("Made by: framelap figure outcomes a.png --set run.frames=400 --set run.warmup=100"),
        "{told}"
    );
}

#[test]
fn pictures_say_what_the_tables_say() {
    let folder = tempfile::tempdir().unwrap();
    let svg = figure(folder.path(), "exposed-time", "a.svg", &[]);
    let shown = texts(&Document::parse(&svg).unwrap());
    let mut compared = 0;
    // Row by row in the table's order: name, baseline, candidate and change, which adds up and so may be off by less than a
    // step; a change that is none is shown as none.
    let mut rest = &shown[..];
    for row in rows(&figure(folder.path(), "exposed-time", "a.csv", &[])) {
        let place = rest.iter().position(|text| *text == row["entry"]).unwrap_or_else(|| panic!("{}", row["entry"]));
        rest = &rest[place + 1..];
        let told: Vec<f64> = rest[..3].iter().map(|text| text.replace('−', "-").parse().unwrap()).collect();
        let full = ["baseline_ms", "candidate_ms", "change_ms"].map(|column| row[column].parse::<f64>().unwrap());
        for side in 0..2 {
            assert!((told[side] - full[side]).abs() < 0.1, "{}: {told:?} for {full:?}", row["entry"]);
            compared += 1;
        }
        assert!((told[1] - told[0] - told[2]).abs() < 1e-9, "{}: {told:?}", row["entry"]);
        assert!(full[2].abs() >= 0.05 || told[2].abs() < 1e-9, "{}: {told:?} for {full:?}", row["entry"]);
    }
    assert!(compared >= 20, "{compared}");

    let svg = figure(folder.path(), "distribution", "d.svg", &[]);
    let shown = texts(&Document::parse(&svg).unwrap()).join("\n");
    for row in rows(&figure(folder.path(), "distribution", "d.csv", &[])) {
        if row["measure"] == "Pose to photon" && ["p50", "p95", "p99"].contains(&row["row"].as_str()) {
            for column in ["baseline_ms", "candidate_ms"] {
                let text = number(row[column].parse().unwrap(), 1);
                assert!(shown.contains(&text), "{} {text} in\n{shown}", row["row"]);
            }
        }
    }
}

/// What stands below a study's picture is of its own runs, at the length that was asked for; and a table that is too long for
/// its picture says how much of it is missing.
#[test]
fn pictures_of_studies_tell_their_runs_and_what_they_leave_out() {
    let folder = tempfile::tempdir().unwrap();
    for (name, seeds) in [("what-if", "8 seeds from 1"), ("search", "seed 1")] {
        run(folder.path(), &["figure", name, "a.svg", "--frames", "4000", "--set", "content.cv=0"]);
        let svg = fs::read_to_string(folder.path().join("a.svg")).unwrap();
        let shown = texts(&Document::parse(&svg).unwrap()).join("\n");
        assert!(shown.contains(&format!("4000 frames, {seeds}, framelap")), "{name}: {shown}");
    }
    run(folder.path(), &["figure", "what-if", "a.csv", "--frames", "400", "--set", "content.cv=0"]);
    let table = rows(&fs::read_to_string(folder.path().join("a.csv")).unwrap());
    let all = table.iter().filter(|row| row["measure"] == "pose_to_photon_ms.p99").count();
    for (size, whole) in [("960x540", false), ("960x1200", true)] {
        run(folder.path(), &["figure", "what-if", "a.svg", "--frames", "400", "--set", "content.cv=0", "--size", size]);
        let svg = fs::read_to_string(folder.path().join("a.svg")).unwrap();
        let shown = texts(&Document::parse(&svg).unwrap());
        let drawn = shown.iter().filter(|text| text.ends_with(" of 8") && !text.contains("seeds")).count();
        let left_out = format!("and {} rows more: in a higher picture, or in this figure's table (.csv)", all - drawn);
        assert_eq!((drawn == all, shown.contains(&left_out)), (whole, !whole), "{size}: {drawn} of {all}, {shown:?}");
    }
}

/// A picture that is too small for its figure is refused before anything is written, with the least size that is not; at that
/// size nothing of the figure is beyond an edge. A table has no size.
#[test]
fn pictures_that_are_too_small_for_their_figure_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let even = ["--frames", "300", "--set", "content.cv=0"];
    for slug in ["comparison", "sweep", "search", "what-if", "lanes", "distribution"] {
        let asked = [&["figure", slug, "a.svg", "--size", "300x210"], &even[..]].concat();
        let refused = answered(folder.path(), &asked);
        let told = String::from_utf8(refused.stderr).unwrap();
        let start = format!("framelap: --size: found 300x210 for {slug}, allowed: at least ");
        let least = told.trim().strip_prefix(&start).unwrap_or_else(|| panic!("{slug}: {told}")).to_owned();
        assert!(refused.status.code() == Some(2) && !folder.path().join("a.svg").exists(), "{slug}");
        run(folder.path(), &[&["figure", slug, "a.csv", "--size", "300x210"], &even[..]].concat());
        run(folder.path(), &[&["figure", slug, "a.svg", "--size", &least], &even[..]].concat());
        let [width, height] = [0, 1].map(|side| least.split('x').nth(side).unwrap().parse::<u32>().unwrap());
        for (width, height) in [(width - 1, height), (width, height - 1)] {
            let size = format!("{width}x{height}");
            let asked = [&["figure", slug, "b.svg", "--size", &size], &even[..]].concat();
            assert_eq!(answered(folder.path(), &asked).status.code(), Some(2), "{slug} {size}");
        }
        fs::remove_file(folder.path().join("a.svg")).unwrap();
    }
}

/// What is presented, a walk and the steps of a talk are refused where they are too small, with a size at which they are not.
#[test]
fn presented_pictures_walks_and_talks_that_are_too_small_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let cases: [(&[&str], &str, &str); 3] = [
        (&["picture", "a.png", "--present", "lanes"], "300x300", "lanes"),
        (&["walk", "b.png", "--frames", "400", "--frames-per-second", "1", "--slow-down", "50"], "200x600", "lanes"),
        (&["talk", "why-slices", "steps"], "300x300", "step 1"),
    ];
    for (asked, size, what) in cases {
        let refused = answered(folder.path(), &[asked, &["--size", size]].concat());
        let told = String::from_utf8(refused.stderr).unwrap();
        let start = format!("framelap: --size: found {size} for {what}, allowed: at least ");
        let least = told.trim().strip_prefix(&start).unwrap_or_else(|| panic!("{asked:?}: {told}")).to_owned();
        assert_eq!(refused.status.code(), Some(2), "{asked:?}");
        let again = answered(folder.path(), &[asked, &["--size", &least]].concat());
        assert_eq!(String::from_utf8_lossy(&again.stderr), "", "{asked:?} {least}");
        let [width, height] = [0, 1].map(|side| least.split('x').nth(side).unwrap().parse::<u32>().unwrap());
        let narrower = format!("{}x{height}", width - 20);
        let refused = answered(folder.path(), &[asked, &["--size", &narrower]].concat());
        assert_eq!(refused.status.code(), Some(2), "{asked:?} {narrower}");
    }
}

/// Every number with decimals that a picture shows follows from its table: a value as it is, as per cent, in ms instead of ns
/// or us, or the difference of two of one row; times that are rounded so that they add up may be off by a step more. A line or
/// two of a study's own words may tell of what its table does not list.
#[test]
fn every_number_of_a_picture_is_one_of_its_table() {
    let folder = tempfile::tempdir().unwrap();
    let even = ["--frames", "1200", "--set", "content.cv=0"];
    for kind in Kind::all() {
        let slug = kind.slug();
        run(folder.path(), &[&["figure", slug, "a.svg"], &even[..]].concat());
        run(folder.path(), &[&["figure", slug, "a.csv"], &even[..]].concat());
        let svg = fs::read_to_string(folder.path().join("a.svg")).unwrap();
        let known = values(&fs::read_to_string(folder.path().join("a.csv")).unwrap());
        let texts = texts(&Document::parse(&svg).unwrap());
        let shown: Vec<&str> = texts.iter().flat_map(|text| decimals(text)).collect();
        // Marks of an axis need not be ends of bins, which grow wider where values lie on a grid.
        let of_axis =
            |text: &str| slug == "distribution" && text.parse::<f64>().is_ok_and(|mark| (2.0 * mark).fract() == 0.0);
        let steps = if slug == "exposed-time" { 1.5 } else { 0.5 };
        let strange: Vec<&&str> = shown.iter().filter(|text| !follows(text, &known, steps) && !of_axis(text)).collect();
        // The codec's limits are shown as shares, levels and budgets are of the scenario.
        let most = match slug {
            "eyes-field" => shown.len() / 2 + 2,
            "the-run" => 3,
            _ if kind.is_study() => 4,
            _ => 0,
        };
        assert!(!shown.is_empty() && strange.len() <= most, "{slug}: {strange:?} of {shown:?}");
    }
}

/// Numbers with decimals in a text: `4.2` of `4.2 ms sooner`.
fn decimals(text: &str) -> Vec<&str> {
    let within = |letter: char| letter.is_ascii_digit() || letter == '.' || letter == '\u{2009}';
    let words = text.split(|letter: char| !within(letter)).map(|word| word.trim_matches(['.', '\u{2009}']));
    words.filter(|word| word.matches('.').count() == 1).collect()
}

/// Numbers of a table, and differences within its rows.
fn values(csv: &str) -> Vec<f64> {
    let mut known = Vec::new();
    for row in csv::Reader::from_reader(csv.as_bytes()).records().map(Result::unwrap) {
        let numbers: Vec<f64> = row.iter().filter_map(|cell| cell.parse().ok()).collect();
        if numbers.len() < 14 {
            known.extend(numbers.iter().flat_map(|one| numbers.iter().map(move |other| one - other)));
        }
        known.extend(numbers);
    }
    known
}

/// Whether a number is one of those known, to so many steps of its last decimal.
fn follows(shown: &str, known: &[f64], steps: f64) -> bool {
    let text = shown.replace('\u{2009}', "");
    let decimals = text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    let value: f64 = text.parse().unwrap();
    let near = (steps + 1e-6) * 10f64.powi(-(decimals as i32));
    known.iter().any(|one| [1.0, 100.0, 1e-6, 1e-3].iter().any(|scale| (one.abs() * scale - value).abs() <= near))
}

/// Runs a command line as a person would, in a shell, with another file to write.
#[cfg(unix)]
fn run_again(folder: &Path, command: &str, out: &str, instead: &str) {
    let program = std::path::PathBuf::from(cargo_bin_cmd!("framelap").get_program());
    let line = command.replacen(out, instead, 1);
    let mut shell = Command::new("/bin/sh");
    let output = shell.current_dir(folder).env("PATH", program.parent().unwrap()).args(["-c", &line]).output().unwrap();
    assert_eq!(String::from_utf8_lossy(&output.stderr), "", "{line}");
}

#[cfg(unix)]
#[test]
fn command_on_a_picture_makes_the_same_numbers() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("it's mine.ron"), "Scenario(name: \"Mine\", slices: (count: 5))").unwrap();
    let cases: [(&str, &[&str]); 5] = [
        ("outcomes", &[]),
        ("distribution", &["7", "1", "--seed", "9", "--measure", "stream", "--form", "tail"]),
        ("lanes", &["2", "--frame", "301", "--from", "-0.5", "--to", "12.25", "--set-baseline", "slices.count=3"]),
        ("exposed-time", &["it's mine.ron", "5", "--set", "link.rate_mbps=900", "--set-candidate", "name=Ours"]),
        ("slice-count", &["10", "--set-candidate", "encode.work.spread=Gamma"]),
    ];
    for (name, more) in cases {
        let svg = figure(folder.path(), name, "made.svg", more);
        let table = figure(folder.path(), name, "made.csv", more);
        let command = command(&svg);
        run_again(folder.path(), &command, "made.svg", "again.csv");
        assert_eq!(fs::read_to_string(folder.path().join("again.csv")).unwrap(), table, "{command}");
        run_again(folder.path(), &format!("SOURCE_DATE_EPOCH=1709164800 {command}"), "made.svg", "made.svg");
        assert_eq!(fs::read_to_string(folder.path().join("made.svg")).unwrap(), svg, "{command}");
    }
}

/// From any figure one command leads back to the same numbers.
#[cfg(unix)]
#[test]
fn command_of_every_figure_makes_its_table_again() {
    let folder = tempfile::tempdir().unwrap();
    for kind in Kind::all() {
        let more = ["3", "1", "--seed", "5", "--set", "content.cv=0", "--set-candidate", "slices.count=6"];
        let svg = figure(folder.path(), kind.slug(), "made.svg", &more);
        let table = figure(folder.path(), kind.slug(), "made.csv", &more);
        let command = command(&svg);
        run_again(folder.path(), &command, "made.svg", "again.csv");
        assert!(fs::read_to_string(folder.path().join("again.csv")).unwrap() == table, "{command}");
    }
}

/// Scenarios as they are after changes in the window: neither presets nor files.
#[cfg(unix)]
#[test]
fn command_for_scenarios_that_are_nowhere_saved_makes_the_same_numbers() {
    let folder = tempfile::tempdir().unwrap();
    let mut candidate = presets::find("7").unwrap().scenario();
    candidate.name = "A 'quoted' \"name\" & more".to_owned();
    candidate.pixels.layout = Layout::Foveated { center: 0.1 + 0.2, edge_density: 0.4 };
    candidate.decode.work.spread = Spread::Gamma { cv: 0.123_456_789 };
    candidate.run.frames = 300;
    candidate.run.warmup = 50;
    let mut baseline = Scenario { name: "Before".to_owned(), ..Scenario::default() };
    baseline.run.frames = 300;
    baseline.run.warmup = 50;
    baseline.run.seed = u64::MAX;
    let slide = Slide { size: Slide::SIZE, scale: 1.0, theme: ThemeChoice::Light };
    for slug in ["distribution", "exposed-time"] {
        let kind = Kind::named(slug).unwrap();
        let exhibit = Exhibit::new(kind, Given::from(baseline.clone()), Given::from(candidate.clone()));
        let [mut table, mut svg] = [Vec::new(), Vec::new()];
        exhibit.write(Format::Csv, &slide, "2024-02-29", "a.csv", &mut table).unwrap();
        exhibit.write(Format::Svg, &slide, "2024-02-29", "a.svg", &mut svg).unwrap();
        let command = command(&String::from_utf8(svg).unwrap());
        run_again(folder.path(), &command, "a.svg", "again.csv");
        assert_eq!(fs::read(folder.path().join("again.csv")).unwrap(), table, "{command}");
    }
}

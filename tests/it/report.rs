//! A head-to-head as one page: well-formed, on its own, safe whatever names hold, and with the numbers that other commands
//! give.

use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
#[cfg(unix)]
use std::process::Command;

use assert_cmd::cargo::cargo_bin_cmd;
use framelap::measure::measures;
use framelap::report::format::number;
use roxmltree::{Document, Node, ParsingOptions};
use serde_json::Value;

const SHORT: [&str; 4] = ["--frames", "400", "--warmup", "100"];
/// Markup, quotes, an entity, an override that turns the direction of writing around, letters written from right to left.
const HOSTILE: &str = "<script>alert(\"x\")</script> & 'quotes' ]]> --> \u{202e}\u{5d0}\u{5d1}";

fn run(folder: &Path, arguments: &[&str]) -> String {
    let mut command = cargo_bin_cmd!("framelap");
    let output = command.current_dir(folder).env("SOURCE_DATE_EPOCH", "1709164800").args(arguments).output().unwrap();
    // Warnings of a scenario are told there by `simulate`.
    assert!(arguments[0] == "simulate" || output.stderr.is_empty(), "{arguments:?}");
    assert_eq!(output.status.code(), Some(0), "{arguments:?}");
    String::from_utf8(output.stdout).unwrap()
}

fn report(folder: &Path, more: &[&str]) -> String {
    run(folder, &[&["report", "page.html"], &SHORT[..], more].concat());
    fs::read_to_string(folder.join("page.html")).unwrap()
}

fn parsed(page: &str) -> Document<'_> {
    let options = ParsingOptions { allow_dtd: true, ..ParsingOptions::default() };
    Document::parse_with_options(page, options).unwrap()
}

fn all<'a>(document: &'a Document<'a>, name: &str) -> Vec<Node<'a, 'a>> {
    document.descendants().filter(|node| node.tag_name().name() == name).collect()
}

fn by_id<'a>(document: &'a Document<'a>, id: &str) -> Node<'a, 'a> {
    document.descendants().find(|node| node.attribute("id") == Some(id)).unwrap_or_else(|| panic!("no {id}"))
}

/// All text below a node.
fn text(node: Node<'_, '_>) -> String {
    node.descendants().filter(Node::is_text).filter_map(|node| node.text()).collect()
}

/// The cells of every row of a body below a node.
fn rows<'a>(node: Node<'a, 'a>) -> Vec<Vec<Node<'a, 'a>>> {
    let bodies = node.descendants().filter(|node| node.tag_name().name() == "tbody");
    let rows = bodies.flat_map(|body| body.children().filter(|row| row.tag_name().name() == "tr"));
    rows.map(|row| row.children().filter(Node::is_element).collect()).collect()
}

/// The number of a cell in full, and as it is shown.
fn value(cell: Node<'_, '_>) -> Option<(f64, String)> {
    let data = cell.descendants().find(|node| node.tag_name().name() == "data")?;
    Some((data.attribute("value").unwrap().parse().unwrap(), text(data)))
}

/// Whether two numbers are the same; the reader of JSON may be wrong by the last bit.
fn same(one: Option<f64>, other: Option<f64>) -> bool {
    match (one, other) {
        (Some(one), Some(other)) => (one - other).abs() <= 4.0 * f64::EPSILON * other.abs(),
        (one, other) => one == other,
    }
}

/// Whether a text shows a number, rounded to the decimals that it has.
fn shows(shown: &str, full: f64) -> bool {
    let plain = shown.trim_start_matches('+');
    let digits = plain.split(' ').next().unwrap_or_default();
    let decimals = digits.split_once('.').map_or(0, |(_, decimals)| decimals.len());
    digits == number(full, decimals)
}

/// The command that the page bears.
#[cfg(unix)]
fn command(page: &str) -> String {
    text(by_id(&parsed(page), "command"))
}

#[test]
fn page_is_well_formed_and_stands_alone() {
    let folder = tempfile::tempdir().unwrap();
    for theme in ["light", "dark"] {
        let page = report(folder.path(), &["4", "1", "--theme", theme]);
        assert!(page.starts_with("<!DOCTYPE html>"));
        assert!(page.len() < 3_000_000, "{} bytes", page.len());
        let elsewhere: Vec<_> = page.match_indices("http").map(|(at, _)| &page[at - 7..at + 26]).collect();
        assert!(elsewhere.iter().all(|one| *one == "xmlns=\"http://www.w3.org/2000/svg"), "{elsewhere:?}");
        let document = parsed(&page);
        assert_eq!(document.root_element().attribute("lang"), Some("en"));
        for name in ["script", "img", "link", "iframe", "object", "image", "use"] {
            assert!(all(&document, name).is_empty(), "{name}");
        }
        for node in document.descendants().filter(Node::is_element) {
            let loads = node.attributes().find(|one| ["src", "href", "style", "onload"].contains(&one.name()));
            assert_eq!(loads.map(|one| one.value()), None, "{node:?}");
        }
        let ids: Vec<_> = document.descendants().filter_map(|node| node.attribute("id")).collect();
        assert_eq!(ids.iter().collect::<BTreeSet<_>>().len(), ids.len(), "an id stands twice");
        for node in document.descendants().filter(|node| node.has_attribute("clip-path")) {
            let id = node.attribute("clip-path").unwrap().trim_start_matches("url(#").trim_end_matches(')');
            assert!(ids.contains(&id), "{id}");
        }
        assert_eq!(all(&document, "h1").len(), 1);
        assert!(all(&document, "h2").len() >= 10);
        assert!(all(&document, "th").iter().all(|head| head.has_attribute("scope")));
        assert!(
            all(&document, "table")
                .iter()
                .all(|table| table.children().any(|node| node.tag_name().name() == "caption"))
        );
        let figures = all(&document, "figure");
        assert_eq!(figures.len(), 9);
        for figure in figures {
            assert!(figure.descendants().any(|node| node.tag_name().name() == "figcaption"));
            let svg = figure.descendants().find(|node| node.tag_name().name() == "svg").unwrap();
            assert_eq!(svg.attribute("role"), Some("img"));
            let named = svg.attribute("aria-labelledby").unwrap().split(' ').collect::<Vec<_>>();
            assert!(named.iter().all(|id| !text(by_id(&document, id)).is_empty()), "{named:?}");
            assert!(svg.descendants().filter(|node| node.tag_name().name() == "text").count() > 8);
        }
    }
}

#[test]
fn names_and_notes_are_text_whatever_they_hold() {
    let folder = tempfile::tempdir().unwrap();
    let name = format!("{HOSTILE} {}", "very long ".repeat(300).trim_end());
    let scenario =
        format!("Scenario(name: {name:?}, notes: {:?}, slices: (count: 5))", format!("{HOSTILE}\nnext \u{7}line"));
    fs::write(folder.path().join("a & b.ron"), scenario).unwrap();
    let page = report(folder.path(), &["a & b.ron", "1"]);
    let document = parsed(&page);
    assert!(all(&document, "script").is_empty());
    let heading = all(&document, "h1")[0];
    let named: Vec<String> = heading.children().filter(|node| node.tag_name().name() == "bdi").map(text).collect();
    assert_eq!(named[0], name);
    assert!(text(by_id(&document, "designs")).contains(HOSTILE));
    assert!(text(by_id(&document, "scenario-candidate")).contains("count: 5"));
    assert!(!page.contains('\u{7}'), "what XML cannot hold is left out");
}

/// Every measure, by its name in the JSON output of `simulate`, in full and as shown.
#[test]
fn measures_are_those_of_simulate() {
    let folder = tempfile::tempdir().unwrap();
    for pair in [["2", "1"], ["4", "1"]] {
        let page = report(folder.path(), &pair);
        let document = parsed(&page);
        let json = [pair[1], pair[0]].map(|preset| {
            let text = run(folder.path(), &[&["simulate", preset, "--json"], &SHORT[..]].concat());
            serde_json::from_str::<Value>(&text).unwrap()
        });
        let mut compared = 0;
        for row in rows(by_id(&document, "all-measures")) {
            let path = format!("/{}", text(row[1]).replace('.', "/"));
            // A share is kept as it is and shown in per cent.
            let shown_as = measures::find(&text(row[1])).unwrap().for_people();
            assert_eq!(text(row[2]), shown_as.unit);
            for side in 0..2 {
                let Some(found) = json[side].pointer(&path) else { continue };
                let told = value(row[3 + side]);
                assert!(same(told.as_ref().map(|(full, _)| *full), found.as_f64()), "{path}: {told:?}, {found}");
                if let Some((full, shown)) = told {
                    assert!(shows(&shown, full * shown_as.factor), "{path}: {shown} of {full}");
                    compared += 1;
                }
            }
        }
        assert!(compared > 150, "{compared}");
        for (lines, at, words) in [("budget", 0, [" met", "not met"]), ("allowances", 5, [" within", " over"])] {
            for (place, line) in json[1][lines].as_array().unwrap().iter().enumerate() {
                let row = &rows(by_id(&document, "budget"))[at + place];
                assert_eq!(text(row[0]), line["label"].as_str().unwrap());
                assert!(same(value(row[2]).map(|(full, _)| full), line["value"].as_f64()), "{line}");
                let word = text(row[4]);
                assert!(word.ends_with(words[usize::from(line["met"] != true)]), "{word}");
                assert!(line["met"] == true || !word.starts_with('✓'), "{word}");
            }
        }
    }
}

#[test]
fn gains_and_ledger_are_those_of_the_figures() {
    let folder = tempfile::tempdir().unwrap();
    let long = ["--frames", "1200"];
    run(folder.path(), &[&["report", "page.html"], &long[..]].concat());
    let page = fs::read_to_string(folder.path().join("page.html")).unwrap();
    let document = parsed(&page);
    let table = |name: &str| -> Vec<csv::StringRecord> {
        run(folder.path(), &[&["figure", name, "a.csv"], &long[..]].concat());
        csv::Reader::from_path(folder.path().join("a.csv")).unwrap().records().map(Result::unwrap).collect()
    };
    let full = |cell: Node<'_, '_>| {
        value(cell).map(|(full, shown)| {
            assert!(shows(&shown, full), "{shown} of {full}");
            full
        })
    };
    let verdict = table("verdict");
    let gains = rows(by_id(&document, "verdict"));
    assert_eq!(gains.len(), 2);
    for (row, record) in gains.iter().zip(&verdict) {
        for (cell, column) in [(1, 3), (2, 4), (3, 5), (4, 6)] {
            assert_eq!(full(row[cell]), record[column].parse().ok(), "{record:?}");
        }
        let [gain, half]: [f64; 2] = [6, 7].map(|column| record[column].parse().unwrap());
        let ends: Vec<f64> = row[5].descendants().filter_map(|node| node.attribute("value")?.parse().ok()).collect();
        assert_eq!(ends, [gain - half, gain + half]);
    }
    let sentence = text(by_id(&document, "verdict"));
    let gain: f64 = verdict[0][5].parse().unwrap();
    assert!(sentence.contains(&format!("{} ms sooner at the median", number(gain, 1))), "{sentence}");
    let mut compared = 0;
    for (row, record) in rows(by_id(&document, "exposed")).iter().zip(&table("exposed-time")) {
        assert_eq!(text(row[0]), record[0]);
        for (cell, column) in [(1, 3), (2, 4), (3, 5)] {
            let found = value(row[cell]);
            assert_eq!(found.as_ref().map(|(full, _)| *full), record[column].parse().ok(), "{record:?}");
            // Parts are rounded so that they add up: by a step at most, and a change is a difference of two.
            if let Some((full, shown)) = found {
                let shown: f64 = shown.replace('\u{2212}', "-").parse().unwrap();
                assert!((shown - full).abs() < 0.002_5, "{shown} of {full}");
            }
            compared += 1;
        }
    }
    assert!(compared >= 30, "{compared}");
}

/// Runs a command line as a person would, in a shell; gives what it prints.
#[cfg(unix)]
fn in_shell(folder: &Path, line: &str) -> String {
    let program = std::path::PathBuf::from(cargo_bin_cmd!("framelap").get_program());
    let mut shell = Command::new("/bin/sh");
    let shell = shell.current_dir(folder).env("PATH", program.parent().unwrap()).env("SOURCE_DATE_EPOCH", "1709164800");
    let output = shell.args(["-c", line]).output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{line}");
    String::from_utf8(output.stdout).unwrap()
}

/// A dark page is printed as the light one is: its margins stay white on any printer.
#[test]
fn page_is_printed_dark_on_light_whatever_the_theme() {
    let folder = tempfile::tempdir().unwrap();
    let [light, dark] = ["light", "dark"].map(|theme| report(folder.path(), &["4", "1", "--theme", theme]));
    let on_paper =
        |page: &str| page.rsplit_once("@media print{:root{").unwrap().1.split_once('}').unwrap().0.to_owned();
    assert_eq!(on_paper(&light), on_paper(&dark));
    assert!(on_paper(&dark).starts_with("color-scheme:light;--paper:#fff;"));
    let pictures = |page: &str, class: &str| -> Vec<String> {
        let document = parsed(page);
        let in_figure = |div: &Node| div.parent_element().is_some_and(|parent| parent.has_tag_name("figure"));
        let of =
            all(&document, "div").into_iter().filter(|div| div.attribute("class") == Some(class) && in_figure(div));
        of.map(|div| page[div.range()].replace("-printed", "").split_once('>').unwrap().1.to_owned()).collect()
    };
    assert!(pictures(&dark, "printed") == pictures(&light, "scroll"), "another picture is printed");
    let counts = ["scroll shown", "printed"].map(|class| (pictures(&dark, class).len(), pictures(&light, class).len()));
    assert_eq!(counts, [(9, 0), (9, 0)]);
}

#[cfg(unix)]
#[test]
fn command_on_the_page_makes_the_same_page() {
    let folder = tempfile::tempdir().unwrap();
    let scenario = format!("Scenario(name: {HOSTILE:?}, slices: (count: 3))");
    fs::write(folder.path().join("it's mine.ron"), scenario).unwrap();
    let cases: [&[&str]; 4] = [
        &[],
        &["4", "1", "--theme", "dark"],
        &["it's mine.ron", "5", "--seed", "9", "--set-candidate", "link.rate_mbps=900"],
        &["2", "--set", "notes=it's a note", "--set-baseline", "slices.count=2"],
    ];
    for more in cases {
        let page = report(folder.path(), more);
        fs::remove_file(folder.path().join("page.html")).unwrap();
        in_shell(folder.path(), &command(&page));
        let again = fs::read_to_string(folder.path().join("page.html")).unwrap();
        assert!(again == page, "{}", command(&page));
    }
}

/// The page alone is enough: its scenarios, saved, give its numbers, and so do its commands.
#[cfg(unix)]
#[test]
fn scenarios_and_commands_on_the_page_make_its_numbers() {
    let folder = tempfile::tempdir().unwrap();
    let page = report(folder.path(), &["7", "1", "--seed", "3", "--set-candidate", "slices.count=6"]);
    let document = parsed(&page);
    for (side, column) in [("baseline", 3), ("candidate", 4)] {
        let ron = by_id(&document, &format!("scenario-{side}"));
        let ron = ron.descendants().find(|node| node.tag_name().name() == "pre").map(text).unwrap();
        fs::write(folder.path().join(format!("{side}.ron")), ron).unwrap();
        let provenance = rows(by_id(&document, "provenance"));
        let line = provenance.iter().find(|row| text(row[0]) == format!("Measures of the {side}")).unwrap();
        let saved = run(folder.path(), &["simulate", &format!("{side}.ron"), "--json"]);
        let [again, saved] = [in_shell(folder.path(), &text(line[1])), saved];
        let [again, saved]: [Value; 2] = [again, saved].map(|text| serde_json::from_str(&text).unwrap());
        let measures = rows(by_id(&document, "all-measures"));
        let p99 = measures.iter().find(|row| text(row[1]) == "pose_to_photon_ms.p99").unwrap();
        let told = value(p99[column]).unwrap().0;
        for one in [again, saved] {
            assert!(same(one.pointer("/pose_to_photon_ms/p99").unwrap().as_f64(), Some(told)), "{side}");
        }
    }
}

//! One clear message for each wrong file.

use std::fs;
use std::path::MAIN_SEPARATOR;

use super::steady;
use crate::scenario::{Pacing, Scenario, Spread};
use crate::work::read;

const HEADER: &str = "frame,simulate_ms,render_ms,encode_ms,decode_ms,bits,intra,uplink_ms,link_delay_ms,\
    clock_error_us,row_share_0,row_share_1,bit_share_0,bit_share_1";
const FIRST: &str = "0,1.0,2.0,3.0,4.0,1000,1,0.1,0.2,-3.0,0.5,0.5,0.25,0.75";
const SECOND: &str = "1,1.0,2.0,3.0,4.0,1000,0,0.1,0.2,-3.0,0.5,0.5,0.25,0.75";

fn scenario() -> Scenario {
    let mut scenario = steady(2);
    scenario.slices.count = 2;
    scenario
}

/// What is said about a folder with this one file, the folder's name left out.
fn said(scenario: &Scenario, file: &str, content: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(file), content).unwrap();
    let message = read(folder.path(), scenario).unwrap_err().to_string();
    message.strip_prefix(&format!("{}{MAIN_SEPARATOR}", folder.path().display())).unwrap_or(&message).to_owned()
}

/// What is said about frames of which the second has one value replaced.
fn said_of(column: &str, value: &str) -> String {
    let place = HEADER.split(',').position(|name| name == column).unwrap();
    let mut values: Vec<&str> = SECOND.split(',').collect();
    values[place] = value;
    let second = values.join(",");
    said(&scenario(), "frames.csv", format!("{HEADER}\n{FIRST}\n{second}\n").as_bytes())
}

#[test]
fn values_out_of_place() {
    let time = "allowed: a number from 0 to 10000000 ms";
    for (column, value, expected) in [
        ("simulate_ms", "fast", format!("found `fast`, {time}")),
        ("render_ms", "NaN", format!("found `NaN`, {time}")),
        ("encode_ms", "inf", format!("found `inf`, {time}")),
        ("decode_ms", "-0.5", format!("found `-0.5`, {time}")),
        ("uplink_ms", "1e300", format!("found `1e300`, {time}")),
        ("link_delay_ms", "", format!("found nothing, {time}")),
        ("link_delay_ms", "0,5", "found a row of 15 values, allowed: 14 values, one for each column name".to_owned()),
        ("clock_error_us", "-1e8", "found `-1e8`, allowed: a number from -10000000 to 10000000 us".to_owned()),
        ("bits", "1000.5", "found `1000.5`, allowed: a whole number from 0 to 10000000000".to_owned()),
        ("bits", "-1", "found `-1`, allowed: a whole number from 0 to 10000000000".to_owned()),
        ("bits", "1e30", "found `1e30`, allowed: a whole number from 0 to 10000000000".to_owned()),
        ("intra", "yes", "found `yes`, allowed: a whole number from 0 to 1".to_owned()),
        ("frame", "2", "found `2`, allowed: 1 (rows count from 0, in order, each once)".to_owned()),
        ("frame", "0", "found `0`, allowed: 1 (rows count from 0, in order, each once)".to_owned()),
        ("row_share_1", "1.5", "found `1.5`, allowed: a number from 0 to 1".to_owned()),
        ("render_ms", &"9".repeat(400), format!("found `{}…`, {time}", "9".repeat(60))),
    ] {
        let place = if value.contains(',') { String::new() } else { format!(": column {column}") };
        assert_eq!(said_of(column, value), format!("frames.csv:3{place}: {expected}"));
    }
    for (value, sum) in [("0.76", "1.01"), ("0.74", "0.99"), ("0.750002", "1.000002")] {
        assert_eq!(
            said_of("bit_share_1", value),
            format!(
                "frames.csv:3: column bit_share_0: found shares that sum to {sum}, allowed: shares that sum to 1, \
                 give or take 0.000001"
            )
        );
    }
}

#[test]
fn frames_that_do_not_fit_the_scenario() {
    let said = |scenario: &Scenario, text: &str| said(scenario, "frames.csv", text.as_bytes());
    assert_eq!(
        said(&scenario(), &format!("{HEADER}\n{FIRST}\n")),
        "frames.csv: found 1 frame, allowed: at least 2, as many as the run has (run.frames)"
    );
    let mut three = scenario();
    three.slices.count = 3;
    let text = format!("{HEADER}\n{FIRST}\n{SECOND}\n");
    let missing = "found no such column, allowed: columns in any order, this one among them";
    assert_eq!(said(&three, &text), format!("frames.csv:1: column row_share_2: {missing}"));
    let mut one = scenario();
    one.slices.count = 1;
    assert_eq!(
        said(&one, &text),
        "frames.csv:1: column row_share_1: found a share of one slice more, allowed: row_share_0 to row_share_0, \
         as many as the scenario's slices.count"
    );
    let mut intervals = scenario();
    intervals.pacing = Pacing::Intervals { mean_ms: 10.0, spread: Spread::Constant };
    assert_eq!(said(&intervals, &text), format!("frames.csv:1: column interval_ms: {missing}"));
    intervals.run.frames = 200;
    let rows: Vec<String> = (0..200).map(|frame| format!("{frame}{},1000000\n", &SECOND[1..])).collect();
    let text = format!("{HEADER},interval_ms\n{}", rows.concat());
    assert_eq!(
        said(&intervals, &text),
        "frames.csv: found intervals of 200000000 ms together, allowed: up to 100000000 ms"
    );
}

#[test]
fn files_that_are_no_tables() {
    let frames = |content: &[u8]| said(&scenario(), "frames.csv", content);
    let empty = "found an empty file, allowed: a line of column names and a row of numbers each";
    assert_eq!(frames(b""), format!("frames.csv: {empty}"));
    assert_eq!(frames(b"\n \n"), format!("frames.csv: {empty}"));
    let torn = format!("{HEADER}\n{FIRST}\n1,1.0,2.");
    assert_eq!(
        frames(torn.as_bytes()),
        "frames.csv:3: found a row of 3 values, allowed: 14 values, one for each column name"
    );
    let mut bytes = format!("{HEADER}\n{FIRST}\n").into_bytes();
    bytes.extend(b"1,1.0,\xff\xfe");
    assert_eq!(frames(&bytes), "frames.csv:3: found bytes that are not UTF-8, allowed: UTF-8 text");
    let twice = format!("{HEADER},bits\n{FIRST},1\n{SECOND},1\n");
    assert_eq!(frames(twice.as_bytes()), "frames.csv:1: found column `bits` twice, allowed: each column once");
    assert_eq!(
        frames(b"{\"not\": \"csv\"}\n"),
        "frames.csv:1: column frame: found no such column, allowed: columns in any order, this one among them"
    );
    let folder = tempfile::tempdir().unwrap();
    fs::create_dir(folder.path().join("losses.csv")).unwrap();
    let message = read(folder.path(), &scenario()).unwrap_err().to_string();
    assert!(message.ends_with("losses.csv: found a folder, allowed: a CSV file"), "{message}");
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("nowhere", folder.path().join("frames.csv")).unwrap();
        let message = read(folder.path(), &scenario()).unwrap_err().to_string();
        assert!(message.contains("frames.csv: cannot be read: "), "a link to nothing is not absent: {message}");
    }
}

#[test]
fn other_tables() {
    let said = |file: &str, content: &str| said(&scenario(), file, content.as_bytes());
    for (file, content, expected) in [
        (
            "refreshes.csv",
            "refresh,compose_ms\n",
            "refreshes.csv: found no refresh, allowed: at least one; the last repeats",
        ),
        (
            "refreshes.csv",
            "refresh,compose_ms\n0,1\n1,1\n3,1\n",
            "refreshes.csv:4: column refresh: found `3`, allowed: 2 (rows count from 0, in order, each once)",
        ),
        (
            "refreshes.csv",
            "refresh,compose_ms\n0,-1\n",
            "refreshes.csv:2: column compose_ms: found `-1`, allowed: a number from 0 to 10000000 ms",
        ),
        (
            "closures.csv",
            "start_ms,length_ms\n-1,5\n",
            "closures.csv:2: column start_ms: found `-1`, allowed: a number from 0 to 1000000000 ms",
        ),
        (
            "closures.csv",
            "start_ms,length_ms\n1,1e10\n",
            "closures.csv:2: column length_ms: found `1e10`, allowed: a number from 0 to 1000000000 ms",
        ),
        (
            "losses.csv",
            "frame,slice,try,lost\n0,2,0,1\n",
            "losses.csv:2: column slice: found `2`, allowed: a whole number from 0 to 1",
        ),
        (
            "losses.csv",
            "frame,slice,try,lost\n0,1,11,1\n",
            "losses.csv:2: column try: found `11`, allowed: a whole number from 0 to 10",
        ),
        (
            "losses.csv",
            "frame,slice,try,lost\n0,1,0,-1\n",
            "losses.csv:2: column lost: found `-1`, allowed: a whole number from 0 to 1000000000",
        ),
        (
            "losses.csv",
            "frame,slice,try,lost\n1,1,0,1\n0,0,0,1\n1,1,0,2\n",
            "losses.csv:4: found frame 1, slice 1, try 0 again (first in line 2), allowed: each frame, slice and \
             try once",
        ),
        (
            "losses.csv",
            "frame,slice,lost\n0,0,1\n",
            "losses.csv:1: column try: found no such column, allowed: columns in any order, this one among them",
        ),
    ] {
        assert_eq!(said(file, content), expected);
    }
}

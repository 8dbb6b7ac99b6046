//! Tables leave and come back the same.

use std::fs;
use std::path::Path;

use super::steady;
use crate::scenario::load;
use crate::scenario::{Layout, Pacing, Repair, Scenario, Shape, Spread};
use crate::work::{Loaded, WorkTable, draw, read, write};

fn there_and_back(scenario: &Scenario, table: &WorkTable) -> Loaded {
    let folder = tempfile::tempdir().unwrap();
    let inner = folder.path().join("made/on the way");
    write(&inner, scenario, table).unwrap();
    read(&inner, scenario).unwrap()
}

fn awkward() -> Scenario {
    let mut scenario = Scenario::default();
    scenario.run.frames = 300;
    scenario.pixels.layout = Layout::Foveated { center: 0.3, edge_density: 0.4 };
    scenario.slices.count = 5;
    scenario.slices.shape = Shape::Geometric { ratio: 0.05 };
    scenario.slices.spread_cv = 0.5;
    scenario.stream.intra.every = Some(7);
    scenario.link.loss = 0.2;
    scenario.link.repair = Repair::Resend { tries: 10 };
    scenario.link.closures.per_minute = 600.0;
    scenario.pacing = Pacing::Intervals { mean_ms: 11.0, spread: Spread::Exponential };
    scenario
}

#[test]
fn what_is_written_reads_back_equal() {
    let mut whole_frames = steady(20);
    whole_frames.slices.count = 1;
    whole_frames.slices.spread_cv = 0.3;
    let short = || {
        let mut scenario = Scenario::default();
        scenario.run.frames = 100;
        scenario
    };
    for scenario in [short(), awkward(), whole_frames] {
        let table = draw(&scenario);
        let loaded = there_and_back(&scenario, &table);
        assert_eq!(loaded.absent, Vec::<&str>::new());
        assert!(loaded.table == table, "{}", scenario.slices.count);
    }
}

#[test]
fn the_scenario_lies_beside_its_table() {
    let folder = tempfile::tempdir().unwrap();
    let scenario = awkward();
    write(folder.path(), &scenario, &draw(&scenario)).unwrap();
    assert_eq!(load(&folder.path().join("scenario.ron")).unwrap(), scenario);
    let mut names: Vec<_> = fs::read_dir(folder.path()).unwrap().map(|entry| entry.unwrap().file_name()).collect();
    names.sort();
    assert_eq!(names, ["closures.csv", "frames.csv", "losses.csv", "refreshes.csv", "scenario.ron"]);
}

#[test]
fn a_shorter_run_reads_the_beginning() {
    let mut scenario = awkward();
    let table = draw(&scenario);
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), &scenario, &table).unwrap();
    scenario.run.frames = 100;
    let loaded = read(folder.path(), &scenario).unwrap().table;
    assert_eq!(loaded.frames, table.frames[..100]);
    assert_eq!(loaded.compose_ns, table.compose_ns);
    let early: Vec<_> = table.losses.rows().iter().filter(|row| row.frame < 100).copied().collect();
    assert_eq!(loaded.losses.rows(), early);
}

#[test]
fn what_is_absent_is_drawn_and_named() {
    let scenario = awkward();
    let table = draw(&scenario);
    let all = ["frames.csv", "refreshes.csv", "closures.csv", "losses.csv"];
    for absent in all {
        let folder = tempfile::tempdir().unwrap();
        write(folder.path(), &scenario, &table).unwrap();
        fs::remove_file(folder.path().join(absent)).unwrap();
        let loaded = read(folder.path(), &scenario).unwrap();
        assert_eq!(loaded, Loaded { table: table.clone(), absent: vec![absent] });
    }
    let empty = tempfile::tempdir().unwrap();
    assert_eq!(read(empty.path(), &scenario).unwrap(), Loaded { table: table.clone(), absent: all.to_vec() });
}

#[test]
fn a_lone_file_is_the_frames() {
    let (scenario, mut other) = (awkward(), awkward());
    other.run.seed = 99;
    let table = draw(&scenario);
    let folder = tempfile::tempdir().unwrap();
    write(folder.path(), &scenario, &table).unwrap();
    let file = folder.path().join("measured");
    fs::rename(folder.path().join("frames.csv"), &file).unwrap();
    let loaded = read(&file, &other).unwrap();
    assert_eq!(loaded.absent, ["refreshes.csv", "closures.csv", "losses.csv"]);
    assert_eq!(loaded.table.frames, table.frames);
    assert_eq!(loaded.table.bit_shares, table.bit_shares);
    assert_ne!(loaded.table.losses, table.losses, "drawn with the other seed");
}

const MINIMAL: &str = "\u{feff} intra ,bits,frame,note,decode_ms,encode_ms,render_ms,simulate_ms,uplink_ms,\
    link_delay_ms,clock_error_us,bit_share_1,bit_share_0,row_share_0,row_share_1\r\n\
    1, 1000 ,0,first,4,3.5,2.000001,1e-3,0.25,0.125,-0.001,0.25,0.75,0.5,0.5\r\n\
    0,0,1,\"a, b\",0,0,0,0,0,0,-1234.567,0.3333333,0.6666666,0.5,0.5";

/// Columns in any order, further columns, blanks, CRLF, a byte order mark and no newline at the end; shares rounded.
#[test]
fn columns_are_found_by_name() {
    let mut scenario = steady(2);
    scenario.slices.count = 2;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("frames.csv");
    fs::write(&file, MINIMAL).unwrap();
    let table = read(&file, &scenario).unwrap().table;
    let first = table.frames[0];
    let costs = (first.simulate_ns, first.render_ns, first.encode_ns, first.decode_ns);
    assert_eq!(costs, (1000, 2_000_001, 3_500_000, 4_000_000));
    assert_eq!((first.uplink_ns, first.link_delay_ns, first.clock_error_ns), (250_000, 125_000, -1));
    assert_eq!((first.bits, first.intra, first.interval_ns), (1000, true, 0));
    assert_eq!((table.frames[1].clock_error_ns, table.frames[1].intra), (-1_234_567, false));
    assert_eq!(table.row_shares.of(1), [0.5, 0.5]);
    assert_eq!(table.bit_shares.of(0), [0.75, 0.25]);
    assert_eq!(table.bit_shares.of(1), [0.666_666_6, 0.333_333_3]);
}

#[test]
fn closures_come_in_any_order_and_merge() {
    let scenario = steady(10);
    let folder = tempfile::tempdir().unwrap();
    let text = "length_ms,start_ms\n5,20\n0,1\n10,10\n0.000001,30\n";
    fs::write(folder.path().join("closures.csv"), text).unwrap();
    let closures = read(folder.path(), &scenario).unwrap().table.closures;
    let ends: Vec<_> = closures.iter().map(|closure| (closure.start_ns, closure.end_ns)).collect();
    assert_eq!(ends, [(10_000_000, 25_000_000), (30_000_000, 30_000_001)]);
}

/// Files with a header alone say that nothing is lost and the link is never closed.
#[test]
fn no_rows_are_no_closures_and_no_losses() {
    let scenario = awkward();
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("closures.csv"), "start_ms,length_ms\n").unwrap();
    fs::write(folder.path().join("losses.csv"), "frame,slice,try,lost").unwrap();
    let loaded = read(folder.path(), &scenario).unwrap();
    assert_eq!(loaded.absent, ["frames.csv", "refreshes.csv"]);
    assert!(loaded.table.closures.is_empty() && loaded.table.losses.rows().is_empty());
}

#[test]
fn writing_into_a_file_is_an_error() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("there");
    fs::write(&file, "mine").unwrap();
    let scenario = steady(10);
    let error = write(&file, &scenario, &draw(&scenario)).unwrap_err().to_string();
    assert!(error.starts_with(&format!("{}: cannot be written: ", file.display())), "{error}");
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
    let missing = read(Path::new("/nowhere/at all"), &scenario).unwrap_err().to_string();
    assert!(missing.starts_with("/nowhere/at all: cannot be read: "), "{missing}");
}

//! Small files, read as their mapping says.

use std::fs;

use super::gather::is;
use super::*;

fn read(text: &str) -> (Sheet, Mapping) {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("m.csv");
    fs::write(&path, text).unwrap();
    let sheet = Sheet::read(&path).unwrap();
    let mapping = Mapping::propose(&sheet);
    (sheet, mapping)
}

#[test]
fn units_become_ms_and_bits() {
    let (sheet, mapping) = read("frame,slices,intra,bytes,encode_us\n0,8,1,100,3000\n1,8,0,50,\n");
    let made = Measured::of(&sheet, &mapping);
    assert_eq!((made.frames, made.slices.clone(), made.starts.clone()), (2, vec![8, 8], vec![0]));
    assert_eq!(made.intra, Some(vec![true, false]));
    assert_eq!(made.of_role(Role::Size).unwrap(), [800.0, 400.0]);
    let encode = made.of_role(Role::Encode).unwrap();
    assert!(is(encode[0], 3.0) && encode[1].is_nan());
    assert_eq!(made.of_role(Role::Decode), None);
}

#[test]
fn slices_add_up_to_frames() {
    let (sheet, mapping) = read("frame,slice,encode_ms,kb\n0,0,2,1\n0,1,1,2\n0,2,1,3\n1,0,3,4\n1,1,1,4\n");
    let made = Measured::of(&sheet, &mapping);
    assert_eq!((made.frames, made.slices.clone()), (2, vec![3, 2]));
    assert_eq!(made.of_role(Role::Encode).unwrap(), [4.0, 4.0]);
    assert_eq!(made.of_role(Role::Size).unwrap(), [48_000.0, 64_000.0]);
    assert_eq!(made.first_more[0].values, [1.0, 2.0]);
}

#[test]
fn one_group_its_runs_and_what_is_skipped() {
    let text = "mode,slices,frame,encode_ms\na,1,0,1\na,1,1,2\na,1,2,3\na,4,0,4\na,4,1,5\nb,1,0,9\n";
    let (sheet, mut mapping) = read(text);
    let made = Measured::of(&sheet, &mapping);
    assert_eq!(
        (made.of_role(Role::Encode).unwrap(), made.starts.clone()),
        (&[1.0, 2.0, 3.0, 4.0, 5.0][..], vec![0, 3])
    );
    let [first, second] = made.halves();
    assert_eq!(first.of_role(Role::Encode).unwrap(), [1.0, 4.0]);
    assert_eq!(second.of_role(Role::Encode).unwrap(), [2.0, 3.0, 5.0]);
    assert_eq!(second.starts, [0, 2]);
    mapping.skip = 1;
    assert_eq!(Measured::of(&sheet, &mapping).of_role(Role::Encode).unwrap(), [2.0, 3.0, 5.0]);
    mapping.group = Some("b".to_owned());
    assert_eq!(Measured::of(&sheet, &mapping).frames, 0);
}

#[test]
fn what_cannot_be_is_listed_by_line() {
    let (sheet, mapping) = read("frame,slices,intra,encode_ms\n0,1,0,-1\n1,0,0,1\n2,1,2,1\n3,1,0,1\n");
    let made = Measured::of(&sheet, &mapping);
    assert_eq!((made.frames, made.bad.count), (1, 3));
    let told: Vec<(u64, &str)> = made.bad.listed.iter().map(|row| (row.line, row.cause.as_str())).collect();
    assert_eq!(told[0], (2, "encode: found -1, allowed: 0 to 10 000 s"));
    assert_eq!(told[1], (3, "slices: found 0, allowed: a whole number, 1 to 64"));
    assert_eq!(told[2], (4, "intra: found 2, allowed: 0 or 1"));
}

#[test]
fn slices_without_frame_numbers_begin_a_frame_where_they_start_again() {
    let (sheet, mapping) = read("slice,encode_ms\n0,1\n1,2\n2,3\n0,4\n1,5\n0,6\n0,7\n");
    let made = Measured::of(&sheet, &mapping);
    assert_eq!((made.slices.clone(), made.starts.clone()), (vec![3, 2, 1, 1], vec![0]));
    assert_eq!(made.of_role(Role::Encode).unwrap(), [6.0, 9.0, 6.0, 7.0]);
}

#[test]
fn frame_numbers_that_repeat_are_counted() {
    let (sheet, mapping) = read("frame,encode_ms\n0,1\n0,2\n1,3\n1,4\n2,5\n");
    assert_eq!(Measured::of(&sheet, &mapping).repeated, 2);
}

#[test]
fn what_is_too_much_or_missing_is_told() {
    let (sheet, mapping) =
        read("frame,intra,bytes,encode_ms\n0,0,1e300,1\n1,,1,1\n,0,1,1\n3,0,1,1e9\n4,0,1,\n5,1,2,3\n");
    let made = Measured::of(&sheet, &mapping);
    let told: Vec<(u64, &str)> = made.bad.listed.iter().map(|row| (row.line, row.cause.as_str())).collect();
    assert!(told[0].1.starts_with("size: found 1000000000000000") && told[0].1.contains("10 Gbit"), "{told:?}");
    assert_eq!(told[1], (3, "intra: found nothing, allowed: 0 or 1"));
    assert_eq!(told[2], (4, "frame: found nothing, allowed: a number"));
    assert!(told[3].1.starts_with("encode: found 1000000000"), "{told:?}");
    assert_eq!((made.frames, made.bad.count), (2, 4));
}

#[test]
fn instants_that_go_back_are_bad_rows_and_long_clocks_keep_their_digits() {
    let row = |k: u64| {
        let came = 1_700_000_000_000_000_u64 + k * 10_000;
        format!("{k},{came},{}", if k == 7 { came - 1 } else { came + 4_321 })
    };
    let rows: Vec<String> = (0..40).map(row).collect();
    let (sheet, mapping) = read(&format!("frame,encode_in_us,encode_out_us\n{}\n", rows.join("\n")));
    let made = Measured::of(&sheet, &mapping);
    assert_eq!((made.frames, made.bad.count), (39, 1));
    assert_eq!(made.bad.listed[0].cause, "encode: found out 0.001 ms before in, allowed: not before");
    let passage = made.passage(Role::Encode).unwrap();
    // What follows the bad row follows something unknown.
    assert_eq!((passage.idle, passage.back_to_back), (37, 0));
    assert!((passage.through_ms[20] - 4.321).abs() < 1e-9 && passage.idle_ms[7].is_nan());
}

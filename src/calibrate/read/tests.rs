//! Tables as they come from elsewhere: separators, decimal commas, quotes, and what is no table.

use std::fs;

use super::*;

fn read(text: &[u8]) -> Result<Sheet, ReadError> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("m.csv");
    fs::write(&path, text).unwrap();
    Sheet::read(&path)
}

#[track_caller]
fn numbers(sheet: &Sheet, name: &str) -> Vec<f64> {
    sheet.column(name).unwrap().numbers().unwrap().to_vec()
}

#[test]
fn names_comments_missing_cells_and_words() {
    let sheet =
        read(b"# a bench\nmode,frame,encode_ms\nslow,0,1.5\n# more\nslow,1,\nfast,2,NA\nfast,3,2e-1\n").unwrap();
    assert!(sheet.header && sheet.rows == 4 && sheet.bad.count == 0 && sheet.separator == ',');
    assert_eq!(numbers(&sheet, "frame"), [0.0, 1.0, 2.0, 3.0]);
    let encode = numbers(&sheet, "encode_ms");
    assert!(encode[1].is_nan() && encode[2].is_nan());
    assert_eq!(encode.into_iter().filter(|x| !x.is_nan()).collect::<Vec<_>>(), vec![1.5, 0.2]);
    let Cells::Words(words) = &sheet.column("mode").unwrap().cells else { panic!() };
    assert_eq!((words.different().len(), words.at(2)), (2, Some("fast")));
    assert_eq!(sheet.preview(2), [["slow", "0", "1.5"], ["slow", "1", ""]]);
}

#[test]
fn no_names_and_other_separators() {
    for text in ["1;2,5\n2;3,5\n", "1\t2.5\n2\t3.5\n", "1|2.5\n2|3.5\n", "1, 2.5\r\n2, 3.5\r\n", "\u{feff}1,2.5\n2,3.5"]
    {
        let sheet = read(text.as_bytes()).unwrap();
        assert!(!sheet.header, "{text:?}");
        assert_eq!(numbers(&sheet, "column 1"), [1.0, 2.0], "{text:?}");
        assert_eq!(numbers(&sheet, "column 2"), [2.5, 3.5], "{text:?}");
    }
    assert_eq!(numbers(&read(b"ms\n1\n2\n").unwrap(), "ms"), [1.0, 2.0]);
}

#[test]
fn bad_rows_are_listed_with_line_and_cause() {
    let sheet = read(b"a,b\n1,2\n1\n3,x\n4,inf\n\xff,1\n5,6\n").unwrap();
    assert_eq!((sheet.rows, sheet.bad.count), (2, 4));
    let told: Vec<(u64, &str)> = sheet.bad.listed.iter().map(|row| (row.line, row.cause.as_str())).collect();
    assert_eq!(told[0], (3, "found 1 cells, allowed: 2, as in the first row"));
    assert_eq!(told[1], (4, "b: found `x`, allowed: a number, or nothing"));
    assert_eq!(told[2], (5, "b: found `inf`, allowed: a number, or nothing"));
    assert_eq!(told[3].0, 6);
    assert!(told[3].1.contains("UTF-8"));
}

#[test]
fn columns_of_one_name_are_told_apart() {
    let sheet = read(b"t,t\n1,2\n").unwrap();
    assert_eq!((numbers(&sheet, "t"), numbers(&sheet, "t (2)")), (vec![1.0], vec![2.0]));
}

#[test]
fn text_of_many_kinds_is_passed_over() {
    let rows: Vec<String> = (0..3000).map(|row| format!("moment-{row},{row}")).collect();
    let text = format!("when,ms\n{}\n", rows.join("\n"));
    let sheet = read(text.as_bytes()).unwrap();
    assert_eq!(sheet.column("when").unwrap().cells, Cells::Text);
    assert_eq!(numbers(&sheet, "ms").len(), 3000);
}

#[test]
fn nothing_to_read_is_said_in_one_line() {
    for (text, says) in [
        (&b""[..], "found no line but comments"),
        (b"# only\n", "found no line but comments"),
        (b"a,b\n", "found a row of names alone"),
        (b"a,b\n1\n", "line 2: found 1 cells"),
    ] {
        let error = read(text).unwrap_err().to_string();
        assert!(error.contains(says) && error.contains("m.csv") && !error.contains('\n'), "{error}");
    }
    let error = Sheet::read(Path::new("/nowhere/m.csv")).unwrap_err().to_string();
    assert_eq!(error, "/nowhere/m.csv: cannot be read: there is no such file or folder");
    let wide = vec!["1"; 600].join(",");
    assert!(read(wide.as_bytes()).unwrap_err().to_string().contains("found 600 columns, allowed: 512 at most"));
}

#[test]
fn decimal_commas_are_told_from_commas_that_separate() {
    // One column of decimal commas below its name.
    assert_eq!(numbers(&read(b"ms\n1,5\n2,25\n").unwrap(), "ms"), [1.5, 2.25]);
    // A bar in a name, cells of several digits set apart by commas.
    let sheet = read(b"frame,enc|ms,dec\n0,3,5\n1,4,6\n2,4,7\n").unwrap();
    assert_eq!((sheet.separator, numbers(&sheet, "enc|ms")), (',', vec![3.0, 4.0, 4.0]));
    for separator in [';', '\t', '|'] {
        let text = format!("frame{separator}ms\r\n0{separator}1,5\r\n1{separator}2\r\n2{separator}\r\n\r\n\r\n");
        let sheet = read(text.as_bytes()).unwrap();
        assert_eq!((sheet.rows, sheet.bad.count, sheet.separator), (3, 0, separator));
        assert_eq!(numbers(&sheet, "ms")[..2], [1.5, 2.0]);
    }
}

#[test]
fn quoted_cells_hold_separators_and_numbers() {
    let sheet =
        read(b"\"frame\",\"time, ms\",\"mode\"\n\"0\",\"1.5\",\"a, b\"\n\"1\",\"2.5\",\"say \"\"c\"\"\"\n").unwrap();
    assert_eq!((sheet.rows, sheet.bad.count, numbers(&sheet, "time, ms")), (2, 0, vec![1.5, 2.5]));
    let Cells::Words(words) = &sheet.column("mode").unwrap().cells else { panic!() };
    assert_eq!(words.different(), ["a, b", "say \"c\""]);
    // Nothing after a quote that is not closed is lost unseen.
    let sheet = read(b"frame,note,ms\n0,a,1\n1,\"b,2\n2,c,3\n3,d,4\n").unwrap();
    assert_eq!((sheet.rows, sheet.bad.count), (1, 3));
    let told = &sheet.bad.listed[0];
    assert_eq!(told.line, 3);
    assert!(told.cause.starts_with("found a quote that is not closed for 3 lines"), "{}", told.cause);
}

#[test]
fn separators_at_the_end_and_lines_of_nothing_else() {
    let sheet = read(b"a,b\n1,2,\n3,4,\n").unwrap();
    assert_eq!((sheet.rows, numbers(&sheet, "b")), (2, vec![2.0, 4.0]));
    let sheet = read(b"a,b\n1,2\n,\n3,4\n,\n").unwrap();
    assert_eq!((sheet.rows, sheet.bad.count), (2, 2));
    assert_eq!(sheet.bad.listed[0].cause, "found nothing but separators, allowed: a value at least");
}

#[test]
fn marks_and_numbers_beyond_numbers() {
    let sheet = read(b"idr,ms\ntrue,1\nNo,1e400\nfalse,2\nyes,-\n").unwrap();
    assert_eq!((sheet.rows, sheet.bad.count, sheet.bad.listed[0].line), (3, 1, 3));
    assert_eq!(numbers(&sheet, "idr"), [1.0, 0.0, 1.0]);
    // A second row of names, or of units, is a bad row and not the end.
    let sheet = read(b"frame,encode\n-,ms\n0,3\n1,4\n").unwrap();
    assert_eq!((sheet.header, sheet.rows, sheet.bad.count), (true, 2, 1));
}

#[test]
fn reading_is_watched_and_given_up() {
    use std::sync::Mutex;
    use std::sync::atomic::{AtomicBool, Ordering};

    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("m.csv");
    fs::write(&path, "1.5,2.5\n".repeat(20_000)).unwrap();
    let flag = AtomicBool::new(false);
    let told = Mutex::new(Vec::new());
    let tell = |progress: crate::calibrate::Progress| {
        told.lock().unwrap().push(progress.share);
        flag.store(progress.share > 0.5, Ordering::Relaxed);
    };
    let watch = Watch::new(crate::stop::Stop::when(&flag), &tell);
    assert!(matches!(Sheet::read_unless(&path, &watch), Err(ReadError::Stopped(_))));
    let told = told.into_inner().unwrap();
    assert!(
        told.len() > 5 && told.is_sorted() && told.last().is_some_and(|last| *last > 0.5 && *last < 0.7),
        "{told:?}"
    );
}

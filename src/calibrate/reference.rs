//! What scipy says of fixed values: `tests/reference/scipy_fits.txt`, as `tests/reference/scipy_fits.py` prints it.

/// The lines that begin with a word, cut at spaces, without it.
pub(super) fn lines(kind: &str) -> Vec<Vec<&'static str>> {
    let text = include_str!("../../tests/reference/scipy_fits.txt");
    let cut = text.lines().map(|line| line.split(' ').collect::<Vec<_>>());
    let found: Vec<Vec<&str>> = cut.filter(|cells| cells[0] == kind).map(|cells| cells[1..].to_vec()).collect();
    assert!(!found.is_empty(), "{kind}");
    found
}

/// Cells as numbers.
pub(super) fn numbers(cells: &[&str]) -> Vec<f64> {
    cells.iter().map(|cell| cell.parse().unwrap()).collect()
}

/// The values of a name, ascending.
pub(super) fn sorted(name: &str) -> Vec<f64> {
    let found = lines("values").into_iter().find(|cells| cells[0] == name).unwrap();
    let mut values = numbers(&found[1..]);
    values.sort_unstable_by(f64::total_cmp);
    values
}

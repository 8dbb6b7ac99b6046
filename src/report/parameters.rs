//! Parameters as text: by which path they are set, and to what.

use super::columns::{PAGE, Table};
use super::words::wrapped;
use crate::scenario::parameters::Parameter;

/// Least room for what is allowed.
const LEAST: usize = 24;
/// Two gaps between columns.
const GAPS: usize = 4;

/// A row a parameter, aligned for a monospaced face: path, what is allowed, stage and label. What is allowed goes on in the
/// next line where there is no room for it in one.
pub fn text(parameters: &[&Parameter]) -> String {
    let widest = |of: fn(&Parameter) -> usize| parameters.iter().map(|parameter| of(parameter)).max().unwrap_or(0);
    let beside = widest(|parameter| parameter.path.len()) + widest(|parameter| parameter.full_label().chars().count());
    let room = PAGE.saturating_sub(beside + GAPS).max(LEAST);
    let mut table = Table::new(["Path", "allowed", "name"]);
    for parameter in parameters {
        let allowed = match &parameter.only_while {
            Some(condition) => format!("{}, only while {condition}", parameter.allowed()),
            None => parameter.allowed(),
        };
        let mut lines = wrapped(&allowed, room, "").into_iter();
        table.row([parameter.path.clone(), lines.next().unwrap_or_default(), parameter.full_label()]);
        for line in lines {
            table.row([String::new(), line, String::new()]);
        }
    }
    table.to_string()
}

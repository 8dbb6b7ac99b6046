//! Parameters as text: by which path they are set, and to what.

use super::columns::Table;
use crate::scenario::parameters::Parameter;

/// A row a parameter, aligned for a monospaced face: path, what is allowed, stage and label.
pub fn text(parameters: &[&Parameter]) -> String {
    let mut table = Table::new(["Path", "allowed", "name"]);
    for parameter in parameters {
        let allowed = match &parameter.only_while {
            Some(condition) => format!("{}, only while {condition}", parameter.allowed()),
            None => parameter.allowed(),
        };
        table.row([parameter.path.clone(), allowed, parameter.full_label()]);
    }
    table.to_string()
}

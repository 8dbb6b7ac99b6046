//! What the columns of a file of measurements stand for: proposed from their names and values, changed by hand, kept.

mod guess;
mod role;
mod unit;

use std::collections::HashSet;

use serde::{Deserialize, Serialize};

use super::read::{Cells, Column, Sheet};
use guess::{role_of, unit_of};
pub use role::{Kind, Role};
pub use unit::Unit;

/// Most groups that numbers tell.
const MOST_GROUPS: usize = 1000;

/// What one column stands for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Mapped {
    /// The column's name.
    pub column: String,
    /// What it stands for.
    pub role: Role,
    /// Its unit.
    pub unit: Unit,
    /// Whether the unit was guessed from the values, since the name does not tell it.
    #[serde(default)]
    pub guessed: bool,
}

/// What the columns of a file stand for.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Mapping {
    /// A line a column, in the order of the file.
    pub columns: Vec<Mapped>,
    /// The group whose rows are used; none: all rows.
    pub group: Option<String>,
    /// Frames at the start of every run that are left out, such as those of a warm-up.
    pub skip: u32,
}

impl Mapping {
    /// A proposal from names and values. A role that only one column can have goes to the first that asks for it.
    pub fn propose(sheet: &Sheet) -> Self {
        let mut columns: Vec<Mapped> = Vec::with_capacity(sheet.columns.len());
        for column in &sheet.columns {
            let role = role_of(column);
            let taken = columns.iter().any(|other| other.role == role);
            let role = if taken { Role::Unused } else { role };
            let (unit, guessed) = unit_of(column, role);
            columns.push(Mapped { column: column.name.clone(), role, unit, guessed });
        }
        let mut mapping = Self { columns, group: None, skip: 0 };
        mapping.group = mapping.groups(sheet).into_iter().next();
        mapping
    }

    /// Gives a column another role, with the unit that its name or values tell; whoever had the role loses it.
    pub fn assign(&mut self, sheet: &Sheet, column: &str, role: Role) {
        for mapped in &mut self.columns {
            if mapped.column == column {
                mapped.role = role;
                if let Some(column) = sheet.column(column) {
                    (mapped.unit, mapped.guessed) = unit_of(column, role);
                }
            } else if mapped.role == role {
                mapped.role = Role::Unused;
            }
        }
        if role == Role::Group || !self.groups(sheet).iter().any(|group| Some(group) == self.group.as_ref()) {
            self.group = self.groups(sheet).into_iter().next();
        }
    }

    /// The column that has a role.
    pub fn find<'a>(&self, sheet: &'a Sheet, role: Role) -> Option<(&'a Column, Unit)> {
        let mapped = self.columns.iter().find(|mapped| mapped.role == role)?;
        Some((sheet.column(&mapped.column)?, mapped.unit))
    }

    /// The groups that there are; none where no column tells them.
    pub fn groups(&self, sheet: &Sheet) -> Vec<String> {
        match self.find(sheet, Role::Group).map(|(column, _)| &column.cells) {
            Some(Cells::Words(words)) => words.different().to_vec(),
            Some(Cells::Numbers(numbers)) => {
                let mut groups: Vec<f64> = Vec::new();
                let mut seen = HashSet::new();
                for number in numbers.iter().filter(|number| !number.is_nan()) {
                    if groups.len() < MOST_GROUPS && groups.last() != Some(number) && seen.insert(number.to_bits()) {
                        groups.push(*number);
                    }
                }
                groups.iter().map(f64::to_string).collect()
            }
            _ => Vec::new(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibrate::read::BadRows;
    use crate::calibrate::words::Words;

    fn sheet(columns: &[(&str, &[f64])]) -> Sheet {
        let columns: Vec<Column> = columns
            .iter()
            .map(|(name, values)| Column { name: (*name).to_owned(), cells: Cells::Numbers(values.to_vec()) })
            .collect();
        Sheet { rows: 2, lines: vec![2, 3], columns, separator: ',', header: true, bad: BadRows::default() }
    }

    #[test]
    fn a_role_has_one_column_and_can_be_given_away() {
        let sheet = sheet(&[("encode_ms", &[3.0, 3.1]), ("encode_total_ms", &[4.0, 4.1])]);
        let mut mapping = Mapping::propose(&sheet);
        assert_eq!(mapping.columns[1].role, Role::Unused);
        mapping.assign(&sheet, "encode_total_ms", Role::Encode);
        assert_eq!((mapping.columns[0].role, mapping.columns[1].role), (Role::Unused, Role::Encode));
        assert_eq!(mapping.columns[1].unit, Unit::Ms);
    }

    #[test]
    fn groups_are_the_words_of_their_column() {
        let mut sheet = sheet(&[("run", &[7.0, 9.0]), ("ms", &[1.0, 2.0])]);
        assert_eq!(Mapping::propose(&sheet).groups(&sheet), ["7", "9"]);
        let mut words = Words::default();
        assert!(words.push("slow") && words.push("fast"));
        sheet.columns[0].cells = Cells::Words(words);
        let mapping = Mapping::propose(&sheet);
        assert_eq!((mapping.groups(&sheet).len(), mapping.group.as_deref()), (2, Some("slow")));
    }

    #[test]
    fn a_mapping_is_kept_as_text() {
        let mapping = Mapping::propose(&sheet(&[("encode_ms", &[3.0, 3.1])]));
        let text = ron::ser::to_string_pretty(&mapping, ron::ser::PrettyConfig::default()).unwrap();
        assert_eq!(ron::from_str::<Mapping>(&text).unwrap(), mapping);
    }
}

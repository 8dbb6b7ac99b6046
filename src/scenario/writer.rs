//! Scenarios into files: RON that holds only what differs from the defaults, one stage after the other in pipeline order.

use std::fmt::Write as _;
use std::io;
use std::path::Path;

use super::parameters::{self, Kind, Parameter, Value};
use super::{Place, Scenario, ScenarioError};
use crate::files;

/// Widest line.
const WIDTH: usize = 110;
/// Spaces per level.
const INDENT: usize = 4;
/// Fields of alternatives that a file may leave out at their defaults, as `Deserialize` fills them in.
const OPTIONAL: [&str; 3] = ["pacing.lead", "pacing.every", "pacing.spread"];

/// The scenario as text: defaults left out, readable, and equal to it when read back.
pub fn to_ron(scenario: &Scenario) -> String {
    let mut root = Node::default();
    for parameter in parameters::all() {
        root.insert(parameter, &parameter.path);
    }
    let default = Scenario::default();
    let mut items = vec![(Some("format"), Item::Leaf(scenario.format.0.to_string()))];
    items.extend(root.items(&Sides { scenario, default: &default }, false));
    let mut text = String::from("Scenario(\n");
    for (name, item) in &items {
        item.write(&mut text, *name, INDENT);
    }
    text.push_str(")\n");
    text
}

/// Writes the scenario to a file, whole or not at all. Refuses one that could not be read back.
pub fn save(path: &Path, scenario: &Scenario) -> Result<(), ScenarioError> {
    scenario.check()?;
    files::save(path, |to| to.write_all(to_ron(scenario).as_bytes())).map_err(|error| {
        let cause = match error.kind() {
            io::ErrorKind::IsADirectory => "it is a folder, a file name is expected".to_owned(),
            io::ErrorKind::NotFound | io::ErrorKind::NotADirectory => "its folder does not exist".to_owned(),
            io::ErrorKind::PermissionDenied | io::ErrorKind::ReadOnlyFilesystem => {
                "you may not write in its folder".to_owned()
            }
            _ => files::why(&error),
        };
        ScenarioError::Unwritable { place: Place::of(&path.display().to_string()), cause }
    })
}

/// Longest file that comments are looked for in \[bytes\].
const LONGEST: u64 = 16 << 20;

/// Comments in a file of RON, which saving over it leaves out; 0 where there is no such file, or it is no text.
pub fn comments_in(path: &Path) -> usize {
    if !std::fs::metadata(path).is_ok_and(|found| found.is_file() && found.len() <= LONGEST) {
        return 0;
    }
    std::fs::read_to_string(path).map_or(0, |text| super::outline::comments(&text))
}

/// The parameters as a tree of path segments.
#[derive(Default)]
struct Node {
    name: &'static str,
    parameter: Option<&'static Parameter>,
    children: Vec<Self>,
}

/// What is written, and what need not be.
struct Sides<'s> {
    scenario: &'s Scenario,
    default: &'s Scenario,
}

/// What stands in a file for a node.
enum Item {
    Leaf(String),
    List(Vec<String>),
    Group { variant: &'static str, items: Vec<(Option<&'static str>, Item)> },
}

impl Node {
    fn insert(&mut self, parameter: &'static Parameter, path: &'static str) {
        let (name, rest) = path.split_once('.').map_or((path, None), |(name, rest)| (name, Some(rest)));
        let found = self.children.iter().position(|child| child.name == name);
        let at = found.unwrap_or_else(|| {
            self.children.push(Self { name, ..Self::default() });
            self.children.len() - 1
        });
        match rest {
            Some(rest) => self.children[at].insert(parameter, rest),
            None => self.children[at].parameter = Some(parameter),
        }
    }

    /// Whether it, or anything in it, is not at its default.
    fn differs(&self, sides: &Sides<'_>) -> bool {
        let own = self.parameter.is_some_and(|parameter| parameter.get(sides.scenario) != parameter.get(sides.default));
        own || self.children.iter().any(|child| child.differs(sides))
    }

    /// Whether it may be left out of the alternative that it belongs to.
    fn is_left_out(&self, sides: &Sides<'_>) -> bool {
        let at_default = |node: &Self| {
            node.parameter.is_none_or(|parameter| parameter.get(sides.scenario) == parameter.default_in(sides.scenario))
        };
        let optional = self.parameter.is_some_and(|parameter| OPTIONAL.contains(&parameter.path.as_str()));
        // The choice itself counts against the file's default, not against what another choice would give.
        let chosen = self.parameter.is_none_or(|parameter| match parameter.get(sides.scenario) {
            Some(Value::Choice(name)) => matches!(name, "Tuned" | "Constant"),
            _ => true,
        });
        optional && chosen && at_default(self) && self.children.iter().all(at_default)
    }

    /// The items of its children; all that exist where `whole`, otherwise those that differ.
    fn items(&self, sides: &Sides<'_>, whole: bool) -> Vec<(Option<&'static str>, Item)> {
        // What is given by place is given altogether.
        let unnamed = |child: &Self| child.parameter.is_some_and(|parameter| parameter.unnamed);
        let whole = whole || self.children.iter().any(|child| unnamed(child) && child.differs(sides));
        let item = |child: &Self| child.item(sides, whole).map(|item| ((!unnamed(child)).then_some(child.name), item));
        self.children.iter().filter_map(item).collect()
    }

    fn item(&self, sides: &Sides<'_>, whole: bool) -> Option<Item> {
        if !whole && !self.differs(sides) || whole && self.is_left_out(sides) {
            return None;
        }
        let Some(parameter) = self.parameter else {
            let items = self.items(sides, whole);
            return (!items.is_empty()).then_some(Item::Group { variant: "", items });
        };
        Some(match parameter.get(sides.scenario)? {
            Value::Choice(variant) if self.children.is_empty() => Item::Leaf(variant.to_owned()),
            Value::Choice(variant) => match self.items(sides, true) {
                items if items.is_empty() => Item::Leaf(variant.to_owned()),
                items => Item::Group { variant, items },
            },
            Value::List(list) => Item::List(list.iter().map(|number| format!("{number:?}")).collect()),
            value => Item::Leaf(leaf(parameter, &value)),
        })
    }
}

/// A value without parts, as RON.
fn leaf(parameter: &Parameter, value: &Value) -> String {
    match value {
        Value::Number(number) => format!("{number:?}"),
        Value::None => "None".to_owned(),
        Value::Switch(on) => on.to_string(),
        Value::Text(text) => quoted(text),
        Value::Whole(number) => number.to_string(),
        Value::Choice(_) | Value::List(_) => {
            debug_assert!(matches!(parameter.kind, Kind::Choice(_) | Kind::List(_)), "written elsewhere");
            parameter.format(value)
        }
    }
}

/// Text in quotes, with the escapes that RON knows.
pub(crate) fn quoted(text: &str) -> String {
    let mut quoted = String::with_capacity(text.len() + 2);
    quoted.push('"');
    for character in text.chars() {
        match character {
            '"' => quoted.push_str("\\\""),
            '\\' => quoted.push_str("\\\\"),
            '\n' => quoted.push_str("\\n"),
            '\r' => quoted.push_str("\\r"),
            '\t' => quoted.push_str("\\t"),
            control if control.is_control() => {
                // Writing to a string cannot fail.
                let _ = write!(quoted, "\\u{{{:x}}}", u32::from(control));
            }
            other => quoted.push(other),
        }
    }
    quoted.push('"');
    quoted
}

impl Item {
    /// On one line.
    fn inline(&self) -> String {
        match self {
            Self::Leaf(text) => text.clone(),
            Self::List(numbers) => format!("[{}]", numbers.join(", ")),
            Self::Group { variant, items } => {
                let named = |(name, item): &(Option<&str>, Self)| match name {
                    Some(name) => format!("{name}: {}", item.inline()),
                    None => item.inline(),
                };
                format!("{variant}({})", items.iter().map(named).collect::<Vec<_>>().join(", "))
            }
        }
    }

    /// On one line where it fits, otherwise broken into lines.
    fn write(&self, text: &mut String, name: Option<&str>, indent: usize) {
        let margin = " ".repeat(indent);
        let start = name.map_or(margin.clone(), |name| format!("{margin}{name}: "));
        let inline = self.inline();
        text.push_str(&start);
        match self {
            Self::Group { variant, items } if start.len() + inline.chars().count() >= WIDTH => {
                text.push_str(variant);
                text.push_str("(\n");
                for (name, item) in items {
                    item.write(text, *name, indent + INDENT);
                }
                text.push_str(&margin);
                text.push(')');
            }
            Self::List(numbers) if start.len() + inline.len() >= WIDTH => {
                text.push_str("[\n");
                wrap(text, numbers, indent + INDENT);
                text.push_str(&margin);
                text.push(']');
            }
            _ => text.push_str(&inline),
        }
        text.push_str(",\n");
    }
}

/// Numbers, as many to a line as fit.
fn wrap(text: &mut String, numbers: &[String], indent: usize) {
    let mut length = 0;
    for number in numbers {
        if length > 0 && length + number.len() + 2 > WIDTH {
            text.push('\n');
            length = 0;
        }
        let space = if length == 0 { " ".repeat(indent) } else { " ".to_owned() };
        length += space.len() + number.len() + 1;
        text.push_str(&space);
        text.push_str(number);
        text.push(',');
    }
    text.push('\n');
}

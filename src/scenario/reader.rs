//! Scenarios out of files: RON in, one clear message for whatever is wrong with it.

use std::fs;
use std::io::Read as _;
use std::path::Path;

use ron::error::{Error as Ron, Position, SpannedError};
use ron::extensions::Extensions;

use super::error::plain;
use super::outline::{Outline, line_of};
use super::parameters;
use super::{Format, Place, Scenario, ScenarioError};
use crate::quote::{cut, quoted};

/// A scenario file is some kB; with thousands of samples some hundred.
const LARGEST_BYTES: u64 = 16 << 20;

/// Reads a scenario file and checks it.
pub fn load(path: &Path) -> Result<Scenario, ScenarioError> {
    let source = path.display().to_string();
    let unreadable = |cause: String| ScenarioError::Unreadable { place: Place::of(&source), cause };
    if fs::metadata(path).is_ok_and(|metadata| metadata.is_dir()) {
        return Err(unreadable("it is a folder, a scenario file is expected".to_owned()));
    }
    let file = fs::File::open(path).map_err(|error| unreadable(plain(&error)))?;
    let mut bytes = Vec::new();
    file.take(LARGEST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| unreadable(plain(&error)))?;
    if bytes.len() as u64 > LARGEST_BYTES {
        return Err(unreadable(format!("it is larger than {} MiB, which no scenario is", LARGEST_BYTES >> 20)));
    }
    match std::str::from_utf8(&bytes) {
        Ok(text) => {
            let table = is_table(path) && !begins_with(text, "Scenario");
            from_ron(text, &source).map_err(|error| if table { of_table(error) } else { error })
        }
        Err(error) => {
            let line = line_of(&bytes, error.valid_up_to());
            let what = "it is no text in UTF-8".to_owned();
            Err(ScenarioError::Text { place: Place::at(&source, line), path: String::new(), what })
        }
    }
}

/// Whether a file is called as tables are.
fn is_table(path: &Path) -> bool {
    path.extension().is_some_and(|ending| ["csv", "tsv"].iter().any(|table| ending.eq_ignore_ascii_case(table)))
}

/// What a table is good for, added to why it is no scenario.
fn of_table(error: ScenarioError) -> ScenarioError {
    const FOR: &str = "; it looks like measurements: `framelap calibrate`, or Open measurements, reads them";
    match error {
        ScenarioError::Text { place, path, what } => ScenarioError::Text { place, path, what: what + FOR },
        ScenarioError::Value { place, path, found, allowed } => {
            ScenarioError::Value { place, path, found, allowed: allowed + FOR }
        }
        other => other,
    }
}

/// Reads a scenario from text and checks it; `source` names the text in messages.
pub fn from_ron(text: &str, source: &str) -> Result<Scenario, ScenarioError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let outline = Outline::of(text);
    if outline.is_empty() {
        let what = "it is empty, a scenario is expected, at the least `Scenario()`".to_owned();
        return Err(ScenarioError::Text { place: Place::of(source), path: String::new(), what });
    }
    if begins_with(text, "Talk") {
        let what = "it is a talk and no scenario: open it by the menu Talk, or by `framelap talk`".to_owned();
        return Err(ScenarioError::Text { place: Place::of(source), path: String::new(), what });
    }
    refuse_newer(&outline, source)?;
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    let scenario: Scenario = options.from_str(text).map_err(|error| explain(&error, &outline, text, source))?;
    scenario.check().map_err(|error| placed(error, &outline, source))?;
    Ok(scenario)
}

/// Whether a text begins with a value of that name, blanks, comments and attributes aside.
pub(crate) fn begins_with(text: &str, name: &str) -> bool {
    let mut rest = text.strip_prefix('\u{feff}').unwrap_or(text).trim_start();
    loop {
        let passed = if rest.starts_with("//") || rest.starts_with("#!") {
            rest.split_once('\n').map(|(_, rest)| rest)
        } else if rest.starts_with("/*") {
            rest.split_once("*/").map(|(_, rest)| rest)
        } else {
            break;
        };
        rest = passed.unwrap_or_default().trim_start();
    }
    rest.strip_prefix(name).is_some_and(|rest| rest.trim_start().starts_with('('))
}

/// Refuses a newer format by name before anything else is looked at: its fields may well be unknown here.
fn refuse_newer(outline: &Outline<'_>, source: &str) -> Result<(), ScenarioError> {
    let Some(field) = outline.find("format") else { return Ok(()) };
    let found = outline.value(field);
    let all_digits = !found.is_empty() && found.bytes().all(|byte| byte.is_ascii_digit());
    // Too many digits for a number are newer still.
    if all_digits && found.parse::<u32>().map_or(true, |version| version > Format::CURRENT.0) {
        let place = Place::at(source, outline.line(field.start()));
        return Err(ScenarioError::Newer { place, found: cut(found), allowed: Format::CURRENT.0 });
    }
    Ok(())
}

/// Gives a problem of [`Scenario::check`] its line.
fn placed(error: ScenarioError, outline: &Outline<'_>, source: &str) -> ScenarioError {
    match error {
        ScenarioError::Value { path, found, allowed, .. } => {
            let line = outline.find(&path).map(|field| outline.line(field.start()));
            let place = Place { source: Some(source.to_owned()), line };
            ScenarioError::Value { place, path, found, allowed }
        }
        other => other,
    }
}

/// Says what the parser refused, in the words of the scenario.
fn explain(error: &SpannedError, outline: &Outline<'_>, text: &str, source: &str) -> ScenarioError {
    let field = outline.around(byte_of(text, error.span.start));
    let path = field.map_or_else(String::new, |field| outline.path(field));
    let path = path.as_str();
    let place = || Place::at(source, error.span.start.line);
    let said =
        |path: &str, what: &str| ScenarioError::Text { place: place(), path: path.to_owned(), what: what.to_owned() };
    let value = |path: &str, found: String, allowed: String| ScenarioError::Value {
        place: place(),
        path: path.to_owned(),
        found,
        allowed,
    };
    match &error.code {
        Ron::NoSuchStructField { expected, found, .. } => {
            // The unknown field may itself be outlined as the field around the place.
            let outer = if last_of(path) == found { outer_of(path) } else { path };
            value(&join(outer, &cut(found)), "an unknown field".to_owned(), expected.join(", "))
        }
        Ron::NoSuchEnumVariant { expected, found, .. } => value(path, quoted(found), expected.join(", ")),
        Ron::MissingStructField { field, .. } => said(&sibling(path, field), "this field is missing"),
        Ron::DuplicateStructField { field, .. } => said(&join(outer_of(path), field), "this field is given twice"),
        Ron::ExceededRecursionLimit => said(path, "it is nested too deeply for a scenario"),
        Ron::Eof => said(path, "the text ends too early: a `)`, `]` or quote is missing"),
        Ron::TrailingCharacters => trailing(error.span.end, text, source),
        Ron::InvalidIdentifier(_) | Ron::SuggestRawIdentifier(_) => said(path, NAME_EXPECTED),
        Ron::ExpectedIdentifier if field.is_none() => said(path, NAME_EXPECTED),
        code => match field.filter(|field| is_about_type(code) || is_no_number(outline.value(field), path)) {
            Some(field) => value(path, quoted(outline.value(field)), allowed_at(path)),
            None if *code == Ron::ExpectedComma => said(path, "a comma or a closing bracket is missing"),
            None => said(path, &in_short(code)),
        },
    }
}

/// What is said where something else stands than a field's name.
const NAME_EXPECTED: &str = "the name of a field is expected here";

/// Something after the scenario's last bracket; the parser's span ends where it begins.
fn trailing(at: Position, text: &str, source: &str) -> ScenarioError {
    let rest = text[byte_of(text, at)..].lines().next().unwrap_or_default();
    let what = format!("found {} after the scenario's last bracket, allowed: nothing", quoted(rest));
    ScenarioError::Text { place: Place::at(source, at.line), path: String::new(), what }
}

/// The parser's own words, with what it found cut to a length that a message can hold.
pub(crate) fn in_short(code: &Ron) -> String {
    match code {
        Ron::ExpectedDifferentStructName { expected, found } => {
            format!("found {}, allowed: {expected}(…)", quoted(found))
        }
        Ron::ExpectedNamedStructLike(expected) => format!("`{expected}(` is expected here"),
        Ron::ExpectedMapColon => "a colon and a value are expected after the name of a field".to_owned(),
        Ron::ExpectedStringEnd => "the text has no end: a quote is missing".to_owned(),
        Ron::UnclosedBlockComment => "a comment has no end: a `*/` is missing".to_owned(),
        Ron::NoSuchExtension(name) => format!("there is no extension {} of the file format", quoted(name)),
        Ron::InvalidEscape(what) => format!("{} in a text", what.to_lowercase()),
        other => cut(&other.to_string()),
    }
}

fn last_of(path: &str) -> &str {
    path.rsplit('.').next().unwrap_or(path)
}

fn outer_of(path: &str) -> &str {
    path.rsplit_once('.').map_or("", |(outer, _)| outer)
}

fn join(outer: &str, name: &str) -> String {
    if outer.is_empty() { name.to_owned() } else { format!("{outer}.{name}") }
}

/// The parameter named `field` nearest around `path`.
fn sibling(path: &str, field: &str) -> String {
    let mut outer = path;
    while !outer.is_empty() {
        let inside = join(outer, field);
        if parameters::find(&inside).is_some() {
            return inside;
        }
        outer = outer_of(outer);
    }
    join(path, field)
}

/// Whether a number is expected at `path` and the text begins with none: the parser takes what it can of `8.5` or `90Hz` and
/// then misses a comma.
fn is_no_number(value: &str, path: &str) -> bool {
    let Some(numeric) = parameters::find(path).and_then(parameters::Parameter::numeric) else { return false };
    let first = value.split_whitespace().next().unwrap_or_default();
    if numeric.whole { first.parse::<u64>().is_err() } else { first.parse::<f64>().is_err() }
}

/// What may stand at a path, be it a parameter or a group of them.
fn allowed_at(path: &str) -> String {
    if let Some(parameter) = parameters::find(path) {
        return parameter.forms();
    }
    let prefix = format!("{path}.");
    let mut within: Vec<&str> = parameters::all()
        .iter()
        .filter_map(|parameter| parameter.path.strip_prefix(&prefix))
        .map(|rest| rest.split('.').next().unwrap_or(rest))
        .collect();
    within.dedup();
    format!("({})", within.join(", "))
}

/// Whether the parser met a value of another type than the field's.
pub(crate) fn is_about_type(code: &Ron) -> bool {
    matches!(
        code,
        Ron::ExpectedArray
            | Ron::ExpectedBoolean
            | Ron::ExpectedFloat
            | Ron::FloatUnderscore
            | Ron::ExpectedInteger
            | Ron::ExpectedOption
            | Ron::ExpectedStructLike
            | Ron::ExpectedNamedStructLike(_)
            | Ron::ExpectedUnit
            | Ron::ExpectedString
            | Ron::ExpectedIdentifier
            | Ron::IntegerOutOfBounds
            | Ron::InvalidIntegerDigit { .. }
            | Ron::UnderscoreAtBeginning
            | Ron::InvalidValueForType { .. }
            | Ron::ExpectedDifferentLength { .. }
    )
}

/// The byte at a line and column, both from 1.
pub(crate) fn byte_of(text: &str, position: Position) -> usize {
    let line = text.split_inclusive('\n').take(position.line.saturating_sub(1)).map(str::len).sum::<usize>();
    let column = text[line..].chars().take(position.col.saturating_sub(1)).map(char::len_utf8).sum::<usize>();
    line + column
}

//! Scenarios out of files: RON in, one clear message for whatever is wrong with it.

use std::fs;
use std::io::Read as _;
use std::path::Path;

use ron::error::{Error as Ron, Position, SpannedError};
use ron::extensions::Extensions;

use super::error::plain;
use super::outline::{Outline, line_of};
use super::parameters::{self, quoted};
use super::{Format, Place, Scenario, ScenarioError};

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
        Ok(text) => from_ron(text, &source),
        Err(error) => {
            let line = line_of(&bytes, error.valid_up_to());
            let what = "it is no text in UTF-8".to_owned();
            Err(ScenarioError::Text { place: Place::at(&source, line), path: String::new(), what })
        }
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
    refuse_newer(&outline, source)?;
    let options = ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME);
    let scenario: Scenario = options.from_str(text).map_err(|error| explain(&error, &outline, text, source))?;
    scenario.check().map_err(|error| placed(error, &outline, source))?;
    Ok(scenario)
}

/// Refuses a newer format by name before anything else is looked at: its fields may well be unknown here.
fn refuse_newer(outline: &Outline<'_>, source: &str) -> Result<(), ScenarioError> {
    let Some(field) = outline.find("format") else { return Ok(()) };
    let found = outline.value(field);
    let all_digits = !found.is_empty() && found.bytes().all(|byte| byte.is_ascii_digit());
    // Too many digits for a number are newer still.
    if all_digits && found.parse::<u32>().map_or(true, |version| version > Format::CURRENT.0) {
        let place = Place::at(source, outline.line(field.start));
        return Err(ScenarioError::Newer { place, found: quoted(found), allowed: Format::CURRENT.0 });
    }
    Ok(())
}

/// Gives a problem of [`Scenario::check`] its line.
fn placed(error: ScenarioError, outline: &Outline<'_>, source: &str) -> ScenarioError {
    match error {
        ScenarioError::Value { path, found, allowed, .. } => {
            let line = outline.find(&path).map(|field| outline.line(field.start));
            let place = Place { source: Some(source.to_owned()), line };
            ScenarioError::Value { place, path, found, allowed }
        }
        other => other,
    }
}

/// Says what the parser refused, in the words of the scenario.
fn explain(error: &SpannedError, outline: &Outline<'_>, text: &str, source: &str) -> ScenarioError {
    let at = byte_of(text, error.span.start);
    let field = outline.around(at);
    let path = field.map_or("", |field| field.path.as_str()).to_owned();
    let place = Place::at(source, error.span.start.line);
    let value = |path: String, found: String, allowed: String| ScenarioError::Value {
        place: place.clone(),
        path,
        found,
        allowed,
    };
    let said = |what: String| ScenarioError::Text { place: place.clone(), path: path.clone(), what };
    match &error.code {
        Ron::NoSuchStructField { expected, found, .. } => {
            // The unknown field may itself be outlined as the field around the place.
            let outer =
                if last_of(&path) == found { path.rsplit_once('.').map_or("", |(outer, _)| outer) } else { &path };
            let path = if outer.is_empty() { found.clone() } else { format!("{outer}.{found}") };
            value(path, "an unknown field".to_owned(), expected.join(", "))
        }
        Ron::NoSuchEnumVariant { expected, found, .. } => value(path.clone(), quoted(found), expected.join(", ")),
        Ron::MissingStructField { field, .. } => said(format!("the field `{field}` is missing")),
        Ron::DuplicateStructField { field, .. } => said(format!("the field `{field}` is given twice")),
        Ron::ExceededRecursionLimit => said("it is nested too deeply for a scenario".to_owned()),
        Ron::Eof => said("the text ends too early: a `)`, `]` or quote is missing".to_owned()),
        code if is_about_type(code) => match field {
            Some(field) => {
                let allowed =
                    parameters::find(&path).map_or_else(|| allowed_at(&path, code), parameters::Parameter::allowed);
                value(path.clone(), quoted(outline.value(field)), allowed)
            }
            None => said(code.to_string()),
        },
        code => said(code.to_string()),
    }
}

fn last_of(path: &str) -> &str {
    path.rsplit('.').next().unwrap_or(path)
}

/// Whether the parser met a value of another type than the field's.
fn is_about_type(code: &Ron) -> bool {
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

/// What may stand at a path that is no parameter itself: a group, or a pair.
fn allowed_at(path: &str, code: &Ron) -> String {
    let prefix = format!("{path}.");
    let within: Vec<&str> = parameters::all()
        .iter()
        .filter_map(|parameter| parameter.path.strip_prefix(&prefix))
        .filter(|rest| !rest.contains('.'))
        .collect();
    if within.is_empty() { code.to_string() } else { format!("({})", within.join(", ")) }
}

/// The byte at a line and column, both from 1.
fn byte_of(text: &str, position: Position) -> usize {
    let line = text.split_inclusive('\n').take(position.line.saturating_sub(1)).map(str::len).sum::<usize>();
    let column = text[line..].chars().take(position.col.saturating_sub(1)).map(char::len_utf8).sum::<usize>();
    line + column
}

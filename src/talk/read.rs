//! Talks out of files: one clear message for whatever is wrong, with the step, the line and what is allowed.

use std::collections::BTreeSet;
use std::fmt;
use std::fs;
use std::io::Read as _;
use std::path::Path;

use ron::error::{Error as Ron, SpannedError};
use ron::extensions::Extensions;
use ron::value::RawValue;
use serde::Deserialize;
use serde::de::{Deserializer, MapAccess, Visitor};

use super::{
    LEAST_MS, Look, MOST_HEADLINE, MOST_MS, MOST_STEPS, MOST_TEXT, Named, Part, Shown, Step, Talk, TalkError, VERSION,
    fill, form_name, measure_name,
};
use crate::files;
use crate::quote::quoted;
use crate::report::figures::distribution::{Form, Measure};
use crate::report::figures::left_over::Rank;
use crate::scenario::outline::{Field, Outline, line_of};
use crate::scenario::{self, Place, ScenarioError, in_short};

/// A talk is some kB; with scenarios of thousands of samples some hundred.
const LARGEST_BYTES: u64 = 16 << 20;
/// Most letters of a scenario's name in a talk.
const MOST_NAME: usize = 80;
/// So much of a file tells whether it is a talk.
const HEAD_BYTES: u64 = 4096;

/// Reads a talk from a file and checks it.
///
/// # Errors
/// What is wrong with it.
pub fn load(path: &Path) -> Result<Talk, TalkError> {
    Ok(load_with_faults(path)?.0)
}

/// The same with what is wrong with captions, as [`Talk::faults`] tells it, by the lines of the file.
///
/// # Errors
/// What else is wrong with it.
pub fn load_with_faults(path: &Path) -> Result<(Talk, Vec<TalkError>), TalkError> {
    let source = path.display().to_string();
    let unreadable = |cause: String| TalkError::of(format!("cannot be read: {cause}")).within(&source, None);
    if fs::metadata(path).is_ok_and(|metadata| metadata.is_dir()) {
        return Err(unreadable("it is a folder, a talk's file is expected".to_owned()));
    }
    let plain = |error: &std::io::Error| unreadable(files::why_unread(error));
    let file = fs::File::open(path).map_err(|error| plain(&error))?;
    let mut bytes = Vec::new();
    file.take(LARGEST_BYTES + 1).read_to_end(&mut bytes).map_err(|error| plain(&error))?;
    if bytes.len() as u64 > LARGEST_BYTES {
        return Err(unreadable(format!("it is larger than {} MiB, which no talk is", LARGEST_BYTES >> 20)));
    }
    match std::str::from_utf8(&bytes) {
        Ok(text) => read(text, &source),
        Err(error) => {
            let line = line_of(&bytes, error.valid_up_to());
            Err(TalkError::of("it is no text in UTF-8").within(&source, Some(line)))
        }
    }
}

/// Whether a file holds a talk, by how it begins; what cannot be read is none.
pub fn is_talk(path: &Path) -> bool {
    // A pipe would keep its reader waiting, and lose what was read.
    if !fs::metadata(path).is_ok_and(|metadata| metadata.is_file()) {
        return false;
    }
    let mut head = Vec::new();
    let read = fs::File::open(path).and_then(|file| file.take(HEAD_BYTES).read_to_end(&mut head));
    read.is_ok() && scenario::begins_with(&String::from_utf8_lossy(&head), "Talk")
}

/// Reads a talk from text and checks it; `source` names the text in messages.
///
/// # Errors
/// What is wrong with it.
pub fn from_ron(text: &str, source: &str) -> Result<Talk, TalkError> {
    Ok(read(text, source)?.0)
}

fn read(text: &str, source: &str) -> Result<(Talk, Vec<TalkError>), TalkError> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    let outline = Outline::of(text);
    if outline.is_empty() {
        return Err(TalkError::of("it is empty, a talk is expected").within(source, None));
    }
    if scenario::begins_with(text, "Scenario") {
        let what = "it is a scenario and no talk: open it by the menu File, or by its name on the command line";
        return Err(TalkError::of(what).within(source, None));
    }
    refuse_newer(&outline, source)?;
    let file: File<'_> = parse(text).map_err(|error| {
        let (what, line) = explain(&error, text);
        TalkError::of(what).within(source, Some(line))
    })?;
    if file.steps.len() > MOST_STEPS {
        let what = format!("steps: found {}, allowed: 1 to {MOST_STEPS}", file.steps.len());
        return Err(TalkError::of(what).within(source, outline.find("steps").map(|field| outline.line(field.start()))));
    }
    if file.scenarios.0.len() > 2 * MOST_STEPS {
        let what = format!("scenarios: found {}, allowed: {} at most", file.scenarios.0.len(), 2 * MOST_STEPS);
        return Err(TalkError::of(what).within(source, None));
    }
    let place = |raw: &RawValue| line_at(text, raw.get_ron());
    let steps = file.steps.iter().enumerate().map(|(number, raw)| step(number, raw, place(raw), source));
    let steps: Vec<Step> = steps.collect::<Result<_, _>>()?;
    let scenarios = file.scenarios.0.iter().map(|(name, raw)| named(name, raw, place(raw), &steps, source));
    let talk = Talk { title: file.title, scenarios: scenarios.collect::<Result<_, _>>()?, steps };
    let placed = |error: TalkError| {
        let raw = error.step.and_then(|step| file.steps.get(step - 1));
        let line = raw.map(|raw| place(raw) + lines_before(raw.get_ron(), &error.what));
        error.within(source, line)
    };
    check(&talk).map_err(placed)?;
    let faults = talk.faults().into_iter().map(placed).collect();
    Ok((talk, faults))
}

/// The file as it stands, its scenarios and steps not looked into yet.
#[derive(Deserialize)]
#[serde(rename = "Talk", deny_unknown_fields)]
struct File<'a> {
    #[serde(rename = "version")]
    _version: u32,
    title: String,
    #[serde(borrow)]
    scenarios: Entries<'a>,
    #[serde(borrow)]
    steps: Vec<&'a RawValue>,
}

/// A map in the order of the file.
struct Entries<'a>(Vec<(String, &'a RawValue)>);

impl<'de: 'a, 'a> Deserialize<'de> for Entries<'a> {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        struct InOrder;
        impl<'de> Visitor<'de> for InOrder {
            type Value = Entries<'de>;

            fn expecting(&self, formatter: &mut fmt::Formatter<'_>) -> fmt::Result {
                formatter.write_str("a map of names and scenarios")
            }

            fn visit_map<A: MapAccess<'de>>(self, mut map: A) -> Result<Self::Value, A::Error> {
                let mut entries = Vec::new();
                while let Some(entry) = map.next_entry::<String, &'de RawValue>()? {
                    entries.push(entry);
                }
                Ok(Entries(entries))
            }
        }
        deserializer.deserialize_map(InOrder)
    }
}

/// A step as it stands in a file.
#[derive(Deserialize)]
#[serde(rename = "Step", deny_unknown_fields)]
struct InFile {
    candidate: String,
    baseline: String,
    figure: String,
    #[serde(default)]
    frame: Option<u32>,
    #[serde(default)]
    from_ms: Option<f64>,
    #[serde(default)]
    to_ms: Option<f64>,
    #[serde(default)]
    walk_ms: Option<f64>,
    #[serde(default)]
    measure: Option<String>,
    #[serde(default)]
    form: Option<String>,
    #[serde(default)]
    quantile: Option<String>,
    #[serde(default)]
    highlight: Vec<String>,
    #[serde(default)]
    headline: String,
    #[serde(default)]
    text: String,
}

/// What may stand in the fields, for values of another kind.
const ALLOWED: [(&str, &str); 17] = [
    ("version", "1"),
    ("title", "text in quotes"),
    ("scenarios", "a map of names in quotes and scenarios, as in {\"mine\": Scenario(slices: (count: 4))}"),
    ("steps", "a list of steps, as in [(candidate: \"mine\", baseline: \"theirs\", figure: \"lanes\")]"),
    ("candidate", "the name of one of the scenarios, in quotes"),
    ("baseline", "the name of one of the scenarios, in quotes"),
    ("figure", "the name of a figure, in quotes"),
    ("frame", "whole numbers from 0 on"),
    ("from_ms", "a number of ms"),
    ("to_ms", "a number of ms"),
    ("walk_ms", "0 to 1000000 ms"),
    ("measure", "pose-to-photon, photon-age, stream, in quotes"),
    ("form", "histogram, cumulative, tail, in quotes"),
    ("quantile", "p50, p99, in quotes"),
    ("highlight", "a list of names in quotes"),
    ("headline", "text in quotes"),
    ("text", "text in quotes"),
];

fn parse<'de, T: Deserialize<'de>>(text: &'de str) -> Result<T, SpannedError> {
    ron::Options::default().with_default_extension(Extensions::IMPLICIT_SOME).from_str(text)
}

/// Line of the first token of a part of the text, from 1.
fn line_at(text: &str, part: &str) -> usize {
    // The part is borrowed from the text.
    let start = (part.as_ptr() as usize).saturating_sub(text.as_ptr() as usize).min(text.len());
    line_of(text.as_bytes(), start)
}

/// Line breaks of a step's text before the field that a message begins with, or else before its first token.
fn lines_before(part: &str, what: &str) -> usize {
    let outline = Outline::of(part);
    let name = what.split([':', ',']).next().unwrap_or_default();
    let blank = part.len() - part.trim_start().len();
    outline.line(outline.find(name).map_or(blank, Field::start)) - 1
}

fn refuse_newer(outline: &Outline<'_>, source: &str) -> Result<(), TalkError> {
    let Some(field) = outline.find("version") else { return Ok(()) };
    let found = outline.value(field);
    let all_digits = !found.is_empty() && found.bytes().all(|byte| byte.is_ascii_digit());
    let line = Some(outline.line(field.start()));
    let refused = |why: &str| {
        let what = format!("version: found {}, which {why}; allowed: {VERSION}", quoted(found));
        Err(TalkError::of(what).within(source, line))
    };
    match (all_digits, found.parse::<u32>()) {
        (true, Ok(VERSION)) | (false, _) => Ok(()),
        (true, Ok(version)) if version < VERSION => refused("never was"),
        (true, _) => refused("is newer than this program"),
    }
}

/// One step of the file.
fn step(number: usize, raw: &RawValue, line: usize, source: &str) -> Result<Step, TalkError> {
    let text = raw.get_ron();
    let fail = |what: String, line: usize| TalkError::in_step(number, what).within(source, Some(line));
    let file: InFile = parse(text).map_err(|error| {
        let (what, within) = explain(&error, text);
        fail(what, line + within - 1)
    })?;
    let outline = Outline::of(text);
    let refuse = |field: &str, found: &str, allowed: &str| {
        let within = outline.find(field).map_or(1, |field| outline.line(field.start()));
        fail(format!("{field}: found {}, allowed: {allowed}", quoted(found)), line + within - 1)
    };
    let figure = Shown::named(&file.figure).ok_or_else(|| {
        let all = Shown::ALL.map(Shown::slug).join(", ");
        refuse("figure", &file.figure, &format!("{all}; studies are not kept in talks"))
    })?;
    let mut look = Look { frame: file.frame, walk_ms: file.walk_ms, ..Look::at(figure) };
    look.span_ms = match (file.from_ms, file.to_ms) {
        (Some(from), Some(to)) => Some([from, to]),
        (None, None) => None,
        (Some(_), None) => return Err(refuse("from_ms", "from_ms alone", "with to_ms")),
        (None, Some(_)) => return Err(refuse("to_ms", "to_ms alone", "with from_ms")),
    };
    if let Some(name) = &file.measure {
        let found = Measure::ALL.into_iter().find(|measure| measure_name(*measure) == *name);
        let all = Measure::ALL.map(measure_name).join(", ");
        look.measure = found.ok_or_else(|| refuse("measure", name, &all))?;
    }
    if let Some(name) = &file.form {
        let found = Form::ALL.into_iter().find(|form| form_name(*form) == *name);
        let all = Form::ALL.map(form_name).join(", ");
        look.form = found.ok_or_else(|| refuse("form", name, &all))?;
    }
    if let Some(name) = &file.quantile {
        let found = Rank::ALL.into_iter().find(|rank| rank.name() == name);
        look.quantile = found.ok_or_else(|| refuse("quantile", name, "p50, p99"))?;
    }
    let part = |name: &String| Part::named(name).ok_or_else(|| refuse("highlight", name, &Part::names()));
    let highlight = file.highlight.iter().map(part).collect::<Result<_, _>>()?;
    let given = [
        ("measure", file.measure.is_some(), figure.has_measures()),
        ("form", file.form.is_some(), figure.has_measures()),
        ("quantile", file.quantile.is_some(), figure.has_quantiles()),
    ];
    if let Some((field, ..)) = given.into_iter().find(|(_, given, has)| *given && !has) {
        return Err(refuse(field, figure.slug(), &others(field)));
    }
    let InFile { candidate, baseline, headline, text, .. } = file;
    Ok(Step { candidate, baseline, look, headline, text, highlight })
}

/// The figures that have a field, in words.
fn others(field: &str) -> String {
    let has: fn(Shown) -> bool = match field {
        "frame" => Shown::has_frame,
        "from_ms" => Shown::has_span,
        "walk_ms" => Shown::walks,
        "highlight" => Shown::has_parts,
        "quantile" => Shown::has_quantiles,
        _ => Shown::has_measures,
    };
    let names: Vec<&str> = Shown::ALL.into_iter().filter(|figure| has(*figure)).map(Shown::slug).collect();
    format!("for {}", names.join(", "))
}

/// One scenario of the file.
fn named(name: &str, raw: &RawValue, line: usize, steps: &[Step], source: &str) -> Result<Named, TalkError> {
    let text = raw.get_ron();
    let scenario = scenario::from_ron(text, "").map_err(|error| {
        let (within, what) = apart(&error);
        let needs = |step: &Step| step.candidate == name || step.baseline == name;
        let step = steps.iter().position(needs).map(|step| step + 1);
        let place = Place { source: Some(source.to_owned()), line: Some(line + within.unwrap_or(1) - 1) };
        TalkError { place, step, what: format!("scenario {}: {what}", quoted(name)) }
    })?;
    Ok(Named { name: name.to_owned(), scenario })
}

/// The line of a scenario's problem, and the problem without its place.
fn apart(error: &ScenarioError) -> (Option<usize>, String) {
    let place = error.place();
    let told = error.to_string();
    let what = told.strip_prefix(&place.to_string()).map_or_else(|| told.clone(), str::to_owned);
    (place.line, what)
}

/// What the parser refused, in the words of talks, and in which line.
fn explain(error: &SpannedError, text: &str) -> (String, usize) {
    let line = error.span.start.line;
    let outline = Outline::of(text);
    let at = scenario::byte_of(text, error.span.start);
    let field = outline.around(at);
    let name = field.map_or("", |field| outline.name(field));
    let before = if name.is_empty() { String::new() } else { format!("{name}: ") };
    let what = match &error.code {
        Ron::NoSuchStructField { expected, found, .. } => {
            format!("{}: found an unknown field, allowed: {}", quoted(found), expected.join(", "))
        }
        Ron::MissingStructField { field, .. } => format!("{field}: this field is missing"),
        Ron::DuplicateStructField { field, .. } => format!("{field}: this field is given twice"),
        Ron::ExceededRecursionLimit => "it is nested too deeply for a talk".to_owned(),
        Ron::Eof => "the text ends too early: a `)`, `]`, `}` or quote is missing".to_owned(),
        Ron::TrailingCharacters => "found more after the talk's last bracket, allowed: nothing".to_owned(),
        code => match (field, ALLOWED.iter().find(|(known, _)| *known == name)) {
            (Some(field), Some((_, allowed))) if scenario::is_about_type(code) || *code == Ron::ExpectedMap => {
                format!("{before}found {}, allowed: {allowed}", quoted(outline.value(field)))
            }
            _ if *code == Ron::ExpectedComma => format!("{before}a comma or a closing bracket is missing"),
            _ => format!("{before}{}", in_short(code)),
        },
    };
    (what, line)
}

/// What reading and writing ask of a talk, its scenarios apart, which were checked when they were read.
pub(super) fn check(talk: &Talk) -> Result<(), TalkError> {
    let title = talk.title.trim().chars().count();
    if title == 0 || title > MOST_HEADLINE {
        return Err(TalkError::of(format!("title: found {title} letters, allowed: 1 to {MOST_HEADLINE}")));
    }
    if talk.steps.is_empty() || talk.steps.len() > MOST_STEPS {
        let found = if talk.steps.is_empty() { "none".to_owned() } else { talk.steps.len().to_string() };
        return Err(TalkError::of(format!("steps: found {found}, allowed: 1 to {MOST_STEPS}")));
    }
    let mut names = BTreeSet::new();
    for Named { name, scenario } in &talk.scenarios {
        let letters = name.chars().count();
        let told = quoted(name);
        if letters == 0 || letters > MOST_NAME {
            return Err(TalkError::of(format!(
                "scenario {told}: found a name of {letters} letters, allowed: 1 to {MOST_NAME}"
            )));
        }
        if !names.insert(name) {
            return Err(TalkError::of(format!("scenario {told}: found twice, allowed: every name once")));
        }
        scenario.check().map_err(|error| TalkError::of(format!("scenario {told}: {error}")))?;
    }
    for (number, step) in talk.steps.iter().enumerate() {
        check_step(talk, step).map_err(|what| TalkError::in_step(number, what))?;
    }
    Ok(())
}

fn check_step(talk: &Talk, step: &Step) -> Result<(), String> {
    let Look { figure, frame, span_ms, walk_ms, .. } = step.look;
    let mut frames = u32::MAX;
    for (side, name) in [("candidate", &step.candidate), ("baseline", &step.baseline)] {
        let Some(scenario) = talk.scenario(name) else {
            let names: Vec<&str> = talk.scenarios.iter().map(|named| named.name.as_str()).collect();
            let allowed = if names.is_empty() {
                "one of the scenarios, of which there are none".to_owned()
            } else {
                names.join(", ")
            };
            return Err(format!("{side}: found {}, allowed: {allowed}", quoted(name)));
        };
        frames = frames.min(scenario.run.frames);
    }
    let given = [
        ("frame", frame.is_some(), figure.has_frame()),
        ("from_ms", span_ms.is_some(), figure.has_span()),
        ("walk_ms", walk_ms.is_some(), figure.walks()),
        ("highlight", !step.highlight.is_empty(), figure.has_parts()),
    ];
    if let Some((field, ..)) = given.into_iter().find(|(_, given, has)| *given && !has) {
        return Err(format!("{field}: found for {}, allowed: {}", figure.slug(), others(field)));
    }
    if let Some(frame) = frame.filter(|frame| *frame >= frames) {
        return Err(format!("frame: found {frame}, allowed: 0 to {}", frames - 1));
    }
    if let Some([from, to]) = span_ms
        && !(from.abs() < MOST_MS && to.abs() < MOST_MS && to - from >= LEAST_MS)
    {
        return Err(format!(
            "from_ms, to_ms: found {from} to {to} ms, allowed: at least {LEAST_MS} ms, within {MOST_MS} ms"
        ));
    }
    if let Some(walk) = walk_ms.filter(|walk| !(0.0..=MOST_MS).contains(walk)) {
        return Err(format!("walk_ms: found {walk} ms, allowed: 0 to {MOST_MS} ms"));
    }
    for (field, text, most) in [("headline", &step.headline, MOST_HEADLINE), ("text", &step.text, MOST_TEXT)] {
        let letters = text.chars().count();
        if letters > most {
            return Err(format!("{field}: found {letters} letters, allowed: {most} at most"));
        }
    }
    Ok(())
}

/// What stands between braces in captions and no number is there for: shown as it stands, so that no work is lost over it.
pub(super) fn faults(talk: &Talk) -> Vec<TalkError> {
    let of_step = |(number, step): (usize, &Step)| {
        let texts = [("headline", step.headline.clone()), ("text", step.text.clone())];
        texts.into_iter().filter_map(move |(field, text)| {
            let found = fill::unknown(&text)?;
            let what = format!("{field}: found {}, allowed: {}", quoted(&found), fill::allowed());
            Some(TalkError::in_step(number, what))
        })
    };
    talk.steps.iter().enumerate().flat_map(of_step).collect()
}

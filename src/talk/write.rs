//! Talks into files: RON with what differs from the defaults, every scenario once, a line a field.

use std::fmt::Write as _;
use std::path::Path;

use super::{Look, Step, Talk, TalkError, VERSION, form_name, measure_name};
use crate::report::figures::distribution::{Form, Measure};
use crate::report::figures::left_over::Rank;
use crate::scenario::{self, quoted};
use crate::{files, scenario::Place};

/// The talk as text, equal to it when read back.
pub fn to_ron(talk: &Talk) -> String {
    let mut text = format!("Talk(\n    version: {VERSION},\n    title: {},\n    scenarios: {{\n", quoted(&talk.title));
    for named in &talk.scenarios {
        let scenario = scenario::to_ron(&named.scenario);
        let mut lines = scenario.lines();
        let first = lines.next().unwrap_or_default();
        // Writing to a string does not fail.
        let _ = writeln!(text, "        {}: {first}", quoted(&named.name));
        for line in lines {
            let end = if line == ")" { "," } else { "" };
            let _ = writeln!(text, "        {line}{end}");
        }
    }
    text.push_str("    },\n    steps: [\n");
    for step in &talk.steps {
        write_step(&mut text, step);
    }
    text.push_str("    ],\n)\n");
    text
}

fn write_step(text: &mut String, step: &Step) {
    let Step { candidate, baseline, look, headline, text: sentences, highlight } = step;
    let Look { figure, frame, span_ms, walk_ms, measure, form, quantile } = *look;
    text.push_str("        (\n");
    let mut field = |name: &str, value: Option<String>| {
        if let Some(value) = value {
            let _ = writeln!(text, "            {name}: {value},");
        }
    };
    let number = |ms: f64| format!("{ms:?}");
    field("candidate", Some(quoted(candidate)));
    field("baseline", Some(quoted(baseline)));
    field("figure", Some(quoted(figure.slug())));
    field("frame", frame.map(|frame| frame.to_string()));
    field("from_ms", span_ms.map(|[from, _]| number(from)));
    field("to_ms", span_ms.map(|[_, to]| number(to)));
    field("walk_ms", walk_ms.map(number));
    field("measure", (measure != Measure::default()).then(|| quoted(&measure_name(measure))));
    field("form", (form != Form::default()).then(|| quoted(&form_name(form))));
    field("quantile", (quantile != Rank::default()).then(|| quoted(quantile.name())));
    let parts: Vec<String> = highlight.iter().map(|part| quoted(part.name())).collect();
    field("highlight", (!parts.is_empty()).then(|| format!("[{}]", parts.join(", "))));
    field("headline", (!headline.is_empty()).then(|| quoted(headline)));
    field("text", (!sentences.is_empty()).then(|| quoted(sentences)));
    text.push_str("        ),\n");
}

/// Writes the talk to a file, whole or not at all.
///
/// # Errors
/// Where it could not be read back, or the file cannot be written.
pub fn save(path: &Path, talk: &Talk) -> Result<(), TalkError> {
    talk.check()?;
    files::save(path, |to| to.write_all(to_ron(talk).as_bytes())).map_err(|error| TalkError {
        place: Place::of(&path.display().to_string()),
        step: None,
        what: format!("cannot be written: {}", files::why(&error)),
    })
}

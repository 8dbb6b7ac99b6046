//! Completions and the manual page, made from the same description of the command line as its help.

use clap::CommandFactory as _;
use clap_complete::Shell;
use clap_mangen::Man;
use clap_mangen::roff::{Roff, roman};

use super::arguments::pages::{REPORT_EXAMPLES, WALK_EXAMPLES};
use super::arguments::pictures::{FIGURE_EXAMPLES, TALK_EXAMPLES};
use super::arguments::{Arguments, EXAMPLES, SIMULATE_EXAMPLES, STATUS, UNITS};
use super::arguments::{calibrate, studies};
use super::{Outcome, output};

pub(super) fn completions(shell: Shell) -> anyhow::Result<Outcome> {
    let mut script = Vec::new();
    clap_complete::generate(shell, &mut Arguments::command(), "framelap", &mut script);
    output::print(&String::from_utf8(script)?)
}

/// One page: the program, its commands with their options, examples, units and exit statuses.
pub(super) fn manpage() -> anyhow::Result<Outcome> {
    let mut command = Arguments::command();
    command.build();
    let mut page = Vec::new();
    let man = Man::new(command.clone());
    man.render_title(&mut page)?;
    man.render_name_section(&mut page)?;
    man.render_synopsis_section(&mut page)?;
    man.render_description_section(&mut page)?;
    man.render_options_section(&mut page)?;
    for one in command.get_subcommands() {
        page.extend(of_command(one)?);
    }
    let mut rest = Roff::new();
    lines(
        &mut rest,
        "EXAMPLES",
        &[
            EXAMPLES,
            SIMULATE_EXAMPLES,
            FIGURE_EXAMPLES,
            REPORT_EXAMPLES,
            WALK_EXAMPLES,
            studies::COMPARE_EXAMPLES,
            studies::SWEEP_EXAMPLES,
            studies::MAP_EXAMPLES,
            studies::SENSITIVITY_EXAMPLES,
            studies::SEARCH_EXAMPLES,
            studies::SPLIT_EXAMPLES,
            studies::WHAT_IF_EXAMPLES,
            calibrate::CALIBRATE_EXAMPLES,
            TALK_EXAMPLES,
        ]
        .join("\n"),
    );
    paragraph(&mut rest, "UNITS", UNITS);
    paragraph(&mut rest, "EXIT STATUS", STATUS);
    rest.to_writer(&mut page)?;
    output::print(&String::from_utf8(page)?)
}

/// A command's synopsis, description and options, in one section under its name.
fn of_command(command: &clap::Command) -> anyhow::Result<Vec<u8>> {
    let man = Man::new(command.clone());
    let mut section = Vec::new();
    man.render_synopsis_section(&mut section)?;
    man.render_description_section(&mut section)?;
    man.render_options_section(&mut section)?;
    if command.has_subcommands() {
        man.render_subcommands_section(&mut section)?;
    }
    let title = format!(".SH \"FRAMELAP {}\"", command.get_name().to_uppercase());
    let text = String::from_utf8(section)?.replacen(".SH SYNOPSIS", &title, 1);
    let heads = [".SH DESCRIPTION\n", ".SH OPTIONS\n", ".SH SUBCOMMANDS\n"];
    let text = heads.iter().fold(text, |text, head| text.replace(head, ".PP\n"));
    // There is no page of its own for `presets list` and its like.
    let own_page = format!("framelap\\-{}\\-", command.get_name());
    Ok(text.replace(&own_page, &format!("framelap {} ", command.get_name())).replace("(1)\n", "\n").into_bytes())
}

fn paragraph(roff: &mut Roff, title: &str, text: &str) {
    roff.control("SH", [title]).text([roman(text)]);
}

/// Lines that stay as they are.
fn lines(roff: &mut Roff, title: &str, text: &str) {
    roff.control("SH", [title]).control("nf", []);
    for line in text.lines() {
        roff.text([roman(line.trim_start())]);
    }
    roff.control("fi", []);
}

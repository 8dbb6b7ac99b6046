//! The head of a study: title, how it stands, and on a line below what it is asked.

use eframe::egui::{ComboBox, DragValue, Label, Response, RichText, TextEdit, TextStyle, Ui};

use super::ink;
use super::picker::{Item, picker};
use crate::app::figures::title::is_on_paper;
use crate::app::studies::{Kind, Range, Setup, Spacing, Standing, can_turn};
use crate::app::theme::{self, Palette};
use crate::measure::measures;
use crate::report::format::count;
use crate::scenario::Scenario;
use crate::scenario::parameters::{self, Parameter};
use crate::study::Progress;
use crate::study::luck::MOST_SEEDS;
use crate::study::split::Rule;

/// How far below the title's top small words beside it begin \[pt\].
const DOWN: f32 = 3.0;
/// Width of a field for an end of a range \[pt\].
const END: f32 = 64.0;
/// Width of a field for a list of values \[pt\].
const LIST: f32 = 180.0;
/// Most values of a parameter that the page asks for.
const MOST_POINTS: usize = 200;
/// Frames that a run can have here.
const FRAMES: std::ops::RangeInclusive<u32> = 100..=200_000;

/// What the head of a study tells.
pub(in crate::app) struct Desk<'a> {
    /// Name of the study.
    pub(in crate::app) name: &'static str,
    /// Which it is.
    pub(in crate::app) kind: Kind,
    /// What it is asked.
    pub(in crate::app) setup: Setup,
    /// How it stands.
    pub(in crate::app) standing: Standing,
    /// The scenario that it is asked of.
    pub(in crate::app) scenario: &'a Scenario,
    /// Whether what one would press is elsewhere.
    pub(in crate::app) bare: bool,
    /// What it found, in words.
    pub(in crate::app) told: String,
}

/// What was pressed.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::app) enum Press {
    /// The study is to be run.
    Run,
    /// It is to be given up.
    Cancel,
    /// It is to be asked something else.
    SetUp(Setup),
}

/// Draws the head and returns what was pressed.
pub(in crate::app) fn desk(ui: &mut Ui, desk: &Desk<'_>) -> Option<Press> {
    let palette = Palette::current(ui);
    ui.horizontal(|ui| {
        ink::title(ui, desk.name);
        // Beside the title, in as many lines as it takes.
        ui.vertical(|ui| {
            ui.add_space(DOWN);
            standing(ui, desk, palette);
        });
    });
    if desk.bare || is_on_paper(ui) {
        return None;
    }
    let mut setup = desk.setup.clone();
    let button = ui
        .horizontal_wrapped(|ui| {
            // A row that begins with words has them on the line of its fields too.
            ui.set_row_height(ui.text_style_height(&TextStyle::Button) + 2.0 * ui.spacing().button_padding.y);
            controls(ui, desk, &mut setup);
            button(ui, desk)
        })
        .inner;
    let changed = (setup != desk.setup).then_some(Press::SetUp(setup));
    button.or(changed)
}

/// How the study stands, beside its title.
fn standing(ui: &mut Ui, desk: &Desk<'_>, palette: &Palette) {
    let small = |text: &str| RichText::new(text).font(theme::small());
    match &desk.standing {
        Standing::NotRun => {
            ui.add(Label::new(small("not run yet").color(palette.soft)).wrap());
        }
        Standing::Running(progress) => {
            ui.add(Label::new(small(&in_words(*progress)).color(palette.ink)).wrap());
        }
        Standing::Current => {
            ui.add(Label::new(small(&desk.told).color(palette.soft)).wrap());
        }
        Standing::Before => {
            let ground = theme::blend(palette.sheet, palette.doubt, 0.3);
            ui.horizontal_wrapped(|ui| {
                let text = small(" of before a change ").color(palette.ink).background_color(ground);
                ui.add(Label::new(text)).on_hover_text("Scenarios or settings have changed since it was run.");
                ui.add(Label::new(small(&desk.told).color(palette.soft)).wrap());
            });
        }
        Standing::Refused(why) => {
            ui.add(Label::new(small(why).color(ui.visuals().error_fg_color)).wrap());
        }
    }
}

/// How far it has come: `12 of 64 runs, 3 s left`.
fn in_words(progress: Option<Progress>) -> String {
    let Some(Progress { done, all, left }) = progress else { return "starting".to_owned() };
    let runs = format!("{} of {} runs", count(done as u64), count(all as u64));
    match left.map(|left| left.as_secs_f64()) {
        Some(seconds) if seconds >= 90.0 => format!("{runs}, {:.0} min left", (seconds / 60.0).ceil()),
        Some(seconds) if seconds >= 1.0 => format!("{runs}, {:.0} s left", seconds.ceil()),
        Some(_) => format!("{runs}, under 1 s left"),
        None => runs,
    }
}

fn button(ui: &mut Ui, desk: &Desk<'_>) -> Option<Press> {
    let (name, meaning, press) = match &desk.standing {
        Standing::Running(_) => ("Cancel", "Give the study up (Escape)", Press::Cancel),
        Standing::NotRun | Standing::Refused(_) => ("Run", "Run the study on all cores (Ctrl+R)", Press::Run),
        Standing::Current | Standing::Before => ("Run again", "Run the study on all cores (Ctrl+R)", Press::Run),
    };
    let text = match &desk.standing {
        Standing::Current => RichText::new(name),
        _ => RichText::new(name).strong(),
    };
    ui.button(text).on_hover_text(meaning).clicked().then_some(press)
}

/// What the study is asked.
fn controls(ui: &mut Ui, desk: &Desk<'_>, setup: &mut Setup) {
    ranges(ui, desk, setup);
    match desk.kind {
        Kind::Comparison => {}
        Kind::Sweep | Kind::Map => {
            measure(ui, "Measure", &mut setup.measure);
            let both = theme::outlined(ui, |ui| ui.checkbox(&mut setup.both, "with baseline"));
            both.on_hover_text("Run the baseline too, to be held against");
        }
        Kind::Sensitivity | Kind::WhatIf => measure(ui, "Measure", &mut setup.measure),
        Kind::Search => aims(ui, setup),
        Kind::Split => target(ui, desk.scenario, setup),
    }
    if !matches!(desk.kind, Kind::Map | Kind::Search) {
        let label = ui.label("seeds");
        number(ui, DragValue::new(&mut setup.seeds).range(1..=MOST_SEEDS), &label)
            .on_hover_text("How often every run is made, each time with other luck; intervals need two or more");
    }
    let label = ui.label("frames");
    let mut frames = setup.frames_on(desk.kind, desk.scenario);
    if number(ui, DragValue::new(&mut frames).range(FRAMES).speed(50), &label).on_hover_text("Frames a run").changed() {
        setup.frames = Some(frames);
    }
    let run = &desk.scenario.run;
    let page = format!("the page: {} frames, seed {}", count(u64::from(run.frames)), run.seed);
    // Not torn apart where it goes on the next line.
    let page = Label::new(RichText::new(page).weak()).extend();
    ui.add(page).on_hover_text("What the numbers around the study are of; those of the study may differ by chance");
}

/// The parameters that are turned; a search may have more or fewer.
fn ranges(ui: &mut Ui, desk: &Desk<'_>, setup: &mut Setup) {
    let mut gone = None;
    for place in 0..setup.ranges.len() {
        let what = match (desk.kind, place) {
            (Kind::Map, 0) => "Across",
            (Kind::Map, _) => "Up",
            (Kind::Search, _) => "Free",
            _ => "Parameter",
        };
        if desk.kind == Kind::Map {
            if place > 0 {
                // The word stands with what it is about.
                ui.end_row();
            }
            ui.label(what.to_lowercase());
        }
        range(ui, desk.scenario, (what, place, desk.kind != Kind::Search), &mut setup.ranges[place]);
        if desk.kind == Kind::Search
            && setup.ranges.len() > 1
            && ui.small_button("remove").on_hover_text("Leave this parameter as it is").clicked()
        {
            gone = Some(place);
        }
    }
    if let Some(place) = gone {
        setup.ranges.remove(place);
    }
    if desk.kind == Kind::Search {
        let free = |parameter: &&'static Parameter| {
            can_turn(parameter)
                && parameter.get(desk.scenario).is_some()
                && setup.ranges.iter().all(|range| range.path != parameter.path)
        };
        let next = parameters::all().iter().find(|parameter| parameter.common && free(parameter));
        if let Some(next) = next
            && ui.small_button("add one").on_hover_text("Let one more parameter be turned").clicked()
        {
            setup.ranges.push(Range::usual(next, desk.scenario, 16));
        }
    }
}

/// What a search seeks.
fn aims(ui: &mut Ui, setup: &mut Setup) {
    ui.end_row();
    ui.label("goal");
    measure(ui, "Goal", &mut setup.measure);
    let mut front = setup.second.is_some();
    let on = "Seek what no other beats in both measures, instead of the best of one";
    if theme::outlined(ui, |ui| ui.checkbox(&mut front, "and a second")).on_hover_text(on).changed() {
        setup.second = front.then_some("photon_age_ms.p99");
    }
    if let Some(second) = &mut setup.second {
        measure(ui, "Second goal", second);
    }
    theme::outlined(ui, |ui| ui.checkbox(&mut setup.budget, "within budget"))
        .on_hover_text("Every line of the candidate's budget is a limit");
    let label = ui.label("runs");
    number(ui, DragValue::new(&mut setup.runs).range(10..=20_000), &label);
}

/// What a split aims at.
fn target(ui: &mut Ui, scenario: &Scenario, setup: &mut Setup) {
    let label = ui.label("target");
    let mut target_ms = setup.target_ms.unwrap_or(scenario.budget.pose_to_photon_ms);
    if number(ui, DragValue::new(&mut target_ms).range(1.0..=1000.0).speed(0.1).suffix(" ms"), &label).changed() {
        setup.target_ms = Some(target_ms);
    }
    let label = ui.label("at");
    let mut percent = 100.0 * setup.quantile.unwrap_or(scenario.budget.quantile);
    let field = DragValue::new(&mut percent).range(1.0..=99.9).speed(0.1).suffix(" %");
    if number(ui, field, &label).on_hover_text("The share of frames that must meet it").changed() {
        setup.quantile = Some(percent / 100.0);
    }
    ui.label("shared");
    let combo = ComboBox::from_id_salt("rule").selected_text(in_short(setup.rule)).width(96.0);
    let response = combo.show_ui(ui, |ui| {
        for rule in Rule::ALL {
            ui.selectable_value(&mut setup.rule, rule, in_short(rule)).on_hover_text(rule.words());
        }
    });
    response.response.on_hover_text("How what is left, or lacking, is shared among the pieces");
}

const fn in_short(rule: Rule) -> &'static str {
    match rule {
        Rule::Exposed => "by time taken",
        Rule::Spread => "by variation",
        Rule::Equal => "in equal parts",
    }
}

fn number(ui: &mut Ui, value: DragValue<'_>, label: &Response) -> Response {
    ui.add(value).labelled_by(label.id)
}

fn measure(ui: &mut Ui, what: &str, name: &mut &'static str) {
    let now = measures::find(name).map_or("", |measure| measure.label.as_str());
    let items = || {
        let item = |measure: &'static measures::Measure| Item {
            key: &measure.name,
            name: measure.label.clone(),
            meaning: measure.with_unit(),
        };
        measures::all().iter().map(item).collect()
    };
    if let Some(picked) = picker(ui, what, now, items) {
        *name = picked;
    }
}

fn range(ui: &mut Ui, scenario: &Scenario, (what, place, counted): (&str, usize, bool), range: &mut Range) {
    let now = range.parameter().map_or_else(String::new, Parameter::full_label);
    let items = || {
        let can = |parameter: &&'static Parameter| can_turn(parameter) && parameter.get(scenario).is_some();
        let item = |parameter: &'static Parameter| Item {
            key: &parameter.path,
            name: parameter.full_label(),
            meaning: parameter.meaning.clone(),
        };
        parameters::all().iter().filter(can).map(item).collect()
    };
    if let Some(parameter) = picker(ui, what, &now, items).and_then(parameters::find) {
        *range = Range::usual(parameter, scenario, range.points);
    }
    if range.spacing == Spacing::List {
        let label = ui.label("values");
        ui.add(TextEdit::singleline(&mut range.list).desired_width(LIST))
            .labelled_by(label.id)
            .on_hover_text("Values, with commas between them");
    } else {
        for (name, text) in [("from", &mut range.low), ("to", &mut range.high)] {
            let label = ui.label(name);
            ui.add(TextEdit::singleline(text).desired_width(END)).labelled_by(label.id);
        }
        let unit = range.parameter().and_then(Parameter::numeric).map_or("", |numeric| numeric.unit.symbol);
        if !unit.is_empty() {
            ui.label(unit);
        }
        if counted {
            let label = ui.label("values");
            number(ui, DragValue::new(&mut range.points).range(2..=MOST_POINTS), &label);
        }
    }
    let spacing = ComboBox::from_id_salt(("spacing", place)).selected_text(range.spacing.words()).width(96.0);
    let response = spacing.show_ui(ui, |ui| {
        for spacing in Spacing::ALL {
            ui.selectable_value(&mut range.spacing, spacing, spacing.words());
        }
    });
    response.response.on_hover_text("How the values lie between the ends");
}

//! What the columns stand for: the proposal with the first rows, changed by hand, and which rows cannot be used.

use eframe::egui::{
    ComboBox, DragValue, Frame, Grid, Label, Margin, RichText, Role as Kind, ScrollArea, Ui, WidgetInfo,
};

use super::act::{Ask, BenchPurpose};
use super::{Calibrating, Look, Opened};
use crate::app::command::{Command, Purpose};
use crate::app::theme::{self, Palette};
use crate::calibrate::{BadRows, Cells, Mapped, Role, Unit};
use crate::report::format;

/// Frames at the start of a run that can be left out.
const MOST_SKIPPED: u32 = 100_000;
/// Height of the list of bad rows \[pt\].
const BAD_HEIGHT: f32 = 92.0;
/// Width of the choice of a role, and of a unit \[pt\].
const ROLE: f32 = 150.0;
const UNIT: f32 = 70.0;
/// Letters of a value that are shown.
const LETTERS: usize = 14;

impl Calibrating {
    /// Lays it out over the space there is.
    pub(super) fn columns(&self, ui: &mut Ui, asks: &mut Vec<Ask>, commands: &mut Vec<Command>) {
        let Some(opened) = &self.opened else { return };
        ui.horizontal_wrapped(|ui| {
            group(ui, opened, asks);
            skip(ui, opened, asks);
            ui.add_space(8.0);
            if ui.button("Propose anew").on_hover_text("What names and values tell, as at the opening").clicked() {
                asks.push(Ask::Propose);
            }
            files(ui, commands);
        });
        if opened.look.is_none() && !self.running() {
            ui.horizontal(|ui| {
                ui.label("What becomes of the rows is not known: it was given up.");
                if ui.button("Look at the rows").clicked() {
                    asks.push(Ask::LookAgain);
                }
            });
        } else {
            summary(ui, opened);
        }
        ui.add_space(4.0);
        ScrollArea::both().id_salt("columns").auto_shrink(false).show(ui, |ui| {
            Grid::new("columns").num_columns(5).striped(true).spacing([18.0, 5.0]).show(ui, |ui| {
                for name in ["Column", "Stands for", "Unit", "First values", ""] {
                    ui.label(RichText::new(name).strong());
                }
                ui.end_row();
                for (place, mapped) in opened.mapping.columns.iter().enumerate() {
                    row(ui, opened, place, mapped, asks);
                    ui.end_row();
                }
            });
        });
    }
}

/// Reading and writing the mapping.
fn files(ui: &mut Ui, commands: &mut Vec<Command>) {
    ui.menu_button("Mapping file", |ui| {
        ui.weak("The same file as --mapping and --save-mapping of `framelap calibrate`");
        let mut item = |name: &str, command: Command| {
            if ui.button(name).clicked() {
                commands.push(command);
                ui.close();
            }
        };
        item("Open mapping…", Command::Bench(Ask::Path(BenchPurpose::OpenMapping)));
        item("Path of a mapping to open…", Command::TypePath(Purpose::Bench(BenchPurpose::OpenMapping)));
        item("Save mapping…", Command::Bench(Ask::Path(BenchPurpose::SaveMapping)));
        item("Path to save the mapping to…", Command::TypePath(Purpose::Bench(BenchPurpose::SaveMapping)));
    });
}

fn group(ui: &mut Ui, opened: &Opened, asks: &mut Vec<Ask>) {
    let groups = opened.look.as_ref().map_or(&[][..], |look| &look.groups);
    let now = opened.mapping.group.as_deref();
    if now.is_none() && groups.is_empty() {
        let told = ui.weak("No groups");
        told.on_hover_text("No column stands for group: all rows are taken to be of one kind");
        return;
    }
    ui.label("Rows of");
    let shown = now.unwrap_or("all");
    let combo = ComboBox::from_id_salt("group").selected_text(shown).show_ui(ui, |ui| {
        for group in groups {
            if ui.selectable_label(now == Some(group), group).clicked() {
                asks.push(Ask::Group(group.clone()));
            }
        }
    });
    combo.response.widget_info(|| WidgetInfo::labeled(Kind::ComboBox, true, format!("Rows of group {shown}")));
}

fn skip(ui: &mut Ui, opened: &Opened, asks: &mut Vec<Ask>) {
    ui.add_space(8.0);
    let label = ui.label("Leave out at the start of every run");
    let mut skip = opened.mapping.skip;
    let suffix = if skip == 1 { " frame" } else { " frames" };
    let drag = DragValue::new(&mut skip).range(0..=MOST_SKIPPED).suffix(suffix);
    let response = ui.add(drag).labelled_by(label.id);
    if response.changed() {
        asks.push(Ask::Skip(skip));
    }
}

/// What becomes of the rows, and which cannot be used.
fn summary(ui: &mut Ui, opened: &Opened) {
    let palette = Palette::current(ui);
    let Some(Look { measured, .. }) = &opened.look else {
        ui.label(RichText::new("Looking at the rows").color(palette.soft));
        return;
    };
    let frames = format::of(measured.frames as u64, "frame");
    let runs = format::of(measured.starts.len() as u64, "run");
    let group = opened.mapping.group.as_ref().map_or_else(String::new, |group| format!(" of group {group}"));
    let bad = opened.sheet.bad.count + measured.bad.count;
    let good = if bad == 0 { "; every row can be used" } else { "" };
    ui.label(RichText::new(format!("{frames}{group} in {runs}{good}")).strong());
    for warning in warnings(opened) {
        ui.label(RichText::new(warning).color(palette.bad));
    }
    if bad == 0 {
        return;
    }
    let are = if bad == 1 { "is" } else { "are" };
    let told = format!("{} cannot be used and {are} left out:", format::of(bad, "row"));
    ui.label(RichText::new(told).color(palette.bad));
    let frame = Frame::new().fill(palette.paper).inner_margin(Margin::symmetric(8, 4));
    frame.show(ui, |ui| {
        ui.set_width(ui.available_width());
        ScrollArea::vertical().id_salt("bad rows").max_height(BAD_HEIGHT).auto_shrink([false, true]).show(ui, |ui| {
            for bad in [&opened.sheet.bad, &measured.bad] {
                bad_rows(ui, bad);
            }
        });
    });
}

fn bad_rows(ui: &mut Ui, bad: &BadRows) {
    for row in &bad.listed {
        ui.add(Label::new(RichText::new(format!("line {}: {}", row.line, row.cause)).font(theme::small())).wrap());
    }
    let rest = bad.count - bad.listed.len() as u64;
    if rest > 0 {
        ui.label(RichText::new(format!("and {} more", format::count(rest))).font(theme::small()));
    }
}

/// What a mapping lacks, in words.
fn warnings(opened: &Opened) -> Vec<&'static str> {
    let has = |role: Role| opened.mapping.columns.iter().any(|mapped| mapped.role == role);
    let mut told = Vec::new();
    if has(Role::Slice) && !has(Role::Frame) {
        told.push("Slices cannot be put together to frames: no column stands for frame.");
    }
    let times = crate::calibrate::STAGES.into_iter().any(has);
    if !times && !has(Role::Size) {
        told.push("Nothing can be fitted: no column stands for a stage or for the size.");
    }
    told
}

fn row(ui: &mut Ui, opened: &Opened, place: usize, mapped: &Mapped, asks: &mut Vec<Ask>) {
    let palette = Palette::current(ui);
    let name = &mapped.column;
    let used = mapped.role != Role::Unused;
    let color = if used { palette.ink } else { palette.soft };
    ui.add(Label::new(RichText::new(name).color(color))).on_hover_text(name);
    role(ui, opened, place, mapped, asks);
    unit(ui, place, mapped, asks);
    let values: Vec<String> = opened.preview.iter().filter_map(|row| row.get(place)).map(|cell| shown(cell)).collect();
    ui.label(RichText::new(values.join("  ")).font(theme::figures(theme::SMALL)).color(color));
    let note = if mapped.guessed { "unit guessed from the values" } else { "" };
    ui.label(RichText::new(note).font(theme::small()).color(palette.soft));
}

fn shown(cell: &str) -> String {
    match cell {
        "" => "–".to_owned(),
        cell if cell.chars().count() > LETTERS => cell.chars().take(LETTERS - 1).chain(['…']).collect(),
        cell => cell.to_owned(),
    }
}

fn role(ui: &mut Ui, opened: &Opened, place: usize, mapped: &Mapped, asks: &mut Vec<Ask>) {
    let cells = opened.sheet.columns.get(place).map(|column| &column.cells);
    let holder = |role: Role| {
        let other = opened.mapping.columns.iter().find(|other| other.role == role && other.column != mapped.column);
        other.map(|other| other.column.as_str())
    };
    let combo = ComboBox::from_id_salt(("role", place)).width(ROLE).height(400.0).selected_text(mapped.role.name());
    let combo = combo.show_ui(ui, |ui| {
        for role in Role::ALL {
            let why = refused(cells, role);
            let taken = holder(role).filter(|_| role != Role::Unused);
            let name = taken.map_or_else(|| role.name().to_owned(), |other| format!("{} (now {other})", role.name()));
            ui.add_enabled_ui(why.is_none(), |ui| {
                let label = ui.selectable_label(mapped.role == role, name).on_hover_text(meaning(role));
                if label.on_disabled_hover_text(why.unwrap_or_default()).clicked() && mapped.role != role {
                    asks.push(Ask::Assign(mapped.column.clone(), role));
                }
            });
        }
    });
    let told = format!("{} stands for {}", mapped.column, mapped.role.name());
    combo.response.widget_info(|| WidgetInfo::labeled(Kind::ComboBox, true, told.clone()));
}

fn unit(ui: &mut Ui, place: usize, mapped: &Mapped, asks: &mut Vec<Ask>) {
    let allowed = Unit::of(mapped.role.kind());
    if allowed.len() < 2 {
        ui.weak("none");
        return;
    }
    let combo = ComboBox::from_id_salt(("unit", place)).width(UNIT).selected_text(mapped.unit.name());
    let combo = combo.show_ui(ui, |ui| {
        for unit in allowed {
            if ui.selectable_label(mapped.unit == *unit, unit.name()).clicked() {
                asks.push(Ask::Unit(mapped.column.clone(), *unit));
            }
        }
    });
    let told = format!("Unit of {}: {}", mapped.column, mapped.unit.name());
    combo.response.widget_info(|| WidgetInfo::labeled(Kind::ComboBox, true, told.clone()));
}

/// Why a column cannot stand for something.
fn refused(cells: Option<&Cells>, role: Role) -> Option<&'static str> {
    match (cells, role) {
        (_, Role::Unused) | (Some(Cells::Numbers(_)), _) | (Some(Cells::Words(_)), Role::Group) => None,
        (Some(Cells::Words(_)), _) => Some("The column holds words: it can only tell groups"),
        _ => Some("The column holds too many different words to be used"),
    }
}

/// What a role means, in a sentence.
const fn meaning(role: Role) -> &'static str {
    match role {
        Role::Unused => "The column is passed over",
        Role::Group => "Setting or mode: only the rows of one group are used",
        Role::Frame => "Number of the frame; where it falls, another run begins",
        Role::Slice => "Number of the slice within its frame: the file holds a row a slice",
        Role::Slices => "Slices of the frame: parts a slice are told apart by it",
        Role::Intra => "1 for intra frames, 0 for others",
        Role::Size => "Coded size of the frame or slice",
        Role::Pixels => "Coded pixels of the frame",
        Role::Simulate => "Time of the simulation on the CPU",
        Role::Render => "Time of rendering on the GPU",
        Role::Encode => "Time of encoding",
        Role::Link => "Time on the link",
        Role::Decode => "Time of decoding",
        Role::Uplink => "Delay of a message from device to host",
        Role::Compose => "Time of the compositor",
        Role::Turnaround => "From plan to ready: compared, not fitted",
        Role::PoseToPhoton => "From pose to photons: compared, not fitted",
        Role::EncodeIn => "Instant at which a frame or slice goes into the encoder",
        Role::EncodeOut => "Instant at which it comes out of it: with the ones before, tells service from pipeline",
        Role::DecodeIn => "Instant at which a frame or slice goes into the decoder",
        Role::DecodeOut => "Instant at which it comes out of the decoder: tells service from pipeline",
    }
}

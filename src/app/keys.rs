//! The keys: one list that the menus, the handler and the help read.

use eframe::egui::{Context, Key, KeyboardShortcut, Modifiers};

use super::command::{Command, Purpose};
use super::gallery::Figure;
use super::state::Places;
use super::talk::Act;
use crate::report::figures::Side;

/// A key and what it does.
#[derive(Debug)]
pub(super) struct Binding {
    /// What it does, in words.
    pub(super) name: &'static str,
    /// The keys to press, any of them; the first one is shown in menus.
    pub(super) shortcuts: &'static [KeyboardShortcut],
    /// What is run.
    pub(super) command: Command,
}

impl Binding {
    /// Whether a text that is being edited keeps the key for itself.
    fn text_first(&self) -> bool {
        matches!(self.command, Command::Undo | Command::Redo)
    }
}

const fn ctrl(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::COMMAND, key)
}

const fn ctrl_shift(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::COMMAND.plus(Modifiers::SHIFT), key)
}

const fn alone(key: Key) -> KeyboardShortcut {
    KeyboardShortcut::new(Modifiers::NONE, key)
}

const fn binding(name: &'static str, shortcuts: &'static [KeyboardShortcut], command: Command) -> Binding {
    Binding { name, shortcuts, command }
}

/// Every key of the window, in the order of the help. Where one shortcut is another one with fewer modifiers, the one
/// with more stands first.
pub(super) static ALL: [Binding; 27] = [
    binding("Open as candidate", &[ctrl(Key::O)], Command::Open(Side::Candidate)),
    binding("Open as baseline", &[ctrl_shift(Key::O)], Command::Open(Side::Baseline)),
    binding("Type the path to open as candidate", &[ctrl(Key::L)], Command::TypePath(Purpose::Open(Side::Candidate))),
    binding("Save candidate", &[ctrl(Key::S)], Command::Save(Side::Candidate)),
    binding("Save candidate as", &[ctrl_shift(Key::S)], Command::SaveAs(Side::Candidate)),
    binding("Undo", &[ctrl(Key::Z)], Command::Undo),
    binding("Redo", &[ctrl(Key::Y), ctrl_shift(Key::Z)], Command::Redo),
    binding("Swap baseline and candidate", &[ctrl(Key::E)], Command::Swap),
    binding("Keep as baseline", &[ctrl(Key::B)], Command::CandidateToBaseline),
    binding("Back to baseline", &[ctrl_shift(Key::B)], Command::BaselineToCandidate),
    binding("Find a parameter", &[ctrl(Key::F)], Command::Search),
    binding("Show or hide parameters", &[ctrl(Key::P)], Command::ToggleParameters),
    binding("Present, or back to the page", &[alone(Key::F5)], Command::Present),
    binding("Walk through the frame in slow motion, or end it", &[alone(Key::F6)], Command::Walk),
    binding("Keep what is on screen as a step of the talk", &[ctrl(Key::K)], Command::Talk(Act::Keep)),
    binding("Show or hide the steps of the talk", &[ctrl(Key::T)], Command::Talk(Act::Panel)),
    binding("Present the talk, or back to the page", &[alone(Key::F7)], Command::Talk(Act::Present(0))),
    binding("Study: comparison", &[ctrl(Key::Num1)], Command::Put(Places::MIDDLE, Figure::Comparison)),
    binding("Study: sweep", &[ctrl(Key::Num2)], Command::Put(Places::MIDDLE, Figure::Sweep)),
    binding("Study: map", &[ctrl(Key::Num3)], Command::Put(Places::MIDDLE, Figure::Map)),
    binding("Study: sensitivity", &[ctrl(Key::Num4)], Command::Put(Places::MIDDLE, Figure::Sensitivity)),
    binding("Study: search", &[ctrl(Key::Num5)], Command::Put(Places::MIDDLE, Figure::Search)),
    binding("Study: budget split", &[ctrl(Key::Num6)], Command::Put(Places::MIDDLE, Figure::Split)),
    binding("Study: what if", &[ctrl(Key::Num7)], Command::Put(Places::MIDDLE, Figure::WhatIf)),
    binding("Run the study in the middle", &[ctrl(Key::R)], Command::StudyInTheMiddle),
    binding("This list of keys", &[alone(Key::F1)], Command::ToggleKeys),
    binding("Quit", &[ctrl(Key::Q)], Command::Quit),
];

/// Keys that belong to a widget or to the toolkit: shown in the help only.
pub(super) const ELSEWHERE: [(&str, &str); 12] = [
    ("Escape", "Take the message away, give up the study under way, leave a menu or a field"),
    ("Ctrl + plus, minus, 0", "Larger, smaller, usual size"),
    ("Tab, Shift + Tab", "To the next or previous control"),
    ("Left, Right", "Move the slider that has the focus"),
    ("Enter", "Type a value into the field that has the focus"),
    ("Tab to its title, Enter", "Choose the figure that stands in a place"),
    ("Left, Right, Home, End", "Slice count: move the handle"),
    ("Left, Right", "Lanes: the frame before, the frame after"),
    ("L, W, T", "Lanes: the next late frame, the longest on its way, the typical one"),
    ("Plus, Minus, or scroll", "Lanes: zoom in, zoom out"),
    ("Shift + Left, Right, or drag", "Lanes: earlier, later"),
    ("F, or double click", "Lanes: let the whole way fit"),
];

/// Takes the pressed keys of this frame and returns what they ask for.
pub(super) fn pressed(ctx: &Context) -> Vec<Command> {
    let typing = ctx.text_edit_focused();
    let all = || ALL.iter().flat_map(|binding| binding.shortcuts.iter().map(move |shortcut| (shortcut, binding)));
    // A shortcut also matches when Shift is down that it does not ask for: the more particular one comes first.
    let with_shift = |shift: bool| all().filter(move |(shortcut, _)| shortcut.modifiers.shift == shift);
    ctx.input_mut(|input| {
        with_shift(true)
            .chain(with_shift(false))
            .filter(|(shortcut, binding)| !(typing && binding.text_first()) && input.consume_shortcut(shortcut))
            .map(|(_, binding)| binding.command.clone())
            .collect()
    })
}

/// The keys of a command as the menus show them; empty where it has none.
pub(super) fn text(ctx: &Context, command: &Command) -> String {
    ALL.iter()
        .find(|binding| binding.command == *command)
        .map_or_else(String::new, |binding| ctx.format_shortcut(&binding.shortcuts[0]))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_key_does_two_things() {
        let mut seen: Vec<KeyboardShortcut> =
            ALL.iter().flat_map(|binding| binding.shortcuts.iter().copied()).collect();
        let all = seen.len();
        seen.sort_by_key(|shortcut| format!("{shortcut:?}"));
        seen.dedup();
        assert_eq!(seen.len(), all);
    }
}

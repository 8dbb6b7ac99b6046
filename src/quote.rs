//! What was found, as a message shows it: short, on one line, without signs that steer a terminal or turn the writing round.

/// Most characters of a value that a message holds.
const LONGEST: usize = 60;
/// Most characters of a path of fields that a message holds: far more than any field there is.
const LONGEST_PATH: usize = 160;

/// A text on one line, cut to a length that a message can hold.
pub(crate) fn cut(text: &str) -> String {
    cut_to(text, LONGEST)
}

/// The same, in quotes; words for no text at all.
pub(crate) fn quoted(text: &str) -> String {
    let cut = cut(text);
    if cut.is_empty() { "nothing".to_owned() } else { format!("`{cut}`") }
}

/// A path of fields, which a broken file may have made long.
pub(crate) fn path(path: &str) -> String {
    cut_to(path, LONGEST_PATH)
}

/// A text on one line, cut to so many characters.
pub(crate) fn cut_to(text: &str, longest: usize) -> String {
    // No more of a long text is looked at than could be shown.
    let start: String = text.chars().take(10 * longest).map(harmless).collect();
    let line = start.split_whitespace().collect::<Vec<_>>().join(" ");
    match line.char_indices().nth(longest) {
        Some((end, _)) => format!("{}…", &line[..end]),
        None => line,
    }
}

/// The sign, or one that stands for it where it is a control or changes the direction of writing (Unicode 16, `Cc` and
/// `Bidi_Control`).
fn harmless(sign: char) -> char {
    let turns = matches!(sign, '\u{61c}' | '\u{200e}' | '\u{200f}' | '\u{202a}'..='\u{202e}' | '\u{2066}'..='\u{2069}');
    if turns || (sign.is_control() && !sign.is_whitespace()) { char::REPLACEMENT_CHARACTER } else { sign }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_found_stands_on_one_short_line() {
        assert_eq!(quoted("8"), "`8`");
        assert_eq!(quoted(" \n"), "nothing");
        assert_eq!(cut("a\n\tb\u{2028} c"), "a b c");
        assert_eq!(cut("\u{1b}[31m\0\u{202e}"), "\u{fffd}[31m\u{fffd}\u{fffd}");
        assert_eq!(cut(&"é".repeat(70)), format!("{}…", "é".repeat(60)));
    }
}

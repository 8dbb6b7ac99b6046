//! Words that sentences in several places share.

use crate::measure::Server;

/// A server within a sentence, without its article.
pub const fn server(server: Server) -> &'static str {
    match server {
        Server::Cpu => "CPU",
        Server::Gpu => "GPU",
        Server::Encoder => "encoder",
        Server::Link => "link",
        Server::Decoder => "decoder",
    }
}

/// Words with a capital.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// A text broken between words into lines of at most so many characters; `indent` stands before the second line and those
/// after it.
pub fn wrapped(text: &str, columns: usize, indent: &str) -> Vec<String> {
    let length = |text: &str| text.chars().count();
    let mut lines: Vec<String> = Vec::new();
    for word in text.split_whitespace() {
        match lines.last_mut() {
            Some(line) if length(line) + 1 + length(word) <= columns => {
                line.push(' ');
                line.push_str(word);
            }
            Some(_) => lines.push(format!("{indent}{word}")),
            None => lines.push(word.to_owned()),
        }
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_break_between_words_and_hang() {
        assert_eq!(wrapped("one two three four", 9, "  "), ["one two", "  three", "  four"]);
        assert_eq!(wrapped("a  word-that-is-too-long b", 6, ""), ["a", "word-that-is-too-long", "b"]);
        assert!(wrapped(" ", 6, "").is_empty());
    }

    #[test]
    fn words_get_a_capital() {
        assert_eq!(["the encoder", ""].map(capital), ["The encoder", ""]);
    }
}

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

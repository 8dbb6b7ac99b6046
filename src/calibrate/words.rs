//! A column of words, of which there are few different ones.

use std::collections::HashMap;

/// Different words that a column may hold to be grouped by.
const MOST: usize = 1000;

/// Words, each different one kept once.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Words {
    different: Vec<String>,
    numbers: HashMap<String, u32>,
    rows: Vec<u32>,
}

impl Words {
    /// Adds a row; false where there are too many different words.
    pub(super) fn push(&mut self, word: &str) -> bool {
        // Rows of one word mostly follow each other.
        let last = self.rows.last().copied().filter(|&at| self.different[at as usize] == word);
        let known = last.or_else(|| self.number_of(word));
        if known.is_none() && self.different.len() == MOST {
            return false;
        }
        let at = known.unwrap_or_else(|| {
            let at = self.different.len() as u32;
            self.different.push(word.to_owned());
            self.numbers.insert(word.to_owned(), at);
            at
        });
        self.rows.push(at);
        true
    }

    /// The different words, in the order of their first coming.
    pub fn different(&self) -> &[String] {
        &self.different
    }

    /// The number of a word among the different ones.
    pub fn number_of(&self, word: &str) -> Option<u32> {
        self.numbers.get(word).copied()
    }

    /// The number of a row's word among the different ones.
    pub fn number(&self, row: usize) -> Option<u32> {
        self.rows.get(row).copied()
    }

    /// The word of a row.
    pub fn at(&self, row: usize) -> Option<&str> {
        self.number(row).map(|at| self.different[at as usize].as_str())
    }
}

//! A column of words, of which there are few different ones.

/// Different words that a column may hold to be grouped by.
const MOST: usize = 1000;

/// Words, each different one kept once.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Words {
    different: Vec<String>,
    rows: Vec<u32>,
}

impl Words {
    /// Adds a row; false where there are too many different words.
    pub(super) fn push(&mut self, word: &str) -> bool {
        // Rows of one word mostly follow each other.
        let last = self.rows.last().copied().filter(|&at| self.different[at as usize] == word);
        let known = last.or_else(|| self.different.iter().position(|other| other == word).map(|at| at as u32));
        if known.is_none() && self.different.len() == MOST {
            return false;
        }
        let at = known.unwrap_or_else(|| {
            self.different.push(word.to_owned());
            self.different.len() as u32 - 1
        });
        self.rows.push(at);
        true
    }

    /// The different words, in the order of their first coming.
    pub fn different(&self) -> &[String] {
        &self.different
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

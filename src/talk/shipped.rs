//! The talks that ship with the program, embedded in it.

use std::sync::LazyLock;

use super::{Talk, read};

/// A shipped talk.
#[derive(Debug)]
pub struct Shipped {
    /// Its name in a command: `why-slices`.
    pub slug: &'static str,
    /// The file's text.
    pub text: &'static str,
    talk: Talk,
}

const FILES: [(&str, &str); 2] = [
    ("why-slices", include_str!("../../assets/talks/why-slices.ron")),
    ("how-many-slices", include_str!("../../assets/talks/how-many-slices.ron")),
];

static LIST: LazyLock<Vec<Shipped>> = LazyLock::new(|| {
    // A test holds that every file is a talk, so none is left out.
    let read = |&(slug, text): &(&'static str, &'static str)| {
        Some(Shipped { slug, text, talk: read::from_ron(text, slug).ok()? })
    };
    FILES.iter().filter_map(read).collect()
});

/// All of them, in order.
pub fn all() -> &'static [Shipped] {
    &LIST
}

/// The one of that name or title, letter case aside.
pub fn find(name: &str) -> Option<&'static Shipped> {
    let called = |shipped: &&Shipped| {
        [shipped.slug, &shipped.talk.title].into_iter().any(|called| called.eq_ignore_ascii_case(name.trim()))
    };
    all().iter().find(called)
}

impl Shipped {
    /// The talk.
    pub fn talk(&self) -> &Talk {
        &self.talk
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::talk::{from_ron, to_ron};

    #[test]
    fn every_shipped_talk_reads_back() {
        assert_eq!(all().len(), FILES.len());
        for shipped in all() {
            assert_eq!(from_ron(&to_ron(shipped.talk()), shipped.slug).unwrap(), *shipped.talk());
            assert_eq!(shipped.talk().title.to_lowercase().replace(' ', "-"), shipped.slug);
            assert!((6..=8).contains(&shipped.talk().steps.len()));
            assert!(std::ptr::eq(find(&shipped.talk().title).unwrap(), shipped));
        }
        assert!(find("slices").is_none());
    }
}

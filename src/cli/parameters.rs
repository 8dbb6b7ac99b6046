//! `framelap parameters`: the paths by which a scenario's values are set.

use anyhow::bail;

use super::arguments::Parameters;
use super::{Outcome, output};
use crate::report::parameters;
use crate::scenario::parameters::{Parameter, all};

pub(super) fn run(options: &Parameters) -> anyhow::Result<Outcome> {
    let words: Vec<String> = options.words.iter().map(|word| word.to_lowercase()).collect();
    let asked = |parameter: &&Parameter| {
        let text = format!("{} {} {}", parameter.path, parameter.full_label(), parameter.meaning).to_lowercase();
        words.iter().all(|word| text.contains(word))
    };
    let found: Vec<&Parameter> = all().iter().filter(asked).collect();
    if found.is_empty() {
        let words = options.words.join(" ");
        bail!("{words:?}: found no parameter with these words, allowed: words of a path, a name or a meaning");
    }
    output::print(&parameters::text(&found))
}

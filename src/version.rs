//! Which version this is: the same source with the same `FRAMELAP_COMMIT` tells the same.

use std::sync::LazyLock;

static VERSION: LazyLock<String> = LazyLock::new(|| told(option_env!("FRAMELAP_COMMIT")));

/// The package's version, with the commit it was built of where the build was told it.
pub fn version() -> &'static str {
    &VERSION
}

fn told(commit: Option<&str>) -> String {
    let package = env!("CARGO_PKG_VERSION");
    match commit.map(str::trim).filter(|commit| !commit.is_empty()) {
        Some(commit) => format!("{package}+{commit}"),
        None => package.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_commit_is_told_where_there_is_one() {
        assert_eq!(told(None), env!("CARGO_PKG_VERSION"));
        assert_eq!(told(Some(" ")), told(None));
        assert_eq!(told(Some("0123abc")), concat!(env!("CARGO_PKG_VERSION"), "+0123abc"));
    }
}

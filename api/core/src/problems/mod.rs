//! Meaning of each kind of problem, on the pages that the `type` of a problem links to (RFC 9457, section 3.1.1), and of
//! each kind of warning.
//!
//! | route | what |
//! | --- | --- |
//! | `GET /problems` | all kinds of problem and of warning |
//! | `GET /problems/{slug}` | one kind of problem |

/// One line for each kind, `slug: what it means and what to do`, sorted.
const MEANINGS: &str = include_str!("meanings.txt");

/// The same for each kind of warning.
const WARNINGS: &str = include_str!("warnings.txt");

/// One kind of problem or warning.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Meaning {
    /// Last part of the `type` of a problem, or `code` of a warning.
    pub slug: &'static str,
    /// Meaning of the problem or warning, and what to do.
    pub text: &'static str,
}

/// All kinds of problem, by slug.
pub fn meanings() -> impl Iterator<Item = Meaning> {
    read(MEANINGS)
}

/// All kinds of warning, by code. A warning that a later step will refuse what was written has the slug of that problem
/// instead.
pub fn warnings() -> impl Iterator<Item = Meaning> {
    read(WARNINGS)
}

fn read(list: &'static str) -> impl Iterator<Item = Meaning> {
    list.lines().filter_map(|line| line.split_once(": ")).map(|(slug, text)| Meaning { slug, text })
}

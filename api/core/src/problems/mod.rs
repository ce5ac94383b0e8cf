//! Meaning of each kind of problem: the pages that the `type` of a problem links to (RFC 9457, section 3.1.1).
//!
//! | route | what |
//! | --- | --- |
//! | `GET /problems` | all kinds |
//! | `GET /problems/{slug}` | one kind |

/// One line for each kind, `slug: what it means and what to do`, sorted.
const MEANINGS: &str = include_str!("meanings.txt");

/// One kind of problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Meaning {
    /// Last part of its `type`.
    pub slug: &'static str,
    /// Meaning of the problem, and what to do.
    pub text: &'static str,
}

/// All kinds, by slug.
pub fn meanings() -> impl Iterator<Item = Meaning> {
    MEANINGS.lines().filter_map(|line| line.split_once(": ")).map(|(slug, text)| Meaning { slug, text })
}

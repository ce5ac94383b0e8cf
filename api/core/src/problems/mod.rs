//! What each kind of "no" means: the pages that the `type` of a problem leads to (RFC 9457, section 3.1.1).
//!
//! | route | what |
//! | --- | --- |
//! | `GET /problems` | all of them |
//! | `GET /problems/{slug}` | one |

/// One a line, `slug: what it means and what to do`, sorted.
const MEANINGS: &str = include_str!("meanings.txt");

/// One kind of problem.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Meaning {
    /// The end of its `type`.
    pub slug: &'static str,
    /// What it means and what to do.
    pub text: &'static str,
}

/// All kinds, by slug.
pub fn meanings() -> impl Iterator<Item = Meaning> {
    MEANINGS.lines().filter_map(|line| line.split_once(": ")).map(|(slug, text)| Meaning { slug, text })
}

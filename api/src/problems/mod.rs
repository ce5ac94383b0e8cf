//! What each kind of "no" means: the pages that the `type` of a problem leads to (RFC 9457, section 3.1.1).
//!
//! | route | what |
//! | --- | --- |
//! | `GET /problems` | all of them |
//! | `GET /problems/{slug}` | one |

mod pages;

use utoipa_actix_web::service_config::ServiceConfig;

use crate::http::unlisted::Unlisted;

/// Adds the feature's routes.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/problems", pages::all)).service(Unlisted::get("/problems/{slug}", pages::one));
}

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

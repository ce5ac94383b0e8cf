//! The pages of the kinds of problem.

use actix_web::get;
use actix_web::http::StatusCode;
use actix_web::web::Path;
use askama::Template;
use baywright_core::platform::refusal::Refused;
use baywright_core::problems::{Meaning, meanings, warnings};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::problem::{Problem, titled};
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

use crate::platform::{Frame, html};

/// The page of some kinds of problem.
#[derive(Template)]
#[template(path = "problems/views/problems.html")]
struct Page {
    frame: Frame,
    shown: Vec<Shown>,
    warnings: Vec<Shown>,
    alone: bool,
}

/// One kind of problem or warning on the page.
struct Shown {
    slug: &'static str,
    title: String,
    text: &'static str,
}

impl From<Meaning> for Shown {
    fn from(meaning: Meaning) -> Self {
        Self { slug: meaning.slug, title: titled(meaning.slug), text: meaning.text }
    }
}

/// Adds the pages of the kinds of problem.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/problems", all)).service(Unlisted::get("/problems/{slug}", one));
}

#[get("/problems")]
async fn all() -> Answer {
    let shown = meanings().map(Shown::from).collect();
    let warnings = warnings().map(Shown::from).collect();
    html(StatusCode::OK, &Page { frame: Frame::plain("Problems", ""), shown, warnings, alone: false })
}

#[get("/problems/{slug}")]
async fn one(slug: Path<String>) -> Answer {
    let known = meanings().find(|meaning| meaning.slug == slug.as_str());
    let shown = Shown::from(known.ok_or_else(|| Problem::from(Refused::not_found("kind of problem")))?);
    let frame = Frame::plain(shown.title.as_str(), "");
    html(StatusCode::OK, &Page { frame, shown: vec![shown], warnings: Vec::new(), alone: true })
}

//! Parts that all pages share: their frames, forms, our own style sheets and scripts, how pages become answers, and the
//! page of a refusal for people who use a browser.
//!
//! Pages are HTML from the server and work without scripts; a script only makes them quicker. Style and scripts are
//! files of ours under `/assets/` with their digest in the name, so that a browser keeps them for good.
//!
//! Pages are added by [`Unlisted`], which repeats method and path beside the route. So a page answers another method
//! with 405 and `Allow` as the API does, although the API document leaves it out. A browser (its `Accept` names HTML,
//! and does not prefer JSON) gets a refusal as a page, but never from an address that the API document describes.
//!
//! A page of the studio takes a [`PageRead`](baywright_http::platform::page::PageRead) or, for a form, a
//! [`PageWrite`](baywright_http::platform::page::PageWrite), for the same audiences as the routes of the API. Whoever is not
//! signed in is asked to sign in first and comes back to the page, with what was typed.

mod again;
pub mod assets;
mod desk;
pub mod filters;
pub mod form;
mod frame;
pub mod picture;
mod plainly;
mod reach;
pub mod refused;
mod saved;
mod wall;
mod way;

use actix_web::HttpResponse;
use actix_web::http::StatusCode;
use actix_web::http::header::CONTENT_TYPE;
use askama::Template;
use baywright_http::platform::problem::Problem;
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

pub use again::{AgainPage, SendAgain};
pub use desk::{DeskFrame, Insider, Place};
pub use frame::Frame;
pub use plainly::plainly;
pub use reach::Reach;
pub use saved::{followed, taken};
pub use wall::Wall;
pub use way::{of_ours, see_other, to_sign_in};

/// Adds the routes of the files that pages load.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/assets/{name}", assets::asset));
    config.service(Unlisted::get("/favicon.ico", assets::favicon));
}

/// A rendered page with its status.
///
/// # Errors
/// If a template does not render, which is a defect.
pub fn html(status: StatusCode, page: &impl Template) -> Result<HttpResponse, Problem> {
    Ok(HttpResponse::build(status).insert_header((CONTENT_TYPE, "text/html; charset=utf-8")).body(rendered(page)?))
}

/// A rendered page.
///
/// # Errors
/// A defect: a template that does not render.
pub fn rendered(page: &impl Template) -> Result<String, Problem> {
    page.render().map_err(|error| {
        tracing::error!(%error, "a page did not render");
        Problem::unexpected()
    })
}

/// Whether a form's page can show what is wrong, so that it is corrected there: a value that is refused, or a record that
/// somebody else has changed meanwhile.
pub fn is_mendable(problem: &Problem) -> bool {
    matches!(problem.status(), StatusCode::UNPROCESSABLE_ENTITY | StatusCode::PRECONDITION_FAILED)
}

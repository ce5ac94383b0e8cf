//! Parts that all pages share: the customer's frame, our own style sheet and scripts, and how pages become answers; the
//! start page, and the page of a refusal for people who use a browser.
//!
//! Pages are HTML from the server and work without scripts; a script only makes them quicker. Style and scripts are
//! files of ours under `/assets/` with their digest in the name, so that a browser keeps them for good.
//!
//! Pages are added by [`Unlisted`], which repeats method and path beside the route. So a page answers another method
//! with 405 and `Allow` as the API does, although the API document leaves it out. A browser (its `Accept` names HTML,
//! and does not prefer JSON) gets a refusal as a page, but never from an address that the API document describes.

pub mod assets;
pub mod filters;
mod frame;
mod reach;
pub mod refused;
mod start;

use actix_web::HttpResponse;
use actix_web::http::StatusCode;
use actix_web::http::header::CONTENT_TYPE;
use askama::Template;
use baywright_http::platform::problem::Problem;
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

pub use frame::Frame;
pub use reach::Reach;

/// Adds the routes of the start page and of the files that pages load.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/", start::start));
    config.service(Unlisted::get("/assets/{name}", assets::asset));
    config.service(Unlisted::get("/favicon.ico", assets::favicon));
}

/// A rendered page with its status.
///
/// # Errors
/// If a template does not render, which is a defect.
pub fn html(status: StatusCode, page: &impl Template) -> Result<HttpResponse, Problem> {
    let text = page.render().map_err(|error| {
        tracing::error!(%error, "a page did not render");
        Problem::unexpected()
    })?;
    Ok(HttpResponse::build(status).insert_header((CONTENT_TYPE, "text/html; charset=utf-8")).body(text))
}

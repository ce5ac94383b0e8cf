//! What all pages share: the customer's frame, our own style sheet and scripts, and how pages become answers.
//!
//! Pages are HTML from the server and work without scripts; a script only makes them quicker. Style and scripts are
//! files of ours under `/assets/` with their digest in the name, so that a browser keeps them for good.

pub mod assets;
mod frame;

use actix_web::HttpResponse;
use actix_web::dev::{AppService, HttpServiceFactory};
use actix_web::http::StatusCode;
use actix_web::http::header::CONTENT_TYPE;
use askama::Template;
use utoipa::openapi::RefOr;
use utoipa::openapi::path::Paths;
use utoipa::openapi::schema::Schema;
use utoipa_actix_web::OpenApiFactory;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::platform::problem::Problem;

pub use frame::Frame;

/// Adds the routes of the files that pages load.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted(assets::asset));
}

/// A page or file for people, which the API document leaves out.
#[derive(Debug, Clone, Copy)]
pub struct Unlisted<S>(pub S);

impl<S: HttpServiceFactory> HttpServiceFactory for Unlisted<S> {
    fn register(self, config: &mut AppService) {
        self.0.register(config);
    }
}

impl<S> OpenApiFactory for Unlisted<S> {
    fn paths(&self) -> Paths {
        Paths::new()
    }

    fn schemas(&self, _: &mut Vec<(String, RefOr<Schema>)>) {}
}

/// A rendered page with its status.
///
/// # Errors
/// A defect: a template that does not render.
pub fn html(status: StatusCode, page: &impl Template) -> Result<HttpResponse, Problem> {
    let text = page.render().map_err(|error| {
        tracing::error!(%error, "a page did not render");
        Problem::unexpected()
    })?;
    Ok(HttpResponse::build(status).insert_header((CONTENT_TYPE, "text/html; charset=utf-8")).body(text))
}

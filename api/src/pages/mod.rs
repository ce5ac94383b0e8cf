//! What all pages share: the customer's frame, our own style sheet and scripts, and how pages become answers; the start
//! page, and the page of a "no" for people who came with a browser.
//!
//! Pages are HTML from the server and work without scripts; a script only makes them quicker. Style and scripts are
//! files of ours under `/assets/` with their digest in the name, so that a browser keeps them for good.
//!
//! Pages are added by [`Unlisted`], which names method and path once more beside the route. So a page answers another
//! method with 405 and `Allow` as the API does, although the API document leaves it out. A browser (its `Accept` names
//! HTML, and JSON no sooner) gets a "no" as a page, but never from an address that the API document describes.

pub mod assets;
pub mod filters;
mod frame;
mod reach;
pub mod refused;
mod start;

use actix_web::HttpResponse;
use actix_web::dev::{AppService, HttpServiceFactory};
use actix_web::http::StatusCode;
use actix_web::http::header::CONTENT_TYPE;
use askama::Template;
use utoipa::openapi::RefOr;
use utoipa::openapi::path::{HttpMethod, OperationBuilder, Paths};
use utoipa::openapi::schema::Schema;
use utoipa_actix_web::OpenApiFactory;
use utoipa_actix_web::service_config::ServiceConfig;

use crate::http::openapi;
use crate::http::problem::Problem;

pub use frame::Frame;
pub use reach::Reach;
pub use start::Demo;

/// Adds the routes of the start page and of the files that pages load.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/", start::start));
    config.service(Unlisted::get("/assets/{name}", assets::asset));
    config.service(Unlisted::get("/favicon.ico", assets::favicon));
}

/// A page or file for people. The API document leaves it out; what it answers to another method is said all the same.
#[derive(Clone)]
pub struct Unlisted<S> {
    method: HttpMethod,
    path: &'static str,
    service: S,
}

impl<S> Unlisted<S> {
    /// A page that is read, at the path that the service itself names.
    pub const fn get(path: &'static str, service: S) -> Self {
        Self { method: HttpMethod::Get, path, service }
    }

    /// A form that is sent.
    pub const fn post(path: &'static str, service: S) -> Self {
        Self { method: HttpMethod::Post, path, service }
    }
}

impl<S: HttpServiceFactory> HttpServiceFactory for Unlisted<S> {
    fn register(self, config: &mut AppService) {
        self.service.register(config);
    }
}

impl<S> OpenApiFactory for Unlisted<S> {
    fn paths(&self) -> Paths {
        let operation = OperationBuilder::new().tag(openapi::PAGE).build();
        let mut paths = Paths::new();
        paths.add_path_operation(self.path, vec![self.method.clone()], operation);
        paths
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

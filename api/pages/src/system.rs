//! The pages under `/docs/`, on which the API can be read and tried.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, routes};
use askama::Template;
use baywright_http::platform::problem::Problem;
use baywright_http::platform::unlisted::Unlisted;

use crate::platform::{assets, html};

/// The page that loads the reader of the API document.
#[derive(Template)]
#[template(path = "system/views/docs.html")]
struct Page {
    icon: String,
}

/// The first page, under our own title.
#[routes]
#[get("/docs/")]
#[get("/docs/index.html")]
async fn reader() -> Result<HttpResponse, Problem> {
    html(StatusCode::OK, &Page { icon: assets::icon() })
}

/// The first page; the API document leaves it out.
pub fn docs_page() -> Unlisted<impl actix_web::dev::HttpServiceFactory> {
    Unlisted::get("/docs/", reader)
}

//! The page at `/`: what runs here, and links to it.

use actix_web::get;
use actix_web::http::StatusCode;
use actix_web::web::Data;
use askama::Template;

use super::{Frame, html};
use crate::http::answer::Answer;
use crate::http::app::{App, Demo};

#[derive(Template)]
#[template(path = "pages/start.html")]
struct StartPage<'a> {
    frame: Frame,
    demo: Option<&'a Demo>,
}

#[get("/")]
pub(super) async fn start(app: Data<App>) -> Answer {
    html(StatusCode::OK, &StartPage { frame: Frame::new("Baywright", ""), demo: app.demo.as_ref() })
}

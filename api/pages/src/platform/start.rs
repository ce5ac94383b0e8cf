//! The page at `/`: what runs here, and links to it.

use actix_web::get;
use actix_web::http::StatusCode;
use actix_web::web::Data;
use askama::Template;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::app::{App, Demo};

use super::{Frame, html};

#[derive(Template)]
#[template(path = "platform/start.html")]
struct StartPage<'a> {
    frame: Frame,
    demo: Option<&'a Demo>,
}

#[get("/")]
pub(super) async fn start(app: Data<App>) -> Answer {
    html(StatusCode::OK, &StartPage { frame: Frame::new("Baywright", ""), demo: app.demo.as_ref() })
}

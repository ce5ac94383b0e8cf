//! The page at `/`: what runs here, and where to go from it.

use actix_web::get;
use actix_web::http::StatusCode;
use actix_web::web::Data;
use askama::Template;

use super::{Frame, html};
use crate::http::answer::Answer;
use crate::http::app::App;

/// What the demo offers to try.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Demo {
    /// Address of a customer's page with a quote that waits for an answer.
    pub customer_page: String,
    /// Who can sign in: mail address and role.
    pub people: Vec<(String, String)>,
    /// Everyone's password.
    pub password: String,
    /// The folder of the mails that went out.
    pub mails: String,
}

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

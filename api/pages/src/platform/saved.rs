//! What follows a form that was taken: the next page, or first what somebody careful would check.

use actix_web::http::StatusCode;
use askama::Template;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::Outcome;

use super::{Frame, html, see_other};

/// The page of what should be checked, although the form was taken.
#[derive(Template)]
#[template(path = "platform/saved.html")]
struct SavedPage {
    frame: Frame,
    outcome: Outcome,
}

/// The answer to a form that was taken.
///
/// # Errors
/// A defect: a template that does not render.
pub fn followed(outcome: Outcome) -> Answer {
    if outcome.advice.is_empty() {
        return Ok(see_other(&outcome.address));
    }
    html(StatusCode::OK, &SavedPage { frame: Frame::plain("Saved, but please check", ""), outcome })
}

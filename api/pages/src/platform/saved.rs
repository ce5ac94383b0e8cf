//! What follows a form that was taken: the next page, or first what somebody careful would check.

use actix_web::http::StatusCode;
use askama::Template;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Audience;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::{Outcome, PageWrite};
use baywright_http::platform::problem::Problem;

use super::{Frame, html, is_mendable, plainly, see_other};

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
pub fn followed(mut outcome: Outcome) -> Answer {
    if outcome.advice.is_empty() {
        return Ok(see_other(&outcome.address));
    }
    outcome.advice = outcome.advice.iter().map(|line| plainly(line)).collect();
    html(StatusCode::OK, &SavedPage { frame: Frame::plain("Saved, but please check", ""), outcome })
}

/// Takes what was read from a form, once per key of the form; the use case gives the address of the page that follows.
/// Gives the answer, or the problem that the form's own page can show.
///
/// # Errors
/// Problems that the form's page can't show.
pub async fn taken<A: Audience, T: Send + 'static>(
    page: &PageWrite<A>,
    read: Result<T, Refused>,
    mut take: impl FnMut(&mut Tx<'_>, &T) -> Done<String> + Send + 'static,
) -> Result<Answer, Problem> {
    let outcome = match read {
        Ok(read) => page.once(move |tx| take(tx, &read)).await,
        Err(refused) => Err(refused.into()),
    };
    match outcome {
        Ok(outcome) => followed(outcome).map(Ok),
        Err(problem) if is_mendable(&problem) => Ok(Err(problem)),
        Err(problem) => Err(problem),
    }
}

//! The forms of the page.

use actix_web::http::StatusCode;
use actix_web::post;
use baywright_core::platform::clock::UtcTime;
use baywright_core::platform::fail::Done;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_core::signoff::usecase::Link;
use baywright_core::stay::usecase;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::body::Form;

use super::show::{page, path};
use super::view::{FaultView, Typed};
use crate::platform::form::Fields;
use crate::platform::see_other;
use crate::signoff::{Stopped, Visit, stopped_page};

/// Answers a form that can't be taken: the page as it is now, with what was typed and what is wrong.
async fn told(visit: &Visit, stopped: Stopped, typed: Typed) -> Answer {
    let status = stopped.problem.status();
    if !matches!(status, StatusCode::CONFLICT | StatusCode::UNPROCESSABLE_ENTITY) {
        return stopped_page(&stopped);
    }
    match visit.read(usecase::show).await {
        Ok(stay) => page(visit, &stay, typed, FaultView::of(stopped.problem.refused()), status),
        Err(stopped) => stopped_page(&stopped),
    }
}

/// Books the time that was chosen.
#[post("/c/{token}/time")]
pub(super) async fn book_time(visit: Visit, Form(body): Form) -> Answer {
    let fields = Fields::of_form(&body);
    if let Err(problem) = visit.check_form(&fields.text("code")) {
        return stopped_page(&visit.stopped(problem).await);
    }
    let chosen = fields.text("time");
    let typed = Typed { time: chosen.clone(), ..Typed::default() };
    let Some(start) = UtcTime::parse(&chosen).map(UtcTime::minute) else {
        let problem = Refused::field("/time", "missing", "Choose one of the times.");
        return told(&visit, Stopped::from(problem), typed).await;
    };
    match visit.write(move |tx, link| usecase::choose(tx, link, start)).await {
        Ok(()) => Ok(see_other(&path(&visit))),
        // A customer who presses twice sees the time that they booked.
        Err(stopped) if ["already-booked", "nothing-to-choose"].contains(&stopped.problem.code()) => {
            Ok(see_other(&path(&visit)))
        }
        Err(stopped) => told(&visit, stopped, typed).await,
    }
}

/// Sends a question to the studio.
#[post("/c/{token}/ask")]
pub(super) async fn ask_studio(visit: Visit, Form(body): Form) -> Answer {
    let fields = Fields::of_form(&body);
    if let Err(problem) = visit.check_form(&fields.text("code")) {
        return stopped_page(&visit.stopped(problem).await);
    }
    let question = fields.text("question");
    let written = question.clone();
    match visit.write(move |tx, link| usecase::ask(tx, link, &written)).await {
        Ok(()) => Ok(see_other(&format!("{}?asked=yes#ask", path(&visit)))),
        Err(stopped) => told(&visit, stopped, Typed { question, ..Typed::default() }).await,
    }
}

/// Leads to the change that waits for an answer.
#[post("/c/{token}/change")]
pub(super) async fn open_change(visit: Visit, Form(body): Form) -> Answer {
    lead(&visit, &body, usecase::to_change).await
}

/// Leads to the version of the quote that waits for an answer.
#[post("/c/{token}/quote")]
pub(super) async fn open_quote(visit: Visit, Form(body): Form) -> Answer {
    lead(&visit, &body, usecase::to_quote).await
}

async fn lead(visit: &Visit, body: &[u8], way: fn(&mut Tx<'_>, &Link) -> Done<String>) -> Answer {
    if let Err(problem) = visit.check_form(&Fields::of_form(body).text("code")) {
        return stopped_page(&visit.stopped(problem).await);
    }
    match visit.write(way).await {
        Ok(address) => Ok(see_other(&address)),
        Err(stopped) => told(visit, stopped, Typed::default()).await,
    }
}

//! Accepting and declining, and agreeing to an earlier start.

use actix_web::http::StatusCode;
use actix_web::{HttpResponse, get, post};
use baywright_core::answer;
use baywright_core::platform::refusal::{FieldFault, Refused};
use baywright_core::quote::usecase::Yes;
use baywright_core::signoff::usecase::opened as note_opened;
use baywright_core::stay;
use baywright_domain::signoff::Method;
use baywright_http::platform::answer::Answer;
use baywright_http::platform::body::Form;

use super::blocked::{self, frame};
use super::choice::{Choice, Fields, faults_of, readable};
use super::entered::Entered;
use super::offer::{Found, checked, find, path};
use super::subject;
use super::view::{DeclinePage, Facts, FaultView};
use super::visit::{Stopped, Visit};
use crate::platform::{html, see_other};

/// Accepts the offer.
#[post("/q/{token}/accept")]
pub(super) async fn accept(visit: Visit, Form(body): Form) -> Answer {
    let fields = Fields::of_form(&body);
    if let Err(problem) = visit.check_form(&fields.text("code")) {
        return blocked::problem(&visit.stopped(problem).await);
    }
    let ticked = fields.ticked();
    let digest = fields.text("digest");
    let entered = Entered::of_form(&fields);
    let signed = match entered.refused_drawing() {
        None => {
            let strokes = fields.strokes().ok().flatten();
            let (ticked, entered, digest) = (ticked.clone(), entered.clone(), digest.clone());
            let write = visit.write(move |tx, link| {
                let yes = Yes { strokes: strokes.clone(), ..entered.yes(&digest, &ticked, link) };
                answer::usecase::sign(tx, link, &yes)
            });
            write.await
        }
        Some(problem) => Err(Stopped::from(problem)),
    };
    match signed {
        Ok(()) => Ok(see_other(&format!("{}/done", path(&visit)))),
        Err(stopped) if !stopped.problem.status().is_client_error() => blocked::problem(&stopped),
        // A refusal stored nothing: the page shows the current offer, with what was entered.
        Err(stopped) => {
            let found = visit.read({
                let ticked = ticked.clone();
                move |tx, link| find(tx, link, &ticked)
            });
            let found = match found.await {
                Ok(found) => found,
                Err(stopped) => return blocked::problem(&stopped),
            };
            let typed = vec![("Name".to_owned(), entered.name.clone())];
            if let Some(obstacle) = &found.obstacle {
                return blocked::page(
                    &found.shown,
                    &found.link,
                    (&path(&visit), &visit.form_code()),
                    obstacle,
                    true,
                    typed,
                );
            }
            if found.price.is_err() || digest != found.shown.digest {
                return blocked::changed(&found.shown, &found.link, &path(&visit), typed);
            }
            if stopped.problem.code() == "sign-off-incomplete" {
                return Ok(see_other(&format!("{}/check?{}", path(&visit), entered.as_query(&ticked))));
            }
            // It is no fault of the form, so reading the page again would not find it.
            checked(&visit, found, &ticked, entered, &said_to_customer(stopped.problem.refused()))
        }
    }
}

/// The faults of a problem, for the customer. A problem without faults tells the studio what to do, so the customer is
/// asked to contact the studio.
fn said_to_customer(problem: &Refused) -> Vec<FieldFault> {
    let mut faults = faults_of(problem);
    if problem.errors().is_empty() {
        for fault in &mut faults {
            "You can no longer accept this here. Please contact us.".clone_into(&mut fault.detail);
        }
    }
    faults
}

/// The form to decline.
#[get("/q/{token}/decline")]
pub(super) async fn decline_form(visit: Visit) -> Answer {
    match visit.read(|tx, link| find(tx, link, &[])).await {
        Ok(found) => declining(&visit, found, String::new(), Vec::new()),
        Err(stopped) => blocked::problem(&stopped),
    }
}

fn declining(visit: &Visit, found: Found, reason: String, faults: Vec<FaultView>) -> Answer {
    let Found { shown, link, obstacle, .. } = found;
    let path = path(visit);
    if let Some(obstacle) = obstacle {
        return blocked::page(&shown, &link, (&path, &visit.form_code()), &obstacle, false, Vec::new());
    }
    let wrong = !faults.is_empty();
    let title = format!("{}Decline {}", if wrong { "Error: " } else { "" }, subject::called(&shown.document));
    let page = DeclinePage {
        frame: frame(title, &shown, link.method == Method::InPerson),
        code: visit.form_code(),
        digest: shown.digest.clone(),
        facts: Facts::of(&shown.document, &[]),
        path,
        reason,
        faults,
    };
    html(if wrong { StatusCode::UNPROCESSABLE_ENTITY } else { StatusCode::OK }, &page)
}

/// Declines the offer.
#[post("/q/{token}/decline")]
pub(super) async fn decline(visit: Visit, Form(body): Form) -> Answer {
    let fields = Fields::of_form(&body);
    if let Err(problem) = visit.check_form(&fields.text("code")) {
        return blocked::problem(&visit.stopped(problem).await);
    }
    let reason = fields.text("reason");
    let digest = fields.text("digest");
    let declined = match readable(&reason) {
        Some(text) => {
            let (digest, text) = (digest.clone(), text.to_owned());
            let write = visit.write(move |tx, link| answer::usecase::decline(tx, link, &digest, &text));
            write.await
        }
        None => Err(Refused::field("/reason", "too_long", "Write at most 1,000 characters.").into()),
    };
    match declined {
        Ok(()) => Ok(see_other(&path(&visit))),
        Err(stopped) if !stopped.problem.status().is_client_error() => blocked::problem(&stopped),
        Err(stopped) => {
            let found = match visit.read(|tx, link| find(tx, link, &[])).await {
                Ok(found) => found,
                Err(stopped) => return blocked::problem(&stopped),
            };
            let typed = vec![("Reason".to_owned(), reason.clone())];
            if let Some(obstacle) = &found.obstacle {
                return blocked::page(
                    &found.shown,
                    &found.link,
                    (&path(&visit), &visit.form_code()),
                    obstacle,
                    true,
                    typed,
                );
            }
            if digest != found.shown.digest {
                return blocked::changed(&found.shown, &found.link, &path(&visit), typed);
            }
            let faults = faults_of(stopped.problem.refused()).iter().map(FaultView::from).collect();
            declining(&visit, found, reason, faults)
        }
    }
}

/// The customer agrees, after signing, that work may start within the 14 days.
#[post("/q/{token}/early-start")]
pub(super) async fn early_start(visit: Visit, Form(body): Form) -> Answer {
    if let Err(problem) = visit.check_form(&Fields::of_form(&body).text("code")) {
        return blocked::problem(&visit.stopped(problem).await);
    }
    match visit.write(answer::usecase::agree_to_early_start).await {
        Ok(()) => Ok(see_other(&format!("{}/done", path(&visit)))),
        // A customer who presses twice sees that it is agreed.
        Err(stopped) if stopped.problem.code() == "start-not-held-back" => {
            Ok(see_other(&format!("{}/done", path(&visit))))
        }
        Err(stopped) => blocked::problem(&stopped),
    }
}

/// Leads to the page for the rest of the stay, with a link of its own.
#[post("/q/{token}/stay")]
pub(super) async fn go_on(visit: Visit, Form(body): Form) -> Answer {
    if let Err(problem) = visit.check_form(&Fields::of_form(&body).text("code")) {
        return blocked::problem(&visit.stopped(problem).await);
    }
    match visit.write(stay::usecase::page_of).await {
        Ok(address) => Ok(see_other(&address)),
        Err(stopped) => blocked::problem(&stopped),
    }
}

/// The page's script reports that somebody looks at it.
#[post("/q/{token}/opened")]
pub(super) async fn opened(visit: Visit, Form(body): Form) -> Answer {
    visit.check_form(&Fields::of_form(&body).text("code"))?;
    visit.write(note_opened).await?;
    Ok(HttpResponse::build(StatusCode::NO_CONTENT).finish())
}

//! A new car, from the call to the quote that is sent. Each step saves by the use cases of the API, so that anybody can
//! continue on another device, and going back loses nothing.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET`, `POST /new-car` | desk | who called: a known customer is found, a new one is written down |
//! | `GET`, `POST /new-car/{id}` | desk | corrects the call of that enquiry |
//! | `GET`, `POST /new-car/{id}/car` | desk | chooses, adds or corrects the car |
//! | `GET`, `POST /new-car/{id}/walk-round` | desk | findings, on a drawing of the car |
//! | `POST /new-car/{id}/paint` | owner | decides about readings of the paint |
//! | `GET`, `POST /new-car/{id}/work` | desk | work with its price and first day |
//! | `GET`, `POST /new-car/{id}/send` | desk | checks the quote, sends it or hands the tablet over |
//! | `GET /new-car/photos/{id}` | desk | a photograph of the walk-round |

mod call;
mod car;
mod contact;
mod correct;
mod drawing;
mod finding;
mod paint;
mod photo;
mod priced;
mod send;
mod steps;
mod walk_round;
mod work;

use actix_web::http::StatusCode;
use baywright_core::new_car::usecase::NewCar;
use baywright_core::platform::fail::Done;
use baywright_core::platform::identity::Audience;
use baywright_core::platform::refusal::Refused;
use baywright_core::platform::tx::Tx;
use baywright_domain::id::{EnquiryId, QuoteId};
use baywright_http::platform::answer::Answer;
use baywright_http::platform::page::PageWrite;
use baywright_http::platform::problem::Problem;
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

use crate::platform::taken;

/// The address of the first step.
const HERE: &str = "/new-car";

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/new-car", call::show)).service(Unlisted::post("/new-car", call::begin));
    config.service(Unlisted::get("/new-car/photos/{id}", photo::show));
    config
        .service(Unlisted::get("/new-car/{id}", correct::show))
        .service(Unlisted::post("/new-car/{id}", correct::save));
    config
        .service(Unlisted::get("/new-car/{id}/car", car::show))
        .service(Unlisted::post("/new-car/{id}/car", car::save));
    config
        .service(Unlisted::get("/new-car/{id}/walk-round", walk_round::show))
        .service(Unlisted::post("/new-car/{id}/walk-round", walk_round::save));
    config.service(Unlisted::post("/new-car/{id}/paint", paint::decide));
    config
        .service(Unlisted::get("/new-car/{id}/work", work::show))
        .service(Unlisted::post("/new-car/{id}/work", work::save));
    config
        .service(Unlisted::get("/new-car/{id}/send", send::show))
        .service(Unlisted::post("/new-car/{id}/send", send::save));
}

/// Address of a step of an enquiry.
fn step(id: &EnquiryId, step: &str) -> String {
    format!("{HERE}/{id}/{step}")
}

/// Address of the page of one visit.
fn visit(quote: &QuoteId) -> String {
    format!("/cars/{quote}")
}

/// The step that comes next of those that are not done.
fn next_step(new: &NewCar) -> String {
    let id = &new.enquiry.id;
    match new {
        NewCar { quote: Some(shown), .. } if new.is_sent() => visit(&shown.quote.id),
        NewCar { customer: None, .. } => format!("{HERE}/{id}"),
        NewCar { vehicle: None, .. } => step(id, "car"),
        NewCar { quote: Some(_), .. } => step(id, "send"),
        NewCar { walk_round: Some(_), .. } => step(id, "work"),
        _ => step(id, "walk-round"),
    }
}

/// Where a step leads that can't be shown: to the visit if the quote was sent, or to a step that must be done before.
fn elsewhere(new: &NewCar) -> Option<String> {
    (new.is_sent() || new.customer.is_none() || new.vehicle.is_none()).then(|| next_step(new))
}

/// Takes a form as [`taken`] does; a step shows by itself also why the state of a record does not allow it.
async fn tried<A: Audience, T: Send + 'static>(
    page: &PageWrite<A>,
    read: Result<T, Refused>,
    take: impl FnMut(&mut Tx<'_>, &T) -> Done<String> + Send + 'static,
) -> Result<Answer, Problem> {
    match taken(page, read, take).await {
        Err(problem) if problem.status() == StatusCode::CONFLICT && problem.refused().question().is_none() => {
            Ok(Err(problem))
        }
        other => other,
    }
}

//! The customer's pages behind `/q/{token}`: read, choose, check, accept or decline.
//!
//! | address | what |
//! | --- | --- |
//! | `GET /q/{token}` | the whole offer; `take=…` ticks optional lines, and the price follows |
//! | `GET /q/{token}/check` | the choice for a last check, with the form that signs |
//! | `POST /q/{token}/accept` | accepts, then leads to `done` |
//! | `GET /q/{token}/done` | what was accepted |
//! | `GET`, `POST /q/{token}/decline` | declines it |
//! | `GET /q/{token}/photos/{id}` | a photograph of the inspection that the document names |
//! | `GET /q/{token}/copy.json` | the sealed document and evidence, once signed |
//! | `POST /q/{token}/early-start` | agrees, after a no, that work may start within the 14 days |
//! | `POST /q/{token}/opened` | the page's script reports that somebody looks at it |
//! | `POST /q/{token}/stay` | leads, once signed, to the page for the rest of the stay, which is in [`crate::stay`] |
//!
//! A `GET` changes nothing: programs that scan mails follow every link. That the page was opened is recorded by the
//! script's `POST`, or at the latest by the answer itself.

mod answer;
mod blocked;
mod choice;
mod entered;
mod files;
mod line;
mod offer;
mod subject;
pub(crate) mod text;
mod view;
mod visit;

use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

pub(crate) use blocked::problem as stopped_page;
pub(crate) use visit::{Stopped, Visit};

/// Adds the customer's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(Unlisted::get("/q/{token}", offer::show))
        .service(Unlisted::get("/q/{token}/check", offer::check))
        .service(Unlisted::get("/q/{token}/done", offer::done))
        .service(Unlisted::post("/q/{token}/accept", answer::accept))
        .service(Unlisted::get("/q/{token}/decline", answer::decline_form))
        .service(Unlisted::post("/q/{token}/decline", answer::decline))
        .service(Unlisted::post("/q/{token}/early-start", answer::early_start))
        .service(Unlisted::post("/q/{token}/opened", answer::opened))
        .service(Unlisted::post("/q/{token}/stay", answer::go_on))
        .service(Unlisted::get("/q/{token}/photos/{id}", files::photo))
        .service(Unlisted::get("/q/{token}/copy.json", files::copy));
}

//! The customer's page behind `/c/{token}`, for everything after the signing: one moment at a time, with what comes next on
//! top.
//!
//! | address | what |
//! | --- | --- |
//! | `GET /c/{token}` | the stay: what comes next, the work by step, photographs, papers, questions |
//! | `POST /c/{token}/time` | books a free time, if the shop lets customers choose one |
//! | `POST /c/{token}/ask` | asks the studio a question |
//! | `POST /c/{token}/change` | leads to the change that waits for an answer, where it is signed |
//! | `POST /c/{token}/quote` | leads to the version of the quote that waits for an answer |
//! | `GET /c/{token}/booking.ics` | the booked time as a file for a calendar |
//! | `GET /c/{token}/photos/{id}` | a photograph that is meant for the customer |
//! | `GET /c/{token}/invoices/{id}` | an issued invoice, with what was paid |
//! | `GET /c/{token}/copy.json` | the sealed document and evidence |
//!
//! A `GET` changes nothing: programs that scan mails follow every link.

mod files;
mod forms;
mod invoice;
mod lamp;
mod show;
mod view;

use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

/// Adds the customer's page for the stay.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(Unlisted::get("/c/{token}", show::show))
        .service(Unlisted::post("/c/{token}/time", forms::book_time))
        .service(Unlisted::post("/c/{token}/ask", forms::ask_studio))
        .service(Unlisted::post("/c/{token}/change", forms::open_change))
        .service(Unlisted::post("/c/{token}/quote", forms::open_quote))
        .service(Unlisted::get("/c/{token}/booking.ics", files::appointment))
        .service(Unlisted::get("/c/{token}/photos/{id}", files::picture))
        .service(Unlisted::get("/c/{token}/invoices/{id}", invoice::show_invoice))
        .service(Unlisted::get("/c/{token}/copy.json", files::signed));
}

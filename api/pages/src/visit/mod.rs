//! The cars: all visits, and one car's stay from the enquiry to the payment, with what must happen next on top.
//!
//! What a form of a visit does is a verb ([`act::Verb`]), so that all of them have one pair of pages: it shows the form, takes
//! it, and shows it again with what is wrong.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET /cars` | owner, desk, accountant | all visits, newest first, in groups |
//! | `GET /cars/{id}` | owner, desk, accountant | one visit |
//! | `GET`, `POST /cars/{id}/{act}` | owner, desk | the form of one verb, such as `arrive` or `payment` |

pub mod act;
mod all;
mod ask;
mod form;
mod one;
mod story;
mod take;

use baywright_domain::id::QuoteId;
use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

pub(crate) use all::Car;

/// The address of the list.
const HERE: &str = "/cars";

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config.service(Unlisted::get("/cars", all::show));
    config.service(Unlisted::get("/cars/{id}", one::show));
    config
        .service(Unlisted::get("/cars/{id}/{act}", form::show))
        .service(Unlisted::post("/cars/{id}/{act}", form::save));
}

/// The address of the visit of a quote.
pub fn at(quote: &QuoteId) -> String {
    format!("{HERE}/{quote}")
}

//! What a new studio needs before its first car, step by step.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET /set-up/steps` | owner | what is done and what is next, with the page of each step |
//! | `GET`, `POST /set-up/mail` | owner | sends a test mail, and says whether the last one went out |

mod steps;
mod test_mail;

use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

pub use steps::{Pending, pending};

/// Adds the feature's pages.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(Unlisted::get("/set-up/steps", steps::show))
        .service(Unlisted::get("/set-up/mail", test_mail::show))
        .service(Unlisted::post("/set-up/mail", test_mail::send));
}

//! Getting in with a browser.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET /sign-in` | anyone | the form to sign in; `back=…` is the page that follows |
//! | `POST /sign-in` | anyone | signs in by cookie, then leads back |
//! | `POST /sign-out` | signed in | signs out here |
//! | `GET`, `POST /invite/{token}` | whoever has the invite | chooses a password and signs in |
//! | `GET`, `POST /set-up` | whoever has the code of the first start | creates the first shop with its owner |

mod invite;
mod set_up;
mod sign_in;

use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

pub use sign_in::{first_page, sign_in_to_send};

/// Adds the pages to sign in, to sign out and to set up.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(Unlisted::get("/sign-in", sign_in::show))
        .service(Unlisted::post("/sign-in", sign_in::sign_in))
        .service(Unlisted::post("/sign-out", sign_in::sign_out))
        .service(Unlisted::get("/invite/{token}", invite::show))
        .service(Unlisted::post("/invite/{token}", invite::choose))
        .service(Unlisted::get("/set-up", set_up::show))
        .service(Unlisted::post("/set-up", set_up::set_up));
}

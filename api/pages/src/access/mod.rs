//! Getting in with a browser.
//!
//! | address | who | what |
//! | --- | --- | --- |
//! | `GET /sign-in` | anyone | the form to sign in; `back=…` is the page that follows |
//! | `POST /sign-in` | anyone | signs in by cookie, then leads back |
//! | `POST /sign-out` | signed in | signs out here |
//! | `GET`, `POST /invite/{token}` | whoever has the invite | chooses a password and signs in |
//! | `GET`, `POST /tablet` | whoever has the code of a tablet | makes the device a tablet beside the bays |
//! | `GET`, `POST /bay/sign-in` | anyone on a tablet | signs in with a tap and four digits |
//! | `POST /bay/sign-out` | crew | signs out on a tablet |
//! | `GET`, `POST /set-up` | whoever has the code of the first start | creates the first shop with its owner |

mod invite;
mod set_up;
mod sign_in;
mod tablet;

use baywright_http::platform::unlisted::{ServiceConfig, Unlisted};

pub use sign_in::{first_page, sign_in_to_send};
pub use tablet::tablet_to_send;

/// Adds the pages to sign in, to sign out and to set up.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(Unlisted::get("/sign-in", sign_in::show))
        .service(Unlisted::post("/sign-in", sign_in::sign_in))
        .service(Unlisted::post("/sign-out", sign_in::sign_out))
        .service(Unlisted::get("/tablet", tablet::show_enrol))
        .service(Unlisted::post("/tablet", tablet::enrol_here))
        .service(Unlisted::get("/bay/sign-in", tablet::show_sign_in))
        .service(Unlisted::post("/bay/sign-in", tablet::take_sign_in))
        .service(Unlisted::post("/bay/sign-out", tablet::sign_out))
        .service(Unlisted::get("/invite/{token}", invite::show))
        .service(Unlisted::post("/invite/{token}", invite::choose))
        .service(Unlisted::get("/set-up", set_up::show))
        .service(Unlisted::post("/set-up", set_up::set_up));
}
